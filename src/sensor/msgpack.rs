//! MessagePack as a document that pointers read like JSON, with the bounds that CBOR has.
//!
//! Source: the format's own specification, github.com/msgpack/msgpack `spec.md`.

use serde_json::{Map, Value};

use super::cbor::hex;
use super::cursor::{Cursor, key, number};

/// The whole of a payload as one document.
pub(super) fn read(payload: &[u8]) -> Result<Value, String> {
    let mut reader = Reader(Cursor::new(payload));
    let read = reader.value(0);
    reader.0.whole("MessagePack", read)
}

struct Reader<'p>(Cursor<'p>);

impl Reader<'_> {
    fn value(&mut self, depth: usize) -> Result<Value, &'static str> {
        self.0.descends(depth)?;
        let head = self.0.byte()?;
        match head {
            0x00..=0x7f => Ok(Value::from(head)),
            0x80..=0x8f => self.map(u64::from(head & 0x0f), depth),
            0x90..=0x9f => self.list(u64::from(head & 0x0f), depth),
            0xa0..=0xbf => self.text(u64::from(head & 0x1f)),
            0xc0 => Ok(Value::Null),
            0xc1 => Err("a head that means nothing"),
            0xc2 => Ok(Value::Bool(false)),
            0xc3 => Ok(Value::Bool(true)),
            0xc4..=0xc6 => {
                let length = self.unsigned(1 << (head - 0xc4))?;
                self.0.take(length).map(|bytes| Value::String(hex(bytes)))
            }
            0xc7..=0xc9 => {
                let length = self.unsigned(1 << (head - 0xc7))?;
                self.extension(length)
            }
            0xca => Ok(number(f64::from(f32::from_be_bytes(self.0.array()?)))),
            0xcb => Ok(number(f64::from_be_bytes(self.0.array()?))),
            0xcc..=0xcf => self.unsigned(1 << (head - 0xcc)).map(Value::from),
            0xd0 => Ok(Value::from(i8::from_be_bytes(self.0.array()?))),
            0xd1 => Ok(Value::from(i16::from_be_bytes(self.0.array()?))),
            0xd2 => Ok(Value::from(i32::from_be_bytes(self.0.array()?))),
            0xd3 => Ok(Value::from(i64::from_be_bytes(self.0.array()?))),
            0xd4..=0xd8 => self.extension(1 << (head - 0xd4)),
            0xd9..=0xdb => {
                let length = self.unsigned(1 << (head - 0xd9))?;
                self.text(length)
            }
            0xdc | 0xdd => {
                let length = self.unsigned(2 << (head - 0xdc))?;
                self.list(length, depth)
            }
            0xde | 0xdf => {
                let length = self.unsigned(2 << (head - 0xde))?;
                self.map(length, depth)
            }
            0xe0..=0xff => Ok(Value::from(i8::from_be_bytes([head]))),
        }
    }

    fn list(&mut self, length: u64, depth: usize) -> Result<Value, &'static str> {
        let mut list = Vec::new();
        for _ in 0..length {
            list.push(self.value(depth + 1)?);
        }
        Ok(Value::Array(list))
    }

    fn map(&mut self, length: u64, depth: usize) -> Result<Value, &'static str> {
        self.0.opens_a_table()?;
        let mut map = Map::new();
        for _ in 0..length {
            let key = key(self.value(depth + 1)?)?;
            let value = self.value(depth + 1)?;
            map.insert(key, value);
        }
        Ok(Value::Object(map))
    }

    fn text(&mut self, length: u64) -> Result<Value, &'static str> {
        let bytes = self.0.take(length)?;
        match std::str::from_utf8(bytes) {
            Ok(text) => Ok(Value::from(text)),
            Err(_) => Err("a text that is not UTF-8"),
        }
    }

    /// A timestamp (type -1) is seconds since 1970; any other extension is bytes.
    fn extension(&mut self, length: u64) -> Result<Value, &'static str> {
        let kind = i8::from_be_bytes(self.0.array()?);
        let bytes = self.0.take(length)?;
        let seconds = |seconds: f64, nanos: u32| number(seconds + f64::from(nanos) / 1e9);
        Ok(match (kind, bytes.len()) {
            (-1, 4) => Value::from(big(bytes)),
            (-1, 8) => {
                let both = big(bytes);
                let nanos = u32::try_from(both >> 34).unwrap_or(0);
                match (both & 0x3_ffff_ffff, nanos) {
                    (whole, 0) => Value::from(whole),
                    (whole, nanos) => seconds(whole as f64, nanos),
                }
            }
            (-1, 12) => {
                let (nanos, whole) = bytes.split_at(4);
                // The cast keeps the sign that the highest bit stands for.
                seconds(big(whole) as i64 as f64, u32::try_from(big(nanos)).unwrap_or(0))
            }
            (_, _) => Value::String(hex(bytes)),
        })
    }

    fn unsigned(&mut self, wide: u64) -> Result<u64, &'static str> {
        self.0.take(wide).map(big)
    }
}

fn big(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0, |so_far, byte| so_far << 8 | u64::from(*byte))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use serde_json::json;

    fn bytes(hex: &str) -> Vec<u8> {
        (0..hex.len())
            .step_by(2)
            .map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap())
            .collect()
    }

    #[test]
    fn each_form_of_the_specification_is_read() {
        // msgpack `spec.md`, the formats in its own order; the first is the example of its site,
        // msgpack.org: 27 bytes of JSON in 18.
        for (encoded, expected) in [
            ("82a7636f6d70616374c3a6736368656d6100", json!({"compact": true, "schema": 0})),
            ("7f", json!(127)),
            ("ff", json!(-1)),
            ("e0", json!(-32)),
            ("c0", json!(null)),
            ("c2", json!(false)),
            ("c403010203", json!("\u{0}010203")),
            ("ca3fc00000", json!(1.5)),
            ("cb3ff199999999999a", json!(1.1)),
            ("cb7ff0000000000000", json!("inf")),
            ("cc80", json!(128)),
            ("cd0100", json!(256)),
            ("ce00010000", json!(65536)),
            ("cfffffffffffffffff", json!(u64::MAX)),
            ("d080", json!(-128)),
            ("d1ff00", json!(-256)),
            ("d2ffff0000", json!(-65536)),
            ("d38000000000000000", json!(i64::MIN)),
            ("d9026869", json!("hi")),
            ("da00026869", json!("hi")),
            ("dc00020102", json!([1, 2])),
            ("dd0000000101", json!([1])),
            ("de0001a16101", json!({"a": 1})),
            ("8101a162", json!({"1": "b"})),
            // Timestamp 32 and 64, and an extension of the sender's own.
            ("d6ff6b06cd4c", json!(1_795_607_884)),
            ("d7ff000000006b06cd4c", json!(1_795_607_884)),
            ("d40107", json!("\u{0}07")),
        ] {
            assert_eq!(read(&bytes(encoded)), Ok(expected), "{encoded}");
        }
    }

    #[test]
    fn what_is_not_message_pack_is_refused_and_says_where() {
        for (encoded, why) in [
            ("", "not MessagePack: it breaks off at byte 0"),
            ("c1", "not MessagePack: a head that means nothing at byte 1"),
            ("ddffffffff00", "not MessagePack: it breaks off at byte 6"),
            ("c6ffffffff00", "not MessagePack: it breaks off at byte 5"),
            ("a2c328", "not MessagePack: a text that is not UTF-8 at byte 3"),
            ("81c000", "not MessagePack: a key that is neither text nor number at byte 2"),
            ("0000", "not MessagePack: something follows the end at byte 1"),
        ] {
            assert_eq!(read(&bytes(encoded)), Err(why.to_owned()), "{encoded}");
        }
        let deep = [0x91].repeat(100_000);
        assert_eq!(read(&deep), Err("not MessagePack: nested too deeply at byte 65".to_owned()));
    }

    proptest! {
        #[test]
        fn no_bytes_make_it_panic(noise in prop::collection::vec(any::<u8>(), 0..65_536)) {
            let _ = read(&noise);
        }
    }
}
