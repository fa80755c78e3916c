//! Reads `read = […]`: what one message tells, where it stands, and what may be believed of it.

use super::byte_field;
use super::faults::Placed;
use super::places::{self, Pointing};
use super::sensors::{ByteField, ByteNumber, Decimal, Form, Read, ReadKind};
use super::suggest;
use super::tree::Table;
use super::value::Value;
use crate::plain::quantity::Unit;

/// A message that carries more readings than this is not a sensor's.
const READS_MAX: usize = 100;

/// Words of a camera's detector that mean one sign.
const LABELS_MAX: usize = 50;

const KINDS: [(&str, ReadKind); 6] = [
    ("level", ReadKind::Level),
    ("count", ReadKind::Count),
    ("flag", ReadKind::Flag),
    ("total", ReadKind::Total),
    ("presence", ReadKind::Presence),
    ("seen", ReadKind::Seen),
];

/// What is said of the whole kind of message and holds for its reads.
#[derive(Clone, Copy)]
pub(super) struct Around {
    /// `None` for a form that is none: its reads may point as they like.
    pub(super) form: Option<Form>,
    /// `base64-f32le`: reads without `bytes` stand in a row.
    pub(super) row_of: Option<ByteNumber>,
    pub(super) has_raw: bool,
    pub(super) has_seen: bool,
    pub(super) decimal: Decimal,
}

pub(super) fn reads(table: &Table<'_>, around: Around) -> Vec<(Placed<String>, Read)> {
    let example = "write what it says and where: read = [{ sign = \"contraction\", at = \"/efforts\", as = \"count\" }]";
    if !table.has("read") {
        table.missing("read", example);
    }
    let values = table.values("read");
    if let Some(beyond) = values.get(READS_MAX) {
        beyond.refuse(
            format!("there are more than {READS_MAX} readings in one message"),
            "leave out those that no rule uses",
        );
    }
    let faults = table.faults();
    let mut reads: Vec<(Placed<String>, Read)> = Vec::new();
    for (n, value) in values.iter().take(READS_MAX).enumerate() {
        let Some((sign, read)) = value.table("read").and_then(|table| read(table, n, around))
        else {
            continue;
        };
        if reads.iter().any(|(known, _)| known.is == sign.is) {
            let title = format!("{} is read twice from one message", sign.is);
            let help = "give one sign a list of places instead: at = [\"/a\", \"/b\"]";
            faults.refuse(&sign.at, title, help);
        }
        reads.push((sign, read));
    }
    reads
}

fn read(table: Table<'_>, n: usize, around: Around) -> Option<(Placed<String>, Read)> {
    let sign = table.needed("sign", "a word for what it tells, such as \"contraction\"");
    let kind = table.word("as", &KINDS).map_or(ReadKind::Level, |kind| kind.is);
    let (at, bytes) = place(&table, n, kind, around);
    let unit = table.text("unit").and_then(|unit| unit_named(&table, &unit));
    let pointing = around.form.map_or(Pointing::Steps, Pointing::of);
    let unit_at = if pointing.many() {
        places::read(&table, "unit-at", pointing)
    } else {
        if let Some(value) = table.value("unit-at") {
            let help = "take unit-at out, and write unit = \"Cel\"";
            value.refuse("nothing else stands in this form of message", help);
        }
        Vec::new()
    };
    let decimal = decimal(&table).unwrap_or(around.decimal);
    let none = table.values("none").iter().filter_map(Value::number).collect();
    let fits = table.value("fits").and_then(|value| range(&value, unit));
    let jump = table.value("jump").and_then(|value| jump(&value, unit));
    let mut label: Vec<String> = table.texts("label").into_iter().map(|label| label.is).collect();
    if let (false, Some(value)) = (kind == ReadKind::Seen, table.value("label")) {
        value.refuse("only what a camera has seen has a label", "write as = \"seen\"");
    }
    if label.len() > LABELS_MAX {
        let title = format!("label names more than {LABELS_MAX} words");
        table.faults().refuse(&table.place(), title, "keep those that the detector sends");
        label.truncate(LABELS_MAX);
    }
    table.not_yet("camera", "the sign is read without it");
    table.done();
    let sign = sign?;
    if kind == ReadKind::Seen && label.is_empty() {
        label.push(sign.is.clone());
    }
    let read = Read {
        sign: sign.is.clone(),
        at,
        kind,
        bytes,
        unit,
        unit_at,
        decimal,
        none,
        fits,
        jump,
        label,
    };
    Some((sign, read))
}

/// Where it stands: in the message, in its raw bytes, or both.
fn place(
    table: &Table<'_>,
    n: usize,
    kind: ReadKind,
    around: Around,
) -> (Vec<String>, Option<ByteField>) {
    let written = table.table("bytes").and_then(byte_field::read);
    let Some(form) = around.form else {
        // Another form may point in another way.
        return (table.values("at").into_iter().map(|_| String::new()).collect(), written);
    };
    let pointing = Pointing::of(form);
    if kind == ReadKind::Seen {
        if let Some(at) = table.value("at") {
            at.refuse("what a camera has seen is found by its label", "write label instead of at");
        }
        if !around.has_seen {
            let help = "write where the detector puts its words: seen = { label = \"/label\", score = \"/score\" }";
            table.faults().refuse(&table.place(), "this sensor has no seen", help);
        }
        return (Vec::new(), None);
    }
    match pointing {
        Pointing::Nothing => {
            if let Some(at) = table.value("at") {
                let help = "take at out, or write form = \"json\"";
                at.refuse("a text is one value; there is nothing to point at", help);
            }
            no_bytes(table, "a text is one value; it has no bytes to point at");
            (Vec::new(), None)
        }
        Pointing::Bytes => {
            if let Some(at) = table.value("at") {
                let help = "write bytes = { at = 2, as = \"i16-be\" }";
                at.refuse("bytes are pointed at by bytes alone", help);
            }
            let row = around.row_of.map(|number| byte_field::in_a_row(n, number));
            if !table.has("bytes") && row.is_none() {
                table.missing("bytes", "say which bytes: bytes = { at = 2, as = \"i16-be\" }");
            }
            (Vec::new(), written.or(row))
        }
        Pointing::Steps if around.has_raw && table.has("bytes") => {
            (places::read(table, "at", pointing), written)
        }
        Pointing::Steps | Pointing::Columns | Pointing::Names => {
            no_bytes(table, "this sensor says nowhere that it has raw bytes");
            (places::needed(table, "at", pointing), None)
        }
    }
}

fn no_bytes(table: &Table<'_>, title: &str) {
    if let Some(value) = table.value("bytes") {
        let help =
            "take bytes out, or say where they are: raw = { at = \"/data\", as = \"base64\" }";
        value.refuse(title, help);
    }
}

fn unit_named(table: &Table<'_>, unit: &Placed<String>) -> Option<Unit> {
    let found = Unit::named(&unit.is);
    if found.is_none() {
        let (title, help) = match unit.is.as_str() {
            "g" => (
                "g is gram to some and gravity to others".to_owned(),
                "write [g] for gravity, or kg".to_owned(),
            ),
            "C" | "°C" => ("C is coulomb".to_owned(), "write Cel for degrees Celsius".to_owned()),
            "F" | "°F" => {
                ("F is farad".to_owned(), "write degF for degrees Fahrenheit".to_owned())
            }
            word => {
                let names: Vec<&str> = Unit::names().collect();
                let help = suggest::way_out("units by their SenML names", word, &names);
                (format!("{word} is no unit"), format!("{help}; Cel, V, %EL, s and 1/min are some"))
            }
        };
        table.faults().refuse(&unit.at, title, help);
    }
    found
}

/// How texts write the decimal mark, if it is said.
pub(super) fn decimal(table: &Table<'_>) -> Option<Decimal> {
    let words = [(".", Decimal::Point), (",", Decimal::Comma)];
    table.word("decimal", &words).map(|decimal| decimal.is)
}

/// A range in the payload's unit, as one in the unit readings come in.
pub(super) fn range(value: &Value<'_>, unit: Option<Unit>) -> Option<(f64, f64)> {
    let help = "write the lowest and the highest that can be true: [34, 43]";
    let both = value.numbers(2, help)?;
    match both[..] {
        [low, high] if low < high => {
            let keep = |figure: f64| unit.map_or(figure, |unit| unit.keep(figure));
            Some((keep(low), keep(high)))
        }
        _ => {
            value.refuse("a range goes from low to high", help);
            None
        }
    }
}

fn jump(value: &Value<'_>, unit: Option<Unit>) -> Option<f64> {
    let jump = value.finite()?;
    if jump <= 0.0 {
        let help = "write the largest change in a minute that can be true";
        value.refuse(format!("jump cannot be {jump}"), help);
        return None;
    }
    Some(unit.map_or(jump, |unit| unit.keep_difference(jump)))
}
