//! A cron line: five fields, and when it next comes true by the farm's own clock.
//!
//! Where the conventions differ, this is what is done here: of the two day fields, if both are restricted, either
//! is enough (POSIX); a field that begins with `*` is not restricted (as Debian's cron has it), so that the month
//! restricts both days; a weekday is 0 to 7, Sunday twice, or a name, and may go round the week's end; a time that
//! the clocks skip comes at the jump; a time that they show twice comes at its first pass alone; what passed while
//! nobody ran is not made up. It keeps no times: whoever waits asks again.

use jiff::civil::{Date, DateTime, Time};

use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// Two leap days may be eight years apart (1896 and 1904, 2096 and 2104): what has not come by then never comes.
const YEARS_MAX: i16 = 8;

const MONTHS: [&str; 12] =
    ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
const DAYS: [&str; 7] = ["sun", "mon", "tue", "wed", "thu", "fri", "sat"];

/// A line that can be asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cron {
    text: String,
    minutes: Numbers,
    hours: Numbers,
    days: Numbers,
    months: Numbers,
    /// From Sunday as 0.
    weekdays: Numbers,
    /// Both day fields are restricted: either is enough.
    either: bool,
}

/// What is wrong with a field.
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
        let restricted = |field: &str| !field.starts_with('*');
        Ok(Self {
            text: text.to_owned(),
            minutes: Field { what: "minute", first: 0, last: 59, names: &[] }.read(minute)?,
            hours: Field { what: "hour", first: 0, last: 23, names: &[] }.read(hour)?,
            days: Field { what: "day", first: 1, last: 31, names: &[] }.read(day)?,
            months: Field { what: "month", first: 1, last: 12, names: &MONTHS }.read(month)?,
            weekdays: Field { what: "weekday", first: 0, last: 7, names: &DAYS }.read(weekday)?,
            either: restricted(day) && restricted(weekday),
        })
    }

    pub fn text(&self) -> &str {
        &self.text
    }

    /// The first time after a moment; `None` if it never comes.
    pub fn next(&self, after: Moment, zone: &Zone) -> Option<Moment> {
        // What the wall said before it says now has come already, at the latest with this second.
        let wall = zone.wall(after);
        let first = wall.date();
        std::iter::successors(Some(first), |day| day.tomorrow().ok())
            .take_while(|day| day.year() <= first.year() + YEARS_MAX)
            .filter(|day| self.comes_on(*day))
            .flat_map(|day| self.times().map(move |time| day.to_datetime(time)))
            .filter(|time| *time > wall)
            .map(|time| zone.instant_or_jump(time))
            .find(|at| *at > after)
    }

    /// How often the wall has said it from the beginning of a day up to a time, or, if that is earlier, how often
    /// it will until that day, as a negative number. A time counts once, be it skipped or shown twice, so that
    /// what follows from it does not depend on how the clocks are turned.
    pub fn times_since(&self, since: Date, until: DateTime) -> i64 {
        let days = |from: Date, to: Date| {
            let days = std::iter::successors(Some(from), |day| day.tomorrow().ok());
            days.take_while(|day| *day < to).filter(|day| self.comes_on(*day)).count()
        };
        let count = |times: usize| i64::try_from(times).unwrap_or(i64::MAX);
        let a_day = count(self.times().count());
        let today = if self.comes_on(until.date()) {
            count(self.times().filter(|time| *time <= until.time()).count())
        } else {
            0
        };
        let before = count(days(since, until.date())) - count(days(until.date(), since));
        before * a_day + today
    }

    fn comes_on(&self, day: Date) -> bool {
        let by_date = self.days.has(day.day());
        let by_weekday = self.weekdays.has(day.weekday().to_sunday_zero_offset());
        let any_day = if self.either { by_date || by_weekday } else { by_date && by_weekday };
        any_day && self.months.has(day.month())
    }

    /// The times of a day on which it comes, in order.
    fn times(&self) -> impl Iterator<Item = Time> {
        let (hours, minutes) = (self.hours, self.minutes);
        hours.all().flat_map(move |hour| {
            minutes.all().filter_map(move |minute| Time::new(hour, minute, 0, 0).ok())
        })
    }
}

/// Some of the numbers from 0 to 63.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Numbers(u64);

impl Numbers {
    fn has(self, number: i8) -> bool {
        u32::try_from(number)
            .ok()
            .and_then(|number| self.0.checked_shr(number))
            .is_some_and(|rest| rest & 1 == 1)
    }

    fn all(self) -> impl Iterator<Item = i8> {
        (0..64).filter(move |number| self.has(*number))
    }
}

/// What a field may hold.
#[derive(Clone, Copy)]
struct Field<'w> {
    what: &'w str,
    first: u32,
    last: u32,
    names: &'w [&'w str],
}

impl Field<'_> {
    /// `*`, `5`, `1-5`, `mon-fri`, with `/2` behind a star or a range, and lists of these.
    fn read(self, field: &str) -> Result<Numbers, Wrong> {
        let wrong = || {
            format!("{} cannot be {field}; it goes from {} to {}", self.what, self.first, self.last)
        };
        let round_the_week = self.last == 7;
        let mut found = 0;
        for part in field.split(',') {
            let (span, step) = match part.split_once('/') {
                Some((span, step)) => {
                    (span, Some(digits(step).filter(|step| *step > 0).ok_or_else(wrong)?))
                }
                None => (part, None),
            };
            let (from, mut until) = match span.split_once('-') {
                _ if span == "*" => {
                    (self.first, self.last.min(if round_the_week { 6 } else { 63 }))
                }
                Some((from, until)) => {
                    (self.one(from).ok_or_else(wrong)?, self.one(until).ok_or_else(wrong)?)
                }
                None if step.is_some() => return Err(wrong()),
                None => {
                    let one = self.one(span).ok_or_else(wrong)?;
                    (one, one)
                }
            };
            if from > until && round_the_week {
                until += 7;
            }
            if from > until {
                return Err(wrong());
            }
            let step = usize::try_from(step.unwrap_or(1)).map_err(|_| wrong())?;
            for number in (from..=until).step_by(step) {
                found |= 1 << if round_the_week { number % 7 } else { number };
            }
        }
        Ok(Numbers(found))
    }

    /// A name or a number of this field.
    fn one(self, word: &str) -> Option<u32> {
        let named = self.names.iter().position(|name| name.eq_ignore_ascii_case(word));
        // Months are counted from 1, weekdays from 0.
        let named = named.and_then(|at| u32::try_from(at).ok()).map(|at| at + self.first);
        named.or_else(|| digits(word)).filter(|number| (self.first..=self.last).contains(number))
    }
}

fn digits(word: &str) -> Option<u32> {
    word.bytes().all(|byte| byte.is_ascii_digit()).then(|| word.parse().ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Span;
    use proptest::prelude::*;

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
                let day: Date = at[..10].parse().unwrap();
                day.weekday() == jiff::civil::Weekday::Friday
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
    }

    /// Row CR-01 of the project's standards notes (POSIX crontab): the numbers of each field; lists and ranges.
    #[test]
    fn weekdays_are_counted_from_sunday_as_0_and_go_round_the_week() {
        assert_eq!(days_of_january("0 7 * * 0"), [4, 11, 18, 25]);
        assert_eq!(days_of_january("0 7 * * 7"), days_of_january("0 7 * * 0"), "Sunday twice");
        assert_eq!(days_of_january("0 7 * * sat-mon"), days_of_january("0 7 * * 6,0,1"));
        assert_eq!(days_of_january("0 7 * * 5-7"), days_of_january("0 7 * * 5,6,0"));
        assert_eq!(days_of_january("0 7 * * */2"), days_of_january("0 7 * * 0,2,4,6"));
        assert_eq!(days_of_january("0 7 1-9/4,31 * *"), [1, 5, 9, 31]);
        let ends = fires("59 23 31 12 *", "UTC", "2026-01-01T00:00:00Z", "2028-01-01T00:00:00Z");
        assert_eq!(ends, ["2026-12-31T23:59:00Z", "2027-12-31T23:59:00Z"]);
    }

    /// Rows CR-10 and CR-11: what passed is not made up, however the clock came to be later.
    #[test]
    fn what_passed_while_nobody_asked_is_not_made_up() {
        let line = Cron::read("0 7 * * *").unwrap();
        let next = line.next(at("2026-01-09T07:00:00Z"), &Zone::utc());
        assert_eq!(next, Some(at("2026-01-10T07:00:00Z")));
    }

    #[test]
    fn a_day_that_a_zone_skips_comes_at_the_jump() {
        // Apia had no 30 December 2011 (row TZ-15).
        let found = fires(
            "0 */6 30,31 12 *",
            "Pacific/Apia",
            "2011-12-30T09:59:59Z",
            "2011-12-30T22:00:00Z",
        );
        assert_eq!(found, ["2011-12-30T10:00:00Z", "2011-12-30T16:00:00Z"]);
        let every_minute = Cron::read("* * * * *").unwrap();
        let (apia, jump) = (Zone::named("Pacific/Apia").unwrap(), at("2011-12-30T10:00:00Z"));
        assert_eq!(every_minute.next(jump, &apia), Some(jump + Span::minutes(1)));
        assert_eq!(every_minute.next(jump - Span::seconds(1), &apia), Some(jump));
    }

    #[test]
    fn the_times_since_a_day_are_counted_both_ways() {
        let line = Cron::read("0 6,18 * * *").unwrap();
        let since: Date = "2026-03-01".parse().unwrap();
        for (until, times) in [
            ("2026-03-01T00:00", 0),
            ("2026-03-01T06:00", 1),
            ("2026-03-01T17:59", 1),
            ("2026-03-02T18:00", 4),
            ("2026-02-28T18:00", 0),
            ("2026-02-28T17:59", -1),
            ("2026-02-28T05:59", -2),
            ("2026-02-26T06:00", -5),
        ] {
            assert_eq!(line.times_since(since, until.parse().unwrap()), times, "{until}");
        }
    }

    /// A line as people write them, and what the reference library reads: seconds first, Sunday as 1.
    fn field(first: u32, last: u32) -> impl Strategy<Value = String> {
        let numbers = prop::collection::btree_set(first..=last, 1..4);
        let list = numbers.prop_map(|numbers| {
            let numbers: Vec<String> = numbers.iter().map(u32::to_string).collect();
            numbers.join(",")
        });
        prop_oneof![2 => Just("*".to_owned()), 3 => list]
    }

    proptest! {
        /// The crate `cron` (0.17) as a second reader, over UTC alone, where it has no clock changes to go wrong
        /// at; it knows no "either day", so one of the two stays a star.
        #[test]
        fn another_reader_finds_the_same_times(
            minute in field(0, 59),
            hour in field(0, 23),
            day in field(1, 31),
            month in field(1, 12),
            weekday in field(0, 6),
            by_weekday in any::<bool>(),
            from in 1_767_225_600_i64..1_830_297_600, // 2026 and 2027
        ) {
            let (day, weekday) = if by_weekday { ("*".to_owned(), weekday) } else { (day, "*".to_owned()) };
            let ours = Cron::read(&format!("{minute} {hour} {day} {month} {weekday}")).unwrap();
            let from_one = |number: &str| {
                number.parse::<u32>().map_or(number.to_owned(), |number| (number + 1).to_string())
            };
            let weekday: Vec<String> = weekday.split(',').map(from_one).collect();
            let line = format!("0 {minute} {hour} {day} {month} {}", weekday.join(","));
            let theirs: cron::Schedule = line.parse().unwrap();
            let start = chrono::DateTime::from_timestamp(from, 0).unwrap();
            let mut moment = Moment::from_seconds(from);
            for hit in theirs.after(&start).take(30) {
                moment = ours.next(moment, &Zone::utc()).unwrap();
                prop_assert_eq!(moment.seconds(), hit.timestamp(), "{} from {}", line, from);
            }
        }

        /// It always goes on, and what it finds is what the wall then says, or the jump over it.
        #[test]
        fn each_time_is_later_than_the_last_wherever_the_clocks_change(
            minute in field(0, 59),
            hour in field(0, 23),
            zone in prop::sample::select(vec![
                "Europe/Dublin", "America/Denver", "Australia/Lord_Howe", "Africa/Cairo", "America/Santiago",
                "Pacific/Chatham", "Africa/Casablanca",
            ]),
            from in 1_767_225_600_i64..1_830_297_600,
        ) {
            let zone = Zone::named(zone).unwrap();
            let line = Cron::read(&format!("{minute} {hour} * * *")).unwrap();
            let mut moment = Moment::from_seconds(from);
            for _ in 0..50 {
                let next = line.next(moment, &zone).unwrap();
                prop_assert!(next > moment && next.since(moment) <= Span::hours(26));
                let said = zone.wall(next);
                let jumped = zone.wall(next - Span::from_millis(1)).duration_until(said).as_millis() > 1;
                let is_told = line.times().any(|time| time == said.time());
                prop_assert!(is_told || jumped, "{} {}", zone.stamp(next), zone.name());
                moment = next;
            }
        }
    }
}
