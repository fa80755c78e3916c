//! Every alert with what an alarm log is to have (IEC 60601-1-8, 6.12.2; standards.md MD-17, MD-18): which it was, when it
//! began and ended, the limit that was in force then, and what was measured. It reads states as they come.

use std::collections::{BTreeMap, BTreeSet};

use crate::plain::english;
use crate::plain::ids::{AlertNo, Animal, PersonName, RuleName};
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;
use crate::rules::priority::Priority;
use crate::rules::verdict::Figures;
use crate::talk::{explain, head, phrases, reason};
use crate::watch::Watch;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Logged {
    pub no: AlertNo,
    pub code: String,
    pub rule: RuleName,
    pub priority: Priority,
    /// Which dam or device, and what of it, as people were told.
    pub head: String,
    /// When it became so, and when it was raised.
    pub began: Moment,
    pub raised: Moment,
    pub answered: Option<(PersonName, Moment)>,
    pub ended: Option<(Moment, String)>,
    /// What the rule waited for by the settings of that moment.
    pub limit: String,
    /// What was measured or known when it was raised.
    pub data: String,
}

/// All alerts of a journal.
#[derive(Clone, Debug, Default)]
pub struct AlarmLog {
    all: BTreeMap<AlertNo, Logged>,
    open: BTreeSet<AlertNo>,
}

impl AlarmLog {
    /// To be called after each step.
    pub fn hears(&mut self, watch: &Watch) {
        let Some(ready) = watch.ready() else { return };
        let watchman = &watch.state().watchman;
        for alert in watchman.open.values() {
            let known = self.all.entry(alert.no).or_insert_with(|| {
                let rule = ready.rule(&alert.rule);
                let now = watch.state().now;
                Logged {
                    no: alert.no,
                    code: alert.code.clone(),
                    rule: alert.rule.clone(),
                    priority: alert.priority,
                    head: head::head(&ready.config, alert, now),
                    began: alert.since,
                    raised: alert.raised,
                    answered: None,
                    ended: None,
                    limit: rule.map_or_else(String::new, |rule| explain::waits(&rule.condition)),
                    data: data(&alert.figures, now, &ready.config.farm.zone),
                }
            });
            known.answered.clone_from(&alert.answered);
            self.open.insert(alert.no);
        }
        let gone: Vec<AlertNo> =
            self.open.iter().filter(|no| !watchman.open.contains_key(no)).copied().collect();
        for no in gone {
            self.open.remove(&no);
            let past = watchman.past.iter().rev().find(|past| past.no == no);
            let known = self.all.get_mut(&no);
            if let (Some(known), Some(past)) = (known, past) {
                known.ended = Some((past.ended, past.because.clone()));
            }
        }
    }

    /// In the order in which they were raised.
    pub fn all(&self) -> impl Iterator<Item = &Logged> {
        self.all.values()
    }
}

/// What was measured, or since when what was not so.
fn data(figures: &Figures, now: Moment, zone: &Zone) -> String {
    let since = |at: Moment| zone.stamp(at);
    match figures {
        Figures::Clock { began, limit, calf } => {
            let which = calf.map_or(String::new(), |no| format!("calf {no}, "));
            format!("{which}since {}, limit {}", since(*began), english::span(*limit))
        }
        Figures::Silence { since: at, never: false } => format!("nothing since {}", since(*at)),
        Figures::Silence { never: true, .. } => "never heard".to_owned(),
        Figures::Gateway { since: at, animals } => {
            format!("nothing since {}; for {}", since(*at), names(animals))
        }
        Figures::Unwatched { animals } => names(animals),
        Figures::Alone { with, since: at, until } => {
            let with = with.as_ref().map_or(String::new(), |animal| format!(" with {animal}"));
            format!("in{with} since {}, out by {}", since(*at), since(*until))
        }
        Figures::Uncovered { rota, hours, nobody, .. } => {
            format!("{rota} {hours}: {}", if *nobody { "nobody" } else { "no backup" })
        }
        Figures::Drill { until } => format!("a drill until {}", since(*until)),
        Figures::Ill { since: at, why, .. } | Figures::Trouble { since: at, why, .. } => {
            format!("since {}: {why}", since(*at))
        }
        Figures::Several(all) => {
            let each: Vec<String> = all.iter().map(|one| data(one, now, zone)).collect();
            each.join("; ")
        }
        Figures::Counted { .. }
        | Figures::Level { .. }
        | Figures::Changed { .. }
        | Figures::Seen { .. }
        | Figures::Due { .. }
        | Figures::NotSo { .. } => reason::why(figures, now, phrases::english()),
    }
}

fn names(animals: &[Animal]) -> String {
    let names: Vec<&str> = animals.iter().map(Animal::as_str).collect();
    if names.is_empty() { "nobody".to_owned() } else { english::list(&names) }
}

impl Logged {
    /// As people read it.
    pub fn lines(&self, zone: &Zone) -> [String; 4] {
        let answered = self.answered.as_ref().map_or_else(
            || "nobody answered".to_owned(),
            |(who, at)| format!("first answered by {who} at {}", zone.clock(*at)),
        );
        let ended = self.ended.as_ref().map_or_else(
            || "still open".to_owned(),
            |(at, because)| format!("over at {}: {because}", zone.clock_by(*at, self.raised)),
        );
        [
            format!("alert {} {}, {}: {}", self.no, self.code, self.priority.word(), self.head),
            format!(
                "    began {}, raised {}; {answered}; {ended}",
                zone.stamp(self.began),
                zone.stamp(self.raised)
            ),
            format!("    limit: {}", self.limit),
            format!("    data: {}", self.data),
        ]
    }
}
