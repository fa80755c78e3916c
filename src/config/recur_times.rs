//! When a recurrence rule comes true (RFC 5545 section 3.3.10), by the wall and in order.
//!
//! It knows no zone. Where the standard contradicts itself, a date that is none (30 February) is passed over and not
//! counted, and a time that the clocks skip is the zone's business, who shifts it: passing it over would leave a night
//! without anybody. It looks at no more days than it is given, however much a rule asks for.

use std::collections::BTreeSet;

use jiff::civil::{Date, DateTime, Time};

use super::recur::{Freq, Recur};

const MINUTES_OF_A_DAY: i64 = 24 * 60;

impl Recur {
    /// The times from the first one on, which always counts as one, while it `goes_on`; `COUNT` is kept. `None` if that
    /// takes more than the days that may still be looked at.
    pub(super) fn times(
        &self,
        first: DateTime,
        goes_on: impl Fn(DateTime) -> bool,
        days_left: &mut usize,
    ) -> Option<Vec<DateTime>> {
        let recur = self.with_usual(first);
        let count = recur.count.unwrap_or(usize::MAX);
        let mut times = vec![first];
        let mut period = 0_i64;
        while times.len() < count {
            let Some((begins, found)) = recur.of_period(first, period) else { break };
            if !goes_on(begins.max(first)) {
                break;
            }
            let looked_at = match recur.freq {
                Freq::Minutely | Freq::Hourly | Freq::Daily => 1,
                Freq::Weekly => 7,
                Freq::Monthly => 31,
                Freq::Yearly => 366,
            };
            *days_left = days_left.checked_sub(looked_at + found.len())?;
            period += if found.is_empty() { recur.empty_periods(first, period)? } else { 1 };
            for at in found.into_iter().filter(|at| *at > first) {
                if times.len() >= count || !goes_on(at) {
                    return Some(times);
                }
                times.push(at);
            }
        }
        Some(times)
    }

    /// How many periods from an empty one on are empty too: the rest of a day or of an hour without any.
    fn empty_periods(&self, first: DateTime, period: i64) -> Option<i64> {
        let unit = match self.freq {
            Freq::Minutely => self.interval,
            Freq::Hourly => 60 * self.interval,
            Freq::Daily | Freq::Weekly | Freq::Monthly | Freq::Yearly => return Some(1),
        };
        let at = first.checked_add(self.minutes_of(period)?).ok()?;
        let gone = i64::from(at.hour()) * 60 + i64::from(at.minute());
        let rest = if !self.is_on(at.date()) {
            MINUTES_OF_A_DAY - gone
        } else if !self.hours.is_empty() && !self.hours.contains(&at.hour()) {
            60 - gone % 60
        } else {
            1
        };
        Some((rest + unit - 1) / unit)
    }

    /// From the first time to a period of minutes or hours.
    fn minutes_of(&self, period: i64) -> Option<jiff::Span> {
        let unit = if self.freq == Freq::Hourly { 60 } else { 1 };
        let minutes = period.checked_mul(self.interval)?.checked_mul(unit)?;
        jiff::Span::new().try_minutes(minutes).ok()
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
                Freq::Minutely | Freq::Hourly | Freq::Daily => {}
            }
        }
        if !recur.weeks.is_empty() && recur.weekdays.is_empty() && recur.month_days.is_empty() {
            recur.weekdays = vec![(0, first.date().weekday())];
        }
        recur
    }

    /// Where one period begins, and all its times in order; `None` past the end of the calendar.
    fn of_period(&self, first: DateTime, period: i64) -> Option<(DateTime, Vec<DateTime>)> {
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
            Freq::Hourly | Freq::Minutely => {
                let at = first.checked_add(self.minutes_of(period)?).ok()?;
                let fits = (self.hours.is_empty() || self.hours.contains(&at.hour()))
                    && (self.minutes.is_empty()
                        || self.freq == Freq::Hourly
                        || self.minutes.contains(&at.minute()));
                let times = if fits { self.times_of(at) } else { Vec::new() };
                (vec![at.date()], times)
            }
        };
        let begins = days.first()?.at(0, 0, 0, 0);
        let days = days.into_iter().filter(|day| self.is_on(*day));
        let all: Vec<DateTime> =
            days.flat_map(|day| times.iter().map(move |time| day.to_datetime(*time))).collect();
        Some((begins, self.positioned(all)))
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
        let or = |list: &[i8], one: i8| if list.is_empty() { vec![one] } else { list.to_vec() };
        let (hours, minutes) = match self.freq {
            Freq::Hourly => (vec![at.hour()], or(&self.minutes, at.minute())),
            Freq::Minutely => (vec![at.hour()], vec![at.minute()]),
            Freq::Daily | Freq::Weekly | Freq::Monthly | Freq::Yearly => {
                (or(&self.hours, at.hour()), or(&self.minutes, at.minute()))
            }
        };
        let seconds = or(&self.seconds, at.second());
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
