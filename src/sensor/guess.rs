//! What a payload may be: every plausible reading of it, and the settings that would read it so.
//!
//! It claims nothing: each guess is decoded by the very decoder the night uses, and what that
//! refuses is no guess. Which guess is right only a person knows.

mod leaves;
mod rows;
mod written;

use serde_json::Value;

use super::body::Body;
use super::decode::{Decoder, PAYLOAD_MAX};
use super::octets;
use super::reading::Reading;
use crate::config::sensors::{CsvForm, Decimal, Form, Read, ReadKind, SensorKind, TimeAt, Wrap};
use crate::plain::moment::Moment;

/// A person looks at a dozen guesses, not at a hundred.
pub const GUESSES_MAX: usize = 12;

/// One way to read a payload.
#[derive(Clone, Debug, PartialEq)]
pub struct Guess {
    /// "JSON", "a number with a decimal comma".
    pub what: String,
    pub readings: Vec<Reading>,
    /// The lines for farm.toml.
    pub settings: String,
}

/// The plausible ones, the likeliest first.
pub fn guesses(payload: &[u8], topic: &str, heard: Moment) -> Vec<Guess> {
    let payload = payload.strip_suffix(b"\n").unwrap_or(payload);
    if payload.is_empty() || payload.len() > PAYLOAD_MAX {
        return Vec::new();
    }
    let mut maybe: Vec<(String, SensorKind)> = Vec::new();
    match std::str::from_utf8(payload) {
        Ok(text) if !text.contains('\0') => from_text(text, &mut maybe),
        Ok(_) | Err(_) => {}
    }
    let is_text = !maybe.is_empty();
    if !is_text {
        documents(payload, &mut maybe);
        rows::of_bytes(payload, Form::Bytes, "bytes", &mut maybe);
    }
    let filter = written::filter(topic);
    let topic = written::topic_of(&filter, topic);
    let mut guesses: Vec<Guess> = Vec::new();
    for (what, mut kind) in maybe {
        kind.topic.clone_from(&filter);
        let Ok(decoder) = Decoder::new(&kind, 0) else { continue };
        let Some(names) = decoder.filter().matches(&topic) else { continue };
        let decoded = decoder.decode(payload, names, heard, false);
        if decoded.readings.is_empty() || guesses.len() == GUESSES_MAX {
            continue;
        }
        guesses.push(Guess {
            what,
            readings: decoded.readings,
            settings: written::settings(&kind),
        });
    }
    guesses
}

fn from_text(text: &str, maybe: &mut Vec<(String, SensorKind)>) {
    let text = text.trim_ascii();
    match serde_json::from_str::<Value>(text) {
        Ok(document @ (Value::Object(_) | Value::Array(_))) => {
            leaves::document(&document, Form::Json, "JSON", maybe);
            return;
        }
        Ok(Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_)) | Err(_) => {}
    }
    one_value(text, maybe);
    lines(text, maybe);
    for (wrap, form, what) in
        [(Wrap::Hex, Form::Hex, "hex"), (Wrap::Base64, Form::Base64, "base64")]
    {
        if let Some(bytes) = leaves::wrapped(text, wrap) {
            rows::of_bytes(&bytes, form, what, maybe);
        }
    }
}

fn one_value(text: &str, maybe: &mut Vec<(String, SensorKind)>) {
    let mut add = |what: &str, read: Read, decimal| {
        let read = Read { decimal, ..read };
        maybe.push((what.to_owned(), SensorKind::plain("sensor", "", Form::Text, vec![read])));
    };
    let comma = text.contains(',');
    let words = ["true", "false", "on", "off", "yes", "no"];
    if words.iter().any(|word| text.eq_ignore_ascii_case(word)) {
        add("yes or no", Read::plain("happened", &[], ReadKind::Flag), Decimal::Point);
    }
    let words = ["online", "offline", "connected", "disconnected"];
    if words.iter().any(|word| text.eq_ignore_ascii_case(word)) {
        add("online or offline", Read::plain("link", &[], ReadKind::Presence), Decimal::Point);
    }
    let value = || Read::plain("value", &[], ReadKind::Level);
    add("a number", value(), Decimal::Point);
    if comma {
        let what = "a number with a decimal comma (a comma that parts thousands is never read)";
        add(what, value(), Decimal::Comma);
    }
}

/// A CSV, by every separator that parts all its lines alike.
fn lines(text: &str, maybe: &mut Vec<(String, SensorKind)>) {
    for (separator, name) in [(';', "semicolons"), ('\t', "tabs"), ('|', "bars"), (',', "commas")] {
        let rows: Vec<Vec<&str>> = text
            .lines()
            .filter(|line| !line.trim().is_empty())
            .map(|line| line.split(separator).map(str::trim).collect())
            .collect();
        let Some(first) = rows.first().filter(|first| first.len() > 1) else { continue };
        if rows.iter().any(|row| row.len() != first.len()) {
            continue;
        }
        let number = |cell: &&str| cell.replace(',', ".").parse::<f64>().is_ok_and(f64::is_finite);
        // Of two halves both are figures, or it is one value with something behind it.
        if rows.len() == 1 && first.len() == 2 && !first.iter().all(&number) {
            continue;
        }
        let header = rows.len() > 1 && !first.iter().any(&number);
        let Some(body) = rows.get(usize::from(header)) else { continue };
        let comma = separator != ',' && body.iter().any(|cell| number(cell) && cell.contains(','));
        let time = body.iter().enumerate().filter(|_| header).find_map(|(n, cell)| {
            let form = leaves::time_in(cell)?;
            Some(TimeAt { at: vec![first[n].to_owned()], form })
        });
        let mut reads: Vec<Read> = Vec::new();
        for (n, cell) in body.iter().enumerate().filter(|(_, cell)| number(cell)) {
            let column = (n + 1).to_string();
            let at = if header { first[n].to_owned() } else { column.clone() };
            let sign = if header { leaves::sign(&at) } else { format!("column {column}") };
            let is_time = time.as_ref().is_some_and(|time| time.at[0] == at);
            if is_time || at.is_empty() || reads.iter().any(|read| read.sign == sign) {
                continue;
            }
            let value = cell.replace(',', ".").parse().unwrap_or_default();
            let unit = leaves::unit(&sign, value);
            reads.push(Read { unit, ..Read::plain(&sign, &[&at], ReadKind::Level) });
        }
        let decimal = if comma { Decimal::Comma } else { Decimal::Point };
        reads.iter_mut().for_each(|read| read.decimal = decimal);
        let kind = SensorKind::plain("sensor", "", Form::Csv, reads);
        let kind = SensorKind { csv: CsvForm { separator, header }, time, ..kind };
        maybe.push((format!("values parted by {name}"), kind));
    }
}

/// CBOR and MessagePack: nearly any bytes are one or the other, so only tables and lists count.
fn documents(payload: &[u8], maybe: &mut Vec<(String, SensorKind)>) {
    let body = Body::new(payload);
    for (form, what) in [(Form::Cbor, "CBOR"), (Form::Msgpack, "MessagePack")] {
        if let Ok(document) = body.document(form, CsvForm::default())
            && matches!(&*document, Value::Object(_) | Value::Array(_))
        {
            leaves::document(&document, form, what, maybe);
        }
    }
}

/// How a payload is written down, if it is a JSON text underneath.
pub fn wraps_a_text(payload: &[u8]) -> Option<Wrap> {
    let text = std::str::from_utf8(payload).ok()?.trim_ascii();
    let document = |wrap: &Wrap| {
        let bytes = octets::unwrap(text, *wrap).ok()?;
        serde_json::from_slice::<Value>(&bytes).ok()
    };
    [Wrap::Hex, Wrap::Base64]
        .into_iter()
        .find(|wrap| matches!(document(wrap), Some(Value::Object(_) | Value::Array(_))))
}

/// The bytes of a text that a person pasted as hex or base64.
pub fn unwrapped(text: &str, wrap: Wrap) -> Result<Vec<u8>, String> {
    octets::unwrap(text, wrap)
}
