//! What became of a calf, by the farm's own border between stillborn and died.
//!
//! Publishers draw that border at 24 or at 48 hours (facts.md E-07, E-08, X-25), so it is a setting; this
//! file decides nothing about why a calf died.

use super::case::Case;
use super::sign::Mark;
use crate::config::farm::Stillborn;

/// The note of a death that somebody knows to have been before the birth.
pub const BORN_DEAD: &str = "born dead";

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CalfOutcome {
    Alive,
    BornDead,
    /// Within the farm's border: with those born dead it counts as stillborn.
    DiedWithin,
    DiedLater,
}

impl CalfOutcome {
    pub const fn is_stillborn(self) -> bool {
        match self {
            Self::BornDead | Self::DiedWithin => true,
            Self::Alive | Self::DiedLater => false,
        }
    }
}

/// `None` if she had no such calf in this case.
pub fn outcome(case: &Case, calf: u8, stillborn: &Stillborn) -> Option<CalfOutcome> {
    let place = usize::from(calf).checked_sub(1)?;
    let born = case.calves().get(place)?;
    let Some(died) = born.marked(Mark::CalfDead) else {
        return Some(CalfOutcome::Alive);
    };
    let mut deaths = case.of(Mark::CalfDead).filter(|noted| noted.calf == Some(calf));
    let said = deaths.any(|noted| noted.note == BORN_DEAD);
    Some(if said || died <= born.born.at {
        CalfOutcome::BornDead
    } else if died.since(born.born.at) <= stillborn.within {
        CalfOutcome::DiedWithin
    } else {
        CalfOutcome::DiedLater
    })
}

/// Whether a birth on that day of gestation is a calving at all: before it, a dead calf was aborted. A birth
/// whose day nobody knows is one.
pub fn counts_as_a_birth(day: Option<i32>, stillborn: &Stillborn) -> bool {
    day.is_none_or(|day| day >= stillborn.from_day)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::herd::noted::Noted;
    use crate::plain::moment::{Moment, Span};

    fn hour(n: i64) -> Moment {
        Moment::default() + Span::hours(n)
    }

    fn died(after: Option<i64>, note: &str) -> Case {
        let mut case = Case::default();
        let _ = case.note(Noted::bare(Mark::Calf, hour(0)));
        if let Some(after) = after {
            let _ =
                case.note(Noted { note: note.into(), ..Noted::bare(Mark::CalfDead, hour(after)) });
        }
        case
    }

    fn within(hours: i64) -> Stillborn {
        Stillborn { within: Span::hours(hours), ..Stillborn::default() }
    }

    /// Sources: facts.md E-07 (dairy records' code: 1 alive, 2 born dead, 3 died within 48 h) and E-08
    /// (research: dead at birth or within 24 h, from day 260 on): one death of hour 30 falls on either side.
    #[test]
    fn the_two_published_borders_part_the_same_death() {
        for (after, by_dairy, by_research) in [
            (None, CalfOutcome::Alive, CalfOutcome::Alive),
            (Some(0), CalfOutcome::BornDead, CalfOutcome::BornDead),
            (Some(1), CalfOutcome::DiedWithin, CalfOutcome::DiedWithin),
            (Some(24), CalfOutcome::DiedWithin, CalfOutcome::DiedWithin),
            (Some(30), CalfOutcome::DiedWithin, CalfOutcome::DiedLater),
            (Some(48), CalfOutcome::DiedWithin, CalfOutcome::DiedLater),
            (Some(49), CalfOutcome::DiedLater, CalfOutcome::DiedLater),
        ] {
            let case = died(after, "");
            assert_eq!(outcome(&case, 1, &within(48)), Some(by_dairy), "{after:?}");
            assert_eq!(outcome(&case, 1, &within(24)), Some(by_research), "{after:?}");
        }
        assert_eq!(Stillborn::default().within, Span::hours(48), "E-07 is what we begin with");
        assert_eq!(outcome(&died(None, ""), 2, &within(48)), None);
    }

    #[test]
    fn born_dead_is_born_dead_whenever_it_is_told() {
        assert_eq!(outcome(&died(Some(3), BORN_DEAD), 1, &within(48)), Some(CalfOutcome::BornDead));
        assert!(CalfOutcome::BornDead.is_stillborn() && !CalfOutcome::DiedLater.is_stillborn());
    }

    /// Source: facts.md E-08 (research: 260 days and more); E-09: before it an abortion.
    #[test]
    fn before_day_260_it_was_no_birth() {
        let usual = Stillborn::default();
        assert!(!counts_as_a_birth(Some(259), &usual) && counts_as_a_birth(Some(260), &usual));
        assert!(counts_as_a_birth(None, &usual));
    }
}
