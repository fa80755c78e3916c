//! The hours in which nobody at all is on duty, or nobody else behind them. It only says so; who is told is not its
//! business.

use jiff::civil::Time;

use super::on_duty;
use super::shift::{days_around, stretch_at, stretches};
use crate::config::people::Rota;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// How far the search goes: a year and a month shows every clock change and a whole round of turns.
pub const LOOK_MAX: Span = Span::days(400);

/// The spans between `from` and `until` that no shift covers, in order, half-open and apart from
/// each other. It looks `LOOK_MAX` ahead and no further.
pub fn uncovered(
    rotas: &[Rota],
    zone: &Zone,
    from: Moment,
    until: Moment,
) -> Vec<(Moment, Moment)> {
    let until = until.min(from + LOOK_MAX);
    let days = until.since(from).whole_seconds() / 86_400 + 1;
    let days = i16::try_from(days).unwrap_or(0);
    let mut covered: Vec<(Moment, Moment)> = rotas
        .iter()
        .flat_map(|rota| {
            days_around(zone, from, days).flat_map(move |day| stretches(rota, zone, day))
        })
        .filter(|stretch| stretch.person.is_some())
        .map(|stretch| (stretch.from, stretch.until))
        .collect();
    covered.sort_unstable();
    let mut gaps = Vec::new();
    let mut open = from;
    for (begins, ends) in covered {
        if open < begins && open < until {
            gaps.push((open, begins.min(until)));
        }
        open = open.max(ends);
    }
    if open < until {
        gaps.push((open, until));
    }
    gaps
}

/// Hours in which somebody ought to be on duty, with somebody else behind them, and is not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hole {
    pub from: Moment,
    pub until: Moment,
    /// The rota whose shift it is; `None` where none has one.
    pub rota: Option<String>,
    /// Nobody is on duty; else nobody else backs them up.
    pub nobody: bool,
}

/// What is asked of the rotas.
pub struct Wanted<'w> {
    pub rotas: &'w [Rota],
    pub zone: &'w Zone,
    /// The hours of every day that are to be covered; else those of the rotas' own shifts, and backed where they
    /// name any backup.
    pub covered: Option<(Time, Time)>,
    /// Whether a person is to be counted on then: one who has not proven to be reached may not be.
    pub counts: &'w dyn Fn(&PersonName, Moment) -> bool,
}

impl Wanted<'_> {
    /// The holes of which some part lies between two moments, whole, in order; at most `LOOK_MAX` ahead. Who has a
    /// shift may change at its bounds alone, so that each stretch between two of them is asked once and every second
    /// of it is answered.
    pub fn holes(&self, from: Moment, until: Moment) -> Vec<Hole> {
        let until = until.min(from + LOOK_MAX);
        if until <= from {
            return Vec::new();
        }
        let bounds = self.bounds(from, until);
        let mut holes: Vec<Hole> = Vec::new();
        for pair in bounds.windows(2).filter(|pair| pair[0] < until) {
            let Some((rota, nobody)) = self.lacks(pair[0]) else { continue };
            match holes.last_mut() {
                Some(last)
                    if last.until == pair[0] && last.nobody == nobody && last.rota == rota =>
                {
                    last.until = pair[1];
                }
                Some(_) | None => holes.push(Hole { from: pair[0], until: pair[1], rota, nobody }),
            }
        }
        holes.retain(|hole| hole.until > from);
        holes
    }

    /// Every instant at which something may change, from before `from` to after `until`.
    fn bounds(&self, from: Moment, until: Moment) -> Vec<Moment> {
        let days = until.since(from).whole_seconds() / 86_400 + 1;
        let days = i16::try_from(days).unwrap_or(0);
        let mut bounds: Vec<Moment> = Vec::new();
        for day in days_around(self.zone, from, days) {
            for rota in self.rotas {
                let all = stretches(rota, self.zone, day).into_iter();
                bounds.extend(all.flat_map(|stretch| [stretch.from, stretch.until]));
            }
            if let Some((begin, end)) = self.covered {
                let both = [begin, end].map(|time| self.zone.instant(day.to_datetime(time)));
                bounds.extend(both);
            }
        }
        // Who backs up may change while a shift goes on.
        let away = self.rotas.iter().flat_map(|rota| &rota.away);
        bounds.extend(away.flat_map(|away| [away.from, away.until]));
        bounds.sort_unstable();
        bounds.dedup();
        bounds
    }

    /// Whose shift lacks somebody, and whether it is nobody at all.
    fn lacks(&self, at: Moment) -> Option<(Option<String>, bool)> {
        let duty = on_duty(self.rotas, self.zone, at);
        let counts = |person: &&PersonName| (self.counts)(person, at);
        let mut on: Vec<&PersonName> = duty.people.iter().map(|one| &one.person).collect();
        on.retain(counts);
        let shifts: Vec<&Rota> =
            self.rotas.iter().filter(|rota| is_on(rota, self.zone, at)).collect();
        let wanted = match self.covered {
            Some(hours) => is_within(self.zone, hours, at),
            None => !shifts.is_empty(),
        };
        let name = || shifts.first().map(|rota| rota.name.clone());
        let Some(first) = on.first() else { return wanted.then(|| (name(), true)) };
        let two_on = on.iter().any(|other| other != first);
        let backed = duty.backup.iter().any(|person| counts(&person) && person != *first);
        let asks = self.covered.is_some() || shifts.iter().any(|rota| !rota.backup.is_empty());
        let alone = wanted && asks && !two_on && !backed;
        alone.then(|| (duty.people.first().map(|one| one.rota.clone()).or_else(name), false))
    }
}

/// Between the events of a calendar nobody is wanted.
fn is_on(rota: &Rota, zone: &Zone, at: Moment) -> bool {
    stretch_at(rota, zone, at)
        .is_some_and(|stretch| rota.calendar.is_none() || stretch.person.is_some())
}

/// The same time twice is the whole day. A bound is the instant that it is resolved to, as a shift's is.
fn is_within(zone: &Zone, (begin, end): (Time, Time), at: Moment) -> bool {
    days_around(zone, at, 0).any(|day| {
        let last = if end <= begin { day.tomorrow().unwrap_or(day) } else { day };
        let (from, until) =
            (zone.instant(day.to_datetime(begin)), zone.instant(last.to_datetime(end)));
        from <= at && at < until
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::people::Away;
    use crate::rota::written::{at, instead, rota, zone, zones};
    use jiff::civil::Weekday;
    use proptest::prelude::*;

    fn holes(rotas: &[Rota], covered: Option<(&str, &str)>, from: &str, until: &str) -> Vec<Hole> {
        let covered = covered.map(|(begin, end)| (begin.parse().unwrap(), end.parse().unwrap()));
        let zone = zone("Europe/Dublin");
        Wanted { rotas, zone: &zone, covered, counts: &|_, _| true }.holes(at(from), at(until))
    }

    fn hole(from: &str, until: &str, rota: &str, nobody: bool) -> Hole {
        let rota = (!rota.is_empty()).then(|| rota.to_owned());
        Hole { from: at(from), until: at(until), rota, nobody }
    }

    #[test]
    fn a_night_alone_with_a_backup_leaves_no_hole_in_its_own_hours() {
        let mut night = rota("night", "22:00", "06:00", &["Ana", "Tom"]);
        night.backup = vec!["Rosa".into()];
        let rotas = [night];
        assert_eq!(holes(&rotas, None, "2026-11-24T12:00:00Z", "2027-11-24T12:00:00Z"), []);
        // Hours that are to be covered and are no shift's are one hole a day, in the days of clock changes too.
        let wanted = Some(("20:00", "06:00"));
        let found = holes(&rotas, wanted, "2026-11-24T12:00:00Z", "2027-11-24T12:00:00Z");
        assert_eq!(found.len(), 365);
        assert!(
            found.iter().all(|hole| hole.until.since(hole.from) == Span::hours(2) && hole.nobody)
        );
        assert_eq!(found[0], hole("2026-11-24T20:00:00Z", "2026-11-24T22:00:00Z", "", true));
    }

    #[test]
    fn whoever_stands_in_and_is_the_only_backup_leaves_nobody_behind() {
        let mut night = rota("night", "22:00", "06:00", &["Ana"]);
        night.backup = vec!["Rosa".into()];
        night.instead = vec![instead("2026-12-24T22:00:00Z", "2026-12-26T06:00:00Z", "Rosa")];
        let mut rotas = [night];
        let christmas = [
            hole("2026-12-24T22:00:00Z", "2026-12-25T06:00:00Z", "night", false),
            hole("2026-12-25T22:00:00Z", "2026-12-26T06:00:00Z", "night", false),
        ];
        assert_eq!(holes(&rotas, None, "2026-11-24T12:00:00Z", "2027-11-24T12:00:00Z"), christmas);
        // Seen from within it is the same hole.
        assert_eq!(
            holes(&rotas, None, "2026-12-25T23:00:00Z", "2026-12-25T23:01:00Z"),
            christmas[1..]
        );
        rotas[0].backup.push("Tom".into());
        assert_eq!(holes(&rotas, None, "2026-11-24T12:00:00Z", "2027-11-24T12:00:00Z"), []);
    }

    #[test]
    fn somebody_ill_leaves_a_hole_where_nobody_else_can_come() {
        let mut night = rota("night", "22:00", "06:00", &["Ana"]);
        night.backup = vec!["Tom".into()];
        let away = |person: &str, from: &str, until: &str| Away {
            person: person.into(),
            from: at(from),
            until: at(until),
        };
        night.away = vec![
            away("Ana", "2026-11-25T12:00:00Z", "2026-11-27T06:00:00Z"),
            away("Tom", "2026-11-26T23:00:00Z", "2026-11-28T23:00:00Z"),
        ];
        let found = holes(&[night.clone()], None, "2026-11-24T12:00:00Z", "2026-12-24T12:00:00Z");
        assert_eq!(
            found,
            [
                hole("2026-11-25T22:00:00Z", "2026-11-26T06:00:00Z", "night", false),
                hole("2026-11-26T22:00:00Z", "2026-11-26T23:00:00Z", "night", false),
                hole("2026-11-26T23:00:00Z", "2026-11-27T06:00:00Z", "night", true),
                hole("2026-11-27T22:00:00Z", "2026-11-28T06:00:00Z", "night", false),
                hole("2026-11-28T22:00:00Z", "2026-11-28T23:00:00Z", "night", false),
            ]
        );
        // One who stands over the night fills it, and has no backup: whose night it is cannot come.
        let mut relief = rota("relief", "22:00", "06:00", &["Rosa"]);
        relief.over = Some("night".to_owned());
        relief.away = night.away.clone();
        let found = holes(&[night, relief], None, "2026-11-26T12:00:00Z", "2026-11-27T12:00:00Z");
        assert_eq!(found, [hole("2026-11-26T23:00:00Z", "2026-11-27T06:00:00Z", "relief", false)]);
    }

    #[test]
    fn whoever_does_not_count_covers_nothing() {
        let mut night = rota("night", "22:00", "06:00", &["Ana"]);
        night.backup = vec!["Tom".into()];
        let (rotas, utc) = ([night], Zone::utc());
        let found = |who: &'static str| {
            let counts = |person: &PersonName, _: Moment| person.as_str() != who;
            let wanted = Wanted { rotas: &rotas, zone: &utc, covered: None, counts: &counts };
            wanted.holes(at("2026-11-25T12:00:00Z"), at("2026-11-26T12:00:00Z"))
        };
        let (from, until) = ("2026-11-25T22:00:00Z", "2026-11-26T06:00:00Z");
        assert_eq!(found("Ana"), [hole(from, until, "night", true)]);
        assert_eq!(found("Tom"), [hole(from, until, "night", false)]);
        assert_eq!(found("Rosa"), []);
    }

    #[test]
    fn the_hours_between_two_nights_are_uncovered() {
        let dublin = zone("Europe/Dublin");
        let night = rota("night", "22:00", "06:00", &["Ana"]);
        // The night of the clock change is an hour short: 06:00 by the wall is 05:00Z from then on.
        let gaps =
            uncovered(&[night], &dublin, at("2026-03-28T00:00:00Z"), at("2026-03-30T12:00:00Z"));
        assert_eq!(
            gaps,
            [
                (at("2026-03-28T06:00:00Z"), at("2026-03-28T22:00:00Z")),
                (at("2026-03-29T05:00:00Z"), at("2026-03-29T21:00:00Z")),
                (at("2026-03-30T05:00:00Z"), at("2026-03-30T12:00:00Z")),
            ]
        );
    }

    #[test]
    fn a_night_left_out_is_found() {
        let mut night = rota("night", "22:00", "06:00", &["Ana"]);
        night.days.retain(|day| *day != Weekday::Sunday);
        let day = rota("day", "06:00", "22:00", &["Tom"]);
        let gaps = uncovered(
            &[night, day],
            &Zone::utc(),
            at("2026-11-23T00:00:00Z"),
            at("2026-12-07T00:00:00Z"),
        );
        assert_eq!(
            gaps,
            [
                // The night that began on Sunday the 22nd.
                (at("2026-11-23T00:00:00Z"), at("2026-11-23T06:00:00Z")),
                (at("2026-11-29T22:00:00Z"), at("2026-11-30T06:00:00Z")),
                (at("2026-12-06T22:00:00Z"), at("2026-12-07T00:00:00Z")),
            ]
        );
    }

    #[test]
    fn a_turn_that_names_nobody_covers_nothing() {
        let (from, until) = (at("2026-11-23T00:00:00Z"), at("2026-11-24T00:00:00Z"));
        assert_eq!(uncovered(&[], &Zone::utc(), from, until), [(from, until)]);
        let empty = rota("all", "06:00", "06:00", &[]);
        assert_eq!(
            uncovered(std::slice::from_ref(&empty), &Zone::utc(), from, until),
            [(from, until)]
        );
        let mut helped = empty;
        helped.instead = vec![instead("2026-11-23T05:00:00Z", "2026-11-23T09:00:00Z", "Rosa")];
        assert_eq!(
            uncovered(&[helped], &Zone::utc(), from, until),
            [(from, at("2026-11-23T05:00:00Z")), (at("2026-11-23T09:00:00Z"), until)]
        );
        assert_eq!(uncovered(&[], &Zone::utc(), until, from), []);
    }

    #[test]
    fn two_shifts_that_share_a_day_leave_nothing_uncovered_for_a_year_anywhere() {
        let rotas =
            [rota("night", "22:00", "06:00", &["Ana"]), rota("day", "06:00", "22:00", &["Tom"])];
        for zone in zones() {
            let from = at("2026-01-01T00:00:00Z");
            assert_eq!(uncovered(&rotas, &zone, from, from + LOOK_MAX), [], "{}", zone.name());
        }
    }

    #[test]
    fn the_search_ends_at_its_limit() {
        let from = at("2026-01-01T00:00:00Z");
        assert_eq!(
            uncovered(&[], &Zone::utc(), from, Moment::from_millis(i64::MAX)),
            [(from, from + LOOK_MAX)]
        );
    }

    proptest! {
        #[test]
        fn an_instant_is_uncovered_exactly_when_nobody_is_on_duty(
            shifts in prop::collection::vec((0..24_i32, 0..24_i32, any::<u8>(), any::<bool>()), 0..4),
            zone in prop::sample::select(zones()),
            from in 1_767_225_600_i64..1_830_297_600, // 2026 and 2027
            hours in 1..300_i64,
            within in 0.0..1.0_f64,
        ) {
            let rotas: Vec<_> = shifts
                .iter()
                .map(|(start, end, days, anybody)| {
                    let mut rota = rota("any", &format!("{start:02}:00"), &format!("{end:02}:30"), &[]);
                    if *anybody {
                        rota.turn = vec![PersonName::new("Ana")];
                    }
                    let mut place = 0;
                    rota.days.retain(|_| {
                        place += 1;
                        days >> place & 1 == 1
                    });
                    rota
                })
                .collect();
            let from = Moment::from_seconds(from);
            let until = from + Span::hours(hours);
            let gaps = uncovered(&rotas, &zone, from, until);
            prop_assert!(gaps.iter().all(|(a, b)| from <= *a && a < b && *b <= until));
            prop_assert!(gaps.windows(2).all(|pair| pair[0].1 < pair[1].0));
            let length = until.since(from).millis() as f64;
            let at = from + Span::from_millis((length * within) as i64);
            let bare = gaps.iter().any(|(a, b)| *a <= at && at < *b);
            prop_assert_eq!(bare, on_duty(&rotas, &zone, at).people.is_empty());
        }
    }
}
