//! A cron line: five fields, and when it next comes true by the farm's own clock.
//!
//! Where the conventions differ, this is what is done here: of the two day fields, if both are restricted, either
//! is enough (POSIX); a field that begins with `*` is not restricted (as Debian's cron has it), so that the month
//! restricts both days; a weekday is 0 to 7, Sunday twice, or a name; a time that the clocks skip comes at the
//! jump; a time that they show twice comes at its first pass alone; what passed while nobody ran is not made up.
//!
//! The library below finds the times of a line; it is shown local time alone, dressed as UTC, because with zones of
//! its own it skips a day or goes back when the clocks change.

use std::collections::BTreeSet;
use std::str::FromStr;

use chrono::{DateTime, Utc};
use cron::Schedule;
use jiff::civil;

use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// The clocks are never turned by more.
const TURN_MAX: Span = Span::hours(3);
/// A line whose next times all lie in one skipped span is asked this often.
const HITS_MAX: usize = 500;

const MONTHS: [&str; 12] =
    ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
const DAYS: [&str; 7] = ["sun", "mon", "tue", "wed", "thu", "fri", "sat"];

/// A line that can be asked.
#[derive(Clone, Debug)]
pub struct Cron {
    text: String,
    /// Any of them: two where either day field is enough.
    any: Vec<Schedule>,
}

impl PartialEq for Cron {
    fn eq(&self, other: &Self) -> bool {
        self.text == other.text
    }
}

impl Eq for Cron {}

/// A field, and what is wrong with it.
type Wrong = String;

impl Cron {
    /// Reads the five fields; else what is wrong.
    pub fn read(text: &str) -> Result<Self, Wrong> {
        let fields: Vec<&str> = text.split_whitespace().collect();
        let [minute, hour, day, month, weekday] = fields[..] else {
            return Err(format!(
                "it has {} fields; there are five: minute, hour, day, month, weekday",
                fields.len()
            ));
        };
        let minutes = numbers(minute, "minute", 0..=59, &[])?;
        let hours = numbers(hour, "hour", 0..=23, &[])?;
        let days = numbers(day, "day", 1..=31, &[])?;
        let months = numbers(month, "month", 1..=12, &MONTHS)?;
        let weekdays: BTreeSet<u32> =
            numbers(weekday, "weekday", 0..=7, &DAYS)?.into_iter().map(|day| day % 7).collect();
        let every_day: BTreeSet<u32> = (1..=31).collect();
        let every_weekday: BTreeSet<u32> = (0..7).collect();
        let restricted = |field: &str| !field.starts_with('*');
        let pairs = if restricted(day) && restricted(weekday) {
            vec![(&days, &every_weekday), (&every_day, &weekdays)]
        } else {
            vec![(&days, &weekdays)]
        };
        let any = pairs.into_iter().map(|(days, weekdays)| {
            // The library counts weekdays from Sunday as 1.
            let weekdays: BTreeSet<u32> = weekdays.iter().map(|day| day + 1).collect();
            let line = format!(
                "0 {} {} {} {} {}",
                list(&minutes),
                list(&hours),
                list(days),
                list(&months),
                list(&weekdays)
            );
            Schedule::from_str(&line).map_err(|_| "it makes no sense".to_owned())
        });
        Ok(Self { text: text.to_owned(), any: any.collect::<Result<_, _>>()? })
    }

    pub fn text(&self) -> &str {
        &self.text
    }

    /// The first time after a moment; `None` if it never comes.
    pub fn next(&self, after: Moment, zone: &Zone) -> Option<Moment> {
        let begin = dressed(zone.wall(after))?;
        self.any
            .iter()
            .filter_map(|schedule| {
                let hits = schedule.after(&begin).take(HITS_MAX);
                hits.map(undressed).map(|wall| zone.instant_or_jump(wall)).find(|at| *at > after)
            })
            .min()
    }

    /// How often it has come in the half-open span after `from` up to `until`.
    pub fn times(&self, from: Moment, until: Moment, zone: &Zone) -> i64 {
        let (mut at, mut times) = (from, 0);
        while let Some(next) = self.next(at, zone).filter(|next| *next <= until) {
            (at, times) = (next, times + 1);
        }
        times
    }
}

/// Local time as if it were UTC, early enough for every turn of the clocks.
fn dressed(wall: civil::DateTime) -> Option<DateTime<Utc>> {
    let moment = Zone::utc().instant(wall) - TURN_MAX;
    DateTime::from_timestamp(moment.seconds(), 0)
}

fn undressed(hit: DateTime<Utc>) -> civil::DateTime {
    Zone::utc().wall(Moment::from_seconds(hit.timestamp()))
}

fn list(numbers: &BTreeSet<u32>) -> String {
    numbers.iter().map(u32::to_string).collect::<Vec<_>>().join(",")
}

/// `*`, `5`, `1-5`, `mon-fri`, with `/2` behind a star or a range, and lists of these.
fn numbers(
    field: &str,
    what: &str,
    range: std::ops::RangeInclusive<u32>,
    names: &[&str],
) -> Result<BTreeSet<u32>, Wrong> {
    let (first, last) = (*range.start(), *range.end());
    let wrong = || format!("{what} cannot be {field}; it goes from {first} to {last}");
    let one = |word: &str| {
        let named = names.iter().position(|name| name.eq_ignore_ascii_case(word));
        let named = named.and_then(|at| u32::try_from(at).ok()).map(|at| at + first.min(1));
        let plain = word.bytes().all(|b| b.is_ascii_digit()).then(|| word.parse().ok()).flatten();
        named.or(plain).filter(|number| range.contains(number)).ok_or_else(wrong)
    };
    let mut found = BTreeSet::new();
    for part in field.split(',') {
        let (span, step) = match part.split_once('/') {
            Some((span, step)) => (span, step.parse::<u32>().map_err(|_| wrong())?),
            None => (part, 1),
        };
        let (from, until) = match span.split_once('-') {
            _ if span == "*" => (first, last),
            Some((from, until)) => (one(from)?, one(until)?),
            None if part.contains('/') => return Err(wrong()),
            None => (one(span)?, one(span)?),
        };
        if step == 0 || from > until {
            return Err(wrong());
        }
        found.extend((from..=until).step_by(usize::try_from(step).unwrap_or(1)));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Moment {
        Moment::from_rfc3339(text).unwrap()
    }

    fn fires(line: &str, zone: &str, from: &str, until: &str) -> Vec<String> {
        let (cron, zone) = (Cron::read(line).unwrap(), Zone::named(zone).unwrap());
        let (mut moment, until) = (at(from), at(until));
        let mut found = Vec::new();
        while let Some(next) = cron.next(moment, &zone).filter(|next| *next < until) {
            assert!(next > moment, "it goes on");
            moment = next;
            found.push(next.rfc3339());
        }
        found
    }

    fn days_of_january(line: &str) -> Vec<u32> {
        let found = fires(line, "UTC", "2026-01-01T00:00:00Z", "2026-02-01T00:00:00Z");
        found.iter().map(|at| at[8..10].parse().unwrap()).collect()
    }

    /// Rows CR-02 and CR-03 of the project's standards notes (POSIX crontab).
    #[test]
    fn of_two_restricted_days_either_is_enough() {
        assert_eq!(days_of_january("30 4 1,15 * 5"), [1, 2, 9, 15, 16, 23, 30]);
        assert_eq!(days_of_january("30 4 1,15 * *"), [1, 15]);
        assert_eq!(days_of_january("30 4 * * 5"), [2, 9, 16, 23, 30]);
        assert_eq!(days_of_january("30 4 * * fri"), [2, 9, 16, 23, 30]);
    }

    /// Row CR-04: read literally POSIX would have every Friday of the year; here the month restricts both days.
    #[test]
    fn the_month_restricts_the_weekday_too() {
        let found = fires("0 0 * 2 5", "UTC", "2026-01-01T00:00:00Z", "2027-01-01T00:00:00Z");
        let days: Vec<&str> = found.iter().map(|at| &at[..10]).collect();
        assert_eq!(days, ["2026-02-06", "2026-02-13", "2026-02-20", "2026-02-27"]);
    }

    /// Rows CR-05 and CR-06: a field that begins with a star is not restricted, so both must hold; Friday the 13th
    /// therefore cannot be said by a cron line but with such a star: in 2026 it is in February, March, November.
    #[test]
    fn a_field_that_begins_with_a_star_is_not_restricted() {
        let odd_fridays = days_of_january("0 9 */2 * 5");
        assert_eq!(odd_fridays, [9, 23], "Fridays on days 1, 3, 5 … of the month");
        let fridays_or_13 =
            fires("0 9 13 * 5", "UTC", "2026-01-01T00:00:00Z", "2027-01-01T00:00:00Z");
        let both = fridays_or_13.iter().filter(|at| {
            at[8..10] == *"13" && {
                let day: civil::Date = at[..10].parse().unwrap();
                day.weekday() == civil::Weekday::Friday
            }
        });
        let months: Vec<&str> = both.map(|at| &at[5..7]).collect();
        assert_eq!(months, ["02", "03", "11"]);
        assert_eq!(fridays_or_13.len(), 52 + 12 - 3, "either is enough");
    }

    /// Row CR-07.
    #[test]
    fn a_day_that_no_month_has_never_comes() {
        let never = Cron::read("0 0 31 2 *").unwrap();
        assert_eq!(never.next(at("2026-01-01T00:00:00Z"), &Zone::utc()), None);
        let leap = Cron::read("0 0 29 2 *").unwrap();
        let next = leap.next(at("2026-03-01T00:00:00Z"), &Zone::utc());
        assert_eq!(next, Some(at("2028-02-29T00:00:00Z")));
    }

    /// Rows CR-08, CR-09 and CR-12: of four conventions this one runs at the jump (as Debian's cron) and once.
    #[test]
    fn a_skipped_time_comes_at_the_jump_and_a_doubled_one_once() {
        let denver = |line, from, until| fires(line, "America/Denver", from, until);
        assert_eq!(
            denver("30 2 * * *", "2026-03-08T00:00:00Z", "2026-03-09T12:00:00Z"),
            ["2026-03-08T09:00:00Z", "2026-03-09T08:30:00Z"]
        );
        assert_eq!(
            denver("30 1 * * *", "2026-11-01T00:00:00Z", "2026-11-02T12:00:00Z"),
            ["2026-11-01T07:30:00Z", "2026-11-02T08:30:00Z"]
        );
        // Several times of the skipped hour are one run at the jump; the doubled hour's second pass is quiet.
        assert_eq!(
            denver("*/20 * * * *", "2026-03-08T08:30:00Z", "2026-03-08T09:30:00Z"),
            ["2026-03-08T08:40:00Z", "2026-03-08T09:00:00Z", "2026-03-08T09:20:00Z"]
        );
        assert_eq!(
            denver("*/30 * * * *", "2026-11-01T07:00:00Z", "2026-11-01T09:30:00Z"),
            ["2026-11-01T07:30:00Z", "2026-11-01T09:00:00Z"]
        );
    }

    #[test]
    fn a_line_that_makes_no_sense_says_what_is_wrong() {
        for (line, wrong) in [
            ("0 7 * *", "it has 4 fields; there are five: minute, hour, day, month, weekday"),
            ("60 7 * * *", "minute cannot be 60; it goes from 0 to 59"),
            ("0 7 * * 8", "weekday cannot be 8; it goes from 0 to 7"),
            ("0 7 0 * *", "day cannot be 0; it goes from 1 to 31"),
            ("0 7 * foo *", "month cannot be foo; it goes from 1 to 12"),
            ("5-1 7 * * *", "minute cannot be 5-1; it goes from 0 to 59"),
            ("5/2 7 * * *", "minute cannot be 5/2; it goes from 0 to 59"),
            ("*/0 7 * * *", "minute cannot be */0; it goes from 0 to 59"),
        ] {
            assert_eq!(Cron::read(line).unwrap_err(), wrong, "{line}");
        }
        assert!(Cron::read("0 7 * jan-mar sun,wed-fri").is_ok());
        assert_eq!(days_of_january("0 7 * * 7"), days_of_january("0 7 * * 0"), "Sunday twice");
    }
}
