//! Knows a message again that it has heard before.
//!
//! Neither the packet's number nor its DUP flag may serve (MQTT 5, 4.3.2-5 and 3.3.1-3): a broker, a
//! gateway or the device itself may send a message twice. The same message is: the same device, the
//! same own time or frame counter, the same payload. A message that carries neither cannot be told
//! from another that says the same; only copies of one publication that come through two of our own
//! filters can, because they come at once.

use serde::{Deserialize, Serialize};

use crate::plain::bounded::Ring;
use crate::plain::digest::Digest;
use crate::plain::moment::{Moment, Span};

/// A message a minute for half an hour: a broker sends again what it had in flight, which is far less. A
/// whole backlog sent twice is known again by the times of its counts.
const KEPT: usize = 32;

/// A number alone names a message no longer than this (common practice, no source): twice is better than
/// never.
const NUMBERED_FOR: Span = Span::minutes(10);

/// Copies of one publication leave the broker one after the other (common practice, no source).
const AT_ONCE: Span = Span::seconds(2);

/// Frames overtake each other on their way by no more than this (common practice, no source).
const OVERTAKEN: u64 = 32;

/// Where counters of one, two and four bytes begin again by themselves.
const WRAPS: [u64; 3] = [0xFF, 0xFFFF, 0xFFFF_FFFF];

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Doubles {
    /// What each message is known by, and when it was heard.
    names: Ring<(u64, Moment), KEPT>,
    /// The last message that nothing names, and when it was heard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    nameless: Option<(u64, Moment)>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    counter: Option<Counted>,
    /// How many messages were known again.
    pub again: u64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Counted {
    frame: u64,
    carried: Option<Moment>,
}

/// What one message has by which it may be known again.
#[derive(Clone, Copy, Debug)]
pub struct Marks<'m> {
    /// The time it carries, as it carries it.
    pub carried: Option<Moment>,
    /// Its frame counter.
    pub counter: Option<u64>,
    /// The kind of sensor that reads it, as a place: the same bytes may mean two things.
    pub kind: usize,
    pub payload: &'m [u8],
    /// How many of our filters its topic matches.
    pub matched: usize,
}

impl Doubles {
    /// Whether this message has been heard before; if not, it is remembered.
    pub fn knows(&mut self, marks: &Marks<'_>, now: Moment) -> bool {
        let named = marks.carried.is_some() || marks.counter.is_some();
        if !named && marks.matched < 2 {
            return false;
        }
        let name = name(marks);
        let known = if named {
            // A device without a clock that starts anew soon uses the same numbers again.
            let recent = |at: Moment| marks.carried.is_some() || now.since(at) <= NUMBERED_FOR;
            self.names.iter().any(|(old, at)| *old == name && recent(*at))
        } else {
            self.nameless.is_some_and(|(old, at)| old == name && now.since(at) <= AT_ONCE)
        };
        if known {
            self.again = self.again.saturating_add(1);
        } else if named {
            self.names.push((name, now));
        } else {
            self.nameless = Some((name, now));
        }
        known
    }

    /// Takes the counter of a message that is no double. A counter that begins anew is the device
    /// restarted, as after a new battery (needs.md N34), and says so; a late frame is not.
    pub fn counts(&mut self, frame: u64, carried: Option<Moment>) -> Option<Restarted> {
        let Some(last) = self.counter else {
            self.counter = Some(Counted { frame, carried });
            return None;
        };
        if frame >= last.frame {
            self.counter = Some(Counted { frame, carried });
            return None;
        }
        let wrapped = WRAPS
            .iter()
            .any(|wrap| last.frame <= *wrap && wrap - last.frame < OVERTAKEN && frame < OVERTAKEN);
        let later = match (carried, last.carried) {
            (Some(carried), Some(last)) => carried > last,
            (_, _) => frame == 0 || last.frame - frame > OVERTAKEN,
        };
        if !wrapped && !later {
            return None;
        }
        self.counter = Some(Counted { frame, carried });
        if wrapped {
            return None;
        }
        // What it said before it restarted has nothing to do with what it says under the same
        // numbers now.
        if carried.is_none() {
            self.names.clear();
        }
        Some(Restarted { from: last.frame, to: frame })
    }
}

/// A counter that began anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Restarted {
    pub from: u64,
    pub to: u64,
}

fn name(marks: &Marks<'_>) -> u64 {
    let mut digest = Digest::default();
    digest.feed_bytes(&marks.kind.to_le_bytes());
    if let Some(carried) = marks.carried {
        digest.feed_bytes(&carried.millis().to_le_bytes());
    }
    if let Some(counter) = marks.counter {
        digest.feed_bytes(&counter.to_le_bytes());
    }
    digest.feed_bytes(marks.payload);
    digest.short()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn counted(counter: u64, payload: &[u8]) -> Marks<'_> {
        Marks { carried: None, counter: Some(counter), kind: 0, payload, matched: 1 }
    }

    fn nameless(payload: &[u8], matched: usize) -> Marks<'_> {
        Marks { carried: None, counter: None, kind: 0, payload, matched }
    }

    #[test]
    fn the_same_time_or_counter_with_the_same_payload_is_the_same_message_however_late() {
        let mut doubles = Doubles::default();
        let timed = Marks { carried: Some(minute(1)), ..counted(7, b"3") };
        assert!(!doubles.knows(&timed, minute(1)));
        assert!(doubles.knows(&timed, minute(1)));
        assert!(doubles.knows(&timed, minute(600)), "a broker may send it again hours later");
        assert_eq!(doubles.again, 2);
    }

    #[test]
    fn a_counter_that_repeats_with_another_payload_is_another_message() {
        let mut doubles = Doubles::default();
        assert!(!doubles.knows(&counted(7, b"3"), minute(1)));
        assert!(!doubles.knows(&counted(7, b"4"), minute(1)));
        assert!(!doubles.knows(&counted(8, b"3"), minute(1)));
    }

    #[test]
    fn the_same_bytes_read_by_another_kind_are_another_message() {
        let mut doubles = Doubles::default();
        assert!(!doubles.knows(&counted(7, b"3"), minute(1)));
        assert!(!doubles.knows(&Marks { kind: 1, ..counted(7, b"3") }, minute(1)));
    }

    #[test]
    fn what_carries_neither_time_nor_counter_counts_each_time_but_through_two_filters_at_once() {
        let mut doubles = Doubles::default();
        assert!(!doubles.knows(&nameless(b"3", 1), minute(1)));
        assert!(!doubles.knows(&nameless(b"3", 1), minute(1)));
        let mut doubles = Doubles::default();
        assert!(!doubles.knows(&nameless(b"3", 2), minute(1)));
        assert!(doubles.knows(&nameless(b"3", 2), minute(1) + Span::seconds(1)));
        assert!(!doubles.knows(&nameless(b"3", 2), minute(2)), "a minute later it is news");
    }

    /// needs.md N34: counter 4000, then 0: accepted, and noted as "device restarted".
    #[test]
    fn a_counter_that_begins_anew_is_a_restart_and_is_noticed_once() {
        let mut doubles = Doubles::default();
        for (frame, restarted) in [
            (3_998, None),
            (4_000, None),
            (3_999, None),
            (0, Some(Restarted { from: 4_000, to: 0 })),
            (1, None),
            (2, None),
        ] {
            assert_eq!(doubles.counts(frame, None), restarted, "{frame}");
        }
    }

    #[test]
    fn a_counter_that_is_full_begins_again_without_a_restart() {
        for full in WRAPS {
            let mut doubles = Doubles::default();
            assert_eq!(doubles.counts(full - 1, None), None);
            assert_eq!(doubles.counts(2, None), None, "{full}");
            assert_eq!(doubles.counts(500, None), None, "{full}");
        }
    }

    #[test]
    fn a_frame_that_is_older_by_its_own_time_is_late_and_no_restart() {
        let mut doubles = Doubles::default();
        assert_eq!(doubles.counts(4_000, Some(minute(60))), None);
        assert_eq!(doubles.counts(10, Some(minute(5))), None, "a backlog");
        assert!(doubles.counts(3, Some(minute(61))).is_some());
    }

    #[test]
    fn the_oldest_names_are_forgotten() {
        let mut doubles = Doubles::default();
        for n in 0..=KEPT as u64 {
            assert!(!doubles.knows(&counted(n, b""), minute(0)));
        }
        assert!(doubles.knows(&counted(1, b""), minute(0)));
        assert!(!doubles.knows(&counted(0, b""), minute(0)));
    }
}
