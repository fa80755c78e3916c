//! A recurrence rule as it is written (RFC 5545 section 3.3.10). When it comes true is not its business.
//!
//! It refuses what a rota cannot mean: a rule for every second, or for more times a day than anybody changes.

use jiff::civil::{DateTime, Weekday};

use super::ical;

const LIST_MAX: usize = 400;
/// A shift every quarter of an hour.
const TIMES_OF_A_DAY_MAX: usize = 96;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Freq {
    Minutely,
    Hourly,
    Daily,
    Weekly,
    Monthly,
    Yearly,
}

/// The last time at which it may come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Until {
    pub(super) last: DateTime,
    /// By the event's own clock else.
    pub(super) is_utc: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Recur {
    pub(super) freq: Freq,
    pub(super) interval: i64,
    pub(super) count: Option<usize>,
    pub(super) until: Option<Until>,
    pub(super) week_begins: Weekday,
    pub(super) seconds: Vec<i8>,
    pub(super) minutes: Vec<i8>,
    pub(super) hours: Vec<i8>,
    /// With which of the month or year, from its end if negative; 0 for every one.
    pub(super) weekdays: Vec<(i16, Weekday)>,
    pub(super) month_days: Vec<i16>,
    pub(super) year_days: Vec<i16>,
    pub(super) weeks: Vec<i16>,
    pub(super) months: Vec<i16>,
    pub(super) positions: Vec<i16>,
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
        let of_a_day = [&mut recur.hours, &mut recur.minutes, &mut recur.seconds].map(|list| {
            list.sort_unstable();
            list.dedup();
            list.len().max(1)
        });
        if of_a_day.iter().product::<usize>() > TIMES_OF_A_DAY_MAX {
            return Err(format!("it comes more than {TIMES_OF_A_DAY_MAX} times a day"));
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
            "UNTIL" => self.until = Some(until(value).ok_or_else(|| format!("UNTIL={value}"))?),
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
}

/// A day alone lasts to its end.
fn until(text: &str) -> Option<Until> {
    let (day, time, is_utc) = ical::parts(text)?;
    let last = time.map_or_else(|| day.at(23, 59, 59, 0), |time| day.to_datetime(time));
    Some(Until { last, is_utc })
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
        "SECONDLY" => return Err("no shift begins every second".to_owned()),
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
