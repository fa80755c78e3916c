//! A recurrence rule (RFC 5545 section 3.3.10): the local times at which it comes true, in order.
//!
//! It knows no zone: times are those of a wall. Where the standard contradicts itself, a date that is none (30 February)
//! is passed over and not counted, and a time that the clocks skip is the zone's business, who shifts it: passing it over
//! would leave a night without anybody.

use std::collections::BTreeSet;

use jiff::civil::{Date, DateTime, Time, Weekday};

use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// Periods looked at without one that comes true: a rule that asks for the impossible ends.
const EMPTY_MAX: usize = 1_500;
const LIST_MAX: usize = 400;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Freq {
    Secondly,
    Minutely,
    Hourly,
    Daily,
    Weekly,
    Monthly,
    Yearly,
}

/// Until when it comes, as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Until(pub(super) String);

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Recur {
    freq: Freq,
    interval: i64,
    pub(super) count: Option<usize>,
    pub(super) until: Option<Until>,
    week_begins: Weekday,
    seconds: Vec<i8>,
    minutes: Vec<i8>,
    hours: Vec<i8>,
    /// With which of the month or year, from its end if negative; 0 for every one.
    weekdays: Vec<(i16, Weekday)>,
    month_days: Vec<i16>,
    year_days: Vec<i16>,
    weeks: Vec<i16>,
    months: Vec<i16>,
    positions: Vec<i16>,
}

impl Recur {
    /// Reads the rule's value; else what is wrong with it.
    pub(super) fn read(text: &str) -> Result<Self, String> {
        let mut recur = Self {
            freq: Freq::Daily,
            interval: 1,
            count: None,
            until: None,
            week_begins: Weekday::Monday,
            seconds: Vec::new(),
            minutes: Vec::new(),
            hours: Vec::new(),
            weekdays: Vec::new(),
            month_days: Vec::new(),
            year_days: Vec::new(),
            weeks: Vec::new(),
            months: Vec::new(),
            positions: Vec::new(),
        };
        let mut freq = None;
        for part in text.split(';').filter(|part| !part.is_empty()) {
            let (key, value) =
                part.split_once('=').ok_or_else(|| format!("{part} is no part of a rule"))?;
            match key.to_ascii_uppercase().as_str() {
                "FREQ" => freq = Some(read_freq(value)?),
                key => recur.take(key, value)?,
            }
        }
        recur.freq = freq.ok_or("it has no FREQ")?;
        if recur.count.is_some() && recur.until.is_some() {
            return Err("COUNT and UNTIL do not go together".to_owned());
        }
        Ok(recur)
    }

    fn take(&mut self, key: &str, value: &str) -> Result<(), String> {
        let small = |low: i16, high: i16| numbers(key, value, low, high);
        let tiny = |high: i16| -> Result<Vec<i8>, String> {
            let list = numbers(key, value, 0, high)?;
            Ok(list.into_iter().filter_map(|number| i8::try_from(number).ok()).collect())
        };
        match key {
            "INTERVAL" => {
                let interval = value.parse().ok().filter(|n: &i64| (1..=10_000).contains(n));
                self.interval = interval.ok_or_else(|| format!("INTERVAL={value}"))?;
            }
            "COUNT" => {
                let count = value.parse().ok().filter(|n: &usize| *n > 0);
                self.count = Some(count.ok_or_else(|| format!("COUNT={value}"))?);
            }
            "UNTIL" => self.until = Some(Until(value.to_owned())),
            "WKST" => self.week_begins = weekday(value).ok_or_else(|| format!("WKST={value}"))?,
            "BYSECOND" => self.seconds = tiny(59)?,
            "BYMINUTE" => self.minutes = tiny(59)?,
            "BYHOUR" => self.hours = tiny(23)?,
            "BYMONTHDAY" => self.month_days = small(-31, 31)?,
            "BYYEARDAY" => self.year_days = small(-366, 366)?,
            "BYWEEKNO" => self.weeks = small(-53, 53)?,
            "BYMONTH" => self.months = small(1, 12)?,
            "BYSETPOS" => self.positions = small(-366, 366)?,
            "BYDAY" => {
                for one in value.split(',') {
                    let at = one.len().checked_sub(2).filter(|at| one.is_char_boundary(*at));
                    let (number, day) = one.split_at(at.unwrap_or(0));
                    let number = if number.is_empty() { Some(0) } else { number.parse().ok() };
                    let read = number.filter(|n| (-53..=53).contains(n)).zip(weekday(day));
                    self.weekdays.push(read.ok_or_else(|| format!("BYDAY={one}"))?);
                }
            }
            _ => return Err(format!("{key} is not known")),
        }
        Ok(())
    }

    /// Whether it still comes at a time: its `UNTIL` is an instant if it ends in Z, else a time or a day by the wall.
    pub(super) fn is_until(&self, at: Moment, wall: DateTime) -> bool {
        let Some(Until(text)) = &self.until else { return true };
        let digits = text.trim_end_matches(['Z', 'z']);
        let (day, time) = digits.split_once(['T', 't']).unwrap_or((digits, "235959"));
        let dashed = |text: &str, mark: &str| {
            let part = |from: usize, to: usize| text.get(from..to).unwrap_or_default().to_owned();
            let ends = text.len();
            [
                part(0, ends.saturating_sub(4)),
                part(ends.saturating_sub(4), ends.saturating_sub(2)),
                part(ends.saturating_sub(2), ends),
            ]
            .join(mark)
        };
        let last = format!("{}T{}", dashed(day, "-"), dashed(time, ":")).parse::<DateTime>();
        let Ok(last) = last else { return false };
        if text.ends_with(['Z', 'z']) {
            return at <= Zone::utc().instant(last);
        }
        wall <= last
    }

    /// The times from the first one on, which always counts as one, in order; `COUNT` is kept, `UNTIL` is the caller's.
    pub(super) fn times(&self, first: DateTime) -> impl Iterator<Item = DateTime> + use<> {
        let recur = self.with_usual(first);
        let count = recur.count.unwrap_or(usize::MAX);
        let (mut period, mut empty) = (0_i64, 0_usize);
        let mut ready: std::collections::VecDeque<DateTime> = std::collections::VecDeque::new();
        let all = std::iter::from_fn(move || {
            while ready.is_empty() {
                if empty > EMPTY_MAX {
                    return None;
                }
                let found = recur.of_period(first, period)?;
                period += 1;
                ready.extend(found.into_iter().filter(|at| *at > first));
                empty = if ready.is_empty() { empty + 1 } else { 0 };
            }
            ready.pop_front()
        });
        std::iter::once(first).chain(all).take(count)
    }

    /// What the first time fills in where the rule says nothing.
    fn with_usual(&self, first: DateTime) -> Self {
        let mut recur = self.clone();
        let no_day = recur.weekdays.is_empty()
            && recur.month_days.is_empty()
            && recur.year_days.is_empty()
            && recur.weeks.is_empty();
        if no_day {
            match recur.freq {
                Freq::Yearly => {
                    if recur.months.is_empty() {
                        recur.months = vec![i16::from(first.month())];
                    }
                    recur.month_days = vec![i16::from(first.day())];
                }
                Freq::Monthly => recur.month_days = vec![i16::from(first.day())],
                Freq::Weekly => recur.weekdays = vec![(0, first.date().weekday())],
                Freq::Secondly | Freq::Minutely | Freq::Hourly | Freq::Daily => {}
            }
        }
        if !recur.weeks.is_empty() && recur.weekdays.is_empty() && recur.month_days.is_empty() {
            recur.weekdays = vec![(0, first.date().weekday())];
        }
        recur
    }

    /// All times of one period, in order; `None` past the end of the calendar.
    fn of_period(&self, first: DateTime, period: i64) -> Option<Vec<DateTime>> {
        let steps = period.checked_mul(self.interval)?;
        let day = first.date();
        let (days, times) = match self.freq {
            Freq::Yearly => {
                let year = i16::try_from(i64::from(day.year()) + steps).ok()?;
                let begins = Date::new(year, 1, 1).ok()?;
                (
                    days_of(begins, usize::try_from(begins.days_in_year()).ok()?),
                    self.times_of(first),
                )
            }
            Freq::Monthly => {
                let begins = day
                    .first_of_month()
                    .checked_add(jiff::Span::new().try_months(steps).ok()?)
                    .ok()?;
                (
                    days_of(begins, usize::try_from(begins.days_in_month()).ok()?),
                    self.times_of(first),
                )
            }
            Freq::Weekly => {
                let back = i64::from(day.weekday().since(self.week_begins));
                let days = steps.checked_mul(7)?.checked_sub(back)?;
                let begins = day.checked_add(jiff::Span::new().try_days(days).ok()?).ok()?;
                (days_of(begins, 7), self.times_of(first))
            }
            Freq::Daily => {
                let begins = day.checked_add(jiff::Span::new().try_days(steps).ok()?).ok()?;
                (vec![begins], self.times_of(first))
            }
            Freq::Hourly | Freq::Minutely | Freq::Secondly => {
                let span = match self.freq {
                    Freq::Hourly => jiff::Span::new().try_hours(steps),
                    Freq::Minutely => jiff::Span::new().try_minutes(steps),
                    Freq::Secondly | Freq::Daily | Freq::Weekly | Freq::Monthly | Freq::Yearly => {
                        jiff::Span::new().try_seconds(steps)
                    }
                };
                let at = first.checked_add(span.ok()?).ok()?;
                let fits = (self.hours.is_empty() || self.hours.contains(&at.hour()))
                    && (self.minutes.is_empty()
                        || self.freq == Freq::Hourly
                        || self.minutes.contains(&at.minute()))
                    && (self.seconds.is_empty()
                        || self.freq != Freq::Secondly
                        || self.seconds.contains(&at.second()));
                let times = if fits { self.times_of(at) } else { Vec::new() };
                (vec![at.date()], times)
            }
        };
        let days = days.into_iter().filter(|day| self.is_on(*day));
        let all: Vec<DateTime> =
            days.flat_map(|day| times.iter().map(move |time| day.to_datetime(*time))).collect();
        Some(self.positioned(all))
    }

    fn positioned(&self, all: Vec<DateTime>) -> Vec<DateTime> {
        if self.positions.is_empty() {
            return all;
        }
        let chosen: BTreeSet<DateTime> = self
            .positions
            .iter()
            .filter_map(|position| nth(usize::from(position.unsigned_abs()), *position < 0, &all))
            .collect();
        chosen.into_iter().collect()
    }

    /// The times of a day: what the rule names, else those of `at`.
    fn times_of(&self, at: DateTime) -> Vec<Time> {
        let or = |list: &[i8], one: i8| if list.is_empty() { vec![one] } else { sorted(list) };
        let (hours, minutes) = match self.freq {
            Freq::Hourly => (vec![at.hour()], or(&self.minutes, at.minute())),
            Freq::Minutely | Freq::Secondly => (vec![at.hour()], vec![at.minute()]),
            Freq::Daily | Freq::Weekly | Freq::Monthly | Freq::Yearly => {
                (or(&self.hours, at.hour()), or(&self.minutes, at.minute()))
            }
        };
        let seconds = match self.freq {
            Freq::Secondly => vec![at.second()],
            Freq::Minutely
            | Freq::Hourly
            | Freq::Daily
            | Freq::Weekly
            | Freq::Monthly
            | Freq::Yearly => or(&self.seconds, at.second()),
        };
        let mut times = Vec::new();
        for hour in &hours {
            for minute in &minutes {
                times.extend(seconds.iter().filter_map(|s| Time::new(*hour, *minute, *s, 0).ok()));
            }
        }
        times
    }

    /// Whether every part that speaks of days takes this one.
    fn is_on(&self, day: Date) -> bool {
        let from_end = |list: &[i16], number: i16, last: i16| {
            list.is_empty() || list.contains(&number) || list.contains(&(number - last - 1))
        };
        let in_month =
            from_end(&self.month_days, i16::from(day.day()), i16::from(day.days_in_month()));
        let in_year = from_end(&self.year_days, day.day_of_year(), day.days_in_year());
        let month = self.months.is_empty() || self.months.contains(&i16::from(day.month()));
        month && in_month && in_year && self.is_in_week(day) && self.is_weekday(day)
    }

    fn is_in_week(&self, day: Date) -> bool {
        if self.weeks.is_empty() {
            return true;
        }
        // The week belongs to the year that has its fourth day (RFC 5545 section 3.3.10).
        let fourth = |day: Date| {
            let back = i64::from(day.weekday().since(self.week_begins));
            day.checked_add(jiff::Span::new().days(3 - back)).ok()
        };
        let Some(middle) = fourth(day) else { return false };
        let number = (middle.day_of_year() - 1) / 7 + 1;
        let last = middle.days_in_year() - 3;
        let weeks = Date::new(middle.year(), 12, 31).ok().and_then(fourth).map_or(52, |of_last| {
            if of_last.year() == middle.year() {
                (of_last.day_of_year() - 1) / 7 + 1
            } else {
                (last - 4) / 7 + 1
            }
        });
        self.weeks.contains(&number) || self.weeks.contains(&(number - weeks - 1))
    }

    fn is_weekday(&self, day: Date) -> bool {
        if self.weekdays.is_empty() {
            return true;
        }
        let of_year = self.freq == Freq::Yearly && self.months.is_empty() && self.weeks.is_empty();
        let (number, last) = if of_year {
            (day.day_of_year(), day.days_in_year())
        } else {
            (i16::from(day.day()), i16::from(day.days_in_month()))
        };
        let numbered = matches!(self.freq, Freq::Yearly | Freq::Monthly) && self.weeks.is_empty();
        let which = (number - 1) / 7 + 1;
        let from_end = -((last - number) / 7 + 1);
        self.weekdays.iter().any(|(nth, weekday)| {
            *weekday == day.weekday()
                && (*nth == 0 || !numbered || *nth == which || *nth == from_end)
        })
    }
}

fn nth(number: usize, from_end: bool, all: &[DateTime]) -> Option<DateTime> {
    let at = if from_end { all.len().checked_sub(number)? } else { number.checked_sub(1)? };
    all.get(at).copied()
}

fn days_of(begins: Date, count: usize) -> Vec<Date> {
    std::iter::successors(Some(begins), |day| day.tomorrow().ok()).take(count).collect()
}

fn sorted(list: &[i8]) -> Vec<i8> {
    let set: BTreeSet<i8> = list.iter().copied().collect();
    set.into_iter().collect()
}

fn numbers(key: &str, value: &str, low: i16, high: i16) -> Result<Vec<i16>, String> {
    let read = |one: &str| one.parse().ok().filter(|n: &i16| (low..=high).contains(n));
    let wrong = || format!("{key}={value}");
    let list: Option<Vec<i16>> = value.split(',').take(LIST_MAX).map(read).collect();
    let list = list.ok_or_else(wrong)?;
    if low < 0 && list.contains(&0) { Err(wrong()) } else { Ok(list) }
}

fn read_freq(value: &str) -> Result<Freq, String> {
    Ok(match value.to_ascii_uppercase().as_str() {
        "SECONDLY" => Freq::Secondly,
        "MINUTELY" => Freq::Minutely,
        "HOURLY" => Freq::Hourly,
        "DAILY" => Freq::Daily,
        "WEEKLY" => Freq::Weekly,
        "MONTHLY" => Freq::Monthly,
        "YEARLY" => Freq::Yearly,
        _ => return Err(format!("FREQ={value}")),
    })
}

fn weekday(text: &str) -> Option<Weekday> {
    Some(match text.to_ascii_uppercase().as_str() {
        "MO" => Weekday::Monday,
        "TU" => Weekday::Tuesday,
        "WE" => Weekday::Wednesday,
        "TH" => Weekday::Thursday,
        "FR" => Weekday::Friday,
        "SA" => Weekday::Saturday,
        "SU" => Weekday::Sunday,
        _ => return None,
    })
}
