//! One quantity from one device, with the two times it has: when it was so, and when we heard.
//!
//! Names are shared, not copied: a season is millions of readings of a few kinds.

use std::sync::Arc;

use crate::config::sensors::ReadKind;
use crate::plain::ids::DeviceId;
use crate::plain::moment::Moment;

#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    pub device: DeviceId,
    /// The kind of sensor, as the settings call it.
    pub kind: Arc<str>,
    pub sign: Arc<str>,
    /// Always finite. A count is a whole number from 0; a flag is 1 if it happened and 0 if not.
    pub value: f64,
    pub as_: ReadKind,
    /// When it was so: the device's own time if it sent one that makes sense, else `heard`.
    pub at: Moment,
    pub heard: Moment,
    /// The message carried its own time, and `at` is that time.
    pub timed: bool,
    /// The broker kept it: it may be of any age.
    pub retained: bool,
}
