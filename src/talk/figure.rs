//! Figures as people type them: a time of day, a length of time, an amount, a temperature.
//!
//! It reads one figure at a time and says what it could be; what it is, the words around it decide.

use super::words::{self, Words};

/// A promise longer than this is no promise for tonight.
pub(super) const PROMISE_MOST: u32 = 120;
/// An alert's number has at most this many digits.
const ALERT_DIGITS_MOST: usize = 9;
/// A dam's temperature in tenths of a degree Celsius, with room for a very ill one (common practice,
/// no source); outside it is a slip of the thumb.
const TENTHS_CELSIUS: std::ops::RangeInclusive<u32> = 340..=430;
const TENTHS_FAHRENHEIT: std::ops::RangeInclusive<u32> = 930..=1100;

/// Hour and minute.
pub(super) type ClockTime = (i8, i8);

/// "02:10", "2.10", "2:10am", "2am", "0210h": a time and nothing else.
pub(super) fn sure_clock(word: &str) -> Option<ClockTime> {
    if !word.is_ascii() {
        return None;
    }
    let (figures, half) = without_half(word);
    match figures.find([':', '.', 'h']) {
        Some(at) => {
            let (hour, minute) = (&figures[..at], &figures[at + 1..]);
            let shaped = (1..=2).contains(&hour.len()) && minute.len() == 2;
            if shaped { clock(hour, minute, half) } else { None }
        }
        None if half == Half::Unsaid => None,
        None if half == Half::Day && figures.len() != 4 => None,
        None => match figures.len() {
            1 | 2 => clock(figures, "0", half),
            3 | 4 => clock(&figures[..figures.len() - 2], &figures[figures.len() - 2..], half),
            _ => None,
        },
    }
}

/// "0210": a time, unless it is an animal.
pub(super) fn bare_clock(word: &str) -> Option<ClockTime> {
    let four = word.len() == 4 && word.bytes().all(|b| b.is_ascii_digit());
    if four { clock(&word[..2], &word[2..], Half::Unsaid) } else { None }
}

/// After "at", three figures will do: "at 210".
pub(super) fn clock_after_at(word: &str) -> Option<ClockTime> {
    let three = word.len() == 3 && word.bytes().all(|b| b.is_ascii_digit());
    let three = if three { clock(&word[..1], &word[1..], Half::Unsaid) } else { None };
    three.or_else(|| sure_clock(word)).or_else(|| bare_clock(word))
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Half {
    Unsaid,
    /// "h", "hrs": the day is counted through.
    Day,
    Morning,
    Afternoon,
}

fn without_half(word: &str) -> (&str, Half) {
    for (ending, half) in
        [("am", Half::Morning), ("pm", Half::Afternoon), ("hrs", Half::Day), ("h", Half::Day)]
    {
        if let Some(figures) = word.strip_suffix(ending) {
            return (figures, half);
        }
    }
    (word, Half::Unsaid)
}

fn clock(hour: &str, minute: &str, half: Half) -> Option<ClockTime> {
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if !digits(hour) || !digits(minute) {
        return None;
    }
    let (hour, minute): (i8, i8) = (hour.parse().ok()?, minute.parse().ok()?);
    let hour = match half {
        Half::Unsaid | Half::Day => hour,
        Half::Morning | Half::Afternoon if !(1..=12).contains(&hour) => return None,
        Half::Morning => hour % 12,
        Half::Afternoon => hour % 12 + 12,
    };
    ((0..=23).contains(&hour) && (0..=59).contains(&minute)).then_some((hour, minute))
}

/// How many minutes the words begin with, whether a unit was said, and how many words it takes.
pub(super) fn minutes(plain: &[&str], words: &Words) -> Option<(u32, bool, usize)> {
    let (count, used) = match words::longest(words.lengths, plain) {
        Some((count, used)) if count >= 30 && used > 1 => return Some((count, true, used)),
        Some((count, used)) => (count, used),
        None => {
            let first = plain.first()?;
            let split = first.find(|c: char| !c.is_ascii_digit()).unwrap_or(first.len());
            let (figures, unit) = first.split_at(split);
            let count = whole(figures)?;
            if words::has(words.minutes, unit) {
                return Some((count, true, 1));
            }
            if words::has(words.hours, unit) {
                return Some((count.checked_mul(60)?, true, 1));
            }
            if !unit.is_empty() {
                return None;
            }
            (count, 1)
        }
    };
    match plain.get(used) {
        Some(unit) if words::has(words.minutes, unit) => Some((count, true, used + 1)),
        Some(unit) if words::has(words.hours, unit) => {
            Some((count.checked_mul(60)?, true, used + 1))
        }
        Some(_) | None => Some((count, false, used)),
    }
}

/// A plain number without leading zeros.
fn whole(figures: &str) -> Option<u32> {
    let plain = !figures.starts_with('0') && figures.bytes().all(|b| b.is_ascii_digit());
    if plain { figures.parse().ok() } else { None }
}

/// "1": an alert's number.
pub(super) fn alert_number(word: &str) -> Option<u64> {
    let short = word.len() <= ALERT_DIGITS_MOST;
    if short { whole(word).map(u64::from) } else { None }
}

/// "2l", "2.5": an amount as said, and whether it carries its unit.
pub(super) fn amount(word: &str, words: &Words) -> Option<(String, bool)> {
    let split =
        word.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(word.len());
    let (figures, unit) = word.split_at(split);
    let tenths = tenths(figures)?;
    let known = unit.is_empty() || words::has(words.litres, unit);
    // Nobody gives a calf more than ten litres at once (common practice, no source).
    (known && (1..=100).contains(&tenths)).then(|| (figures.replace(',', "."), !unit.is_empty()))
}

/// A calf's temperature in tenths of a degree: a chilled one may be far below any dam (facts.md C-15: under
/// 30 it looks dead), and none is warmer than its dam (common practice, no source).
const TENTHS_OF_CALF: std::ops::RangeInclusive<u32> = 200..=430;
const TENTHS_OF_CALF_FAHRENHEIT: std::ops::RangeInclusive<u32> = 680..=1100;

/// The same of a calf.
pub(super) fn calf_temperature(word: &str) -> Option<String> {
    temperature_within(word, TENTHS_OF_CALF, TENTHS_OF_CALF_FAHRENHEIT)
}

/// "38", "38.5", "38,5": as typed with a point, and in tenths.
pub(super) fn whole_or_tenth(word: &str) -> Option<(String, u32)> {
    tenths(word).map(|tenths| (word.replace(',', "."), tenths))
}

/// "39.8", "39,8", "39", "102.5f": in degrees Celsius, as text with a point.
pub(super) fn temperature(word: &str) -> Option<String> {
    temperature_within(word, TENTHS_CELSIUS, TENTHS_FAHRENHEIT)
}

fn temperature_within(
    word: &str,
    celsius: std::ops::RangeInclusive<u32>,
    fahrenheit: std::ops::RangeInclusive<u32>,
) -> Option<String> {
    let (figures, unit) = match word.strip_suffix(['c', 'f']) {
        Some(figures) => (figures, word.chars().last()),
        None => (word, None),
    };
    let tenths = tenths(figures)?;
    let read = match unit {
        Some('f') | None if fahrenheit.contains(&tenths) => ((tenths - 320) * 5 + 4) / 9,
        Some('c') | None if celsius.contains(&tenths) => tenths,
        Some(_) | None => return None,
    };
    Some(format!("{}.{}", read / 10, read % 10))
}

fn tenths(figures: &str) -> Option<u32> {
    let (whole, part) = figures.split_once(['.', ',']).unwrap_or((figures, "0"));
    let shaped = (1..=3).contains(&whole.len()) && part.len() == 1;
    let digits = whole.bytes().chain(part.bytes()).all(|b| b.is_ascii_digit());
    if !shaped || !digits {
        return None;
    }
    Some(whole.parse::<u32>().ok()? * 10 + part.parse::<u32>().ok()?)
}

#[cfg(test)]
mod tests {
    use super::super::tongue::ENGLISH;
    use super::*;

    #[test]
    fn times_are_read_in_every_usual_form() {
        for (word, time) in [
            ("02:10", Some((2, 10))),
            ("2:10", Some((2, 10))),
            ("2.10", Some((2, 10))),
            ("2h10", Some((2, 10))),
            ("0210h", Some((2, 10))),
            ("2:10am", Some((2, 10))),
            ("210am", Some((2, 10))),
            ("2am", Some((2, 0))),
            ("12am", Some((0, 0))),
            ("12:05am", Some((0, 5))),
            ("12pm", Some((12, 0))),
            ("9.30pm", Some((21, 30))),
            ("13pm", None),
            ("24:00", None),
            ("02:60", None),
            ("39.8", None),
            ("39.80", None),
            ("0210", None),
            ("20h", None),
            ("am", None),
            ("h", None),
            ("1.5", None),
        ] {
            assert_eq!(sure_clock(word), time, "{word}");
        }
        assert_eq!(bare_clock("0210"), Some((2, 10)));
        assert_eq!(bare_clock("2460"), None);
        assert_eq!(bare_clock("114"), None);
        assert_eq!(clock_after_at("210"), Some((2, 10)));
    }

    #[test]
    fn lengths_of_time_are_read_with_or_without_a_unit() {
        for (said, read) in [
            ("20", Some((20, false, 1))),
            ("20min", Some((20, true, 1))),
            ("20 mins", Some((20, true, 2))),
            ("1 hour", Some((60, true, 2))),
            ("2h", Some((120, true, 1))),
            ("half an hour", Some((30, true, 3))),
            ("ten minutes", Some((10, true, 2))),
            ("020", None),
            ("20x", None),
            ("going", None),
            ("4294967295 hours", None),
        ] {
            let plain: Vec<&str> = said.split(' ').collect();
            assert_eq!(minutes(&plain, &ENGLISH), read, "{said}");
        }
    }

    #[test]
    fn temperatures_come_out_in_celsius() {
        for (word, read) in [
            ("39.8", Some("39.8")),
            ("39,8", Some("39.8")),
            ("39", Some("39.0")),
            ("39.8c", Some("39.8")),
            // By definition: C = (F - 32) * 5/9.
            ("102.2", Some("39.0")),
            ("104f", Some("40.0")),
            ("398", None),
            ("3.98", None),
            ("20", None),
            ("", None),
        ] {
            assert_eq!(temperature(word).as_deref(), read, "{word}");
        }
    }
}
