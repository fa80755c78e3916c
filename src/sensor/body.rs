//! A payload, parsed at most once as JSON however many kinds read it.

use std::borrow::Cow;
use std::cell::OnceCell;

use serde_json::{Map, Value};

use super::decode::{PAYLOAD_MAX, SAMPLES_MAX};
use super::{cbor, msgpack, senml};
use crate::config::sensors::{CsvForm, Form};

/// Columns of a line: a logger has a dozen.
const COLUMNS_MAX: usize = 200;

pub(super) struct Body<'p> {
    payload: &'p [u8],
    json: OnceCell<Result<Value, String>>,
}

impl<'p> Body<'p> {
    pub(super) fn new(payload: &'p [u8]) -> Self {
        Self { payload, json: OnceCell::new() }
    }

    pub(super) fn payload(&self) -> &'p [u8] {
        self.payload
    }

    /// Refuses what no kind could read, and what is larger than this kind's messages are.
    pub(super) fn fits(&self, largest: usize) -> Result<(), String> {
        if self.payload.is_empty() {
            return Err("the message is empty".to_owned());
        }
        let (bytes, largest) = (self.payload.len(), largest.min(PAYLOAD_MAX));
        if bytes > largest {
            return Err(format!("the message has {bytes} bytes; at most {largest} are read"));
        }
        Ok(())
    }

    pub(super) fn text(&self) -> Result<&'p str, String> {
        std::str::from_utf8(self.payload).map_err(|_| "the message is not text".to_owned())
    }

    pub(super) fn document(&self, form: Form, csv: CsvForm) -> Result<Cow<'_, Value>, String> {
        match form {
            Form::Cbor | Form::SenmlCbor => cbor::read(self.payload).map(Cow::Owned),
            Form::Msgpack => msgpack::read(self.payload).map(Cow::Owned),
            Form::Csv => lines(self.text()?, csv).map(Cow::Owned),
            Form::Json | Form::Senml | Form::Text | Form::Bytes | Form::Base64 | Form::Hex => {
                self.json().map(Cow::Borrowed).map_err(str::to_owned)
            }
        }
    }

    /// A SenML pack with its fields by name.
    pub(super) fn pack(&self, form: Form) -> Result<Cow<'_, Value>, String> {
        let mut pack = self.document(form, CsvForm::default())?;
        if form == Form::SenmlCbor {
            senml::named(pack.to_mut());
        }
        Ok(pack)
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
}

/// A CSV text as a list of tables: each line by its columns' numbers, and by their names.
fn lines(text: &str, form: CsvForm) -> Result<Value, String> {
    let separator = u8::try_from(form.separator).unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .delimiter(separator)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let mut head: Option<Vec<String>> = None;
    let mut rows = Vec::new();
    let mut record = csv::StringRecord::new();
    loop {
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(why) => return Err(format!("not CSV: {why}")),
        }
        if record.len() > COLUMNS_MAX {
            return Err(format!("not CSV: a line has more than {COLUMNS_MAX} values"));
        }
        if form.header && head.is_none() {
            head = Some(record.iter().map(str::to_owned).collect());
            continue;
        }
        if rows.len() >= SAMPLES_MAX {
            // Counted, and not read: a short line would cost a hundred times its size.
            rows.push(Value::Null);
            continue;
        }
        let mut row = Map::new();
        for (n, cell) in record.iter().enumerate() {
            // An empty cell is no value, and no fault.
            let cell = if cell.is_empty() { Value::Null } else { Value::from(cell) };
            if let Some(name) = head.as_ref().and_then(|head| head.get(n)) {
                row.insert(name.clone(), cell.clone());
            }
            row.entry((n + 1).to_string()).or_insert(cell);
        }
        rows.push(Value::Object(row));
    }
    if rows.is_empty() { Err("there is no line in it".to_owned()) } else { Ok(Value::Array(rows)) }
}
