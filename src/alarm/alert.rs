//! An alert: what people have been told about a finding, and who holds it.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::ending::Ending;
use crate::plain::ids::{AlertNo, Animal, LineName, MessageNo, PersonName, RuleName};
use crate::plain::moment::{Moment, Span};
use crate::rules::priority::Priority;
use crate::rules::verdict::{Figures, Subject};

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Alert {
    pub no: AlertNo,
    pub code: String,
    pub rule: RuleName,
    pub subject: Subject,
    /// The dam that wore the device it is about when it was raised.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<Animal>,
    pub priority: Priority,
    pub ladder: String,
    /// When it became wrong, and when this alert was raised.
    pub since: Moment,
    pub raised: Moment,
    /// How long after its time it was raised because nobody watched.
    pub late: Option<Span>,
    pub figures: Figures,
    pub standing: Standing,
    /// Somebody is with this dam already: they are told first and alone.
    pub ask_first: Option<PersonName>,
    /// Everybody told of it so far, by which lines.
    pub told: BTreeMap<PersonName, BTreeSet<LineName>>,
    /// Everybody to whom a call of it has been handed over for sure.
    pub reached: BTreeSet<PersonName>,
    pub passed: BTreeSet<PersonName>,
    /// Answered after somebody else had: also on the way.
    pub also: BTreeSet<PersonName>,
    pub rung: RungState,
    /// Who answered first, and when: that it was seen and by whom stays true whatever follows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answered: Option<(PersonName, Moment)>,
    /// Since when it has not been so any more, while the rule waits whether it comes back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fine_since: Option<Moment>,
    /// Whoever has been asked by name to take it, and by whom: their "going" takes it from the one who asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub asked: Option<AskedOf>,
}

/// Somebody was asked to take an alert.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct AskedOf {
    pub to: PersonName,
    pub by: PersonName,
}

/// Nobody has answered, somebody has it for now, or somebody has put it off. Each has an end.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// The next rung is climbed at this moment.
    Climbing {
        next: Moment,
    },
    Held {
        by: PersonName,
        until: Moment,
    },
    /// Somebody has seen it and put it off: nobody is called before that moment.
    Later {
        by: PersonName,
        until: Moment,
    },
}

impl Standing {
    /// Who has it, if that is somebody else whose promise has not run out.
    pub fn held_by_another(&self, who: &PersonName, now: Moment) -> Option<&PersonName> {
        match self {
            Self::Held { by, until } => (by != who && *until > now).then_some(by),
            Self::Climbing { .. } | Self::Later { .. } => None,
        }
    }
}

/// Where on the ladder it stands, and what became of the messages of the rung last climbed.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RungState {
    /// The rung to climb next; past the end it is the last one again.
    pub next: usize,
    /// How often the last rung has been climbed.
    pub rounds: u32,
    /// Messages of this rung that have not failed.
    pub alive: BTreeSet<MessageNo>,
    /// Lines tried for each person on this rung.
    pub tried: BTreeMap<PersonName, BTreeSet<LineName>>,
    /// Who has been sent a picture on this rung: one is enough, whatever lines they have.
    #[serde(default)]
    pub pictured: BTreeSet<PersonName>,
}

impl Alert {
    pub fn holder(&self) -> Option<&PersonName> {
        match &self.standing {
            Standing::Held { by, .. } => Some(by),
            Standing::Climbing { .. } | Standing::Later { .. } => None,
        }
    }

    /// Whether somebody has asked this person by name to take it.
    pub fn is_asked(&self, who: &PersonName) -> bool {
        self.asked.as_ref().is_some_and(|asked| asked.to == *who)
    }

    /// Whether anybody has answered since it was raised, whatever they said.
    pub fn is_seen(&self) -> bool {
        self.answered.is_some()
    }

    /// What can wait is told in a list.
    pub fn is_for_a_list(&self) -> bool {
        self.priority == Priority::Low
    }

    /// When something must happen to it next, and why.
    pub fn due(&self) -> (Moment, DueWhy) {
        match &self.standing {
            Standing::Climbing { next } => (*next, DueWhy::Climb),
            Standing::Held { until, .. } => (*until, DueWhy::PromiseEnds),
            Standing::Later { until, .. } => (*until, DueWhy::LaterEnds),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DueWhy {
    Climb,
    PromiseEnds,
    LaterEnds,
}

/// An alert that is over, kept a while so that a late answer can be told so.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Past {
    pub no: AlertNo,
    pub code: String,
    pub rule: RuleName,
    pub subject: Subject,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<Animal>,
    pub ended: Moment,
    pub because: String,
    /// The same for whoever reads another language; `None` of what ended before this was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ending: Option<Ending>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The wake may come a moment after the promise ran out, and an answer in between.
    #[test]
    fn a_promise_that_has_run_out_keeps_nobody_from_going() {
        let minute = |n| Moment::default() + Span::minutes(n);
        let (ana, tom) = (PersonName::new("Ana"), PersonName::new("Tom"));
        let held = Standing::Held { by: ana.clone(), until: minute(30) };
        assert_eq!(held.held_by_another(&tom, minute(29)), Some(&ana));
        assert_eq!(held.held_by_another(&ana, minute(29)), None);
        assert_eq!(held.held_by_another(&tom, minute(30)), None);
    }
}
