//! The arithmetic of a calving book: weights, ages, intervals and shares, in whole numbers and fractions.
//!
//! It rounds once, at the end, half up, and says in what unit. It fills nothing in: a missing figure has
//! no result.

use std::fmt;

use jiff::civil::Date;

use crate::config::history::Sex;

/// A weight in hundred-thousandths of a gram: whole for grams and, exactly, for pounds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Weight(i64);

/// The international pound of 1959 is 0.45359237 kg exactly (NIST Handbook 44, appendix C).
const POUND: i64 = 45_359_237;
const GRAM: i64 = 100_000;
const KILOGRAM: i64 = 1000 * GRAM;

/// Nothing on a farm weighs more; beyond it a figure is no weight.
const KILOGRAMS_MAX: i64 = 5_000;

impl Weight {
    pub const fn pounds(pounds: i64) -> Self {
        Self(pounds * POUND)
    }

    pub const fn kilograms(kilograms: i64) -> Self {
        Self(kilograms * KILOGRAM)
    }

    /// A figure with at most three decimals, in kilograms or, where it says so, in pounds.
    pub fn read(figure: &str, in_pounds: bool) -> Option<Self> {
        let (whole, decimals) = figure.split_once(['.', ',']).unwrap_or((figure, ""));
        let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        if whole.is_empty() || !digits(whole) || !digits(decimals) || decimals.len() > 3 {
            return None;
        }
        let whole: i64 = whole.parse().ok().filter(|whole| *whole <= KILOGRAMS_MAX)?;
        let thousandths: i64 = format!("{decimals:0<3}").parse().ok()?;
        let unit = if in_pounds { POUND } else { KILOGRAM };
        Some(Self(whole * unit + divided(thousandths * unit, 1000)))
    }

    pub const fn grams(self) -> i64 {
        self.0 / GRAM
    }

    /// In kilograms with one decimal, half up.
    pub fn in_kilograms(self) -> String {
        tenths(divided(self.0 * 10, KILOGRAM))
    }

    /// In pounds with one decimal, half up.
    pub fn in_pounds(self) -> String {
        tenths(divided(self.0 * 10, POUND))
    }

    fn plus(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

/// Half up, away from nothing: 2.5 is 3, -2.5 is -2.
fn divided(top: i64, bottom: i64) -> i64 {
    (2 * top + bottom).div_euclid(2 * bottom)
}

fn tenths(tenths: i64) -> String {
    let sign = if tenths < 0 { "-" } else { "" };
    let tenths = tenths.abs();
    match tenths % 10 {
        0 => format!("{sign}{}", tenths / 10),
        rest => format!("{sign}{}.{rest}", tenths / 10),
    }
}

/// Age of the dam in whole years at the calving, as the tables group it; a younger one counts as two.
pub fn dam_years(born: Date, calved: Date) -> Option<u16> {
    if calved < born {
        return None;
    }
    let years = calved.year() - born.year();
    let had = (calved.month(), calved.day()) >= (born.month(), born.day());
    u16::try_from(years - i16::from(!had)).ok().map(|years| years.max(2))
}

/// What a birth weight is corrected by for the age of the dam (facts.md E-10, additive, for both sexes).
pub fn adjusted_birth_weight(weight: Weight, dam_years: u16) -> Weight {
    let pounds = match dam_years {
        0..=2 => 8,
        3 => 5,
        4 => 2,
        5..=10 => 0,
        11.. => 3,
    };
    weight.plus(Weight::pounds(pounds))
}

/// What a weaning weight is corrected by for the age of the dam (facts.md E-11). It waits for weaning weights: the
/// watch hears none, and no page prints it yet.
pub fn weaning_adjustment(sex: Sex, dam_years: u16) -> Weight {
    let pounds = match (sex, dam_years) {
        (Sex::Bull, 0..=2) => 60,
        (Sex::Heifer, 0..=2) => 54,
        (Sex::Bull, 3) => 40,
        (Sex::Heifer, 3) => 36,
        (Sex::Bull, 4 | 11..) => 20,
        (Sex::Heifer, 4 | 11..) => 18,
        (Sex::Bull | Sex::Heifer, 5..=10) => 0,
    };
    Weight::pounds(pounds)
}

/// The ages at weaning for which the 205-day weight is defined (facts.md E-13).
const WEANED: std::ops::RangeInclusive<i32> = 160..=250;

/// The weight at 205 days: (weaning - birth) ÷ age × 205 + birth + adjustment (facts.md E-13). The gain is
/// divided by the age *before* anything is added; a page that prints it in another order is not followed. It waits
/// for the day and weight of weaning, which no mark tells yet.
pub fn weight_at_205_days(
    weaning: Weight,
    birth: Weight,
    age: i32,
    adjustment: Weight,
) -> Result<Weight, String> {
    if !WEANED.contains(&age) {
        let (least, most) = (WEANED.start(), WEANED.end());
        return Err(format!("weaned at {age} days; it is defined for {least} to {most} days"));
    }
    let gain = divided((weaning.0 - birth.0) * 205, i64::from(age));
    Ok(Weight(gain).plus(birth).plus(adjustment))
}

/// Days elapsed: a calf is 0 days old on the day it is born (facts.md A-15).
pub fn age_in_days(born: Date, on: Date) -> i32 {
    crate::herd::impossible::days(born, on)
}

/// A fraction, kept whole until it is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ratio {
    pub top: i64,
    pub bottom: i64,
}

impl Ratio {
    /// `None` of nothing.
    pub fn of(top: impl TryInto<i64>, bottom: impl TryInto<i64>) -> Option<Self> {
        let (top, bottom) = (top.try_into().ok()?, bottom.try_into().ok()?);
        (bottom > 0).then_some(Self { top, bottom })
    }

    /// As a percentage with one decimal, half up.
    pub fn percent(self) -> String {
        format!("{} %", tenths(divided(self.top * 1000, self.bottom)))
    }

    /// As a percentage, in tenths, half up.
    pub fn permille(self) -> i64 {
        divided(self.top * 1000, self.bottom)
    }
}

impl fmt::Display for Ratio {
    /// As a number with one decimal, half up.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&tenths(divided(self.top * 10, self.bottom)))
    }
}

/// The days between calvings, the oldest first (facts.md A-01).
pub fn intervals(calvings: &[Date]) -> Vec<i32> {
    let pairs = calvings.windows(2);
    pairs.filter_map(|pair| Some(age_in_days(*pair.first()?, *pair.last()?))).collect()
}

/// A dam's mean interval over her life: from the first calving to the last, divided by the intervals
/// between, one fewer than the calvings (facts.md A-02; the rule printed elsewhere divides by the calvings
/// themselves, which halves the interval of a cow that has calved twice).
pub fn mean_interval(calvings: &[Date]) -> Option<Ratio> {
    let whole = age_in_days(*calvings.first()?, *calvings.last()?);
    Ratio::of(whole, calvings.len() - 1)
}

/// The herd's calving index: the sum of every cow's last interval, divided by the cows (facts.md A-03).
pub fn herd_index(last_intervals: &[i32]) -> Option<Ratio> {
    Ratio::of(last_intervals.iter().map(|days| i64::from(*days)).sum::<i64>(), last_intervals.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn birth_weights_are_adjusted_by_the_age_of_the_dam() {
        // facts.md E-10 (guidelines of the federation of beef breeders): +8, +5, +2, 0, +3 lb.
        for (years, pounds) in [(2, "88"), (3, "85"), (4, "82"), (5, "80"), (10, "80"), (11, "83")]
        {
            let adjusted = adjusted_birth_weight(Weight::pounds(80), years);
            assert_eq!(adjusted.in_pounds(), pounds, "{years}");
        }
        // The same in kilograms: 36 + 8 × 0.45359237 = 39.62873896.
        assert_eq!(adjusted_birth_weight(Weight::kilograms(36), 2).in_kilograms(), "39.6");
    }

    #[test]
    fn weaning_weights_are_adjusted_by_sex_and_age_of_dam() {
        // facts.md E-11 (the same guidelines): male / female.
        for (years, male, female) in
            [(2, 60, 54), (3, 40, 36), (4, 20, 18), (5, 0, 0), (10, 0, 0), (11, 20, 18)]
        {
            assert_eq!(weaning_adjustment(Sex::Bull, years), Weight::pounds(male), "{years}");
            assert_eq!(weaning_adjustment(Sex::Heifer, years), Weight::pounds(female), "{years}");
        }
    }

    #[test]
    fn the_weight_at_205_days_divides_the_gain_by_the_age_first() {
        // facts.md E-13: ((600 - 80) ÷ 200) × 205 + 80 + 0 = 613 lb, computed by hand.
        let at = |age| {
            weight_at_205_days(Weight::pounds(600), Weight::pounds(80), age, Weight::default())
        };
        let weight = at(200).unwrap();
        assert_eq!(weight.in_pounds(), "613");
        // Read garbled: 600 - (80 ÷ 200) × 205 + 80 = 598; or 205 × 520 ÷ (200 + 80) = 380.7.
        assert!(!["598", "380.7"].contains(&weight.in_pounds().as_str()));
        // With a two-year-old dam's bull calf: + 60 (E-11).
        let bull = weaning_adjustment(Sex::Bull, 2);
        let with = weight_at_205_days(Weight::pounds(600), Weight::pounds(80), 200, bull).unwrap();
        assert_eq!(with.in_pounds(), "673");
        assert!(at(159).is_err() && at(160).is_ok() && at(250).is_ok() && at(251).is_err());
    }

    #[test]
    fn days_are_elapsed_and_a_leap_day_counts_where_it_lies_between() {
        // facts.md D-02, D-03, D-04 and A-15 (an extension service's worked examples, 1995 and 1996).
        assert_eq!(age_in_days(date(1995, 5, 27), date(1996, 3, 5)), 283);
        assert_eq!(age_in_days(date(1995, 11, 15), date(1996, 7, 1)), 229);
        assert_eq!(age_in_days(date(1995, 1, 25), date(1996, 3, 5)), 405);
        assert_eq!(age_in_days(date(1996, 3, 5), date(1996, 3, 5)), 0);
    }

    #[test]
    fn a_mean_interval_is_divided_by_the_intervals_and_not_by_the_calvings() {
        // facts.md A-02 with D-04's two calvings: 405 days, never 202.5.
        let twice = [date(1995, 1, 25), date(1996, 3, 5)];
        assert_eq!(mean_interval(&twice).unwrap().to_string(), "405");
        let thrice = [twice[0], twice[1], date(1997, 3, 5)];
        assert_eq!(intervals(&thrice), [405, 365]);
        assert_eq!(mean_interval(&thrice).unwrap().to_string(), "385");
        assert_eq!(mean_interval(&twice[..1]), None);
        assert_eq!(mean_interval(&[]), None);
        // facts.md A-03: sum ÷ cows.
        assert_eq!(herd_index(&[405, 365, 370]).unwrap().to_string(), "380");
    }

    #[test]
    fn a_weight_is_read_as_it_is_said() {
        assert_eq!(Weight::read("38", false), Some(Weight::kilograms(38)));
        assert_eq!(Weight::read("38,5", false).unwrap().grams(), 38_500);
        assert_eq!(Weight::read("85", true), Some(Weight::pounds(85)));
        // 85 lb = 38.55535145 kg (NIST Handbook 44).
        assert_eq!(Weight::pounds(85).in_kilograms(), "38.6");
        assert_eq!(Weight::pounds(85).in_pounds(), "85");
        for text in ["", "-3", "3.", "kg", "1e3", "38.1234", "99999999999999999999"] {
            let read = Weight::read(text, false);
            assert!(read.is_none() || text == "3.", "{text}");
        }
    }

    #[test]
    fn a_dam_is_as_old_as_her_last_birthday() {
        assert_eq!(dam_years(date(2020, 3, 2), date(2026, 3, 1)), Some(5));
        assert_eq!(dam_years(date(2020, 3, 2), date(2026, 3, 2)), Some(6));
        assert_eq!(dam_years(date(2025, 1, 1), date(2026, 11, 1)), Some(2), "counts as two");
        assert_eq!(dam_years(date(2026, 1, 1), date(2025, 1, 1)), None);
    }
}
