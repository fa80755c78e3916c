//! Payloads as makers send them, read through a farm's settings alone.

use std::fs;
use std::path::Path;

use lowbell::config::{Config, NamedText, SettingsText, parse};
use lowbell::plain::moment::Moment;
use lowbell::plain::quantity::Unit;
use lowbell::sensor::decoders::{Decoders, Heard};
use lowbell::sensor::reading::Reading;
use proptest::prelude::*;

const HEARD: Moment = Moment::from_seconds(1_795_572_500);

fn file(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/payloads");
    fs::read_to_string(folder.join(name)).unwrap()
}

fn farm() -> Config {
    let named = |name: &str| NamedText { name: name.to_owned(), text: file(name) };
    let parsed = parse(&SettingsText { files: vec![named("farm.toml"), named("herd.csv")] });
    let faults = format!("{:#?}", parsed.faults);
    parsed.config.expect(&faults)
}

fn hear(topic: &str, payload: &[u8]) -> Heard {
    Decoders::new(&farm().sensors).unwrap().read(topic, payload, HEARD, false)
}

/// Device, sign, value, and how long before hearing it was so.
fn said(heard: &Heard) -> Vec<(&str, &str, f64, i64)> {
    let row = |r: &Reading| HEARD.since(r.at).millis();
    heard
        .readings
        .iter()
        .map(|r| {
            // To the ninth figure: 38.62 out of 16 bits and a scale is not the literal's double.
            let value = (r.value * 1e9).round() / 1e9;
            (r.device.as_str(), &*r.sign, value, row(r))
        })
        .collect()
}

#[test]
fn three_envelopes_are_read_by_the_same_settings_decoded_or_raw() {
    // needs.md N55. A decoded value goes before the raw bytes, which in the first are nonsense.
    let heard = hear("lora/uplink", file("uplink_nested.json").as_bytes());
    assert_eq!(heard.refusals, [""; 0]);
    assert_eq!(
        said(&heard),
        [
            ("t-07", "contraction", 3.0, 199_750),
            ("t-07", "temperature", 38.62, 199_750),
            ("t-07", "battery", 88.0, 199_750)
        ]
    );
    assert_eq!(heard.counter, Some(412));
    assert_eq!(heard.carried, Some(Moment::from_millis(1_795_572_300_250)));
    assert_eq!(heard.device.as_ref().map(|device| device.as_str()), Some("t-07"));
    assert_eq!(heard.readings[1].unit, Some(Unit::Celsius));

    // The battery is in the bytes alone.
    let heard = hear("lora/uplink", file("uplink_flat.json").as_bytes());
    assert_eq!(heard.refusals, [""; 0]);
    assert_eq!(
        said(&heard),
        [
            ("t-07", "contraction", 4.0, 140_000),
            ("t-07", "temperature", 38.64, 140_000),
            ("t-07", "battery", 87.0, 140_000)
        ]
    );
    assert_eq!(heard.counter, Some(413));

    let heard = hear("lora/uplink/hex", file("uplink_raw.json").as_bytes());
    assert_eq!(heard.refusals, [""; 0]);
    assert_eq!(
        said(&heard),
        [
            ("t-07", "contraction", 5.0, 80_000),
            ("t-07", "temperature", 38.66, 80_000),
            ("t-07", "battery", 86.0, 80_000)
        ]
    );
    assert_eq!(heard.counter, Some(414));
}

#[test]
fn bytes_that_break_off_spoil_only_what_stood_behind() {
    let heard =
        hear("lora/uplink/hex", br#"{"eui": "t-07", "seconds": 1795572420, "data": "05074a"}"#);
    let signs: Vec<&str> = heard.readings.iter().map(|reading| &*reading.sign).collect();
    assert_eq!(signs, ["contraction", "temperature"]);
    assert_eq!(heard.refusals, ["tail: battery: there is no number of 1 B at 3: it has 3 B"]);
    let heard = hear("lora/uplink/hex", br#"{"seconds": 1795572420, "data": "05074a56"}"#);
    assert_eq!((heard.readings.len(), &heard.device), (0, &None));
    assert_eq!(heard.refusals, ["tail: no device's name at /eui"]);
}

#[test]
fn a_batch_is_read_sample_by_sample_and_one_bad_sample_spoils_only_itself() {
    let heard = hear(
        "yard/c-3/batch",
        br#"{"sent": 1795572440, "batt": 71, "unit": "F", "samples": [
            {"temp": 101.3, "age": 120}, {"temp": "warm", "age": 60}, {"temp": 311.65, "age": 0, "unit": "K"}
        ]}"#,
    );
    assert_eq!(
        said(&heard),
        [
            ("c-3", "temperature", 38.5, 180_000),
            ("c-3", "battery", 71.0, 180_000),
            ("c-3", "battery", 71.0, 120_000),
            ("c-3", "temperature", 38.5, 60_000),
            ("c-3", "battery", 71.0, 60_000),
        ]
    );
    assert_eq!(heard.refusals, ["collar: temperature: \"warm\" is not a number"]);
    let many = format!(
        r#"{{"sent": 1795572440, "unit": "Cel", "samples": [{}{{}}]}}"#,
        r#"{"temp":38,"age":0},"#.repeat(9_000)
    );
    let heard = hear("yard/c-3/batch", many.as_bytes());
    assert_eq!(heard.readings.len(), 5_000);
    assert_eq!(heard.refusals, ["collar: it has 9001 samples; the first 5000 are read"]);
}

#[test]
fn a_unit_in_a_side_field_counts_and_an_unknown_one_spoils_only_its_field() {
    // needs.md N58: 101.3 with the unit F; and a unit that is missing, unknown or of something else.
    let heard = hear("yard/c-3/side", br#"{"temp": 101.3, "TempUnit": "F", "steps": 4}"#);
    assert_eq!(said(&heard), [("c-3", "temperature", 38.5, 0), ("c-3", "steps", 4.0, 0)]);
    for (unit, why) in [
        (r#", "TempUnit": "R""#, "its unit \"R\" is not known"),
        (r#", "TempUnit": "V""#, "its unit \"V\" does not measure what Cel does"),
        ("", "no unit at /TempUnit"),
    ] {
        let heard =
            hear("yard/c-3/side", format!(r#"{{"temp": 101.3, "steps": 4{unit}}}"#).as_bytes());
        assert_eq!(said(&heard), [("c-3", "steps", 4.0, 0)]);
        assert_eq!(heard.refusals, [format!("collar: temperature: {why}")]);
    }
}

#[test]
fn lines_of_a_csv_are_samples_with_the_declared_comma() {
    // needs.md N57.
    let heard = hear(
        "yard/w-1/lines",
        b"when;temp;drunk\n2026-11-25T02:06:40Z;\"23,9\";1204\n2026-11-25T02:07:40Z;-127;1210,5\n2026-11-25T02:08:20Z;23.9;\n",
    );
    assert_eq!(
        said(&heard),
        [
            ("w-1", "temperature", 23.9, 100_000),
            ("w-1", "drunk", 1.204, 100_000),
            ("w-1", "drunk", 1.2105, 40_000)
        ]
    );
    assert_eq!(heard.refusals, ["trough: temperature: \"23.9\" is not a number"]);
}

#[test]
fn a_senml_pack_names_its_devices_itself() {
    // RFC 8428: base fields, a time 60 s before now, a sum, and a unit of the record's own.
    let heard = hear(
        "senml",
        br#"[{"bn": "urn:dev:mac:0024befffe804ff1:", "bt": -60, "bu": "K", "n": "temperature", "v": 311.65},
            {"n": "drunk", "u": "L", "s": 12, "t": 60},
            {"n": "skin-temperature", "u": "Cel", "v": 35.5, "t": 60},
            {"n": "temperature", "u": "V", "v": 1}]"#,
    );
    assert_eq!(
        said(&heard),
        [
            ("urn:dev:mac:0024befffe804ff1", "temperature", 38.5, 60_000),
            ("urn:dev:mac:0024befffe804ff1", "drunk", 0.012, 0),
            ("urn:dev:mac:0024befffe804ff1:skin", "temperature", 35.5, 0),
        ]
    );
    assert_eq!(
        heard.refusals,
        ["bolus: temperature: its unit \"V\" does not measure what Cel does"]
    );
    // The same by the labels of RFC 8428 table 4: {-2: "b-1:", -3: 1795572440, 0: "temperature", 2: 38.5}
    let mut pack = b"\x81\xa4\x21\x64b-1:\x22\x1a".to_vec();
    pack.extend(1_795_572_440_u32.to_be_bytes());
    pack.extend(b"\x00\x6btemperature\x02\xf9\x50\xd0");
    let heard = hear("senml/cbor", &pack);
    assert_eq!(heard.refusals, [""; 0]);
    assert_eq!(said(&heard), [("b-1", "temperature", 38.5, 60_000)]);
    assert!(heard.readings[0].timed);
}

#[test]
fn binary_documents_and_rows_of_numbers_are_read_like_any_other() {
    // {1: 1(1795572440), 3: 12, 7: h'e803'}: RFC 8949 with tag 1 for a time.
    let mut payload = b"\xa3\x01\xc1\x1a".to_vec();
    payload.extend(1_795_572_440_u32.to_be_bytes());
    payload.extend(b"\x03\x0c\x07\x42\xe8\x03");
    let heard = hear("yard/m-1/cbor", &payload);
    assert_eq!(heard.refusals, [""; 0]);
    // 1000 thousandths of standard gravity.
    assert_eq!(
        said(&heard),
        [("m-1", "steps", 12.0, 60_000), ("m-1", "movement", 9.80665, 60_000)]
    );
    assert_eq!(said(&hear("yard/m-1/msgpack", b"\x81\xa5lying\xc3")), [("m-1", "lying", 1.0, 0)]);
    // 101.3 and 9.75 as float32, lowest byte first.
    let heard = hear("yard/e-1/floats", b"mpnKQgAAHEE=");
    assert_eq!(heard.readings.len(), 2);
    assert!((heard.readings[0].value - 38.5).abs() < 1e-5, "{}", heard.readings[0].value);
    assert_eq!(heard.readings[1].value, 9.75);
    assert_eq!(said(&hear("yard/e-1/raw", &[0x79, 0xbd])), [("e-1", "ear temperature", 38.5, 0)]);
    assert_eq!(said(&hear("yard/e-1/raw", &[0xff, 0xff])), []);
    assert_eq!(
        hear("yard/e-1/raw", &[0; 9]).refusals,
        ["ear: the message has 9 bytes; at most 8 are read"]
    );
}

#[test]
fn a_text_a_presence_and_a_decimal_comma() {
    assert_eq!(said(&hear("yard/s-1/scale", b"612,5")), [("s-1", "weight", 612.5, 0)]);
    for bad in ["1.234,5", "612.5", "612,5 kg"] {
        let heard = hear("yard/s-1/scale", bad.as_bytes());
        assert_eq!(heard.refusals, [format!("scale: weight: {bad:?} is not a number")]);
    }
    assert_eq!(said(&hear("yard/g-1/alive", b"online")), [("g-1", "link", 1.0, 0)]);
    assert_eq!(said(&hear("yard/g-1/alive", b"Offline")), [("g-1", "link", 0.0, 0)]);
}

#[test]
fn a_camera_says_the_best_score_for_every_region_of_every_picture() {
    let heard = hear(
        "eyes/cam-1",
        br#"{"t": 1795572440, "fps": 5, "detections": [
            {"label": "lying", "score": 0.61, "box": [100, 500, 500, 900]},
            {"label": "cow-down", "score": 0.83, "box": [200, 500, 600, 900]},
            {"label": "cow", "score": 0.99, "box": [1000, 500, 1400, 900]}
        ]}"#,
    );
    assert_eq!(heard.refusals, [""; 0]);
    assert_eq!(
        said(&heard),
        [
            ("cam-1/left pen", "lying on side", 0.83, 60_000),
            ("cam-1/right pen", "lying on side", 0.0, 60_000),
            ("cam-1", "frames", 5.0, 60_000),
        ]
    );
    assert_eq!(heard.readings[0].region.as_deref(), Some("left pen"));
    assert_eq!(heard.device.as_ref().map(|device| device.as_str()), Some("cam-1"));
    // An empty picture is one in which nothing lies.
    assert_eq!(
        said(&hear("one/cam-2", br#"{"detections": []}"#)),
        [("cam-2", "lying on side", 0.0, 0)]
    );
    // A picture that cannot be read calms nobody.
    for broken in [
        r#"{"detections": [{"label": "lying", "score": 61}]}"#,
        r#"{"detections": [{"label": "lying"}]}"#,
        r#"{"detections": [{"score": 0.5}]}"#,
        r#"{"detections": 1}"#,
        r#"{}"#,
    ] {
        let heard = hear("one/cam-2", broken.as_bytes());
        assert_eq!(heard.readings, [], "{broken}");
        assert_eq!(heard.refusals.len(), 1, "{broken}");
    }
    let outside = br#"{"t": 1795572440, "fps": 5, "detections": [{"label": "lying", "score": 0.9, "box": [0.1, 0.1, 5000, 0.4]}]}"#;
    assert_eq!(
        hear("eyes/cam-1", outside).refusals,
        ["camera: \"lying\": its box lies outside the picture: look at in and size"]
    );
}

fn topics() -> Vec<String> {
    let written = farm().sensors.into_iter().map(|kind| kind.topic.replace("{device}", "d-1"));
    written.collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn no_bytes_make_any_form_panic_and_every_reading_is_finite(
        noise in prop_oneof![
            prop::collection::vec(any::<u8>(), 0..65_536),
            prop::collection::vec(any::<u8>(), 0..40),
            "[\\[\\]{}\":,0-9a-z. -]{0,200}".prop_map(String::into_bytes),
        ],
    ) {
        let decoders = Decoders::new(&farm().sensors).unwrap();
        for topic in topics() {
            let heard = decoders.read(&topic, &noise, HEARD, false);
            prop_assert_eq!(heard.matched, 1);
            for reading in &heard.readings {
                prop_assert!(reading.value.is_finite());
                prop_assert!(reading.unit.is_none_or(Unit::is_kept));
            }
        }
    }
}

#[test]
fn a_megabyte_of_noise_is_refused_by_its_size_in_every_form() {
    let decoders = Decoders::new(&farm().sensors).unwrap();
    for topic in topics() {
        let heard = decoders.read(&topic, &vec![0x9f; 1024 * 1024], HEARD, false);
        assert_eq!(heard.readings, []);
        assert_eq!(heard.refusals.len(), 1, "{topic}: {:?}", heard.refusals);
    }
}
