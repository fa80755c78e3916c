//! The seventeen automatic-reply vectors, from the bytes of a mail to whether the ladder stops.
//!
//! Source: RFC 3834 sections 2, 3.1 and 5, RFC 3464 section 2.3.3, RFC 8098, RFC 2919, RFC 5322 section
//! 3.6.4 (standards.md AV-01 to AV-17).

use lowbell::line::letter;
use lowbell::plain::ids::LineName;
use lowbell::plain::moment::{Moment, Span};
use lowbell::talk::letter::MailPlace;
use lowbell::watch::Watch;
use lowbell::watch::effect::Effect;
use lowbell::watch::event::Event;

use super::storyteller::{Teller, settings};

/// What one letter does to an alert that Ana was told of.
#[derive(Debug, PartialEq, Eq)]
enum Outcome {
    /// A person answered: the climb has stopped.
    Held,
    /// Nobody answered, the ladder stands where it stood.
    Nothing,
    /// Nobody answered, and the next rung was climbed at once.
    Climbed,
}

#[test]
fn only_the_letters_that_a_person_wrote_stop_the_ladder() {
    let expected = |no: u32| match no {
        // "Auto-Submitted: no" may be a person, and this one says "going".
        1 => Outcome::Held,
        // A delivery report that says "failed": Ana's mail is not read, so the next is called.
        9 => Outcome::Climbed,
        // No In-Reply-To, but References and a code in the new text.
        15 => Outcome::Held,
        _ => Outcome::Nothing,
    };
    for no in 1..=17 {
        assert_eq!(outcome(no), expected(no), "AV-{no:02}");
    }
}

fn outcome(no: u32) -> Outcome {
    let told = Teller::new("").tell("00:00  dam 114 contractions 9\nuntil 00:01\n");
    let mut watch = Watch::restore(&told.watch.snapshot()).unwrap();
    let alert = watch.state().watchman.open.values().next().unwrap().clone();
    let path = format!("{}/tests/letters/av-{no:02}.eml", env!("CARGO_MANIFEST_DIR"));
    let raw = std::fs::read_to_string(path)
        .unwrap()
        .replace("lowbell.9f3a.12", "lowbell.0000000000000007.1")
        .replace("7Q2F", &alert.code);
    let place = MailPlace { mailbox: "INBOX".into(), validity: 1, uid: no };
    let line = LineName::new("answers");
    let reply =
        letter::read(raw.as_bytes(), &line, Some(place), false).expect("a letter is readable");
    let now = Moment::from_rfc3339("2026-11-25T00:01:00Z").unwrap() + Span::seconds(30);
    let step = watch.step(now, &Event::Answered(reply));
    if watch.state().watchman.open[&alert.no].holder().is_some() {
        return Outcome::Held;
    }
    let called = step.effects.iter().any(|effect| match effect {
        Effect::Send(message) => message.alert == Some(alert.no) && message.to.as_str() == "Tom",
        Effect::Changed(_)
        | Effect::Publish(_)
        | Effect::Again(_)
        | Effect::Withdraw(_)
        | Effect::Refused(_)
        | Effect::Noted(_)
        | Effect::Said(_) => false,
    });
    if called { Outcome::Climbed } else { Outcome::Nothing }
}

/// The farm the vectors are held against is the stories' own.
#[test]
fn the_farm_of_the_vectors_has_no_fault() {
    let parsed = lowbell::config::parse(&settings(""));
    assert!(parsed.faults.is_empty(), "{:?}", parsed.faults);
}
