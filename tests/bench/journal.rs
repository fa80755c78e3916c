//! What the journal costs: bytes and commits a day to the card, and time to read a season back.
//!
//! A yard of 100 sensors, a reading each a minute, committed in groups of 20 s. The bytes are what
//! the system counts against this process (`write_bytes` of `/proc/self/io`, in pages of 4 KiB),
//! so the target folder must be on a real disk.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "a bench prints what it measured by the clock, and stops when it cannot"
)]

use std::fs;
use std::hint::black_box;
use std::ops::ControlFlow;
use std::path::Path;
use std::time::Instant;

use lowbell::journal::{Block, DiaryLine, Entry, Snapshot, Store};
use lowbell::plain::moment::{Moment, Span};
use lowbell::sensor::packet::{Packet, Payload};
use lowbell::watch::event::Event;

const SENSORS: u64 = 100;
const GROUPS_AN_HOUR: u64 = 180;
/// Commits of their own for decisions, so that a day has 6,000.
const DECISIONS_AN_HOUR: u64 = 70;
const SEASON: u64 = 8_640_000;

fn main() {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let mut yard = Yard::new(folder.path());
    for (name, decisions) in [("groups alone", 0), ("groups and decisions", DECISIONS_AN_HOUR)] {
        let (before, commits) = (written(), yard.commits);
        yard.hour(decisions);
        let hour = written() - before;
        for _ in 1..24 {
            yard.hour(decisions);
        }
        let (day, commits) = (written() - before, yard.commits - commits);
        println!(
            "{name}: {commits} commits a day, {} B a commit; the first hour {hour} B, times 24 = \
             {:.1} MB; 24 hours, log folded as it grows: {:.1} MB a day",
            day / commits,
            (hour * 24) as f64 / 1e6,
            day as f64 / 1e6
        );
    }
    snapshots(&mut yard);
    let entries = yard.store.next_entry() - 1;
    drop(yard);
    let size = fs::metadata(folder.path().join("journal.sqlite")).unwrap().len();
    println!(
        "two such days: {entries} entries, {:.1} MB, {} B an entry; a season of {SEASON}: {} MB",
        size as f64 / 1e6,
        size / entries,
        size * SEASON / entries / 1_000_000
    );
    reading(folder.path(), entries);
}

fn snapshots(yard: &mut Yard) {
    let dam = |no: u64| {
        format!("{{\"animal\":\"{no}\",\"stage\":\"first\",\"since\":{}}}", yard.dice(1 << 40))
    };
    let state: String = (0..500).map(dam).collect();
    let before = written();
    for entry in 1..=10 {
        let (digest, state) = (String::new(), state.clone());
        let snapshot = Snapshot { version: 1, entry, digest, state };
        yard.store.save_snapshot(&snapshot).unwrap();
    }
    println!(
        "a snapshot of {} kB of state: {} B written",
        state.len() / 1000,
        (written() - before) / 10
    );
}

fn reading(folder: &Path, entries: u64) {
    let store = Store::open_read_only(folder).unwrap();
    let begun = Instant::now();
    let mut seen = 0;
    let damages = store
        .read(0, &mut |block| {
            seen += black_box(block).entries.len() as u64;
            ControlFlow::Continue(())
        })
        .unwrap();
    let took = begun.elapsed();
    assert_eq!((seen, damages.len()), (entries, 0));
    let each = took.as_nanos() as f64 / entries as f64;
    println!("read back: {each:.0} ns an entry, a season in {:.1} s", each * SEASON as f64 / 1e9);
}

struct Yard {
    store: Store,
    now: Moment,
    commits: u64,
    noise: std::cell::Cell<u64>,
}

impl Yard {
    fn new(folder: &Path) -> Self {
        Self {
            store: Store::open(folder).unwrap(),
            now: Moment::from_seconds(1_795_572_300),
            commits: 0,
            noise: std::cell::Cell::new(1),
        }
    }

    fn hour(&mut self, decisions: u64) {
        for group in 0..GROUPS_AN_HOUR {
            // A third of the sensors speak in each 20 s: 33, 33 and 34.
            let heard = SENSORS / 3 + u64::from(group % 3 == 2);
            self.commit(heard, None);
            if group * decisions / GROUPS_AN_HOUR != (group + 1) * decisions / GROUPS_AN_HOUR {
                self.commit(1, Some("dam 114 enters second stage"));
            }
        }
    }

    fn commit(&mut self, heard: u64, line: Option<&str>) {
        let first = self.store.next_entry();
        let entries: Vec<Entry> = (first..first + heard)
            .map(|no| {
                self.now += Span::from_millis(1 + self.dice(1_200).cast_signed());
                Entry { no, at: self.now, event: self.packet(no % SENSORS) }
            })
            .collect();
        let diary = line.map(|text| DiaryLine { entry: first, at: self.now, text: text.into() });
        let digest = (0..4).map(|_| format!("{:016x}", self.dice(u64::MAX)));
        let block =
            Block { first, entries, diary: diary.into_iter().collect(), digest: digest.collect() };
        self.store.append(&block).unwrap();
        self.commits += 1;
    }

    fn packet(&self, sensor: u64) -> Event {
        let payload = format!(
            "{{\"efforts\":{},\"lift\":{}.{},\"temp\":{}.{:02},\"volt\":3.{:03},\"seq\":{}}}",
            self.dice(9),
            self.dice(90),
            self.dice(10),
            37 + self.dice(3),
            self.dice(100),
            self.dice(400),
            self.commits + 40_000
        );
        Event::Packet(Packet {
            topic: format!("yard/tail/t-{sensor:02}/state"),
            payload: Payload(payload.into_bytes()),
            retained: false,
        })
    }

    /// The same on every run (xorshift64*).
    fn dice(&self, sides: u64) -> u64 {
        let mut noise = self.noise.get();
        noise ^= noise >> 12;
        noise ^= noise << 25;
        noise ^= noise >> 27;
        self.noise.set(noise);
        noise.wrapping_mul(0x2545_f491_4f6c_dd1d) % sides
    }
}

/// What this process has had written to disks so far.
fn written() -> u64 {
    let counters = fs::read_to_string("/proc/self/io").unwrap();
    let line = counters.lines().find_map(|line| line.strip_prefix("write_bytes: "));
    line.unwrap().parse().unwrap()
}
