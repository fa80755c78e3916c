//! A device's clock as its messages show it: right, or out by so much.
//!
//! A clock that is wrong is wrong by a steady difference; a backlog's difference shrinks while its
//! times advance. It learns from live messages only, needs no exact clock of the device, and says
//! nothing about what to do: the settings do (`clock = "correct"` or `"refuse"`).

use serde::{Deserialize, Serialize};

use crate::plain::english;
use crate::plain::moment::{Moment, Span};
use crate::sensor::fresh::{BACKLOG_AFTER, FUTURE_MAX};

/// Messages of one clock differ by what the way to us takes, which is less than this (common
/// practice, no source).
const STEADY: Span = Span::minutes(1);

/// Nothing but a wrong clock is ahead: a few messages are enough.
const AHEAD: Proof = Proof { messages: 3, over: Span::minutes(10) };

/// What comes late may have waited somewhere, and a queue that drains as fast as it fills has a steady
/// delay for a while: more is asked (common practice, no source).
const BEHIND: Proof = Proof { messages: 6, over: Span::minutes(30) };

/// Time zones and summer time are whole halves of hours, all but a few.
const HALF_HOUR: Span = Span::minutes(30);

struct Proof {
    messages: u32,
    over: Span,
}

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeviceClock {
    /// Messages one after the other with the same difference.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    run: Option<Run>,
    /// How far ahead it is known to be; behind where negative.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    out_by: Option<Span>,
    /// The difference that was last said aloud.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    said: Option<Span>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Run {
    from: Moment,
    least: Span,
    most: Span,
    messages: u32,
}

/// What a message taught that is worth a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockNews {
    /// It is ahead by this, or behind where negative.
    OutBy(Span),
    Right,
}

impl DeviceClock {
    /// A live message with its own time. Nothing is to be learnt while our own clock is in doubt.
    pub fn hears(&mut self, carried: Moment, heard: Moment) -> Option<ClockNews> {
        let ahead = carried.since(heard);
        let fits = is_near(ahead);
        if fits && self.out_by.is_none() {
            self.run = None;
            return None;
        }
        let run = match self.run {
            Some(run) if run.holds(ahead) => run.and(ahead),
            Some(_) | None => Run { from: heard, least: ahead, most: ahead, messages: 1 },
        };
        self.run = Some(run);
        let proof = if ahead < Span::ZERO && !fits { &BEHIND } else { &AHEAD };
        if run.messages < proof.messages || heard.since(run.from) < proof.over {
            return None;
        }
        if fits {
            *self = Self::default();
            return Some(ClockNews::Right);
        }
        self.out_by = Some(ahead);
        let moved = self.said.is_none_or(|said| distance(said, ahead) > FUTURE_MAX);
        moved.then(|| {
            self.said = Some(ahead);
            ClockNews::OutBy(ahead)
        })
    }

    /// Nothing that was heard may be compared with what comes.
    pub fn forgets_the_run(&mut self) {
        self.run = None;
    }

    /// How far the time that a message carries is out, as far as is known. A time that fits ours is
    /// taken as it is: somebody has set the clock. So is one that would come to lie ahead of us: what
    /// looked like a clock that is behind was a queue, and it empties now.
    pub fn out_by(&self, carried: Moment, heard: Moment) -> Option<Span> {
        let out_by = self.out_by?;
        let ahead = carried.since(heard);
        let fits = distance(ahead, Span::ZERO) <= FUTURE_MAX;
        let overshoots = out_by < Span::ZERO && (carried - out_by).since(heard) > FUTURE_MAX;
        (!fits && !overshoots).then_some(out_by)
    }
}

impl Run {
    fn holds(&self, ahead: Span) -> bool {
        let (least, most) = (self.least.min(ahead), self.most.max(ahead));
        distance(least, most) <= STEADY
    }

    fn and(self, ahead: Span) -> Self {
        Self {
            least: self.least.min(ahead),
            most: self.most.max(ahead),
            messages: self.messages.saturating_add(1),
            ..self
        }
    }
}

/// "15 min ahead", "1 h behind, as a time zone or summer time would be".
pub fn words(out_by: Span) -> String {
    let size = distance(out_by, Span::ZERO);
    let way = if out_by > Span::ZERO { "ahead" } else { "behind" };
    let halves = (size.millis() + HALF_HOUR.millis() / 2) / HALF_HOUR.millis();
    let whole = Span::from_millis(halves * HALF_HOUR.millis());
    // A difference of years is a clock that was never set, whatever remains of it.
    let zone = halves > 0 && size < Span::hours(27) && distance(whole, size) <= FUTURE_MAX;
    if zone {
        return format!("{} {way}, as a time zone or summer time would be", english::span(whole));
    }
    format!("{} {way}", english::span(size))
}

fn is_near(ahead: Span) -> bool {
    ahead <= FUTURE_MAX && Span::from_millis(-ahead.millis()) <= BACKLOG_AFTER
}

fn distance(one: Span, other: Span) -> Span {
    Span::from_millis(one.millis().saturating_sub(other.millis()).saturating_abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minute(n: i64) -> Moment {
        Moment::from_seconds(1_795_572_300) + Span::minutes(n)
    }

    /// Tells so many messages, one each five minutes, each with this difference in seconds.
    fn tell(clock: &mut DeviceClock, from: i64, ahead: &[i64]) -> Vec<Option<ClockNews>> {
        let heard = |n: usize| minute(from + 5 * i64::try_from(n).unwrap());
        ahead
            .iter()
            .enumerate()
            .map(|(n, ahead)| clock.hears(heard(n) + Span::seconds(*ahead), heard(n)))
            .collect()
    }

    #[test]
    fn a_clock_that_is_ahead_is_known_by_its_third_message_and_said_once() {
        let mut clock = DeviceClock::default();
        let news = tell(&mut clock, 0, &[900, 902, 899, 901, 900]);
        let out_by = ClockNews::OutBy(Span::seconds(899));
        assert_eq!(news, [None, None, Some(out_by), None, None]);
        let carried = minute(60) + Span::minutes(15);
        assert_eq!(clock.out_by(carried, minute(60)), Some(Span::seconds(900)));
    }

    #[test]
    fn a_clock_that_is_behind_needs_more_to_be_sure() {
        let mut clock = DeviceClock::default();
        let news = tell(&mut clock, 0, &[-3_600; 7]);
        assert_eq!(news[..6], [None; 6]);
        assert_eq!(news[6], Some(ClockNews::OutBy(Span::seconds(-3_600))));
    }

    #[test]
    fn a_backlog_is_no_wrong_clock() {
        // Three days of messages, one each five minutes, poured out in a second or over two hours.
        for heard_over in [1, 7_200] {
            let mut clock = DeviceClock::default();
            for n in 0..864_i64 {
                let heard = minute(0) + Span::seconds(heard_over * n / 864);
                let carried = minute(5 * (n - 864));
                assert_eq!(clock.hears(carried, heard), None);
                assert_eq!(clock.out_by(carried, heard), None);
            }
        }
    }

    #[test]
    fn messages_that_waited_differently_are_no_wrong_clock() {
        let mut clock = DeviceClock::default();
        let news = tell(&mut clock, 0, &[-700, -2_000, -900, -1_500, -800, -3_000, -700]);
        assert!(news.iter().all(Option::is_none), "{news:?}");
    }

    #[test]
    fn a_drift_moves_the_difference_without_a_word_until_it_is_too_much() {
        let mut clock = DeviceClock::default();
        let drift: Vec<i64> = (0..40).map(|n| 900 + 5 * n).collect();
        let news: Vec<ClockNews> = tell(&mut clock, 0, &drift).into_iter().flatten().collect();
        assert_eq!(news.len(), 2, "{news:?}");
        let carried = minute(195) + Span::seconds(1_095);
        let learnt = clock.out_by(carried, minute(195)).unwrap();
        assert!(distance(learnt, Span::seconds(1_095)) <= STEADY, "{learnt:?}");
    }

    #[test]
    fn a_clock_that_somebody_sets_is_believed_at_once_and_said_to_be_right_when_sure() {
        let mut clock = DeviceClock::default();
        let _ = tell(&mut clock, 0, &[3_600, 3_600, 3_600]);
        assert_eq!(clock.out_by(minute(15), minute(15)), None);
        let news = tell(&mut clock, 15, &[3, 2, 3]);
        assert_eq!(news, [None, None, Some(ClockNews::Right)]);
        assert_eq!(clock, DeviceClock::default());
    }

    #[test]
    fn a_difference_like_a_time_zones_is_called_so() {
        let zone = "as a time zone or summer time would be";
        assert_eq!(words(Span::seconds(3_601)), format!("1 h ahead, {zone}"));
        assert_eq!(words(Span::seconds(-7_190)), format!("2 h behind, {zone}"));
        assert_eq!(words(Span::minutes(330)), format!("5 h 30 min ahead, {zone}"));
        assert_eq!(words(Span::minutes(15)), "15 min ahead");
        assert_eq!(words(Span::days(-20_000)), "20000 d behind");
    }

    #[test]
    fn a_queue_that_looked_like_a_clock_and_empties_is_not_put_into_the_future() {
        let at = |n| Moment::default() + Span::days(400) + Span::minutes(n);
        let mut clock = DeviceClock::default();
        let news: Vec<_> =
            (0..7).filter_map(|n| clock.hears(at(6 * n) - Span::hours(2), at(6 * n))).collect();
        assert_eq!(news, [ClockNews::OutBy(Span::hours(-2))]);
        assert_eq!(clock.out_by(at(40) - Span::hours(3), at(40)), Some(Span::hours(-2)));
        assert_eq!(clock.out_by(at(40) - Span::minutes(30), at(40)), None, "it would be ahead");
    }
}
