//! What a running watch costs the machine: memory with 500 dams, and what 100 sensors that speak
//! every minute write to the block layer in an hour of the watch's time. Run:
//! `cargo bench --bench night`.
#![allow(clippy::unwrap_used, reason = "a benchmark that cannot go on should stop")]
#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![allow(clippy::disallowed_methods, reason = "a benchmark measures time")]

mod farm;

use std::cell::Cell;
use std::io::{BufRead, BufReader, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Command, Stdio};
use std::rc::Rc;
use std::time::Duration;

use lowbell::line::{Arrival, Receipt};
use lowbell::live::clock::Clock;
use lowbell::live::doors;
use lowbell::live::night::Night;
use lowbell::live::plan::Plan;
use lowbell::live::settings::Place;
use lowbell::plain::moment::{Moment, Span};
use lowbell::sensor::packet::{Packet, Payload};
use lowbell::watch::event::Event;

/// The hour takes a minute and a half.
const SPEED: u32 = 40;

fn main() {
    memory();
    disk();
}

/// The real binary with 500 dams, every one of which has spoken over the built-in broker.
fn memory() {
    let folder = tempfile::tempdir().unwrap();
    let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let settings = farm::settings(500, &format!("built-in = \"127.0.0.1:{port}\""));
    for file in &settings.files {
        std::fs::write(folder.path().join(&file.name), &file.text).unwrap();
    }
    let mut child = Command::new(env!("CARGO_BIN_EXE_lowbell"))
        .arg("run")
        .arg(folder.path().join("farm.toml"))
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    for line in lines.by_ref() {
        if line.unwrap().contains("broker is up") {
            break;
        }
    }
    // Nobody may be kept waiting by a pipe that is not read.
    let drained = std::thread::spawn(move || lines.map_while(Result::ok).count());
    speak(port, 500);
    let asked = Command::new(env!("CARGO_BIN_EXE_lowbell"))
        .args(["status", "--json"])
        .arg(folder.path().join("farm.toml"))
        .output()
        .unwrap();
    let board: serde_json::Value = serde_json::from_slice(&asked.stdout).unwrap();
    let heard =
        board["devices"].as_array().unwrap().iter().filter(|one| !one["heard"].is_null()).count();
    let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap();
    let rss = status.lines().find(|line| line.starts_with("VmRSS")).unwrap();
    println!(
        "night: 500 dams, {heard} devices heard, {}",
        rss.split_whitespace().collect::<Vec<_>>().join(" ")
    );
    child.kill().unwrap();
    child.wait().unwrap();
    drained.join().unwrap();
}

/// Speaks MQTT 3.1.1 by hand: one connection, one message a device at QoS 0, then a ping that is
/// answered only after them.
fn speak(port: u16, devices: usize) {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    stream.write_all(b"\x10\x10\x00\x04MQTT\x04\x02\x00\x3c\x00\x04herd").unwrap();
    let mut answer = [0; 4];
    std::io::Read::read_exact(&mut stream, &mut answer).unwrap();
    let now = std::time::UNIX_EPOCH.elapsed().unwrap().as_secs();
    for device in 0..devices {
        let topic = format!("yard/tail/t-{device}/state");
        let body = format!("{{\"efforts\":0,\"t\":{now}}}");
        let length = u8::try_from(2 + topic.len() + body.len()).unwrap();
        let mut packet = vec![0x30, length, 0, u8::try_from(topic.len()).unwrap()];
        packet.extend(topic.bytes().chain(body.bytes()));
        stream.write_all(&packet).unwrap();
    }
    stream.write_all(b"\xc0\x00").unwrap();
    let mut pong = [0; 2];
    std::io::Read::read_exact(&mut stream, &mut pong).unwrap();
}

fn disk() {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let before = written();
    let commits = runtime.block_on(hour(folder.path()));
    let bytes = written() - before;
    println!("night: 100 sensors, 1 message a minute each, one hour of the watch's time");
    println!(
        "night: {:.2} MB to the block layer, times 24 is {:.1} MB a day (budget 50)",
        bytes as f64 / 1e6,
        bytes as f64 * 24.0 / 1e6
    );
    println!("night: {commits} commits, times 24 is {} a day (budget 6000)", commits * 24);
}

async fn hour(folder: &Path) -> u64 {
    let begins = Moment::from_rfc3339("2026-11-24T12:00:00Z").unwrap();
    // No broker answers there: what it would bring comes in below, with the same receipts.
    let settings = farm::settings(100, "url = \"mqtt://127.0.0.1:9\"");
    let (doors, knock) = doors::doors();
    let plan = Plan {
        place: Place::new(&folder.join("farm.toml")),
        settings,
        data: folder.to_owned(),
        clock: Box::new(move |_| Clock::invented(begins, SPEED)),
        credentials: None,
        print: Box::new(|_, _| {}),
    };
    let night = Night::begin(plan, knock.arrive.clone()).await.unwrap();
    let commits = Rc::new(Cell::new(0_u64));
    let local = tokio::task::LocalSet::new();
    local.spawn_local(async move {
        let beat = Duration::from_millis(60_000 / 100 / u64::from(SPEED));
        let mut interval = tokio::time::interval(beat);
        for message in 0..6_000_i64 {
            interval.tick().await;
            let at = begins + Span::from_millis(message * 600);
            let body = format!("{{\"efforts\":{},\"t\":{}}}", message % 13 / 12, at.seconds());
            let topic = format!("yard/tail/t-{}/state", message % 100);
            let packet = Packet { topic, payload: Payload(body.into_bytes()), retained: false };
            let receipt = Receipt::new(Span::seconds(20), || {});
            let arrival = Arrival { event: Event::Packet(packet), receipt: Some(receipt) };
            knock.arrive.send(arrival).await.unwrap();
        }
        knock.stop.send(()).await.unwrap();
    });
    local.run_until(night.run(doors)).await;
    let store = lowbell::journal::Store::open_read_only(folder).unwrap();
    let counted = commits.clone();
    store
        .read(0, &mut |_| {
            counted.set(counted.get() + 1);
            std::ops::ControlFlow::Continue(())
        })
        .unwrap();
    commits.get()
}

fn written() -> u64 {
    let io = std::fs::read_to_string("/proc/self/io").unwrap();
    let line = io.lines().find(|line| line.starts_with("write_bytes")).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}
