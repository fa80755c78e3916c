//! A rota that stands in a calendar, against the standard's own examples and against dateutil's reading of it.

use std::path::Path;
use std::process::Command;

use lowbell::config::fault::Fault;
use lowbell::config::people::Instead;
use lowbell::config::{self, Config, NamedText, Parsed, SettingsText};
use lowbell::plain::moment::{Moment, Span};
use lowbell::rota;
use proptest::prelude::*;
use serde_json::Value;

use super::rotas;
use super::storyteller::{self, Teller};

const SEED: &str = "11";
const COUNT: usize = 600;

fn read(zone: &str, ics: &str) -> Parsed {
    let mut farm = rotas::people(zone);
    farm.push_str("[[rota]]\nname = \"nights\"\ncalendar = \"nights.ics\"\nbackup = \"Orla\"\n");
    let file = |name: &str, text: &str| NamedText { name: name.into(), text: text.into() };
    config::parse(&SettingsText { files: vec![file("farm.toml", &farm), file("nights.ics", ics)] })
}

fn taken(zone: &str, ics: &str) -> Config {
    let parsed = read(zone, ics);
    parsed.config.unwrap_or_else(|| panic!("{ics}\n{:?}", parsed.faults))
}

fn times(zone: &str, ics: &str) -> Vec<Instead> {
    taken(zone, ics).rotas[0].instead.clone()
}

/// One event of Ana's.
fn event(lines: &[&str]) -> String {
    let lines = lines.join("\r\n");
    format!(
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nUID:1\r\nSUMMARY:Ana\r\n{lines}\r\nEND:VEVENT\r\n\
         END:VCALENDAR\r\n"
    )
}

fn at(text: &str) -> Moment {
    Moment::from_rfc3339(text).unwrap()
}

fn begins(ics: &str) -> Vec<Moment> {
    times("America/New_York", ics).into_iter().map(|one| one.from).collect()
}

/// Of 09:00 in New York: "1997-09-02 13" and more of the same year as "09-09 13".
fn hours(list: &str) -> Vec<Moment> {
    let mut year = "";
    let each = list.split(", ").map(|one| {
        let (day, hour) = one.split_once(' ').unwrap();
        let day = match day.len() {
            10 => {
                year = &day[..4];
                day.to_owned()
            }
            _ => format!("{year}-{day}"),
        };
        let (hour, minute) = hour.split_once(':').unwrap_or((hour, "00"));
        at(&format!("{day}T{hour}:{minute}:00Z"))
    });
    each.collect()
}

/// RFC 5545 section 3.8.5.3, recomputed with an independent library (standards.md RV-02 to RV-16): DTSTART, RRULE, and
/// the beginnings, of which an endless rule's first are given.
const VECTORS: [(&str, &str, &str, &str); 15] = [
    (
        "RV-02",
        "19970902T090000",
        "FREQ=WEEKLY;COUNT=10",
        "1997-09-02 13, 09-09 13, 09-16 13, 09-23 13, 09-30 13, 10-07 13, 10-14 13, 10-21 13, 10-28 14, 11-04 14",
    ),
    (
        "RV-03",
        "19970902T090000",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "1997-09-02 13, 09-04 13, 09-16 13, 09-18 13, 09-30 13, 10-02 13, 10-14 13, 10-16 13",
    ),
    (
        "RV-04",
        "19970905T090000",
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "1997-09-05 13, 10-03 13, 11-07 14, 12-05 14, 1998-01-02 14, 02-06 14, 03-06 14, 04-03 14, 05-01 13, 06-05 13",
    ),
    (
        "RV-05",
        "19970922T090000",
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        "1997-09-22 13, 10-20 13, 11-17 14, 12-22 14, 1998-01-19 14, 02-16 14",
    ),
    (
        "RV-06",
        "19970928T090000",
        "FREQ=MONTHLY;BYMONTHDAY=-3",
        "1997-09-28 13, 10-29 14, 11-28 14, 12-29 14, 1998-01-29 14, 02-26 14",
    ),
    (
        "RV-07",
        "19970930T090000",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
        "1997-09-30 13, 10-01 13, 10-31 14, 11-01 14, 11-30 14, 12-01 14, 12-31 14, 1998-01-01 14, 01-31 14, 02-01 14",
    ),
    (
        "RV-08",
        "19970101T090000",
        "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        "1997-01-01 14, 04-10 13, 07-19 13, 2000-01-01 14, 04-09 13, 07-18 13, 2003-01-01 14, 04-10 13, 07-19 13, \
         2006-01-01 14",
    ),
    (
        "RV-10",
        "19970904T090000",
        "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3",
        "1997-09-04 13, 10-07 13, 11-06 14",
    ),
    (
        "RV-11",
        "19970805T090000",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
        "1997-08-05 13, 08-10 13, 08-19 13, 08-24 13",
    ),
    (
        "RV-12",
        "19970805T090000",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU",
        "1997-08-05 13, 08-17 13, 08-19 13, 08-31 13",
    ),
    // 30 February is passed over and not counted (SC-04).
    (
        "RV-13",
        "20070115T090000",
        "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5",
        "2007-01-15 14, 01-30 14, 02-15 14, 03-15 13, 03-30 13",
    ),
    (
        "RV-14",
        "19970512T090000",
        "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO",
        "1997-05-12 13, 1998-05-11 13, 1999-05-17 13",
    ),
    (
        "RV-15",
        "19970929T090000",
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "1997-09-29 13, 10-30 14, 11-27 14, 12-30 14, 1998-01-29 14, 02-26 14, 03-30 14",
    ),
    (
        "RV-16",
        "19970902T090000",
        "FREQ=MINUTELY;INTERVAL=90;COUNT=4",
        "1997-09-02 13, 09-02 14:30, 09-02 16, 09-02 17:30",
    ),
    // The standard's example prints 09:00, 12:00 and 15:00 by the wall; its UNTIL is 13:00 there, so only two qualify.
    (
        "RV-17",
        "19970902T090000",
        "FREQ=HOURLY;INTERVAL=3;UNTIL=19970902T170000Z",
        "1997-09-02 13, 09-02 16",
    ),
];

#[test]
fn rules_come_true_when_the_standard_says() {
    for (name, starts, rule, expected) in VECTORS {
        let starts = format!("DTSTART;TZID=America/New_York:{starts}");
        let ics = event(&[&starts, "DURATION:PT10M", &format!("RRULE:{rule}")]);
        let (found, expected) = (begins(&ics), hours(expected));
        let ends = rule.contains("COUNT") || rule.contains("UNTIL");
        let many = if ends { found.len() } else { expected.len() };
        assert_eq!(found[..many], expected, "{name}");
        assert!(ends || found.len() > many, "{name} goes on");
    }
}

/// RV-01: 113 days over the end of summer time. RV-09: Friday the 13th, without the first one, which is no such day.
#[test]
fn until_is_an_instant_and_what_is_left_out_is_not_there() {
    let starts = "DTSTART;TZID=America/New_York:19970902T090000";
    let ics = event(&[starts, "DURATION:PT10M", "RRULE:FREQ=DAILY;UNTIL=19971224T000000Z"]);
    let found = begins(&ics);
    assert_eq!(found.len(), 113);
    assert_eq!((found[0], found[53]), (at("1997-09-02T13:00:00Z"), at("1997-10-25T13:00:00Z")));
    assert_eq!((found[54], found[112]), (at("1997-10-26T14:00:00Z"), at("1997-12-23T14:00:00Z")));
    let ics = event(&[
        starts,
        "DURATION:PT10M",
        "RRULE:FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
        "EXDATE;TZID=America/New_York:19970902T090000",
    ]);
    let expected = "1998-02-13 14, 03-13 14, 11-13 14, 1999-08-13 13, 2000-10-13 13";
    assert_eq!(begins(&ics)[..5], hours(expected));
}

/// SC-05 and SC-07; what cannot be read is refused with its line, and nothing of the rest is taken.
#[test]
fn what_is_no_calendar_is_refused_with_its_line() {
    let day = "DTSTART:20261124T200000Z";
    let both = event(&[day, "DURATION:PT8H", "RRULE:FREQ=DAILY;COUNT=3;UNTIL=20261224T000000Z"]);
    let whole = event(&[day, "DURATION:PT8H"]);
    for (ics, expected) in [
        (
            both.as_str(),
            "line 8 of nights.ics: this rule is none: COUNT and UNTIL do not go together",
        ),
        (
            &event(&["DTSTART:20261131T200000Z"]),
            "line 6 of nights.ics: 20261131T200000Z is no time",
        ),
        (&event(&[day, "DURATION:8h"]), "line 7 of nights.ics: 8h is no length"),
        (
            &event(&[day, "DURATION:PT8H", "RRULE:FREQ=DAILY;UNTIL=2026-12-24"]),
            "line 8 of nights.ics: this rule is none: UNTIL=2026-12-24",
        ),
        (
            &event(&[day, "DURATION:PT8H", "RRULE:FREQ=SECONDLY"]),
            "line 8 of nights.ics: this rule is none: no shift begins every second",
        ),
        (
            &event(&[day, "DURATION:PT8H", "RRULE:FREQ=DAILY", "RRULE:FREQ=DAILY"]),
            "line 9 of nights.ics: this is its second rule",
        ),
        (&event(&[day, "EXRULE:FREQ=DAILY"]), "line 7 of nights.ics: EXRULE is not read"),
        (
            &event(&[day, "RDATE;VALUE=PERIOD:20261125T200000Z/PT8H"]),
            "line 7 of nights.ics: a PERIOD is not read",
        ),
        (
            &event(&[day, "RECURRENCE-ID;RANGE=THISANDFUTURE:20261125T200000Z"]),
            "line 7 of nights.ics: RANGE is not read",
        ),
        (&event(&["DURATION:PT8H"]), "line 7 of nights.ics: this event has no DTSTART"),
        (&event(&["DTSTART:20261124T200099Z"]), "20261124T200099Z is no time"),
        (
            &event(&["DTSTART;TZID=Farm/Yard:20261124T200000", "DURATION:PT8H"]),
            "the zone Farm/Yard is not known",
        ),
        (whole.trim_end().trim_end_matches("END:VCALENDAR"), "this is no whole calendar"),
        ("<html><body>Please sign in</body></html>", "this is no whole calendar"),
        ("", "this is no whole calendar"),
    ] {
        let parsed = read("Europe/Dublin", ics);
        let titles: Vec<&str> =
            parsed.faults.iter().map(|fault: &Fault| fault.title.as_str()).collect();
        assert!(titles.iter().any(|title| title.contains(expected)), "{expected}: {titles:?}");
        assert!(parsed.config.is_none(), "{ics}");
    }
    let leap = event(&["DTSTART:20261124T200060Z", "DURATION:PT8H"]);
    assert_eq!(times("Europe/Dublin", &leap)[0].from, at("2026-11-24T20:00:59Z"));
}

/// Sizes are this project's own: what is asked of a small computer has an end, and is said rather than left out.
#[test]
fn what_asks_for_too_much_is_refused_and_said() {
    let day = "DTSTART:20261124T200000Z";
    let refused = |ics: &str, expected: &str| {
        let parsed = read("Europe/Dublin", ics);
        let titles: Vec<&str> = parsed.faults.iter().map(|fault| fault.title.as_str()).collect();
        assert!(titles.iter().any(|title| title.contains(expected)), "{expected}: {titles:?}");
        assert!(parsed.config.is_none());
    };
    let many = "BEGIN:VEVENT\nSUMMARY:Ana\nDTSTART:20261124T200000Z\nDURATION:PT1H\nEND:VEVENT\n";
    let events = |count| format!("BEGIN:VCALENDAR\n{}END:VCALENDAR\n", many.repeat(count));
    assert_eq!(times("UTC", &events(5_000)).len(), 5_000);
    refused(&events(5_001), "there are more than 5000 events");
    let often = event(&[day, "DURATION:PT8H", "RRULE:FREQ=MINUTELY"]);
    refused(&often, "line 3 of nights.ics: this comes again more often than can be read");
    let hours: Vec<String> = (0..24).map(|hour| hour.to_string()).collect();
    let often = format!("RRULE:FREQ=DAILY;BYHOUR={};BYMINUTE=0,10,20,30,40", hours.join(","));
    refused(&event(&[day, "DURATION:PT8H", &often]), "it comes more than 96 times a day");
    // What never comes true is looked for up to the end, and costs no more than that.
    let never = event(&[day, "DURATION:PT8H", "RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"]);
    assert_eq!(times("UTC", &never).len(), 1);
}

/// The nights of the years 2026 to 2045 are 7305 by the calendar, five of them in leap years.
#[test]
fn a_night_that_comes_for_ever_comes_still_however_long_ago_it_began() {
    let night = |began: &str| {
        event(&[&format!("DTSTART:{began}T220000Z"), "DURATION:PT8H", "RRULE:FREQ=DAILY"])
    };
    for began in ["19970902", "20140101", "20251231"] {
        let config = taken("Europe/Dublin", &night(began));
        for when in ["2026-11-26T23:00:00Z", "2045-12-31T23:00:00Z"] {
            let duty = rota::on_duty(&config.rotas, &config.farm.zone, at(when));
            assert_eq!(duty.people.len(), 1, "{began}, {when}");
        }
    }
    assert_eq!(times("UTC", &night("20140101")).len(), 7_305);
    // A year and a month of it is asked whole, for every open hour, while an alarm waits.
    let config = taken("Europe/Dublin", &night("20140101"));
    let zone = &config.farm.zone;
    let wanted =
        rota::cover::Wanted { rotas: &config.rotas, zone, covered: None, counts: &|_, _| true };
    assert_eq!(wanted.holes(at("2026-11-26T12:00:00Z"), at("2036-11-26T12:00:00Z")), []);
}

/// RFC 5545 section 3.8.5.2: an added time is by its own clock, and no end of the rule leaves it out.
#[test]
fn an_added_time_is_by_its_own_clock_and_outlives_the_rule() {
    let ics = event(&[
        "DTSTART;TZID=America/New_York:20261126T220000",
        "DURATION:PT8H",
        "RRULE:FREQ=DAILY;UNTIL=20261128T030000Z",
        "RDATE:20261202T220000Z",
        "RDATE;TZID=Europe/Dublin:20261203T220000",
    ]);
    let expected = [
        "2026-11-27T03:00:00Z",
        "2026-11-28T03:00:00Z",
        "2026-12-02T22:00:00Z",
        "2026-12-03T22:00:00Z",
    ];
    assert_eq!(begins(&ics), expected.map(at));
}

/// As in a rota with a turn (story 130): whoever is behind somebody of the calendar who falls ill is told of it.
#[test]
fn whoever_backs_up_a_calendar_is_told_who_cannot_come() {
    let mut told = storyteller::settings(
        "[[person]]\nname = \"Siobhan\"\npart = \"helper\"\nmail = \"siobhan@hollowbank.example\"\n\
         [[person]]\nname = \"Padraig\"\npart = \"helper\"\nmail = \"padraig@hollowbank.example\"\n\
         [[rota]]\nname = \"yard\"\ncalendar = \"yard.ics\"\nbackup = \"Padraig\"\n",
    );
    let days = ["DTSTART:20261120T080000Z", "DURATION:PT4H", "RRULE:FREQ=DAILY"];
    let yard = event(&days).replace("SUMMARY:Ana", "SUMMARY:Siobhan");
    told.files.push(NamedText { name: "yard.ics".into(), text: yard });
    let told = Teller::of(told).tell("12:30  Siobhan mails ill until fri\n");
    let said = told.lines.iter().any(|line| {
        line.contains(
            "to Padraig by mail: Siobhan cannot come until Fri 27 Nov 00:00. Where you back",
        )
    });
    assert!(said, "{:#?}", told.lines);
}

/// SC-02 and SC-06 with the choice that is made: days are by the wall, hours exact, and an end written as a time is by the
/// wall, so that a night is eleven or thirteen hours long when the clocks change and leaves no hour to nobody.
#[test]
fn nights_meet_where_the_clocks_change() {
    let ics = "BEGIN:VCALENDAR\nBEGIN:VEVENT\nUID:a\nSUMMARY:Ana, the night\nDTSTART;TZID=Europe/Dublin:20261001T200000\n\
               DTEND;TZID=Europe/Dublin:20261002T080000\nRRULE:FREQ=DAILY;UNTIL=20270410T000000Z\nEND:VEVENT\n\
               BEGIN:VEVENT\nUID:b\nSUMMARY:the day: Tom\nDTSTART;TZID=Europe/Dublin:20261001T080000\n\
               DTEND;TZID=Europe/Dublin:20261001T200000\nRRULE:FREQ=DAILY;UNTIL=20270410T000000Z\nEND:VEVENT\nEND:VCALENDAR\n";
    let config = taken("Europe/Dublin", ics);
    let zone = &config.farm.zone;
    let mut now = at("2026-10-02T00:00:00Z");
    let mut lengths = std::collections::BTreeMap::new();
    while now < at("2027-04-09T00:00:00Z") {
        let duty = rota::on_duty(&config.rotas, zone, now);
        assert_eq!(duty.people.len(), 1, "{now:?}");
        let shift = &duty.people[0];
        let by_day = (8..20).contains(&zone.wall(now).hour());
        assert_eq!(shift.person.as_str(), if by_day { "Tom" } else { "Ana" }, "{now:?}");
        *lengths
            .entry((by_day, (shift.until.seconds() - shift.from.seconds()) / 3_600))
            .or_insert(0) += 1;
        now += Span::minutes(15);
    }
    let seen: Vec<(bool, i64)> = lengths.into_keys().collect();
    assert_eq!(seen, [(false, 11), (false, 12), (false, 13), (true, 12)]);
}

#[test]
fn an_invitation_names_somebody_and_a_title_that_names_nobody_is_said() {
    let invited = "BEGIN:VCALENDAR\nBEGIN:VEVENT\nUID:a\nSUMMARY:Night\nATTENDEE;CN=\"Murphy; Tom\":mailto:TOM@hollow\n \
                   bank.example\nDTSTART:20261124T200000Z\nDURATION:PT8H\nEND:VEVENT\nBEGIN:VEVENT\nUID:b\nSUMMARY:Dentist\n\
                   DTSTART:20261125T090000Z\nDTEND:20261125T100000Z\nEND:VEVENT\nBEGIN:VEVENT\nUID:c\nSUMMARY:Rosa\n\
                   STATUS:CANCELLED\nDTSTART:20261125T200000Z\nDURATION:PT8H\nEND:VEVENT\nBEGIN:VEVENT\nUID:d\n\
                   SUMMARY:Rosa\nDTSTART;VALUE=DATE:20261128\nEND:VEVENT\nEND:VCALENDAR\n";
    let parsed = read("Europe/Dublin", invited);
    assert!(
        parsed
            .faults
            .iter()
            .any(|fault| fault.title.contains("\"Dentist\" names nobody of this farm")),
        "{:?}",
        parsed.faults
    );
    let found = parsed.config.unwrap().rotas[0].instead.clone();
    let found: Vec<(&str, Moment, Moment)> =
        found.iter().map(|one| (one.person.as_str(), one.from, one.until)).collect();
    let tom = ("Tom", at("2026-11-24T20:00:00Z"), at("2026-11-25T04:00:00Z"));
    assert_eq!(found, [tom, ("Rosa", at("2026-11-28T00:00:00Z"), at("2026-11-29T00:00:00Z"))]);
}

#[test]
fn a_name_of_two_words_is_found_within_a_title_and_is_nobody_elses() {
    for (title, expected) in [
        ("Rosa: nights", Some("Rosa")),
        ("nights - Rosa Byrne", Some("Rosa Byrne")),
        ("Byrne, Rosa", Some("Rosa")),
        ("Tom and Rosa Byrne", None),
        ("Tom and Rosa", None),
    ] {
        let mut farm = rotas::people("UTC");
        farm.push_str("[[person]]\nname = \"Rosa Byrne\"\nmail = \"byrne@hollowbank.example\"\n");
        farm.push_str("[[rota]]\nname = \"nights\"\ncalendar = \"nights.ics\"\n");
        let ics = event(&["DTSTART:20261124T200000Z", "DURATION:PT8H"]);
        let ics = ics.replace("SUMMARY:Ana", &format!("SUMMARY:{title}"));
        let file = |name: &str, text: &str| NamedText { name: name.into(), text: text.into() };
        let files = vec![file("farm.toml", &farm), file("nights.ics", &ics)];
        let config = config::parse(&SettingsText { files }).config.unwrap();
        let found = config.rotas[0].instead.first().map(|one| one.person.as_str().to_owned());
        assert_eq!(found.as_deref(), expected, "{title}");
    }
}

/// The script's head says what it is; Debian's python3-dateutil is the outside reading, and, of what it reads as the standard
/// has it, python3-recurring-ical-events, which also leaves out, moves and names by its own code.
#[test]
fn what_comes_again_comes_when_dateutil_says() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/servers/calendars");
    let out = Command::new(&script).args([SEED, &COUNT.to_string()]).output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let said = String::from_utf8(out.stdout).unwrap();
    let (mut calendars, mut all, mut again) = (0, 0, 0);
    let end = at("2037-12-31T00:00:00Z");
    for line in said.lines() {
        let line: Value = serde_json::from_str(line).unwrap();
        let (zone, ics) = (line["zone"].as_str().unwrap(), line["ics"].as_str().unwrap());
        let expected: Vec<(Moment, Moment, &str)> = line["times"]
            .as_array()
            .unwrap()
            .iter()
            .map(|row| {
                let text = |at: usize| row[at].as_str().unwrap();
                (at(text(0)), at(text(1)), text(2))
            })
            .collect();
        let mut found = times(zone, ics);
        found.dedup();
        let found: Vec<(Moment, Moment, &str)> =
            found.iter().map(|one| (one.from, one.until, one.person.as_str())).collect();
        assert_eq!(found, expected, "{ics}");
        if let Some(begins) = line["again"].as_array() {
            let text = |row: &Value, at: usize| row[at].as_str().unwrap().to_owned();
            let read: Vec<(Moment, String)> =
                begins.iter().map(|row| (at(&text(row, 0)), text(row, 1))).collect();
            let near = found.iter().filter(|(from, ..)| *from < end);
            let mut ours: Vec<(Moment, String)> =
                near.map(|(from, _, who)| (*from, (*who).to_owned())).collect();
            ours.sort();
            ours.dedup();
            assert_eq!(ours, read, "{ics}");
            again += 1;
        }
        calendars += 1;
        all += found.len();
    }
    assert!(again > COUNT / 3, "{again}");
    assert_eq!(calendars, COUNT);
    assert!(all > COUNT * 10, "{all}");
}

proptest! {
    #[test]
    fn no_text_makes_it_fail(
        lines in proptest::collection::vec("(BEGIN|END|DTSTART|DTEND|DURATION|RRULE|EXDATE|RDATE|RECURRENCE-ID|SUMMARY)[;:=]\
            (VEVENT|VCALENDAR|TZID=Europe/Dublin:|FREQ=(DAILY|YEARLY|SECONDLY);?|BYDAY=-?[0-9]?MO|INTERVAL=[0-9]{1,6}|COUNT=[0-9]{1,4}|\
            UNTIL=[0-9TZ]{0,16}|[0-9]{8}T[0-9]{6}Z?|P[0-9]{0,7}[WDHMST]|Ana|\\PC{0,9}){0,4}", 0..14)
    ) {
        let _ = read("Europe/Dublin", &lines.join("\n"));
        let whole = format!("BEGIN:VCALENDAR\nBEGIN:VEVENT\nSUMMARY:Ana\n{}\nEND:VEVENT\nEND:VCALENDAR\n", lines.join("\n"));
        let _ = read("Europe/Dublin", &whole);
    }
}

mod fetched {
    use super::*;
    use lowbell::live::calendars;
    use lowbell::live::settings::Place;
    use lowbell::watch::event::{Event, LineNews};
    use tokio::sync::{mpsc, watch};
    use wiremock::matchers::{method, path};
    use wiremock::{Mock, MockServer, ResponseTemplate};

    const SECRET: &str = "/private-5f1c0e/nights.ics";

    struct Yard {
        folder: tempfile::TempDir,
        place: Place,
        server: MockServer,
    }

    impl Yard {
        async fn new() -> Self {
            let (folder, server) = (tempfile::tempdir().unwrap(), MockServer::start().await);
            std::fs::create_dir(folder.path().join("data")).unwrap();
            let farm = format!(
                "[farm]\nname = \"Hollow Bank\"\nzone = \"Europe/Dublin\"\n[broker]\nurl = \"mqtt://127.0.0.1:1883\"\n\
                 [[line]]\nname = \"mail\"\nkind = \"smtp\"\nurl = \"smtp://127.0.0.1:25\"\nfrom = \"a@hollowbank.example\"\n\
                 [[person]]\nname = \"Ana\"\nmail = \"ana@hollowbank.example\"\n\
                 [[rota]]\nname = \"nights\"\ncalendar = \"nights.ics\"\nurl = \"{}{SECRET}\"\nallow-private = true\n",
                server.uri()
            );
            let path = folder.path().join("farm.toml");
            std::fs::write(&path, farm).unwrap();
            let place = Place::new(&path);
            Self { folder, place, server }
        }

        fn config(&self) -> Config {
            let parsed = config::parse(&self.place.read().unwrap());
            parsed.config.unwrap_or_else(|| panic!("{:?}", parsed.faults))
        }

        /// What the server says next, what came of it, and the copy after it.
        async fn look(&self, answer: ResponseTemplate) -> (Result<bool, String>, Option<String>) {
            self.server.reset().await;
            let asked = Mock::given(method("GET")).and(path(SECRET));
            asked.respond_with(answer).expect(1).mount(&self.server).await;
            let data = self.folder.path().join("data");
            let rota = self.config().rotas[0].clone();
            let came = calendars::look(&self.place, &data, &rota, at("2026-11-26T12:00:00Z")).await;
            self.server.verify().await;
            (came, std::fs::read_to_string(data.join("nights.ics")).ok())
        }
    }

    /// The watch hears of it once each way: of a copy that grows old it must know (rule "calendar old").
    #[tokio::test]
    async fn the_watch_hears_when_it_cannot_be_fetched_and_when_it_can() {
        let _ = rustls::crypto::ring::default_provider().install_default();
        let yard = Yard::new().await;
        let night = event(&["DTSTART:20261127T200000Z", "DTEND:20261128T080000Z"]);
        let good = ResponseTemplate::new(200).set_body_string(night);
        let mut heard = Vec::new();
        for answer in [ResponseTemplate::new(503), good] {
            yard.server.reset().await;
            Mock::given(method("GET"))
                .and(path(SECRET))
                .respond_with(answer)
                .mount(&yard.server)
                .await;
            let (arrive, mut arrivals) = mpsc::channel(4);
            let (stop, stopped) = watch::channel(false);
            let (place, data) = (
                Place::new(&yard.folder.path().join("farm.toml")),
                yard.folder.path().join("data"),
            );
            let rota = yard.config().rotas[0].clone();
            let keeping = tokio::spawn(calendars::keep(place, data, rota, arrive, stopped));
            let arrival = arrivals.recv().await.unwrap();
            stop.send(true).unwrap();
            keeping.await.unwrap();
            let Event::Line(state) = arrival.event else { panic!("{:?}", arrival.event) };
            assert_eq!(state.line.as_str(), "calendar of nights");
            heard.push(state.news);
        }
        let [LineNews::Down { why }, LineNews::Up] = &heard[..] else { panic!("{heard:?}") };
        assert!(why.contains("503") && !why.contains("private"), "{why}");
    }

    /// The last good copy stays whatever the other side sends, and no word about it has the address.
    #[tokio::test]
    async fn only_a_good_calendar_takes_the_place_of_a_good_one() {
        let _ = rustls::crypto::ring::default_provider().install_default();
        let yard = Yard::new().await;
        assert!(
            yard.config().rotas[0].instead.is_empty(),
            "before it is fetched nobody is on by it"
        );
        let nights = |until: &str| {
            event(&[
                "DTSTART;TZID=Europe/Dublin:20261101T200000",
                "DTEND;TZID=Europe/Dublin:20261102T080000",
                &format!("RRULE:FREQ=DAILY;UNTIL={until}"),
            ])
        };
        let good = nights("20270401T000000Z");
        let text = |status: u16, body: &str| ResponseTemplate::new(status).set_body_string(body);
        let (came, copy) = yard.look(text(200, &good)).await;
        assert_eq!((came, copy.as_deref()), (Ok(true), Some(good.as_str())));
        assert_eq!(yard.config().rotas[0].instead.len(), 151);
        let as_of = calendars::as_of(&yard.folder.path().join("data"), "nights.ics");
        assert_eq!(as_of, Some(at("2026-11-26T12:00:00Z")));
        let (came, _) = yard.look(text(200, &good)).await;
        assert_eq!(came, Ok(false), "nothing new");
        let stamped = good.replace("SUMMARY:Ana", "DTSTAMP:20261126T120000Z\r\nSUMMARY:Ana");
        let (came, copy) = yard.look(text(200, &stamped)).await;
        assert_eq!((came, copy.as_deref()), (Ok(false), Some(good.as_str())), "the same nights");
        let elsewhere = ResponseTemplate::new(302).insert_header("location", "http://127.0.0.1/x");
        for (answer, why) in [
            (text(500, "busy"), "answered 500"),
            (text(404, "gone"), "answered 404"),
            (elsewhere, "sends us elsewhere"),
            (text(200, "<html>Please sign in</html>"), "is no line of a calendar"),
            (text(200, &good[..good.len() / 2]), "no line of a calendar"),
            (text(200, &"x".repeat(1_100_000)), "more than 1048576 bytes"),
            (ResponseTemplate::new(200).set_body_bytes([0xff, 0xfe, 0xff]), "is no text"),
            (text(200, "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"), "nobody is on in what came"),
            (text(200, &nights("20261110T000000Z")), "nobody is on in what came"),
            (text(200, &good.replace("SUMMARY:Ana", "SUMMARY:Bob")), "nobody is on in what came"),
        ] {
            let (came, copy) = yard.look(answer).await;
            let said = came.unwrap_err();
            assert!(said.contains(why) && !said.contains("5f1c0e"), "{said}");
            assert_eq!(copy.as_deref(), Some(good.as_str()), "{why}");
        }
        let better = nights("20270501T000000Z");
        let (came, copy) = yard.look(text(200, &better)).await;
        assert_eq!((came, copy.as_deref()), (Ok(true), Some(better.as_str())));
    }

    #[test]
    fn an_address_on_the_farms_own_network_is_taken_only_if_it_is_meant() {
        let farm = "[farm]\nname = \"Hollow Bank\"\nzone = \"Europe/Dublin\"\n[[person]]\nname = \"Ana\"\n[[rota]]\nname = \"nights\"\n\
                    calendar = \"../nights.ics\"\nurl = \"http://192.168.1.4/nights.ics\"\n";
        let file = NamedText { name: "farm.toml".into(), text: farm.into() };
        let parsed = config::parse(&SettingsText { files: vec![file] });
        let titles: Vec<&str> = parsed.faults.iter().map(|fault| fault.title.as_str()).collect();
        for expected in [
            "192.168.1.4 is this machine or the farm's own network",
            "../nights.ics is no plain file name",
        ] {
            assert!(titles.contains(&expected), "{titles:?}");
        }
    }
}
