//! Hours of the week that no shift covers, on a grid of minutes.
//!
//! The weekly pattern alone: who is on duty at a given moment, with swaps and clock changes, is the
//! rota's business.

use std::fmt;

use jiff::civil::Time;

use super::people::Rota;

const DAY: usize = 24 * 60;
const WEEK: usize = 7 * DAY;

const DAYS: [&str; 7] =
    ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

/// A stretch of hours nobody covers, on some days or round the week.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gap {
    /// The days on which it begins, counted from Monday.
    days: Vec<usize>,
    /// Minutes into the day.
    from: usize,
    minutes: usize,
}

/// The gaps that the rotas leave in every week; the same hours of several days are one gap.
pub fn hours_uncovered(rotas: &[Rota]) -> Vec<Gap> {
    hours_without(rotas, None, |_| true)
}

/// The hours among those that are to be covered, or of the whole week, in which no rota of which `counts` is on.
pub fn hours_without(
    rotas: &[Rota],
    wanted: Option<(Time, Time)>,
    counts: impl Fn(&Rota) -> bool,
) -> Vec<Gap> {
    let mut covered = vec![false; WEEK];
    if let Some((from, until)) = wanted {
        let (from, until) = (minute(from), minute(until));
        let length = if until > from { until - from } else { until + DAY - from };
        // What need not be covered is as good as covered.
        for (at, is) in covered.iter_mut().enumerate() {
            *is = (at % DAY + DAY - from) % DAY >= length;
        }
    }
    for rota in rotas.iter().filter(|rota| counts(rota)) {
        let (start, end) = (minute(rota.start), minute(rota.end));
        let length = if end > start { end - start } else { end + DAY - start };
        for day in &rota.days {
            let day = usize::try_from(day.to_monday_zero_offset()).unwrap_or_default();
            for at in 0..length {
                covered[(day * DAY + start + at) % WEEK] = true;
            }
        }
    }
    let mut gaps: Vec<Gap> = Vec::new();
    for (start, minutes) in stretches(&covered) {
        let (day, from) = (start / DAY, start % DAY);
        let same = |gap: &&mut Gap| gap.from == from && gap.minutes == minutes;
        match gaps.iter_mut().find(same) {
            Some(gap) => gap.days.push(day),
            None => gaps.push(Gap { days: vec![day], from, minutes }),
        }
    }
    gaps
}

/// Where each uncovered stretch begins, and how long it is; one may go round the week's end.
fn stretches(covered: &[bool]) -> Vec<(usize, usize)> {
    if !covered.contains(&true) {
        return vec![(0, WEEK)];
    }
    (0..WEEK)
        .filter(|at| !covered[*at] && covered[(at + WEEK - 1) % WEEK])
        .map(|start| {
            let ahead = (0..WEEK).take_while(|n| !covered[(start + n) % WEEK]);
            (start, ahead.count())
        })
        .collect()
}

fn minute(time: Time) -> usize {
    let (hour, minute) = (time.hour(), time.minute());
    usize::try_from(i16::from(hour) * 60 + i16::from(minute)).unwrap_or_default()
}

impl fmt::Display for Gap {
    /// "on Sunday from 02:00 to 06:00", "on any day from 06:00 to 22:00", "at any time".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.minutes >= WEEK {
            return f.write_str("at any time");
        }
        let end = (self.from + self.minutes) % DAY;
        let clock = |minute: usize| format!("{:02}:{:02}", minute / 60, minute % 60);
        let (from, until) = (clock(self.from), clock(end));
        // Up to the same time of the next day, the day of its end goes without saying.
        if self.minutes <= DAY {
            let days = days(&self.days);
            return write!(f, "on {days} from {from} to {until}");
        }
        let through = (self.from + self.minutes) / DAY;
        for (n, day) in self.days.iter().enumerate() {
            let last = DAYS[(day + through) % 7];
            let and = if n == 0 { "" } else { " and " };
            write!(f, "{and}from {} {from} to {last} {until}", DAYS[*day])?;
        }
        Ok(())
    }
}

/// "any day", "Sunday", "Monday to Friday", "Monday and Thursday".
fn days(days: &[usize]) -> String {
    let names: Vec<&str> = days.iter().map(|day| DAYS[*day]).collect();
    let in_a_row = days.windows(2).all(|pair| pair[0] + 1 == pair[1]);
    match names.as_slice() {
        [_, _, _, _, _, _, _] => "any day".to_owned(),
        [first, _, .., last] if in_a_row => format!("{first} to {last}"),
        names => crate::plain::english::list(names),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::people::{Change, Planned};
    use jiff::civil::Weekday::{self, *};

    const ALL: [Weekday; 7] = [Monday, Tuesday, Wednesday, Thursday, Friday, Saturday, Sunday];

    fn rota(start: i8, end: i8, days: &[Weekday]) -> Rota {
        Rota {
            name: "night".to_owned(),
            start: Time::constant(start, 0, 0, 0),
            end: Time::constant(end, 0, 0, 0),
            days: days.to_vec(),
            turn: Vec::new(),
            change: Change::Week,
            since: jiff::civil::date(2000, 1, 3),
            backup: Vec::new(),
            instead: Vec::new(),
            over: None,
            calendar: None,
            planned: Planned::default(),
            away: Vec::new(),
        }
    }

    fn said(rotas: &[Rota]) -> Vec<String> {
        hours_uncovered(rotas).iter().map(Gap::to_string).collect()
    }

    #[test]
    fn a_night_shift_alone_leaves_the_days() {
        assert_eq!(said(&[rota(22, 6, &ALL)]), ["on any day from 06:00 to 22:00"]);
    }

    #[test]
    fn day_and_night_leave_nothing() {
        assert_eq!(said(&[rota(22, 6, &ALL), rota(6, 22, &ALL)]), [""; 0]);
        assert_eq!(said(&[rota(8, 8, &ALL)]), [""; 0], "one shift round the clock");
    }

    #[test]
    fn a_hole_in_one_night_is_named_by_its_day() {
        let early = rota(22, 2, &[Saturday]);
        let rest = rota(22, 6, &ALL[..5]);
        let sunday = rota(22, 6, &[Sunday]);
        assert_eq!(
            said(&[early, rest, sunday, rota(6, 22, &ALL)]),
            ["on Sunday from 02:00 to 06:00"]
        );
    }

    #[test]
    fn a_weekend_off_is_one_gap() {
        let nights = rota(22, 6, &ALL[..5]);
        let days = rota(6, 22, &ALL[..5]);
        assert_eq!(said(&[nights, days]), ["from Saturday 06:00 to Monday 06:00"]);
        assert_eq!(said(&[rota(0, 0, &ALL[1..6])]), ["from Sunday 00:00 to Tuesday 00:00"]);
    }

    #[test]
    fn gaps_of_the_same_hours_are_said_once() {
        assert_eq!(
            said(&[rota(6, 22, &ALL[..5]), rota(22, 6, &ALL), rota(6, 22, &[Sunday])]),
            ["on Saturday from 06:00 to 22:00"]
        );
        assert_eq!(
            said(&[
                rota(22, 6, &ALL),
                rota(6, 12, &ALL[..5]),
                rota(14, 22, &ALL[..5]),
                rota(6, 22, &ALL[5..])
            ]),
            ["on Monday to Friday from 12:00 to 14:00"]
        );
        assert_eq!(said(&[rota(22, 6, &[])]), ["at any time"]);
    }
}
