//! A device as the watch has heard it. Which dam wears it stands in the settings.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::lately::Lately;
use crate::plain::ids::GatewayName;
use crate::plain::moment::Moment;

/// Signs kept per device as "last known"; a maker with more sends the rest in vain.
const SIGNS_CAP: usize = 32;

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Device {
    /// The kind of sensor it last spoke as.
    pub kind: Option<Arc<str>>,
    /// When it last spoke for itself; a value kept by the broker is not speaking.
    pub heard: Option<Moment>,
    /// How often it spoke within the last hour.
    #[serde(default)]
    pub lately: Lately,
    /// The gateway that its topic last named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub through: Option<GatewayName>,
    /// The last value of each sign, and whether only the broker remembered it.
    pub last: Vec<(Arc<str>, Known)>,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Known {
    pub value: f64,
    /// The time its message carried, or when it was heard; unknown for a kept value without one.
    pub at: Option<Moment>,
    pub kept: bool,
}

impl Device {
    pub fn speaks(&mut self, kind: &Arc<str>, heard: Moment) {
        if !self.kind.as_ref().is_some_and(|old| Arc::ptr_eq(old, kind)) {
            self.kind = Some(kind.clone());
        }
        self.heard = Some(heard);
        self.lately.count(heard);
    }

    pub fn knows(&mut self, sign: &Arc<str>, known: Known) {
        // The names are shared with the settings, so the same sign is mostly the same pointer.
        let same = |(old, _): &&mut (Arc<str>, Known)| Arc::ptr_eq(old, sign) || old == sign;
        if let Some((_, old)) = self.last.iter_mut().find(same) {
            *old = known;
        } else if self.last.len() < SIGNS_CAP {
            self.last.push((sign.clone(), known));
        }
    }
}
