//! A gateway as the watch knows it: when anything last came through it, and when it last came back.
//!
//! It knows of no device and no rule; what hangs on it stands in the settings.

use serde::{Deserialize, Serialize};

use crate::plain::moment::{Moment, Span};

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct GatewayRecord {
    /// When a device on it, or on a gateway below it, last spoke.
    pub heard: Option<Moment>,
    /// When it was heard again after it had been found silent: nobody under it could be heard before.
    pub back: Option<Moment>,
    /// How often the quickest kind of sensor on it speaks.
    pub every: Option<Span>,
    /// A rule holds it for silent now.
    pub silent: bool,
}

impl GatewayRecord {
    /// Something came through it; says whether it has a quicker rhythm than was known.
    pub fn hears(&mut self, now: Moment, every: Option<Span>) -> bool {
        self.heard = Some(now);
        let before = self.every;
        self.every = match (self.every, every) {
            (Some(old), Some(new)) => Some(old.min(new)),
            (old, new) => old.or(new),
        };
        self.every != before
    }
}
