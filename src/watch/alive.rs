//! Which devices watch at this moment: heard as often as they should be, and well. For rules that want
//! several devices of one dam, and for whoever asks what watches her.
//!
//! It raises nothing: that a device is silent is another rule's finding.

use super::Watch;
use super::key::Key;
use super::ready::Ready;
use super::settle::{Touched, earlier};
use super::state::State;
use crate::config::rules::Ill;
use crate::config::sensors::{ReadKind, SensorKind};
use crate::herd::by_hand;
use crate::herd::window::Edges;
use crate::plain::ids::DeviceId;
use crate::plain::moment::{Moment, Span};
use crate::rules::ask_device::BEATS;
use crate::rules::devices::{Standing, Wearing};
use crate::rules::verdict::Subject;

/// So long a device may say nothing where neither a rule nor its own rhythm says how long, and still say
/// yes or no of a dam (common practice, no source).
const USUAL: Span = Span::hours(1);
/// And so long it is believed to watch her: it speaks when something happens, and nothing tells whether
/// it still could (common practice, no source).
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
        if speaks_for_its_regions_alone(id, record.kind.as_deref(), ready) {
            return None;
        }
        let found = self.state.watchman.open.values();
        let mut found = found.filter_map(|alert| match &alert.subject {
            Subject::Device(device) if alert.figures.says_it_is_blind() => Some(device),
            Subject::Device(_)
            | Subject::Dam(_)
            | Subject::Line(_)
            | Subject::Gateway(_)
            | Subject::Person(_)
            | Subject::Rota
            | Subject::Drill
            | Subject::Herd => None,
        });
        let blind = found.any(|device| device == id) || is_blind(&self.state, ready, device);
        if blind || self.is_cut_off(device, ready) {
            return None;
        }
        // While the broker is down, nobody can hear it. That it was put on is no word from it.
        let listening = self.listening_since(None);
        let since = listening.map_or(heard, |listening| heard.max(listening));
        let since = self.came_back(device, ready).map_or(since, |back| since.max(back));
        Some(since + silence_limit(&self.state, ready, device).unwrap_or(WITHOUT_A_RHYTHM))
    }

    /// A device has spoken: what her rules answer may turn on its being heard.
    pub(super) fn speaks_of(&self, device: u32, touched: &mut Touched) {
        if !self.ready().is_some_and(|ready| ready.book.lives) {
            return;
        }
        if let Some(on) = self.state.ledger.wearing(device, self.state.now) {
            touched.key(Key::Dam(on.dam));
        }
    }
}

/// A camera whose picture is in regions: each of those is a device, and it says nothing for itself.
fn speaks_for_its_regions_alone(id: &DeviceId, kind: Option<&str>, ready: &Ready) -> bool {
    let sensors = &ready.config.sensors;
    let parted = |one: &SensorKind| {
        !one.regions.is_empty() && one.read.iter().all(|read| read.kind == ReadKind::Seen)
    };
    sensors.iter().any(|one| parted(one) && kind == Some(one.kind.as_str()))
        && sensors.iter().all(|one| parted(one) || kind != Some(one.kind.as_str()))
        && !id.as_str().contains('/')
}

/// So ill that what it says is no sign of anything, or none of it is taken.
fn is_blind(state: &State, ready: &Ready, device: u32) -> bool {
    let record = state.devices.at(device).1;
    let refused = || record.kind.as_deref().is_some_and(|kind| ready.refuses_times_of(kind));
    let mut ills = record.ills.at(state.now);
    ills.any(|ailing| ailing.ill.blinds() || (ailing.ill == Ill::ClockWrong && refused()))
}

/// How long a device may say nothing: by its rhythm and by every rule that speaks of its kind, the
/// shortest.
fn silence_limit(state: &State, ready: &Ready, device: u32) -> Option<Span> {
    let record = state.devices.at(device).1;
    let kind = record.kind.as_deref();
    let concerns = |of: &Option<String>| of.is_none() || of.as_deref() == kind;
    let rules = ready.book.silence.iter().filter(|rule| concerns(&rule.kind));
    let limit = rules.map(|rule| rule.limit).min();
    let every = kind.and_then(|kind| ready.every(kind)).or_else(|| record.habit());
    let beats = every.map(|every| Span::from_millis(every.millis().saturating_mul(BEATS)));
    let limit = limit.max(beats);
    // Its broker says that it is gone: it is given no longer than any other.
    let gone = record.ills.has(Ill::Offline, state.now);
    if gone { Some(limit.map_or(USUAL, |limit| limit.min(USUAL))) } else { limit }
}

/// When a device counts as silent unless it speaks; `None` if it never spoke or is blind.
fn dies(state: &State, ready: &Ready, device: u32) -> Option<Moment> {
    if is_blind(state, ready, device) {
        return None;
    }
    let heard = state.devices.at(device).1.heard?;
    Some(heard + silence_limit(state, ready, device).unwrap_or(USUAL))
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
        if by_hand::is_by_hand(device) {
            // What a person measured of her is of her, and as old as it is.
            return Standing { on: true, heard: true, until: None };
        }
        let now = self.state.now;
        let dies = dies(self.state, self.ready, device).filter(|at| *at > now);
        Standing {
            on: self.state.ledger.wearing(device, now).is_some_and(|on| on.dam == self.dam),
            heard: dies.is_some(),
            until: earlier(dies, self.state.ledger.changes(device, now)),
        }
    }

    fn id(&self, device: u32) -> DeviceId {
        if by_hand::is_by_hand(device) {
            return DeviceId::new(by_hand::KIND);
        }
        self.state.devices.at(device).0.clone()
    }

    fn window(&self) -> Option<Edges> {
        self.ready.edges(self.dam)
    }

    fn purpose(&self) -> &str {
        let animal = self.state.dams.at(self.dam).0;
        let row = self.ready.config.animals.iter().find(|row| row.animal == *animal);
        row.map_or("", |row| row.purpose.as_str())
    }

    fn day(&self, at: Moment) -> Option<(i64, i64)> {
        self.ready.due(self.dam)?.day(self.ready.config.farm.zone.wall(at).date())
    }
}
