//! Row 2. Who is on duty, until when, and which hours nobody covers.
//!
//! Everything is computed from the settings and an instant each time it is asked: nothing is
//! remembered, so no swap can be missed. It does not decide who is told; the ladders do.

pub mod cover;
mod shift;
pub mod swap;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::config::people::Rota;
use crate::plain::ids::PersonName;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

use shift::{days_around, is_away, stretches};

/// How far ahead the next change is looked for. A rota with any day at all has a shift every week;
/// two weeks, because a skipped hour can swallow a short one.
const CHANGE_DAYS_MAX: i16 = 15;

/// Who is on duty at one instant, over all rotas.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Duty {
    /// In the rotas' own order. A person on two rotas is named twice.
    pub people: Vec<OnShift>,
    /// Those who back up a shift that is on now, each once, in the settings' order.
    pub backup: Vec<PersonName>,
}

/// A person on a shift, from when and until when it is theirs: half-open.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OnShift {
    pub person: PersonName,
    pub rota: String,
    pub from: Moment,
    pub until: Moment,
}

pub fn on_duty(rotas: &[Rota], zone: &Zone, at: Moment) -> Duty {
    let mut duty = Duty::default();
    for rota in rotas {
        let Some(stretch) = days_around(zone, at, 0)
            .flat_map(|day| stretches(rota, zone, day))
            .find(|stretch| stretch.from <= at && at < stretch.until)
        else {
            continue;
        };
        let on = stretch.person;
        if let Some(person) = on {
            duty.people.push(OnShift {
                person: person.clone(),
                rota: rota.name.clone(),
                from: stretch.from,
                until: stretch.until,
            });
        }
        for person in &rota.backup {
            let free = Some(person) != on && !is_away(rota, person, at);
            if free && !duty.backup.contains(person) {
                duty.backup.push(person.clone());
            }
        }
    }
    layer(rotas, &mut duty);
    duty
}

/// A shift, or the part of one that a single person takes, as a calendar shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    pub rota: String,
    pub from: Moment,
    pub until: Moment,
    /// Nobody, if nobody takes it.
    pub person: Option<PersonName>,
    /// Those who back it up when it begins.
    pub backup: Vec<PersonName>,
}

/// The shifts that begin on a day, by their beginning.
pub fn of_day(rotas: &[Rota], zone: &Zone, day: Date) -> Vec<Entry> {
    let mut entries: Vec<Entry> = rotas
        .iter()
        .flat_map(|rota| {
            stretches(rota, zone, day).into_iter().map(|stretch| {
                let (from, until) = (stretch.from, stretch.until);
                let free =
                    |who: &&PersonName| Some(*who) != stretch.person && !is_away(rota, who, from);
                Entry {
                    rota: rota.name.clone(),
                    from,
                    until,
                    person: stretch.person.cloned(),
                    backup: rota.backup.iter().filter(free).cloned().collect(),
                }
            })
        })
        .collect();
    entries.sort_by_key(|entry| entry.from);
    entries
}

/// Whether somebody cannot come, by their own word.
pub fn cannot_come(rotas: &[Rota], who: &PersonName, at: Moment) -> bool {
    rotas.iter().any(|rota| is_away(rota, who, at))
}

/// The shift, or the part of one, of a person that begins on a day and is not over at `now`.
pub fn shift_of(
    rotas: &[Rota],
    zone: &Zone,
    who: &PersonName,
    day: Date,
    now: Moment,
) -> Option<OnShift> {
    let theirs = rotas.iter().flat_map(|rota| {
        let mine = stretches(rota, zone, day).into_iter();
        mine.filter(|stretch| stretch.person == Some(who) && stretch.until > now).map(|stretch| {
            let (rota, from, until) = (rota.name.clone(), stretch.from, stretch.until);
            OnShift { person: who.clone(), rota, from, until }
        })
    });
    theirs.min_by_key(|shift| shift.from)
}

/// Where a rota stands over another, its person is on alone, and the other's backs them up.
fn layer(rotas: &[Rota], duty: &mut Duty) {
    let over = |name: &str| rotas.iter().find(|rota| rota.name == name)?.over.clone();
    let lower: Vec<String> = duty.people.iter().filter_map(|on| over(&on.rota)).collect();
    let (down, up) =
        std::mem::take(&mut duty.people).into_iter().partition(|on| lower.contains(&on.rota));
    duty.people = up;
    let down: Vec<OnShift> = down;
    for (at, on) in down.into_iter().enumerate() {
        duty.backup.retain(|person| *person != on.person);
        duty.backup.insert(at.min(duty.backup.len()), on.person);
    }
}

/// The next instant after `at` at which the answer of `on_duty` may differ: until then it may be
/// kept. `None` if it never will.
pub fn next_change(rotas: &[Rota], zone: &Zone, at: Moment) -> Option<Moment> {
    rotas
        .iter()
        .filter_map(|rota| {
            // Stretches come in order, so the first bound that lies ahead is the nearest.
            days_around(zone, at, CHANGE_DAYS_MAX)
                .flat_map(|day| stretches(rota, zone, day))
                .flat_map(|stretch| [stretch.from, stretch.until])
                .find(|bound| *bound > at)
        })
        .min()
}

#[cfg(test)]
mod tests {
    use super::written::{at, instead, rota, zone, zones};
    use super::*;
    use crate::config::people::Change;
    use crate::plain::moment::Span;
    use jiff::civil::Weekday;
    use proptest::prelude::*;

    #[test]
    fn the_settings_own_example_says_who_is_on_at_any_hour() {
        let dublin = zone("Europe/Dublin");
        let mut night = rota("night", "22:00", "06:00", &["Ana", "Tom"]);
        night.backup = vec!["Rosa".into()];
        night.instead = vec![instead("2026-12-24T22:00:00Z", "2026-12-26T06:00:00Z", "Rosa")];
        for (when, expected) in [
            ("2026-11-25T21:59:59Z", None),
            ("2026-11-25T22:00:00Z", Some(("Ana", "2026-11-25T22:00:00Z", "2026-11-26T06:00:00Z"))),
            ("2026-11-26T05:59:59Z", Some(("Ana", "2026-11-25T22:00:00Z", "2026-11-26T06:00:00Z"))),
            ("2026-11-26T06:00:00Z", None),
            // The week from Monday the 30th is Tom's; Sunday night still belongs to Sunday.
            ("2026-11-30T05:00:00Z", Some(("Ana", "2026-11-29T22:00:00Z", "2026-11-30T06:00:00Z"))),
            ("2026-11-30T22:00:00Z", Some(("Tom", "2026-11-30T22:00:00Z", "2026-12-01T06:00:00Z"))),
            (
                "2026-12-25T02:00:00Z",
                Some(("Rosa", "2026-12-24T22:00:00Z", "2026-12-25T06:00:00Z")),
            ),
            ("2026-12-26T22:00:00Z", Some(("Ana", "2026-12-26T22:00:00Z", "2026-12-27T06:00:00Z"))),
        ] {
            let duty = on_duty(std::slice::from_ref(&night), &dublin, at(when));
            let people = expected.map(|(person, from, until)| OnShift {
                person: person.into(),
                rota: "night".to_owned(),
                from: at(from),
                until: at(until),
            });
            // Nobody backs themselves up.
            let rosa = PersonName::new("Rosa");
            let backed = people.as_ref().filter(|on| on.person != rosa);
            let backup = Vec::from_iter(backed.map(|_| rosa.clone()));
            let people = Vec::from_iter(people);
            assert_eq!(duty, Duty { people, backup }, "{when}");
        }
    }

    #[test]
    fn a_swap_may_begin_and_end_inside_a_shift() {
        let utc = Zone::utc();
        let mut night = rota("night", "22:00", "06:00", &["Ana"]);
        night.instead = vec![instead("2026-11-26T01:00:00Z", "2026-11-26T03:30:00Z", "Tom")];
        let rotas = [night];
        for (when, person, from, until) in [
            ("2026-11-26T00:59:59Z", "Ana", "2026-11-25T22:00:00Z", "2026-11-26T01:00:00Z"),
            ("2026-11-26T01:00:00Z", "Tom", "2026-11-26T01:00:00Z", "2026-11-26T03:30:00Z"),
            ("2026-11-26T03:30:00Z", "Ana", "2026-11-26T03:30:00Z", "2026-11-26T06:00:00Z"),
        ] {
            let duty = on_duty(&rotas, &utc, at(when));
            let [on] = &duty.people[..] else {
                panic!("one person at {when}, not {duty:?}");
            };
            assert_eq!(on.person.as_str(), person);
            assert_eq!((on.from, on.until), (at(from), at(until)));
            assert_eq!(next_change(&rotas, &utc, at(when)), Some(at(until)));
        }
    }

    #[test]
    fn several_rotas_at_once_are_all_on() {
        let mut yard = rota("yard", "18:00", "23:00", &["Tom"]);
        yard.backup = vec!["Ana".into(), "Rosa".into()];
        let mut night = rota("night", "22:00", "06:00", &["Ana"]);
        night.backup = vec!["Rosa".into()];
        let rotas = [yard, night];
        let duty = on_duty(&rotas, &Zone::utc(), at("2026-11-25T22:30:00Z"));
        let people: Vec<(&str, &str)> =
            duty.people.iter().map(|on| (on.person.as_str(), &*on.rota)).collect();
        assert_eq!(people, [("Tom", "yard"), ("Ana", "night")]);
        assert_eq!(duty.backup, ["Ana".into(), "Rosa".into()]);
    }

    #[test]
    fn a_shift_belongs_to_the_day_on_which_it_starts() {
        let mut weekend = rota("weekend", "22:00", "06:00", &["Ana"]);
        weekend.days = vec![Weekday::Saturday, Weekday::Sunday];
        let on = |when: &str| {
            let duty = on_duty(std::slice::from_ref(&weekend), &Zone::utc(), at(when));
            !duty.people.is_empty()
        };
        // 2026-11-28 is a Saturday.
        assert!(!on("2026-11-28T05:00:00Z"));
        assert!(on("2026-11-28T23:00:00Z"));
        assert!(on("2026-11-29T05:00:00Z"));
        assert!(on("2026-11-30T05:00:00Z"));
        assert!(!on("2026-12-01T05:00:00Z"));
    }

    #[test]
    fn a_rota_that_names_nobody_is_on_with_nobody_save_for_who_steps_in() {
        let mut empty = rota("night", "22:00", "06:00", &[]);
        empty.instead = vec![instead("2026-11-25T22:00:00Z", "2026-11-26T06:00:00Z", "Tom")];
        let rotas = [empty];
        let on = |when: &str| on_duty(&rotas, &Zone::utc(), at(when)).people.len();
        assert_eq!(on("2026-11-25T23:00:00Z"), 1);
        assert_eq!(on("2026-11-26T23:00:00Z"), 0);
    }

    #[test]
    fn the_next_change_is_the_next_bound_of_any_shift() {
        let dublin = zone("Europe/Dublin");
        let mut sunday = rota("sunday", "08:00", "12:00", &["Tom"]);
        sunday.days = vec![Weekday::Sunday];
        let rotas = [sunday];
        let next = |when: &str| next_change(&rotas, &dublin, at(when));
        // 2026-11-29 is a Sunday.
        assert_eq!(next("2026-11-29T08:00:00Z"), Some(at("2026-11-29T12:00:00Z")));
        assert_eq!(next("2026-11-29T12:00:00Z"), Some(at("2026-12-06T08:00:00Z")));
        assert_eq!(next_change(&[], &dublin, at("2026-11-29T12:00:00Z")), None);
        let mut never = rota("never", "08:00", "12:00", &["Tom"]);
        never.days.clear();
        assert_eq!(next_change(&[never], &dublin, at("2026-11-29T12:00:00Z")), None);
    }

    #[test]
    fn an_instant_outside_the_calendar_has_nobody_on_duty_ahead() {
        let rotas = [rota("night", "22:00", "06:00", &["Ana"])];
        for millis in [i64::MAX, 253_402_300_799_000] {
            let at = Moment::from_millis(millis);
            assert!(next_change(&rotas, &Zone::utc(), at).is_none_or(|next| next > at));
            assert!(on_duty(&rotas, &Zone::utc(), at).people.len() <= 1);
        }
        let _ = on_duty(&rotas, &Zone::utc(), Moment::from_millis(i64::MIN));
    }

    #[test]
    fn two_shifts_that_share_a_day_leave_no_gap_and_no_overlap_at_any_bound_of_two_years() {
        // One and only one on call for every second: RFC 5545 section 3.3.5 with the IANA time zone
        // data 2026f. 2011-12 has Apia's day of no length, 2018-11 to 2019-02 São Paulo's clock
        // changes at midnight.
        let rotas = [
            rota("night", "22:00", "06:00", &["Ana", "Tom"]),
            rota("day", "06:00", "22:00", &["Rosa"]),
        ];
        for (from, until) in [
            ("2026-01-01T00:00:00Z", "2028-01-01T00:00:00Z"),
            ("2011-12-25T00:00:00Z", "2012-01-05T00:00:00Z"),
            ("2018-11-01T00:00:00Z", "2019-02-20T00:00:00Z"),
        ] {
            for zone in zones() {
                let (mut moment, mut bounds) = (at(from), 0);
                while moment < at(until) {
                    let next = next_change(&rotas, &zone, moment).unwrap();
                    assert!(next > moment && next.since(moment) <= Span::hours(25));
                    let [before, on, after] =
                        [-1, 0, 1].map(|s| only(&rotas, &zone, next + Span::seconds(s)));
                    assert_eq!(before.until, on.from, "{} {}", zone.name(), next.rfc3339());
                    assert_eq!((next, &after), (on.from, &on));
                    assert_ne!(before.rota, on.rota);
                    (moment, bounds) = (next, bounds + 1);
                }
                let days = at(until).since(at(from)).whole_seconds() / 86_400;
                assert!(bounds >= 2 * days - 2, "{}: {bounds} bounds", zone.name());
            }
        }
    }

    #[test]
    fn two_shifts_split_inside_a_skipped_or_doubled_hour_leave_no_gap_and_no_overlap() {
        // Clock changes from the IANA time zone data: an hour and half an hour, both ways; at
        // midnight, both ways; a minute past midnight, backwards; a whole day skipped.
        for (name, change) in [
            ("Europe/Dublin", "2026-03-29T01:00:00Z"),
            ("Europe/Dublin", "2026-10-25T01:00:00Z"),
            ("Australia/Lord_Howe", "2026-10-03T15:30:00Z"),
            ("Australia/Lord_Howe", "2026-04-04T15:00:00Z"),
            ("America/Sao_Paulo", "2018-11-04T03:00:00Z"),
            ("America/Sao_Paulo", "2019-02-17T02:00:00Z"),
            ("America/St_Johns", "2006-10-29T02:31:00Z"),
            ("Pacific/Apia", "2011-12-30T10:00:00Z"),
        ] {
            let (zone, change) = (zone(name), at(change));
            let before = zone.stamp(change - Span::seconds(1));
            assert_ne!(before[20..], zone.stamp(change)[20..], "{name} has a change");
            let splits: Vec<String> = [22, 23, 0, 1, 2, 3]
                .iter()
                .flat_map(|hour| [format!("{hour:02}:00"), format!("{hour:02}:30")])
                .collect();
            for (first, second) in splits
                .iter()
                .flat_map(|first| splits.iter().map(move |second| (first, second)))
                .filter(|(first, second)| first != second)
            {
                let rotas =
                    [rota("one", first, second, &["Ana"]), rota("other", second, first, &["Tom"])];
                for quarter in -16..=16 {
                    let moment = change + Span::minutes(15 * quarter);
                    let on = only(&rotas, &zone, moment);
                    assert!(on.from <= moment && moment < on.until);
                    assert_eq!(only(&rotas, &zone, on.until).from, on.until);
                }
            }
        }
    }

    #[test]
    fn an_end_pushed_on_by_a_skipped_hour_yields_to_the_next_start() {
        // Dublin has no 01:30 on 2026-03-29: read as 02:30 it would end after 02:00, the next start.
        let mut long = rota("long", "02:00", "01:30", &["Ana", "Tom"]);
        long.change = Change::Day;
        long.since = "2026-03-28".parse().unwrap();
        let rotas = [long];
        let dublin = zone("Europe/Dublin");
        let ana = only(&rotas, &dublin, at("2026-03-29T00:59:59Z"));
        assert_eq!(ana.person.as_str(), "Ana");
        assert_eq!(ana.until, at("2026-03-29T01:00:00Z"));
        let tom = only(&rotas, &dublin, at("2026-03-29T01:15:00Z"));
        assert_eq!(tom.person.as_str(), "Tom");
        assert_eq!(tom.from, at("2026-03-29T01:00:00Z"));
    }

    proptest! {
        #[test]
        fn two_shifts_that_share_a_day_leave_no_gap_wherever_they_are_split(
            first in 0..24 * 60 * 60_i32,
            second in 0..24 * 60 * 60_i32,
            zone in prop::sample::select(zones()),
            seconds in 1_262_304_000_i64..1_893_456_000, // 2010 to 2029
        ) {
            prop_assume!(first != second);
            let clock = |seconds: i32| {
                format!("{:02}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60)
            };
            let rotas = [
                rota("one", &clock(first), &clock(second), &["Ana"]),
                rota("other", &clock(second), &clock(first), &["Tom"]),
            ];
            let moment = Moment::from_seconds(seconds);
            let on = only(&rotas, &zone, moment);
            prop_assert!(on.from <= moment && moment < on.until);
            prop_assert_eq!(next_change(&rotas, &zone, moment), Some(on.until));
            let last = on.until - Span::from_millis(1);
            prop_assert_eq!(&only(&rotas, &zone, last), &on);
            prop_assert_eq!(&only(&rotas, &zone, on.from), &on);
            prop_assert_eq!(only(&rotas, &zone, on.until).from, on.until);
        }
    }

    fn only(rotas: &[Rota], zone: &Zone, at: Moment) -> OnShift {
        let mut people = on_duty(rotas, zone, at).people;
        assert_eq!(people.len(), 1, "{} {}", zone.name(), at.rfc3339());
        people.remove(0)
    }
}

/// Rotas, instants and zones for the tests of this folder.
#[cfg(test)]
mod written {
    use super::*;
    use crate::config::people::{Change, Instead};
    use jiff::civil::Weekday;

    pub(super) fn at(text: &str) -> Moment {
        Moment::from_rfc3339(text).unwrap()
    }

    pub(super) fn zone(name: &str) -> Zone {
        Zone::named(name).unwrap()
    }

    /// Every day, by the week from Monday 2026-11-23.
    pub(super) fn rota(name: &str, start: &str, end: &str, turn: &[&str]) -> Rota {
        Rota {
            name: name.to_owned(),
            start: start.parse().unwrap(),
            end: end.parse().unwrap(),
            days: Weekday::Monday.cycle_forward().take(7).collect(),
            turn: turn.iter().map(|person| (*person).into()).collect(),
            change: Change::Week,
            since: "2026-11-23".parse().unwrap(),
            backup: vec![],
            instead: vec![],
            over: None,
            away: Vec::new(),
        }
    }

    pub(super) fn instead(from: &str, until: &str, person: &str) -> Instead {
        Instead { from: at(from), until: at(until), person: person.into() }
    }

    /// Shapes of clock change that the world has: none, an hour, half an hour, at midnight, a
    /// quarter-hour offset, laws that changed in 2026.
    pub(super) fn zones() -> Vec<Zone> {
        [
            "UTC",
            "Africa/Cairo",
            "Africa/Casablanca",
            "America/Argentina/Buenos_Aires",
            "America/Chicago",
            "America/Denver",
            "America/Edmonton",
            "America/Havana",
            "America/New_York",
            "America/Phoenix",
            "America/Santiago",
            "America/Sao_Paulo",
            "America/St_Johns",
            "America/Vancouver",
            "America/Winnipeg",
            "Asia/Kathmandu",
            "Asia/Kolkata",
            "Australia/Lord_Howe",
            "Australia/Sydney",
            "Europe/Berlin",
            "Europe/Chisinau",
            "Europe/Dublin",
            "Europe/London",
            "Pacific/Apia",
            "Pacific/Auckland",
            "Pacific/Chatham",
        ]
        .map(zone)
        .to_vec()
    }
}
