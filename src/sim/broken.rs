//! What a season must always show, by name, and how it says that it did not.

use std::fmt;

use crate::plain::moment::Moment;

/// One thing that must always hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Promise {
    /// No dam, sensor or line past a limit without an open alert, in the same step.
    WrongIsAnAlert,
    /// No alert without something wrong: nobody is woken for nothing.
    AnAlertIsWrong,
    /// No alert that nobody was told of.
    SomebodyIsTold,
    /// An open alert always has a next deadline.
    AnAlertMoves,
    /// After a step nothing is still due.
    NothingIsStillDue,
    /// The watch is woken when it asked to be, and what comes true is told then.
    WokenInTime,
    /// An alert that somebody holds calls nobody else.
    TheHolderIsAlone,
    /// Nobody is called twice on one round by the same line.
    OnceARound,
    /// A rung waits its time, unless somebody passes or cannot be reached.
    RungsWait,
    /// A stage goes forward unless a person corrects it, and is what the evidence says.
    StagesGoForward,
    /// Every message has a number of its own, for ever.
    NumbersAreOnce,
    /// What nobody watched says how late it is.
    LateIsSaid,
    /// The first words of a message say whom it is about and its code; a text fits one message.
    WordsFit,
    /// The watch's own list of alerts and holders is the one that the world was told of.
    OneTruth,
    /// The index of deadlines says what the full computation says.
    TheIndexAgrees,
    /// The state survives its printed form, and the same events give the same state.
    SameAgain,
    /// When faults have stopped, every alert finds somebody within its time.
    Recovers,
    /// The farm's settings hold.
    SettingsHold,
}

/// A promise that was not kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Broken {
    pub at: Moment,
    pub promise: Promise,
    pub what: String,
}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {:?}: {}", self.at.rfc3339(), self.promise, self.what)
    }
}

/// What one look at a step found.
pub(super) type Faults = Vec<(Promise, String)>;
