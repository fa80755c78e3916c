//! One quantity of one device: whether its figures can be those of a live animal that wears it.
//!
//! It says which illnesses of the sensor begin and end by a figure, and which figures are evidence; it
//! knows no dam and no rule.

use serde::{Deserialize, Serialize};

use crate::config::rules::Ill;
use crate::plain::bounded::Ring;
use crate::plain::english;
use crate::plain::moment::{Moment, Span};
use crate::plain::quantity::Unit;
use crate::sensor::plausible::{Figure, Fits, Guard, Passed, shown};

/// One odd figure is an accident, as when a sensor has just been switched on; the second is not.
const BAD: u8 = 2;
/// Good figures in a row after which a sensor is well again.
const WELL_AGAIN: u8 = 3;
/// So many spikes within so long are a sensor that jumps (common practice, no source).
const SPIKES: usize = 3;
const SPIKES_WITHIN: Span = Span::hours(6);
/// The very same figure so often and for so long: real sensors have noise (needs.md N49; the numbers
/// are common practice, no source).
const SAME_TIMES: u16 = 24;
const SAME_FOR: Span = Span::hours(6);
/// So many figures below what a live body has, none of them rising by more than so much, are the air's.
const COLD_TIMES: u8 = 3;
const COLD_RISE: f64 = 0.3;
/// No barn is colder: below it is no air either, but a sensor that is broken.
const COLDEST_AIR: f64 = -40.0;
/// More than this since the last message does nothing on a farm.
const TOTAL_STEP_MAX: f64 = 10_000.0;

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Gauge {
    guard: Guard,
    spikes: Ring<Moment, SPIKES>,
    same: Option<Same>,
    /// A figure of it had a fraction: it should have noise.
    fine: bool,
    cold: Option<Cold>,
    /// Impossible figures since it was last well.
    bad: u8,
    good: u8,
    total: Option<Figure>,
    /// What this quantity alone says is wrong.
    wrong: Vec<Ill>,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
struct Same {
    value: f64,
    from: Moment,
    until: Moment,
    times: u16,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
struct Cold {
    first: f64,
    last: f64,
    times: u8,
}

/// What the settings say of the quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    pub fits: Option<Fits>,
    pub jump: Option<f64>,
    pub unit: Option<Unit>,
    /// A battery's charge may stay as it is for days.
    pub battery: bool,
}

/// What became of a figure.
#[derive(Clone, Debug, PartialEq)]
pub enum Believed {
    /// Evidence; the one before it too, if it is confirmed only now.
    Yes { before: Option<Figure> },
    /// It waits for the next one.
    Held,
    /// No evidence, and why.
    No(String),
}

/// Illnesses that begin, with the reason, or end.
#[derive(Debug, Default, PartialEq)]
pub struct Changes {
    pub begun: Vec<(Ill, String)>,
    pub ended: Vec<Ill>,
    /// A spike that nothing confirmed.
    pub dropped: Option<Figure>,
}

impl Gauge {
    /// Judges the next figure.
    pub fn reads(&mut self, figure: Figure, scale: &Scale, changes: &mut Changes) -> Believed {
        if let Some(fits) = scale.fits.filter(|fits| !fits.holds(figure.value)) {
            return self.outside(figure, &fits, scale.unit, changes);
        }
        self.cold = None;
        self.good = self.good.saturating_add(1);
        if self.good >= WELL_AGAIN {
            self.bad = 0;
            self.ends(Ill::Nonsense, changes);
            self.ends(Ill::OffTheAnimal, changes);
        }
        if !scale.battery {
            self.repeats(figure, changes);
        }
        let Some(jump) = scale.jump else {
            return Believed::Yes { before: None };
        };
        match self.guard.passes(figure, jump) {
            Passed::Held { dropped } => {
                self.dropped(dropped, figure.at, scale.unit, changes);
                Believed::Held
            }
            Passed::Follows { dropped } => {
                self.dropped(dropped, figure.at, scale.unit, changes);
                Believed::Yes { before: None }
            }
            Passed::Confirms(held) => Believed::Yes { before: Some(held) },
        }
    }

    pub fn is_wrong(&self, ill: Ill) -> bool {
        self.wrong.contains(&ill)
    }

    pub fn wrong(&self) -> &[Ill] {
        &self.wrong
    }

    fn outside(
        &mut self,
        figure: Figure,
        fits: &Fits,
        unit: Option<Unit>,
        changes: &mut Changes,
    ) -> Believed {
        self.good = 0;
        self.bad = self.bad.saturating_add(1);
        self.same = None;
        let why = fits.why_not(figure.value, unit);
        let air =
            unit == Some(Unit::Celsius) && figure.value < fits.low && figure.value > COLDEST_AIR;
        if !air {
            self.cold = None;
            if self.bad >= BAD {
                self.begins(Ill::Nonsense, why.clone(), changes);
            }
            return Believed::No(why);
        }
        let cold = match self.cold {
            Some(cold) if figure.value <= cold.last + COLD_RISE => {
                Cold { last: figure.value, times: cold.times.saturating_add(1), ..cold }
            }
            Some(_) | None => Cold { first: figure.value, last: figure.value, times: 1 },
        };
        self.cold = Some(cold);
        if cold.times < COLD_TIMES {
            if self.bad >= BAD && !self.is_wrong(Ill::OffTheAnimal) {
                self.begins(Ill::Nonsense, why.clone(), changes);
            }
            return Believed::No(why);
        }
        let fell = if cold.last < cold.first - COLD_RISE {
            format!("it fell from {} to {}", shown(cold.first), shown(cold.last))
        } else {
            format!("it stays at {}", shown(cold.last))
        };
        self.ends(Ill::Nonsense, changes);
        let fell = format!(
            "{fell} Cel, like the air around it; a live body has {} and more",
            shown(fits.low)
        );
        self.begins(Ill::OffTheAnimal, fell, changes);
        Believed::No(why)
    }

    /// Counts how long a figure has been the very same, in the order of event.
    fn repeats(&mut self, figure: Figure, changes: &mut Changes) {
        self.fine |= figure.value.fract() != 0.0;
        match &mut self.same {
            Some(same) if figure.at < same.until => return,
            Some(same) if same.value == figure.value => {
                same.until = figure.at;
                same.times = same.times.saturating_add(1);
            }
            Some(_) | None => {
                let Figure { value, at, .. } = figure;
                self.same = Some(Same { value, from: at, until: at, times: 1 });
                self.ends(Ill::Flat, changes);
            }
        }
        if let Some(same) = self.same
            && self.fine
            && same.times >= SAME_TIMES
            && same.until.since(same.from) >= SAME_FOR
        {
            let long = english::span(same.until.since(same.from));
            let why =
                format!("{} for {long}, {} times the very same", shown(same.value), same.times);
            self.begins(Ill::Flat, why, changes);
        }
    }

    fn dropped(
        &mut self,
        spike: Option<Figure>,
        now: Moment,
        unit: Option<Unit>,
        changes: &mut Changes,
    ) {
        if let Some(spike) = spike {
            changes.dropped = Some(spike);
            self.spikes.push(spike.at);
        }
        let recent = self.spikes.oldest().is_some_and(|oldest| now.since(*oldest) <= SPIKES_WITHIN);
        if self.spikes.len() == SPIKES && recent {
            let last = spike.map_or(String::new(), |spike| {
                let unit = unit.map_or(String::new(), |unit| format!(" {}", unit.name()));
                format!("; the last: {}{unit}", shown(spike.value))
            });
            if spike.is_some() {
                let why =
                    format!("it jumped {SPIKES} times in {}{last}", english::span(SPIKES_WITHIN));
                self.begins(Ill::Jumps, why, changes);
            }
            return;
        }
        self.ends(Ill::Jumps, changes);
    }

    /// How many since the last total of this device; `None` if it does not tell. A total that went back
    /// began anew with the device, which is then said with the total before.
    pub fn adds_up(&mut self, total: Figure, put_on: Option<Moment>) -> (Option<u32>, Option<f64>) {
        let Some(last) = self.total else {
            self.total = Some(total);
            return (None, None);
        };
        if total.at < last.at {
            return (None, None);
        }
        self.total = Some(total);
        let restarted = (total.value < last.value).then_some(last.value);
        let since = if restarted.is_some() { total.value } else { total.value - last.value };
        // What was counted on another dam, or in somebody's pocket, is not hers.
        let hers = put_on.is_none_or(|put_on| put_on <= last.at);
        let fits = (0.0..=TOTAL_STEP_MAX).contains(&since);
        // Within u32 by the line above.
        ((hers && fits).then_some(since as u32), restarted)
    }

    fn begins(&mut self, ill: Ill, why: String, changes: &mut Changes) {
        if !self.is_wrong(ill) {
            self.wrong.push(ill);
        }
        changes.begun.push((ill, why));
    }

    fn ends(&mut self, ill: Ill, changes: &mut Changes) {
        if self.is_wrong(ill) {
            self.wrong.retain(|one| *one != ill);
            changes.ended.push(ill);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BODY: Scale = Scale {
        fits: Some(Fits { low: 34.0, high: 43.0 }),
        jump: None,
        unit: Some(Unit::Celsius),
        battery: false,
    };

    fn figure(value: f64, minute: i64) -> Figure {
        Figure { value, at: Moment::default() + Span::minutes(minute), timed: true }
    }

    /// What begins and ends as these come, one each `apart` minutes.
    fn told(gauge: &mut Gauge, values: &[f64], apart: i64, scale: &Scale) -> Vec<(bool, Ill)> {
        let mut news = Vec::new();
        for (value, n) in values.iter().zip(0..) {
            let mut changes = Changes::default();
            let before = gauge.wrong.clone();
            let _ = gauge.reads(figure(*value, apart * n), scale, &mut changes);
            news.extend(changes.ended.into_iter().map(|ill| (false, ill)));
            let begun = changes.begun.into_iter().map(|(ill, _)| ill);
            news.extend(begun.filter(|ill| !before.contains(ill)).map(|ill| (true, ill)));
        }
        news
    }

    #[test]
    fn nonsense_begins_by_the_second_figure_and_ends_by_the_third_good_one() {
        let mut gauge = Gauge::default();
        let news = told(&mut gauge, &[38.5, 85.0, 38.5, 38.6, 85.0, 38.5, 38.6, 38.4], 5, &BODY);
        assert_eq!(news, [(true, Ill::Nonsense), (false, Ill::Nonsense)]);
        let mut gauge = Gauge::default();
        let once = [38.5, 85.0, 38.5, 38.6, 38.4, 85.0, 38.5];
        assert_eq!(told(&mut gauge, &once, 5, &BODY), [], "one at a time is an accident");
    }

    #[test]
    fn a_sensor_that_cools_to_the_air_is_off_the_animal() {
        let mut gauge = Gauge::default();
        let news = told(&mut gauge, &[38.5, 33.0, 27.5, 22.0, 15.0, 8.0, 8.0, 8.0], 5, &BODY);
        assert_eq!(
            news,
            [(true, Ill::Nonsense), (false, Ill::Nonsense), (true, Ill::OffTheAnimal)]
        );
    }

    #[test]
    fn a_sensor_that_says_minus_127_is_broken_and_not_off_the_animal() {
        let mut gauge = Gauge::default();
        assert_eq!(told(&mut gauge, &[-127.0; 9], 5, &BODY), [(true, Ill::Nonsense)]);
    }

    #[test]
    fn the_very_same_figure_for_hours_is_a_sensor_without_noise() {
        let mut gauge = Gauge::default();
        let same = [38.5; 80];
        assert_eq!(told(&mut gauge, &same, 15, &BODY), [(true, Ill::Flat)]);
        let mut gauge = Gauge::default();
        assert_eq!(told(&mut gauge, &same, 1, &BODY), [], "eighty minutes are no proof");
        let mut gauge = Gauge::default();
        let whole = [38.0; 80];
        assert_eq!(told(&mut gauge, &whole, 15, &BODY), [], "it only ever says whole numbers");
        let mut gauge = Gauge::default();
        let battery = Scale { battery: true, ..BODY };
        assert_eq!(told(&mut gauge, &same, 15, &battery), []);
    }

    #[test]
    fn three_spikes_in_some_hours_are_a_sensor_that_jumps() {
        let guarded = Scale { jump: Some(0.2), ..BODY };
        let mut gauge = Gauge::default();
        let mut values = vec![38.5, 38.6];
        for _ in 0..3 {
            values.extend([41.9, 38.5, 38.6]);
        }
        assert_eq!(told(&mut gauge, &values, 5, &guarded), [(true, Ill::Jumps)]);
        let quiet = [38.5; 90].iter().zip(0..).map(|(one, n)| one + f64::from(n % 3) * 0.1);
        let quiet: Vec<f64> = quiet.collect();
        let mut later = Changes::default();
        for (value, n) in quiet.iter().zip(20..) {
            let _ = gauge.reads(figure(*value, 5 * n), &guarded, &mut later);
        }
        assert_eq!(later.ended, [Ill::Jumps]);
    }

    #[test]
    fn a_total_counts_by_its_differences_and_begins_anew_with_its_device() {
        let mut gauge = Gauge::default();
        for (total, minute, expected) in [
            (4_000.0, 0, (None, None)),
            (4_003.0, 5, (Some(3), None)),
            (4_003.0, 10, (Some(0), None)),
            (4_001.0, 2, (None, None)),
            (2.0, 15, (Some(2), Some(4_003.0))),
            (90_000.0, 20, (None, None)),
            (90_001.0, 25, (Some(1), None)),
        ] {
            assert_eq!(gauge.adds_up(figure(total, minute), None), expected, "{total}");
        }
        let put_on = Some(Moment::default() + Span::minutes(26));
        assert_eq!(gauge.adds_up(figure(90_009.0, 30), put_on), (None, None), "not on her");
        assert_eq!(gauge.adds_up(figure(90_010.0, 35), put_on), (Some(1), None));
    }
}
