//! What keeps the bell from ringing too often: who has been sent how much, what waits for company, and what is
//! held back until somebody is free again. What is urgent never comes here.

use std::collections::BTreeSet;

use super::alert::Standing;
use super::climb::{Yard, would_call};
use super::watchman::Watchman;
use crate::config::Config;
use crate::plain::ids::{AlertNo, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::rules::priority::Priority;

/// What the cap is counted over.
const WITHIN: Span = Span::hours(1);

/// Between two texts to somebody who has had too much (common practice, no source).
const APART: Span = Span::minutes(15);

impl Watchman {
    /// Alerts that have not been told yet and would call one of these people.
    pub fn waiting(
        &self,
        config: &Config,
        now: Moment,
        woken: &BTreeSet<PersonName>,
    ) -> Vec<AlertNo> {
        let yard = Yard { config, texted: &self.texted, now };
        self.open
            .values()
            .filter(|alert| alert.priority != Priority::High && alert.told.is_empty())
            .filter(|alert| matches!(alert.standing, Standing::Climbing { next } if next > now))
            .filter(|alert| !would_call(yard, alert).is_disjoint(woken))
            .map(|alert| alert.no)
            .collect()
    }

    /// A text that is not urgent leaves to somebody.
    pub fn disturbs(&mut self, who: &PersonName, now: Moment) {
        self.disturbed.entry(who.clone()).or_default().push(now);
    }

    /// When somebody who has had too much may be sent the rest; `None` if they have not, or it is time.
    pub fn free_again(&mut self, who: &PersonName, at_most: usize, now: Moment) -> Option<Moment> {
        let disturbed = self.disturbed.get_mut(who)?;
        while disturbed.oldest().is_some_and(|at| *at <= now - WITHIN) {
            disturbed.pop_oldest();
        }
        let (last, full) = (disturbed.iter().last().copied(), disturbed.len() >= at_most);
        let Some(last) = last else {
            self.disturbed.remove(who);
            return None;
        };
        let free = last + APART;
        (full && free > now).then_some(free)
    }

    /// A call that does not leave now. With a moment, nobody has been called, and this rung is climbed then.
    pub fn holds_back(&mut self, no: AlertNo, who: &PersonName, until: Option<Moment>) {
        let Some(alert) = self.open.get_mut(&no) else { return };
        if !alert.reached.contains(who) {
            alert.told.remove(who);
        }
        alert.rung.tried.remove(who);
        if let Some(until) = until {
            alert.standing = Standing::Climbing { next: until };
            alert.rung.next = alert.rung.next.saturating_sub(1);
            alert.rung.rounds = alert.rung.rounds.saturating_sub(1);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whoever_has_had_enough_is_left_alone_for_a_quarter_of_an_hour() {
        let (mut watchman, ana) = (Watchman::default(), PersonName::new("Ana"));
        let minute = |n| Moment::default() + Span::minutes(n);
        for n in 0..5 {
            assert_eq!(watchman.free_again(&ana, 6, minute(n)), None);
            watchman.disturbs(&ana, minute(n));
        }
        watchman.disturbs(&ana, minute(5));
        assert_eq!(watchman.free_again(&ana, 6, minute(6)), Some(minute(20)));
        assert_eq!(watchman.free_again(&ana, 6, minute(20)), None, "then she gets the rest");
        watchman.disturbs(&ana, minute(20));
        assert_eq!(watchman.free_again(&ana, 6, minute(21)), Some(minute(35)));
        assert_eq!(watchman.free_again(&ana, 6, minute(66)), None, "the hour is over");
        let tom = PersonName::new("Tom");
        assert_eq!(watchman.free_again(&tom, 6, minute(6)), None, "it is counted for each person");
    }
}
