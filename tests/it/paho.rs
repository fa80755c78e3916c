//! Every shape of message from a client that is not ours, through a broker that is not ours, into the
//! watch: what it knows of each device afterwards, to the figure, the unit and the second.
//!
//! The client is Debian's python3-paho-mqtt (`tests/servers/speak`). CBOR and MessagePack are written by
//! hand from their specifications, never by code of ours.

use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use lowbell::config::farm::{Broker, MqttVersion};
use lowbell::config::rules::Ill;
use lowbell::config::{NamedText, SettingsText};
use lowbell::line::Arrival;
use lowbell::line::mqtt::{self, Plan};
use lowbell::live::lines;
use lowbell::plain::ids::DeviceId;
use lowbell::plain::moment::{Moment, Span};
use lowbell::sensor::packet::Packet;
use lowbell::sensor::senml;
use lowbell::watch::Watch;
use lowbell::watch::effect::Effect;
use lowbell::watch::event::{Event, LineNews};
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use tokio::time::timeout;

use crate::daemon::{lowbell, text};
use crate::mosquitto::{DEADLINE, Mosquitto};

/// 02:08:20 in Dublin; everything is heard then.
const NOW: Moment = Moment::from_seconds(1_795_572_500);
/// The time that most messages carry: 6b064300 in base 16.
const CARRIED: i64 = 1_795_572_480;
const BOTH: [(&str, MqttVersion); 2] = [("4", MqttVersion::ThreeOneOne), ("5", MqttVersion::Five)];

/// When a reading was so: as its message says, or as far as is known from hearing it.
#[derive(Clone, Copy, Debug)]
enum When {
    Carried(i64),
    Heard(Span),
}

const T: When = When::Carried(CARRIED);
const H: When = When::Heard(Span::ZERO);

/// Device, sign, figure, unit.
type Said = (&'static str, &'static str, f64, &'static str, When);

/// One message and what must be known of it.
struct Word {
    topic: &'static str,
    payload: Vec<u8>,
    said: Vec<Said>,
}

fn word(topic: &'static str, payload: &[u8], said: &[Said]) -> Word {
    Word { topic, payload: payload.to_vec(), said: said.to_vec() }
}

fn bytes(hex: &str) -> Vec<u8> {
    let hex: Vec<char> = hex.chars().filter(|c| !c.is_whitespace()).collect();
    hex.chunks(2)
        .map(|two| u8::from_str_radix(&two.iter().collect::<String>(), 16).unwrap())
        .collect()
}

/// What is text: RFC 8259, RFC 4180, RFC 8428 and RFC 4648 (base64).
fn written() -> Vec<Word> {
    let json =
        br#"{"efforts": 3, "tail": {"up_s": "41.5"}, "status": {"batt": 88}, "t": 1795572480}"#;
    let json_said = [
        ("json-1", "contraction", 3.0, "", T),
        ("json-1", "tail up", 41.5, "s", T),
        ("json-1", "battery", 88.0, "%EL", T),
    ];
    let counted = [("counted-1", "contraction", 2.0, "", H)];
    let total = |ever| [("total-1", "contraction", ever, "", T)];
    let early = [("total-1", "contraction", 1000.0, "", When::Carried(CARRIED - 20))];
    vec![
        word("yard/json/json-1", json, &json_said),
        word("yard/json/json-1", json, &json_said),
        word("yard/counted/counted-1", br#"{"frame": 41, "efforts": 2}"#, &counted),
        word("yard/counted/counted-1", br#"{"frame": 41, "efforts": 2}"#, &counted),
        word("yard/total/total-1", br#"{"ever": 1000, "t": 1795572460}"#, &early),
        word("yard/total/total-1", br#"{"ever": 1003, "t": 1795572480}"#, &total(1003.0)),
        word("yard/total/total-1", br#"{"ever": 1003, "t": 1795572480}"#, &total(1003.0)),
        word("yard/text/text-1", b"612.5", &[("text-1", "weight", 612.5, "kg", H)]),
        word("yard/comma/comma-1", b"612,5", &[("comma-1", "weight", 612.5, "kg", H)]),
        word(
            "yard/sheet/sheet-1",
            b"when;temp;drunk\r\n2026-11-25T02:07:40Z;\"11,9\";1204\r\n2026-11-25T02:08:00Z;12,4;1210,5\r\n",
            &[("sheet-1", "water", 12.4, "Cel", T), ("sheet-1", "drunk", 1.2105, "m3", T)],
        ),
        word(
            "yard/rows/rows-1",
            b"1795572420000,11.9,1204\n1795572480000,12.4,1210.5\n",
            &[("rows-1", "water", 12.4, "Cel", T), ("rows-1", "drunk", 1.2105, "m3", T)],
        ),
        word(
            "yard/senml",
            br#"[{"bn":"b-7:","bt":1795572470,"n":"temperature","u":"K","v":311.65},
                {"n":"drunk","u":"L","t":10,"v":12}]"#,
            &[
                ("b-7", "temperature", 38.5, "Cel", When::Carried(CARRIED - 10)),
                ("b-7", "drunk", 0.012, "m3", T),
            ],
        ),
        word(
            "yard/senml",
            br#"[{"bn":"b-8:","n":"temperature","u":"Cel","t":-5,"v":38.75}]"#,
            &[("b-8", "temperature", 38.75, "Cel", When::Heard(Span::seconds(-5)))],
        ),
        word(
            "yard/batch/batch-1",
            br#"{"sent": 1795572480, "batt": 71,
                "samples": [{"temp": 38.1, "age": 60}, {"temp": 38.5, "age": 0}]}"#,
            &[("batch-1", "temperature", 38.5, "Cel", T), ("batch-1", "battery", 71.0, "%EL", T)],
        ),
        // (101.3 - 32) / 1.8 = 38.5: NIST SP 811, appendix B.8.
        word(
            "yard/side/side-1",
            br#"{"temp": 101.3, "TempUnit": "F", "steps": 4}"#,
            &[("side-1", "temperature", 38.5, "Cel", H), ("side-1", "steps", 4.0, "", H)],
        ),
        word(
            "yard/eyes/cam-1",
            br#"{"t": 1795572480, "fps": 5, "detections": [
                {"label": "lying", "score": 0.61, "box": [100, 500, 500, 900]},
                {"label": "cow-down", "score": 0.83, "box": [200, 500, 600, 900]},
                {"label": "cow", "score": 0.99, "box": [1000, 500, 1400, 900]}]}"#,
            &[
                ("cam-1/left pen", "lying on side", 0.83, "/", T),
                ("cam-1/right pen", "lying on side", 0.0, "/", T),
                ("cam-1", "frames", 5.0, "", T),
            ],
        ),
        word("yard/alive/link-1", b"offline", &[]),
    ]
}

/// What is bytes, bare or wrapped. Wrapped by Python's base64 module.
fn packed() -> Vec<Word> {
    vec![
        // 31165 hundredths of a kelvin; bit 3; 101 in the bits from 4 on; -90 in two's complement.
        word(
            "yard/bytes/bytes-1",
            &bytes("79bd 58 a6"),
            &[
                ("bytes-1", "ear temperature", 38.5, "Cel", H),
                ("bytes-1", "lying", 1.0, "", H),
                ("bytes-1", "strength", 5.0, "", H),
                ("bytes-1", "signal", -120.0, "dBW", H),
            ],
        ),
        // 05 074a 56: 0x074a is 1866.
        word(
            "yard/base64/base64-1",
            b"BQdKVg==",
            &[("base64-1", "ear temperature", 38.66, "Cel", H)],
        ),
        word("yard/hex/hex-1", b"05074A56", &[("hex-1", "ear temperature", 38.66, "Cel", H)]),
        // Python: base64.b64encode(struct.pack("<ff", 38.5, 9.75)).
        word(
            "yard/floats/floats-1",
            b"AAAaQgAAHEE=",
            &[
                ("floats-1", "ear temperature", 38.5, "Cel", H),
                ("floats-1", "movement", 9.75, "m/s2", H),
            ],
        ),
        // A decoded value goes before the bytes, which here are all nought.
        word(
            "yard/uplink",
            br#"{"node": {"label": "u-1", "frame": 412}, "network": {"received": 1795572480},
                "reading": {"contractions": 3, "celsius": 38.62, "battery": 88},
                "bytes": {"text": "AAAAAA=="}}"#,
            &[
                ("u-1", "contraction", 3.0, "", T),
                ("u-1", "temperature", 38.62, "Cel", T),
                ("u-1", "battery", 88.0, "%EL", T),
            ],
        ),
        word(
            "yard/uplink",
            br#"{"id": "u-2", "count": 7, "at": "1795572480", "frm": "BQdKVg=="}"#,
            &[
                ("u-2", "contraction", 5.0, "", T),
                ("u-2", "temperature", 38.66, "Cel", T),
                ("u-2", "battery", 86.0, "%EL", T),
            ],
        ),
    ]
}

/// CBOR by RFC 8949 and RFC 8428, MessagePack by the format's specification (msgpack/msgpack, spec.md).
fn binary() -> Vec<Word> {
    // [{-2: "b-9:", -3: 1795572480, 0: "temperature", 2: 38.5}] by RFC 8428 table 4: an array of 1 (81),
    // a map of 4 (a4), -2 is 21, a text of 4 (64), -3 is 22, 32 bits (1a), a half (f9, 0 10100 0011010000).
    let senml = "81 a4 21 64 622d393a 22 1a 6b064300 00 6b 74656d7065726174757265 02 f9 50d0";
    // {1: 1(1795572480), 3: 12, 7: h'e803'}, tag 1 being a time (RFC 8949 section 3.4.2).
    let table = "a3 01 c1 1a 6b064300 03 0c 07 42 e803";
    // {"t": 1795572480, "steps": 260, "temp": 38.5, "diff": -2, "raw": e803}: fixmap 85, fixstr a1 to a5,
    // uint 32 ce, uint 16 cd, float 32 ca, int 8 d0, bin 8 c4.
    let msgpack = "85 a1 74 ce 6b064300 a5 7374657073 cd 0104 a4 74656d70 ca 421a0000 \
                   a4 64696666 d0 fe a3 726177 c4 02 e803";
    let moved = |device| (device, "movement", 9.80665, "m/s2", T);
    let mut words = vec![
        word("yard/senml/cbor", &bytes(senml), &[("b-9", "temperature", 38.5, "Cel", T)]),
        word("yard/cbor/c-1", &bytes(table), &[("c-1", "steps", 12.0, "", T), moved("c-1")]),
        word(
            "yard/msgpack/m-1",
            &bytes(msgpack),
            &[
                ("m-1", "steps", 260.0, "", T),
                ("m-1", "temperature", 38.5, "Cel", T),
                ("m-1", "drift", -2.0, "", T),
                moved("m-1"),
            ],
        ),
        // {"compact": true, "schema": 0}: the example on msgpack.org, "82" being a map of 2.
        word(
            "yard/msgpack/m-2/table",
            &bytes("82 a7 636f6d70616374 c3 a6 736368656d61 00"),
            &[("m-2", "compact", 1.0, "", H), ("m-2", "schema", 0.0, "", H)],
        ),
    ];
    // RFC 8949 appendix A: whole rows of its table.
    words.extend([
        // {_ "Fun": true, "Amt": -2}
        word(
            "yard/cbor/c-2/table",
            &bytes("bf6346756ef563416d7421ff"),
            &[("c-2", "fun", 1.0, "", H), ("c-2", "amount", -2.0, "", H)],
        ),
        // {_ "a": 1, "b": [_ 2, 3]} and {"a": 1, "b": [2, 3]}
        word(
            "yard/cbor/c-3/table",
            &bytes("bf61610161629f0203ffff"),
            &[("c-3", "a", 1.0, "", H), ("c-3", "b", 3.0, "", H)],
        ),
        word(
            "yard/cbor/c-4/table",
            &bytes("a26161016162820203"),
            &[("c-4", "a", 1.0, "", H), ("c-4", "b", 3.0, "", H)],
        ),
        word("yard/cbor/f-1/bare", &bytes("f93e00"), &[("f-1", "figure", 1.5, "", H)]),
        word("yard/cbor/f-2/bare", &bytes("fa47c35000"), &[("f-2", "figure", 100_000.0, "", H)]),
        word("yard/cbor/f-3/bare", &bytes("fb3ff199999999999a"), &[("f-3", "figure", 1.1, "", H)]),
        word("yard/cbor/f-4/bare", &bytes("fbc010666666666666"), &[("f-4", "figure", -4.1, "", H)]),
        word("yard/cbor/f-5/bare", &bytes("3903e7"), &[("f-5", "figure", -1000.0, "", H)]),
    ]);
    words
}

fn words() -> Vec<Word> {
    let mut words = written();
    words.extend(packed());
    words.extend(binary());
    words
}

fn settings() -> SettingsText {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/payloads");
    let file = |name: &str| NamedText {
        name: name.to_owned(),
        text: std::fs::read_to_string(folder.join(name)).unwrap(),
    };
    SettingsText { files: vec![file("outside.toml"), file("outside.csv")] }
}

/// A watch that began an hour ago and has heard nothing.
fn fresh_watch(now: Moment) -> Watch {
    let mut watch = Watch::default();
    let begun = now - Span::hours(1);
    let _ = watch.step(begun, &Event::Started { seed: 7, last: None });
    let _ = watch.step(begun, &Event::Settings(settings()));
    let faults = lowbell::config::parse(&settings()).faults;
    assert!(faults.is_empty(), "{faults:#?}");
    // What an hour of silence comes to is behind it.
    let _ = watch.step(now, &Event::Woke);
    watch
}

/// What is known of a sign: the figure to its ninth place, its unit, when it was so, and whether only
/// the broker remembered it.
#[derive(Clone, Debug, PartialEq)]
struct Fact(f64, String, Option<Moment>, bool);

type Facts = BTreeMap<(String, String), Fact>;

/// The watch and the units that came with what it was told.
struct Listener {
    watch: Watch,
    now: Moment,
    units: BTreeMap<(String, String), String>,
}

impl Listener {
    fn new(now: Moment) -> Self {
        Self { watch: fresh_watch(now), now, units: BTreeMap::new() }
    }

    fn takes(&mut self, packets: Vec<Packet>) -> Vec<Effect> {
        let mut effects = Vec::new();
        for packet in packets {
            let decoders = &self.watch.ready().unwrap().decoders;
            let heard = decoders.read(&packet.topic, &packet.payload.0, self.now, packet.retained);
            assert_eq!(heard.refusals, [""; 0], "{}", packet.topic);
            for reading in &heard.readings {
                let unit = reading.unit.map(|unit| unit.name().to_owned()).unwrap_or_default();
                let key = (reading.device.to_string(), reading.sign.to_string());
                self.units.insert(key, unit);
            }
            effects.extend(self.watch.step(self.now, &Event::Packet(packet)).effects);
        }
        effects
    }

    fn facts(&self) -> Facts {
        let mut facts = Facts::new();
        for (id, device) in self.watch.state().devices.iter() {
            for (sign, known) in &device.last {
                let key = (id.to_string(), sign.to_string());
                let unit = self.units.get(&key).cloned().unwrap_or_default();
                facts.insert(key, Fact(rounded(known.value), unit, known.at, known.kept));
            }
        }
        facts
    }

    /// How many contractions each device counted for a dam.
    fn contractions(&self, dam: &str) -> Vec<u64> {
        let dams = &self.watch.state().dams;
        let place = dams.find(dam).unwrap();
        let tallies = dams.at(place).1.tallies("contraction");
        let within = |told: &lowbell::herd::told::ByDevice<lowbell::herd::tally::Tally>| {
            told.what.within(NOW, Span::hours(1))
        };
        tallies.map(|told| told.iter().map(within).collect()).unwrap_or_default()
    }

    fn doubles(&self, device: &str) -> u64 {
        self.watch.state().devices.get(&DeviceId::new(device)).unwrap().doubles.again
    }
}

fn rounded(value: f64) -> f64 {
    (value * 1e9).round() / 1e9
}

fn expected(words: &[Word], kept: bool) -> Facts {
    let mut facts = Facts::new();
    for (device, sign, value, unit, when) in words.iter().flat_map(|word| &word.said) {
        let at = match when {
            When::Carried(seconds) => Some(Moment::from_seconds(*seconds)),
            When::Heard(_) if kept => None,
            When::Heard(beside) => Some(NOW + *beside),
        };
        let key = ((*device).to_owned(), (*sign).to_owned());
        facts.insert(key, Fact(*value, (*unit).to_owned(), at, kept));
    }
    facts
}

fn same(heard: &Facts, expected: &Facts, how: &str) {
    for (key, fact) in expected {
        assert_eq!(heard.get(key), Some(fact), "{how}: {key:?}");
    }
    let more: Vec<_> = heard.keys().filter(|key| !expected.contains_key(*key)).collect();
    assert!(more.is_empty(), "{how}: {more:?}");
}

/// The reference client says these, and the broker has taken them all when this comes back.
fn speak(broker: &Mosquitto, version: &str, words: &[Word], qos: u8, retain: bool) {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/servers/speak");
    let mut child = Command::new(script)
        .args([&broker.port.to_string(), version])
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    for word in words {
        let hex: String = word.payload.iter().map(|byte| format!("{byte:02x}")).collect();
        let topic = word.topic;
        let line = serde_json::json!({"topic": topic, "hex": hex, "qos": qos, "retain": retain});
        writeln!(stdin, "{line}").unwrap();
    }
    drop(stdin);
    assert!(child.wait().unwrap().success(), "the client ended badly");
}

/// The line to the broker as the settings want it.
struct Ear {
    arrivals: mpsc::Receiver<Arrival>,
    stop: watch::Sender<bool>,
    task: JoinHandle<()>,
}

impl Ear {
    /// It is up when this comes back; retained messages may have come before that.
    async fn open(broker: Broker) -> (Self, Vec<Packet>) {
        let config = lowbell::config::parse(&settings()).config.unwrap();
        let plan = Plan {
            broker,
            filters: lines::filters(&config),
            asides: Vec::new(),
            shown: None,
            largest: mqtt::PAYLOAD_MAX,
            base: PathBuf::new(),
            credentials: None,
            known: false,
        };
        let (say, arrivals) = mpsc::channel(64);
        let (stop, stopped) = watch::channel(false);
        let task = tokio::spawn(mqtt::run(plan, say, stopped));
        let mut ear = Self { arrivals, stop, task };
        let mut early = Vec::new();
        loop {
            match ear.next().await {
                Event::Packet(packet) => early.push(packet),
                Event::Line(line) if line.news == LineNews::Up => return (ear, early),
                Event::Started { .. }
                | Event::Settings(_)
                | Event::Clock(_)
                | Event::Answered(_)
                | Event::Delivered(_)
                | Event::Line(_)
                | Event::Woke
                | Event::Forgotten { .. } => {}
            }
        }
    }

    async fn next(&mut self) -> Event {
        let arrival = timeout(DEADLINE, self.arrivals.recv()).await.expect("in time").unwrap();
        if let Some(receipt) = arrival.receipt {
            receipt.confirm();
        }
        arrival.event
    }

    async fn packets(&mut self, mut packets: Vec<Packet>, count: usize) -> Vec<Packet> {
        while packets.len() < count {
            if let Event::Packet(packet) = self.next().await {
                packets.push(packet);
            }
        }
        packets
    }

    async fn close(mut self) {
        self.stop.send_replace(true);
        timeout(DEADLINE, &mut self.task).await.expect("it stops in time").unwrap();
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_shape_of_a_reference_client_is_known_to_the_figure_the_unit_and_the_second() {
    let words = words();
    for (speaks, ours) in [(BOTH[0], BOTH[1]), (BOTH[1], BOTH[0]), (BOTH[1], BOTH[1])] {
        let broker = Mosquitto::start("").await;
        let (mut ear, early) = Ear::open(broker.broker(ours.1)).await;
        assert_eq!(early, []);
        for qos in 0..=2 {
            tokio::task::block_in_place(|| speak(&broker, speaks.0, &words, qos, false));
            let packets = ear.packets(Vec::new(), words.len()).await;
            let how = format!("client {}, ours {:?}, QoS {qos}", speaks.0, ours.1);
            let came: Vec<(&str, &[u8])> =
                packets.iter().map(|one| (one.topic.as_str(), &one.payload.0[..])).collect();
            let went: Vec<(&str, &[u8])> =
                words.iter().map(|word| (word.topic, &word.payload[..])).collect();
            assert!(came == went, "{how}: what came is not what went, or in another order");
            assert!(packets.iter().all(|packet| !packet.retained), "{how}");

            let mut listener = Listener::new(NOW);
            listener.takes(packets);
            same(&listener.facts(), &expected(&words, false), &how);
            // Each of these was said twice, and the total grew by three.
            assert_eq!(listener.contractions("114"), [3], "{how}");
            assert_eq!(listener.contractions("0312"), [2], "{how}");
            assert_eq!(listener.contractions("115"), [3], "{how}");
            for device in ["json-1", "counted-1", "total-1"] {
                assert_eq!(listener.doubles(device), 1, "{how}: {device}");
            }
            let link = listener.watch.state().devices.get(&DeviceId::new("link-1")).unwrap();
            assert!(link.ills.has(Ill::Offline, NOW), "{how}");
        }
        ear.close().await;
    }
}

/// Of each topic the broker keeps the last word alone.
fn kept(words: Vec<Word>) -> Vec<Word> {
    let mut kept: Vec<Word> = Vec::new();
    for word in words {
        kept.retain(|old| old.topic != word.topic);
        kept.push(word);
    }
    kept
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_the_broker_kept_of_every_shape_is_last_known_with_its_own_time_or_none() {
    // needs.md N19 and N20.
    for (speaks, ours) in BOTH {
        let broker = Mosquitto::start("").await;
        tokio::task::block_in_place(|| speak(&broker, speaks, &words(), 1, true));
        let kept = kept(words());
        let (mut ear, early) = Ear::open(broker.broker(ours)).await;
        let packets = ear.packets(early, kept.len()).await;
        ear.close().await;
        assert!(packets.iter().all(|packet| packet.retained), "{packets:?}");
        let mut listener = Listener::new(NOW);
        let before = listener.watch.state().clone();
        let effects = listener.takes(packets);
        same(&listener.facts(), &expected(&kept, true), speaks);
        let state = listener.watch.state();
        assert_eq!(state.dams, before.dams, "no dam is moved and nothing is counted");
        assert!(state.devices.iter().all(|(_, device)| device.heard.is_none()), "nobody spoke");
        assert_eq!(state.watchman, before.watchman, "nobody is called");
        for effect in effects {
            assert!(matches!(effect, Effect::Refused(_) | Effect::Noted(_)), "{effect:?}");
        }
        // A state of the line that is kept is so now.
        let link = state.devices.get(&DeviceId::new("link-1")).unwrap();
        assert!(link.ills.has(Ill::Offline, NOW));
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_kept_copy_of_what_was_heard_live_changes_nothing_when_we_subscribe_again() {
    for (speaks, ours) in BOTH {
        let broker = Mosquitto::start("").await;
        let (mut ear, early) = Ear::open(broker.broker(ours)).await;
        assert_eq!(early, []);
        tokio::task::block_in_place(|| speak(&broker, speaks, &words(), 1, true));
        let live = ear.packets(Vec::new(), words().len()).await;
        ear.close().await;
        assert!(live.iter().all(|packet| !packet.retained), "it was said while we listened");
        let mut listener = Listener::new(NOW);
        listener.takes(live);
        same(&listener.facts(), &expected(&words(), false), speaks);
        let before = listener.watch.state().clone();

        let stranger = Broker { client_id: "lowbell-again".to_owned(), ..broker.broker(ours) };
        let (mut ear, early) = Ear::open(stranger).await;
        let copies = ear.packets(early, kept(words()).len()).await;
        ear.close().await;
        assert!(copies.iter().all(|packet| packet.retained), "{copies:?}");
        listener.now = NOW + Span::minutes(10);
        let effects = listener.takes(copies);
        let after = listener.watch.state();
        assert_eq!(after.dams, before.dams);
        assert_eq!(after.watchman, before.watchman);
        for effect in effects {
            assert!(matches!(effect, Effect::Refused(_)), "{effect:?}");
        }
        for (id, device) in before.devices.iter() {
            assert_eq!(after.devices.get(id), Some(device), "{id} is known as it was heard");
        }
    }
}

/// The packs of RFC 8428 sections 5.1.2 and 6. The bytes of the second are written from memory; that it
/// says what the first does is what is tested.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_published_senml_pack_says_the_same_as_json_and_as_cbor() {
    const TEXT: &[u8] = br#"[
        {"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,"bu":"A","bver":5,
         "n":"voltage","u":"V","v":120.1},
        {"n":"current","t":-5,"v":1.2},
        {"n":"current","t":-4,"v":1.3},
        {"n":"current","t":-3,"v":1.4},
        {"n":"current","t":-2,"v":1.5},
        {"n":"current","t":-1,"v":1.6},
        {"n":"current","v":1.7}]"#;
    const BYTES: &str = "87 a7 21 78 1b 75 72 6e 3a 64 65 76 3a 6f 77 3a \
        31 30 65 32 30 37 33 61 30 31 30 38 30 30 36 3a 22 fb 41 d3 03 a1 5b 00 10 62 \
        23 61 41 20 05 00 67 76 6f 6c 74 61 67 65 01 61 56 02 fb 40 5e 06 66 66 66 66 66 \
        a3 00 67 63 75 72 72 65 6e 74 06 24 02 fb 3f f3 33 33 33 33 33 33 \
        a3 00 67 63 75 72 72 65 6e 74 06 23 02 fb 3f f4 cc cc cc cc cc cd \
        a3 00 67 63 75 72 72 65 6e 74 06 22 02 fb 3f f6 66 66 66 66 66 66 \
        a3 00 67 63 75 72 72 65 6e 74 06 21 02 f9 3e 00 \
        a3 00 67 63 75 72 72 65 6e 74 06 20 02 fb 3f f9 99 99 99 99 99 9a \
        a3 00 67 63 75 72 72 65 6e 74 06 00 02 fb 3f fb 33 33 33 33 33 33";
    let broker = Mosquitto::start("").await;
    let (mut ear, _) = Ear::open(broker.broker(MqttVersion::Five)).await;
    let words = [word("yard/meter", TEXT, &[]), word("yard/meter/cbor", &bytes(BYTES), &[])];
    tokio::task::block_in_place(|| speak(&broker, "5", &words, 2, false));
    let packets = ear.packets(Vec::new(), 2).await;
    ear.close().await;
    // 2010-06-08T18:01:20Z, four seconds after.
    let now = Moment::from_seconds(1_276_020_080);
    for packet in packets {
        let topic = packet.topic.clone();
        let mut listener = Listener::new(now);
        let heard =
            listener.watch.ready().unwrap().decoders.read(&topic, &packet.payload.0, now, false);
        let said: Vec<(&str, f64, i64)> = heard
            .readings
            .iter()
            .map(|reading| (&*reading.sign, reading.value, reading.at.millis()))
            .collect();
        let expected = [
            ("current", 1.2, 1_276_020_071_001),
            ("current", 1.3, 1_276_020_072_001),
            ("current", 1.4, 1_276_020_073_001),
            ("current", 1.5, 1_276_020_074_001),
            ("current", 1.6, 1_276_020_075_001),
            ("voltage", 120.1, 1_276_020_076_001),
            ("current", 1.7, 1_276_020_076_001),
        ];
        assert_eq!(said, expected, "{topic}");
        listener.takes(vec![packet]);
        let device = "urn:dev:ow:10e2073a0108006".to_owned();
        let at = Some(Moment::from_millis(1_276_020_076_001));
        let known = Facts::from([
            ((device.clone(), "voltage".to_owned()), Fact(120.1, "V".to_owned(), at, false)),
            ((device, "current".to_owned()), Fact(1.7, "A".to_owned(), at, false)),
        ]);
        assert_eq!(listener.facts(), known, "{topic}");
    }
}

/// A second reading of RFC 8428, in another language, agrees on invented packs.
#[test]
fn senml_is_resolved_as_an_independent_reading_of_the_standard_resolves_it() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/servers/senml");
    let now = (NOW.millis() / 1000).to_string();
    let output = Command::new(script).args(["7", "500", &now]).output().unwrap();
    assert!(output.status.success(), "{}", text(&output.stderr));
    let (mut packs, mut records) = (0, 0);
    for line in text(&output.stdout).lines() {
        let case: serde_json::Value = serde_json::from_str(line).unwrap();
        let resolved = senml::resolve(&case["pack"], NOW).unwrap();
        assert_eq!(resolved.refusals, [""; 0], "{line}");
        let expected = case["records"].as_array().unwrap();
        assert_eq!(resolved.records.len(), expected.len(), "{line}");
        for (record, expected) in resolved.records.iter().zip(expected) {
            assert_eq!(record.name, expected[0], "{line}");
            assert_eq!(record.unit.as_deref(), expected[1].as_str(), "{line}");
            assert_eq!(Some(record.at.millis()), expected[2].as_i64(), "{line}");
            let value = record.value.clone().unwrap_or_default();
            match expected[3].as_f64() {
                Some(figure) => assert_eq!(value.as_f64(), Some(figure), "{line}"),
                None => assert_eq!(value, expected[3], "{line}"),
            }
            assert_eq!(record.sum, expected[4].as_f64(), "{line}");
            records += 1;
        }
        packs += 1;
    }
    assert!(packs == 500 && records > 1_500, "{packs} packs, {records} records");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_decode_command_reads_one_live_message_as_it_reads_what_another_tool_printed_of_it() {
    let mut broker = Mosquitto::start("").await;
    let folder = tempfile::tempdir().unwrap();
    let [farm, herd] = &settings().files[..] else { panic!("two files") };
    let url = format!("url = \"mqtt://127.0.0.1:{}\"", broker.port);
    let farm = farm.text.replace("url = \"mqtt://127.0.0.1\"", &url);
    let path = folder.path().join("farm.toml");
    std::fs::write(&path, farm).unwrap();
    std::fs::write(folder.path().join(&herd.name), &herd.text).unwrap();
    let path = path.display().to_string();

    let listener = Command::new("mosquitto_sub")
        .args(["-h", "127.0.0.1", "-p", &broker.port.to_string(), "-t", "yard/json/+", "-C", "1"])
        .args(["-i", "listener"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    broker.logged("Sending SUBACK to listener").await;
    let decode = Command::new(crate::daemon::PROGRAM)
        .args(["decode", "--from", "broker", "--topic", "yard/json/+", "--farm", &path])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    broker.logged("Sending SUBACK to lowbell-look-").await;
    let said = r#"{"efforts": 3, "tail": {"up_s": 41.5}, "status": {"batt": 88}, "t": 1795572480}"#;
    broker.publish(&["-t", "yard/json/json-1", "-m", said]);

    let output = decode.wait_with_output().unwrap();
    let printed = text(&output.stdout);
    assert_eq!(output.status.code(), Some(0), "{printed}{}", text(&output.stderr));
    let first = format!("on yard/json/json-1: {} bytes\n", said.len());
    let rest = printed.strip_prefix(&first).expect(&printed);
    for line in [
        "By the settings:\n",
        "  tail: json-1: contraction = 3, at 2026-11-25T02:08:00Z (",
        "  tail: json-1: tail up = 41.5 s, at 2026-11-25T02:08:00Z (",
        "  tail: json-1: battery = 88 %EL, at 2026-11-25T02:08:00Z (",
        "[[sensor]]\n",
        "\"/efforts\"",
        "\"/status/batt\"",
    ] {
        assert!(rest.contains(line), "{line}: {printed}");
    }
    let heard = text(&listener.wait_with_output().unwrap().stdout);
    let heard = heard.trim_end_matches('\n');
    assert_eq!(heard, said);
    let pasted = lowbell(&["decode", heard, "--topic", "yard/json/json-1", "--farm", &path]);
    assert_eq!(text(&pasted.stdout), rest);
}
