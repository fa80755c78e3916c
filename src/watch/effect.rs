//! Everything that follows from a step, and how each thing prints as one line of the diary.

use serde::{Deserialize, Serialize};

use crate::alarm::message::{Message, Notice};
use crate::herd::stage::Stage;
use crate::plain::ids::Animal;
use crate::plain::moment::Moment;

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Effect {
    Changed(StageChange),
    Send(Message),
    Publish(Notice),
    Refused(Refusal),
    Noted(Note),
    /// To whoever waits at this machine for an answer.
    Said(Answer),
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StageChange {
    pub animal: Animal,
    pub from: Stage,
    pub to: Stage,
    /// When it happened, which may be before it was told.
    pub at: Moment,
    pub because: String,
}

/// What came in made no sense, and why. Printed on the 1st, 10th, 100th … of its kind.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Refusal {
    pub what: String,
    pub why: String,
    pub times: u64,
}

/// Anything else worth a line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    pub text: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    pub asked: u64,
    pub text: String,
    pub understood: bool,
}
