//! One kind of message: from its bytes to readings, by what the settings say of it.
//!
//! One bad field spoils only itself. It keeps no state, judges no freshness (`fresh` does), and
//! converts no units.

use std::cell::OnceCell;
use std::fmt;
use std::sync::Arc;

use serde_json::Value;

use super::pointer::Pointer;
use super::reading::{FieldPlace, Reading};
use super::stamp;
use super::topic::{Filter, Names};
use super::value::{self, Wanted};
use crate::config::sensors::{Form, SensorKind, TimeForm};
use crate::plain::english;
use crate::plain::ids::DeviceId;
use crate::plain::moment::Moment;

pub use crate::config::sensors::PAYLOAD_MAX;

/// A device's name goes into every line about it, so it is kept to what a line can hold.
pub const DEVICE_NAME_MAX: usize = 128;

/// A sensor kind taken apart once, ready for every packet.
#[derive(Clone, Debug)]
pub struct Decoder {
    kind: Arc<str>,
    filter: Filter,
    form: Form,
    fields: Vec<Field>,
    time: Option<TimeField>,
    counter: Vec<Pointer>,
}

#[derive(Clone, Debug)]
struct Field {
    sign: Arc<str>,
    at: Vec<Pointer>,
    wanted: Wanted,
    place: FieldPlace,
}

#[derive(Clone, Debug)]
struct TimeField {
    at: Vec<Pointer>,
    form: TimeForm,
}

/// What one kind found in one message.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Decoded {
    pub readings: Vec<Reading>,
    /// The frame counter and the own time that the message carries.
    pub counter: Option<u64>,
    pub carried: Option<Moment>,
    /// What made no sense, each as the end of a sentence.
    pub refusals: Vec<String>,
}

/// Why a sensor kind cannot be read at all: its settings are wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KindFault {
    pub kind: String,
    pub why: String,
}

/// A payload, parsed at most once however many kinds read it.
pub(super) struct Body<'p> {
    payload: &'p [u8],
    json: OnceCell<Result<Value, String>>,
}

impl Decoder {
    pub fn new(kind: &SensorKind) -> Result<Self, KindFault> {
        let fault = |why: String| KindFault { kind: kind.kind.clone(), why };
        let filter = Filter::parse(&kind.topic).map_err(|why| fault(why.to_string()))?;
        let pointers = |written: &[String]| {
            written
                .iter()
                .map(|text| Pointer::parse(text).map_err(|why| fault(why.to_string())))
                .collect::<Result<Vec<_>, _>>()
        };
        let mut fields = Vec::with_capacity(kind.read.len());
        for (n, read) in kind.read.iter().enumerate() {
            fields.push(Field {
                sign: Arc::from(read.sign.as_str()),
                at: pointers(&read.at)?,
                wanted: Wanted { kind: read.kind, none: read.none.clone(), decimal: read.decimal },
                place: FieldPlace { kind: 0, read: n },
            });
        }
        let time = match &kind.time {
            None => None,
            Some(time) => Some(TimeField { at: pointers(&time.at)?, form: time.form }),
        };
        let counter = pointers(&kind.counter)?;
        let name = Arc::from(kind.kind.as_str());
        Ok(Self { kind: name, filter, form: kind.form, fields, time, counter })
    }

    pub fn kind(&self) -> &str {
        &self.kind
    }

    pub fn filter(&self) -> &Filter {
        &self.filter
    }

    /// Reads one payload on a topic that this kind's filter matched.
    pub fn decode(
        &self,
        payload: &[u8],
        names: Names<'_>,
        heard: Moment,
        retained: bool,
    ) -> Decoded {
        let mut decoded = Decoded::default();
        match (Body::new(payload), device(names)) {
            (Ok(body), Ok(device)) => {
                self.decode_into(&mut decoded, &body, &device, heard, retained);
            }
            (Err(why), _) | (Ok(_), Err(why)) => decoded.refusals.push(why),
        }
        decoded
    }

    pub(super) fn decode_into(
        &self,
        decoded: &mut Decoded,
        body: &Body<'_>,
        device: &DeviceId,
        heard: Moment,
        retained: bool,
    ) {
        let mut blank =
            Blank { kind: &self.kind, device, at: heard, heard, timed: false, retained };
        match self.form {
            Form::Json => match body.json() {
                Ok(document) => {
                    self.date(&mut blank, decoded, document);
                    decoded.carried = blank.timed.then_some(blank.at);
                    decoded.counter = first(&self.counter, document).and_then(Value::as_u64);
                    self.read_json(&blank, decoded, document);
                }
                Err(why) => decoded.refusals.push(why.to_owned()),
            },
            Form::Text => match body.text() {
                Ok(text) => {
                    for field in &self.fields {
                        let read = value::from_text(text, &field.wanted);
                        decoded.take(&blank, field, read);
                    }
                }
                Err(why) => decoded.refusals.push(why),
            },
            Form::Csv
            | Form::Senml
            | Form::SenmlCbor
            | Form::Cbor
            | Form::Msgpack
            | Form::Bytes
            | Form::Base64
            | Form::Hex => decoded.refusals.push("this form is not read yet".to_owned()),
        }
    }

    /// Puts the message's own time on its readings, if it carries one that makes sense.
    fn date(&self, blank: &mut Blank<'_>, decoded: &mut Decoded, document: &Value) {
        let Some(time) = &self.time else {
            return;
        };
        let read = match first(&time.at, document) {
            None | Some(Value::Null) => Err(format!("no time at {}", places(&time.at))),
            Some(value) => stamp::read(value, time.form, blank.heard),
        };
        match read {
            Ok(at) => {
                blank.at = at;
                blank.timed = true;
            }
            Err(why) => {
                decoded.refusals.push(format!("{why}; the time it was heard stands instead"))
            }
        }
    }

    fn read_json(&self, blank: &Blank<'_>, decoded: &mut Decoded, document: &Value) {
        let mut anything = self.fields.is_empty();
        for field in &self.fields {
            if let Some(value) = first(&field.at, document) {
                anything = true;
                let read = value::from_json(value, &field.wanted);
                decoded.take(blank, field, read);
            }
        }
        if !anything {
            let all = self.fields.iter().flat_map(|field| &field.at);
            decoded.refusals.push(format!("there is nothing at {}", places(all)));
        }
    }
}

impl Decoded {
    fn take(&mut self, blank: &Blank<'_>, field: &Field, read: Result<Option<f64>, String>) {
        match read {
            Ok(None) => {}
            Ok(Some(value)) => self.readings.push(blank.filled(field, value)),
            Err(why) => self.refusals.push(format!("{}: {why}", field.sign)),
        }
    }
}

impl fmt::Display for KindFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "sensor \"{}\": {}", self.kind, self.why)
    }
}

impl std::error::Error for KindFault {}

impl<'p> Body<'p> {
    /// Refuses what no kind could read.
    pub(super) fn new(payload: &'p [u8]) -> Result<Self, String> {
        if payload.is_empty() {
            return Err("the message is empty".to_owned());
        }
        if payload.len() > PAYLOAD_MAX {
            return Err(format!(
                "the message has {} bytes; at most {PAYLOAD_MAX} are read",
                payload.len()
            ));
        }
        Ok(Self { payload, json: OnceCell::new() })
    }

    fn json(&self) -> Result<&Value, &str> {
        // serde_json gives up at the 128th level of nesting, so no message can exhaust the stack.
        self.json
            .get_or_init(|| {
                serde_json::from_slice(self.payload).map_err(|why| format!("not JSON: {why}"))
            })
            .as_ref()
            .map_err(String::as_str)
    }

    fn text(&self) -> Result<&'p str, String> {
        std::str::from_utf8(self.payload).map_err(|_| "the message is not text".to_owned())
    }
}

/// A reading without its sign and value.
struct Blank<'d> {
    kind: &'d Arc<str>,
    device: &'d DeviceId,
    at: Moment,
    heard: Moment,
    timed: bool,
    retained: bool,
}

impl Blank<'_> {
    fn filled(&self, field: &Field, value: f64) -> Reading {
        Reading {
            device: self.device.clone(),
            kind: Arc::clone(self.kind),
            sign: Arc::clone(&field.sign),
            value,
            as_: field.wanted.kind,
            unit: None,
            place: field.place,
            region: None,
            at: self.at,
            heard: self.heard,
            timed: self.timed,
            retained: self.retained,
        }
    }
}

/// The device a topic names; the whole topic if the filter has no `{device}`.
pub(super) fn device(names: Names<'_>) -> Result<DeviceId, String> {
    let name = names.get("device").unwrap_or(names.topic());
    if name.is_empty() {
        return Err("the topic names no device: that level is empty".to_owned());
    }
    if name.len() > DEVICE_NAME_MAX {
        return Err(format!(
            "the topic's device has {} bytes in its name; at most {DEVICE_NAME_MAX} are read",
            name.len()
        ));
    }
    if name.chars().any(char::is_control) {
        return Err(format!(
            "the topic's device {} has a control character in its name",
            value::sample(name)
        ));
    }
    Ok(DeviceId::new(name))
}

/// The first of these places that holds something; a null only if no other does.
fn first<'v>(at: &[Pointer], document: &'v Value) -> Option<&'v Value> {
    let mut null = None;
    for pointer in at {
        match pointer.find(document) {
            Some(value) if value.is_null() => null = Some(value),
            Some(value) => return Some(value),
            None => {}
        }
    }
    null
}

fn places<'p>(at: impl IntoIterator<Item = &'p Pointer>) -> String {
    let at: Vec<String> = at.into_iter().map(Pointer::to_string).collect();
    english::choice(&at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::sensors::{Read, ReadKind, TimeAt};
    use proptest::prelude::*;

    #[test]
    fn a_message_carries_several_readings_with_its_own_time() {
        let decoded = decode(
            &tail(),
            r#"{"efforts": 3, "tail": {"up_s": "41.5"}, "batt": 88, "t": 1795572300.25}"#,
        );
        assert_eq!(decoded.refusals, [""; 0]);
        assert_eq!(figures(&decoded), [("contraction", 3.0), ("tail up", 41.5), ("battery", 88.0)]);
        for reading in &decoded.readings {
            assert_eq!(reading.device.as_str(), "t-07");
            assert_eq!(&*reading.kind, "tail");
            assert_eq!(reading.at, Moment::from_millis(1_795_572_300_250));
            assert_eq!(reading.heard, heard());
            assert!(reading.timed && !reading.retained);
        }
        assert_eq!(decoded.readings[0].as_, ReadKind::Count);
    }

    #[test]
    fn the_first_place_that_holds_something_wins() {
        // needs.md N55: one field, several envelopes.
        for (payload, expected) in [
            (r#"{"t": 1795572300, "batt": 50, "status": {"batt": 60}}"#, 50.0),
            (r#"{"t": 1795572300, "status": {"batt": 60}}"#, 60.0),
            (r#"{"t": 1795572300, "batt": null, "status": {"batt": 60}}"#, 60.0),
        ] {
            let decoded = decode(&tail(), payload);
            assert_eq!(figures(&decoded), [("battery", expected)], "{payload}");
            assert_eq!(decoded.refusals, [""; 0]);
        }
    }

    #[test]
    fn one_bad_field_spoils_only_itself() {
        // needs.md N57 and N58.
        let decoded = decode(
            &tail(),
            r#"{"t": 1795572300, "efforts": 3, "tail": {"up_s": "39.5abc"}, "batt": [1]}"#,
        );
        assert_eq!(figures(&decoded), [("contraction", 3.0)]);
        assert_eq!(
            decoded.refusals,
            ["tail up: \"39.5abc\" is not a number", "battery: a list is not a value"]
        );
    }

    #[test]
    fn a_missing_field_is_refused_only_when_every_field_is_missing() {
        let some = decode(&tail(), r#"{"t": 1795572300, "efforts": 0}"#);
        assert_eq!(figures(&some), [("contraction", 0.0)]);
        assert_eq!(some.refusals, [""; 0]);
        let none = decode(&tail(), r#"{"t": 1795572300, "temp": 38.6}"#);
        assert_eq!(none.readings, []);
        assert_eq!(
            none.refusals,
            ["there is nothing at /efforts, /tail/up_s, /batt or /status/batt"]
        );
        let only_heard = kind(r#"yard/{device}"#, &[], None);
        assert_eq!(decode_on(&only_heard, "yard/t-07", b"{}"), Decoded::default());
    }

    #[test]
    fn a_value_that_means_no_reading_gives_none_and_no_refusal() {
        for batt in ["-1", "255", "\"255\"", "null"] {
            let payload = format!(r#"{{"t": 1795572300, "batt": {batt}}}"#);
            let decoded = decode(&tail(), &payload);
            assert_eq!((decoded.readings.len(), decoded.refusals.len()), (0, 0), "{payload}");
        }
    }

    #[test]
    fn a_bad_time_is_refused_and_the_reading_is_as_of_when_it_was_heard() {
        for (payload, why) in [
            (
                r#"{"efforts": 1, "t": "soon"}"#,
                "\"soon\" is not seconds since 1970; the time it was heard stands instead",
            ),
            (
                r#"{"efforts": 1, "t": 1795572300000}"#,
                "the time it carries is after the year 9999: the settings read it wrongly; the time it was heard stands instead",
            ),
            (
                r#"{"efforts": 1, "t": 37}"#,
                "the time it carries is 1970-01-01T00:00:37Z: its clock was never set, or the settings read it wrongly; the time it was heard stands instead",
            ),
            (r#"{"efforts": 1}"#, "no time at /t; the time it was heard stands instead"),
            (r#"{"efforts": 1, "t": null}"#, "no time at /t; the time it was heard stands instead"),
        ] {
            let decoded = decode(&tail(), payload);
            assert_eq!(decoded.refusals, [why]);
            let [reading] = &decoded.readings[..] else {
                panic!("one reading, not {:?}", decoded.readings);
            };
            assert_eq!(reading.at, heard());
            assert!(!reading.timed);
        }
    }

    #[test]
    fn a_message_without_a_place_for_time_is_as_of_when_it_was_heard() {
        let kind = kind("yard/{device}", &[("restless", "", ReadKind::Flag)], None);
        let decoded = decode_on(&kind, "yard/t-07", b" true ");
        assert_eq!(figures(&decoded), [("restless", 1.0)]);
        assert_eq!(decoded.readings[0].at, heard());
        assert!(!decoded.readings[0].timed);
    }

    #[test]
    fn a_plain_text_is_one_whole_value() {
        let mut kind = kind("yard/{device}/temp", &[("temp", "", ReadKind::Level)], None);
        kind.form = Form::Text;
        for (payload, expected, refusals) in [
            (&b"39.5"[..], Some(39.5), &[][..]),
            (b"39.5\r\n", Some(39.5), &[]),
            (b"39.5abc", None, &["temp: \"39.5abc\" is not a number"]),
            (b"23,9", None, &["temp: \"23,9\" is not a number"]),
            (b"NaN", None, &["temp: \"NaN\" is not a number"]),
            (b"inf", None, &["temp: \"inf\" is not a number"]),
            (b"\xff\xfe", None, &["the message is not text"]),
            (b"", None, &["the message is empty"]),
        ] {
            let decoded = decode_on(&kind, "yard/t-07/temp", payload);
            let values: Vec<f64> = decoded.readings.iter().map(|r| r.value).collect();
            assert_eq!(values, Vec::from_iter(expected));
            assert_eq!(decoded.refusals, refusals);
        }
    }

    #[test]
    fn what_is_not_json_is_refused_whole() {
        for (payload, why) in [
            ("efforts=3", "not JSON: expected value at line 1 column 1"),
            (r#"{"efforts": 3} x"#, "not JSON: trailing characters at line 1 column 16"),
            (r#"{"efforts": NaN}"#, "not JSON: expected value at line 1 column 13"),
        ] {
            let decoded = decode(&tail(), payload);
            assert_eq!(decoded.readings, []);
            assert_eq!(decoded.refusals, [why]);
        }
    }

    #[test]
    fn size_and_depth_have_limits() {
        let padded = |length: usize| {
            let mut payload = br#"{"efforts": 3, "t": 1795572300}"#.to_vec();
            payload.resize(length, b' ');
            decode_on(&tail(), "yard/tail/t-07/state", &payload)
        };
        assert_eq!(figures(&padded(PAYLOAD_MAX)), [("contraction", 3.0)]);
        assert_eq!(
            padded(PAYLOAD_MAX + 1).refusals,
            ["the message has 262145 bytes; at most 262144 are read"]
        );
        let nested = |depth: usize| {
            let deep = format!("{}{}", "[".repeat(depth), "]".repeat(depth));
            let payload = format!(r#"{{"efforts": 3, "t": 1795572300, "more": {deep}}}"#);
            decode(&tail(), &payload)
        };
        // The message itself is the first level.
        assert_eq!(figures(&nested(126)), [("contraction", 3.0)]);
        for depth in [127, 100_000] {
            assert_eq!(nested(depth).readings, []);
            assert_eq!(
                nested(depth).refusals,
                ["not JSON: recursion limit exceeded at line 1 column 167"]
            );
        }
    }

    #[test]
    fn a_device_must_have_a_name_that_a_line_can_hold() {
        for (topic, why) in [
            ("yard/tail//state".to_owned(), "the topic names no device: that level is empty"),
            (
                "yard/tail/t\n07/state".to_owned(),
                "the topic's device \"t\\n07\" has a control character in its name",
            ),
            (
                format!("yard/tail/{}/state", "x".repeat(129)),
                "the topic's device has 129 bytes in its name; at most 128 are read",
            ),
        ] {
            let decoded = decode_on(&tail(), &topic, br#"{"efforts": 1}"#);
            assert_eq!(decoded.readings, []);
            assert_eq!(decoded.refusals, [why]);
        }
    }

    #[test]
    fn a_topic_without_a_name_for_its_device_is_the_devices_name_itself() {
        let kind = kind("barn/weight", &[("weight", "/kg", ReadKind::Level)], None);
        let decoded = decode_on(&kind, "barn/weight", br#"{"kg": 612}"#);
        assert_eq!(decoded.readings[0].device.as_str(), "barn/weight");
    }

    #[test]
    fn a_kind_that_cannot_be_read_says_why() {
        let wrong = kind("yard/{device}", &[("temp", "temp", ReadKind::Level)], None);
        assert_eq!(
            Decoder::new(&wrong).unwrap_err().to_string(),
            "sensor \"tail\": `temp` is no place in a message: it begins with `/`, as in `/temp`"
        );
        let wrong = kind("yard/x{device}", &[], None);
        assert!(Decoder::new(&wrong).is_err());
        let wrong = kind("yard/{device}", &[], Some("t"));
        assert!(Decoder::new(&wrong).is_err());
    }

    proptest! {
        #[test]
        fn no_bytes_make_it_panic_and_every_reading_is_sound(
            payload in prop_oneof![
                prop::collection::vec(any::<u8>(), 0..200),
                "[\\[\\]{}\":,0-9a-z. -]{0,80}".prop_map(String::into_bytes),
                message().prop_map(String::into_bytes),
            ],
            text in any::<bool>(),
            retained in any::<bool>(),
        ) {
            let mut kind = tail();
            if text {
                kind.form = Form::Text;
            }
            let decoder = Decoder::new(&kind).unwrap();
            let names = decoder.filter().matches("yard/tail/t-07/state").unwrap();
            let decoded = decoder.decode(&payload, names, heard(), retained);
            prop_assert!(decoded.readings.len() <= kind.read.len());
            prop_assert!(decoded.refusals.len() <= kind.read.len() + 2);
            for reading in &decoded.readings {
                prop_assert!(reading.value.is_finite());
                prop_assert_eq!(reading.retained, retained);
                prop_assert!(reading.timed || reading.at == reading.heard);
                if reading.as_ == ReadKind::Count {
                    prop_assert!((0.0..=value::COUNT_MAX).contains(&reading.value));
                }
            }
        }
    }

    /// Messages of nearly the right shape.
    fn message() -> impl Strategy<Value = String> {
        let value = || {
            prop_oneof![
                any::<f64>().prop_map(|n| format!("{n:e}")),
                any::<i64>().prop_map(|n| n.to_string()),
                any::<bool>().prop_map(|b| b.to_string()),
                Just("null".to_owned()),
                "[0-9a-z.-]{0,6}".prop_map(|s| format!("{s:?}")),
            ]
        };
        (value(), value(), value(), value()).prop_map(|(efforts, up, batt, t)| {
            format!(
                r#"{{"efforts": {efforts}, "tail": {{"up_s": {up}}}, "batt": {batt}, "t": {t}}}"#
            )
        })
    }

    fn heard() -> Moment {
        Moment::from_seconds(1_795_572_400)
    }

    fn figures(decoded: &Decoded) -> Vec<(&str, f64)> {
        decoded.readings.iter().map(|reading| (&*reading.sign, reading.value)).collect()
    }

    fn decode(kind: &SensorKind, payload: &str) -> Decoded {
        decode_on(kind, "yard/tail/t-07/state", payload.as_bytes())
    }

    fn decode_on(kind: &SensorKind, topic: &str, payload: &[u8]) -> Decoded {
        let decoder = Decoder::new(kind).unwrap();
        let names = decoder.filter().matches(topic).unwrap();
        decoder.decode(payload, names, heard(), false)
    }

    /// The kind that the settings' own example describes.
    fn tail() -> SensorKind {
        let mut kind = kind(
            "yard/tail/{device}/state",
            &[
                ("contraction", "/efforts", ReadKind::Count),
                ("tail up", "/tail/up_s", ReadKind::Level),
                ("battery", "/batt", ReadKind::Level),
            ],
            Some("/t"),
        );
        kind.read[2].at.push("/status/batt".to_owned());
        kind.read[2].none = vec![-1.0, 255.0];
        kind
    }

    fn kind(topic: &str, read: &[(&str, &str, ReadKind)], time: Option<&str>) -> SensorKind {
        let read = read.iter().map(|(sign, at, kind)| Read::plain(sign, &[*at], *kind)).collect();
        SensorKind {
            time: time.map(|at| TimeAt { at: vec![at.to_owned()], form: TimeForm::UnixSeconds }),
            ..SensorKind::plain("tail", topic, Form::Json, read)
        }
    }
}
