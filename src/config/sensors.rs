//! What kinds of message sensors send, and which device is on which dam.

use crate::plain::ids::{Animal, DeviceId};
use crate::plain::moment::{Moment, Span};

/// `[[sensor]]`: one kind of message from any maker.
#[derive(Clone, Debug, PartialEq)]
pub struct SensorKind {
    /// A free word shown to people, such as "tail".
    pub kind: String,
    /// The MQTT filter with `{name}` wildcards as written.
    pub topic: String,
    pub form: Form,
    pub read: Vec<Read>,
    pub time: Option<TimeAt>,
    /// How often it normally speaks.
    pub every: Option<Span>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Json,
    /// The payload is one value.
    Text,
}

/// One quantity read from a message.
#[derive(Clone, Debug, PartialEq)]
pub struct Read {
    pub sign: String,
    /// RFC 6901 pointers, the first that is there wins; unused for `Form::Text`.
    pub at: Vec<String>,
    pub kind: ReadKind,
    pub unit: Option<String>,
    /// Values that mean "no reading".
    pub none: Vec<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadKind {
    /// A measured quantity.
    Level,
    /// How many happened since the last message.
    Count,
    /// Happened or not: true, 1, "on" or "yes" means it did.
    Flag,
}

/// Where a message carries its own time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TimeAt {
    pub at: Vec<String>,
    pub form: TimeForm,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TimeForm {
    UnixSeconds,
    UnixMillis,
    Rfc3339,
}

/// How far ahead of what it warns of a kind of sensor speaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Horizon {
    Now,
    Hours,
    Day,
}

impl Horizon {
    pub const fn words(self) -> &'static str {
        match self {
            Self::Now => "now",
            Self::Hours => "within hours",
            Self::Day => "within a day",
        }
    }
}

/// `[[device]]`: this device was on this dam from then to then.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeviceOn {
    pub id: DeviceId,
    pub on: Animal,
    pub from: Option<Moment>,
    pub until: Option<Moment>,
}
