//! How cold it is outside, from the one device that the settings name: for limits that are shorter in the cold.
//!
//! It forecasts nothing, and what it does not know it does not guess: three hours after the last word nobody
//! knows how cold it is, and the usual limits hold.

use serde::{Deserialize, Serialize};

use super::Watch;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::plain::amount::Amount;
use crate::plain::english;
use crate::plain::moment::{Moment, Span};
use crate::sensor::reading::Reading;

/// A night's air changes by some degrees in so long (common practice, no source).
pub const KNOWN_FOR: Span = Span::hours(3);
/// So much above the edge it is mild again, so that an air that wavers about it is one change (common
/// practice, no source).
const MILD_AGAIN: i64 = 1_000;

/// The last word about the air.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Air {
    pub air: Amount,
    pub at: Moment,
    pub cold: bool,
    /// It has been said that nobody knows any more.
    #[serde(default)]
    pub old: bool,
}

impl Watch {
    /// Whether the farm's weather is known to be cold.
    pub fn is_cold(&self, now: Moment) -> bool {
        self.cold_until().is_some_and(|until| now < until)
    }

    fn cold_until(&self) -> Option<Moment> {
        let tells = self.ready().is_some_and(|ready| ready.config.weather.is_some());
        let air = self.state.weather.filter(|air| tells && air.cold)?;
        Some(air.at + KNOWN_FOR)
    }

    /// When what is asked of a dam may change because nobody knows any more how cold it is.
    pub(super) fn cold_ends(&self, dam: u32) -> Option<Moment> {
        let until = self.cold_until().filter(|until| *until > self.state.now)?;
        self.state.dams.at(dam).1.listed.then_some(until)
    }

    /// Takes a word about the air; `false` if the reading is none.
    pub(super) fn takes_air(
        &mut self,
        reading: &Reading,
        ready: &Ready,
        touched: &mut Touched,
        out: &mut Out,
    ) -> bool {
        let Some(weather) = &ready.config.weather else { return false };
        if reading.device != weather.device || *reading.sign != *weather.sign {
            return false;
        }
        let Some(air) = Amount::of(reading.value) else { return false };
        let at = reading.at.min(self.state.now);
        let before = self.state.weather;
        if before.is_some_and(|before| at < before.at) || at + KNOWN_FOR <= self.state.now {
            return true;
        }
        let was = before.filter(|before| !before.old).map(|before| before.cold);
        let edge = if was == Some(true) { weather.cold.plus(MILD_AGAIN) } else { weather.cold };
        let cold = air < edge;
        self.state.weather = Some(Air { air, at, cold, old: false });
        let device = &reading.device;
        match (was, cold) {
            (Some(false) | None, true) => {
                out.note(format!("it is cold: {air} C by {device}; limits for the cold hold"))
            }
            (Some(true), false) => out.note(format!("it is mild again: {air} C by {device}")),
            (None, false) if before.is_some() => {
                out.note(format!("it is mild: {air} C by {device}"));
            }
            (Some(true), true) | (Some(false) | None, false) => {}
        }
        if cold || was == Some(true) {
            // Until when their answers hold has moved.
            let fresh = (0..).zip(self.state.dams.iter());
            let fresh = fresh.filter(|(_, (_, dam))| dam.listed);
            fresh.for_each(|(place, _)| touched.key(Key::Dam(place)));
        }
        true
    }

    /// Says once that nobody knows any more how cold it is.
    pub(super) fn air_grows_old(&mut self, out: &mut Out) {
        let now = self.state.now;
        let device = self.ready().and_then(|ready| ready.config.weather.as_ref());
        let Some(device) = device.map(|weather| weather.device.clone()) else { return };
        if let Some(air) = &mut self.state.weather
            && !air.old
            && now >= air.at + KNOWN_FOR
        {
            air.old = true;
            let known = english::span(KNOWN_FOR);
            out.note(format!(
                "{device} has told no air temperature for {known}: whether it is cold is not known"
            ));
        }
    }
}
