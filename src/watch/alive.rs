//! Which devices are heard as often as they should be, and so may say yes or no of a dam.
//!
//! It raises nothing: that a device is silent is another rule's finding.

use super::Watch;
use super::key::Key;
use super::ready::Ready;
use super::settle::{Touched, earlier};
use super::state::State;
use crate::plain::ids::DeviceId;
use crate::plain::moment::{Moment, Span};
use crate::rules::devices::{Standing, Wearing};

/// A device may miss this many of its own beats.
const BEATS: i64 = 3;

/// So long a device may say nothing where neither a rule nor its own rhythm says how long (common
/// practice, no source).
const USUAL: Span = Span::hours(1);

impl Watch {
    /// Whether a device is heard as often as it should be, now.
    pub fn is_alive(&self, device: u32) -> bool {
        let dies = self.ready().and_then(|ready| dies(&self.state, ready, device));
        dies.is_some_and(|at| at > self.state.now)
    }

    /// A device has spoken: what her rules answer may turn on its being heard.
    pub(super) fn speaks_of(&self, device: u32, touched: &mut Touched) {
        let Some(ready) = self.ready().filter(|ready| ready.book.lives) else { return };
        if let Some(on) = ready.wearing(device, self.state.now) {
            touched.key(Key::Dam(on.dam));
        }
    }
}

/// When a device counts as silent unless it speaks; `None` if it never spoke, or is so ill that what it
/// says is no sign of anything.
fn dies(state: &State, ready: &Ready, device: u32) -> Option<Moment> {
    let (_, record) = state.devices.at(device);
    if record.ills.at(state.now).any(|ailing| ailing.ill.blinds()) {
        return None;
    }
    let kind = record.kind.as_deref();
    let concerned = ready
        .book
        .silence
        .iter()
        .filter(|rule| rule.kind.is_none() || rule.kind.as_deref() == kind);
    let limit = concerned.map(|rule| rule.limit).min();
    let every = kind.and_then(|kind| ready.every(kind)).or_else(|| record.habit());
    let beats = every.map(|every| Span::from_millis(every.millis().saturating_mul(BEATS)));
    Some(record.heard? + limit.max(beats).unwrap_or(USUAL))
}

/// The devices on one dam, for the rules that are asked about her.
pub(super) struct Worn<'a> {
    pub(super) state: &'a State,
    pub(super) ready: &'a Ready,
    /// Her place in the roster.
    pub(super) dam: u32,
}

impl Wearing for Worn<'_> {
    fn standing(&self, device: u32) -> Standing {
        let now = self.state.now;
        let dies = dies(self.state, self.ready, device).filter(|at| *at > now);
        Standing {
            on: self.ready.wearing(device, now).is_some_and(|on| on.dam == self.dam),
            heard: dies.is_some(),
            until: earlier(dies, self.ready.worn_changes(device, now)),
        }
    }

    fn id(&self, device: u32) -> DeviceId {
        self.state.devices.at(device).0.clone()
    }
}
