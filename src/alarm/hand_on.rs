//! Handing an alert on by name. Whoever is named is called at once, by all their lines; until they answer it stays whose
//! it is, and the ladder goes on where it stands: naming somebody makes nothing quiet.

use super::alert::{AskedOf, Standing};
use super::climb::{quiet, tell};
use super::ladder::{self, Called};
use super::moves::Move;
use super::watchman::Watchman;
use crate::config::Config;
use crate::plain::ids::{AlertNo, PersonName};
use crate::plain::moment::Moment;

/// What came of asking somebody to take it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HandedOn {
    /// They are called now. Until when the one who asked has it, if they have.
    Asked { until: Option<Moment> },
    /// No line reaches them.
    NoLine,
    /// Somebody else has it.
    Has(PersonName),
    /// It is not open.
    Over,
}

impl Watchman {
    /// Calls somebody by name to an alert.
    pub fn hand_on(
        &mut self,
        config: &Config,
        no: AlertNo,
        by: &PersonName,
        to: &PersonName,
        now: Moment,
    ) -> (HandedOn, Vec<Move>) {
        let Some(alert) = self.open.get_mut(&no) else { return (HandedOn::Over, Vec::new()) };
        if let Some(holder) = alert.standing.held_by_another(by, now).cloned() {
            return (HandedOn::Has(holder), Vec::new());
        }
        let lines = quiet(config, alert, ladder::lines_for(config, to, &[]));
        if lines.is_empty() {
            return (HandedOn::NoLine, Vec::new());
        }
        alert.answered.get_or_insert_with(|| (by.clone(), now));
        alert.asked = Some(AskedOf { to: to.clone(), by: by.clone() });
        let until = match &alert.standing {
            Standing::Held { until, .. } => Some(*until),
            Standing::Climbing { .. } | Standing::Later { .. } => None,
        };
        let mut moves = vec![Move::Note(format!("{by} asks {to} to take alert {no}"))];
        moves.extend(tell(alert, &[Called { person: to.clone(), lines }]));
        (HandedOn::Asked { until }, moves)
    }

    /// Whoever takes over counts as asked by the one who has it.
    pub fn takes_over(&mut self, no: AlertNo, who: &PersonName) {
        if let Some(alert) = self.open.get_mut(&no)
            && let Some(by) = alert.holder().filter(|holder| *holder != who).cloned()
        {
            alert.asked = Some(AskedOf { to: who.clone(), by });
        }
    }

    /// Who had asked this person to take it, when they will not.
    pub fn will_not(&mut self, no: AlertNo, who: &PersonName) -> Option<PersonName> {
        let alert = self.open.get_mut(&no)?;
        let asked = alert.asked.take_if(|asked| asked.to == *who)?;
        Some(asked.by)
    }
}

/// Two people and one alert, against a table written by hand beside this program: whoever is named has nothing before they
/// answer, and nobody loses it but to somebody who has taken it (common practice, no source).
#[cfg(test)]
mod tests {
    use super::*;
    use crate::alarm::message::MessageKind;
    use crate::alarm::states::farm;
    use crate::alarm::watchman::{Raising, Taken};
    use crate::plain::ids::{Animal, RuleName};
    use crate::plain::moment::Span;
    use crate::rules::priority::Priority;
    use crate::rules::verdict::{Figures, Finding, Subject, Wrong};

    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    enum Is {
        Nobodys,
        Anas,
        Toms,
        /// Nobody has it, and Ana has asked Tom.
        Asked,
        /// Ana has it, and has asked Tom.
        AnasAsked,
    }
    use Is::*;

    #[derive(Clone, Copy, Debug)]
    enum Says {
        AnaGoing,
        AnaAsksTom,
        TomGoing,
        TomPasses,
        TomTakesOver,
    }
    use Says::*;

    const TABLE: [(Is, [Is; 5]); 5] = [
        //           Ana going  asks Tom   Tom going  passes    takes over
        (Nobodys, [Anas, Asked, Toms, Nobodys, Toms]),
        (Anas, [Anas, AnasAsked, Anas, Anas, Toms]),
        (Toms, [Toms, Toms, Toms, Nobodys, Toms]),
        (Asked, [Anas, Asked, Toms, Nobodys, Toms]),
        (AnasAsked, [AnasAsked, AnasAsked, Toms, Anas, Toms]),
    ];

    struct Yard {
        config: Config,
        watchman: Watchman,
        no: AlertNo,
        now: Moment,
    }

    impl Yard {
        fn new() -> Self {
            let mut watchman = Watchman::default();
            let now = Moment::from_seconds(1_800_000_000);
            let figures = Figures::Silence { since: now, never: false };
            let wrong = Wrong { since: now, figures, ends: None };
            let finding = Finding {
                rule: RuleName::new("second stage too long"),
                subject: Subject::Dam(Animal::new("114")),
                wrong,
            };
            let how = Raising {
                ladder: "calving".into(),
                priority: Priority::High,
                first_rung: 0,
                late: None,
                on: None,
                seed: 7,
                first: now,
            };
            let no = watchman.raise(finding, how, now);
            Self { config: farm(), watchman, no, now }
        }

        fn says(&mut self, says: Says) {
            let (ana, tom) = (PersonName::new("Ana"), PersonName::new("Tom"));
            let (no, now, config) = (self.no, self.now, &self.config);
            let span = Span::minutes(30);
            match says {
                AnaGoing => drop(self.watchman.going(config, no, &ana, now, span)),
                AnaAsksTom => drop(self.watchman.hand_on(config, no, &ana, &tom, now)),
                TomGoing => drop(self.watchman.going(config, no, &tom, now, span)),
                TomPasses => {
                    self.watchman.will_not(no, &tom);
                    drop(self.watchman.pass(config, no, &tom, now));
                }
                TomTakesOver => {
                    self.watchman.takes_over(no, &tom);
                    drop(self.watchman.going(config, no, &tom, now, span));
                }
            }
        }

        fn is(&self) -> Is {
            let alert = &self.watchman.open[&self.no];
            match (alert.holder().map(PersonName::as_str), &alert.asked) {
                (None, None) => Nobodys,
                (None, Some(_)) => Asked,
                (Some("Ana"), None) => Anas,
                (Some("Ana"), Some(_)) => AnasAsked,
                (Some(_), _) => Toms,
            }
        }
    }

    fn way_to(state: Is) -> &'static [Says] {
        match state {
            Nobodys => &[],
            Anas => &[AnaGoing],
            Toms => &[TomGoing],
            Asked => &[AnaAsksTom],
            AnasAsked => &[AnaGoing, AnaAsksTom],
        }
    }

    #[test]
    fn every_word_about_who_has_it_does_what_the_table_says() {
        for (from, becomes) in TABLE {
            for (says, becomes) in
                [AnaGoing, AnaAsksTom, TomGoing, TomPasses, TomTakesOver].into_iter().zip(becomes)
            {
                let mut yard = Yard::new();
                way_to(from).iter().for_each(|says| yard.says(*says));
                assert_eq!(yard.is(), from);
                yard.says(says);
                assert_eq!(yard.is(), becomes, "{from:?} {says:?}");
            }
        }
    }

    #[test]
    fn whoever_had_it_is_told_who_has_it_now_and_whoever_is_asked_is_called() {
        let mut yard = Yard::new();
        let (ana, tom) = (PersonName::new("Ana"), PersonName::new("Tom"));
        yard.watchman.time_passes(&yard.config, yard.no, yard.now);
        yard.says(AnaGoing);
        let (came, moves) = yard.watchman.hand_on(&yard.config, yard.no, &ana, &tom, yard.now);
        assert_eq!(came, HandedOn::Asked { until: Some(yard.now + Span::minutes(30)) });
        let called = |to: &PersonName, kind: &MessageKind, moves: &[Move]| {
            moves
                .iter()
                .any(|one| matches!(one, Move::Tell(told) if told.to == *to && told.kind == *kind))
        };
        assert!(called(&tom, &MessageKind::Alert, &moves), "{moves:?}");
        let (taken, moves) =
            yard.watchman.going(&yard.config, yard.no, &tom, yard.now, Span::minutes(30));
        assert!(matches!(taken, Some(Taken::Yours { .. })), "{taken:?}");
        assert!(called(&ana, &MessageKind::Taken, &moves), "{moves:?}");
    }
}
