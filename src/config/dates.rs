//! Dates and times as people write them: ISO in the settings, another order in a herd file that
//! says so. A date that could mean two days is never guessed.

use jiff::civil::{Date, DateTime, Time};

use super::faults::Placed;
use super::value::Value;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// A day, written `2026-11-23`.
pub(super) fn day(value: &Value<'_>) -> Option<Date> {
    let text = value.date_text()?;
    let date = DateForm::ISO.read(&text.is).ok();
    if date.is_none() {
        let title = format!("{} is not a day", text.is);
        value.refuse(title, "write it like 2026-11-23");
    }
    date
}

/// A moment, local to the farm unless it carries its own offset.
pub(super) fn moment(value: &Value<'_>, zone: &Zone) -> Option<Placed<Moment>> {
    let text = value.date_text()?;
    let is = local_or_offset(&text.is, zone);
    if is.is_none() {
        let title = format!("{} is not a date and time", text.is);
        value.refuse(title, "write it like 2026-11-20T08:00, in the farm's own time");
    }
    Some(Placed { is: is?, at: text.at })
}

fn local_or_offset(text: &str, zone: &Zone) -> Option<Moment> {
    if let Some(moment) = Moment::from_rfc3339(text) {
        return Some(moment);
    }
    // A civil time with anything behind it, such as a zone's name, is not one of ours.
    let plain = |c: char| c.is_ascii_digit() || "-:. Tt".contains(c);
    if !text.chars().all(plain) {
        return None;
    }
    text.parse::<DateTime>().ok().map(|wall| zone.instant(wall))
}

/// "22:00-06:00".
pub(super) fn shift(text: &str) -> Option<(Time, Time)> {
    let (start, end) = text.split_once('-')?;
    Some((clock(start.trim())?, clock(end.trim())?))
}

/// "07:30"; "24:00" is midnight.
pub(super) fn time_of_day(text: &str) -> Option<Time> {
    clock(text.trim())
}

fn clock(text: &str) -> Option<Time> {
    let (hour, minute) = text.split_once(':')?;
    let digits = |part: &str| {
        let good = (1..=2).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
        good.then(|| part.parse::<i8>().ok()).flatten()
    };
    let (hour, minute) = (digits(hour)?, digits(minute)?);
    if minute > 59 || minute_text_is_short(text) {
        return None;
    }
    match (hour, minute) {
        (24, 0) => Some(Time::midnight()),
        (hour, minute) => Time::new(hour, minute, 0, 0).ok(),
    }
}

/// "6:5" could be five past or ten to seven's half: two digits, or nothing.
fn minute_text_is_short(text: &str) -> bool {
    text.rsplit(':').next().is_none_or(|minute| minute.len() != 2)
}

/// The order in which a herd file writes day, month and year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct DateForm {
    order: [Part; 3],
    between: char,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Day,
    Month,
    Year,
}

/// Why a text is not a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum NotADay {
    /// It could be either of these.
    Ambiguous(Date, Date),
    No,
}

impl DateForm {
    pub(super) const ISO: Self = Self { order: [Part::Year, Part::Month, Part::Day], between: '-' };

    /// "d/m/y", "m/d/y", "d.m.y" and the like.
    pub(super) fn parse(text: &str) -> Option<Self> {
        let between = text.chars().find(|c| "/.-".contains(*c))?;
        let parts: Vec<Part> = text
            .split(between)
            .filter_map(|part| match part.trim() {
                "d" | "dd" => Some(Part::Day),
                "m" | "mm" => Some(Part::Month),
                "y" | "yyyy" => Some(Part::Year),
                _ => None,
            })
            .collect();
        let order: [Part; 3] = parts.try_into().ok()?;
        let all = [Part::Day, Part::Month, Part::Year];
        let whole = all.iter().all(|part| order.contains(part))
            && text.split(between).count() == order.len();
        whole.then_some(Self { order, between })
    }

    pub(super) fn read(self, text: &str) -> Result<Date, NotADay> {
        if let Some(date) = self.strictly(text) {
            return Ok(date);
        }
        // ISO is never ambiguous, whatever else the file writes.
        if let Some(date) = Self::ISO.strictly(text) {
            return Ok(date);
        }
        if self != Self::ISO {
            return Err(NotADay::No);
        }
        let between = text.chars().find(|c| "/.-".contains(*c)).unwrap_or('/');
        let form = |order| Self { order, between };
        let day_first = form([Part::Day, Part::Month, Part::Year]).strictly(text);
        let month_first = form([Part::Month, Part::Day, Part::Year]).strictly(text);
        match (day_first, month_first) {
            (Some(one), Some(other)) if one != other => Err(NotADay::Ambiguous(one, other)),
            (Some(_) | None, Some(_) | None) => Err(NotADay::No),
        }
    }

    /// A day, or two with a slash between: "from" and "until".
    pub(super) fn read_range(self, text: &str) -> Result<(Date, Date), NotADay> {
        if let Ok(day) = self.read(text) {
            return Ok((day, day));
        }
        let slashes: Vec<usize> = text.match_indices('/').map(|(at, _)| at).collect();
        if slashes.len().is_multiple_of(2) {
            return self.read(text).map(|day| (day, day));
        }
        // The middle slash parts the two; any others belong to the dates.
        let (from, until) = text.split_at(slashes[slashes.len() / 2]);
        let until = until.strip_prefix('/').unwrap_or(until);
        Ok((self.read(from.trim())?, self.read(until.trim())?))
    }

    fn strictly(self, text: &str) -> Option<Date> {
        let parts: Vec<&str> = text.split(self.between).map(str::trim).collect();
        if parts.len() != self.order.len() {
            return None;
        }
        let (mut day, mut month, mut year) = (0, 0, 0);
        for (part, what) in parts.iter().zip(self.order) {
            if !part.bytes().all(|b| b.is_ascii_digit()) {
                return None;
            }
            let digits = part.len();
            match what {
                Part::Day if (1..=2).contains(&digits) => day = part.parse().ok()?,
                Part::Month if (1..=2).contains(&digits) => month = part.parse().ok()?,
                // Two digits of a year are one ambiguity too many.
                Part::Year if digits == 4 => year = part.parse().ok()?,
                Part::Day | Part::Month | Part::Year => return None,
            }
        }
        Date::new(year, month, day).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_bare_time_is_the_farms_own() {
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let read = |text| local_or_offset(text, &dublin).map(Moment::rfc3339);
        let summer = Some("2026-07-01T07:00:00Z".to_owned());
        assert_eq!(read("2026-07-01T08:00"), summer);
        assert_eq!(read("2026-07-01 08:00:00"), summer);
        assert_eq!(read("2026-07-01T08:00:00+01:00"), summer);
        assert_eq!(read("2026-07-01"), Some("2026-06-30T23:00:00Z".to_owned()));
        for bad in ["", "tonight", "2026-13-01T08:00", "2026-07-01T08:00[Europe/Paris]"] {
            assert_eq!(read(bad), None, "{bad}");
        }
    }

    #[test]
    fn a_shift_is_two_clock_times() {
        let time = |hour, minute| Time::new(hour, minute, 0, 0).unwrap();
        assert_eq!(shift("22:00-06:00"), Some((time(22, 0), time(6, 0))));
        assert_eq!(shift("6:30 - 24:00"), Some((time(6, 30), time(0, 0))));
        for bad in ["22-6", "22:00", "25:00-06:00", "22:60-06:00", "6:5-7:00", "-"] {
            assert_eq!(shift(bad), None, "{bad}");
        }
    }

    #[test]
    fn a_date_that_could_be_two_days_is_not_guessed() {
        let iso = DateForm::ISO;
        assert_eq!(iso.read("2026-02-14"), Ok(date(2026, 2, 14)));
        assert_eq!(
            iso.read("03/04/2026"),
            Err(NotADay::Ambiguous(date(2026, 4, 3), date(2026, 3, 4)))
        );
        for bad in ["25/12/2026", "04/04/2026", "2026-02-30", "26-02-14", "", "soon"] {
            assert_eq!(iso.read(bad), Err(NotADay::No), "{bad}");
        }
    }

    #[test]
    fn a_file_may_say_how_it_writes_its_dates() {
        let form = DateForm::parse("d/m/y").unwrap();
        assert_eq!(form.read("03/04/2026"), Ok(date(2026, 4, 3)));
        assert_eq!(form.read("2026-04-03"), Ok(date(2026, 4, 3)));
        assert_eq!(form.read("13/13/2026"), Err(NotADay::No));
        assert_eq!(form.read("03/04/26"), Err(NotADay::No), "two digits of a year");
        let dots = DateForm::parse("dd.mm.yyyy").unwrap();
        assert_eq!(dots.read("3.4.2026"), Ok(date(2026, 4, 3)));
        for bad in ["d/m", "d/d/y", "d/m/y/y", "day/month/year", ""] {
            assert_eq!(DateForm::parse(bad), None, "{bad}");
        }
    }

    #[test]
    fn a_range_is_two_dates_with_a_slash_between() {
        let (from, until) = (date(2026, 2, 1), date(2026, 3, 15));
        let iso = DateForm::ISO;
        assert_eq!(iso.read_range("2026-02-01/2026-03-15"), Ok((from, until)));
        assert_eq!(iso.read_range("2026-02-01"), Ok((from, from)));
        let form = DateForm::parse("d/m/y").unwrap();
        assert_eq!(form.read_range("01/02/2026/15/03/2026"), Ok((from, until)));
        assert!(iso.read_range("2026-02-01/soon").is_err());
        assert!(matches!(iso.read_range("03/04/2026"), Err(NotADay::Ambiguous(..))));
    }
}
