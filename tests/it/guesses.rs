//! `lowbell decode`: what it prints loads as settings and reads the very payload it was made from.

use std::fs;
use std::path::Path;
use std::process::Command;

use lowbell::config::sensors::Wrap;
use lowbell::config::{NamedText, SettingsText, parse};
use lowbell::plain::moment::Moment;
use lowbell::sensor::decoders::Decoders;
use lowbell::sensor::guess::{GUESSES_MAX, Guess, guesses, wraps_a_text};
use proptest::prelude::*;

const HEARD: Moment = Moment::from_seconds(1_795_572_500);
const TOPIC: &str = "yard/tail/t-07/state";

fn read(name: &str) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    fs::read_to_string(root.join("tests").join(name)).unwrap()
}

/// What the printed lines read in the payload, as (sign, value).
fn as_settings(guess: &Guess, payload: &[u8]) -> Vec<(String, f64)> {
    let farm = format!("{}\n{}", read("configs/least.toml"), guess.settings);
    let text = |name: &str, text| NamedText { name: name.to_owned(), text };
    let files = vec![text("farm.toml", farm), text("herd.csv", read("configs/herd.csv"))];
    let parsed = parse(&SettingsText { files });
    let faults = format!("{}\n{:#?}", guess.settings, parsed.faults);
    let config = parsed.config.expect(&faults);
    assert!(parsed.faults.is_empty(), "{faults}");
    let kinds = &config.sensors[config.sensors.len() - 1..];
    let heard = Decoders::new(kinds).unwrap().read(TOPIC, payload, HEARD, false);
    heard.readings.iter().map(|reading| (reading.sign.to_string(), reading.value)).collect()
}

#[test]
fn the_lines_it_prints_load_and_read_the_same_payload() {
    // needs.md N56: base64, hex, plain, CSV text, float32; and what networks and loggers send.
    let float = 38.5_f32.to_le_bytes();
    let samples: Vec<(&[u8], &str, (&str, f64))> = vec![
        (b"39.5", "a number", ("value", 39.5)),
        (b"23,9", "a number with a decimal comma", ("value", 23.9)),
        (b"1,000", "a number with a decimal comma", ("value", 1.0)),
        (b"1,000", "values parted by commas", ("column 1", 1.0)),
        (b"ON", "yes or no", ("happened", 1.0)),
        (b"offline", "online or offline", ("link", 0.0)),
        (b"38.6;88;-97", "values parted by semicolons", ("column 2", 88.0)),
        (b"time;temp\n12:00;38,6\n12:01;38,7", "values parted by semicolons", ("temp", 38.6)),
        (br#"{"efforts": 3, "tail": {"up_s": 41.5}, "t": 1795572300}"#, "JSON", ("up s", 41.5)),
        (br#"{"temp": "38.6", "batt": 88, "ok": true}"#, "JSON", ("battery", 88.0)),
        (
            br#"{"sent": 1795572300, "samples": [{"temp": 38.5}, {"temp": 38.6}]}"#,
            "JSON, a list of samples at /samples",
            ("temp", 38.5),
        ),
        (
            br#"{"port": 2, "data": "AwdGWA=="}"#,
            "JSON with base64 at /data, numbers u8",
            ("value 4", 88.0),
        ),
        (br#"{"data": "03074658"}"#, "JSON with hex at /data, numbers u8", ("value 2", 7.0)),
        (
            br#"[{"bn": "b-1:", "n": "temperature", "u": "Cel", "v": 38.5}]"#,
            "SenML, as JSON",
            ("temperature", 38.5),
        ),
        (b"0f0a", "hex, numbers i16-be, in hundredths", ("value 1", 38.5)),
        (b"0000 1a42", "hex, numbers f32-le", ("value 1", 38.5)),
        (b"AAAaQg==", "base64, numbers f32-le", ("value 1", 38.5)),
        (&float, "bytes, numbers f32-le", ("value 1", 38.5)),
        (b"\xa2\x64temp\xf9\x50\xd0\x03\x0c", "CBOR", ("temp", 38.5)),
        (b"\x82\xa4temp\xca\x42\x1a\x00\x00\xa5lying\xc3", "MessagePack", ("temp", 38.5)),
        (b"\x81\xa3\x21\x64b-1:\x00\x64temp\x02\xf9\x50\xd0", "SenML, as CBOR", ("temp", 38.5)),
    ];
    for (payload, what, (sign, value)) in samples {
        let all = guesses(payload, TOPIC, HEARD);
        let shown = String::from_utf8_lossy(payload);
        assert!(all.len() <= GUESSES_MAX);
        for guess in &all {
            let own: Vec<(String, f64)> =
                guess.readings.iter().map(|r| (r.sign.to_string(), r.value)).collect();
            assert_eq!(as_settings(guess, payload), own, "{shown}: {}", guess.settings);
        }
        let names: Vec<&str> = all.iter().map(|guess| guess.what.as_str()).collect();
        let right = all.iter().find(|guess| guess.what.starts_with(what));
        let right = right.unwrap_or_else(|| panic!("{shown}: no {what} among {names:?}"));
        let found = right.readings.iter().find(|reading| &*reading.sign == sign);
        let found = found.unwrap_or_else(|| panic!("{shown}: no {sign} in {right:?}"));
        assert!((found.value - value).abs() < 1e-9, "{shown}: {}", found.value);
    }
}

#[test]
fn an_envelope_offers_its_counter_and_no_name_as_bytes() {
    let envelope = br#"{"node": {"eui": "70b3d57ed0000001", "name": "t070"}, "fCnt": 12,
        "object": {"temp": 38.6}, "data": "AQIDBA=="}"#;
    let all = guesses(envelope, TOPIC, HEARD);
    assert!(all.iter().all(|guess| !guess.settings.contains("/node/")), "{all:#?}");
    assert!(all.iter().all(|guess| guess.settings.contains("counter = \"/fCnt\"")), "{all:#?}");
    assert!(all.iter().any(|guess| guess.what.contains("base64 at /data")), "{all:#?}");
    assert!(!as_settings(&all[0], envelope).is_empty());
}

#[test]
fn a_column_of_times_is_the_time_of_its_row() {
    let table = b"when;temp\n2026-11-25T01:00:00Z;38,6\n2026-11-25T01:05:00Z;38,7";
    let all = guesses(table, TOPIC, HEARD);
    assert!(all[0].settings.contains("time = { at = \"when\", as = \"rfc3339\" }"), "{all:#?}");
    let seconds: Vec<i64> = all[0].readings.iter().map(|one| one.at.millis() / 1000).collect();
    // RFC 3339: 01:00 and 01:05 of that day as seconds since 1970, by date(1).
    assert_eq!(seconds, [1_795_568_400, 1_795_568_700]);
    assert_eq!(as_settings(&all[0], table).len(), 2);
}

#[test]
fn a_text_written_down_as_base64_or_hex_is_noticed() {
    // RFC 4648, sections 4 and 8.
    assert_eq!(wraps_a_text(b"eyJhIjoxfQ=="), Some(Wrap::Base64));
    assert_eq!(wraps_a_text(b"7b2261223a317d"), Some(Wrap::Hex));
    for other in [&b"AQIDBA=="[..], b"{\"a\":1}", b"MTI=", b"hello", b"\xff"] {
        assert_eq!(wraps_a_text(other), None);
    }
}

#[test]
fn what_is_no_reading_is_no_guess() {
    for payload in [&b""[..], b"hello", b"38.6 C", b"{\"name\": \"x\"}", b"{", b"1.234,5x"] {
        let all = guesses(payload, TOPIC, HEARD);
        assert_eq!(all, [], "{}", String::from_utf8_lossy(payload));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn no_payload_makes_it_panic_and_what_it_says_loads(
        payload in prop_oneof![
            prop::collection::vec(any::<u8>(), 0..2_000),
            "[\\[\\]{}\":,;0-9a-z. -]{0,60}".prop_map(String::into_bytes),
        ],
    ) {
        for guess in guesses(&payload, TOPIC, HEARD) {
            prop_assert!(!as_settings(&guess, &payload).is_empty());
        }
    }
}

fn decode(arguments: &[&str]) -> (Option<i32>, String, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_lowbell"))
        .arg("decode")
        .args(arguments)
        .stdin(std::process::Stdio::null())
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code(), text(out.stdout), text(out.stderr))
}

#[test]
fn the_command_prints_readings_and_lines_and_ends_as_it_should() {
    let (code, out, _) = decode(&["23,9", "--topic", "yard/s-1/scale"]);
    assert_eq!(code, Some(0));
    assert!(out.contains("a number with a decimal comma"), "{out}");
    assert!(
        out.contains("topic = \"yard/{device}/scale\"\nform = \"text\"\ndecimal = \",\""),
        "{out}"
    );
    let (code, out, _) = decode(&["hello"]);
    assert_eq!(code, Some(1));
    assert!(out.starts_with("Nothing in it looks like a reading"), "{out}");
    let (code, out, _) = decode(&["--unwrap", "hex", "00001a42"]);
    assert_eq!((code, out.contains("value 1 = 38.5\n")), (Some(0), true), "{out}");
    assert_eq!(decode(&["--unwrap", "hex", "xyz"]).0, Some(1));
    assert_eq!(decode(&["--from", "broker"]).0, Some(2));
    assert_eq!(decode(&["39.5", "--farm", "no-such-farm.toml"]).0, Some(78));
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let farm = root.join("tests/payloads/farm.toml").display().to_string();
    let (code, out, error) = decode(&["612.5", "--topic", "yard/s-1/scale", "--farm", &farm]);
    assert_eq!(code, Some(0), "{error}");
    assert!(
        out.starts_with("By the settings:\n  refused: scale: weight: \"612.5\" is not a number\n"),
        "{out}"
    );
    let (code, out, _) = decode(&["612,5", "--topic", "yard/s-1/scale", "--farm", &farm]);
    assert!(
        code == Some(0) && out.starts_with("By the settings:\n  scale: s-1: weight = 612.5 kg\n"),
        "{out}"
    );
}
