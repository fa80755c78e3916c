//! Three days of a thousand sensors at once: the broker kept everything while the watch was away, and
//! now it comes as fast as it can be taken. Every message goes through the real loop and onto the
//! real journal; the memory this takes is what the process peaked at. Run: `cargo bench --bench backlog`.
#![allow(clippy::unwrap_used, reason = "a benchmark that cannot go on should stop")]
#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![allow(clippy::disallowed_methods, reason = "a benchmark measures time")]

mod farm;

use std::cell::Cell;
use std::rc::Rc;
use std::time::Instant;

use lowbell::line::{Arrival, Receipt};
use lowbell::live::clock::Clock;
use lowbell::live::doors;
use lowbell::live::night::Night;
use lowbell::live::plan::Plan;
use lowbell::live::settings::Place;
use lowbell::plain::moment::{Moment, Span};
use lowbell::sensor::packet::{Packet, Payload};
use lowbell::watch::event::Event;

const SENSORS: i64 = 1_000;
const MINUTES: i64 = 72 * 60;
/// The broker's window: it sends so many unconfirmed.
const WINDOW: usize = 500;

fn main() {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let ends = Moment::from_rfc3339("2026-02-04T06:00:00Z").unwrap();
    // No broker answers there: what it would bring comes in below, with the same receipts.
    let settings = farm::settings(SENSORS as usize, "url = \"mqtt://127.0.0.1:9\"");
    let (doors, knock) = doors::doors();
    let plan = Plan {
        place: Place::new(&folder.path().join("farm.toml")),
        settings,
        data: folder.path().to_owned(),
        clock: Box::new(move |_| Clock::invented(ends, 1)),
        credentials: None,
        print: Box::new(|_, _| {}),
    };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let start = Instant::now();
    let confirmed = Rc::new(Cell::new(0_u64));
    runtime.block_on(async {
        let night = Night::begin(plan, knock.arrive.clone()).await.unwrap();
        let local = tokio::task::LocalSet::new();
        local.spawn_local(async move {
            let window = std::sync::Arc::new(tokio::sync::Semaphore::new(WINDOW));
            for minute in 0..MINUTES {
                for sensor in 0..SENSORS {
                    let room = window.clone().acquire_owned().await.unwrap();
                    let at =
                        ends - Span::minutes(MINUTES - minute) + Span::from_millis(sensor * 60);
                    let efforts = i64::from((minute * 31 + sensor) % 977 == 0);
                    let body = format!("{{\"efforts\":{efforts},\"t\":{}}}", at.seconds());
                    let topic = format!("yard/tail/t-{sensor}/state");
                    let payload = Payload(body.into_bytes());
                    let packet = Packet { topic, payload, retained: false };
                    // A broker with a full window waits: half of it is in a hurry, as in the line.
                    let patience = if window.available_permits() < WINDOW / 2 {
                        Span::ZERO
                    } else {
                        Span::seconds(20)
                    };
                    let receipt = Receipt::new(patience, move || drop(room));
                    let event = Event::Packet(packet);
                    knock.arrive.send(Arrival { event, receipt: Some(receipt) }).await.unwrap();
                }
            }
            // The whole window is free again once everything is on disk.
            let _all = window.acquire_many(WINDOW as u32).await.unwrap();
            knock.stop.send(()).await.unwrap();
        });
        local.run_until(night.run(doors)).await;
    });
    let seconds = start.elapsed().as_secs_f64();
    let store = lowbell::journal::Store::open_read_only(folder.path()).unwrap();
    let count = confirmed.clone();
    let damages = store
        .read(0, &mut |block| {
            let packets =
                block.entries.iter().filter(|entry| matches!(entry.event, Event::Packet(_)));
            count.set(count.get() + packets.count() as u64);
            std::ops::ControlFlow::Continue(())
        })
        .unwrap();
    assert!(damages.is_empty());
    assert_eq!(confirmed.get(), (SENSORS * MINUTES) as u64, "every message is in the journal");
    let size = std::fs::metadata(folder.path().join("journal.sqlite")).unwrap().len();
    println!(
        "backlog: {} messages of {SENSORS} sensors, 72 h, taken in {seconds:.0} s; the journal has {:.0} MB",
        confirmed.get(),
        size as f64 / 1e6
    );
    println!("backlog: the process peaked at {} (limit 100 MB)", peak());
}

fn peak() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with("VmHWM")).unwrap();
    line.split_whitespace().skip(1).collect::<Vec<_>>().join(" ")
}
