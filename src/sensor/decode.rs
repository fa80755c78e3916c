//! One kind of message: from its bytes to readings, by what the settings say of it.
//!
//! One bad field spoils only itself. It keeps no state, judges no freshness (`fresh` does) and no
//! plausibility: it refuses only what is no value.

use std::fmt;
use std::sync::Arc;

use super::body::Body;
use super::document::Documents;
use super::field::Field;
use super::octets;
use super::reading::{FieldPlace, Reading};
use super::senml::{self, When};
use super::topic::{Filter, Names};
use super::value;
use crate::config::sensors::{Form, ReadKind, SensorKind, Wrap};
use crate::plain::ids::DeviceId;
use crate::plain::moment::Moment;
use crate::plain::quantity::Unit;

pub use crate::config::sensors::PAYLOAD_MAX;

/// A device's name goes into every line about it, so it is kept to what a line can hold.
pub const DEVICE_NAME_MAX: usize = 128;

/// Samples of one message: a collar that kept three days at one a minute sends 4320.
pub const SAMPLES_MAX: usize = 5_000;

/// Readings of one message: some megabytes of memory, and more than any batch of one device's.
pub const READINGS_MAX: usize = 20_000;

/// Refusals of one message that are kept: more of them say nothing new.
pub const REFUSALS_MAX: usize = 20;

/// A sensor kind taken apart once, ready for every packet.
#[derive(Clone, Debug)]
pub struct Decoder {
    kind: Arc<str>,
    filter: Filter,
    form: Form,
    largest: usize,
    fields: Vec<Field>,
    documents: Documents,
}

/// What one kind found in one message.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Decoded {
    /// Whose message it was, if that can be told.
    pub device: Option<DeviceId>,
    pub readings: Vec<Reading>,
    pub counter: Option<u64>,
    /// The message's own time; of a batch, its newest sample's.
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

impl Decoder {
    /// `place` is the kind's among all kinds.
    pub fn new(kind: &SensorKind, place: usize) -> Result<Self, KindFault> {
        let fault = |why: String| KindFault { kind: kind.kind.clone(), why };
        let filter = Filter::parse(&kind.topic).map_err(|why| fault(why.to_string()))?;
        let place = |read| FieldPlace { kind: place, read };
        let fields = kind.read.iter().enumerate();
        let fields = fields.map(|(n, read)| Field::new(read, kind.form, place(n)));
        let fields: Vec<Field> =
            fields.collect::<Result<_, _>>().map_err(|why| fault(why.to_string()))?;
        let documents = Documents::new(kind).map_err(|why| fault(why.to_string()))?;
        let documents = if filter.has("device") { documents.of_the_topic() } else { documents };
        Ok(Self {
            kind: Arc::from(kind.kind.as_str()),
            filter,
            form: kind.form,
            largest: kind.largest.min(PAYLOAD_MAX),
            fields,
            documents,
        })
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
        self.decode_body(&Body::new(payload), names, heard, retained)
    }

    pub(super) fn decode_body(
        &self,
        body: &Body<'_>,
        names: Names<'_>,
        heard: Moment,
        retained: bool,
    ) -> Decoded {
        let mut decoded = Decoded::default();
        let named_inside = !self.documents.device.is_empty();
        let blank = if named_inside { Ok(None) } else { device(names).map(Some) };
        let blank = blank.map(|device| Blank {
            kind: &self.kind,
            device,
            at: heard,
            heard,
            timed: false,
            retained,
        });
        let mut blank = match blank {
            Ok(blank) => blank,
            Err(why) => {
                decoded.refuse(why);
                return decoded;
            }
        };
        if !matches!(self.form, Form::Senml | Form::SenmlCbor) || self.filter.has("device") {
            decoded.device.clone_from(&blank.device);
        }
        if let Err(why) =
            body.fits(self.largest).and_then(|()| self.read(&mut decoded, &mut blank, body))
        {
            decoded.refuse(why);
        }
        if decoded.device.is_none() {
            decoded.device = blank.device;
        }
        decoded
    }

    fn read(
        &self,
        decoded: &mut Decoded,
        blank: &mut Blank<'_>,
        body: &Body<'_>,
    ) -> Result<(), String> {
        match self.form {
            Form::Json | Form::Cbor | Form::Msgpack | Form::Csv => {
                let document = body.document(self.form, self.documents.csv)?;
                self.documents.read(&self.fields, decoded, blank, &document)
            }
            Form::Text => {
                let text = body.text()?;
                for field in &self.fields {
                    decoded.take(
                        blank,
                        field,
                        value::from_text(text, &field.wanted),
                        Ok(field.unit),
                    );
                }
                Ok(())
            }
            Form::Senml | Form::SenmlCbor => {
                let pack = body.pack(self.form)?;
                let resolved = senml::resolve(&pack, blank.heard)?;
                self.read_records(decoded, blank, resolved)
            }
            Form::Bytes => self.read_bytes(decoded, blank, body.payload()),
            Form::Base64 => {
                self.read_bytes(decoded, blank, &octets::unwrap(body.text()?, Wrap::Base64)?)
            }
            Form::Hex => self.read_bytes(decoded, blank, &octets::unwrap(body.text()?, Wrap::Hex)?),
        }
    }

    fn read_bytes(
        &self,
        decoded: &mut Decoded,
        blank: &Blank<'_>,
        bytes: &[u8],
    ) -> Result<(), String> {
        for field in &self.fields {
            if let Some(read) = field.in_bytes(bytes) {
                decoded.take(blank, field, read, Ok(field.unit));
            }
        }
        Ok(())
    }

    fn read_records(
        &self,
        decoded: &mut Decoded,
        blank: &mut Blank<'_>,
        resolved: senml::Resolved,
    ) -> Result<(), String> {
        resolved.refusals.into_iter().for_each(|why| decoded.refuse(why));
        let on_topic = blank.device.clone();
        let mut found = self.fields.is_empty();
        for record in &resolved.records {
            blank.at = record.at;
            blank.timed = record.when == When::Said;
            for field in &self.fields {
                let Some(rest) = field.ends.iter().find_map(|end| before(&record.name, end)) else {
                    continue;
                };
                found = true;
                if !rest.is_empty() && !self.filter.has("device") {
                    blank.device = Some(checked(rest)?);
                    decoded.device.get_or_insert_with(|| DeviceId::new(rest));
                } else {
                    blank.device.clone_from(&on_topic);
                }
                let read = match (&record.value, record.sum) {
                    (_, Some(sum)) if field.wanted.kind == ReadKind::Total => {
                        value::fit(sum, &field.wanted)
                    }
                    (Some(value), _) => value::from_json(value, &field.wanted),
                    (None, _) => Err("it has a sum and no value".to_owned()),
                };
                let unit = match &record.unit {
                    None => Ok(field.unit),
                    Some(unit) => field.unit_said(unit),
                };
                decoded.take(blank, field, read, unit);
                if blank.timed {
                    decoded.carried = decoded.carried.max(Some(record.at));
                }
            }
        }
        blank.device = on_topic;
        if found {
            return Ok(());
        }
        let ends: Vec<&String> = self.fields.iter().flat_map(|field| &field.ends).collect();
        Err(format!("no record's name ends in {}", crate::plain::english::choice(&ends)))
    }
}

impl Decoded {
    /// Keeps a value, turned into the unit its quantity is kept in.
    pub(super) fn take(
        &mut self,
        blank: &Blank<'_>,
        field: &Field,
        read: Result<Option<f64>, String>,
        unit: Result<Option<Unit>, String>,
    ) {
        let kept = match (read, unit) {
            (Ok(None), _) => return,
            (Err(why), _) | (_, Err(why)) => Err(why),
            (Ok(Some(figure)), Ok(None)) => Ok((figure, None)),
            (Ok(Some(figure)), Ok(Some(unit))) => {
                let kept = value::sound(unit.keep(figure), field.wanted.kind);
                kept.map(|figure| (figure, Some(unit.kept())))
            }
        };
        match kept {
            Err(why) => self.refuse(format!("{}: {why}", field.sign)),
            Ok(_) if self.readings.len() == READINGS_MAX => {
                self.refuse(format!(
                    "it has more than {READINGS_MAX} readings; the rest is left out"
                ));
            }
            Ok((figure, unit)) => {
                if let Some(reading) = blank.filled(field, figure, unit) {
                    self.readings.push(reading);
                }
            }
        }
    }

    /// The same refusal a thousand times in one batch is one refusal.
    pub(super) fn refuse(&mut self, why: String) {
        if self.refusals.len() < REFUSALS_MAX && !self.refusals.contains(&why) {
            self.refusals.push(why);
        }
    }
}

impl fmt::Display for KindFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "sensor \"{}\": {}", self.kind, self.why)
    }
}

impl std::error::Error for KindFault {}

/// A reading without its sign and value.
pub(super) struct Blank<'d> {
    pub(super) kind: &'d Arc<str>,
    pub(super) device: Option<DeviceId>,
    pub(super) at: Moment,
    pub(super) heard: Moment,
    pub(super) timed: bool,
    pub(super) retained: bool,
}

impl Blank<'_> {
    pub(super) fn filled(&self, field: &Field, value: f64, unit: Option<Unit>) -> Option<Reading> {
        Some(Reading {
            device: self.device.clone()?,
            kind: Arc::clone(self.kind),
            sign: Arc::clone(&field.sign),
            value,
            as_: field.wanted.kind,
            unit,
            place: field.place,
            region: None,
            at: self.at,
            heard: self.heard,
            timed: self.timed,
            retained: self.retained,
        })
    }
}

/// The device a topic names; the whole topic if the filter has no `{device}`.
pub(super) fn device(names: Names<'_>) -> Result<DeviceId, String> {
    let name = names.get("device").unwrap_or(names.topic());
    if name.is_empty() {
        return Err("the topic names no device: that level is empty".to_owned());
    }
    checked(name).map_err(|why| format!("the topic's {why}"))
}

/// A name that a line about its device can hold.
pub(super) fn checked(name: &str) -> Result<DeviceId, String> {
    if name.len() > DEVICE_NAME_MAX {
        return Err(format!(
            "device has {} bytes in its name; at most {DEVICE_NAME_MAX} are read",
            name.len()
        ));
    }
    if name.chars().any(char::is_control) {
        return Err(format!("device {} has a control character in its name", value::sample(name)));
    }
    Ok(DeviceId::new(name))
}

/// What stands before a name's end, if the name ends so: whole words of it only.
fn before<'n>(name: &'n str, end: &str) -> Option<&'n str> {
    let rest = name.strip_suffix(end)?;
    let whole = end.is_empty() || rest.is_empty() || rest.ends_with([':', '/', '.', '-', '_']);
    whole.then(|| rest.trim_end_matches([':', '/', '.', '-', '_']))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::sensors::Read;
    use crate::config::sensors::{TimeAt, TimeForm};
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

    /// A collar tells every quarter of an hour of the last hour, the oldest first: no clock is behind.
    #[test]
    fn the_newest_sample_dates_a_batch() {
        let read = [("contraction", "/n", ReadKind::Count)];
        let batch = SensorKind {
            each: vec!["/samples".to_owned()],
            ..kind("yard/tail/{device}/state", &read, Some("/at"))
        };
        let at = heard().seconds();
        let payload = format!(
            r#"{{"samples":[{{"at":{},"n":1}},{{"at":{},"n":2}},{{"at":{},"n":0}}]}}"#,
            at - 3_600,
            at - 60,
            at - 1_800
        );
        let decoded = decode(&batch, &payload);
        assert_eq!(decoded.readings.len(), 3);
        assert_eq!(decoded.carried, Some(Moment::from_seconds(at - 60)));
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
        let heard = decode_on(&only_heard, "yard/t-07", b"{}");
        assert_eq!((heard.readings, heard.refusals), (vec![], vec![]));
        assert_eq!(heard.device, Some(DeviceId::new("t-07")));
    }

    #[test]
    fn a_value_that_means_no_reading_gives_none_and_no_refusal() {
        for batt in ["-1", "255", "\"255\"", "null"] {
            let payload = format!(r#"{{"t": 1795572300, "batt": {batt}}}"#);
            let decoded = decode(&tail(), &payload);
            assert_eq!((decoded.readings, decoded.refusals), (vec![], vec![]), "{payload}");
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
            Decoder::new(&wrong, 0).unwrap_err().to_string(),
            "sensor \"tail\": `temp` is no place in a message: it begins with `/`, as in `/temp`"
        );
        let wrong = kind("yard/x{device}", &[], None);
        assert!(Decoder::new(&wrong, 0).is_err());
        let wrong = kind("yard/{device}", &[], Some("t"));
        assert!(Decoder::new(&wrong, 0).is_err());
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
            let decoder = Decoder::new(&kind, 0).unwrap();
            let names = decoder.filter().matches("yard/tail/t-07/state").unwrap();
            let decoded = decoder.decode(&payload, names, heard(), retained);
            prop_assert!(decoded.readings.len() <= kind.read.len());
            prop_assert!(decoded.refusals.len() <= REFUSALS_MAX);
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
        let decoder = Decoder::new(kind, 0).unwrap();
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
