//! One thing noted of a dam or her calf: what, when, by whom, and how sure its time is.

use serde::{Deserialize, Serialize};

use super::sign::Mark;
use crate::plain::moment::Moment;

/// A line of her record. It is never taken out; what was said by mistake is struck through.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Noted {
    pub mark: Mark,
    /// When it was so.
    pub at: Moment,
    /// When we were told.
    pub told: Moment,
    /// A person's name, or a device's.
    pub by: String,
    /// The figure, the score, what was given; empty where nothing more was said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Which calf of this birth, from 1, where one was meant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calf: Option<u8>,
    /// A time was named or measured: otherwise `at` is only when it was told.
    #[serde(default)]
    pub timed: bool,
    /// A sensor said so, and may say it again and again.
    #[serde(default)]
    pub sensed: bool,
    /// Taken back since.
    #[serde(default)]
    pub struck: bool,
}

impl Noted {
    /// A mark with nothing more said of it, at the moment it is told.
    pub fn bare(mark: Mark, at: Moment) -> Self {
        Self {
            mark,
            at,
            told: at,
            by: String::new(),
            note: String::new(),
            calf: None,
            timed: false,
            sensed: false,
            struck: false,
        }
    }
}
