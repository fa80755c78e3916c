//! Asking a rule. Pure: the same dam at the same moment gets the same answer.

use super::book::{DamAsk, DamRule, SilenceRule, Start, TroubleRule};
use super::verdict::{Figures, Verdict, Wrong};
use crate::config::animals::Parity;
use crate::config::rules::{From, Trouble};
use crate::gear::device::Device;
use crate::gear::line::{LineRecord, STRANGER_TIMES};
use crate::herd::dam::Dam;
use crate::plain::moment::{Moment, Span};

/// How long the loss of the broker's memory stays news.
const SESSION_LOST_FOR: Span = Span::hours(1);

/// A device that may miss this many of its own beats before it counts as silent.
const BEATS: i64 = 3;

impl DamRule {
    pub fn ask(&self, dam: &Dam, now: Moment) -> Verdict {
        if !self.while_stages.contains(&dam.stage) {
            return Verdict::Fine;
        }
        match &self.ask {
            DamAsk::Count { sign, over, at_least } => count(dam, sign, *over, *at_least, now),
            DamAsk::Clock { since, from, until, limit } => {
                if until.iter().any(|stop| stopped(dam, stop)) {
                    return Verdict::Fine;
                }
                let limit = match dam.parity {
                    Parity::Cow => limit.cow,
                    Parity::Heifer => limit.heifer,
                };
                let Some(began) = began(dam, since, *from) else {
                    return Verdict::Fine;
                };
                clock(began, limit, now, Figures::Clock { began, limit })
            }
        }
    }
}

/// What is known about a device when it is asked whether it is silent.
#[derive(Clone, Copy, Debug)]
pub struct Listening {
    /// Nobody listened before this: our own start, the broker's return, the day it was put on.
    pub since: Option<Moment>,
    /// How often it says it speaks.
    pub every: Option<Span>,
}

impl SilenceRule {
    pub fn ask(&self, device: Option<&Device>, listening: Listening, now: Moment) -> Verdict {
        let Some(listened) = listening.since else {
            // The way to us is down: that is another rule's finding, not the device's fault.
            return Verdict::Fine;
        };
        let heard = device.and_then(|device| device.heard);
        let since = heard.map_or(listened, |heard| heard.max(listened));
        let beats = Span::from_millis(
            listening.every.map_or(0, |every| every.millis().saturating_mul(BEATS)),
        );
        let figures = Figures::Silence { since: heard.unwrap_or(listened), never: heard.is_none() };
        clock(since, self.limit.max(beats), now, figures)
    }
}

impl TroubleRule {
    pub fn ask(&self, name: &str, line: &LineRecord, now: Moment) -> Verdict {
        let (since, why, ends) = match self.with {
            Trouble::LineDown if name != "journal" => match &line.down {
                Some(down) => (down.since, down.why.clone(), None),
                None => return Verdict::Fine,
            },
            Trouble::JournalStuck if name == "journal" => match &line.down {
                Some(down) => (down.since, down.why.clone(), None),
                None => return Verdict::Fine,
            },
            Trouble::SessionLost => match line.session_lost {
                Some(at) if now < at + SESSION_LOST_FOR => {
                    let why = "messages sent while we were away may be gone".to_owned();
                    (at, why, Some(at + SESSION_LOST_FOR))
                }
                Some(_) | None => return Verdict::Fine,
            },
            Trouble::SubscriptionRefused => match line.refused.iter().next() {
                Some((filter, refused)) => {
                    (refused.since, format!("{filter}: {}", refused.why), None)
                }
                None => return Verdict::Fine,
            },
            Trouble::Strangers => match line.strangers(now) {
                Some((from, since, until)) => {
                    let why =
                        format!("{from} was refused {STRANGER_TIMES} times or more within an hour");
                    (since, why, Some(until))
                }
                None => return Verdict::Fine,
            },
            Trouble::LineDown | Trouble::JournalStuck => return Verdict::Fine,
        };
        let momentary = matches!(self.with, Trouble::SessionLost | Trouble::Strangers);
        match clock(since, self.limit, now, Figures::Trouble { since, why, momentary }) {
            Verdict::Wrong(wrong) => Verdict::Wrong(Wrong { ends, ..wrong }),
            fine @ (Verdict::Fine | Verdict::FineUntil(_)) => fine,
        }
    }
}

fn count(dam: &Dam, sign: &str, over: Span, at_least: u64, now: Moment) -> Verdict {
    let Some(tally) = dam.tally(sign) else {
        return Verdict::Fine;
    };
    let n = tally.within(now, over);
    if n < at_least {
        return Verdict::Fine;
    }
    Verdict::Wrong(Wrong {
        since: tally.reached(now, over, at_least).unwrap_or(now),
        figures: Figures::Counted { n, over },
        ends: Some(tally.falls_below(now, over, at_least)),
    })
}

fn clock(began: Moment, limit: Span, now: Moment, figures: Figures) -> Verdict {
    let due = began + limit;
    if now < due {
        return Verdict::FineUntil(due);
    }
    Verdict::Wrong(Wrong { since: due, figures, ends: None })
}

/// When the clock began: the earliest of its starts, or the latest.
fn began(dam: &Dam, starts: &[Start], from: From) -> Option<Moment> {
    let moments = starts.iter().filter_map(|start| match start {
        Start::Mark(mark) => dam.track(*mark).map(|track| match from {
            From::First => track.first,
            From::Last => track.last,
        }),
        Start::Stage(stage) => dam.entered(*stage),
        Start::Sign(sign) => dam.tally(sign).and_then(|tally| match from {
            From::First => tally.first(),
            From::Last => tally.last(),
        }),
    });
    match from {
        From::First => moments.min(),
        From::Last => moments.max(),
    }
}

fn stopped(dam: &Dam, stop: &Start) -> bool {
    match stop {
        Start::Mark(mark) => dam.track(*mark).is_some(),
        Start::Stage(stage) => dam.stage >= *stage,
        Start::Sign(sign) => dam.tally(sign).is_some_and(|tally| tally.last().is_some()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::rules::Limit;
    use crate::herd::sign::Mark;
    use crate::herd::stage::Stage;
    use crate::plain::ids::RuleName;

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn rule(since: &[Start], from: From, limit: Limit) -> DamRule {
        DamRule {
            name: RuleName::new("second stage too long"),
            ask: DamAsk::Clock {
                since: since.to_vec(),
                from,
                until: vec![Start::Mark(Mark::Calf)],
                limit,
            },
            while_stages: vec![Stage::First, Stage::Second],
            enters: None,
        }
    }

    const BOTH: Limit = Limit { cow: Span::minutes(30), heifer: Span::minutes(60) };

    /// Sources: facts.md S2-02 and S2-03 (Miles City figures in university extension pages):
    /// help a cow after 30 minutes and a heifer after 60, from the water bag.
    #[test]
    fn a_heifer_has_an_hour_and_a_cow_half() {
        let mut dam = Dam::default();
        let rule = rule(&[Start::Stage(Stage::Second)], From::First, BOTH);
        assert_eq!(rule.ask(&dam, minute(0)), Verdict::Fine);
        let _ = dam.mark(Mark::WaterBag, minute(0));
        let mut heifer = dam.clone();
        heifer.parity = Parity::Heifer;
        assert_eq!(rule.ask(&dam, minute(29)), Verdict::FineUntil(minute(30)));
        assert_eq!(rule.ask(&heifer, minute(30)), Verdict::FineUntil(minute(60)));
        let Verdict::Wrong(wrong) = rule.ask(&dam, minute(31)) else {
            panic!("a cow is past her limit after 31 minutes");
        };
        assert_eq!(wrong.since, minute(30));
        let _ = dam.mark(Mark::Calf, minute(32));
        assert_eq!(rule.ask(&dam, minute(33)), Verdict::Fine);
    }

    #[test]
    fn progress_restarts_its_own_clock_and_no_other() {
        let mut dam = Dam::default();
        let signs = [Start::Mark(Mark::WaterBag), Start::Mark(Mark::Feet)];
        let twenty = Limit { cow: Span::minutes(20), heifer: Span::minutes(20) };
        let (total, progress) = (rule(&signs, From::First, BOTH), rule(&signs, From::Last, twenty));
        let _ = dam.mark(Mark::WaterBag, minute(0));
        let _ = dam.mark(Mark::Feet, minute(15));
        assert_eq!(total.ask(&dam, minute(16)), Verdict::FineUntil(minute(30)));
        assert_eq!(progress.ask(&dam, minute(16)), Verdict::FineUntil(minute(35)));
    }

    #[test]
    fn strangers_are_news_from_the_tenth_refusal_until_the_hour_is_over() {
        let with = Trouble::Strangers;
        let rule = TroubleRule { name: RuleName::new("strangers"), with, limit: Span::ZERO };
        let mut line = LineRecord::default();
        line.turns_away("192.168.1.77", minute(0), 9);
        assert_eq!(rule.ask("broker", &line, minute(1)), Verdict::Fine);
        line.turns_away("192.168.1.77", minute(2), 1);
        let why = "192.168.1.77 was refused 10 times or more within an hour".to_owned();
        let figures = Figures::Trouble { since: minute(2), why, momentary: true };
        let wrong = Wrong { since: minute(2), figures, ends: Some(minute(60)) };
        assert_eq!(rule.ask("broker", &line, minute(3)), Verdict::Wrong(wrong));
        assert_eq!(rule.ask("broker", &line, minute(60)), Verdict::Fine);
    }

    #[test]
    fn a_device_is_not_silent_while_nobody_listens() {
        let rule = SilenceRule {
            name: RuleName::new("sensor silent"),
            kind: None,
            limit: Span::minutes(45),
            while_stages: vec![Stage::Carrying],
        };
        let heard = Device { heard: Some(minute(0)), ..Device::default() };
        let from = |since| Listening { since, every: Some(Span::minutes(5)) };
        assert_eq!(rule.ask(Some(&heard), from(None), minute(90)), Verdict::Fine);
        assert_eq!(
            rule.ask(Some(&heard), from(Some(minute(60))), minute(90)),
            Verdict::FineUntil(minute(105)),
            "we came back at minute 60"
        );
        let slow = Listening { since: Some(minute(0)), every: Some(Span::minutes(30)) };
        assert_eq!(rule.ask(None, slow, minute(46)), Verdict::FineUntil(minute(90)));
        assert!(matches!(
            rule.ask(None, slow, minute(90)),
            Verdict::Wrong(Wrong { figures: Figures::Silence { never: true, .. }, .. })
        ));
    }
}
