//! The only place that asks what time it is.
//!
//! A small computer without a clock chip boots in the past. The floor is the journal's last entry:
//! from there time runs on by the monotonic clock, marked "about", until the system's clock has
//! caught up. It goes forward only.

#![expect(clippy::disallowed_methods, reason = "this is the one place that may ask the time")]

use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use crate::plain::moment::{Moment, Span};
use crate::watch::event::ClockState;

/// Clocks are nudged by less than this all the time; that is no news.
const NUDGE: Span = Span::seconds(2);
/// However far the deadline, look at the clock again this often: it may be set meanwhile.
const LOOK_AGAIN: Duration = Duration::from_secs(20);

pub struct Clock {
    anchor: Instant,
    at_anchor: Moment,
    pace: Pace,
    state: ClockState,
}

#[derive(Clone, Copy)]
enum Pace {
    /// The system's clock.
    System,
    /// An invented night: this many times as fast as the monotonic clock.
    Invented { times: u32 },
}

impl Clock {
    /// The system's clock, never before `floor`.
    pub fn system(floor: Option<Moment>) -> Self {
        let system = system_now();
        let floor = floor.unwrap_or(system);
        let state = if system + NUDGE < floor { ClockState::About } else { ClockState::Trusted };
        Self { anchor: Instant::now(), at_anchor: system.max(floor), pace: Pace::System, state }
    }

    /// A night that begins at `start` and runs `times` as fast.
    pub fn invented(start: Moment, times: u32) -> Self {
        let pace = Pace::Invented { times: times.max(1) };
        Self { anchor: Instant::now(), at_anchor: start, pace, state: ClockState::Trusted }
    }

    /// The moment now, and how far it can be believed.
    pub fn now(&mut self) -> (Moment, ClockState) {
        let elapsed = self.anchor.elapsed();
        match self.pace {
            Pace::Invented { times } => {
                let elapsed = elapsed.as_millis() * u128::from(times);
                let elapsed = i64::try_from(elapsed).unwrap_or(i64::MAX);
                (self.at_anchor + Span::from_millis(elapsed), self.state)
            }
            Pace::System => {
                let elapsed = i64::try_from(elapsed.as_millis()).unwrap_or(i64::MAX);
                let (now, state) = judge(system_now(), self.at_anchor + Span::from_millis(elapsed));
                self.anchor = Instant::now();
                self.at_anchor = now;
                self.state = state;
                (now, state)
            }
        }
    }

    /// How long to sleep until a moment, at most until the clock should be looked at again.
    pub fn until(&mut self, moment: Option<Moment>) -> Duration {
        let Some(moment) = moment else {
            return LOOK_AGAIN;
        };
        let (now, _) = self.now();
        let millis = u64::try_from(moment.since(now).millis().max(0)).unwrap_or(0);
        let times = match self.pace {
            Pace::System => 1,
            Pace::Invented { times } => u64::from(times),
        };
        Duration::from_millis(millis.div_ceil(times)).min(LOOK_AGAIN)
    }
}

/// What to believe when the system says one thing and the running time another.
fn judge(system: Moment, running: Moment) -> (Moment, ClockState) {
    if system + NUDGE < running {
        return (running, ClockState::About);
    }
    // A nudge back is followed; the watch itself never lets its time run backwards.
    (system, ClockState::Trusted)
}

/// The system's time for a signature, which must be that of the attempt (Standard Webhooks).
pub fn unix_seconds() -> i64 {
    system_now().seconds()
}

fn system_now() -> Moment {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(Moment::default(), |since| {
        Moment::from_millis(i64::try_from(since.as_millis()).unwrap_or(i64::MAX))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn second(n: i64) -> Moment {
        Moment::from_seconds(n)
    }

    #[test]
    fn a_clock_behind_the_journal_is_not_believed() {
        assert_eq!(judge(second(0), second(1_000)), (second(1_000), ClockState::About));
    }

    #[test]
    fn a_clock_that_was_set_forward_is_believed() {
        assert_eq!(judge(second(5_000), second(1_000)), (second(5_000), ClockState::Trusted));
    }

    #[test]
    fn a_boot_in_the_past_starts_at_the_journals_last_entry() {
        let floor = system_now() + Span::days(30);
        let mut clock = Clock::system(Some(floor));
        let (now, state) = clock.now();
        assert!(now >= floor);
        assert_eq!(state, ClockState::About);
    }
}
