//! Where in a message something stands, as each form of payload points at it.
//!
//! It checks how a place is written; whether anything is there only a message can tell.

use super::sensors::Form;
use super::tree::Table;
use super::value::Value;

/// Further places to look for one value: more are a mistake.
const PLACES_MAX: usize = 20;

/// How a form of payload points at its values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Pointing {
    /// RFC 6901 pointers into a document.
    Steps,
    /// Columns, by name or by number from 1.
    Columns,
    /// Ends of a SenML name.
    Names,
    /// There is one value, and nothing to point at.
    Nothing,
    /// Bytes by number, through `bytes` alone.
    Bytes,
}

impl Pointing {
    pub(super) fn of(form: Form) -> Self {
        match form {
            Form::Json | Form::Cbor | Form::Msgpack => Self::Steps,
            Form::Csv => Self::Columns,
            Form::Senml | Form::SenmlCbor => Self::Names,
            Form::Text => Self::Nothing,
            Form::Bytes | Form::Base64 | Form::Hex => Self::Bytes,
        }
    }

    /// The message has several values, and any of them can be pointed at.
    pub(super) fn many(self) -> bool {
        match self {
            Self::Steps | Self::Columns => true,
            Self::Names | Self::Nothing | Self::Bytes => false,
        }
    }

    fn example(self) -> &'static str {
        match self {
            Self::Steps => "write where it stands in the JSON, such as \"/tail/up_s\" (RFC 6901)",
            Self::Columns => "write the column's name in the first line, or its number from 1",
            Self::Names => "write the end of the record's name, such as \"temperature\" (RFC 8428)",
            Self::Nothing | Self::Bytes => "there is nothing to point at",
        }
    }
}

/// The places under a key that must be there.
pub(super) fn needed(table: &Table<'_>, key: &'static str, pointing: Pointing) -> Vec<String> {
    if !table.has(key) {
        table.missing(key, pointing.example());
    }
    read(table, key, pointing)
}

/// The places under a key that may be left out.
pub(super) fn read(table: &Table<'_>, key: &'static str, pointing: Pointing) -> Vec<String> {
    let values = table.values(key);
    if let Some(beyond) = values.get(PLACES_MAX) {
        let title = format!("{key} names more than {PLACES_MAX} places");
        beyond.refuse(title, "split the sensor by topic");
    }
    values.iter().take(PLACES_MAX).filter_map(|value| place(value, pointing)).collect()
}

fn place(value: &Value<'_>, pointing: Pointing) -> Option<String> {
    match pointing {
        Pointing::Columns if value.is_number() => {
            value.whole(1..=1000).map(|column| column.to_string())
        }
        Pointing::Columns => value.text().map(|text| text.is),
        Pointing::Steps => pointer(value),
        Pointing::Names | Pointing::Nothing | Pointing::Bytes => {
            value.any_text().map(|text| text.is)
        }
    }
}

fn pointer(value: &Value<'_>) -> Option<String> {
    let text = value.any_text()?.is;
    // RFC 6901 section 3: empty, or each step begins with a slash; ~ only as ~0 or ~1.
    let steps_well = text.is_empty() || text.starts_with('/');
    let mut escapes = text.split('~').skip(1);
    if steps_well && escapes.all(|rest| rest.starts_with(['0', '1'])) {
        return Some(text);
    }
    let help = if steps_well {
        "write ~0 for ~ and ~1 for a / within a name (RFC 6901)".to_owned()
    } else {
        format!("write \"/{}\": every step begins with a slash (RFC 6901)", text.replace('.', "/"))
    };
    value.refuse(format!("{text:?} does not point into JSON"), help);
    None
}
