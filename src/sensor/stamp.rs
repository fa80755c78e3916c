//! The time a message carries, or the age of a sample, in the ways devices write them.
//!
//! A time that no set clock can show is refused: a device that lost its battery counts from 1970
//! or 2000, and a deadline must not start there.

use serde_json::Value;

use super::value;
use crate::config::sensors::TimeForm;
use crate::plain::moment::{Moment, Span};

/// Clocks that were never set start in 1970, 1980 or 2000 (common practice, no source).
const SET_FROM: Moment = Moment::from_seconds(978_307_200); // 2001-01-01T00:00:00Z

/// The last second that RFC 3339 can write.
const WRITTEN_TO: Moment = Moment::from_seconds(253_402_300_799); // 9999-12-31T23:59:59Z

/// Nothing is kept so long that an older sample could matter, and a counter that ran over looks so.
const AGO_MAX: Span = Span::days(366);

/// A time; an age counts back from `base`.
pub(super) fn read(value: &Value, form: TimeForm, base: Moment) -> Result<Moment, String> {
    match form {
        TimeForm::AgoSeconds => ago(value, "seconds", 1000).map(|ago| base - ago),
        TimeForm::AgoMillis => ago(value, "milliseconds", 1).map(|ago| base - ago),
        TimeForm::UnixSeconds => unix(value, "seconds", 1000),
        TimeForm::UnixMillis => unix(value, "milliseconds", 1),
        TimeForm::Rfc3339 => match value {
            Value::String(text) => Moment::from_rfc3339(text.trim_ascii())
                .ok_or_else(|| format!("{} is not an RFC 3339 time", value::sample(text))),
            Value::Null
            | Value::Bool(_)
            | Value::Number(_)
            | Value::Array(_)
            | Value::Object(_) => Err("the time is not an RFC 3339 text".to_owned()),
        },
    }
    .and_then(sensible)
}

fn unix(value: &Value, units: &str, millis: i64) -> Result<Moment, String> {
    // Whole numbers are taken as such: no fraction of a second can creep in.
    if let Some(whole) = value.as_i64() {
        return Ok(Moment::from_millis(whole.saturating_mul(millis)));
    }
    let number = match value {
        Value::Number(number) => number.as_f64(),
        Value::String(text) => value::number(text.trim_ascii()),
        Value::Null | Value::Bool(_) | Value::Array(_) | Value::Object(_) => None,
    };
    match number {
        // A cast from a float saturates: the far past stays past, the far future future.
        Some(number) => Ok(Moment::from_millis((number * millis as f64).round() as i64)),
        None => Err(match value.as_str() {
            Some(text) => format!("{} is not {units} since 1970", value::sample(text)),
            None => format!("the time is not {units} since 1970"),
        }),
    }
}

fn ago(value: &Value, units: &str, millis: i64) -> Result<Span, String> {
    let number = match value {
        Value::Number(number) => number.as_f64(),
        Value::String(text) => value::number(text.trim_ascii()),
        Value::Null | Value::Bool(_) | Value::Array(_) | Value::Object(_) => None,
    };
    let Some(number) = number else {
        return Err(match value.as_str() {
            Some(text) => format!("{} is not so many {units} ago", value::sample(text)),
            None => format!("its age is not a number of {units}"),
        });
    };
    let ago = (number * millis as f64).round();
    if !(0.0..=AGO_MAX.millis() as f64).contains(&ago) {
        return Err(format!("an age of {number} {units} is less than nothing or over a year"));
    }
    Ok(Span::from_millis(ago as i64))
}

fn sensible(at: Moment) -> Result<Moment, String> {
    if at < SET_FROM {
        Err(format!(
            "the time it carries is {}: its clock was never set, or the settings read it wrongly",
            at.rfc3339()
        ))
    } else if at > WRITTEN_TO {
        Err("the time it carries is after the year 9999: the settings read it wrongly".to_owned())
    } else {
        Ok(at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_time_is_read_in_the_form_the_settings_name() {
        for (value, form, millis) in [
            (json!(1_795_572_300), TimeForm::UnixSeconds, 1_795_572_300_000),
            (json!(1_795_572_300.25), TimeForm::UnixSeconds, 1_795_572_300_250),
            (json!("1795572300"), TimeForm::UnixSeconds, 1_795_572_300_000),
            (json!(1_795_572_300_001_i64), TimeForm::UnixMillis, 1_795_572_300_001),
            (json!("2026-11-25T02:05:00Z"), TimeForm::Rfc3339, 1_795_572_300_000),
            (json!("2026-11-25T02:05:00.5Z"), TimeForm::Rfc3339, 1_795_572_300_500),
            (json!("2026-11-24T19:05:00-07:00"), TimeForm::Rfc3339, 1_795_572_300_000),
        ] {
            assert_eq!(read(&value, form, BASE), Ok(Moment::from_millis(millis)), "{value}");
        }
    }

    #[test]
    fn a_leap_second_is_the_same_instant_in_every_offset() {
        // RFC 3339 sections 5.7 and 5.8: 1990-12-31T23:59:60Z is 1990-12-31T15:59:60-08:00. Before
        // our first sensible time, so the parse alone is compared.
        let utc = Moment::from_rfc3339("1990-12-31T23:59:60Z");
        assert!(utc.is_some());
        assert_eq!(utc, Moment::from_rfc3339("1990-12-31T15:59:60-08:00"));
    }

    #[test]
    fn a_time_that_makes_no_sense_says_why() {
        for (value, form, why) in [
            (
                json!("25.11.2026 02:05"),
                TimeForm::Rfc3339,
                "\"25.11.2026 02:05\" is not an RFC 3339 time",
            ),
            (
                json!("2026-11-25T02:05:00"),
                TimeForm::Rfc3339,
                "\"2026-11-25T02:05:00\" is not an RFC 3339 time",
            ),
            (json!(1_795_572_300), TimeForm::Rfc3339, "the time is not an RFC 3339 text"),
            (json!(true), TimeForm::UnixSeconds, "the time is not seconds since 1970"),
            (
                json!("1795572300s"),
                TimeForm::UnixMillis,
                "\"1795572300s\" is not milliseconds since 1970",
            ),
            (
                json!(1_795_572_300),
                TimeForm::UnixMillis,
                "the time it carries is 1970-01-21T18:46:12Z: its clock was never set, or the settings read it wrongly",
            ),
            (
                json!(946_684_800),
                TimeForm::UnixSeconds,
                "the time it carries is 2000-01-01T00:00:00Z: its clock was never set, or the settings read it wrongly",
            ),
            (
                json!(-1),
                TimeForm::UnixSeconds,
                "the time it carries is 1969-12-31T23:59:59Z: its clock was never set, or the settings read it wrongly",
            ),
            (
                json!(i64::MIN),
                TimeForm::UnixSeconds,
                "the time it carries is -9223372036854775808 ms: its clock was never set, or the settings read it wrongly",
            ),
            (json!(i64::MAX), TimeForm::UnixSeconds, LATE),
            (json!(u64::MAX), TimeForm::UnixMillis, LATE),
            (json!("1e300"), TimeForm::UnixMillis, LATE),
            (json!(1_795_572_300_000_i64), TimeForm::UnixSeconds, LATE),
        ] {
            assert_eq!(read(&value, form, BASE), Err(why.to_owned()), "{value}");
        }
    }

    #[test]
    fn an_age_counts_back_from_the_messages_own_time() {
        for (value, form, expected) in [
            (json!(90), TimeForm::AgoSeconds, Some(90_000)),
            (json!("1.5"), TimeForm::AgoSeconds, Some(1500)),
            (json!(250), TimeForm::AgoMillis, Some(250)),
            (json!(0), TimeForm::AgoSeconds, Some(0)),
            (json!(-1), TimeForm::AgoSeconds, None),
            (json!(4_294_967_295_u32), TimeForm::AgoSeconds, None),
            (json!("soon"), TimeForm::AgoSeconds, None),
            (json!(null), TimeForm::AgoSeconds, None),
        ] {
            let at = expected.map(|ago| BASE - Span::from_millis(ago));
            assert_eq!(read(&value, form, BASE).ok(), at, "{value}");
        }
    }

    const BASE: Moment = Moment::from_seconds(1_795_572_300);

    const LATE: &str = "the time it carries is after the year 9999: the settings read it wrongly";
}
