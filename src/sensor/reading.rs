//! One quantity from one device, with the two times it has: when it was so, and when we heard.
//!
//! Names are shared, not copied: a season is millions of readings of a few kinds.

use std::sync::Arc;

use crate::config::sensors::ReadKind;
use crate::plain::ids::DeviceId;
use crate::plain::moment::Moment;
use crate::plain::quantity::Unit;

#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    pub device: DeviceId,
    /// The kind of sensor, as the settings call it.
    pub kind: Arc<str>,
    pub sign: Arc<str>,
    /// Always finite, in `unit`. A count is a whole number from 0; a flag is 1 if it happened and 0
    /// if not; presence is 1 online and 0 offline; seen is a score from 0 to 1.
    pub value: f64,
    pub as_: ReadKind,
    /// The unit its quantity is kept in, if the settings or the message name one.
    pub unit: Option<Unit>,
    /// Which read of which kind gave it.
    pub place: FieldPlace,
    /// The part of a camera's picture it is about; `device` has it behind its name.
    pub region: Option<Arc<str>>,
    /// When it was so: the device's own time if it sent one that makes sense, else `heard`.
    pub at: Moment,
    pub heard: Moment,
    /// The message carried its own time, and `at` is that time.
    pub timed: bool,
    /// The broker kept it: it may be of any age.
    pub retained: bool,
}

/// Places in the decoders' own order: a kind of sensor, and one of its reads.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct FieldPlace {
    pub kind: usize,
    pub read: usize,
}
