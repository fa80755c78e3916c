//! A moment is an instant in UTC; a span is a length of time. Both count whole milliseconds.
//!
//! Integers, so that the same journal gives the same state on every machine, and UTC, so that a
//! twelve-hour deadline set before a clock change is still twelve hours. It never asks what time
//! it is.

use std::fmt;
use std::ops::{Add, AddAssign, Sub};

use serde::{Deserialize, Serialize};

/// An instant: milliseconds since 1970-01-01T00:00:00Z.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Moment(i64);

/// A length of time in milliseconds; may be negative.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Span(i64);

impl Moment {
    pub const fn from_millis(millis: i64) -> Self {
        Self(millis)
    }

    pub const fn from_seconds(seconds: i64) -> Self {
        Self(seconds * 1000)
    }

    pub const fn millis(self) -> i64 {
        self.0
    }

    /// Whole seconds since 1970, rounded down.
    pub const fn seconds(self) -> i64 {
        self.0.div_euclid(1000)
    }

    /// How long after `earlier` this is; negative if it is before.
    pub const fn since(self, earlier: Self) -> Span {
        Span(self.0.saturating_sub(earlier.0))
    }

    /// Reads an RFC 3339 instant such as `2026-11-25T02:05:00Z`.
    pub fn from_rfc3339(text: &str) -> Option<Self> {
        text.parse::<jiff::Timestamp>().ok().map(|t| Self(t.as_millisecond()))
    }

    /// RFC 3339 in UTC with whole seconds.
    pub fn rfc3339(self) -> String {
        jiff::Timestamp::from_second(self.seconds())
            .map_or_else(|_| format!("{} ms", self.0), |t| t.to_string())
    }
}

impl Span {
    pub const ZERO: Self = Self(0);

    pub const fn from_millis(millis: i64) -> Self {
        Self(millis)
    }

    pub const fn seconds(seconds: i64) -> Self {
        Self(seconds * 1000)
    }

    pub const fn minutes(minutes: i64) -> Self {
        Self(minutes * 60_000)
    }

    pub const fn hours(hours: i64) -> Self {
        Self(hours * 3_600_000)
    }

    pub const fn days(days: i64) -> Self {
        Self(days * 86_400_000)
    }

    pub const fn millis(self) -> i64 {
        self.0
    }

    pub const fn whole_seconds(self) -> i64 {
        self.0.div_euclid(1000)
    }

    pub const fn whole_minutes(self) -> i64 {
        self.0.div_euclid(60_000)
    }

    pub const fn is_positive(self) -> bool {
        self.0 > 0
    }

    /// Reads the settings' way of writing a span: `90s`, `45m`, `12h`, `10d`; `None` if it is not one.
    pub fn parse(text: &str) -> Option<Self> {
        let unit = text.chars().last()?;
        let number = text.strip_suffix(unit)?;
        if number.is_empty() || !number.bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        let number: i64 = number.parse().ok()?;
        let millis = match unit {
            's' => 1000,
            'm' => 60_000,
            'h' => 3_600_000,
            'd' => 86_400_000,
            _ => return None,
        };
        number.checked_mul(millis).map(Self)
    }
}

impl fmt::Display for Span {
    /// The settings' own notation, in the largest unit that divides it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (unit, millis) in [('d', 86_400_000), ('h', 3_600_000), ('m', 60_000)] {
            if self.0 != 0 && self.0 % millis == 0 {
                return write!(f, "{}{unit}", self.0 / millis);
            }
        }
        write!(f, "{}s", self.0 / 1000)
    }
}

impl Add<Span> for Moment {
    type Output = Self;
    fn add(self, span: Span) -> Self {
        Self(self.0.saturating_add(span.0))
    }
}

impl Sub<Span> for Moment {
    type Output = Self;
    fn sub(self, span: Span) -> Self {
        Self(self.0.saturating_sub(span.0))
    }
}

impl AddAssign<Span> for Moment {
    fn add_assign(&mut self, span: Span) {
        *self = *self + span;
    }
}

impl Add for Span {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_reads_as_the_settings_write_it() {
        assert_eq!(Span::parse("90s"), Some(Span::seconds(90)));
        assert_eq!(Span::parse("45m"), Some(Span::minutes(45)));
        assert_eq!(Span::parse("12h"), Some(Span::hours(12)));
        assert_eq!(Span::parse("10d"), Some(Span::days(10)));
        for wrong in ["", "m", "45", "-5m", "1.5h", "45 m", "45min", "+4h", "99999999999999999d"] {
            assert_eq!(Span::parse(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_span_prints_as_the_settings_write_it() {
        for text in ["90s", "45m", "12h", "10d", "0s"] {
            assert_eq!(Span::parse(text).unwrap().to_string(), text);
        }
        assert_eq!(Span::minutes(60).to_string(), "1h");
    }

    #[test]
    fn an_instant_survives_its_printed_form() {
        let at = Moment::from_rfc3339("2026-11-25T02:05:00Z").unwrap();
        assert_eq!(at.rfc3339(), "2026-11-25T02:05:00Z");
        assert_eq!(at.seconds(), 1_795_572_300);
    }
}
