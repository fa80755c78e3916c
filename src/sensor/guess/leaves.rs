//! A document's leaves as reads: numbers and words with their places, times, lists of samples, and
//! bytes wrapped into texts.

use serde_json::{Map, Value};

use super::rows;
use crate::config::sensors::{Form, Raw, Read, ReadKind, SensorKind, TimeAt, TimeForm, Wrap};
use crate::plain::moment::Moment;
use crate::plain::quantity::Unit;
use crate::sensor::{octets, senml, value};

/// Leaves of one message that are offered: the rest a person writes.
const LEAVES_MAX: usize = 40;

/// The sign whose level is judged as a battery's.
const BATTERY: &str = "battery";

/// Deeper than this nothing is looked for.
const DEPTH_MAX: usize = 16;

/// Shorter texts are words, not wrapped bytes; longer bytes are no row of a few numbers.
const WRAPPED: std::ops::RangeInclusive<usize> = 2..=64;

/// A number of so many digits may as well be hex.
const HEX_FROM: usize = 8;

#[derive(Default)]
struct Found {
    reads: Vec<Read>,
    time: Option<TimeAt>,
    counter: Option<String>,
    wrapped: Vec<(String, Wrap, Vec<u8>)>,
    lists: Vec<String>,
}

pub(super) fn document(
    document: &Value,
    form: Form,
    what: &str,
    maybe: &mut Vec<(String, SensorKind)>,
) {
    if let Some(kind) = pack(document, form) {
        maybe.push((format!("SenML, as {what}"), kind));
        return;
    }
    let mut found = Found::default();
    walk(document, String::new(), 0, &mut found);
    for at in &found.lists {
        let first = document.pointer(at).and_then(|list| list.get(0));
        let mut within = Found::default();
        walk(first.unwrap_or(&Value::Null), String::new(), 0, &mut within);
        if !within.reads.is_empty() {
            let kind = SensorKind::plain("sensor", "", form, within.reads);
            let time = within.time.or_else(|| found.time.clone());
            let kind = SensorKind { each: vec![at.clone()], time, ..kind };
            let shown = if at.is_empty() { "the whole message" } else { at };
            maybe.push((format!("{what}, a list of samples at {shown}"), kind));
        }
    }
    for (at, wrap, bytes) in found.wrapped {
        let from = maybe.len();
        let name = match wrap {
            Wrap::Base64 => "base64",
            Wrap::Hex => "hex",
            Wrap::Bytes => "bytes",
        };
        rows::of_bytes(&bytes, form, &format!("{what} with {name} at {at}"), maybe);
        for (_, kind) in &mut maybe[from..] {
            kind.raw = Some(Raw { at: vec![at.clone()], wrap });
            kind.time.clone_from(&found.time);
            kind.counter = found.counter.clone().into_iter().collect();
        }
    }
    let mut kind = SensorKind::plain("sensor", "", form, found.reads);
    kind.time = found.time;
    kind.counter = found.counter.clone().into_iter().collect();
    // The plain reading of a document goes first, if there is any.
    let place = maybe.iter().position(|(name, _)| name.starts_with(what)).unwrap_or(maybe.len());
    maybe.insert(place, (what.to_owned(), kind));
}

/// Records with a name and a value: SenML.
fn pack(document: &Value, form: Form) -> Option<SensorKind> {
    let mut pack = document.clone();
    let form = match form {
        Form::Json => Form::Senml,
        Form::Cbor => {
            senml::named(&mut pack);
            Form::SenmlCbor
        }
        Form::Msgpack
        | Form::Text
        | Form::Csv
        | Form::Senml
        | Form::SenmlCbor
        | Form::Bytes
        | Form::Base64
        | Form::Hex => return None,
    };
    let fields = |record: &Value| record.as_object().is_some_and(is_record);
    let list = pack.as_array()?;
    if list.is_empty() || !list.iter().all(fields) {
        return None;
    }
    let resolved = senml::resolve(&pack, Moment::from_seconds(0)).ok()?;
    let mut reads: Vec<Read> = Vec::new();
    for record in resolved.records.iter().take(LEAVES_MAX) {
        let end = record.name.rsplit([':', '/']).next().unwrap_or(&record.name);
        if !record.value.as_ref().is_some_and(Value::is_number)
            || end.is_empty()
            || reads.iter().any(|read| read.at.iter().any(|at| at == end))
        {
            continue;
        }
        let unit = record.unit.as_deref().and_then(Unit::named);
        reads.push(Read { unit, ..Read::plain(&sign(end), &[end], ReadKind::Level) });
    }
    Some(SensorKind::plain("sensor", "", form, reads))
}

fn is_record(fields: &Map<String, Value>) -> bool {
    let has = |keys: &[&str]| keys.iter().any(|key| fields.contains_key(*key));
    has(&["n", "bn"]) && has(&["v", "vs", "vb", "vd", "s", "bn"])
}

fn walk(value: &Value, at: String, depth: usize, found: &mut Found) {
    if depth > DEPTH_MAX || found.reads.len() >= LEAVES_MAX {
        return;
    }
    match value {
        Value::Null => {}
        Value::Object(map) => {
            for (key, value) in map {
                let key = key.replace('~', "~0").replace('/', "~1");
                walk(value, format!("{at}/{key}"), depth + 1, found);
            }
        }
        Value::Array(list) => {
            if list.first().is_some_and(Value::is_object) {
                found.lists.push(at.clone());
            }
            for (n, value) in list.iter().enumerate().take(LEAVES_MAX) {
                walk(value, format!("{at}/{n}"), depth + 1, found);
            }
        }
        Value::Bool(_) => found.read(&at, ReadKind::Flag, None),
        Value::Number(number) => {
            let figure = number.as_f64().unwrap_or_default();
            if found.counter.is_none() && number.is_u64() && is_counter(&at) {
                found.counter = Some(at);
                return;
            }
            match time_of(&at, figure) {
                Some(form) if found.time.is_none() => {
                    found.time = Some(TimeAt { at: vec![at], form });
                }
                Some(_) | None => found.read(&at, ReadKind::Level, Some(figure)),
            }
        }
        Value::String(text) => found.text(at, text),
    }
}

impl Found {
    fn read(&mut self, at: &str, kind: ReadKind, figure: Option<f64>) {
        let sign = sign(at.rsplit('/').next().unwrap_or(at));
        let sign =
            if self.reads.iter().any(|read| read.sign == sign) { self::sign(at) } else { sign };
        if sign.is_empty() || self.reads.iter().any(|read| read.sign == sign) {
            return;
        }
        let unit = figure.and_then(|figure| unit(&sign, figure));
        // The watch knows a battery by this name.
        let battery = sign.to_lowercase().contains("batt") && unit.is_some();
        let taken = self.reads.iter().any(|read| read.sign == BATTERY);
        let sign = if battery && !taken { BATTERY.to_owned() } else { sign };
        self.reads.push(Read { unit, ..Read::plain(&sign, &[at], kind) });
    }

    fn text(&mut self, at: String, text: &str) {
        if let Ok(figure) = text.trim().parse::<f64>()
            && figure.is_finite()
        {
            self.read(&at, ReadKind::Level, Some(figure));
            // Hex of digits alone looks like a long number.
            if text.len() < HEX_FROM {
                return;
            }
        }
        if self.time.is_none() && Moment::from_rfc3339(text).is_some() {
            self.time = Some(TimeAt { at: vec![at], form: TimeForm::Rfc3339 });
            return;
        }
        if is_name(&at) {
            return;
        }
        let wraps: &[Wrap] =
            if value::is_bytes(text) { &[Wrap::Bytes] } else { &[Wrap::Hex, Wrap::Base64] };
        for wrap in wraps {
            if let Some(bytes) = wrapped(text, *wrap) {
                self.wrapped.push((at.clone(), *wrap, bytes));
            }
        }
    }
}

/// The bytes a text may wrap. A plain word is none: base64 that is only small letters is a word.
pub(super) fn wrapped(text: &str, wrap: Wrap) -> Option<Vec<u8>> {
    let text = text.trim();
    let word = text.bytes().all(|byte| byte.is_ascii_lowercase())
        || text.parse::<f64>().is_ok_and(|_| text.len() < 8);
    if wrap == Wrap::Base64 && (word || !text.len().is_multiple_of(4)) {
        return None;
    }
    octets::unwrap(text, wrap).ok().filter(|bytes| WRAPPED.contains(&bytes.len()))
}

/// A number that counts from 1970 and lies in this century's first half, where its name does not
/// say otherwise.
fn time_of(at: &str, figure: f64) -> Option<TimeForm> {
    let seconds = 978_307_200.0..2_524_608_000.0;
    if figure.fract() != 0.0 && !at.contains('t') {
        return None;
    }
    if seconds.contains(&figure) {
        Some(TimeForm::UnixSeconds)
    } else if seconds.contains(&(figure / 1000.0)) {
        Some(TimeForm::UnixMillis)
    } else {
        None
    }
}

/// A cell of a table that is a time.
pub(super) fn time_in(cell: &str) -> Option<TimeForm> {
    if Moment::from_rfc3339(cell).is_some() {
        return Some(TimeForm::Rfc3339);
    }
    time_of("t", cell.parse().ok()?)
}

/// The last step of a place in small letters without marks: "/rx/devEUI" is "deveui".
fn step(at: &str) -> String {
    let last = at.rsplit('/').next().unwrap_or(at);
    last.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_lowercase()
}

/// A name of something, not bytes of it (common practice, no source).
fn is_name(at: &str) -> bool {
    let step = step(at);
    let ends = ["eui", "name", "addr", "address", "id", "serial", "mac"];
    ends.iter().any(|end| step.ends_with(end))
}

/// A count of messages (common practice, no source).
fn is_counter(at: &str) -> bool {
    ["fcnt", "fcntup", "framecounter", "counterup", "seq", "seqno", "sequence"]
        .contains(&step(at).as_str())
}

/// A place as a word for people: "/tail/up_s" is "tail up s".
pub(super) fn sign(at: &str) -> String {
    let words: String = at.chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The unit that a name and a figure suggest (common practice, no source).
pub(super) fn unit(sign: &str, figure: f64) -> Option<Unit> {
    let sign = sign.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| sign.contains(word));
    if has(&["temp", "celsius"]) {
        return match figure {
            90.0..=115.0 => Some(Unit::Fahrenheit),
            -50.0..=60.0 => Some(Unit::Celsius),
            250.0..=330.0 => Some(Unit::Kelvin),
            _ => None,
        };
    }
    if has(&["batt", "charge", "volt"]) {
        return match figure {
            1.5..=4.5 => Some(Unit::Volt),
            1500.0..=4500.0 => Some(Unit::Millivolt),
            0.0..=100.0 if !has(&["volt"]) => Some(Unit::Charge),
            _ => None,
        };
    }
    if has(&["humid"]) && (0.0..=100.0).contains(&figure) {
        return Some(Unit::Humidity);
    }
    (has(&["rssi"]) && figure < 0.0).then_some(Unit::DecibelMilliwatt)
}
