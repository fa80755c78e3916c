//! What reading and judging sensors costs beside merely receiving them. The same messages wait in two
//! kept sessions of one real mosquitto; a bare client drains one, and the same client with the whole
//! watch behind it (decoding, plausibility, rules) the other, in turns. Then the same without a
//! broker, on one core. Run: `cargo bench --bench ingest`.
#![allow(clippy::unwrap_used, reason = "a benchmark that cannot go on should stop")]
#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![allow(clippy::disallowed_methods, reason = "a benchmark measures time")]

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use lowbell::config::{NamedText, SettingsText};
use lowbell::gear::device::Device;
use lowbell::gear::gauge::{Believed, Scale};
use lowbell::plain::moment::{Moment, Span};
use lowbell::sensor::packet::{Packet, Payload};
use lowbell::sensor::plausible::{Figure, Fits};
use lowbell::watch::Watch;
use lowbell::watch::event::Event;
use rumqttc::mqttbytes::v4::Packet as Mqtt;
use rumqttc::{AsyncClient, Event as Polled, EventLoop, MqttOptions, QoS};

const SENSORS: usize = 1_000;
const MESSAGES: usize = 100_000;
const ROUNDS: usize = 3;
/// A thousand sensors that speak once a minute.
const NEEDED: f64 = 1_000.0 / 60.0;

fn main() {
    let begins = Moment::from_rfc3339("2026-02-01T20:00:00Z").unwrap();
    alone(begins);
    let decoding = decoding(begins);
    let folder = tempfile::tempdir().unwrap();
    let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let _broker = Broker(mosquitto(folder.path(), port));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let (mut bare, mut watched) = (Vec::new(), Vec::new());
    for round in 0..ROUNDS {
        runtime.block_on(async {
            for name in ["bare", "watched"] {
                leave_a_session(port, name).await;
            }
        });
        publish(port, begins);
        let watch = begun(begins);
        // Whoever drains second finds a broker with less to hold: they take turns.
        let order = if round % 2 == 0 { [false, true] } else { [true, false] };
        let mut watch = Some(watch);
        for with_watch in order {
            if with_watch {
                let rate = runtime.block_on(drain(port, "watched", watch.take()));
                println!("ingest: round {round}: with the watch {rate:.0} messages/s");
                watched.push(rate);
            } else {
                let rate = runtime.block_on(drain(port, "bare", None));
                println!("ingest: round {round}: bare client {rate:.0} messages/s");
                bare.push(rate);
            }
        }
    }
    let (bare, watched) = (median(bare), median(watched));
    println!(
        "ingest: decoding and plausibility by themselves are {:.0} % as fast as the bare client (at least 80)",
        100.0 * decoding / bare
    );
    println!(
        "ingest: medians: bare {bare:.0}, one after the other with the whole watch {watched:.0} messages/s: {:.0} %",
        100.0 * watched / bare
    );
}

/// No broker: one core, the same messages.
fn alone(begins: Moment) {
    let mut watch = begun(begins);
    let packets: Vec<Packet> = (0..MESSAGES)
        .map(|n| {
            let (topic, payload) = message(n, begins);
            Packet { topic, payload: Payload(payload), retained: false }
        })
        .collect();
    let start = Instant::now();
    for (n, packet) in packets.into_iter().enumerate() {
        let _ = watch.step(when(n, begins), &Event::Packet(packet));
    }
    let rate = MESSAGES as f64 / start.elapsed().as_secs_f64();
    println!(
        "ingest: {rate:.0} messages/s on one core without a broker: {:.0} times what {SENSORS} \
         sensors at one a minute need (at least 1000)",
        rate / NEEDED
    );
}

/// The same messages, only taken apart and held against what can be believed.
fn decoding(begins: Moment) -> f64 {
    let watch = begun(begins);
    let decoders = &watch.ready().unwrap().decoders;
    let scale = Scale {
        fits: Some(Fits { low: 34.0, high: 43.0 }),
        jump: Some(0.5),
        unit: None,
        battery: false,
    };
    let mut devices = vec![Device::default(); SENSORS];
    let messages: Vec<(String, Vec<u8>)> = (0..MESSAGES).map(|n| message(n, begins)).collect();
    let start = Instant::now();
    let mut believed = 0;
    for (n, (topic, payload)) in messages.iter().enumerate() {
        let now = when(n, begins);
        let heard = decoders.read(topic, payload, now, false);
        for reading in &heard.readings {
            let figure = Figure { value: reading.value, at: reading.at, timed: reading.timed };
            if &*reading.sign == "temperature" {
                let judged = devices[n % SENSORS].reads(&reading.sign, figure, &scale, now);
                believed += usize::from(matches!(judged.0, Believed::Yes { .. }));
            }
        }
    }
    let rate = MESSAGES as f64 / start.elapsed().as_secs_f64();
    println!(
        "ingest: {rate:.0} messages/s decoded and judged on one core, {believed} figures believed"
    );
    rate
}

/// Each sensor speaks once a minute, in turn.
fn when(n: usize, begins: Moment) -> Moment {
    begins + Span::from_millis((n as i64) * 60_000 / SENSORS as i64)
}

fn message(n: usize, begins: Moment) -> (String, Vec<u8>) {
    let (device, at) = (n % SENSORS, when(n, begins).seconds());
    let temperature = 38.3 + ((n * 37) % 60) as f64 / 100.0;
    let body = format!(
        "{{\"t\":{at},\"n\":{},\"efforts\":{},\"temp\":{temperature:.2},\"up\":{},\"batt\":{}}}",
        n / SENSORS,
        u8::from(n.is_multiple_of(211)),
        (n * 13) % 40,
        90 - (n / SENSORS) % 3
    );
    (format!("yard/tail/t-{device}/state"), body.into_bytes())
}

fn begun(begins: Moment) -> Watch {
    let mut farm = String::from(
        r#"[farm]
name = "Hollow Bank"
zone = "Europe/Dublin"
herd = "herd.csv"
[broker]
url = "mqtt://127.0.0.1:1883"
[[sensor]]
kind = "tail"
topic = "yard/tail/{device}/state"
read = [
  { sign = "contraction", at = "/efforts", as = "count" },
  { sign = "temperature", at = "/temp", unit = "Cel", fits = [34, 43], jump = 0.5, none = [-127, 85] },
  { sign = "tail up", at = "/up", unit = "s" },
  { sign = "battery", at = "/batt", unit = "%EL" },
]
time = { at = "/t", as = "unix-s" }
counter = "/n"
every = "1m"
[[person]]
name = "Ana"
mail = "ana@hollowbank.example"
[[line]]
name = "mail"
kind = "smtp"
url = "smtp://127.0.0.1:9"
from = "lowbell@hollowbank.example"
"#,
    );
    let mut herd = String::from("animal,calvings,group\n");
    for dam in 0..SENSORS {
        farm.push_str(&format!("[[device]]\nid = \"t-{dam}\"\non = \"{dam}\"\n"));
        herd.push_str(&format!("{dam},{},home field\n", dam % 5));
    }
    let file = |name: &str, text: String| NamedText { name: name.into(), text };
    let settings = SettingsText { files: vec![file("farm.toml", farm), file("herd.csv", herd)] };
    let mut watch = Watch::default();
    let _ = watch.step(begins, &Event::Started { seed: 1, last: None });
    let _ = watch.step(begins, &Event::Settings(settings));
    assert!(watch.ready().is_some(), "the settings are good");
    watch
}

async fn drain(port: u16, name: &str, mut watch: Option<Watch>) -> f64 {
    let (_client, mut events) = client(port, name);
    let (mut heard, mut start) = (0, Instant::now());
    let begins = Moment::from_rfc3339("2026-02-01T20:00:00Z").unwrap();
    while heard < MESSAGES {
        let Polled::Incoming(Mqtt::Publish(publish)) = events.poll().await.unwrap() else {
            continue;
        };
        if heard == 0 {
            start = Instant::now();
        }
        if let Some(watch) = &mut watch {
            let payload = Payload(publish.payload.to_vec());
            let packet = Packet { topic: publish.topic, payload, retained: publish.retain };
            let _ = watch.step(when(heard, begins), &Event::Packet(packet));
        }
        heard += 1;
    }
    let rate = heard as f64 / start.elapsed().as_secs_f64();
    if let Some(watch) = &watch {
        let board = watch.view().unwrap();
        let spoke = board.devices.iter().filter(|device| device.heard.is_some()).count();
        assert_eq!(spoke, SENSORS, "every device was understood");
    }
    rate
}

fn client(port: u16, name: &str) -> (AsyncClient, EventLoop) {
    let mut options = MqttOptions::new(name, "127.0.0.1", port);
    options.set_clean_session(false).set_keep_alive(Duration::from_secs(60));
    AsyncClient::new(options, 10)
}

/// Subscribes and goes, so that what is published then waits.
async fn leave_a_session(port: u16, name: &str) {
    let (client, mut events) = client(port, name);
    client.subscribe("yard/#", QoS::AtLeastOnce).await.unwrap();
    while !matches!(events.poll().await.unwrap(), Polled::Incoming(Mqtt::SubAck(_))) {}
    client.disconnect().await.unwrap();
    while events.poll().await.is_ok() {}
}

/// MQTT 3.1.1 by hand, QoS 1, as fast as it goes.
fn publish(port: u16, begins: Moment) {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    stream.write_all(b"\x10\x10\x00\x04MQTT\x04\x02\x00\x3c\x00\x04herd").unwrap();
    stream.read_exact(&mut [0; 4]).unwrap();
    let mut reading = stream.try_clone().unwrap();
    let answers = std::thread::spawn(move || {
        let mut left = MESSAGES * 4;
        let mut buffer = [0; 64 * 1024];
        while left > 0 {
            left -= reading.read(&mut buffer).unwrap();
        }
    });
    let mut batch = Vec::new();
    for n in 0..MESSAGES {
        let (topic, body) = message(n, begins);
        let length = 2 + topic.len() + 2 + body.len();
        batch.push(0x32);
        if length < 128 {
            batch.push(length as u8);
        } else {
            batch.extend([(length % 128) as u8 | 0x80, (length / 128) as u8]);
        }
        batch.extend((topic.len() as u16).to_be_bytes());
        batch.extend(topic.bytes());
        batch.extend(((n % 65_535) as u16 + 1).to_be_bytes());
        batch.extend(&body);
        if batch.len() > 32 * 1024 {
            stream.write_all(&batch).unwrap();
            batch.clear();
        }
    }
    stream.write_all(&batch).unwrap();
    answers.join().unwrap();
}

struct Broker(Child);

impl Drop for Broker {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn mosquitto(folder: &std::path::Path, port: u16) -> Child {
    let settings = format!(
        "listener {port} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 0\n\
         max_inflight_messages 500\npersistence false\nlog_type error\n"
    );
    let path = folder.join("mosquitto.conf");
    std::fs::write(&path, settings).unwrap();
    let child = Command::new("mosquitto")
        .arg("-c")
        .arg(path)
        .stderr(Stdio::null())
        .spawn()
        .expect("the Debian package mosquitto is installed");
    while TcpStream::connect(("127.0.0.1", port)).is_err() {
        std::thread::sleep(Duration::from_millis(20));
    }
    child
}

fn median(mut rates: Vec<f64>) -> f64 {
    rates.sort_by(f64::total_cmp);
    rates[rates.len() / 2]
}
