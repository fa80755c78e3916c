//! Every story, cut at every event: the state goes through its printed form and the rest of the
//! events gives the same diary as if nothing had been cut.

use lowbell::replay::Replay;
use lowbell::watch::Watch;
use lowbell::watch::diary::Line;

use super::stories::all;
use super::storyteller::{Teller, extra, halves};

#[test]
fn every_story_cut_at_every_event_gives_the_same_diary() {
    let mut cuts = 0;
    for (path, text) in all() {
        let (story, _) = halves(&text);
        let told = Teller::new(&extra(story)).tell(story);
        let mut whole = Replay::default();
        let mut snapshots = Vec::new();
        let mut lines: Vec<Vec<Line>> = Vec::new();
        for (at, event) in &told.events {
            snapshots.push((whole.watch.snapshot(), whole.digest()));
            lines.push(whole.take(*at, event).1);
        }
        snapshots.push((whole.watch.snapshot(), whole.digest()));
        for cut in 0..told.events.len() {
            let (state, digest) = &snapshots[cut];
            let watch = Watch::restore(state).expect("a snapshot is readable");
            let name = path.display();
            assert_eq!(watch.snapshot(), *state, "{name}: the state changes by being printed");
            let mut rest = Replay::after(watch, digest);
            // One step from here ends in the state that the next cut begins with, so every cut
            // vouches for all that follow; now and then the whole rest is told to the end.
            let end = if cut % 25 == 0 { told.events.len() } else { cut + 1 };
            for (event, lines) in told.events[cut..end].iter().zip(&lines[cut..]) {
                let (_, again) = rest.take(event.0, &event.1);
                assert_eq!(&again, lines, "{name} cut at event {cut}");
            }
            assert_eq!(rest.digest(), snapshots[end].1, "{name} cut at event {cut}");
            assert_eq!(rest.watch.snapshot(), snapshots[end].0, "{name} cut at event {cut}");
            let mut full = rest.watch.deadlines_in_full();
            let mut cached = rest.watch.deadlines_cached();
            full.sort();
            cached.sort();
            assert_eq!(cached, full, "{name} cut at event {cut}");
            cuts += 1;
        }
    }
    assert!(cuts > 200, "only {cuts} cuts were made");
}

/// The deadline index is a cache: after every event of every story it says what the full
/// computation says.
#[test]
fn the_deadline_index_always_agrees_with_the_full_computation() {
    for (path, text) in all() {
        let (story, _) = halves(&text);
        let told = Teller::new(&extra(story)).tell(story);
        let mut watch = Watch::default();
        for (at, event) in &told.events {
            let _ = watch.step(*at, event);
            let mut full = watch.deadlines_in_full();
            let mut cached = watch.deadlines_cached();
            full.sort();
            cached.sort();
            assert_eq!(cached, full, "{} after {event:?}", path.display());
        }
    }
}
