//! Noise for every decoder: payloads that are nearly right, and up to a MiB that is not. Each round
//! takes a good payload, breaks it in a few places, and hands it to every kind of sensor (what is larger
//! than a message may be is refused unread). Nothing may panic, every reading must be a finite number, and
//! memory stays bounded. The seed is printed, and the same seed breaks the same way. Run:
//! `cargo bench --bench noise -- SECONDS [SEED]`.
#![allow(clippy::unwrap_used, reason = "a benchmark that cannot go on should stop")]
#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![allow(clippy::disallowed_methods, reason = "a benchmark measures time")]

use std::time::{Duration, Instant};

use lowbell::config::sensors::SensorKind;
use lowbell::config::{self, NamedText, SettingsText};
use lowbell::plain::moment::Moment;
use lowbell::sensor::decoders::Decoders;

const MIB: usize = 1024 * 1024;

fn main() {
    let mut arguments = std::env::args().skip(1).filter_map(|word| word.parse::<u64>().ok());
    let seconds = arguments.next().unwrap_or(60);
    let seed = arguments.next().unwrap_or(1);
    let kinds = kinds();
    let decoders = Decoders::new(&kinds).unwrap();
    let now = Moment::from_rfc3339("2026-02-01T20:00:00Z").unwrap();
    let good = good();
    let topics: Vec<String> = (0..kinds.len()).map(|n| format!("noise/{n}/t-07")).collect();
    let mut dice = Dice(seed);
    let (mut rounds, mut bytes, mut readings, mut refusals) = (0_u64, 0_usize, 0_usize, 0_usize);
    let mut slowest = Duration::ZERO;
    let before = status("VmRSS");
    let start = Instant::now();
    while start.elapsed() < Duration::from_secs(seconds) {
        let payload = broken(&good, &mut dice);
        for topic in &topics {
            let one = Instant::now();
            let heard = decoders.read(topic, &payload, now, false);
            slowest = slowest.max(one.elapsed());
            readings += heard.readings.len();
            refusals += heard.refusals.len();
            for reading in &heard.readings {
                assert!(reading.value.is_finite(), "seed {seed}, round {rounds}: {reading:?}");
            }
        }
        bytes += payload.len() * topics.len();
        rounds += 1;
    }
    println!(
        "noise: seed {seed}: {rounds} payloads through {} kinds, {} MB, {readings} readings, {refusals} \
         refusals, no panic",
        topics.len(),
        bytes / 1_000_000
    );
    println!("noise: the slowest payload took {slowest:.1?}");
    println!(
        "noise: memory {before} before, {} after, {} at its peak",
        status("VmRSS"),
        status("VmHWM")
    );
}

/// One kind of sensor for every form of payload.
fn kinds() -> Vec<SensorKind> {
    let forms = [
        "read = [{ sign = \"a\", at = [\"/a\", \"/b/0\"] }, { sign = \"n\", at = \"/n\", as = \"count\" }]\n\
         each = [\"/samples\"]\ntime = { at = \"/t\", as = \"unix-s\" }\ncounter = \"/n\"",
        "form = \"text\"\nread = { sign = \"a\", unit = \"Cel\" }",
        "form = \"text\"\ndecimal = \",\"\nread = { sign = \"a\" }",
        "form = \"csv\"\nseparator = \";\"\nheader = true\nread = [{ sign = \"a\", at = \"a\" }]",
        "form = \"csv\"\nread = [{ sign = \"a\", at = 2 }]",
        "form = \"senml\"\nread = [{ sign = \"a\", at = \"a\" }]",
        "form = \"senml-cbor\"\nread = [{ sign = \"a\", at = \"a\" }]",
        "form = \"cbor\"\nread = [{ sign = \"a\", at = [\"/a\", \"/b/0\"] }]",
        "form = \"msgpack\"\nread = [{ sign = \"a\", at = [\"/a\", \"/b/0\"] }]",
        "form = \"bytes\"\nread = [{ sign = \"a\", bytes = { at = 0, as = \"f32-le\" } }, \
         { sign = \"b\", bytes = { at = -2, as = \"i16-be\" } }]",
        "form = \"base64\"\nread = [{ sign = \"a\", bytes = { at = 0, as = \"u24-be\" } }]",
        "form = \"hex\"\nread = [{ sign = \"a\", bytes = { at = 0, as = \"f64-be\" } }]",
        "raw = { at = [\"/data\"], as = \"base64\" }\n\
         read = [{ sign = \"a\", at = \"/a\", bytes = { at = 0, as = \"i16-le\", scale = 0.01 } }]",
        "each = [\"/seen\"]\nseen = { label = \"/label\", score = \"/score\", box = [\"/box\"] }\n\
         regions = { \"left\" = [0.0, 0.0, 0.5, 1.0] }\n\
         read = [{ sign = \"lying\", label = [\"down\"], as = \"seen\" }]",
    ];
    let mut farm = String::from(
        "[farm]\nname = \"Hollow Bank\"\nzone = \"Europe/Dublin\"\nherd = \"herd.csv\"\n\
         [broker]\nurl = \"mqtt://127.0.0.1:1883\"\n[[person]]\nname = \"Ana\"\n\
         mail = \"ana@hollowbank.example\"\n[[line]]\nname = \"mail\"\nkind = \"smtp\"\n\
         url = \"smtp://127.0.0.1:25\"\nfrom = \"lowbell@hollowbank.example\"\n",
    );
    for (n, form) in forms.iter().enumerate() {
        farm.push_str(&format!(
            "[[sensor]]\nkind = \"k{n}\"\ntopic = \"noise/{n}/{{device}}\"\n{form}\n"
        ));
    }
    let file = |name: &str, text: &str| NamedText { name: name.into(), text: text.into() };
    let settings =
        SettingsText { files: vec![file("farm.toml", &farm), file("herd.csv", "animal\n114\n")] };
    let parsed = config::parse(&settings);
    let Some(config) = parsed.config else {
        panic!("the settings are refused: {:?}", parsed.faults);
    };
    assert_eq!(config.sensors.len(), forms.len());
    config.sensors
}

/// Payloads that some kind reads well.
fn good() -> Vec<Vec<u8>> {
    let texts: [&[u8]; 11] = [
        br#"{"a":38.6,"n":3,"t":1769976000,"samples":[{"a":1,"t":1769976000},{"a":2,"t":1769976060}]}"#,
        br#"{"data":"EAAnDw==","a":null,"b":[1.5]}"#,
        br#"{"seen":[{"label":"down","score":0.8,"box":[0.1,0.2,0.3,0.4]}]}"#,
        br#"[{"bn":"urn:dev:mac:0024befffe804ff1:","bt":1.769976e9,"bu":"Cel","n":"a","v":38.6},{"n":"a","t":-5,"v":1}]"#,
        b"38.6",
        b"38,6",
        b"t;a\n1769976000;38.6\n1769976060;\"38.7\"\n",
        b"EAAnDwAAAAA=",
        b"4014cccccccccccd",
        b"\x81\xa4\x21\x69\x74\x2d\x30\x37\x3a\x61\x22\x1a\x69\x7f\xc3\xc0\x23\x63\x43\x65\x6c\x02\xf9\x50\xd3",
        b"\xa2\x61\x61\xfb\x40\x43\x4c\xcc\xcc\xcc\xcc\xcd\x61\x62\x82\x01\x02",
    ];
    let mut good: Vec<Vec<u8>> = texts.iter().map(|text| text.to_vec()).collect();
    good.push(b"\x82\xa1a\xcb\x40\x43\x4c\xcc\xcc\xcc\xcc\xcd\xa1b\x92\x01\x02".to_vec());
    // Nesting, and lengths that promise more than there is.
    good.push(b"[".repeat(MIB));
    good.push(b"\x81".repeat(MIB));
    good.push(b"\x91".repeat(MIB));
    good.push([b"\x9b\x7f\xff\xff\xff\xff\xff\xff\xff".to_vec(), vec![0; 64]].concat());
    good.push([b"\xdd\xff\xff\xff\xff".to_vec(), vec![0xc0; 4096]].concat());
    good.push([b"{\"samples\":[".to_vec(), b"{\"a\":1},".repeat(100_000)].concat());
    good
}

fn broken(good: &[Vec<u8>], dice: &mut Dice) -> Vec<u8> {
    if dice.below(16) == 0 {
        let length = 1 + dice.below(MIB);
        return (0..length).map(|_| dice.next() as u8).collect();
    }
    let mut payload = good[dice.below(good.len())].clone();
    for _ in 0..dice.below(6) {
        if payload.is_empty() {
            break;
        }
        let at = dice.below(payload.len());
        match dice.below(6) {
            0 => payload[at] = dice.next() as u8,
            1 => payload[at] ^= 1 << dice.below(8),
            2 => payload.truncate(at),
            3 => payload.insert(at, dice.next() as u8),
            4 => {
                let to = (at + dice.below(32)).min(payload.len());
                let piece = payload[at..to].to_vec();
                for (n, byte) in piece.into_iter().enumerate() {
                    payload.insert(at + n, byte);
                }
            }
            _ => {
                let other = &good[dice.below(12)];
                let from = dice.below(other.len());
                payload.splice(at.., other[from..].iter().copied());
            }
        }
    }
    payload.truncate(MIB);
    payload
}

/// SplitMix64: small, and the same everywhere.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound as u64) as usize
    }
}

fn status(field: &str) -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with(field)).unwrap();
    line.split_whitespace().skip(1).collect::<Vec<_>>().join(" ")
}
