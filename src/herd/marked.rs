//! What comes of a mark of a dam or her young; how it is said is another row's.

use super::stage::Stage;

/// What came of a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Marked {
    /// Kept; she entered this stage by it, if any.
    Kept(Option<Moved>),
    /// Not kept, and why.
    Not(NotTaken),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moved {
    pub from: Stage,
    pub to: Stage,
}

/// Why a mark is not kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotTaken {
    /// No such dam is listed.
    NotInHerd,
    /// It is of before the last false alarm.
    BeforeFalse,
    /// Nothing of hers has been born, as far as is noted.
    NoYoung,
    /// That one was seen alive, and cannot have been born dead.
    WasAlive,
    /// One of a higher number than was born.
    NoSuchYoung,
    /// Something later has been noted of her.
    LaterNoted,
}
