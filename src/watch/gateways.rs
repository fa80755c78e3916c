//! The way from the devices to us, branch by branch: which gateway is silent, and whom nothing watches
//! therefore. One finding, at the highest branch that is silent; what hangs below is not blamed.
//!
//! A packet touches its own gateway and those above, however many devices there are. Only while a
//! gateway is past its limit are devices counted.

use std::collections::{BTreeMap, BTreeSet};

use super::asking::Asked;
use super::key::Key;
use super::ready::Ready;
use super::settle::Touched;
use super::{BROKER, Watch};
use crate::gear::gateway::GatewayRecord;
use crate::herd::stage::Stage;
use crate::plain::ids::{Animal, GatewayName};
use crate::plain::moment::{Moment, Span};
use crate::rules::book::{GatewayRule, SilenceRule};
use crate::rules::verdict::{Figures, Subject, Verdict, Wrong};

/// A gateway may miss this many beats of its quickest device.
const BEATS: i64 = 3;
/// One device that falls silent says nothing about the way it came; two that fall silent together do.
const TALKERS: usize = 2;
/// Animals named in a finding; no gateway carries more.
const ANIMALS: usize = 500;

/// What can be said of a gateway by itself.
enum Way {
    /// Nothing: nobody listens, or too few devices hang on it.
    Unknown,
    LivesUntil(Moment),
    /// It has been since then.
    Silent {
        since: Moment,
    },
}

impl Watch {
    /// A device was heard: so were its gateway and every one above. To be called before the device itself
    /// is noted as heard.
    pub(super) fn hears_through(
        &mut self,
        device: u32,
        topic: &str,
        kind: &str,
        ready: &Ready,
        touched: &mut Touched,
    ) {
        if ready.config.chains.is_empty() {
            return;
        }
        if let Some(place) = ready.gateway_of_topic(topic) {
            let name = &ready.config.chains[place].name;
            if self.state.devices.at(device).1.through.as_ref() != Some(name) {
                self.state.devices.at_mut(device).through = Some(name.clone());
                // It has left another, perhaps with too few to tell whether it is silent.
                for other in 0..place_of(self.state.gateways.len()) {
                    touched.key(Key::Gateway(other));
                }
            }
        }
        let path: Vec<usize> = self.above(device, ready).collect();
        let back: Vec<bool> = path.iter().map(|place| self.is_silent(*place, ready)).collect();
        let now = self.state.now;
        let every = ready.every(kind);
        for (place, back) in path.iter().zip(back) {
            let record = &mut self.state.gateways[*place].1;
            let quicker = record.hears(now, every);
            if back {
                record.back = Some(now);
            }
            if back || quicker {
                touched.devices();
            }
            touched.key(Key::Gateway(place_of(*place)));
        }
        if path.len() > 1 {
            // One beside it may have waited to see whether the one above lives.
            for (place, (_, record)) in self.state.gateways.iter().enumerate() {
                let waits = |rule: &GatewayRule| {
                    record.heard.is_some_and(|heard| heard + limit(rule, record) <= now)
                };
                if ready.book.gateway.iter().any(waits) {
                    touched.key(Key::Gateway(place_of(place)));
                }
            }
        }
    }

    pub(super) fn ask_gateway(&self, place: u32, ready: &Ready) -> Asked {
        let place = place as usize;
        if place >= self.state.gateways.len() {
            return (Vec::new(), None);
        }
        let rules = ready.book.gateway.iter();
        let asked = rules.map(|rule| (rule.name.clone(), self.ask_one_gateway(place, rule, ready)));
        (asked.collect(), None)
    }

    fn ask_one_gateway(&self, place: usize, rule: &GatewayRule, ready: &Ready) -> Verdict {
        let since = match self.way(place, rule, ready) {
            Way::Unknown => return Verdict::Fine,
            Way::LivesUntil(until) => return Verdict::FineUntil(until),
            Way::Silent { since } => since,
        };
        let record = &self.state.gateways[place].1;
        for above in ready.above(place).skip(1) {
            let over = &self.state.gateways[above].1;
            match self.way(above, rule, ready) {
                Way::Unknown => {}
                // That one is the finding.
                Way::Silent { .. } => return Verdict::Fine,
                Way::LivesUntil(until) => {
                    let slack = slack(rule, over);
                    let lives = match (over.heard, record.heard) {
                        (Some(over), Some(own)) => over.since(own) > slack,
                        (over, _) => over.is_some(),
                    };
                    if !lives {
                        // It fell silent when this one did: whether it lives is not known yet.
                        return Verdict::FineUntil(until);
                    }
                }
            }
        }
        let heard = record.heard.unwrap_or(since);
        let animals = self.unwatched_under(place, ready);
        Verdict::Wrong(Wrong {
            since,
            figures: Figures::Gateway { since: heard, animals },
            ends: None,
        })
    }

    fn way(&self, place: usize, rule: &GatewayRule, ready: &Ready) -> Way {
        let (name, record) = &self.state.gateways[place];
        if let Some(since) = self.still_silent_gateway(rule, name, record) {
            return Way::Silent { since };
        }
        let Some(listened) = self.listening_since(None) else {
            return Way::Unknown;
        };
        let heartbeat = ready.config.chains[place].speaks.is_some();
        let since = match record.heard {
            Some(heard) => heard.max(listened),
            None if heartbeat => listened,
            None => return Way::Unknown,
        };
        let due = since + limit(rule, record);
        if self.state.now < due {
            return Way::LivesUntil(due);
        }
        if heartbeat || self.talked(place, rule, ready) {
            return Way::Silent { since: due };
        }
        Way::Unknown
    }

    /// Once raised, a gateway's silence ends by being heard, as a device's does.
    fn still_silent_gateway(
        &self,
        rule: &GatewayRule,
        name: &GatewayName,
        record: &GatewayRecord,
    ) -> Option<Moment> {
        let mut open = self.state.watchman.open.values();
        let alert = open.find(|alert| {
            alert.rule == rule.name
                && matches!(&alert.subject, Subject::Gateway(gateway) if gateway == name)
        })?;
        record.heard.is_none_or(|heard| heard < alert.raised).then_some(alert.since)
    }

    /// Whether several devices spoke through a gateway shortly before it was last heard.
    fn talked(&self, place: usize, rule: &GatewayRule, ready: &Ready) -> bool {
        let record = &self.state.gateways[place].1;
        let Some(last) = record.heard else { return false };
        let shortly = last - limit(rule, record);
        let talked = |device: &u32| {
            let heard = self.state.devices.at(*device).1.heard;
            heard.is_some_and(|heard| heard >= shortly)
                && self.above(*device, ready).any(|above| above == place)
        };
        let devices = 0..place_of(self.state.devices.len());
        devices.filter(talked).take(TALKERS).count() == TALKERS
    }

    /// Without a heartbeat of its own, a gateway with one device cannot be told from that device.
    fn can_fall_silent(&self, place: usize, ready: &Ready) -> bool {
        if ready.config.chains[place].speaks.is_some() {
            return true;
        }
        let hangs = |device: &u32| self.above(*device, ready).any(|above| above == place);
        let devices = 0..place_of(self.state.devices.len());
        devices.filter(hangs).take(TALKERS).count() == TALKERS
    }

    fn is_silent(&self, place: usize, ready: &Ready) -> bool {
        // A rule that only writes into the diary must not keep silent what others would tell.
        let mut rules = ready.book.gateway.iter().filter(|rule| ready.tells(&rule.name));
        rules.any(|rule| matches!(self.way(place, rule, ready), Way::Silent { .. }))
    }

    /// The gateways that a device hangs on, the nearest first.
    fn above<'a>(&self, device: u32, ready: &'a Ready) -> impl Iterator<Item = usize> + use<'a> {
        let (id, record) = self.state.devices.at(device);
        let nearest = ready.gateway_of(device, id.as_str(), record.through.as_ref());
        nearest.into_iter().flat_map(move |place| ready.above(place))
    }

    /// Whether a gateway on the way from a device to us is silent.
    pub(super) fn is_cut_off(&self, device: u32, ready: &Ready) -> bool {
        let chained = !ready.config.chains.is_empty() && !ready.book.gateway.is_empty();
        chained && self.above(device, ready).any(|place| self.is_silent(place, ready))
    }

    /// When the way from a device was last mended: before that it could not be heard.
    pub(super) fn came_back(&self, device: u32, ready: &Ready) -> Option<Moment> {
        if ready.config.chains.is_empty() {
            return None;
        }
        self.above(device, ready).filter_map(|place| self.state.gateways[place].1.back).max()
    }

    /// A rule of silence for a device on a gateway: no sooner than the gateway itself would be found, so
    /// that one cause makes one finding.
    pub(super) fn not_before_its_gateway(
        &self,
        rule: &SilenceRule,
        device: u32,
        ready: &Ready,
    ) -> SilenceRule {
        let waits = |place: usize| {
            let record = &self.state.gateways[place].1;
            let rules = ready.book.gateway.iter().filter(|rule| ready.tells(&rule.name));
            rules.map(|rule| limit(rule, record) + slack(rule, record)).max()
        };
        let wait = self.above(device, ready).filter(|place| self.can_fall_silent(*place, ready));
        let wait = wait.filter_map(waits).max();
        let limit = wait.map_or(rule.limit, |wait| rule.limit.max(wait));
        SilenceRule { limit, ..rule.clone() }
    }

    /// Dams that wear a device under this gateway and that no device watches otherwise, in the order of
    /// the herd.
    fn unwatched_under(&self, place: usize, ready: &Ready) -> Vec<Animal> {
        let now = self.state.now;
        let mut dams: BTreeSet<u32> = BTreeSet::new();
        for device in self.state.ledger.devices() {
            if let Some(on) = self.state.ledger.wearing(device, now)
                && self.above(device, ready).any(|above| above == place)
            {
                dams.insert(on.dam);
            }
        }
        let unwatched = |dam: &u32| {
            let (_, record) = self.state.dams.at(*dam);
            let mut devices = self.state.ledger.on(*dam, now);
            record.listed
                && record.stage != Stage::Closed
                && !devices.any(|device| self.alive_until(device, ready).is_some())
        };
        let names = dams.into_iter().filter(unwatched).take(ANIMALS);
        names.map(|dam| self.state.dams.at(dam).0.clone()).collect()
    }

    /// A gateway has fallen silent or is none any more: whatever hangs on it is asked again.
    pub(super) fn note_gateway(&mut self, place: u32, ready: &Ready) {
        let now = self.state.now;
        if place as usize >= self.state.gateways.len() {
            return;
        }
        let silent = self.is_silent(place as usize, ready);
        let record = &mut self.state.gateways[place as usize].1;
        if record.silent == silent {
            return;
        }
        record.silent = silent;
        if ready.asks_for_cover() {
            self.deadlines.set(&Key::Herd, Some(now));
        }
        for other in (0..place_of(self.state.gateways.len())).filter(|other| *other != place) {
            if ready.above(other as usize).any(|above| above == place as usize) {
                self.deadlines.set(&Key::Gateway(other), Some(now));
            }
        }
        let devices: Vec<u32> = self.state.ledger.devices().collect();
        for device in devices {
            if self.above(device, ready).any(|above| above == place as usize) {
                self.deadlines.set(&Key::Device(device), Some(now));
                self.cover_again(device, ready);
            }
        }
    }

    /// The gateways of the settings, each with what is known of it.
    pub(super) fn take_gateways(&mut self, ready: &Ready) {
        let old = std::mem::take(&mut self.state.gateways);
        let mut old: BTreeMap<GatewayName, GatewayRecord> = old.into_iter().collect();
        let known = |gateway: &crate::config::chains::Gateway| {
            let record = old.remove(&gateway.name).unwrap_or_default();
            // The kinds of sensors may have another rhythm now.
            (gateway.name.clone(), GatewayRecord { every: None, ..record })
        };
        self.state.gateways = ready.config.chains.iter().map(known).collect();
    }

    /// Whether the broker is known to be away.
    pub(super) fn broker_is_down(&self) -> bool {
        self.state.lines.get(BROKER).is_some_and(|broker| broker.down.is_some())
    }
}

fn limit(rule: &GatewayRule, record: &GatewayRecord) -> Span {
    let beats = record.every.map_or(0, |every| every.millis().saturating_mul(BEATS));
    rule.limit.max(Span::from_millis(beats))
}

/// Devices that fall silent together were last heard within this.
fn slack(rule: &GatewayRule, record: &GatewayRecord) -> Span {
    let third = Span::from_millis(limit(rule, record).millis() / BEATS);
    record.every.map_or(third, |every| third.max(every))
}

/// The settings hold few gateways and the rosters count in u32.
fn place_of(place: usize) -> u32 {
    u32::try_from(place).unwrap_or(u32::MAX)
}
