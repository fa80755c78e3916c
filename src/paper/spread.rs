//! How the births of a season lie in periods of 21 days, by each rule for its first day.
//!
//! It judges nobody: the targets are printed beside the shares as information.

use jiff::ToSpan as _;
use jiff::civil::Date;

use super::figures::{Ratio, age_in_days};
use crate::config::records::StartRule;

/// One calving as the count needs it: dead and early ones too (facts.md A-09).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Calving {
    pub day: Date,
    /// How many calves were born of it, dead ones too.
    pub calves: u32,
    /// First-calf heifers are counted apart (facts.md A-12); `None` where nobody knows.
    pub first_calf: Option<bool>,
    /// Age of the dam, where it is known.
    pub years: Option<u16>,
}

/// How many calves were born in days 1 to 21, 22 to 42, 43 to 63 and after that.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Spread {
    pub periods: [u32; 4],
}

/// The last day of each period; the first day of the season is day 1, so that of a season that begins on
/// 10 May day 21 is 30 May (facts.md A-09; D-12 prints 31 May, which is day 22).
pub const LAST_DAYS: [i32; 3] = [21, 42, 63];

/// What a period is called.
pub const PERIODS: [&str; 4] = ["days 1-21", "days 22-42", "days 43-63", "after day 63"];

/// Shares that are printed beside the farm's own, as information (facts.md A-08): of all calves, by day
/// 21 and by day 42.
pub const TARGETS: [&str; 3] = [
    "65 % by day 21 (an extension service's target)",
    "63 % by day 21 and 88 % by day 42 (a state's benchmark)",
    "99 % by day 42 (a research centre's herd)",
];

/// A mature cow is at least three years old (facts.md A-05); of one whose age nobody wrote down it is known
/// only that she has calved before.
const MATURE_YEARS: u16 = 3;

/// The season's first day; `None` where the rule has nothing to count from.
pub fn start(rule: StartRule, bulls_in: Option<Date>, calvings: &[Calving]) -> Option<Date> {
    match rule {
        StartRule::ThirdCow => {
            let mature = |one: &&Calving| {
                one.first_calf == Some(false) && one.years.is_none_or(|years| years >= MATURE_YEARS)
            };
            let mut days: Vec<Date> = calvings.iter().filter(mature).map(|one| one.day).collect();
            days.sort_unstable();
            days.get(2).copied()
        }
        StartRule::AfterBulls(days) => bulls_in?.checked_add(i64::from(days).days()).ok(),
    }
}

/// How the calves lie; those before the first day are in the first period (facts.md A-09).
pub fn spread<'c>(start: Date, calvings: impl IntoIterator<Item = &'c Calving>) -> Spread {
    let mut spread = Spread::default();
    for one in calvings {
        let day = age_in_days(start, one.day) + 1;
        let period = LAST_DAYS.iter().position(|last| day <= *last).unwrap_or(LAST_DAYS.len());
        if let Some(count) = spread.periods.get_mut(period) {
            *count += one.calves;
        }
    }
    spread
}

impl Spread {
    /// All calves born (facts.md A-10).
    pub fn all(&self) -> u32 {
        self.periods.iter().sum()
    }

    pub fn share(&self, period: usize) -> Option<Ratio> {
        Ratio::of(*self.periods.get(period)?, self.all())
    }

    /// All born by the end of a period.
    pub fn share_by(&self, period: usize) -> Option<Ratio> {
        Ratio::of(self.periods.iter().take(period + 1).sum::<u32>(), self.all())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn cow(day: Date) -> Calving {
        Calving { day, calves: 1, first_calf: Some(false), years: Some(5) }
    }

    fn after(day: Date, days: i64) -> Date {
        day.checked_add(days.days()).unwrap()
    }

    #[test]
    fn one_herd_by_two_rules_has_two_answers() {
        // facts.md A-07 (a state extension service's herd of 709): days 1-21 48.5 % from the third mature
        // cow, 76.4 % from 285 days after the bulls; days 22-42 41.3 and 19.3 %. The herd is made up so
        // that its third cow calves a fortnight before day 285; only the shares are the source's.
        let third = date(2026, 3, 1);
        let bulls_in = after(third, 14 - 285);
        let mut herd = Vec::new();
        for (days, count) in [(0..21, 344), (21..35, 198), (35..42, 95), (42..56, 42), (56..70, 30)]
        {
            let wide = days.end - days.start;
            herd.extend((0..count).map(|n| cow(after(third, days.start + n % wide))));
        }
        assert_eq!(herd.len(), 709);
        let by = |rule| {
            let first = start(rule, Some(bulls_in), &herd).unwrap();
            let spread = spread(first, &herd);
            (spread.share(0).unwrap().percent(), spread.share(1).unwrap().percent())
        };
        let of = |first: &str, second: &str| (first.to_owned(), second.to_owned());
        assert_eq!(by(StartRule::ThirdCow), of("48.5 %", "41.3 %"));
        assert_eq!(by(StartRule::AfterBulls(285)), of("76.4 %", "19.3 %"));
        assert_ne!(by(StartRule::AfterBulls(283)), by(StartRule::AfterBulls(285)));
    }

    #[test]
    fn the_twenty_first_day_of_a_season_that_begins_on_the_tenth_of_may_is_the_thirtieth() {
        // facts.md A-09 and D-12: inclusive, so that the printed 31 May is the first day of the second.
        let first = date(2015, 5, 10);
        let in_period = |day| spread(first, &[cow(day)]).periods.iter().position(|n| *n == 1);
        assert_eq!(in_period(date(2015, 5, 30)), Some(0));
        assert_eq!(in_period(date(2015, 5, 31)), Some(1));
        assert_eq!(in_period(date(2015, 6, 20)), Some(1));
        assert_eq!(in_period(date(2015, 6, 21)), Some(2));
        assert_eq!(in_period(date(2015, 7, 11)), Some(2));
        assert_eq!(in_period(date(2015, 7, 12)), Some(3));
        assert_eq!(in_period(date(2015, 4, 1)), Some(0), "before the first day: in the first");
    }

    #[test]
    fn the_third_mature_cow_is_no_heifer_and_no_two_year_old() {
        // facts.md A-05.
        let day = |n| date(2026, 3, n);
        let mut herd = vec![cow(day(9)), cow(day(3)), cow(day(5))];
        herd.push(Calving { first_calf: Some(true), ..cow(day(1)) });
        herd.push(Calving { years: Some(2), ..cow(day(2)) });
        assert_eq!(start(StartRule::ThirdCow, None, &herd), Some(day(9)));
        assert_eq!(start(StartRule::ThirdCow, None, &herd[1..]), None);
        assert_eq!(start(StartRule::AfterBulls(285), None, &herd), None);
        // facts.md A-06: 285 days after 1 Jan 2025 is 13 Oct 2025, 283 days 11 Oct (D-15's arithmetic).
        let bulls_in = Some(date(2025, 1, 1));
        let of = |days| start(StartRule::AfterBulls(days), bulls_in, &[]);
        assert_eq!(of(285), Some(date(2025, 10, 13)));
        assert_eq!(of(283), Some(date(2025, 10, 11)));
    }

    #[test]
    fn twins_count_as_two_of_all_calves_born() {
        // facts.md A-10.
        let first = date(2026, 3, 1);
        let twins = Calving { calves: 2, ..cow(first) };
        let spread = spread(first, &[twins, cow(after(first, 30))]);
        assert_eq!(spread.share(0).unwrap().percent(), "66.7 %");
        assert_eq!(spread.share_by(1).unwrap().percent(), "100 %");
    }
}
