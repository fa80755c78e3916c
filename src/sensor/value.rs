//! One value of a message as a number, or why it is none.
//!
//! A value is read whole or not at all: "39.5abc" is not 39.5, and "39,5" is not 39. It converts no
//! units.

use serde_json::Value;

use crate::config::sensors::ReadKind;

/// More happenings than this since the last message is a broken counter, not a busy dam: one a
/// second for nearly three hours.
pub const COUNT_MAX: f64 = 10_000.0;

/// How much of a value a refusal shows.
const SAMPLE_MAX: usize = 40;

/// `Ok(None)` if it is one of the values that mean "no reading".
pub(super) fn from_json(
    value: &Value,
    kind: ReadKind,
    none: &[f64],
) -> Result<Option<f64>, String> {
    match value {
        Value::Null => Ok(None),
        Value::Bool(yes) => match kind {
            ReadKind::Flag => Ok(Some(f64::from(u8::from(*yes)))),
            ReadKind::Level | ReadKind::Count => Err(format!("{yes} is not a number")),
        },
        Value::Number(number) => match number.as_f64() {
            Some(number) => fit(number, kind, none),
            None => Err(format!("{number} is not a number this program can hold")),
        },
        Value::String(text) => from_text(text, kind, none),
        Value::Array(_) => Err("a list is not a value".to_owned()),
        Value::Object(_) => Err("a table is not a value".to_owned()),
    }
}

/// Reads a whole text as one value; blanks around it do not count.
pub(super) fn from_text(text: &str, kind: ReadKind, none: &[f64]) -> Result<Option<f64>, String> {
    let text = text.trim_ascii();
    if kind == ReadKind::Flag
        && let Some(yes) = yes_or_no(text)
    {
        return Ok(Some(f64::from(u8::from(yes))));
    }
    match number(text) {
        Some(number) => fit(number, kind, none),
        None => Err(match kind {
            ReadKind::Flag => format!("{} is neither yes nor no", sample(text)),
            ReadKind::Level | ReadKind::Count => format!("{} is not a number", sample(text)),
        }),
    }
}

/// A whole text as a finite number.
pub(super) fn number(text: &str) -> Option<f64> {
    text.parse().ok().filter(|number: &f64| number.is_finite())
}

/// The beginning of a text, quoted, with anything unprintable escaped.
pub(super) fn sample(text: &str) -> String {
    match text.char_indices().nth(SAMPLE_MAX) {
        None => format!("{text:?}"),
        Some((end, _)) => format!("{:?}…", &text[..end]),
    }
}

fn fit(number: f64, kind: ReadKind, none: &[f64]) -> Result<Option<f64>, String> {
    if none.contains(&number) {
        return Ok(None);
    }
    match kind {
        ReadKind::Level => Ok(Some(number)),
        ReadKind::Count if number < 0.0 || number.fract() != 0.0 => {
            Err(format!("{number} is not a count: whole numbers from 0"))
        }
        ReadKind::Count if number > COUNT_MAX => Err(format!(
            "a count of {number} is more than {COUNT_MAX}, which nothing on a farm does between two messages"
        )),
        // Adding zero turns -0 into 0.
        ReadKind::Count => Ok(Some(number + 0.0)),
        ReadKind::Flag if number == 0.0 || number == 1.0 => Ok(Some(number + 0.0)),
        ReadKind::Flag => Err(format!("{number} is neither 1 nor 0")),
    }
}

fn yes_or_no(text: &str) -> Option<bool> {
    let is = |words: [&str; 3]| words.iter().any(|word| text.eq_ignore_ascii_case(word));
    if is(["true", "on", "yes"]) {
        Some(true)
    } else if is(["false", "off", "no"]) {
        Some(false)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_number_is_read_whole_or_not_at_all() {
        // needs.md N57: a decimal comma silently cut, a unit behind the figure.
        for (text, expected) in [
            ("39.5", Some(39.5)),
            (" 39.5\n", Some(39.5)),
            ("3", Some(3.0)),
            ("-1", Some(-1.0)),
            ("1e3", Some(1000.0)),
            ("39.5abc", None),
            ("38.6 C", None),
            ("23,9", None),
            ("1,000", None),
            ("1.234,5", None),
            ("0x10", None),
            ("3 4", None),
            ("", None),
            ("NaN", None),
            ("inf", None),
            ("-infinity", None),
            ("1e999", None),
        ] {
            let read = from_text(text, ReadKind::Level, &[]);
            assert_eq!(read.clone().ok().flatten(), expected, "{text:?}: {read:?}");
            assert_eq!(read.is_err(), expected.is_none(), "{text:?}");
            let in_json = from_json(&json!(text), ReadKind::Level, &[]);
            assert_eq!(in_json, read, "the same text inside JSON");
        }
    }

    #[test]
    fn a_count_is_a_whole_number_within_reason() {
        for (value, expected) in [
            (json!(0), Ok(Some(0.0))),
            (json!("3"), Ok(Some(3.0))),
            (json!(3.0), Ok(Some(3.0))),
            (json!(10_000), Ok(Some(10_000.0))),
            (
                json!(10_001),
                Err(
                    "a count of 10001 is more than 10000, which nothing on a farm does between two messages",
                ),
            ),
            (json!(-1), Err("-1 is not a count: whole numbers from 0")),
            (json!(1.5), Err("1.5 is not a count: whole numbers from 0")),
            (json!(true), Err("true is not a number")),
            (json!([3]), Err("a list is not a value")),
            (json!({}), Err("a table is not a value")),
        ] {
            let read = from_json(&value, ReadKind::Count, &[]);
            assert_eq!(read, expected.map_err(str::to_owned), "{value}");
        }
    }

    #[test]
    fn a_flag_is_yes_or_no_in_the_words_devices_use() {
        for (value, expected) in [
            (json!(true), Some(1.0)),
            (json!(1), Some(1.0)),
            (json!("on"), Some(1.0)),
            (json!("ON"), Some(1.0)),
            (json!("yes"), Some(1.0)),
            (json!("true"), Some(1.0)),
            (json!("1"), Some(1.0)),
            (json!(false), Some(0.0)),
            (json!(0), Some(0.0)),
            (json!("off"), Some(0.0)),
            (json!("No"), Some(0.0)),
            (json!("false"), Some(0.0)),
            (json!(2), None),
            (json!("maybe"), None),
            (json!(""), None),
        ] {
            let read = from_json(&value, ReadKind::Flag, &[]);
            assert_eq!(read.clone().ok().flatten(), expected, "{value}: {read:?}");
            assert_eq!(read.is_err(), expected.is_none(), "{value}");
        }
    }

    #[test]
    fn a_value_that_means_no_reading_is_none_and_no_fault() {
        for value in [json!(-1), json!(255), json!("255"), json!(255.0), json!(null)] {
            for kind in [ReadKind::Level, ReadKind::Count, ReadKind::Flag] {
                assert_eq!(from_json(&value, kind, &[-1.0, 255.0]), Ok(None), "{value}");
            }
        }
    }

    #[test]
    fn a_refusal_shows_the_beginning_of_a_long_value_and_nothing_unprintable() {
        assert_eq!(sample("a\r\nb"), r#""a\r\nb""#);
        assert_eq!(sample(&"é".repeat(60)), format!("\"{}\"…", "é".repeat(SAMPLE_MAX)));
    }
}
