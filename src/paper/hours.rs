//! Births by the hour of the day, before and after the feeding was changed.
//!
//! A birth whose hour nobody knows is counted apart and never put into an hour (needs.md N106, N115).

use super::figures::Ratio;
use super::record::When;
use crate::plain::moment::Span;
use crate::plain::zone::Zone;

/// Births by the farm's own clock.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Hours {
    pub births: [u32; 24],
    /// The hour is not known.
    pub uncertain: u32,
}

/// Two looks so near one another say the hour well enough (common practice, no source).
const SURE: Span = Span::hours(1);

/// Day and night as most of the feeding trials part them (facts.md N-05, N-07).
const DAY: std::ops::Range<usize> = 6..18;

impl Hours {
    pub fn add(&mut self, when: When, zone: &Zone) {
        let sure = match when {
            When::Said(at) => Some(at),
            When::Between(from, at) if at.since(from) <= SURE => Some(at),
            When::Between(..) | When::Estimated(_) => None,
        };
        let hour = sure.and_then(|at| usize::try_from(zone.wall(at).hour()).ok());
        match hour.and_then(|hour| self.births.get_mut(hour)) {
            Some(count) => *count += 1,
            None => self.uncertain += 1,
        }
    }

    /// Of those whose hour is known.
    pub fn known(&self) -> u32 {
        self.births.iter().sum()
    }

    /// Born from the one hour until the other, which may lie past midnight.
    pub fn between(&self, from: usize, until: usize) -> Option<Ratio> {
        let within = |hour: usize| {
            if from <= until { (from..until).contains(&hour) } else { hour >= from || hour < until }
        };
        let births = self.births.iter().enumerate().filter(|(hour, _)| within(*hour));
        Ratio::of(births.map(|(_, count)| *count).sum::<u32>(), self.known())
    }

    /// Born by day, 06 to 18.
    pub fn by_day(&self) -> Option<Ratio> {
        self.between(DAY.start, DAY.end)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Moment;

    fn of(births: [u32; 24]) -> Hours {
        Hours { births, uncertain: 0 }
    }

    fn percent(hours: &Hours, from: usize, until: usize) -> String {
        hours.between(from, until).unwrap().percent()
    }

    #[test]
    fn shares_of_the_day_follow_from_the_hours_and_not_from_a_misprint() {
        // facts.md N-02 (an Irish article, 1,535 births): 4.1 %/h in 08-16 and 4.4 %/h in 16-08 are 33 and
        // 70 %; the article prints 65 and 35, swapped. In thousandths of its births:
        let mut births = [44; 24];
        births[8..16].fill(41);
        let hours = of(births);
        assert_eq!(
            percent(&hours, 8, 16),
            "31.8 %",
            "328 of 1,032; 32.8 of 100 before its rounding"
        );
        assert_eq!(percent(&hours, 16, 8), "68.2 %");
        assert!(hours.between(8, 16).unwrap().permille() < 350);
    }

    #[test]
    fn five_years_of_evening_hay_put_85_of_a_hundred_births_into_the_day() {
        // facts.md N-07 (a Kansas herd, hay at 16-18 h), hundredths of a percent in bins of four hours.
        let mut births = [0; 24];
        for (hour, count) in [(6, 3423), (10, 2123), (14, 2983), (18, 841), (22, 440), (2, 191)] {
            births[hour] = count;
        }
        let hours = of(births);
        assert_eq!(hours.known(), 10_001);
        assert_eq!(hours.by_day().unwrap().percent(), "85.3 %");
        assert_eq!(percent(&hours, 22, 6), "6.3 %", "needs.md N115 prints the same 6.3");
    }

    #[test]
    fn a_birth_that_nobody_timed_is_in_no_hour() {
        let zone = Zone::named("Europe/Dublin").unwrap();
        let at = |text| Moment::from_rfc3339(text).unwrap();
        let mut hours = Hours::default();
        hours.add(When::Said(at("2026-07-01T02:10:00Z")), &zone);
        hours.add(When::Between(at("2026-07-01T02:00:00Z"), at("2026-07-01T03:00:00Z")), &zone);
        hours.add(When::Between(at("2026-07-01T01:59:59Z"), at("2026-07-01T03:00:00Z")), &zone);
        hours.add(When::Estimated(at("2026-07-01T02:10:00Z")), &zone);
        // Summer time: the farm's clock is an hour ahead.
        assert_eq!((hours.births[3], hours.births[4], hours.uncertain), (1, 1, 2));
        assert_eq!(hours.known(), 2);
        assert_eq!(Hours::default().by_day(), None, "of nothing there is no share");
    }
}
