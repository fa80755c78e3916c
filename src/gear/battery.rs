//! A device's battery: low now, or on its way to be empty before its dam's time is over.
//!
//! A straight line through what it said over some days, and no more: cells fall faster towards their
//! end and in the cold, so the day it names is the latest rather than the likeliest.

use serde::{Deserialize, Serialize};

use crate::plain::bounded::Ring;
use crate::plain::moment::{Moment, Span};

/// One sample in so long: the noise of single messages is not the battery's.
const APART: Span = Span::hours(6);
/// Nine days of samples, which is all a line needs.
const KEPT: usize = 36;
/// Two days of samples at least: a cold night is no trend (common practice, no source).
const NEEDED: usize = 8;
/// A rise of this share of a full battery is another battery.
const CHANGED: f64 = 20.0;
/// The fall along the line must be so many times what the samples lie beside it.
const CLEAR: f64 = 3.0;
/// A fall of less than this in percent may be a rounding.
const FALL_LEAST: f64 = 2.0;
/// So many low in a row, and so far above the limit again: a single reading moves nothing.
const LOW_IN_A_ROW: u8 = 2;
const ABOVE_AGAIN: f64 = 1.2;
/// Without a window: whoever has a week's notice can plan for it (common practice, no source).
const NOTICE: Span = Span::days(7);
/// A line that wanders by a few hours must not begin and end an alert each time.
const PUT_OFF: Span = Span::days(2);

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Battery {
    samples: Ring<(Moment, f64), KEPT>,
    low: u8,
}

/// What a reading taught.
#[derive(Clone, Debug, PartialEq)]
pub enum Charge {
    /// As before, as far as one reading tells.
    Unsure,
    Low,
    Enough,
}

/// What the line through the samples taught.
#[derive(Clone, Debug, PartialEq)]
pub enum Outlook {
    Unsure,
    /// Empty in so long, before it should be.
    Failing(Span),
    Lasts,
}

impl Battery {
    /// A reading against the level that counts as low.
    pub fn reads(&mut self, left: f64, low_at: f64) -> Charge {
        if left <= low_at {
            self.low = self.low.saturating_add(1).min(LOW_IN_A_ROW);
            return if self.low >= LOW_IN_A_ROW { Charge::Low } else { Charge::Unsure };
        }
        self.low = 0;
        if left >= low_at * ABOVE_AGAIN { Charge::Enough } else { Charge::Unsure }
    }

    /// A reading in percent, for the line. `needed_until`: the end of the dam's window, if known.
    pub fn falls(&mut self, left: f64, now: Moment, needed_until: Option<Moment>) -> Outlook {
        let newest = self.samples.iter().next_back().copied();
        if let Some((at, before)) = newest {
            if left >= before + CHANGED {
                self.samples.clear();
                self.samples.push((now, left));
                return Outlook::Lasts;
            }
            if now.since(at) < APART {
                return Outlook::Unsure;
            }
        }
        self.samples.push((now, left));
        if self.samples.len() < NEEDED {
            return Outlook::Unsure;
        }
        let needed_until = needed_until.unwrap_or(now + NOTICE);
        match self.empty_at() {
            Some(at) if at < needed_until => Outlook::Failing(at.since(now)),
            Some(at) if at < needed_until + PUT_OFF => Outlook::Unsure,
            Some(_) | None => Outlook::Lasts,
        }
    }

    /// When the line through the samples comes to nothing, if it clearly falls: least squares.
    fn empty_at(&self) -> Option<Moment> {
        let &(begin, _) = self.samples.oldest()?;
        let hours = |at: Moment| at.since(begin).whole_minutes() as f64 / 60.0;
        let n = self.samples.len() as f64;
        let mean =
            |of: &dyn Fn(&(Moment, f64)) -> f64| self.samples.iter().map(of).sum::<f64>() / n;
        let (mean_at, mean_left) = (mean(&|(at, _)| hours(*at)), mean(&|(_, left)| *left));
        let (mut across, mut along) = (0.0, 0.0);
        for (at, left) in self.samples.iter() {
            let aside = hours(*at) - mean_at;
            across += aside * (left - mean_left);
            along += aside * aside;
        }
        if along <= 0.0 {
            return None;
        }
        let an_hour = across / along;
        let beside = mean(&|(at, left)| {
            let off = left - (mean_left + an_hour * (hours(*at) - mean_at));
            off * off
        });
        let &(newest, _) = self.samples.iter().next_back()?;
        let fall = -an_hour * hours(newest);
        if fall < FALL_LEAST || fall * fall < CLEAR * CLEAR * beside {
            return None;
        }
        let minutes = (mean_at - mean_left / an_hour) * 60.0;
        // No battery on an animal lasts longer than ten years; a slow fall must not overflow.
        let minutes = minutes.clamp(0.0, 5_256_000.0);
        Some(begin + Span::minutes(minutes as i64))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hour(n: i64) -> Moment {
        Moment::default() + Span::hours(n)
    }

    #[test]
    fn a_battery_is_low_by_its_second_low_reading_and_well_again_clearly_above() {
        let mut battery = Battery::default();
        let charges = [20.0, 14.0, 16.0, 14.0, 15.0, 16.0, 18.0];
        let read: Vec<Charge> = charges.map(|left| battery.reads(left, 15.0)).to_vec();
        use Charge::{Enough, Low, Unsure};
        assert_eq!(read, [Enough, Unsure, Unsure, Unsure, Low, Unsure, Enough]);
    }

    #[test]
    fn a_steady_fall_names_the_day_it_will_be_empty() {
        // 60 % and two percent a quarter of a day: eight a day, so from 46 % on 5.75 days are left.
        let mut battery = Battery::default();
        let ends = Some(hour(42) + Span::days(11));
        let mut outlook = Outlook::Unsure;
        for n in 0..8 {
            outlook = battery.falls(60.0 - 2.0 * n as f64, hour(6 * n), ends);
        }
        let Outlook::Failing(left) = outlook else { panic!("{outlook:?}") };
        assert_eq!(left, Span::hours(138));
    }

    #[test]
    fn a_battery_that_lasts_beyond_her_window_is_no_news() {
        let mut battery = Battery::default();
        let told = (0..36).map(|n| {
            battery.falls(90.0 - 0.5 * n as f64, hour(6 * n), Some(hour(6 * n) + Span::days(11)))
        });
        assert!(told.into_iter().all(|outlook| !matches!(outlook, Outlook::Failing(_))));
    }

    #[test]
    fn noise_is_no_fall() {
        let mut battery = Battery::default();
        let noise = [88.0, 62.0, 95.0, 70.0, 81.0, 64.0, 97.0, 77.0, 69.0, 90.0, 60.0, 85.0];
        for (n, left) in (0..).zip(noise.into_iter().cycle().take(120)) {
            let outlook = battery.falls(left, hour(6 * n), None);
            assert!(!matches!(outlook, Outlook::Failing(_)), "sample {n}");
        }
    }

    #[test]
    fn another_battery_begins_anew() {
        let mut battery = Battery::default();
        for n in 0..8 {
            let _ = battery.falls(30.0 - 3.0 * n as f64, hour(6 * n), None);
        }
        assert_eq!(battery.falls(100.0, hour(48), None), Outlook::Lasts);
        assert_eq!(battery.falls(99.0, hour(54), None), Outlook::Unsure);
    }
}
