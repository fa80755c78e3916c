//! One shift of a rota, on one day: from when to when it truly lasts, and who takes it.
//!
//! Shift times are wall-clock times of the farm's zone and are resolved there (RFC 5545 section
//! 3.3.5): a start in a skipped hour begins with the offset from before it, a start in a doubled
//! hour at its first pass. RFC 5545 section 3.3.10 would also allow a skipped time to be left out;
//! that would leave nobody on duty, so it is never done here.

use jiff::civil::Date;

use crate::config::people::{Change, Instead, Planned, Rota};
use crate::plain::ids::PersonName;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// A shift, or the part of one that a single person takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stretch<'r> {
    pub(super) from: Moment,
    pub(super) until: Moment,
    /// `None` if the rota's turn names nobody.
    pub(super) person: Option<&'r PersonName>,
}

/// The shift that starts on `day`, cut where somebody takes it over; empty if none starts then.
/// The stretches adjoin, and those of a later day never begin before those of an earlier one end.
pub(super) fn stretches<'r>(rota: &'r Rota, zone: &Zone, day: Date) -> Vec<Stretch<'r>> {
    let Some((from, until)) = bounds(rota, zone, day) else {
        return Vec::new();
    };
    let mut cuts = vec![from, until];
    let near = near(rota, from, until);
    for instead in &near {
        cuts.extend(
            [instead.from, instead.until].into_iter().filter(|cut| from < *cut && *cut < until),
        );
    }
    for away in &rota.away {
        cuts.extend([away.from, away.until].into_iter().filter(|cut| from < *cut && *cut < until));
    }
    cuts.sort_unstable();
    let turn = turn(rota, day);
    let mut stretches: Vec<Stretch<'r>> = Vec::with_capacity(cuts.len() - 1);
    for pair in cuts.windows(2) {
        let (from, until) = (pair[0], pair[1]);
        let person = who_comes(rota, instead_at(&near, from).or(turn), from);
        match stretches.last_mut() {
            Some(last) if last.person == person => last.until = until,
            Some(_) | None => stretches.push(Stretch { from, until, person }),
        }
    }
    stretches
}

/// The stretch of a rota that is on at an instant. Only of a shift that is on then it is asked who takes it.
pub(super) fn stretch_at<'r>(rota: &'r Rota, zone: &Zone, at: Moment) -> Option<Stretch<'r>> {
    let is_on =
        |day: &Date| bounds(rota, zone, *day).is_some_and(|(from, until)| from <= at && at < until);
    let day = days_around(zone, at, 0).find(is_on)?;
    let mut parts = stretches(rota, zone, day).into_iter();
    let stretch = parts.find(|stretch| stretch.from <= at && at < stretch.until)?;
    Some(if rota.calendar.is_some() { whole(rota, zone, day, stretch) } else { stretch })
}

/// What a calendar gives to one person in one go is one shift, though it is looked at day by day: as far as a week of it.
fn whole<'r>(rota: &'r Rota, zone: &Zone, day: Date, part: Stretch<'r>) -> Stretch<'r> {
    let mut whole = part;
    let days = |step: i64| {
        let days = (1..=7).map(move |days| day.checked_add(jiff::Span::new().days(days * step)));
        days.map_while(Result::ok)
    };
    for stretch in days(1).flat_map(|day| stretches(rota, zone, day)) {
        if stretch.from == whole.until && stretch.person == whole.person {
            whole.until = stretch.until;
        }
    }
    for stretch in days(-1).flat_map(|day| stretches(rota, zone, day).into_iter().rev()) {
        if stretch.until == whole.from && stretch.person == whole.person {
            whole.from = stretch.from;
        }
    }
    whole
}

/// The days on which a shift that matters at `at` can start, in order, and `ahead` days more.
pub(super) fn days_around(zone: &Zone, at: Moment, ahead: i16) -> impl Iterator<Item = Date> {
    // Two days back: where a zone skips a whole day, last night's shift began two dates ago. One
    // day on: where the clock goes back over midnight, tomorrow's may have begun.
    let today = zone.wall(at).date();
    (-2..=1 + i64::from(ahead))
        .filter_map(move |days| today.checked_add(jiff::Span::new().days(days)).ok())
}

/// From and until, half-open; `None` if no shift starts on `day`, or none is left of it.
pub(super) fn bounds(rota: &Rota, zone: &Zone, day: Date) -> Option<(Moment, Moment)> {
    if !rota.days.contains(&day.weekday()) {
        return None;
    }
    let tomorrow = day.tomorrow().ok()?;
    let from = zone.instant(day.to_datetime(rota.start));
    let last_day = if rota.end <= rota.start { tomorrow } else { day };
    let mut until = zone.instant(last_day.to_datetime(rota.end));
    // An end that a skipped hour pushed past the next start yields to it.
    if rota.days.contains(&tomorrow.weekday()) {
        until = until.min(zone.instant(tomorrow.to_datetime(rota.start)));
    }
    (from < until).then_some((from, until))
}

/// Whose turn the shift that starts on `day` is. It does not depend on how the clocks are turned.
pub(super) fn turn(rota: &Rota, day: Date) -> Option<&PersonName> {
    let people = i64::try_from(rota.turn.len()).ok().filter(|n| *n > 0)?;
    let days = day.duration_since(rota.since).as_hours() / 24;
    let turns = match &rota.change {
        Change::Day => days,
        Change::Week => days.div_euclid(7),
        Change::Fortnight => days.div_euclid(14),
        Change::Cron(cron) => cron.times_since(rota.since, day.to_datetime(rota.start)),
    };
    rota.turn.get(usize::try_from(turns.rem_euclid(people)).ok()?)
}

/// Whoever has the shift, or the first backup who can come; nobody if none can.
fn who_comes<'r>(
    rota: &'r Rota,
    whose: Option<&'r PersonName>,
    at: Moment,
) -> Option<&'r PersonName> {
    let whose = whose?;
    if !is_away(rota, whose, at) {
        return Some(whose);
    }
    rota.backup.iter().find(|backup| *backup != whose && !is_away(rota, backup, at))
}

pub(super) fn is_away(rota: &Rota, who: &PersonName, at: Moment) -> bool {
    rota.away.iter().any(|away| away.person == *who && away.from <= at && at < away.until)
}

/// Whoever may step in between two moments: a calendar of twenty years is not looked at whole.
fn near(rota: &Rota, from: Moment, until: Moment) -> Vec<&Instead> {
    let Planned { count, longest } = rota.planned;
    let (planned, more) = rota.instead.split_at(count.min(rota.instead.len()));
    let first = planned.partition_point(|one| one.from + longest <= from);
    let last = planned.partition_point(|one| one.from < until);
    planned.get(first..last).unwrap_or_default().iter().chain(more).collect()
}

/// Of several who step in at once, the one written last: an amendment follows what it amends.
fn instead_at<'r>(instead: &[&'r Instead], at: Moment) -> Option<&'r PersonName> {
    instead
        .iter()
        .rfind(|instead| instead.from <= at && at < instead.until)
        .map(|instead| &instead.person)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::cron::Cron;
    use crate::plain::moment::Span;
    use crate::rota::written::{at, instead, rota, zone};

    /// Start and end of the shift from 22:00 to 06:00 by the wall, and its minutes. Rows SH-01 to
    /// SH-08 of the project's standards notes: RFC 5545 section 3.3.5 applied to the IANA time zone
    /// data 2026f, computed with other code than this program's.
    const NIGHTS: &str = "
        SH-01  Europe/Dublin        2026-03-28  2026-03-28T22:00:00Z  2026-03-29T05:00:00Z  420
        SH-02  Europe/Dublin        2026-10-24  2026-10-24T21:00:00Z  2026-10-25T06:00:00Z  540
        SH-03  America/Denver       2026-03-07  2026-03-08T05:00:00Z  2026-03-08T12:00:00Z  420
        SH-04  America/Denver       2026-10-31  2026-11-01T04:00:00Z  2026-11-01T13:00:00Z  540
        SH-05  Australia/Lord_Howe  2026-10-03  2026-10-03T11:30:00Z  2026-10-03T19:00:00Z  450
        SH-06  Australia/Lord_Howe  2026-04-04  2026-04-04T11:00:00Z  2026-04-04T19:30:00Z  510
        SH-07  America/Edmonton     2026-10-31  2026-11-01T04:00:00Z  2026-11-01T12:00:00Z  480
        SH-08  Africa/Casablanca    2026-09-19  2026-09-19T21:00:00Z  2026-09-20T06:00:00Z  540";

    #[test]
    fn a_night_shift_has_its_true_length_at_every_clock_change() {
        let night = rota("night", "22:00", "06:00", &["Ana"]);
        let mut checked = 0;
        for line in NIGHTS.trim().lines() {
            let row: Vec<&str> = line.split_whitespace().collect();
            let stretches = stretches(&night, &zone(row[1]), row[2].parse().unwrap());
            let [shift] = stretches[..] else {
                panic!("{}: one stretch, not {stretches:?}", row[0]);
            };
            assert_eq!((shift.from, shift.until), (at(row[3]), at(row[4])), "{}", row[0]);
            let minutes = Span::minutes(row[5].parse().unwrap());
            assert_eq!(shift.until.since(shift.from), minutes, "{}", row[0]);
            checked += 1;
        }
        assert_eq!(checked, 8);
    }

    #[test]
    fn turns_are_counted_from_since_and_before_it_too() {
        let mut night = rota("night", "22:00", "06:00", &["Ana", "Tom", "Rosa"]);
        night.since = "2026-11-25".parse().unwrap(); // a Wednesday
        for (change, day, person) in [
            (Change::Day, "2026-11-25", "Ana"),
            (Change::Day, "2026-11-26", "Tom"),
            (Change::Day, "2026-11-28", "Ana"),
            (Change::Day, "2026-11-24", "Rosa"),
            (Change::Day, "2026-11-22", "Ana"),
            (Change::Week, "2026-12-01", "Ana"),
            (Change::Week, "2026-12-02", "Tom"),
            (Change::Week, "2026-12-16", "Ana"),
            (Change::Week, "2026-11-24", "Rosa"),
            (Change::Week, "2026-11-18", "Rosa"),
            (Change::Week, "2026-11-17", "Tom"),
            (Change::Fortnight, "2026-12-08", "Ana"),
            (Change::Fortnight, "2026-12-09", "Tom"),
            (Change::Fortnight, "2026-11-24", "Rosa"),
            (Change::Fortnight, "2026-11-10", "Tom"),
        ] {
            night.change = change.clone();
            let found = turn(&night, day.parse().unwrap()).unwrap();
            assert_eq!(found.as_str(), person, "{change:?} {day}");
        }
    }

    #[test]
    fn turns_by_a_cron_line_change_when_the_wall_says_it() {
        let mut night = rota("night", "22:00", "06:00", &["Ana", "Tom", "Rosa"]);
        night.since = "2026-11-25".parse().unwrap(); // a Wednesday
        for (line, day, person) in [
            // Noon of Friday: the night of Friday is the next one's.
            ("0 12 * * fri", "2026-11-25", "Ana"),
            ("0 12 * * fri", "2026-11-26", "Ana"),
            ("0 12 * * fri", "2026-11-27", "Tom"),
            ("0 12 * * fri", "2026-12-03", "Tom"),
            ("0 12 * * fri", "2026-12-04", "Rosa"),
            ("0 12 * * fri", "2026-12-11", "Ana"),
            ("0 12 * * fri", "2026-11-20", "Ana"),
            ("0 12 * * fri", "2026-11-19", "Rosa"),
            // With the shift's own beginning, and after it.
            ("0 22 * * fri", "2026-11-27", "Tom"),
            ("1 22 * * fri", "2026-11-27", "Ana"),
            ("1 22 * * fri", "2026-11-28", "Tom"),
            // The first and the fifteenth; never.
            ("0 0 1,15 * *", "2026-11-30", "Ana"),
            ("0 0 1,15 * *", "2026-12-01", "Tom"),
            ("0 0 1,15 * *", "2026-12-15", "Rosa"),
            ("0 0 31 2 *", "2031-02-28", "Ana"),
        ] {
            night.change = Change::Cron(Cron::read(line).unwrap());
            let found = turn(&night, day.parse().unwrap()).unwrap();
            assert_eq!(found.as_str(), person, "{line} {day}");
        }
    }

    /// Rows SH-07 and SH-08 again with the IANA time zone data 2025b, which do not know the laws of 2026: the tables of
    /// the Python package tzdata 2025.2 (public domain). Each night differs by just an hour.
    #[test]
    fn zone_data_of_2025_have_two_nights_of_another_length() {
        let night = rota("night", "22:00", "06:00", &["Ana"]);
        for (old, name, day, minutes, minutes_of_2025b) in [
            (EDMONTON, "America/Edmonton", "2026-10-31", 480, 540),
            (CASABLANCA, "Africa/Casablanca", "2026-09-19", 540, 480),
        ] {
            for (zone, minutes) in
                [(zone(name), minutes), (Zone::of_data(name, old), minutes_of_2025b)]
            {
                let stretches = stretches(&night, &zone, day.parse().unwrap());
                assert_eq!(
                    stretches[0].until.since(stretches[0].from),
                    Span::minutes(minutes),
                    "{name}"
                );
            }
        }
    }

    const EDMONTON: &[u8] = include_bytes!("../../tests/zones/2025b_Edmonton.tzif");
    const CASABLANCA: &[u8] = include_bytes!("../../tests/zones/2025b_Casablanca.tzif");

    #[test]
    fn a_shift_that_two_people_share_is_cut_where_one_takes_over() {
        let dublin = zone("Europe/Dublin");
        let mut night = rota("night", "22:00", "06:00", &["Ana"]);
        night.instead = vec![
            instead("2026-11-25T23:00:00Z", "2026-11-26T03:00:00Z", "Tom"),
            instead("2026-11-26T01:00:00Z", "2026-11-26T02:00:00Z", "Rosa"),
            instead("2026-11-26T04:00:00Z", "2026-11-26T05:00:00Z", "Ana"),
            instead("2026-11-26T06:00:00Z", "2026-11-27T05:00:00Z", "Rosa"),
        ];
        let found: Vec<(String, &str)> = stretches(&night, &dublin, "2026-11-25".parse().unwrap())
            .iter()
            .map(|s| {
                let hours = format!("{}-{}", dublin.clock(s.from), dublin.clock(s.until));
                (hours, s.person.unwrap().as_str())
            })
            .collect();
        let expected = [
            ("22:00-23:00", "Ana"),
            ("23:00-01:00", "Tom"),
            ("01:00-02:00", "Rosa"),
            ("02:00-03:00", "Tom"),
            ("03:00-06:00", "Ana"),
        ];
        assert_eq!(found, expected.map(|(hours, who)| (hours.to_owned(), who)));
    }

    #[test]
    fn an_end_at_or_before_the_start_is_on_the_next_day() {
        let utc = Zone::utc();
        for (start, end, hours) in [
            ("06:00", "22:00", 16),
            ("22:00", "06:00", 8),
            ("06:00", "06:00", 24),
            ("00:00", "00:00", 24),
        ] {
            let rota = rota("any", start, end, &["Ana"]);
            let found = stretches(&rota, &utc, "2026-11-25".parse().unwrap());
            assert_eq!(found[0].until.since(found[0].from), Span::hours(hours));
        }
    }
}
