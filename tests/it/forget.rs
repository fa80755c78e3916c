//! Somebody is taken out of the record (needs.md N91): nothing of them is found in it, and what the farm did stays.

use std::fs;
use std::ops::ControlFlow;
use std::path::Path;

use lowbell::journal::forget::{self, Forget, Forgotten, Kept};
use lowbell::journal::{Block, DiaryLine, Entry, JournalError, Store};
use lowbell::plain::moment::Moment;
use lowbell::replay::Replay;

use super::stories::all;
use super::storyteller::{Teller, extra, halves};

const CALLED: &str = "Former1";

/// A name of several words is read as one wherever somebody is named.
const LONG: &str = "former helper 2";

/// What a story left in a journal, a few entries a row.
fn journal(folder: &Path, teller: &Teller) {
    let mut store = Store::open(folder).unwrap();
    let mut replay = Replay::default();
    for chunk in teller.events.chunks(7) {
        let first = store.next_entry();
        let (mut entries, mut diary) = (Vec::new(), Vec::new());
        for (no, (at, event)) in (first..).zip(chunk) {
            let (_, lines) = replay.take(*at, event);
            diary.extend(lines.into_iter().map(|line| DiaryLine {
                entry: no,
                at: line.at,
                text: line.text,
            }));
            entries.push(Entry { no, at: *at, event: event.clone() });
        }
        store.append(&Block { first, entries, diary, digest: replay.digest() }).unwrap();
    }
}

/// Everything in a journal, as text; and whether it gives the diary again that stands in it.
fn read(folder: &Path) -> (String, Vec<String>) {
    let store = Store::open_read_only(folder).unwrap();
    let (mut all, mut diary, mut replay) = (String::new(), Vec::new(), Replay::default());
    let damages = store.read(0, &mut |block| {
        for entry in &block.entries {
            all.push_str(&serde_json::to_string(&entry.event).unwrap());
            let _ = replay.take(entry.at, &entry.event);
        }
        diary.extend(block.diary.iter().map(|line| line.text.clone()));
        assert_eq!(replay.digest(), block.digest, "a replay gives the same diary");
        ControlFlow::Continue(())
    });
    assert_eq!(damages, Ok(Vec::new()));
    all.push_str(&diary.join("\n"));
    (all, diary)
}

/// Whole words of a text, however they are written.
fn has(text: &str, word: &str) -> bool {
    let text = text.to_lowercase();
    let mut words = text.split(|letter: char| !letter.is_alphanumeric());
    words.any(|found| found == word)
}

/// Every story with Tom, who is called by the ladder, answers, swaps and hands on.
#[test]
fn a_record_without_somebody_tells_the_same() {
    let (mut lines, mut changed, mut otherwise) = (0, 0, Vec::new());
    for ((path, text), called) in
        all().into_iter().flat_map(|story| [(story.clone(), CALLED), (story, LONG)])
    {
        let who = Forget { person: "Tom".into(), called: called.to_owned() };
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let (story, _) = halves(&text);
        let teller = Teller::new(&extra(story)).tell(story);
        let folder = tempfile::tempdir().unwrap();
        journal(folder.path(), &teller);
        let (before, diary) = read(folder.path());
        assert!(has(&before, "tom"), "{name}");
        let now = teller.watch.state().now;
        let tried = forget::forget(folder.path(), &who, now, true);
        assert_eq!(read(folder.path()).0, before, "{name}: trying changes nothing");
        let done = forget::forget(folder.path(), &who, now, false);
        assert_eq!(tried, done, "{name}");
        let Ok(done) = done else {
            otherwise.push((name, done));
            continue;
        };
        let (after, new) = read(folder.path());
        assert!(!has(&after, "tom"), "{name}");
        assert!(before.contains("353860000002") && before.contains("tom@"));
        assert!(!after.contains("353860000002") && !after.contains("tom@"), "{name}");
        assert_eq!(new.len(), diary.len() + 1, "{name}");
        let said = format!("somebody was taken out of this record; they are called {called} in it");
        assert_eq!(new.last(), Some(&said));
        let theirs = diary.iter().zip(&new).filter(|(old, new)| old != new).count() as u64;
        assert_eq!(done.lines, theirs);
        (lines, changed) = (lines + diary.len(), changed + theirs);
        let left: Vec<_> =
            fs::read_dir(folder.path()).unwrap().map(|one| one.unwrap().file_name()).collect();
        assert!(!left.iter().any(|one| one == "forgetting"), "{left:?}");
    }
    assert_eq!(otherwise, []);
    assert!(lines > 1_000 && changed > 100, "{changed} of {lines} lines");
}

#[test]
fn what_cannot_be_told_apart_or_is_damaged_or_in_use_stays_as_it_is() {
    let teller =
        Teller::new("herd 114,Bess,2,home field\n").tell("12:30  Ana mails ill until fri\n");
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path();
    journal(place, &teller);
    let before = read(place);
    let empty = tempfile::tempdir().unwrap();
    let nowhere = forget::forget(
        empty.path(),
        &Forget { person: "Tom".into(), called: CALLED.into() },
        Moment::default(),
        false,
    );
    assert!(matches!(nowhere, Err(Kept::Journal(JournalError::Missing { .. }))));
    assert_eq!(fs::read_dir(empty.path()).unwrap().count(), 0, "none is made");
    let now = Moment::from_rfc3339("2026-11-26T12:00:00Z").unwrap();
    let tried = |person: &str, called: &str| {
        let who = Forget { person: person.into(), called: called.to_owned() };
        forget::forget(place, &who, now, false)
    };
    assert_eq!(tried("Nobody", CALLED), Err(Kept::Unknown));
    assert_eq!(tried("Tom", "ana"), Err(Kept::Taken));
    assert_eq!(tried("Bess", CALLED), Err(Kept::AlsoCalled("Bess".to_owned())));
    let running = Store::open(place).unwrap();
    assert!(matches!(tried("Tom", CALLED), Err(Kept::Journal(_))), "a watch is running");
    drop(running);
    assert_eq!(read(place), before);
    assert_eq!(forget::elsewhere(place, &"Tom".into()), Vec::<std::path::PathBuf>::new());
    fs::write(place.join("set-aside-1.json"), "{\"text\": \"going, TOM\"}").unwrap();
    fs::write(place.join("other.json"), "tomorrow").unwrap();
    assert_eq!(forget::elsewhere(place, &"Tom".into()), [place.join("set-aside-1.json")]);
    let done: Forgotten = tried("Tom", CALLED).unwrap();
    assert!(done.changed > 0 && done.entries > done.changed, "{done:?}");
    assert_eq!(tried("Tom", "Former2"), Err(Kept::Unknown), "nothing is left of them");
}
