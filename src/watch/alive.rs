//! Whether a device watches at this moment: one question for rules that want several devices and for
//! whoever asks what watches a dam.

use super::Watch;
use super::ready::Ready;
use crate::plain::moment::{Moment, Span};
use crate::rules::verdict::Subject;

/// A device that may miss this many of its own beats (as the rule of silence has it).
const BEATS: i64 = 3;
/// How long a device without a rhythm and without a rule about its silence is believed: it speaks when
/// something happens, and nothing tells whether it still could (common practice, no source).
const WITHOUT_A_RHYTHM: Span = Span::hours(24);

impl Watch {
    /// Heard within its limit, not found silent or ill, and nothing broken on the way from it to us.
    pub fn is_alive(&self, device: u32) -> bool {
        let Some(ready) = self.ready() else { return false };
        self.alive_until(device, ready).is_some()
    }

    /// Until when a device counts as alive if nothing more is heard of it; `None` if it does not now.
    pub(super) fn alive_until(&self, device: u32, ready: &Ready) -> Option<Moment> {
        self.believed_until(device, ready).filter(|until| *until > self.state.now)
    }

    /// The same, also if that moment is past.
    pub(super) fn believed_until(&self, device: u32, ready: &Ready) -> Option<Moment> {
        let (id, record) = self.state.devices.at(device);
        let heard = record.heard?;
        let found = self.state.watchman.open.values();
        let mut found = found.filter_map(|alert| match &alert.subject {
            Subject::Device(device) => Some(device),
            Subject::Dam(_) | Subject::Line(_) | Subject::Gateway(_) | Subject::Herd => None,
        });
        if found.any(|device| device == id) || self.is_cut_off(device, ready) {
            return None;
        }
        let now = self.state.now;
        let put_on = self.state.ledger.wearing(device, now).and_then(|on| on.from);
        // Nobody could hear it before; while the broker is down, nobody can.
        let listening = self.listening_since(put_on);
        let since = listening.map_or(heard, |listening| heard.max(listening));
        let since = self.came_back(device, ready).map_or(since, |back| since.max(back));
        Some(since + self.silence_limit(device, ready))
    }

    /// How long a device may say nothing: by its rhythm and by every rule that speaks of its kind, the
    /// shortest.
    fn silence_limit(&self, device: u32, ready: &Ready) -> Span {
        let kind = self.state.devices.at(device).1.kind.as_deref();
        let beats = kind.and_then(|kind| ready.every(kind));
        let beats = beats.map(|every| Span::from_millis(every.millis().saturating_mul(BEATS)));
        let concerns = |of: &Option<String>| of.is_none() || of.as_deref() == kind;
        let rules = ready.book.silence.iter().filter(|rule| concerns(&rule.kind));
        let limit = rules.map(|rule| rule.limit).min();
        match (limit, beats) {
            (Some(limit), Some(beats)) => limit.max(beats),
            (limit, beats) => limit.or(beats).unwrap_or(WITHOUT_A_RHYTHM),
        }
    }
}
