//! A place in a binary message, moving on: what CBOR and MessagePack share. It bounds what a message may
//! cost and takes nothing on trust that is not there.

use serde_json::{Number, Value};

/// As deep as a sensor's message can sensibly be; each level costs a little of the stack.
const DEPTH_MAX: usize = 64;

/// Tables of one message: two for each sample. A table of three bytes costs two hundred times as many
/// in memory.
pub(super) const TABLES_MAX: usize = 10_000;

pub(super) struct Cursor<'p> {
    bytes: &'p [u8],
    at: usize,
    tables: usize,
}

impl<'p> Cursor<'p> {
    pub(super) fn new(bytes: &'p [u8]) -> Self {
        Self { bytes, at: 0, tables: 0 }
    }

    /// What was read, if it was the whole; else why not, in the name of the form.
    pub(super) fn whole<T>(&self, form: &str, read: Result<T, &'static str>) -> Result<T, String> {
        let ended = || self.at == self.bytes.len();
        let read = read.and_then(|read| ended().then_some(read).ok_or("something follows the end"));
        read.map_err(|why| format!("not {form}: {why} at byte {}", self.at))
    }

    /// Goes into a value so deep, if that is allowed.
    pub(super) fn descends(&self, depth: usize) -> Result<(), &'static str> {
        if depth > DEPTH_MAX { Err("nested too deeply") } else { Ok(()) }
    }

    /// Counts one more table, if that is allowed.
    pub(super) fn opens_a_table(&mut self) -> Result<(), &'static str> {
        self.tables += 1;
        if self.tables > TABLES_MAX { Err("too many tables") } else { Ok(()) }
    }

    pub(super) fn next_is(&self, byte: u8) -> bool {
        self.bytes.get(self.at) == Some(&byte)
    }

    pub(super) fn byte(&mut self) -> Result<u8, &'static str> {
        self.array().map(|[byte]| byte)
    }

    pub(super) fn take(&mut self, length: u64) -> Result<&'p [u8], &'static str> {
        let length = usize::try_from(length).map_err(|_| "it breaks off")?;
        let end = self.at.checked_add(length).ok_or("it breaks off")?;
        let bytes = self.bytes.get(self.at..end).ok_or("it breaks off")?;
        self.at = end;
        Ok(bytes)
    }

    pub(super) fn array<const N: usize>(&mut self) -> Result<[u8; N], &'static str> {
        self.take(N as u64)?.try_into().map_err(|_| "it breaks off")
    }
}

/// A number; one that JSON cannot hold as the text of it, so that a refusal can name it.
pub(super) fn number(number: f64) -> Value {
    Number::from_f64(number).map_or_else(|| Value::String(number.to_string()), Value::Number)
}

/// What a map's key is called in a pointer: labels that are numbers by their digits.
pub(super) fn key(key: Value) -> Result<String, &'static str> {
    match key {
        Value::String(text) => Ok(text),
        Value::Number(number) => Ok(number.to_string()),
        Value::Null | Value::Bool(_) | Value::Array(_) | Value::Object(_) => {
            Err("a key that is neither text nor number")
        }
    }
}
