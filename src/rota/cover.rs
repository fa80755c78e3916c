//! The hours in which nobody at all is on duty.

use super::shift::{days_around, is_away, stretches};
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

/// A stretch of a shift that somebody ought to take or to back up and cannot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hole {
    pub from: Moment,
    pub until: Moment,
    pub rota: String,
    /// Nobody is on duty; else nobody backs them up.
    pub nobody: bool,
}

/// The first hole between two moments that people's own words have opened.
pub fn first_hole(rotas: &[Rota], zone: &Zone, from: Moment, until: Moment) -> Option<Hole> {
    let until = until.min(from + LOOK_MAX);
    let days = i16::try_from(until.since(from).whole_seconds() / 86_400 + 1).unwrap_or(0);
    let holes = rotas.iter().filter(|rota| !rota.away.is_empty() && !rota.turn.is_empty());
    let holes = holes.filter_map(|rota| {
        let mut all = days_around(zone, from, days).flat_map(|day| stretches(rota, zone, day));
        all.find_map(|stretch| {
            let (begins, ends) = (stretch.from.max(from), stretch.until);
            if ends <= begins || begins >= until {
                return None;
            }
            let nobody = stretch.person.is_none();
            let free = |backup: &&PersonName| {
                Some(*backup) != stretch.person && !is_away(rota, backup, begins)
            };
            let alone = !rota.backup.is_empty() && rota.backup.iter().find(free).is_none();
            let rota = rota.name.clone();
            (nobody || alone).then_some(Hole { from: begins, until: ends, rota, nobody })
        })
    });
    holes.min_by_key(|hole| hole.from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rota::on_duty;
    use crate::rota::written::{at, instead, rota, zone, zones};
    use jiff::civil::Weekday;
    use proptest::prelude::*;

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
