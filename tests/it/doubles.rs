//! Every message twice is every message once (needs.md N26); and settings that are read again and
//! again make no sensor silent (needs.md N48).

use lowbell::plain::moment::{Moment, Span};
use lowbell::replay::Replay;
use lowbell::sensor::packet::{Packet, Payload};
use lowbell::watch::Watch;
use lowbell::watch::diary::{Diary, Line};
use lowbell::watch::event::Event;

use super::stories::all;
use super::storyteller::{Teller, extra, halves, settings};

/// Stories whose sensors carry neither a time nor a counter while every copy changes something: nothing
/// can tell such a copy from another message.
///
/// 52: what cannot be read carries nothing to know it by, and each copy is one more that was missed.
const NAMELESS: &[&str] = &["52"];

#[test]
fn every_story_with_each_message_doubled_gives_the_same_diary() {
    let (mut stories, mut doubled) = (0, 0);
    for (path, text) in all() {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        if NAMELESS.iter().any(|nameless| name.starts_with(nameless)) {
            continue;
        }
        let (story, _) = halves(&text);
        let told = Teller::new(&extra(story)).tell(story);
        let (mut once, mut twice) = (Replay::default(), Replay::default());
        for (at, event) in &told.events {
            let lines: Vec<Line> = once.take(*at, event).1;
            assert_eq!(twice.take(*at, event).1, lines, "{name}: {event:?}");
            if let Event::Packet(packet) = event
                && !packet.retained
                && !packet.topic.starts_with("lowbell/")
            {
                doubled += 1;
                let copy = twice.take(*at, event).1;
                assert!(copy.is_empty(), "{name}: the copy of {event:?}: {copy:?}");
            }
        }
        assert_eq!(once.watch.next_deadline(), twice.watch.next_deadline(), "{name}");
        stories += 1;
    }
    assert!(stories > 30 && doubled > 100, "{doubled} messages of {stories} stories were doubled");
}

#[test]
fn settings_read_again_every_minute_for_a_day_make_no_sensor_silent() {
    let mut watch = Watch::default();
    let mut diary = Diary::default();
    let mut now = Moment::from_rfc3339("2026-11-24T12:00:00Z").unwrap();
    let _ = watch.step(now, &Event::Started { seed: 7, last: None });
    let mut lines = Vec::new();
    for minute in 0..24 * 60 {
        now += Span::minutes(1);
        let mut events = vec![Event::Settings(settings(""))];
        // It speaks every thirty minutes; its rule calls it silent after forty-five.
        if minute % 30 == 0 {
            events.push(Event::Packet(Packet {
                topic: "yard/tail/t-31/state".into(),
                payload: Payload(b"{\"efforts\": 0}".to_vec()),
                retained: false,
            }));
        }
        for event in events {
            let step = watch.step(now, &event);
            lines.extend(diary.write(&watch, &step.effects).into_iter().map(|line| line.text));
        }
    }
    let alerts: Vec<&String> = lines.iter().filter(|line| line.contains("alert")).collect();
    assert_eq!(alerts, [""; 0]);
    // And silence is still found when it is there, for all the reading again.
    for _ in 0..46 {
        now += Span::minutes(1);
        let step = watch.step(now, &Event::Settings(settings("")));
        lines.extend(diary.write(&watch, &step.effects).into_iter().map(|line| line.text));
    }
    assert!(lines.iter().any(|line| line.ends_with("device t-31 sensor silent")), "{lines:?}");
}
