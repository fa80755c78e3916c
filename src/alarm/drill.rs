//! A drill: what was sent, by which line, when each message was taken, and who answered. It judges nothing; how it
//! reads is `talk/drill.rs`'s business.

use serde::{Deserialize, Serialize};

use super::ending::Ending;
use crate::plain::ids::{LineName, MessageNo, PersonName};
use crate::plain::moment::Moment;

/// Messages of one drill that are timed; more are only counted.
const HOPS_MAX: usize = 40;

/// The drill that runs, or the last one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Drill {
    pub no: u32,
    /// Who asked for it; `None` for a schedule.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<PersonName>,
    pub begun: Moment,
    /// Unanswered it ends then.
    pub until: Moment,
    /// When a sensor was last heard before it began.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heard: Option<Moment>,
    pub hops: Vec<Hop>,
    /// Messages that were not timed.
    #[serde(default)]
    pub untimed: usize,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answered: Option<Answered>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over: Option<Moment>,
}

/// One call of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hop {
    pub message: MessageNo,
    pub to: PersonName,
    pub line: LineName,
    pub left: Moment,
    pub fate: HopFate,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HopFate {
    /// Nothing has been heard of it.
    Unknown,
    /// The next server or gateway had it.
    Taken {
        at: Moment,
    },
    Failed {
        at: Moment,
        why: String,
    },
}

/// The answer that ended it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answered {
    pub who: PersonName,
    pub at: Moment,
    pub way: AnswerWay,
}

/// How an answer came in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AnswerWay {
    Mail,
    Text,
    ThisMachine,
}

impl Drill {
    /// Why it is over.
    pub fn ending(&self) -> Ending {
        match &self.answered {
            Some(Answered { who, at, .. }) => {
                Ending::DrillAnswered { who: who.clone(), after: at.since(self.begun) }
            }
            None => Ending::DrillUnanswered { lasted: self.until.since(self.begun) },
        }
    }

    pub fn runs(&self) -> bool {
        self.over.is_none()
    }

    pub fn leaves(&mut self, message: MessageNo, to: &PersonName, line: &LineName, left: Moment) {
        if self.hops.len() >= HOPS_MAX {
            self.untimed += 1;
            return;
        }
        let (to, line) = (to.clone(), line.clone());
        self.hops.push(Hop { message, to, line, left, fate: HopFate::Unknown });
    }

    pub fn lands(&mut self, message: MessageNo, fate: HopFate) {
        let hop = self.hops.iter_mut().find(|hop| hop.message == message);
        if let Some(hop) = hop.filter(|hop| hop.fate == HopFate::Unknown) {
            hop.fate = fate;
        }
    }
}
