//! How fast one client may speak, and whose words are put on disk at once.
//!
//! Nobody's message is thrown away for being fast: whoever sends too much is made to wait, and the
//! network does the rest. Writing at once is a favour that wears the disk, so it is counted too.

use std::time::Duration;

use tokio::time::Instant;

use crate::config::built_in::Limits;
use crate::plain::moment::Span;

/// What has not been used for so long may be used at once.
const BURST: Duration = Duration::from_secs(1);

/// A sensor that waits is awake and uses its battery: its packet is committed soon.
pub(super) const PATIENCE: Span = Span::from_millis(200);

/// The library takes one message of a client at a time, so whoever has a backlog waits for every
/// single commit. Then this is enough for others to join in.
const HURRY: Span = Span::from_millis(5);

/// Whoever speaks again so soon after being confirmed has more to say.
const BACKLOG: Duration = Duration::from_millis(50);

/// So many commits in a hurry, and one more every second: a gateway's backlog of a night, but not
/// 17,000 commits an hour, which no SD card bears for long (13.8 kB are written for each).
const HURRIES: u32 = 1_000;
const HURRY_EVERY: Duration = Duration::from_secs(1);

/// Lets one thing through every so often, and what was saved up before.
#[derive(Debug)]
struct Turnstile {
    every: Duration,
    saved: Duration,
    /// When everything let through so far would have been due.
    due: Instant,
}

impl Turnstile {
    fn new(every: Duration, saved: Duration, now: Instant) -> Self {
        Self { every, saved, due: now.checked_sub(saved).unwrap_or(now) }
    }

    /// How long `units` must wait; they count in any case.
    fn pass(&mut self, units: u32, now: Instant) -> Duration {
        let earliest = now.checked_sub(self.saved).unwrap_or(now);
        self.due = self.due.max(earliest) + self.every * units;
        self.due.saturating_duration_since(now)
    }

    /// Lets one through only if it need not wait.
    fn try_pass(&mut self, now: Instant) -> bool {
        let earliest = now.checked_sub(self.saved).unwrap_or(now);
        let due = self.due.max(earliest) + self.every;
        if due > now {
            return false;
        }
        self.due = due;
        true
    }
}

/// One client's pace.
#[derive(Debug)]
pub(super) struct Pace {
    messages: Turnstile,
    bytes: Turnstile,
    hurries: Turnstile,
    confirmed: Option<Instant>,
}

/// Bytes are counted by so many.
const KILO: usize = 1024;

impl Pace {
    pub(super) fn new(limits: &Limits, now: Instant) -> Self {
        let each = |a_second: u64| BURST / u32::try_from(a_second.max(1)).unwrap_or(u32::MAX);
        Self {
            messages: Turnstile::new(each(limits.messages), BURST, now),
            bytes: Turnstile::new(each(limits.bytes / KILO as u64), BURST, now),
            hurries: Turnstile::new(HURRY_EVERY, HURRY_EVERY * HURRIES, now),
            confirmed: None,
        }
    }

    /// How long a message of so many bytes must wait.
    pub(super) fn wait(&mut self, bytes: usize, now: Instant) -> Duration {
        let kilos = u32::try_from(bytes / KILO).unwrap_or(u32::MAX);
        self.messages.pass(1, now).max(self.bytes.pass(kilos, now))
    }

    /// How long its next message may wait for company on the way to the disk.
    pub(super) fn patience(&mut self, now: Instant) -> Span {
        let follows = self.confirmed.is_some_and(|at| now.duration_since(at) < BACKLOG);
        if follows && self.hurries.try_pass(now) { HURRY } else { PATIENCE }
    }

    pub(super) fn confirmed(&mut self, now: Instant) {
        self.confirmed = Some(now);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pace(messages: u64, bytes: u64, now: Instant) -> Pace {
        Pace::new(&Limits { messages, bytes, ..Limits::default() }, now)
    }

    #[test]
    fn a_seconds_worth_passes_at_once_and_the_rest_in_its_time() {
        let now = Instant::now() + BURST;
        let mut pace = pace(10, 1024 * 1024, now);
        for _ in 0..10 {
            assert_eq!(pace.wait(20, now), Duration::ZERO);
        }
        assert_eq!(pace.wait(20, now), Duration::from_millis(100));
        assert_eq!(pace.wait(20, now), Duration::from_millis(200));
        let later = now + Duration::from_secs(60);
        for _ in 0..10 {
            assert_eq!(pace.wait(20, later), Duration::ZERO, "a minute saves up a second, no more");
        }
        assert!(pace.wait(20, later) > Duration::ZERO);
    }

    #[test]
    fn large_messages_wait_longer() {
        let now = Instant::now() + BURST;
        let mut pace = pace(1_000, 100 * 1024, now);
        assert_eq!(pace.wait(100 * 1024, now), Duration::ZERO);
        assert_eq!(pace.wait(50 * 1024, now), Duration::from_millis(500));
    }

    #[test]
    fn only_a_backlog_is_in_a_hurry_and_not_for_ever() {
        let mut now = Instant::now() + HURRY_EVERY * HURRIES;
        let mut pace = pace(1_000, 1024 * 1024, now);
        assert_eq!(pace.patience(now), PATIENCE, "the first message has no backlog behind it");
        let mut hurried = 0;
        for _ in 0..2_000 {
            pace.confirmed(now);
            now += Duration::from_millis(10);
            hurried += u32::from(pace.patience(now) == HURRY);
        }
        // 2,000 in 20 seconds: what was saved up, and one for each second.
        assert!((HURRIES..=HURRIES + 21).contains(&hurried), "{hurried}");
        now += Duration::from_secs(1);
        assert_eq!(pace.patience(now), PATIENCE, "a second later it is no backlog");
    }
}
