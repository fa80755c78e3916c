//! A device as the watch has heard it, and what is wrong with the device itself. Which dam wears it
//! stands in the settings.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::babble::Babble;
use super::battery::{Battery, Charge, Outlook};
use super::clock::DeviceClock;
use super::doubles::Doubles;
use super::gauge::{Believed, Changes, Gauge, Scale};
use super::illness::Illnesses;
use super::lately::Lately;
use super::rhythm::Rhythm;
use crate::config::rules::Ill;
use crate::plain::bounded::Ring;
use crate::plain::english;
use crate::plain::ids::GatewayName;
use crate::plain::moment::{Moment, Span};
use crate::sensor::plausible::{Figure, shown};

/// Signs kept per device as "last known"; a maker with more sends the rest in vain.
const SIGNS_CAP: usize = 32;
/// So many restarts within so long are an illness: a loose contact or a flat battery (common practice,
/// no source).
const RESTARTS: usize = 3;
const RESTARTS_WITHIN: Span = Span::days(1);

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
    pub doubles: Doubles,
    pub clock: DeviceClock,
    pub ills: Illnesses,
    #[serde(default, skip_serializing_if = "Rhythm::is_empty")]
    pub rhythm: Rhythm,
    pub gauges: Vec<(Arc<str>, Gauge)>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub battery: Option<Box<Battery>>,
    /// It has said things that nobody understands, lately.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub babble: Option<Box<Babble>>,
    #[serde(default, skip_serializing_if = "Ring::is_empty")]
    pub restarts: Ring<Moment, RESTARTS>,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Known {
    pub value: f64,
    /// The time its message carried, or when it was heard; unknown for a kept value without one.
    pub at: Option<Moment>,
    pub kept: bool,
}

impl Known {
    /// What was heard live is not forgotten for a copy that the broker kept of it or of something
    /// before it: its age would be lost whenever we subscribe again. A kept value of unknown age that
    /// says something else is news.
    fn is_old_news_to(&self, live: &Self) -> bool {
        let same = self.value == live.value;
        let older = self.at.is_some() && self.at <= live.at;
        self.kept && !live.kept && (same || older)
    }
}

impl Device {
    /// `listened`: since when nothing of it can have been missed, if its habit is to be learnt.
    pub fn speaks(&mut self, kind: &Arc<str>, heard: Moment, listened: Option<Moment>) {
        if !self.kind.as_ref().is_some_and(|old| Arc::ptr_eq(old, kind)) {
            self.kind = Some(kind.clone());
        }
        if let (Some(listened), Some(before)) = (listened, self.heard)
            && before >= listened
        {
            self.rhythm.pauses(heard.since(before));
        }
        self.heard = Some(heard);
        self.lately.count(heard);
    }

    /// How often it speaks, by its own habit.
    pub fn habit(&self) -> Option<Span> {
        self.rhythm.beat()
    }

    pub fn knows(&mut self, sign: &Arc<str>, known: Known) {
        // The names are shared with the settings, so the same sign is mostly the same pointer.
        let same = |(old, _): &&mut (Arc<str>, Known)| Arc::ptr_eq(old, sign) || old == sign;
        if let Some((_, old)) = self.last.iter_mut().find(same) {
            if !known.is_old_news_to(old) {
                *old = known;
            }
        } else if self.last.len() < SIGNS_CAP {
            self.last.push((sign.clone(), known));
        }
    }

    /// Judges a figure of one sign; an illness that begins or ends by it is noted. Also gives back a
    /// spike that nothing confirmed.
    pub fn reads(
        &mut self,
        sign: &Arc<str>,
        figure: Figure,
        scale: &Scale,
        now: Moment,
    ) -> (Believed, Option<Figure>) {
        let Some(gauge) = self.gauge(sign) else {
            return (Believed::Yes { before: None }, None);
        };
        let mut changes = Changes::default();
        let believed = gauge.reads(figure, scale, &mut changes);
        for (ill, why) in changes.begun {
            self.ills.begins(ill, now, &format!("{sign}: {why}"));
        }
        for ill in changes.ended {
            // Another sign of the same device may still say so.
            if !self.gauges.iter().any(|(_, gauge)| gauge.is_wrong(ill)) {
                self.ills.ends(ill);
            }
        }
        (believed, changes.dropped)
    }

    /// How many since its last total, if that can be said; and the total before, if it began anew.
    pub fn adds_up(
        &mut self,
        sign: &Arc<str>,
        total: Figure,
        put_on: Option<Moment>,
    ) -> (Option<u32>, Option<f64>) {
        self.gauge(sign).map_or((None, None), |gauge| gauge.adds_up(total, put_on))
    }

    fn gauge(&mut self, sign: &Arc<str>) -> Option<&mut Gauge> {
        let known = self.gauges.iter().position(|(old, _)| Arc::ptr_eq(old, sign) || old == sign);
        let place = match known {
            Some(place) => place,
            None if self.gauges.len() >= SIGNS_CAP => return None,
            None => {
                self.gauges.push((sign.clone(), Gauge::default()));
                self.gauges.len() - 1
            }
        };
        self.gauges.get_mut(place).map(|(_, gauge)| gauge)
    }

    /// Of what is not measured any more nothing can ever say that it is well again.
    pub fn is_asked_only_for(&mut self, measured: &dyn Fn(&str) -> bool) {
        let mut gone: Vec<Ill> = Vec::new();
        self.gauges.retain(|(sign, gauge)| {
            let stays = measured(sign);
            if !stays {
                gone.extend(gauge.wrong());
            }
            stays
        });
        for ill in gone {
            if !self.gauges.iter().any(|(_, gauge)| gauge.is_wrong(ill)) {
                self.ills.ends(ill);
            }
        }
    }

    /// What its battery has left. `low_at`: what counts as low; `percent`: it can be drawn as a line
    /// towards nothing; `needed_until`: the end of its dam's window, if that is known.
    pub fn has_left(
        &mut self,
        left: f64,
        low_at: Option<f64>,
        percent: bool,
        needed_until: Option<Moment>,
        now: Moment,
    ) {
        let battery = self.battery.get_or_insert_default();
        let unit = if percent { " %" } else { "" };
        match low_at.map_or(Charge::Unsure, |low_at| battery.reads(left, low_at)) {
            Charge::Unsure => {}
            Charge::Low => {
                let why = format!("{}{unit} left", shown(left));
                self.ills.begins(Ill::BatteryLow, now, &why);
            }
            Charge::Enough => {
                self.ills.ends(Ill::BatteryLow);
            }
        }
        if !percent {
            return;
        }
        match battery.falls(left, now, needed_until) {
            Outlook::Unsure => {}
            Outlook::Failing(lasts) => {
                let window = needed_until.map_or(String::new(), |until| {
                    format!(", and it is needed for {}", days(until.since(now)))
                });
                let why =
                    format!("{} % and falling: about {} left{window}", shown(left), days(lasts));
                self.ills.begins(Ill::BatteryFailing, now, &why);
            }
            Outlook::Lasts => {
                self.ills.ends(Ill::BatteryFailing);
            }
        }
    }

    /// What its battery had left before says nothing any more.
    pub fn has_a_new_battery(&mut self) {
        self.battery = None;
        self.ills.ends(Ill::BatteryLow);
        self.ills.ends(Ill::BatteryFailing);
    }

    /// A message came and was understood, or not.
    pub fn was_understood(&mut self, understood: bool, payload: &[u8], now: Moment) {
        if understood {
            if self.babble.as_mut().is_some_and(|babble| babble.understands()) {
                self.babble = None;
                self.ills.ends(Ill::NotUnderstood);
            }
            return;
        }
        let babble = self.babble.get_or_insert_default();
        if babble.misses(payload, now) {
            let why = babble.words();
            self.ills.begins(Ill::NotUnderstood, now, &why);
        }
    }

    /// It began anew: as after a new battery once, or again and again. `false` if another figure of the
    /// same message has said so.
    pub fn restarts(&mut self, now: Moment) -> bool {
        if self.restarts.iter().next_back() == Some(&now) {
            return false;
        }
        self.restarts.push(now);
        let oldest = self.restarts.oldest().copied().unwrap_or(now);
        if self.restarts.len() == RESTARTS && now.since(oldest) < RESTARTS_WITHIN {
            let within = english::span(now.since(oldest));
            self.ills.begins(
                Ill::Restarts,
                now,
                &format!("it began anew {RESTARTS} times in {within}"),
            );
            self.ills.lasts_until(Ill::Restarts, oldest + RESTARTS_WITHIN);
        }
        true
    }
}

/// "6 days", "a day": nobody can say the hour.
fn days(span: Span) -> String {
    let days = (span.whole_minutes() + 720) / 1_440;
    english::many(usize::try_from(days.max(0)).unwrap_or(0), "day", "days")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sensor::plausible::Fits;

    #[test]
    fn an_illness_of_what_is_not_measured_any_more_is_over() {
        let fits = Some(Fits { low: 34.0, high: 43.0 });
        let scale = Scale { fits, jump: None, unit: None, battery: false };
        let mut device = Device::default();
        let sign = Arc::from("temperature");
        for n in 0..2 {
            let at = Moment::default() + Span::minutes(n);
            let _ = device.reads(&sign, Figure { value: 85.0, at, timed: true }, &scale, at);
        }
        let now = Moment::default() + Span::minutes(5);
        device.is_asked_only_for(&|sign| sign == "temperature");
        assert!(device.ills.has(Ill::Nonsense, now));
        device.is_asked_only_for(&|_| false);
        assert!(!device.ills.has(Ill::Nonsense, now));
    }

    #[test]
    fn a_kept_copy_takes_no_age_from_what_was_heard_live() {
        let minute = |n| Some(Moment::default() + Span::minutes(n));
        let live = |value, at| Known { value, at: minute(at), kept: false };
        let kept = |value, at| Known { value, at, kept: true };
        for (old, new, stays) in [
            (live(38.5, 5), kept(38.5, minute(5)), true),
            (live(38.5, 5), kept(38.5, None), true),
            (live(38.5, 5), kept(38.1, minute(2)), true),
            (live(38.5, 5), kept(39.1, minute(9)), false),
            (live(38.5, 5), kept(39.1, None), false),
            (live(38.5, 5), live(38.5, 6), false),
            (live(38.5, 5), live(38.1, 2), false),
            (kept(38.5, None), live(38.5, 5), false),
            (kept(38.5, minute(5)), kept(38.5, minute(2)), false),
        ] {
            let (mut device, sign) = (Device::default(), Arc::from("temperature"));
            device.knows(&sign, old);
            device.knows(&sign, new);
            let expected = if stays { old } else { new };
            assert_eq!(device.last, [(sign, expected)], "{old:?}, {new:?}");
        }
    }
}
