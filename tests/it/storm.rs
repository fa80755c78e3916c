//! Storms: many things go wrong at once. Few texts say so, the worst first, and a calving comes through.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use lowbell::alarm::message::{Message, MessageKind};
use lowbell::plain::ids::{LineName, PersonName};
use lowbell::plain::moment::Span;

use crate::storyteller::{Teller, settings};

const SENSORS: usize = 60;

/// Tail sensors on as many dams, by which the standing rule "sensor silent" is asked.
fn farm() -> String {
    let mut extra = String::from("herd: animal,name,calvings,group\n");
    for animal in ["114,Bramble,0", "207,Hazel,4", "031,Clover,2"] {
        let _ = writeln!(extra, "herd: {animal},home field");
    }
    for n in 0..SENSORS {
        let _ = writeln!(extra, "herd: {},,2,river field", 500 + n);
        let _ = writeln!(extra, "[[device]]\nid = \"s-{n}\"\non = \"{}\"", 500 + n);
    }
    extra
}

fn calls(teller: &Teller) -> Vec<&Message> {
    teller.sent.iter().filter(|message| message.kind == MessageKind::Alert).collect()
}

fn by_person_and_line(calls: &[&Message]) -> BTreeMap<(PersonName, LineName), usize> {
    let mut counted = BTreeMap::new();
    for call in calls {
        *counted.entry((call.to.clone(), call.line.clone())).or_default() += 1;
    }
    counted
}

/// needs.md N10: sixty sensors vanish in one minute, and each person gets one message by each line.
#[test]
fn sixty_sensors_that_fall_silent_together_are_one_text() {
    let mut story = String::new();
    for n in 0..SENSORS {
        let _ = writeln!(story, "22:0{}  packet yard/tail/s-{n}/state {{\"efforts\": 0}}", n / 30);
    }
    story.push_str("until 22:52\n");
    let teller = Teller::of(settings(&farm())).tell(&story);
    let calls = calls(&teller);
    let counted = by_person_and_line(&calls);
    assert_eq!(counted.values().max(), Some(&2), "{counted:?}");
    let alerts: usize = calls.iter().map(|call| call.alerts().count()).sum();
    assert_eq!(alerts, SENSORS, "every one of them was told");
    let [first, rest] = &calls[..] else { panic!("two texts: {}", calls.len()) };
    assert_eq!(first.to.as_str(), "Ana");
    assert_eq!(first.also.len() + rest.also.len() + 2, SENSORS);
    assert!(
        first.made + Span::minutes(1) == rest.made,
        "the second half fell silent a minute later"
    );
}

/// needs.md N116: what whoever comes on duty must know, in no more than three texts.
#[test]
fn whoever_comes_on_duty_gets_what_is_open_and_who_has_what() {
    let story = "07:30  dam 114 water bag\n07:40  Tom mails 114 bag 0730\n\
                 07:50  dam 207 contractions 9\nuntil 08:01\n";
    let teller = Teller::of(settings("calls handover = true")).tell(story);
    let text = teller.sent.iter().rfind(|message| message.subject.starts_with("You are on duty"));
    let text = text.expect("Rosa comes on at eight");
    assert_eq!(text.to.as_str(), "Rosa");
    assert_eq!(
        text.text,
        "You are on duty until 2026-11-25 20:00:00 +00:00.\n\
         114 home field: no progress in second stage 30 min B5D5.\n\
         207 home field: contractions building 9 in 1 h S7G8.\n\
         Begun: 114 and 207.\n\
         Behind you: Ana.\n"
    );
    assert!(text.text.len() <= 3 * 153, "three texts");
}

/// needs.md N13: in the middle of a storm a dam passes her limit.
#[test]
fn a_calving_comes_through_a_storm_at_once_and_alone() {
    let mut story = String::from("22:00  dam 114 water bag\n");
    for n in 0..SENSORS {
        // Spread over two hours, so that they cannot be gathered.
        let at = 22 * 60 + 5 + 2 * n;
        let (hour, minute) = (at / 60 % 24, at % 60);
        let _ = writeln!(
            story,
            "{hour:02}:{minute:02}  packet yard/tail/s-{n}/state {{\"efforts\": 0}}"
        );
    }
    story.push_str("01:30  dam 207 water bag\nuntil 03:00\n");
    let teller = Teller::of(settings(&farm())).tell(&story);
    let calls = calls(&teller);
    let late: Vec<&&Message> = calls
        .iter()
        .filter(|call| call.subject.contains("207 home field: second stage too long"))
        .collect();
    let (first, limit) = (late.first().expect("she is told of"), Span::minutes(30));
    assert!(first.also.is_empty());
    let bag =
        teller.lines.iter().find(|line| line.contains("dam 207 enters second stage")).unwrap();
    assert!(bag.starts_with("01:30"));
    let began = teller.events[0].0;
    assert_eq!(first.made, began + Span::hours(13) + Span::minutes(30) + limit);
    // What is not urgent stays under the cap meanwhile: six an hour, and after that one in a quarter of an hour.
    let small =
        |call: &&&Message| call.subject.contains("matter") || call.subject.contains("silent");
    let mut hours: BTreeMap<(PersonName, i64), usize> = BTreeMap::new();
    for call in calls.iter().filter(small) {
        *hours.entry((call.to.clone(), call.made.seconds() / 3_600)).or_default() += 1;
    }
    assert!(hours.len() > 3, "it went on for hours: {hours:?}");
    assert!(hours.values().all(|many| *many <= 9), "{hours:?}");
}

/// Standards.md AL-25 to AL-28: what is put off, held back and out of use can be counted at a glance.
#[test]
fn what_is_quiet_is_counted_where_alerts_are_read() {
    let quiet = |story: &str| Teller::new("").tell(story).watch.view().unwrap().quiet;
    let none = quiet("until 12:10");
    assert_eq!((none.put_off, none.held_back, none.behind_gateway), (0, 0, 0));
    // Put off until the answer's time, and no longer.
    let put_off = "22:00  dam 207 contractions 9\n22:02  Ana mails later 5\n";
    assert_eq!(quiet(&format!("{put_off}until 22:05")).put_off, 1);
    assert_eq!(quiet(&format!("{put_off}until 22:08")).put_off, 0);
    // Somebody has just looked: what would only send them again waits.
    let looked = "22:00  Ana mails 207 seen\n22:01  dam 207 contractions 9\n";
    let held = quiet(&format!("{looked}until 22:02"));
    assert_eq!((held.held_back, held.put_off), (1, 0));
    assert_eq!(quiet(&format!("{looked}until 22:21")).held_back, 0, "called by now");
    // A device that was taken off is on nobody.
    let off = quiet("22:00  Ana mails k-207 off\nuntil 22:01");
    assert_eq!(off.out_of_use, none.out_of_use + 1);
}
