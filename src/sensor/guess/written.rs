//! A kind of sensor written as the settings' own lines. It writes what a guess can say, no more.

use super::rows;
use crate::config::sensors::{Decimal, Form, Read, ReadKind, SensorKind, TimeForm, Wrap};

/// A filter for a topic, with `{device}` at the level that looks most like a device's name.
pub(super) fn filter(topic: &str) -> String {
    if topic.is_empty() {
        return "yard/{device}/state".to_owned();
    }
    if topic.contains("{device}") {
        return topic.to_owned();
    }
    let levels: Vec<&str> = topic.split('/').collect();
    let numbered = |level: &&str| level.bytes().any(|byte| byte.is_ascii_digit());
    let place = levels.iter().rposition(numbered).unwrap_or(levels.len() - 1);
    let put = |(n, level): (usize, &&str)| {
        if n == place { "{device}".to_owned() } else { (*level).to_owned() }
    };
    levels.iter().enumerate().map(put).collect::<Vec<_>>().join("/")
}

/// A topic that the filter matches: the one that was given, if it is one.
pub(super) fn topic_of(filter: &str, topic: &str) -> String {
    let wild = topic.is_empty() || topic.contains(['{', '+', '#']);
    if !wild {
        return topic.to_owned();
    }
    let level = |level: &str| {
        if level.starts_with('{') || level == "+" || level == "#" {
            "d-1".to_owned()
        } else {
            level.to_owned()
        }
    };
    filter.split('/').map(level).collect::<Vec<_>>().join("/")
}

pub(super) fn settings(kind: &SensorKind) -> String {
    let mut lines = vec![
        "[[sensor]]".to_owned(),
        format!("kind = {}", quoted(&kind.kind)),
        format!("topic = {}", quoted(&kind.topic)),
    ];
    if kind.form != Form::Json {
        lines.push(format!("form = {}", quoted(form(kind.form))));
    }
    if kind.form == Form::Csv {
        let separator = kind.csv.separator;
        let separator = if separator == '\t' { "tab".to_owned() } else { separator.to_string() };
        lines.push(format!("separator = {}", quoted(&separator)));
        lines.push(format!("header = {}", kind.csv.header));
    }
    if kind.read.iter().any(|read| read.decimal == Decimal::Comma) {
        lines.push("decimal = \",\"".to_owned());
    }
    for at in &kind.each {
        lines.push(format!("each = {}", quoted(at)));
    }
    if let Some(time) = &kind.time {
        let at = time.at.first().map(String::as_str).unwrap_or_default();
        lines.push(format!(
            "time = {{ at = {}, as = {} }}",
            quoted(at),
            quoted(time_form(time.form))
        ));
    }
    for at in &kind.counter {
        lines.push(format!("counter = {}", quoted(at)));
    }
    if let Some(raw) = &kind.raw {
        let at = raw.at.first().map(String::as_str).unwrap_or_default();
        let wrap = match raw.wrap {
            Wrap::Base64 => "base64",
            Wrap::Hex => "hex",
            Wrap::Bytes => "bytes",
        };
        lines.push(format!("raw = {{ at = {}, as = {} }}", quoted(at), quoted(wrap)));
    }
    lines.push("read = [".to_owned());
    lines.extend(kind.read.iter().map(|read| format!("  {},", one(read, kind))));
    lines.push("]".to_owned());
    lines.join("\n") + "\n"
}

fn one(read: &Read, kind: &SensorKind) -> String {
    let mut parts = vec![format!("sign = {}", quoted(&read.sign))];
    if let Some(at) = read.at.first() {
        let column = kind.form == Form::Csv && !kind.csv.header;
        parts.push(format!("at = {}", if column { at.clone() } else { quoted(at) }));
    }
    if let Some(bytes) = &read.bytes {
        let scale =
            if bytes.scale == 1.0 { String::new() } else { format!(", scale = {}", bytes.scale) };
        let number = quoted(&rows::word(bytes.number));
        parts.push(format!("bytes = {{ at = {}, as = {number}{scale} }}", bytes.at));
    }
    let word = match read.kind {
        ReadKind::Level => None,
        ReadKind::Count => Some("count"),
        ReadKind::Flag => Some("flag"),
        ReadKind::Total => Some("total"),
        ReadKind::Presence => Some("presence"),
        ReadKind::Seen => Some("seen"),
    };
    parts.extend(word.map(|word| format!("as = {}", quoted(word))));
    parts.extend(read.unit.map(|unit| format!("unit = {}", quoted(unit.name()))));
    format!("{{ {} }}", parts.join(", "))
}

fn form(form: Form) -> &'static str {
    match form {
        Form::Json => "json",
        Form::Text => "text",
        Form::Csv => "csv",
        Form::Senml => "senml",
        Form::SenmlCbor => "senml-cbor",
        Form::Cbor => "cbor",
        Form::Msgpack => "msgpack",
        Form::Bytes => "bytes",
        Form::Base64 => "base64",
        Form::Hex => "hex",
    }
}

fn time_form(form: TimeForm) -> &'static str {
    match form {
        TimeForm::UnixSeconds => "unix-s",
        TimeForm::UnixMillis => "unix-ms",
        TimeForm::Rfc3339 => "rfc3339",
        TimeForm::AgoSeconds => "ago-s",
        TimeForm::AgoMillis => "ago-ms",
    }
}

/// A basic string of TOML 1.0.
fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            c if c.is_control() => quoted.push_str(&format!("\\u{:04x}", u32::from(c))),
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}
