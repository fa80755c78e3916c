//! Every way an alert can stand, and what every event makes of it, against a table written by hand beside this
//! program: standards.md AL-21 to AL-25 and MD-10 to MD-12 (two independent facts: whether it is so, and whether
//! somebody has seen it; seen is not settled; what passes unseen stays to be seen; what comes back is new).

#![cfg(test)]

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::alert::Standing;
use super::ending::Ending;
use super::later::PutOff;
use super::watchman::{Raising, Taken, Watchman};
use crate::config::{self, Config, NamedText, SettingsText};
use crate::plain::ids::{AlertNo, Animal, PersonName, RuleName};
use crate::plain::moment::{Moment, Span};
use crate::rules::priority::Priority;
use crate::rules::verdict::{Figures, Finding, Subject, Wrong};

/// What one sees of one alert from outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Is {
    /// It never was, or it is over and somebody had seen it.
    Nothing,
    /// It is so, and nobody has answered: it climbs.
    Climbing,
    /// It is so, and somebody has it.
    Held,
    /// It is so, and somebody has put it off.
    Later,
    /// It is so, somebody had answered, and it climbs again.
    ClimbingSeen,
    /// It is not so any more, and nobody had answered.
    PassedUnseen,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Happens {
    BecomesWrong,
    BecomesFine,
    Going,
    Pass,
    PutsOff,
    PutsOffTooLong,
    TimePasses,
    SeenWhenOver,
}

use Happens::*;
use Is::*;

const ALL: [Happens; 8] =
    [BecomesWrong, BecomesFine, Going, Pass, PutsOff, PutsOffTooLong, TimePasses, SeenWhenOver];

/// The table: in each state, what each event leads to. Written from the standards' rows, not from the program.
/// `TimePasses` is: its own next moment has come.
const TABLE: [(Is, [Is; 8]); 6] = [
    //            wrong         fine          going  pass          put off  too long      time          seen
    (Nothing, [Climbing, Nothing, Nothing, Nothing, Nothing, Nothing, Nothing, Nothing]),
    (Climbing, [Climbing, PassedUnseen, Held, ClimbingSeen, Later, Climbing, Climbing, Climbing]),
    (Held, [Held, Nothing, Held, ClimbingSeen, Later, Held, ClimbingSeen, Held]),
    (Later, [Later, Nothing, Held, ClimbingSeen, Later, Later, ClimbingSeen, Later]),
    (
        ClimbingSeen,
        [
            ClimbingSeen,
            Nothing,
            Held,
            ClimbingSeen,
            Later,
            ClimbingSeen,
            ClimbingSeen,
            ClimbingSeen,
        ],
    ),
    (
        PassedUnseen,
        [
            Climbing,
            PassedUnseen,
            PassedUnseen,
            PassedUnseen,
            PassedUnseen,
            PassedUnseen,
            PassedUnseen,
            Nothing,
        ],
    ),
];

pub(super) fn farm() -> Config {
    let text = r#"
[farm]
name = "Hollow Bank"
zone = "Europe/Dublin"
country = "IE"
[broker]
url = "mqtt://127.0.0.1:1883"
[[person]]
name = "Ana"
part = "stockman"
mail = "ana@hollowbank.example"
[[person]]
name = "Tom"
part = "stockman"
mail = "tom@hollowbank.example"
[[line]]
name = "mail"
kind = "smtp"
url = "smtp://127.0.0.1:25"
from = "lowbell@hollowbank.example"
"#;
    let file = NamedText { name: "farm.toml".into(), text: text.into() };
    config::parse(&SettingsText { files: vec![file] }).config.expect("these settings hold")
}

struct Bench {
    config: Config,
    watchman: Watchman,
    now: Moment,
    no: Option<AlertNo>,
    priority: Priority,
}

impl Bench {
    fn new(priority: Priority) -> Self {
        let now = Moment::from_rfc3339("2026-11-25T12:00:00Z").expect("a moment");
        Self { config: farm(), watchman: Watchman::default(), now, no: None, priority }
    }

    fn happens(&mut self, what: Happens) {
        let (ana, now) = (PersonName::new("Ana"), self.now);
        let open = self.no.filter(|no| self.watchman.open.contains_key(no));
        match (what, open) {
            (BecomesWrong, None) => self.raise(),
            (BecomesFine, Some(no)) => {
                let _ = self.watchman.over(no, now, (Ending::Works, "it is fine"), None);
            }
            (Going, Some(no)) => {
                let (taken, _) =
                    self.watchman.going(&self.config, no, &ana, now, Span::minutes(30));
                assert!(matches!(taken, Some(Taken::Yours { .. })));
            }
            (Pass, Some(no)) => {
                let _ = self.watchman.pass(&self.config, no, &ana, now);
            }
            (PutsOff, Some(no)) => {
                let span = Some(Span::minutes(5));
                let (came, _) = self.watchman.later(&self.config, no, &ana, now, span);
                assert!(matches!(came, PutOff::Until(_)));
            }
            (PutsOffTooLong, Some(no)) => {
                let span = Some(Span::hours(25));
                let (came, _) = self.watchman.later(&self.config, no, &ana, now, span);
                assert!(matches!(came, PutOff::AtMost(_)));
            }
            (TimePasses, Some(no)) => {
                let (due, _) = self.watchman.open[&no].due();
                self.now = now.max(due);
                let _ = self.watchman.time_passes(&self.config, no, self.now);
            }
            (SeenWhenOver, None) => {
                if let Some(no) = self.no {
                    self.watchman.is_seen(no);
                }
            }
            (BecomesWrong | SeenWhenOver, Some(_))
            | (BecomesFine | Going | Pass | PutsOff | PutsOffTooLong | TimePasses, None) => {}
        }
    }

    fn raise(&mut self) {
        let wrong = Wrong {
            since: self.now,
            ends: None,
            figures: Figures::Clock { began: self.now, limit: Span::hours(1), calf: None },
        };
        let finding = Finding {
            rule: RuleName::new("a rule"),
            subject: Subject::Dam(Animal::new("114")),
            wrong,
        };
        let how = Raising {
            ladder: "calving".into(),
            priority: self.priority,
            first_rung: 0,
            late: None,
            on: None,
            seed: 7,
            first: self.now,
        };
        let before = self.no;
        self.no = Some(self.watchman.raise(finding, how, self.now));
        assert_ne!(self.no, before, "what comes back is a new alert (AL-24)");
    }

    fn is(&self) -> Is {
        let Some(no) = self.no else { return Nothing };
        let Some(alert) = self.watchman.open.get(&no) else {
            return if self.watchman.unseen.contains_key(&no) { PassedUnseen } else { Nothing };
        };
        assert!(alert.due().0 >= self.now, "it always has a next moment (MD-12)");
        match (&alert.standing, alert.is_seen()) {
            (Standing::Climbing { .. }, false) => Climbing,
            (Standing::Climbing { .. }, true) => ClimbingSeen,
            (Standing::Held { .. }, _) => Held,
            (Standing::Later { .. }, _) => Later,
        }
    }
}

fn expected(was: Is, what: Happens) -> Is {
    let (_, row) = TABLE.iter().find(|(state, _)| *state == was).expect("every state has a row");
    let at = ALL.iter().position(|one| *one == what).expect("every event has a column");
    row[at]
}

/// The shortest way into each state, so that every cell of the table is walked.
fn way_to(state: Is) -> Vec<Happens> {
    match state {
        Nothing => vec![],
        Climbing => vec![BecomesWrong],
        Held => vec![BecomesWrong, Going],
        Later => vec![BecomesWrong, PutsOff],
        ClimbingSeen => vec![BecomesWrong, Pass],
        PassedUnseen => vec![BecomesWrong, BecomesFine],
    }
}

#[test]
fn every_transition_of_the_table_is_what_the_watchman_does() {
    let mut walked: BTreeMap<(Is, Happens), usize> = BTreeMap::new();
    for priority in [Priority::Low, Priority::Medium, Priority::High] {
        for (state, _) in TABLE {
            for what in ALL {
                let mut bench = Bench::new(priority);
                way_to(state).into_iter().for_each(|one| bench.happens(one));
                assert_eq!(bench.is(), state, "the way to {state:?}, {priority:?}");
                bench.happens(what);
                assert_eq!(bench.is(), expected(state, what), "{state:?}, {what:?}, {priority:?}");
                *walked.entry((state, what)).or_default() += 1;
            }
        }
    }
    assert_eq!(walked.len(), TABLE.len() * ALL.len(), "all of its transitions");
}

proptest! {
    #[test]
    fn any_walk_through_the_states_is_the_tables(
        events in prop::collection::vec(prop::sample::select(ALL.to_vec()), 0..60),
        priority in prop::sample::select(vec![Priority::Low, Priority::Medium, Priority::High]),
    ) {
        let mut bench = Bench::new(priority);
        let mut state = Nothing;
        for what in events {
            state = expected(state, what);
            bench.happens(what);
            prop_assert_eq!(bench.is(), state, "after {:?}", what);
        }
    }

    /// MD-10: whatever happens to one alert, another stays as it is.
    #[test]
    fn silencing_one_alert_leaves_another_as_it_is(
        events in prop::collection::vec(prop::sample::select(vec![Going, Pass, PutsOff, TimePasses]), 1..20),
    ) {
        let mut bench = Bench::new(Priority::High);
        bench.raise();
        let other = bench.no.expect("it was raised");
        bench.watchman.open.get_mut(&other).expect("it is open").subject =
            Subject::Dam(Animal::new("207"));
        let before = bench.watchman.open[&other].clone();
        bench.no = None;
        bench.raise();
        events.into_iter().for_each(|what| bench.happens(what));
        prop_assert_eq!(&bench.watchman.open[&other], &before);
    }
}
