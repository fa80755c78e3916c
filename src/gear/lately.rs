//! How often something happened within the last hour: two counts, no list.

use serde::{Deserialize, Serialize};

use crate::plain::moment::Moment;

const HOUR: i64 = 3_600;

/// What was counted within the hour of the clock that `hour` numbers, and within the one before.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lately {
    hour: i64,
    this: u32,
    last: u32,
}

impl Lately {
    pub fn count(&mut self, now: Moment) {
        *self = self.at(now);
        self.this = self.this.saturating_add(1);
    }

    /// How many within the hour up to now, as if those of the hour before had been spread evenly.
    pub fn within_an_hour(&self, now: Moment) -> u32 {
        let at = self.at(now);
        let past = now.seconds().rem_euclid(HOUR);
        let share = i64::from(at.last) * (HOUR - past) / HOUR;
        at.this.saturating_add(u32::try_from(share).unwrap_or(u32::MAX))
    }

    fn at(self, now: Moment) -> Self {
        let hour = now.seconds().div_euclid(HOUR);
        match hour - self.hour {
            0 => self,
            1 => Self { hour, this: 0, last: self.this },
            _ => Self { hour, this: 0, last: 0 },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Span;

    #[test]
    fn an_hour_slides_over_two_hours_of_the_clock() {
        let mut lately = Lately::default();
        let minute = |n| Moment::default() + Span::minutes(n);
        (0..12).for_each(|n| lately.count(minute(n * 5)));
        assert_eq!(lately.within_an_hour(minute(59)), 12);
        (12..18).for_each(|n| lately.count(minute(n * 5)));
        assert_eq!(lately.within_an_hour(minute(90)), 12, "six of this hour, half of the last");
        assert_eq!(lately.within_an_hour(minute(200)), 0);
    }
}
