//! Which dam has milk and no calf, and which calf needs a mother.
//!
//! It matches nobody: who takes whom is seen in the pen.

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
    let dead = calves.iter().map(|calf| calf.marked(Mark::CalfDead));
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
