//! What one reading costs through `step`, by the size of the herd: a reading concerns one dam, so it
//! must not cost more in a large herd. Run: `cargo bench --bench step`.
#![allow(clippy::unwrap_used, reason = "a benchmark that cannot go on should stop")]

mod farm;

use divan::Bencher;
use lowbell::plain::moment::{Moment, Span};
use lowbell::sensor::packet::{Packet, Payload};
use lowbell::watch::Watch;
use lowbell::watch::event::Event;

fn main() {
    divan::main();
}

/// Two hours of readings go in first, so that every window is as full as it gets.
#[divan::bench(args = [100, 1_000, 10_000, 100_000], sample_count = 200, sample_size = 500)]
fn a_reading(bencher: Bencher<'_, '_>, dams: usize) {
    let mut herd = Herd::new(dams);
    for _ in 0..dams * 24 {
        herd.reading();
    }
    bencher.bench_local(|| herd.reading());
}

struct Herd {
    watch: Watch,
    dams: usize,
    now: Moment,
    turn: usize,
    beat: Span,
}

impl Herd {
    fn new(dams: usize) -> Self {
        let mut watch = Watch::default();
        let now = Moment::from_rfc3339("2026-11-24T12:00:00Z").unwrap();
        let _ = watch.step(now, &Event::Started { seed: 7, last: None });
        let broker = "url = \"mqtt://127.0.0.1:1883\"";
        let _ = watch.step(now, &Event::Settings(farm::settings(dams, broker)));
        assert!(watch.ready().is_some(), "the settings are refused");
        let beat = Span::from_millis(300_000 / i64::try_from(dams).unwrap());
        Self { watch, dams, now, turn: 0, beat }
    }

    /// The next dam in a scattered order speaks: one contraction in every third message.
    fn reading(&mut self) {
        self.turn += 1;
        self.now += self.beat;
        let dam = (self.turn * 7_919) % self.dams;
        let efforts = usize::from(self.turn.is_multiple_of(9));
        let body = format!("{{\"efforts\":{efforts},\"t\":{}}}", self.now.seconds());
        let packet = Packet {
            topic: format!("yard/tail/t-{dam}/state"),
            payload: Payload(body.into_bytes()),
            retained: false,
        };
        let step = self.watch.step(self.now, &Event::Packet(packet));
        let _ = divan::black_box(step);
    }
}
