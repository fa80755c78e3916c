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

use shift::{Stretch, bounds, days_around, is_away, stretch_at, stretches, turn};

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
    let on = |rota| Some(On { rota, stretch: stretch_at(rota, zone, at)? });
    let on: Vec<On<'_>> = rotas.iter().filter_map(on).collect();
    let mut duty = Duty::default();
    for one in on.iter().filter(|one| one.above(&on).next().is_none()) {
        if let Some(person) = one.stretch.person {
            duty.people.push(OnShift {
                person: person.clone(),
                rota: one.rota.name.clone(),
                from: one.stretch.from,
                until: one.stretch.until,
            });
        }
    }
    let mut back = |one: &On<'_>, person: Option<&PersonName>| {
        let Some(person) = person else { return };
        // Nobody backs themselves up, nor whoever stands over their own shift.
        let on_already = one.is(person) || one.above(&on).any(|above| above.is(person));
        if !on_already && !is_away(one.rota, person, at) && !duty.backup.contains(person) {
            duty.backup.push(person.clone());
        }
    };
    for one in &on {
        let above =
            one.above(&on).find(|above| one.stretch.person.is_none_or(|who| !above.is(who)));
        if let Some(above) = above {
            back(above, one.stretch.person);
        }
    }
    for one in &on {
        one.rota.backup.iter().for_each(|person| back(one, Some(person)));
    }
    duty
}

/// A rota and its stretch at some instant.
struct On<'r> {
    rota: &'r Rota,
    stretch: Stretch<'r>,
}

impl<'r> On<'r> {
    fn is(&self, person: &PersonName) -> bool {
        self.stretch.person == Some(person)
    }

    /// Those that take its place: somebody is on in them.
    fn above<'o>(&self, all: &'o [On<'r>]) -> impl Iterator<Item = &'o On<'r>> + use<'o, 'r> {
        let name = self.rota.name.as_str();
        all.iter().filter(move |other| {
            other.stretch.person.is_some() && other.rota.over.as_deref() == Some(name)
        })
    }
}

/// A shift, or the part of one that a single person takes, as a calendar shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    pub rota: String,
    pub from: Moment,
    pub until: Moment,
    /// Nobody, if nobody takes it.
    pub person: Option<PersonName>,
    /// Whose turn it is by the settings, if somebody else takes it.
    pub turn: Option<PersonName>,
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
                    turn: turn(rota, day).filter(|who| Some(*who) != stretch.person).cloned(),
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

/// The first shift, or part of one, that is a person's and of a shift that begins on a day.
pub fn shift_of(rotas: &[Rota], zone: &Zone, who: &PersonName, day: Date) -> Option<OnShift> {
    let theirs = rotas.iter().flat_map(|rota| {
        let all = stretches(rota, zone, day).into_iter();
        all.filter(|stretch| stretch.person == Some(who)).map(|stretch| {
            let (rota, from, until) = (rota.name.clone(), stretch.from, stretch.until);
            OnShift { person: who.clone(), rota, from, until }
        })
    });
    theirs.min_by_key(|shift| shift.from)
}

/// Whether a shift is somebody's from its beginning to its end.
pub fn is_theirs(rotas: &[Rota], zone: &Zone, shift: &OnShift, who: &PersonName) -> bool {
    let Some(rota) = rotas.iter().find(|rota| rota.name == shift.rota) else { return false };
    let mut around = days_around(zone, shift.from, 0).flat_map(|day| stretches(rota, zone, day));
    around.any(|stretch| {
        stretch.person == Some(who) && stretch.from <= shift.from && shift.until <= stretch.until
    })
}

/// When whatever shift somebody has at `at` ends; `at` if they have none.
pub fn end_of_shift(rotas: &[Rota], zone: &Zone, who: &PersonName, at: Moment) -> Moment {
    let ends = rotas.iter().flat_map(|rota| {
        days_around(zone, at, 0).flat_map(|day| stretches(rota, zone, day)).filter(|stretch| {
            stretch.person == Some(who) && stretch.from < at && at < stretch.until
        })
    });
    ends.map(|stretch| stretch.until).max().unwrap_or(at)
}

/// The next instant after `at` at which the answer of `on_duty` may differ: until then it may be
/// kept. `None` if it never will.
pub fn next_change(rotas: &[Rota], zone: &Zone, at: Moment) -> Option<Moment> {
    let shifts = rotas.iter().filter_map(|rota| {
        // Stretches come in order, so the first bound that lies ahead is the nearest.
        days_around(zone, at, CHANGE_DAYS_MAX)
            .filter(|day| bounds(rota, zone, *day).is_some_and(|(_, until)| until > at))
            .flat_map(|day| stretches(rota, zone, day))
            .flat_map(|stretch| [stretch.from, stretch.until])
            .find(|bound| *bound > at)
    });
    // Who backs up may change while a stretch goes on.
    let away = rotas.iter().flat_map(|rota| &rota.away);
    let away = away.flat_map(|away| [away.from, away.until]).filter(|bound| *bound > at);
    shifts.chain(away).min()
}

#[cfg(test)]
mod tests {
    use super::written::{at, instead, rota, zone, zones};
    use super::*;
    use crate::config::cron::Cron;
    use crate::config::people::{Away, Change};
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

    /// Rotas of every form, each covering every hour with somebody behind.
    fn farms() -> Vec<(&'static str, Vec<Rota>)> {
        let backed = |mut rota: Rota, backup: &[&str]| {
            rota.backup = backup.iter().map(|who| (*who).into()).collect();
            rota
        };
        let by = |change: Change, mut rota: Rota| {
            rota.change = change;
            rota
        };
        let cron = |line: &str| Change::Cron(Cron::read(line).unwrap());
        let night = || rota("night", "22:00", "06:00", &["Ana", "Tom", "Rosa"]);
        let day = || rota("day", "06:00", "22:00", &["Rosa", "Ana"]);
        // Ana is ill, and somebody stands in for Tom: both begin and end inside shifts.
        let mut bent =
            vec![backed(night(), &["Niall", "Orla", "Pat"]), backed(day(), &["Orla", "Niall"])];
        let away = |person: &str, from: &str, until: &str| Away {
            person: person.into(),
            from: at(from),
            until: at(until),
        };
        let ill = [
            away("Ana", "2026-03-28T23:17:05Z", "2026-04-06T03:00:00Z"),
            away("Niall", "2026-10-24T12:00:00Z", "2026-11-02T12:34:56Z"),
        ];
        for rota in &mut bent {
            rota.away = ill.to_vec();
            rota.instead = vec![
                instead("2026-06-01T01:02:03Z", "2026-06-20T05:00:00Z", "Orla"),
                instead("2026-11-01T05:30:00Z", "2026-11-01T08:30:00Z", "Pat"),
            ];
        }
        // The relief has the weekends' nights, and half of each Wednesday's; nobody of them is on twice.
        let mut weekend = backed(rota("weekend", "20:00", "08:00", &["Pat", "Orla"]), &["Niall"]);
        weekend.days = vec![Weekday::Friday, Weekday::Saturday, Weekday::Sunday];
        let mut wednesday =
            by(cron("30 2 * * *"), rota("wednesday", "02:15", "04:45", &["Orla", "Pat"]));
        wednesday.days = vec![Weekday::Wednesday];
        for rota in [&mut weekend, &mut wednesday] {
            rota.over = Some("all".to_owned());
        }
        let all = by(Change::Day, rota("all", "06:30", "06:30", &["Ana", "Tom", "Rosa"]));
        vec![
            ("two shifts", vec![backed(night(), &["Niall"]), backed(day(), &["Tom"])]),
            (
                "three shifts by cron lines",
                vec![
                    backed(by(cron("0 12 * * fri"), night()), &["Niall"]),
                    backed(
                        by(cron("30 2 * * *"), rota("early", "06:00", "14:30", &["Tom", "Ana"])),
                        &["Orla"],
                    ),
                    backed(
                        by(cron("0 0 1,15 * *"), rota("late", "14:30", "22:00", &["Pat", "Tom"])),
                        &["Rosa"],
                    ),
                ],
            ),
            ("ill and instead", bent),
            ("layers", vec![backed(all, &["Niall"]), weekend, wednesday]),
        ]
    }

    /// One and only one person on call for every second of 2026 and 2027, and somebody else behind them, in 26 zones:
    /// from bound to bound, each of them exact, so that no second between is left out (row G9 of the project's standards
    /// notes; the zone data are IANA 2026f).
    #[test]
    fn every_second_of_two_years_has_one_person_and_somebody_else_behind_them() {
        let (begin, end) = (at("2026-01-01T00:00:00Z"), at("2028-01-01T00:00:00Z"));
        let (mut seconds, mut changes) = (0, 0);
        for (name, rotas) in farms() {
            for zone in zones() {
                let mut moment = begin;
                while moment < end {
                    let next = next_change(&rotas, &zone, moment).unwrap().min(end);
                    let duty = on_duty(&rotas, &zone, moment);
                    let told = || format!("{name}, {}, {}", zone.name(), zone.stamp(moment));
                    let [on] = &duty.people[..] else { panic!("{}: {duty:?}", told()) };
                    assert!(on.from <= moment && next <= on.until.min(end), "{}", told());
                    let behind = duty.backup.first();
                    assert!(behind.is_some(), "nobody behind: {}", told());
                    assert!(!duty.backup.contains(&on.person), "their own backup: {}", told());
                    let last = on_duty(&rotas, &zone, next - Span::from_millis(1));
                    assert_eq!(last, duty, "to the last millisecond: {}", told());
                    seconds += next.since(moment).whole_seconds();
                    assert_eq!(next.since(moment).millis() % 1000, 0, "{}", told());
                    (moment, changes) = (next, changes + 1);
                }
            }
        }
        assert_eq!(seconds, 4 * 26 * 730 * 86_400);
        assert!(changes > 4 * 26 * 730 * 2, "{changes} stretches");
    }

    /// The same walk sees what is wrong: a minute that nobody has, one that two have, one without a backup.
    #[test]
    fn a_minute_too_few_or_too_many_is_seen() {
        let utc = Zone::utc();
        let on = |rotas: &[Rota], when: &str| on_duty(rotas, &utc, at(when));
        let mut early =
            [rota("night", "22:00", "05:59", &["Ana"]), rota("day", "06:00", "22:00", &["Tom"])];
        assert_eq!(on(&early, "2026-11-25T05:59:30Z").people.len(), 0);
        early[0].end = "06:01".parse().unwrap();
        assert_eq!(on(&early, "2026-11-25T06:00:30Z").people.len(), 2);
        early[0].backup = vec!["Ana".into()];
        assert_eq!(on(&early, "2026-11-25T05:00:00Z").backup, []);
    }

    #[test]
    fn a_day_of_the_calendar_says_whose_turn_it_was() {
        let mut night = rota("night", "22:00", "06:00", &["Ana"]);
        night.backup = vec!["Tom".into(), "Rosa".into()];
        night.instead = vec![instead("2026-11-25T22:00:00Z", "2026-11-26T02:00:00Z", "Tom")];
        let entries = of_day(&[night], &Zone::utc(), "2026-11-25".parse().unwrap());
        let entry =
            |from: &str, until: &str, person: &str, turn: Option<&str>, backup: &[&str]| Entry {
                rota: "night".to_owned(),
                from: at(from),
                until: at(until),
                person: Some(person.into()),
                turn: turn.map(Into::into),
                backup: backup.iter().map(|who| (*who).into()).collect(),
            };
        assert_eq!(
            entries,
            [
                entry(
                    "2026-11-25T22:00:00Z",
                    "2026-11-26T02:00:00Z",
                    "Tom",
                    Some("Ana"),
                    &["Rosa"]
                ),
                entry(
                    "2026-11-26T02:00:00Z",
                    "2026-11-26T06:00:00Z",
                    "Ana",
                    None,
                    &["Tom", "Rosa"]
                ),
            ]
        );
    }

    #[test]
    fn whoever_stands_over_a_shift_is_on_and_whose_shift_it_is_comes_first_behind_them() {
        let mut night = rota("night", "20:00", "08:00", &["Ana"]);
        night.backup = vec!["Tom".into(), "Niall".into()];
        let mut relief = rota("relief", "22:00", "02:00", &["Tom"]);
        relief.over = Some("night".to_owned());
        relief.backup = vec!["Rosa".into(), "Tom".into()];
        let rotas = [night, relief];
        let duty = |when: &str| {
            let duty = on_duty(&rotas, &Zone::utc(), at(when));
            let people: Vec<String> = duty.people.iter().map(|on| on.person.to_string()).collect();
            let backup: Vec<String> = duty.backup.iter().map(ToString::to_string).collect();
            (people.join(" "), backup.join(" "))
        };
        let said = |people: &str, backup: &str| (people.to_owned(), backup.to_owned());
        assert_eq!(duty("2026-11-25T21:59:59Z"), said("Ana", "Tom Niall"));
        assert_eq!(duty("2026-11-25T22:00:00Z"), said("Tom", "Ana Niall Rosa"));
        assert_eq!(duty("2026-11-26T02:00:00Z"), said("Ana", "Tom Niall"));
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
    use crate::config::people::{Change, Instead, Planned};
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
            calendar: None,
            planned: Planned::default(),
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
