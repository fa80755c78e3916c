//! A calf of this birth: when it was born, how sure that is, and what was noted of it since.
//!
//! It decides nothing: which calf lacks what is asked by the rules.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::noted::Noted;
use super::sign::Mark;
use crate::plain::moment::Moment;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Calf {
    pub born: Born,
    /// When each mark was first made of it.
    marks: BTreeMap<Mark, Moment>,
}

/// When it was born, as far as that is known (needs.md N106: a time nobody saw stays a guess).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Born {
    pub at: Moment,
    /// When she was last known not to have calved yet; `None` if nobody had looked.
    pub not_before: Option<Moment>,
    /// Somebody named the time.
    pub said: bool,
}

/// Only a living calf does these. "Up" may be the dam that stands.
pub(super) const LIFE: [Mark; 4] = [Mark::Breathing, Mark::Sternal, Mark::Trying, Mark::Sucked];

impl Calf {
    pub fn new(born: Born) -> Self {
        Self { born, marks: BTreeMap::new() }
    }

    /// Takes what is noted of this calf.
    pub fn note(&mut self, noted: &Noted) {
        let at = self.marks.entry(noted.mark).or_insert(noted.at);
        *at = (*at).min(noted.at);
    }

    pub fn marked(&self, mark: Mark) -> Option<Moment> {
        self.marks.get(&mark).copied()
    }

    /// Takes a mark back.
    pub fn unsay(&mut self, mark: Mark) {
        self.marks.remove(&mark);
    }

    /// Something that only a living calf does was seen of it, and when last it was first so.
    pub fn last_alive(&self) -> Option<Moment> {
        LIFE.iter().filter_map(|mark| self.marked(*mark)).max()
    }

    pub fn is_dead(&self) -> bool {
        self.marks.contains_key(&Mark::CalfDead)
    }
}
