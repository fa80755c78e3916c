//! What a figure can be, before it is anybody's evidence: within what a live animal has, and not a
//! jump that nothing confirms.
//!
//! It judges figures and remembers only what a judgement needs. What is refused here is the sensor's
//! illness, never the dam's: 85.0 Cel is a thermometer that has just been switched on, 40.2 a fever.

use serde::{Deserialize, Serialize};

use crate::plain::moment::{Moment, Span};
use crate::plain::quantity::Unit;

/// A range that a figure lies in, both ends within.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fits {
    pub low: f64,
    pub high: f64,
}

/// The body of a live animal of the species, with room for a very ill one. Healthy cows have 38.3 to
/// 38.9 (facts.md T-21), some tenths less before a calving (T-01, T-02) and 39.5 and more in fever
/// (M-01); the ends themselves are common practice, no source.
const CATTLE_BODY: Fits = Fits { low: 34.0, high: 43.0 };

/// The sign of a body's temperature. A sensor on the skin or in the barn is called otherwise: it may
/// have any temperature.
const BODY_SIGN: &str = "temperature";

/// By definition of the units: RFC 8428, section 12.1.
const PERCENT: Fits = Fits { low: 0.0, high: 100.0 };

/// What a sign of this unit can be, where the settings say nothing.
pub fn usual(sign: &str, unit: Option<Unit>) -> Option<Fits> {
    let unit = unit?;
    if unit == Unit::Celsius && sign == BODY_SIGN {
        Some(CATTLE_BODY)
    } else {
        matches!(unit, Unit::Charge | Unit::Humidity).then_some(PERCENT)
    }
}

impl Fits {
    pub fn holds(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// "85 Cel; 34 to 43 is believable".
    pub fn why_not(&self, value: f64, unit: Option<Unit>) -> String {
        let unit = unit.map_or(String::new(), |unit| format!(" {}", unit.name()));
        format!("{}{unit}; {} to {} is believable", shown(value), shown(self.low), shown(self.high))
    }
}

/// A figure as people write it: at most three places behind the point.
pub fn shown(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// One figure and when it was so.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    pub value: f64,
    pub at: Moment,
    /// Its message carried that time.
    pub timed: bool,
}

/// Holds back a figure that jumps until the next one confirms it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Guard {
    /// The last figure believed. The first that ever comes is not believed by itself either.
    good: Option<Figure>,
    held: Option<Figure>,
}

/// What became of a figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Passed {
    /// It jumps: held back, in place of another that was not confirmed, if there was one.
    Held { dropped: Option<Figure> },
    /// It follows from the last; what was held back was a spike.
    Follows { dropped: Option<Figure> },
    /// It confirms the one before it, and both are believed, in this order.
    Confirms(Figure),
}

impl Guard {
    /// `jump`: the largest change in a minute that can be believed.
    pub fn passes(&mut self, figure: Figure, jump: f64) -> Passed {
        let near =
            |other: &Figure| (figure.value - other.value).abs() <= allowed(other, &figure, jump);
        if self.good.as_ref().is_some_and(near) {
            self.good = Some(figure);
            return Passed::Follows { dropped: self.held.take() };
        }
        if let Some(held) = self.held.filter(|held| near(held)) {
            *self = Self { good: Some(figure), held: None };
            return Passed::Confirms(held);
        }
        // The very first is held back too, and that is no spike yet.
        Passed::Held { dropped: self.held.replace(figure) }
    }
}

/// The change that the time between two figures allows; a minute's worth at least.
fn allowed(one: &Figure, other: &Figure, jump: f64) -> f64 {
    let apart = other.at.since(one.at).millis().saturating_abs();
    let minutes = (apart as f64 / Span::minutes(1).millis() as f64).max(1.0);
    jump * minutes
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn figures(values: &[f64]) -> Vec<Figure> {
        let at = |n: i64| Moment::default() + Span::minutes(n);
        values
            .iter()
            .zip(0..)
            .map(|(value, n)| Figure { value: *value, at: at(n), timed: true })
            .collect()
    }

    /// What is believed of these, one a minute, in the order in which it is.
    fn believed(values: &[f64], jump: f64) -> Vec<f64> {
        let mut guard = Guard::default();
        let mut believed = Vec::new();
        for figure in figures(values) {
            match guard.passes(figure, jump) {
                Passed::Held { .. } => {}
                Passed::Follows { .. } => believed.push(figure.value),
                Passed::Confirms(held) => believed.extend([held.value, figure.value]),
            }
        }
        believed
    }

    /// needs.md N47: 28 to 62 and back within seconds; a single spike is silent, three in a row are
    /// believed.
    #[test]
    fn a_single_spike_is_silent_and_three_in_a_row_are_believed() {
        assert_eq!(believed(&[28.0, 28.1, 62.0, 28.2], 1.0), [28.0, 28.1, 28.2]);
        let three = [28.0, 28.1, 62.0, 62.3, 62.1];
        assert_eq!(believed(&three, 1.0), three);
    }

    /// needs.md N46: a filter seeded with a bad first value refuses everything after it.
    #[test]
    fn a_bad_first_value_seeds_nothing() {
        assert_eq!(believed(&[42.0, 38.5, 38.6, 38.5], 0.2), [38.5, 38.6, 38.5]);
        assert_eq!(believed(&[38.5], 0.2), [0.0; 0], "one alone is not confirmed");
    }

    #[test]
    fn a_slow_change_is_no_jump_however_long_it_took() {
        let mut guard = Guard::default();
        let at = |hours| Moment::default() + Span::hours(hours);
        let figure = |value, hours| Figure { value, at: at(hours), timed: true };
        let _ = guard.passes(figure(38.5, 0), 0.1);
        assert!(matches!(guard.passes(figure(39.9, 1), 0.1), Passed::Confirms(_)));
        assert!(matches!(guard.passes(figure(41.0, 2), 0.1), Passed::Follows { .. }));
    }

    /// needs.md N46: 85.0 is a sensor's fault, 40.2 is a fever; N58: 101.3 that is said to be in
    /// degrees Celsius.
    #[test]
    fn a_live_cow_has_a_body_temperature_or_her_sensor_is_ill() {
        let fits = usual("temperature", Some(Unit::Celsius)).unwrap();
        for (value, believable) in [
            (85.0, false),
            (-127.0, false),
            (101.3, false),
            (40.2, true),
            (38.5, true),
            (34.0, true),
        ] {
            assert_eq!(fits.holds(value), believable, "{value}");
        }
        assert_eq!(fits.why_not(85.0, Some(Unit::Celsius)), "85 Cel; 34 to 43 is believable");
        assert_eq!(usual("skin temperature", Some(Unit::Celsius)), None);
        assert_eq!(usual("temperature", None), None, "without a unit nobody knows");
        assert_eq!(usual("battery", Some(Unit::Charge)).map(|fits| fits.holds(101.0)), Some(false));
    }

    #[test]
    fn figures_are_shown_as_people_write_them() {
        assert_eq!([38.50, 85.0, -127.0, 0.125].map(shown), ["38.5", "85", "-127", "0.125"]);
    }

    proptest! {
        /// Nothing is believed twice, and nothing that did not come in.
        #[test]
        fn what_is_believed_came_in_and_in_that_order(
            values in proptest::collection::vec(0_u8..60, 0..60),
            jump in 0_u8..20,
        ) {
            let values: Vec<f64> = values.into_iter().map(f64::from).collect();
            let mut all = values.iter();
            for value in believed(&values, f64::from(jump)) {
                prop_assert!(all.any(|one| *one == value));
            }
        }
    }
}
