//! How far a reading may be believed about now, from its two times and from what kept it.
//!
//! It judges one reading against the moment of its step. It remembers nothing: which rules accept
//! which belief is theirs to say.

use super::reading::Reading;
use crate::plain::english;
use crate::plain::moment::{Moment, Span};

/// Clocks of cheap devices drift, and ours may be corrected by a little: so far ahead is still now.
pub const FUTURE_MAX: Span = Span::minutes(2);

/// A message may wait this long in a gateway or in the broker and still speak of now.
pub const BACKLOG_AFTER: Span = Span::minutes(10);

/// A backlog longer than a calving season is a device whose clock is wrong (common practice, no
/// source).
pub const BACKLOG_MAX: Span = Span::days(90);

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Belief {
    /// It speaks of now.
    Fresh,
    /// It speaks of its own, earlier time and takes its place there, in order of event. It may move
    /// a stage, as of its own time: a birth heard of late is still a birth. It says nothing about
    /// now.
    History,
    /// The broker kept it: of any age, and no evidence. Shown as last known; it never starts or
    /// advances a stage.
    LastKnownOnly,
    /// Its time makes no sense; the words say how.
    Refused(String),
}

/// For a machine whose clock is trusted.
pub fn believe(reading: &Reading, now: Moment) -> Belief {
    if reading.retained {
        return Belief::LastKnownOnly;
    }
    let (ahead, age) = (reading.at.since(now), now.since(reading.at));
    if ahead > FUTURE_MAX {
        Belief::Refused(format!(
            "its time is {} ahead of ours: look at the device's clock",
            english::span(ahead)
        ))
    } else if age > BACKLOG_MAX {
        Belief::Refused(format!(
            "its time is {} ago: look at the device's clock",
            english::span(age)
        ))
    } else if age > BACKLOG_AFTER {
        Belief::History
    } else {
        Belief::Fresh
    }
}

/// For a machine whose clock may stand in the past, as after a power cut without a clock chip: a
/// device that is ahead may well be right, and refusing it would leave the dam unwatched. What is
/// ahead counts as of when it was heard.
pub fn believe_without_a_clock(reading: &Reading, now: Moment) -> Belief {
    if !reading.retained && reading.at > now { Belief::Fresh } else { believe(reading, now) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::sensors::ReadKind;
    use crate::plain::ids::DeviceId;
    use crate::sensor::reading::FieldPlace;
    use proptest::prelude::*;

    #[test]
    fn what_the_broker_kept_is_last_known_only_whatever_its_time() {
        // needs.md N19 and N20.
        for age in [Span::ZERO, Span::days(3), Span::hours(-5), Span::days(400)] {
            let mut kept = aged(age);
            kept.retained = true;
            assert_eq!(believe(&kept, now()), Belief::LastKnownOnly);
            assert_eq!(believe_without_a_clock(&kept, now()), Belief::LastKnownOnly);
        }
    }

    #[test]
    fn a_little_ahead_is_now_and_more_is_refused() {
        assert_eq!(believe(&aged(Span::minutes(-2)), now()), Belief::Fresh);
        assert_eq!(
            believe(&aged(Span::from_millis(-120_001)), now()),
            Belief::Refused("its time is 2 min ahead of ours: look at the device's clock".into())
        );
        assert_eq!(
            believe(&aged(Span::hours(-5)), now()),
            Belief::Refused("its time is 5 h ahead of ours: look at the device's clock".into())
        );
    }

    #[test]
    fn a_backlog_is_history() {
        // needs.md N27: three days of backlog between live readings.
        assert_eq!(believe(&aged(Span::ZERO), now()), Belief::Fresh);
        assert_eq!(believe(&aged(Span::minutes(10)), now()), Belief::Fresh);
        assert_eq!(believe(&aged(Span::from_millis(600_001)), now()), Belief::History);
        assert_eq!(believe(&aged(Span::days(3)), now()), Belief::History);
        assert_eq!(believe(&aged(Span::days(90)), now()), Belief::History);
    }

    #[test]
    fn a_backlog_longer_than_a_season_is_refused() {
        assert_eq!(
            believe(&aged(Span::days(800)), now()),
            Belief::Refused("its time is 800 d ago: look at the device's clock".into())
        );
    }

    #[test]
    fn a_machine_that_woke_in_the_past_does_not_turn_its_sensors_away() {
        // needs.md N29: a machine without a clock chip, five days behind until it is told the time.
        let ahead = aged(Span::days(-5));
        assert_eq!(believe_without_a_clock(&ahead, now()), Belief::Fresh);
        for age in [Span::ZERO, Span::hours(1), Span::days(800)] {
            let reading = aged(age);
            assert_eq!(believe_without_a_clock(&reading, now()), believe(&reading, now()));
        }
    }

    proptest! {
        #[test]
        fn no_pair_of_times_makes_it_panic(at in any::<i64>(), now in any::<i64>()) {
            let mut reading = aged(Span::ZERO);
            reading.at = Moment::from_millis(at);
            let now = Moment::from_millis(now);
            if believe(&reading, now) == Belief::Fresh {
                prop_assert!(reading.at <= now + FUTURE_MAX);
                prop_assert!(reading.at >= now - BACKLOG_AFTER);
            }
        }
    }

    fn now() -> Moment {
        Moment::from_seconds(1_795_572_300)
    }

    fn aged(age: Span) -> Reading {
        Reading {
            device: DeviceId::new("t-07"),
            kind: "tail".into(),
            sign: "contraction".into(),
            value: 1.0,
            as_: ReadKind::Count,
            unit: None,
            place: FieldPlace::default(),
            region: None,
            at: now() - age,
            heard: now(),
            timed: true,
            retained: false,
        }
    }
}
