//! A whole season from its journal: 500 dams, a reading each per 5 minutes, 60 days. Writes the
//! journal first, then reads and replays it on one core. Run: `cargo bench --bench season`.
#![allow(clippy::unwrap_used, reason = "a benchmark that cannot go on should stop")]
#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![allow(clippy::disallowed_methods, reason = "a benchmark measures time")]

mod farm;

use std::ops::ControlFlow;
use std::time::Instant;

use lowbell::journal::{Block, DiaryLine, Entry, Store};
use lowbell::plain::moment::{Moment, Span};
use lowbell::replay::Replay;
use lowbell::sensor::packet::{Packet, Payload};
use lowbell::watch::event::Event;

const DAMS: usize = 500;
const DAYS: i64 = 60;
/// 20 seconds of 500 dams that speak every 5 minutes.
const GROUP: usize = 33;

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let begins = Moment::from_rfc3339("2026-01-01T00:00:00Z").unwrap();
    let start = Instant::now();
    let entries = write(folder.path(), begins);
    println!("season: {entries} entries written in {:.1} s", start.elapsed().as_secs_f64());
    let size = std::fs::metadata(folder.path().join("journal.sqlite")).unwrap().len();
    println!("season: the journal has {:.1} MB", size as f64 / 1e6);

    let store = Store::open_read_only(folder.path()).unwrap();
    let start = Instant::now();
    let mut replay = Replay::default();
    let mut same = true;
    let damages = store
        .read(0, &mut |block| {
            for entry in &block.entries {
                let _ = replay.take(entry.at, &entry.event);
            }
            same &= replay.digest() == block.digest;
            ControlFlow::Continue(())
        })
        .unwrap();
    let seconds = start.elapsed().as_secs_f64();
    assert!(damages.is_empty() && same && replay.entries == entries);
    println!(
        "season: replayed in {seconds:.1} s, {:.2} µs an entry, the same diary",
        seconds * 1e6 / entries as f64
    );
}

fn write(folder: &std::path::Path, begins: Moment) -> u64 {
    let mut store = Store::open(folder).unwrap();
    let mut replay = Replay::default();
    let mut no = store.next_entry();
    let broker = "url = \"mqtt://127.0.0.1:1883\"";
    let mut group = vec![
        (begins, Event::Started { seed: store.seed(), last: None }),
        (begins, Event::Settings(farm::settings(DAMS, broker))),
    ];
    let beat = Span::from_millis(300_000 / DAMS as i64);
    let readings = DAMS * (DAYS as usize) * 288;
    let mut now = begins;
    for turn in 0..readings {
        now += beat;
        let dam = (turn * 7) % DAMS;
        let body = format!("{{\"efforts\":{},\"t\":{}}}", u8::from(turn % 11 == 0), now.seconds());
        let payload = Payload(body.into_bytes());
        let topic = format!("yard/tail/t-{dam}/state");
        group.push((now, Event::Packet(Packet { topic, payload, retained: false })));
        let woken = replay.watch.next_deadline().is_some_and(|next| next.at <= now);
        if woken {
            group.push((now, Event::Woke));
        }
        if group.len() >= GROUP || woken || turn + 1 == readings {
            let mut block =
                Block { first: no, entries: Vec::new(), diary: Vec::new(), digest: String::new() };
            for (at, event) in group.drain(..) {
                let (_, lines) = replay.take(at, &event);
                let lines = lines.into_iter().map(|line| DiaryLine {
                    entry: no,
                    at: line.at,
                    text: line.text,
                });
                block.diary.extend(lines);
                block.entries.push(Entry { no, at, event });
                no += 1;
            }
            block.digest = replay.digest();
            store.append(&block).unwrap();
        }
    }
    replay.entries
}
