//! How long to wait before the next try. The client library itself waits for nothing: told a wrong
//! password it connects thousands of times a second.

use std::time::Duration;

/// Short enough that a broker's restart costs a moment.
const FIRST: Duration = Duration::from_millis(500);
/// Long enough to spare a broker that is down all night, short enough that its return is soon noticed.
const LONGEST: Duration = Duration::from_secs(60);

/// Doubles from half a second to a minute.
#[derive(Debug, Default)]
pub(super) struct Backoff {
    tries: u32,
}

impl Backoff {
    /// The next wait. `dice` spreads it over the upper half, so that everything on a farm that lost
    /// the broker does not come back in the same instant.
    pub(super) fn next(&mut self, dice: u32) -> Duration {
        let full = FIRST.saturating_mul(2_u32.saturating_pow(self.tries)).min(LONGEST);
        self.tries = self.tries.saturating_add(1);
        let half = full / 2;
        half + half.mul_f64(f64::from(dice) / f64::from(u32::MAX))
    }

    pub(super) fn reset(&mut self) {
        self.tries = 0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_doubles_to_a_minute_and_begins_again_when_told() {
        let mut backoff = Backoff::default();
        let waits: Vec<u64> = (0..9).map(|_| backoff.next(u32::MAX).as_millis() as u64).collect();
        assert_eq!(waits, [500, 1000, 2000, 4000, 8000, 16_000, 32_000, 60_000, 60_000]);
        backoff.reset();
        assert_eq!(backoff.next(0), Duration::from_millis(250));
    }

    #[test]
    fn the_dice_move_it_within_the_upper_half() {
        for dice in [0, 1, u32::MAX / 2, u32::MAX] {
            let wait = Backoff::default().next(dice);
            assert!(wait >= FIRST / 2 && wait <= FIRST, "{dice}: {wait:?}");
        }
    }

    #[test]
    fn a_season_of_failures_does_not_overflow() {
        let mut backoff = Backoff { tries: u32::MAX };
        assert_eq!(backoff.next(u32::MAX), LONGEST);
        assert_eq!(backoff.next(u32::MAX), LONGEST);
    }
}
