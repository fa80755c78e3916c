//! How often a sign was counted lately: a sliding window over event times, bounded.

use serde::{Deserialize, Serialize};

use super::told::Dated;
use crate::plain::bounded::Ring;
use crate::plain::moment::{Moment, Span};

/// More tallies than a message a minute makes in half a day; past it the oldest go first.
const CAP: usize = 720;

/// Counts of one sign, oldest first by event time.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Tally(Ring<Count, CAP>);

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Count {
    /// When it happened, as far as we can believe it: never later than it was heard.
    pub at: Moment,
    pub n: u32,
    /// The time its message carried, where that is another: by it the same message is known again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carried: Option<Moment>,
}

impl Count {
    /// A message that carried this time, heard at that one.
    pub fn carried(at: Moment, heard: Moment, n: u32) -> Self {
        Self { at: at.min(heard), n, carried: (at > heard).then_some(at) }
    }

    fn name(&self) -> Moment {
        self.carried.unwrap_or(self.at)
    }
}

impl Tally {
    /// Adds a count at its event time. A count whose own time is already there is the same
    /// message heard twice, and `false`.
    pub fn add(&mut self, count: Count, carries_its_time: bool, keep: Span) -> bool {
        if carries_its_time && self.0.iter().any(|old| old.name() == count.name()) {
            return false;
        }
        let newest = self.0.iter().next_back().map_or(count.at, |last| last.at.max(count.at));
        let behind = self.0.iter().rev().take_while(|old| old.at > count.at).count();
        self.0.insert(self.0.len() - behind, count);
        while self.0.oldest().is_some_and(|old| old.at <= newest - keep) {
            self.0.pop_oldest();
        }
        true
    }

    /// How many within `over` up to `now`: the window is open at its far end, so that exactly one
    /// span ago is outside.
    pub fn within(&self, now: Moment, over: Span) -> u64 {
        let since = now - over;
        self.0
            .iter()
            .rev()
            .skip_while(|count| count.at > now)
            .take_while(|count| count.at > since)
            .map(|count| u64::from(count.n))
            .sum()
    }

    /// When the sum within `over` will have fallen below `at_least` if nothing more comes.
    pub fn falls_below(&self, now: Moment, over: Span, at_least: u64) -> Moment {
        let mut left = self.within(now, over);
        for count in self.0.iter().filter(|count| count.at > now - over && count.at <= now) {
            left -= u64::from(count.n);
            if left < at_least {
                return count.at + over;
            }
        }
        now
    }

    /// The newest event time.
    pub fn last(&self) -> Option<Moment> {
        self.0.iter().next_back().map(|count| count.at)
    }

    /// The oldest event time still kept.
    pub fn first(&self) -> Option<Moment> {
        self.0.oldest().map(|count| count.at)
    }

    /// The event time at which the window up to `now` first held `at_least`.
    pub fn reached(&self, now: Moment, over: Span, at_least: u64) -> Option<Moment> {
        self.0
            .iter()
            .map(|count| count.at)
            .filter(|at| *at <= now && *at > now - over)
            .find(|at| self.within(*at, over) >= at_least)
    }
}

impl Dated for Tally {
    type One = Count;

    fn take(&mut self, when: impl Fn(Moment) -> bool) -> Vec<Count> {
        self.0.take(|count| when(count.at))
    }

    fn newest(&self) -> Option<Moment> {
        self.last()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tally(counts: &[(i64, u32)]) -> Tally {
        let mut tally = Tally::default();
        for (minute, n) in counts {
            let at = Moment::default() + Span::minutes(*minute);
            assert!(tally.add(Count::carried(at, at, *n), true, Span::hours(2)));
        }
        tally
    }

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    #[test]
    fn a_window_counts_what_happened_in_it_and_nothing_else() {
        let tally = tally(&[(0, 2), (30, 3), (60, 1)]);
        assert_eq!(tally.within(minute(59), Span::hours(1)), 5);
        assert_eq!(tally.within(minute(60), Span::hours(1)), 4, "an hour ago is outside");
        assert_eq!(tally.within(minute(90), Span::hours(1)), 1);
    }

    #[test]
    fn the_same_message_twice_counts_once() {
        let mut tally = tally(&[(0, 2)]);
        assert!(!tally.add(Count::carried(minute(0), minute(9), 2), true, Span::hours(2)));
        assert_eq!(tally.within(minute(1), Span::hours(1)), 2);
    }

    #[test]
    fn the_same_message_from_a_clock_that_is_ahead_counts_once() {
        let mut tally = Tally::default();
        let heard = |at| Count::carried(minute(2), minute(at), 5);
        assert!(tally.add(heard(0), true, Span::hours(2)));
        assert!(!tally.add(heard(1), true, Span::hours(2)), "it is not yet minute 2");
        assert!(!tally.add(heard(9), true, Span::hours(2)));
        assert_eq!(tally.within(minute(1), Span::hours(1)), 5);
    }

    #[test]
    fn what_comes_out_of_order_is_put_in_its_place() {
        let tally = tally(&[(10, 1), (0, 1), (5, 1)]);
        assert_eq!(tally.within(minute(5), Span::hours(1)), 2);
        assert_eq!(tally.last(), Some(minute(10)));
    }

    #[test]
    fn the_fall_below_the_mark_is_known_ahead() {
        let tally = tally(&[(0, 2), (30, 3), (50, 1)]);
        let falls = tally.falls_below(minute(50), Span::hours(1), 4);
        assert_eq!(falls, minute(90), "four are left until the three of minute 30 fall out");
        assert_eq!(tally.within(falls, Span::hours(1)), 1);
        assert_eq!(tally.within(minute(89), Span::hours(1)), 4);
        assert_eq!(tally.reached(minute(50), Span::hours(1), 5), Some(minute(30)));
    }
}
