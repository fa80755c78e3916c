//! The log of alerts against the diary of every story: none is missing, and each has what a log is to have
//! (IEC 60601-1-8, 6.12.2: standards.md MD-17 all of high and medium priority, MD-18 the four fields).

use lowbell::paper::alarm_log::AlarmLog;
use lowbell::plain::zone::Zone;
use lowbell::replay::Replay;
use lowbell::rules::priority::Priority;

use super::stories::all;
use super::storyteller::{Teller, extra, halves};

fn log(teller: &Teller) -> AlarmLog {
    let (mut replay, mut log) = (Replay::default(), AlarmLog::default());
    for (at, event) in &teller.events {
        let _ = replay.take(*at, event);
        log.hears(&replay.watch);
    }
    log
}

/// "alert 3 K4T7: …" and "alert 3 is over: …" of a diary.
fn told(lines: &[String], is_over: bool) -> Vec<u64> {
    let number = |line: &String| {
        let (_, rest) = line
            .split_once("  ")?
            .1
            .split_once("alert ")
            .filter(|(before, _)| before.is_empty())?;
        let (no, rest) = rest.split_once(' ')?;
        let code = rest.split_once(": ").map_or("", |(code, _)| code);
        let raised = code.len() == 4
            && code.bytes().all(|letter| letter.is_ascii_uppercase() || letter.is_ascii_digit());
        (if is_over { rest.starts_with("is over: ") } else { raised }).then(|| no.parse().ok())?
    };
    let mut all: Vec<u64> = lines.iter().filter_map(number).collect();
    all.sort_unstable();
    all.dedup();
    all
}

#[test]
fn every_alert_of_every_story_is_in_it_with_its_four_fields() {
    let (mut count, mut ended, mut urgent) = (0, 0, 0);
    for (path, text) in all() {
        let (story, _) = halves(&text);
        let teller = Teller::new(&extra(story)).tell(story);
        let log = log(&teller);
        let name = path.display();
        let numbers: Vec<u64> = log.all().map(|one| one.no.0).collect();
        assert_eq!(numbers, told(&teller.lines, false), "{name}");
        let over: Vec<u64> =
            log.all().filter(|one| one.ended.is_some()).map(|one| one.no.0).collect();
        assert_eq!(over, told(&teller.lines, true), "{name}");
        for one in log.all() {
            assert!(one.began <= one.raised, "{name}: {one:?}");
            assert!(!one.limit.is_empty() && !one.data.is_empty(), "{name}: {one:?}");
            assert!(
                one.ended
                    .as_ref()
                    .is_none_or(|(at, because)| *at >= one.began && !because.is_empty())
            );
        }
        count += numbers.len();
        ended += over.len();
        urgent += log.all().filter(|one| one.priority != Priority::Low).count();
    }
    assert!(count > 200 && urgent > 100 && ended > 100, "{count}, {urgent}, {ended}");
}

#[test]
fn an_alert_is_logged_as_it_was() {
    let story = "21:00  dam 207 contractions 9\n21:02  Ana mails going\n21:30  Ana mails 207 bag 2125\nuntil 21:40\n";
    let teller = Teller::new("").tell(story);
    let log = log(&teller);
    let first = log.all().next().unwrap();
    assert_eq!(
        first.lines(&Zone::named("Europe/Dublin").unwrap())[..],
        [
            "alert 1 B5D5, high: 207 home field: contractions building 9 in 1 h B5D5",
            "    began 2026-11-24 21:00:00 +00:00, raised 2026-11-24 21:00:00 +00:00; first answered by Ana at 21:02; \
             over at 21:30: water bag at 21:25, said Ana",
            "    limit: contraction counted at least 8 times within 1 h",
            "    data: contraction counted 9 in 1 h, limit 8 (k-207)",
        ]
    );
}
