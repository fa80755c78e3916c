//! What a message says of the device that sent it, and how far its figures are believed: doubles, the
//! device's clock, its battery, its presence, and figures that no live animal has.
//!
//! All of it is the device's own affair. Nothing here moves a dam.

use std::rc::Rc;

use super::Watch;
use super::event::ClockState;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::config::rules::Ill;
use crate::config::sensors::{Clock, ReadKind};
use crate::gear::clock::{self, ClockNews};
use crate::gear::doubles::Marks;
use crate::gear::gauge::Believed;
use crate::plain::moment::{Moment, Span};
use crate::sensor::decoders::Heard;
use crate::sensor::fresh::FUTURE_MAX;
use crate::sensor::packet::Packet;
use crate::sensor::plausible::{Figure, shown};
use crate::sensor::reading::Reading;

/// What becomes of the time that a message carries.
pub(super) enum PutRight {
    AsItIs,
    /// The device's clock is known to be ahead by this.
    By(Span),
    /// It is known to be wrong, and the settings take none of its times.
    Refused(String),
}

impl Watch {
    /// The same message again moves nothing, and does not show that its device lives: whoever passes it on
    /// may repeat the last word of a dead sensor for ever.
    pub(super) fn heard_before(&mut self, place: u32, heard: &Heard, packet: &Packet) -> bool {
        let marks = Marks {
            carried: carried(heard),
            counter: heard.counter,
            kind: heard.kinds.first().copied().unwrap_or_default(),
            payload: &packet.payload.0,
            matched: heard.matched,
        };
        let now = self.state.now;
        self.state.devices.at_mut(place).doubles.knows(&marks, now)
    }

    /// What a live message says of its device: its clock, its counter, that it speaks at all.
    pub(super) fn notices(
        &mut self,
        place: u32,
        heard: &Heard,
        packet: &Packet,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) {
        let now = self.state.now;
        let name = self.state.devices.at(place).0.clone();
        let own = heard.readings.iter().filter(|reading| reading.timed && reading.device == name);
        let newest = own.map(|reading| reading.at).max().or_else(|| carried(heard));
        self.learns_its_clock(place, newest, heard, ready, out);
        if let Some(frame) = heard.counter {
            let device = self.state.devices.at_mut(place);
            if let Some(restarted) = device.doubles.counts(frame, carried(heard))
                && device.restarts(now)
            {
                let name = self.state.devices.at(place).0;
                let (from, to) = (restarted.from, restarted.to);
                out.note(format!("device {name} restarted: its counter went from {from} to {to}"));
            }
        }
        let understood = !heard.readings.is_empty() || heard.refusals.is_empty();
        self.state.devices.at_mut(place).was_understood(understood, &packet.payload.0, now);
        if understood && says_something(heard) {
            self.speaks(place, &packet.topic, heard, ready, touched);
        }
    }

    /// A device speaks for itself, as the kind of sensor that read its message.
    pub(super) fn speaks(
        &mut self,
        place: u32,
        topic: &str,
        heard: &Heard,
        ready: &Ready,
        touched: &mut Touched,
    ) {
        let Some(kind) = heard.kinds.first().map(|kind| &ready.kinds[*kind]) else { return };
        // Before it counts as heard: whether its gateway was silent until now depends on that.
        self.hears_through(place, topic, kind, ready, touched);
        let declared = ready.every(kind);
        let listened = if declared.is_some() { None } else { self.listening_since(None) };
        let now = self.state.now;
        let device = self.state.devices.at_mut(place);
        device.speaks(kind, now, listened);
        // Whoever talks is there, whatever the broker says in its name.
        device.ills.ends(Ill::Offline);
    }

    pub(super) fn learns_its_clock(
        &mut self,
        place: u32,
        newest: Option<Moment>,
        heard: &Heard,
        ready: &Ready,
        out: &mut Out,
    ) {
        let Some(carried) = newest else { return };
        let now = self.state.now;
        let kind = heard.kinds.first().copied().unwrap_or_default();
        let (name, _) = self.state.devices.at(place);
        let name = name.clone();
        let device = self.state.devices.at_mut(place);
        if self.state.clock == ClockState::About {
            // Ours is the one that is wrong.
            device.clock.forgets_the_run();
            return;
        }
        match device.clock.hears(carried, now) {
            // Without a rule that tells somebody, these lines are all that is said of it.
            Some(ClockNews::OutBy(out_by)) => {
                let how = clock::words(out_by);
                device.ills.begins(Ill::ClockWrong, now, &format!("its clock is {how}"));
                let what = match ready.clock(kind) {
                    Clock::Correct => "its times are put right by that",
                    Clock::Refuse => "its times are refused until it is set",
                };
                out.note(format!("device {name}: its clock is {how}; {what}"));
            }
            Some(ClockNews::Right) => {
                device.ills.ends(Ill::ClockWrong);
                out.note(format!("device {name}: its clock is right again"));
            }
            None => {}
        }
    }

    pub(super) fn put_right(&self, place: u32, reading: &Reading, ready: &Rc<Ready>) -> PutRight {
        if !reading.timed || reading.retained || self.state.clock == ClockState::About {
            return PutRight::AsItIs;
        }
        let device = self.state.devices.at(place).1;
        let Some(out_by) = device.clock.out_by(reading.at, self.state.now) else {
            return PutRight::AsItIs;
        };
        match ready.clock(reading.place.kind) {
            Clock::Correct => PutRight::By(out_by),
            Clock::Refuse => {
                let how = clock::words(out_by);
                PutRight::Refused(format!("the device's clock is {how}: set it"))
            }
        }
    }

    /// Online or offline: never a sign that its sensor works (needs.md N28). The broker keeps what is
    /// so now, so a kept word counts too; a device that talks is there all the same.
    pub(super) fn presence(&mut self, place: u32, reading: &Reading, out: &mut Out) {
        let now = self.state.now;
        let ills = &mut self.state.devices.at_mut(place).ills;
        let why = "it, or the broker in its name, says that it is offline";
        if reading.value == 0.0 && ills.begins(Ill::Offline, now, why) {
            out.note(format!("device {}: {why}", reading.device));
        } else if reading.value != 0.0 && ills.ends(Ill::Offline) {
            out.note(format!("device {}: it is online again", reading.device));
        }
    }

    /// Whether a figure is evidence. One that was held back and is confirmed by this one goes first.
    pub(super) fn is_believed(
        &mut self,
        place: u32,
        reading: &Reading,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) -> bool {
        let scale = match (reading.as_, ready.scale(reading.place)) {
            (ReadKind::Level, Some(scale)) => *scale,
            (_, _) => return true,
        };
        let now = self.state.now;
        let figure = figure(reading, now);
        let device = self.state.devices.at_mut(place);
        let (believed, dropped) = device.reads(&reading.sign, figure, &scale, now);
        if let Some(spike) = dropped {
            let why = format!("{} was a jump that nothing confirmed", shown(spike.value));
            self.disbelieved("jump", reading, &why, out);
        }
        match believed {
            Believed::No(why) => {
                self.disbelieved("implausible", reading, &why, out);
                false
            }
            Believed::Held => false,
            Believed::Yes { before } => {
                if let Some(Figure { value, at, timed }) = before {
                    let before = Reading { value, at, timed, ..reading.clone() };
                    self.evidence(place, &before, ready, touched, out);
                }
                if scale.battery {
                    let percent = scale.unit == Some(crate::plain::quantity::Unit::Charge);
                    let low_at = ready.battery_low(reading.place);
                    let needed_until = self.needed_until(place, ready);
                    let device = self.state.devices.at_mut(place);
                    device.has_left(reading.value, low_at, percent, needed_until, now);
                }
                true
            }
        }
    }

    fn disbelieved(&mut self, kind: &str, reading: &Reading, why: &str, out: &mut Out) {
        let kind = format!("{kind} {} {}", reading.sign, reading.device);
        self.refuse(&kind, &format!("{} from {}", reading.sign, reading.device), why, out);
    }

    /// As far as a device's battery must last: until it comes off, or the window of the dam that wears it
    /// ends.
    fn needed_until(&self, place: u32, ready: &Rc<Ready>) -> Option<Moment> {
        let on = self.state.ledger.wearing(place, self.state.now)?;
        on.until.or_else(|| ready.window(on.dam).map(|(_, until)| until))
    }

    /// How many a growing total has grown by on this dam.
    pub(super) fn adds_up(
        &mut self,
        place: u32,
        reading: &Reading,
        put_on: Option<Moment>,
        out: &mut Out,
    ) -> Option<u32> {
        let now = self.state.now;
        let device = self.state.devices.at_mut(place);
        let (grown, before) = device.adds_up(&reading.sign, figure(reading, now), put_on);
        if let Some(before) = before
            && device.restarts(now)
        {
            let (sign, name) = (&reading.sign, &reading.device);
            let (from, to) = (shown(before), shown(reading.value));
            out.note(format!(
                "device {name} restarted: its total of {sign} went from {from} to {to}"
            ));
        }
        grown
    }
}

/// The time by which a message is known again, as it carries it: the newest of its samples.
fn carried(heard: &Heard) -> Option<Moment> {
    let samples = heard.readings.iter().filter(|reading| reading.timed);
    heard.carried.or_else(|| samples.map(|reading| reading.at).max())
}

/// Presence alone is not data.
fn says_something(heard: &Heard) -> bool {
    let presence = |reading: &Reading| reading.as_ == ReadKind::Presence;
    heard.readings.is_empty() || !heard.readings.iter().all(presence)
}

fn figure(reading: &Reading, now: Moment) -> Figure {
    // A little ahead of us is still now.
    let at = if reading.at.since(now) <= FUTURE_MAX { reading.at.min(now) } else { now };
    Figure { value: reading.value, at, timed: reading.timed }
}
