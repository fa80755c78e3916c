//! Which dam has milk and no calf, and which calf needs a mother.
//!
//! It matches nobody: who takes whom is seen in the pen.

use super::calf::Calf;
use super::dam::Dam;
use super::recovery;
use super::sign::Mark;
use crate::plain::moment::{Moment, Span};

/// Past this a dam without a calf has dried off, and an orphan drinks from a bucket (common practice, no
/// source).
const WITHIN: Span = Span::days(30);

/// Why a calf is on the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Orphan {
    MotherDead,
    /// Somebody said so: she will not have it, or has too little for two.
    Said,
}

impl Orphan {
    pub const fn word(self) -> &'static str {
        match self {
            Self::MotherDead => "its mother is dead",
            Self::Said => "needs a mother",
        }
    }
}

/// A calf that needs a mother.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Motherless {
    /// Its number among the calves of this birth, from 1.
    pub calf: u8,
    pub since: Moment,
    pub why: Orphan,
}

/// Since when a dam has milk and no calf: hers are all dead or with another, or somebody said so. Whether a calf was
/// fostered onto her is known from the other dam's record, see `fostered_onto`.
pub fn has_milk(dam: &Dam, now: Moment) -> Option<Moment> {
    let began = recovery::began(dam).filter(|began| now < *began + WITHIN)?;
    if dam.track(Mark::DamDead).is_some() {
        return None;
    }
    let said = dam.track(Mark::HasMilk).map(|track| track.last);
    let calves = dam.calves();
    let gone = |calf: &Calf| calf.marked(Mark::CalfDead).or(calf.marked(Mark::Fostered));
    let dead = calves.iter().map(gone);
    // A calf found dead before it was out is in nobody's row of calves.
    let unborn = dam.track(Mark::CalfDead).filter(|_| calves.is_empty()).map(|track| track.first);
    let lost = dead.collect::<Option<Vec<Moment>>>().and_then(|all| all.into_iter().max());
    said.or(lost).or(unborn).map(|since| since.max(began))
}

/// Her living calves that need a mother.
pub fn motherless(dam: &Dam, now: Moment) -> Vec<Motherless> {
    let dead = dam.track(Mark::DamDead).map(|track| track.first);
    let calves = dam.calves().iter().enumerate();
    let needs = calves.filter_map(|(at, calf)| {
        let placed = calf.marked(Mark::Fostered).is_some();
        let fresh = now < calf.born.at + WITHIN;
        if placed || calf.is_dead() || !fresh {
            return None;
        }
        let said = calf.marked(Mark::NeedsMother);
        let (since, why) = match (dead, said) {
            (Some(dead), _) => (dead.max(calf.born.at), Orphan::MotherDead),
            (None, Some(said)) => (said, Orphan::Said),
            (None, None) => return None,
        };
        Some(Motherless { calf: u8::try_from(at + 1).ok()?, since, why })
    });
    needs.collect()
}

/// Onto whom her calves went, in the words of whoever said so, and when: "207", "onto 207".
pub fn fostered_onto(dam: &Dam) -> impl Iterator<Item = (Moment, &str)> {
    let told = dam.case().of(Mark::Fostered);
    told.filter_map(|noted| Some((noted.at, noted.note.split_whitespace().next_back()?)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::herd::noted::Noted;

    fn hour(n: i64) -> Moment {
        Moment::default() + Span::hours(n)
    }

    fn after(marks: &[(Mark, i64, &str)]) -> Dam {
        let mut dam = Dam::default();
        for (mark, at, note) in marks {
            let noted = Noted { note: (*note).to_owned(), ..Noted::bare(*mark, hour(*at)) };
            let _ = dam.note(noted);
        }
        dam
    }

    #[test]
    fn a_dam_has_milk_when_every_calf_of_hers_is_gone_and_she_is_not() {
        let lost = after(&[(Mark::Calf, 0, ""), (Mark::CalfDead, 5, "")]);
        assert_eq!(has_milk(&lost, hour(6)), Some(hour(5)));
        assert_eq!(has_milk(&lost, hour(30 * 24)), None, "she has dried off");
        let twin =
            after(&[(Mark::Calf, 0, ""), (Mark::SecondCalf, 1, ""), (Mark::CalfDead, 5, "")]);
        assert_eq!(has_milk(&twin, hour(6)), None, "one of two lives");
        let said = after(&[(Mark::Calf, 0, ""), (Mark::HasMilk, 3, "")]);
        assert_eq!(has_milk(&said, hour(6)), Some(hour(3)));
        let dead = after(&[(Mark::Calf, 0, ""), (Mark::CalfDead, 5, ""), (Mark::DamDead, 6, "")]);
        assert_eq!(has_milk(&dead, hour(7)), None);
        assert_eq!(has_milk(&after(&[(Mark::Calf, 0, "")]), hour(1)), None);
        assert_eq!(has_milk(&Dam::default(), hour(1)), None, "she carries");
    }

    #[test]
    fn a_calf_without_a_mother_is_on_the_list_until_it_has_one() {
        let orphan = [(Mark::Calf, 0, ""), (Mark::DamDead, 2, "")];
        let dam = after(&orphan);
        let needs = Motherless { calf: 1, since: hour(2), why: Orphan::MotherDead };
        assert_eq!(motherless(&dam, hour(3)), [needs]);
        let turned_away = after(&[(Mark::Calf, 0, ""), (Mark::NeedsMother, 4, "")]);
        let needs = Motherless { calf: 1, since: hour(4), why: Orphan::Said };
        assert_eq!(motherless(&turned_away, hour(5)), [needs]);
        let placed = after(&[
            (Mark::Calf, 0, ""),
            (Mark::NeedsMother, 4, ""),
            (Mark::Fostered, 9, "to 207"),
        ]);
        assert!(motherless(&placed, hour(10)).is_empty());
        let onto: Vec<(Moment, &str)> = fostered_onto(&placed).collect();
        assert_eq!(onto, [(hour(9), "207")]);
        let dead =
            after(&[(Mark::Calf, 0, ""), (Mark::NeedsMother, 4, ""), (Mark::CalfDead, 5, "")]);
        assert!(motherless(&dead, hour(6)).is_empty());
    }
}
