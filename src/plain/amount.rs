//! A measured amount as whole thousandths, so that the same journal gives the same state everywhere.
//!
//! It knows no unit: a sign's amounts are all in that sign's own.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Thousandths of a unit.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Amount(i64);

/// Beyond this no thousandth of a double is whole any more (IEEE 754: 53 bits of it count).
const MOST: f64 = 9_007_199_254_740_991.0;

impl Amount {
    pub const fn thousandths(n: i64) -> Self {
        Self(n)
    }

    /// So many thousandths more.
    pub const fn plus(self, thousandths: i64) -> Self {
        Self(self.0.saturating_add(thousandths))
    }

    /// The nearest thousandth; what is no number, or too large a one, is no amount.
    pub fn of(value: f64) -> Option<Self> {
        let thousandths = (value * 1000.0).round();
        // Whole by now and within range, so nothing is lost.
        (thousandths.abs() <= MOST).then_some(Self(thousandths as i64))
    }
}

impl Amount {
    /// How much more this is than the other.
    pub fn less(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }

    /// The mean, to the nearest thousandth, halves up; of nothing there is none.
    pub fn mean(amounts: &[Self]) -> Option<Self> {
        let n = i128::try_from(amounts.len()).ok().filter(|n| *n > 0)?;
        let sum: i128 = amounts.iter().map(|amount| i128::from(amount.0)).sum();
        let mean = (2 * sum + n).div_euclid(2 * n);
        i64::try_from(mean).ok().map(Self)
    }
}

impl fmt::Display for Amount {
    /// As few decimals as say it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, rest) = (self.0.unsigned_abs() / 1000, self.0.unsigned_abs() % 1000);
        if rest == 0 {
            return write!(f, "{sign}{whole}");
        }
        let decimals = format!("{rest:03}");
        write!(f, "{sign}{whole}.{}", decimals.trim_end_matches('0'))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_amount_prints_as_it_was_measured() {
        for (value, text) in [
            (40.2, "40.2"),
            (39.0, "39"),
            (-0.05, "-0.05"),
            (0.0, "0"),
            (0.000_4, "0"),
            (38.123_6, "38.124"),
            (-127.0, "-127"),
        ] {
            assert_eq!(Amount::of(value).map(|amount| amount.to_string()), Some(text.to_owned()));
        }
    }

    #[test]
    fn a_mean_is_whole_and_the_same_on_both_sides_of_nought() {
        let mean = |of: &[i64]| {
            let amounts: Vec<Amount> = of.iter().copied().map(Amount::thousandths).collect();
            Amount::mean(&amounts)
        };
        assert_eq!(mean(&[]), None);
        assert_eq!(mean(&[1, 2]), Some(Amount::thousandths(2)), "a half goes up");
        assert_eq!(mean(&[-1, -2]), Some(Amount::thousandths(-1)));
        assert_eq!(mean(&[1, 1, 2]), Some(Amount::thousandths(1)));
        assert_eq!(mean(&[i64::MAX, i64::MAX]), Some(Amount::thousandths(i64::MAX)));
    }

    #[test]
    fn what_is_no_number_is_no_amount() {
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300] {
            assert_eq!(Amount::of(value), None, "{value}");
        }
    }
}
