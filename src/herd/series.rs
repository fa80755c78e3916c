//! The measured amounts of one sign, in the order in which they were so: bounded, and no longer than
//! some rule looks back.

use serde::{Deserialize, Serialize};

use super::told::Dated;
use crate::plain::amount::Amount;
use crate::plain::bounded::Ring;
use crate::plain::moment::{Moment, Span};

/// Six hours of one reading each half a minute; past it the oldest go first. `Keep::spacing` sees to it
/// that this many always reach back as far as a rule looks.
pub const CAP: usize = 720;

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Series(Ring<Sample, CAP>);

/// An amount, and when it was so.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sample(pub Moment, pub Amount);

/// How much of a sign is kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Keep {
    /// How far back some rule looks.
    pub back: Span,
    /// Amounts nearer to a neighbour than this tell nothing new.
    pub spacing: Span,
}

impl Series {
    /// Puts an amount in its place by event time. The same time again replaces what stood there;
    /// `false` if nothing changed.
    pub fn add(&mut self, sample: Sample, keep: Keep) -> bool {
        let behind = self.0.iter().rev().take_while(|old| old.0 > sample.0).count();
        let place = self.0.len() - behind;
        let before = place.checked_sub(1).and_then(|at| self.0.iter().nth(at)).copied();
        if let Some(old) = before.filter(|old| old.0 == sample.0) {
            return old.1 != sample.1 && self.0.replace(place - 1, sample);
        }
        let after = self.0.iter().nth(place).copied();
        let near = |other: Option<Sample>| {
            other.is_some_and(|other| {
                let apart = other.0.since(sample.0).millis().saturating_abs();
                apart < keep.spacing.millis()
            })
        };
        if near(before) || near(after) {
            return false;
        }
        self.0.insert(place, sample);
        let newest = self.0.iter().next_back().map_or(sample.0, |last| last.0);
        while self.0.oldest().is_some_and(|old| old.0 <= newest - keep.back) {
            self.0.pop_oldest();
        }
        true
    }

    /// Oldest first, up to a moment.
    pub fn until(&self, now: Moment) -> impl DoubleEndedIterator<Item = Sample> {
        self.0.iter().copied().filter(move |sample| sample.0 <= now)
    }
}

impl Dated for Series {
    type One = Sample;

    fn take(&mut self, when: impl Fn(Moment) -> bool) -> Vec<Sample> {
        self.0.take(|sample| when(sample.0))
    }

    fn newest(&self) -> Option<Moment> {
        self.0.iter().next_back().map(|sample| sample.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEEP: Keep = Keep { back: Span::hours(1), spacing: Span::ZERO };

    fn sample(minute: i64, thousandths: i64) -> Sample {
        let at = Moment::default() + Span::minutes(minute);
        Sample(at, Amount::thousandths(thousandths))
    }

    fn minutes(series: &Series) -> Vec<i64> {
        let all = series.until(Moment::from_millis(i64::MAX));
        all.map(|sample| sample.0.seconds() / 60).collect()
    }

    #[test]
    fn amounts_stand_in_the_order_in_which_they_were_so() {
        let mut series = Series::default();
        for minute in [10, 0, 5] {
            assert!(series.add(sample(minute, 1), KEEP));
        }
        assert_eq!(minutes(&series), [0, 5, 10]);
        assert!(series.add(sample(70, 1), KEEP), "an hour ago is outside");
        assert_eq!(minutes(&series), [70]);
        assert!(series.add(sample(11, 1), KEEP));
        assert_eq!(minutes(&series), [11, 70]);
    }

    #[test]
    fn the_same_time_again_replaces_and_the_same_amount_changes_nothing() {
        let mut series = Series::default();
        assert!(series.add(sample(5, 1), KEEP));
        assert!(!series.add(sample(5, 1), KEEP));
        assert!(series.add(sample(5, 2), KEEP));
        let amounts: Vec<Amount> = series.until(sample(9, 0).0).map(|sample| sample.1).collect();
        assert_eq!(amounts, [Amount::thousandths(2)]);
    }

    #[test]
    fn a_sensor_that_never_stops_talking_does_not_push_the_night_out() {
        let keep = Keep { back: Span::hours(6), spacing: Span::seconds(30) };
        let mut series = Series::default();
        for second in 0..6 * 3_600 {
            let at = Moment::default() + Span::seconds(second);
            series.add(Sample(at, Amount::thousandths(1)), keep);
        }
        let all = minutes(&series);
        assert_eq!((all.len(), all.first(), all.last()), (CAP, Some(&0), Some(&359)));
    }
}
