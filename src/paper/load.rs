//! What the watch has asked of people: every alert and every call of a span of time, and the figures by which
//! such a load is judged, for each person (standards.md AL-02 to AL-20). It reads steps as they come; it keeps no clock.
//!
//! Windows in which nothing came are counted too (AL-19), and a person's load is never the farm's (AL-20).

use std::collections::{BTreeMap, BTreeSet};

use super::behind::Behind;
use crate::alarm::alert::Alert;
use crate::alarm::ladder;
use crate::alarm::message::MessageKind;
use crate::plain::ids::{AlertNo, LineName, PersonName, RuleName};
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::rules::priority::Priority;
use crate::rules::verdict::Subject;
use crate::watch::effect::Effect;
use crate::watch::{Step, Watch};

/// What alarms are counted in (AL-02).
pub const WINDOW: Span = Span::minutes(10);
/// More than this in one window is a flood; fewer than `FLOOD_ENDS` end it (AL-06, AL-07).
pub const FLOOD: usize = 10;
pub const FLOOD_ENDS: usize = 5;
/// So many alerts about one thing within a minute chatter (AL-12).
pub const CHATTER: usize = 3;
const CHATTER_WITHIN: Span = Span::seconds(60);
/// Over by itself before anybody could even read it (AL-13: "within seconds").
const FLEETING: Span = Span::seconds(10);
/// Open longer than this, an alert stands (AL-14).
const STALE: Span = Span::hours(24);
/// Calls so close together wake somebody once (common practice, no source).
pub const ONE_WAKING: Span = Span::minutes(20);
/// Whoever sleeps, sleeps between these hours (common practice, no source).
pub const NIGHT: (i8, i8) = (22, 6);

/// What became of an alert, by people's words or by itself (needs.md N53, N86).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Came {
    /// Somebody said that it was a false alarm.
    False,
    /// Somebody saw to it: a mark ended it.
    True,
    /// It passed by itself.
    Passed,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Raised {
    pub no: AlertNo,
    pub rule: RuleName,
    pub subject: Subject,
    pub priority: Priority,
    pub at: Moment,
    pub ended: Option<Moment>,
    pub came: Option<Came>,
    /// Who answered first, and when.
    pub answered: Option<(PersonName, Moment)>,
    /// Lines by which somebody was called, and when first.
    pub told: BTreeMap<LineName, Moment>,
    /// On whose word it rests, and what came of it by itself.
    pub behind: Behind,
}

/// One text to one person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    pub at: Moment,
    pub to: PersonName,
    pub line: LineName,
    /// Of the most urgent alert in it.
    pub priority: Priority,
    pub alerts: usize,
    /// They take turns and had none then, had not said that they go and were not with her, and it was not a ladder's
    /// last rung that called.
    pub off_duty: bool,
}

/// All that was raised and told between two moments.
#[derive(Clone, Debug, Default)]
pub struct Load {
    pub raised: BTreeMap<AlertNo, Raised>,
    pub told: Vec<Told>,
    open: BTreeSet<AlertNo>,
    /// Who has ever said anything to an alert.
    answers: BTreeSet<(AlertNo, PersonName)>,
    /// Those whose count, and those whose calf, is still asked about.
    counts: BTreeSet<AlertNo>,
    calves: BTreeSet<AlertNo>,
}

impl Load {
    /// Takes one step of a watch.
    pub fn hears(&mut self, at: Moment, step: &Step, watch: &Watch) {
        let state = watch.state();
        let watchman = &state.watchman;
        let real = |alert: &Alert| alert.subject != Subject::Drill;
        for (no, alert) in watchman.open.iter().filter(|(_, alert)| real(alert)) {
            if self.open.insert(*no) {
                self.raised.insert(*no, raised(alert, watch));
                self.calves.insert(*no);
                // Whoever is with her is told first, whether on duty or not.
                let there = watchman.attending(&alert.subject, at);
                self.answers.extend(there.map(|who| (*no, who)));
            }
            if let Some(known) = self.raised.get_mut(no) {
                known.answered.clone_from(&alert.answered);
                known.behind.is_open(alert, watch, at);
            }
            let answered = alert.answered.iter().map(|(who, _)| who);
            let also = alert.holder().into_iter().chain(&alert.also).chain(&alert.passed);
            self.answers.extend(answered.chain(also).map(|who| (*no, who.clone())));
        }
        for effect in &step.effects {
            let Effect::Send(message) = effect else { continue };
            if message.kind != MessageKind::Alert {
                continue;
            }
            let alerts: Vec<&Raised> =
                message.alerts().filter_map(|no| self.raised.get(&no)).collect();
            let Some(priority) = alerts.iter().map(|alert| alert.priority).max() else { continue };
            let config = watch.ready().map(|ready| &ready.config);
            let off = config.map(|config| ladder::off_duty(config, at));
            let off = off.is_some_and(|off| off.contains(&message.to));
            // Whoever has just had the shift is still called for what nobody has answered.
            let before = config.map(|config| ladder::off_duty(config, at - config.calls.overlap));
            let off = off && before.is_some_and(|off| off.contains(&message.to));
            let uncalled = message.alerts().all(|no| {
                let Some(alert) = watchman.open.get(&no) else { return false };
                let theirs = self.answers.contains(&(no, message.to.clone()));
                let there = watchman.attending(&alert.subject, at) == Some(message.to.clone());
                alert.rung.rounds == 0 && !theirs && !there
            });
            self.told.push(Told {
                at,
                to: message.to.clone(),
                line: message.line.clone(),
                priority,
                alerts: alerts.len(),
                off_duty: off && uncalled,
            });
            for no in message.alerts() {
                if let Some(known) = self.raised.get_mut(&no) {
                    known.told.entry(message.line.clone()).or_insert(at);
                }
            }
        }
        let gone: Vec<AlertNo> =
            self.open.iter().filter(|no| !watchman.open.contains_key(no)).copied().collect();
        for no in gone {
            self.open.remove(&no);
            let past = watchman.past.iter().rev().find(|past| past.no == no);
            let unseen = watchman.unseen.contains_key(&no);
            if let (Some(known), Some(past)) = (self.raised.get_mut(&no), past) {
                known.ended = Some(past.ended);
                known.came = Some(came(&past.because, unseen));
                if known.came == Some(Came::False) {
                    self.counts.insert(no);
                }
            }
        }
        self.follows(at, watch);
    }

    /// What comes of an alert after its end: the count that would have gone on, and the calf.
    fn follows(&mut self, now: Moment, watch: &Watch) {
        let raised = &mut self.raised;
        self.counts.retain(|no| {
            let Some(known) = raised.get_mut(no) else { return false };
            known.ended.is_some_and(|ended| known.behind.goes_on(ended, watch, now))
        });
        self.calves.retain(|no| {
            let Some(known) = raised.get_mut(no) else { return false };
            known.behind.asks_for_a_calf(known.at, watch, now)
        });
    }

    /// The figures of one person between two moments.
    pub fn of(&self, who: &PersonName, zone: &Zone, from: Moment, until: Moment) -> PersonLoad {
        let mine = self.told.iter().filter(|told| told.to == *who);
        let times: Vec<Moment> =
            mine.map(|told| told.at).filter(|at| *at >= from && *at < until).collect();
        PersonLoad::new(&times, zone, from, until)
    }

    /// Alerts raised between two moments.
    pub fn raised_in(&self, from: Moment, until: Moment) -> impl Iterator<Item = &Raised> {
        self.raised.values().filter(move |one| one.at >= from && one.at < until)
    }

    /// Alerts of which somebody was told that were part of a chatter, or fleeting.
    pub fn nuisances(&self, from: Moment, until: Moment) -> (usize, usize) {
        let mut by_thing: BTreeMap<(String, String), Vec<Moment>> = BTreeMap::new();
        let told = self.raised_in(from, until).filter(|one| !one.told.is_empty());
        let mut fleeting = 0;
        for one in told {
            let thing = (one.rule.to_string(), one.subject.to_string());
            by_thing.entry(thing).or_default().push(one.at);
            let short = one.ended.is_some_and(|ended| ended.since(one.at) < FLEETING);
            fleeting += usize::from(short && one.came == Some(Came::Passed));
        }
        let chatters = |times: &Vec<Moment>| {
            let close = |three: &[Moment]| three[CHATTER - 1].since(three[0]) <= CHATTER_WITHIN;
            times.windows(CHATTER).filter(|three| close(three)).count()
        };
        (by_thing.values().map(chatters).sum(), fleeting)
    }

    /// The most alerts that had stood for more than a day, on any day.
    pub fn stale(&self, from: Moment, until: Moment) -> usize {
        let days = until.since(from).whole_seconds() / 86_400;
        let standing = |at: Moment| {
            let open =
                |one: &&Raised| one.at <= at - STALE && one.ended.is_none_or(|ended| ended > at);
            self.raised.values().filter(open).count()
        };
        (0..=days).map(|day| standing(from + Span::days(day))).max().unwrap_or(0)
    }

    /// Of the alerts told, how many of each priority: low, medium, high.
    pub fn mix(&self, from: Moment, until: Moment) -> [usize; 3] {
        let of = |priority| {
            let told = self.raised_in(from, until).filter(|one| !one.told.is_empty());
            told.filter(|one| one.priority == priority).count()
        };
        [of(Priority::Low), of(Priority::Medium), of(Priority::High)]
    }
}

fn raised(alert: &Alert, watch: &Watch) -> Raised {
    Raised {
        no: alert.no,
        rule: alert.rule.clone(),
        subject: alert.subject.clone(),
        priority: alert.priority,
        at: alert.raised,
        ended: None,
        came: None,
        answered: None,
        told: BTreeMap::new(),
        behind: Behind::new(alert, watch.ready()),
    }
}

/// A word of a person ends an alert with "…, said Ana".
fn came(because: &str, unseen: bool) -> Came {
    if because.starts_with("false") {
        Came::False
    } else if !unseen && because.contains(", said ") {
        Came::True
    } else {
        Came::Passed
    }
}

/// One person's load.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PersonLoad {
    pub messages: usize,
    /// Windows of ten minutes, empty ones too.
    pub windows: usize,
    /// Windows with more than ten.
    pub over: usize,
    pub most: usize,
    /// Windows from the one in which a flood began to the one before it ended.
    pub in_flood: usize,
    /// Messages in the hour of the day that has the most, over all days.
    pub worst_hour_of_day: usize,
    pub days: usize,
    /// Messages in the worst of all hours.
    pub worst_hour: usize,
    /// How often they were woken, in so many nights.
    pub wakings: usize,
    pub nights: usize,
    /// Of each night the longest time without a call: the shortest of these.
    pub shortest_sleep: Option<Span>,
}

impl PersonLoad {
    fn new(times: &[Moment], zone: &Zone, from: Moment, until: Moment) -> Self {
        let windows = usize::try_from(until.since(from).millis() / WINDOW.millis()).unwrap_or(0);
        let mut counts = vec![0_usize; windows.max(1)];
        let mut by_hour = [0_usize; 24];
        for at in times {
            let place = usize::try_from(at.since(from).millis() / WINDOW.millis()).unwrap_or(0);
            if let Some(count) = counts.get_mut(place) {
                *count += 1;
            }
            by_hour[usize::try_from(zone.wall(*at).hour()).unwrap_or(0)] += 1;
        }
        let mut flood = false;
        let mut in_flood = 0;
        for count in &counts {
            flood = if flood { *count >= FLOOD_ENDS } else { *count > FLOOD };
            in_flood += usize::from(flood);
        }
        let hour = 6;
        let worst_hour = counts.windows(hour).map(|six| six.iter().sum()).max().unwrap_or(0);
        let mut load = Self {
            messages: times.len(),
            windows,
            over: counts.iter().filter(|count| **count > FLOOD).count(),
            most: counts.iter().copied().max().unwrap_or(0),
            in_flood,
            worst_hour_of_day: by_hour.into_iter().max().unwrap_or(0),
            days: usize::try_from(until.since(from).whole_seconds() / 86_400).unwrap_or(0),
            worst_hour,
            ..Self::default()
        };
        load.nights(times, zone, from, until);
        load
    }

    fn nights(&mut self, times: &[Moment], zone: &Zone, from: Moment, until: Moment) {
        let mut day = zone.wall(from).date();
        loop {
            let Ok(tomorrow) = day.tomorrow() else { return };
            let begins = zone.instant(day.at(NIGHT.0, 0, 0, 0));
            let ends = zone.instant(tomorrow.at(NIGHT.1, 0, 0, 0));
            if ends > until {
                return;
            }
            if begins >= from {
                self.night(times, begins, ends);
            }
            day = tomorrow;
        }
    }

    fn night(&mut self, times: &[Moment], begins: Moment, ends: Moment) {
        let calls: Vec<Moment> =
            times.iter().copied().filter(|at| *at >= begins && *at < ends).collect();
        self.nights += 1;
        let mut last: Option<Moment> = None;
        for at in &calls {
            if last.is_none_or(|last| at.since(last) > ONE_WAKING) {
                self.wakings += 1;
            }
            last = Some(*at);
        }
        let bounds: Vec<Moment> = [begins].into_iter().chain(calls).chain([ends]).collect();
        let sleep = bounds.windows(2).map(|pair| pair[1].since(pair[0])).max();
        self.shortest_sleep = match (self.shortest_sleep, sleep) {
            (Some(one), Some(other)) => Some(one.min(other)),
            (one, other) => one.or(other),
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Moment {
        Moment::from_rfc3339(text).unwrap()
    }

    /// Two nights and a day, counted by hand on paper.
    #[test]
    fn a_load_is_what_was_counted_by_hand() {
        let (from, until) = (at("2026-11-24T12:00:00Z"), at("2026-11-26T12:00:00Z"));
        let mut times = vec![
            at("2026-11-24T22:30:00Z"),
            at("2026-11-24T22:45:00Z"),
            at("2026-11-25T03:00:00Z"),
            at("2026-11-25T23:10:00Z"),
        ];
        // Eleven in the window from 13:00, six in the next, four in the one after.
        for (minute, many) in [(0, 11), (10, 6), (20, 4)] {
            for n in 0..many {
                times.push(at("2026-11-25T13:00:00Z") + Span::minutes(minute) + Span::seconds(n));
            }
        }
        times.sort_unstable();
        let load = PersonLoad::new(&times, &Zone::utc(), from, until);
        let expected = PersonLoad {
            messages: 25,
            windows: 288,
            over: 1,
            most: 11,
            in_flood: 2,
            worst_hour_of_day: 21,
            days: 2,
            worst_hour: 21,
            wakings: 3,
            nights: 2,
            // The first night: 22:45 to 03:00 is the longest; the second: 23:10 to 06:00.
            shortest_sleep: Some(Span::minutes(4 * 60 + 15)),
        };
        assert_eq!(load, expected);
    }

    #[test]
    fn a_quiet_month_has_its_empty_windows_counted() {
        let (from, until) = (at("2026-11-01T00:00:00Z"), at("2026-12-01T00:00:00Z"));
        let load = PersonLoad::new(&[], &Zone::utc(), from, until);
        assert_eq!((load.messages, load.windows, load.nights, load.wakings), (0, 4_320, 29, 0));
        assert_eq!(load.shortest_sleep, Some(Span::hours(8)));
    }
}
