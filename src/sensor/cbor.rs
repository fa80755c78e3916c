//! CBOR (RFC 8949) as a document that pointers read like JSON.
//!
//! Nothing is set aside by a length that a message merely claims: memory grows with the bytes that
//! are really there. It judges no value; what JSON cannot hold becomes a text or nothing.

use std::fmt::Write;

use serde_json::{Map, Value};

use super::cursor::{Cursor, key, number};
use super::value::BYTES_FOLLOW;

/// The whole of a payload as one document.
pub(super) fn read(payload: &[u8]) -> Result<Value, String> {
    let mut reader = Reader(Cursor::new(payload));
    let read = reader.value(0);
    reader.0.whole("CBOR", read)
}

struct Reader<'p>(Cursor<'p>);

/// A head's argument; `None` is "until a break comes".
type Argument = Option<u64>;

const BREAK: u8 = 0xff;

impl Reader<'_> {
    fn value(&mut self, depth: usize) -> Result<Value, &'static str> {
        self.0.descends(depth)?;
        let head = self.0.byte()?;
        let (major, low) = (head >> 5, head & 0x1f);
        match major {
            0 => Ok(Value::from(self.argument(low)?)),
            1 => {
                let n = self.argument(low)?;
                Ok(i64::try_from(n)
                    .map_or_else(|_| number(-1.0 - n as f64), |n| Value::from(-1 - n)))
            }
            2 => {
                let bytes = self.string(low, 2)?;
                Ok(Value::String(hex(&bytes)))
            }
            3 => self.text(low).map(Value::String),
            4 => self.list(low, depth),
            5 => self.map(low, depth),
            6 => {
                let tag = self.argument(low)?;
                let inner = self.value(depth + 1)?;
                Ok(if tag == 4 { decimal_fraction(inner) } else { inner })
            }
            _ => self.simple(low),
        }
    }

    fn list(&mut self, low: u8, depth: usize) -> Result<Value, &'static str> {
        let mut left = self.length(low)?;
        let mut list = Vec::new();
        while self.more(&mut left)? {
            list.push(self.value(depth + 1)?);
        }
        Ok(Value::Array(list))
    }

    fn map(&mut self, low: u8, depth: usize) -> Result<Value, &'static str> {
        self.0.opens_a_table()?;
        let mut left = self.length(low)?;
        let mut map = Map::new();
        while self.more(&mut left)? {
            let key = key(self.value(depth + 1)?)?;
            let value = self.value(depth + 1)?;
            map.insert(key, value);
        }
        Ok(Value::Object(map))
    }

    fn text(&mut self, low: u8) -> Result<String, &'static str> {
        String::from_utf8(self.string(low, 3)?).map_err(|_| "a text that is not UTF-8")
    }

    /// The bytes of a string, whole or in pieces of the same kind.
    fn string(&mut self, low: u8, major: u8) -> Result<Vec<u8>, &'static str> {
        if let Some(length) = self.length(low)? {
            return self.0.take(length).map(<[u8]>::to_vec);
        }
        let mut bytes = Vec::new();
        loop {
            let head = self.0.byte()?;
            if head == BREAK {
                return Ok(bytes);
            }
            if head >> 5 != major {
                return Err("a piece of another kind in a string");
            }
            let length = self.argument(head & 0x1f)?;
            bytes.extend_from_slice(self.0.take(length)?);
        }
    }

    fn simple(&mut self, low: u8) -> Result<Value, &'static str> {
        match low {
            20 => Ok(Value::Bool(false)),
            21 => Ok(Value::Bool(true)),
            // null, undefined, and simple values that nobody has given a meaning
            0..=19 | 22 | 23 => Ok(Value::Null),
            24 => self.0.byte().map(|_| Value::Null),
            25 => Ok(number(half(u16::from_be_bytes(self.0.array()?)))),
            26 => Ok(number(f64::from(f32::from_be_bytes(self.0.array()?)))),
            27 => Ok(number(f64::from_be_bytes(self.0.array()?))),
            _ => Err("a head that means nothing"),
        }
    }

    fn length(&mut self, low: u8) -> Result<Argument, &'static str> {
        if low == 31 { Ok(None) } else { self.argument(low).map(Some) }
    }

    fn argument(&mut self, low: u8) -> Result<u64, &'static str> {
        match low {
            0..=23 => Ok(u64::from(low)),
            24 => Ok(u64::from(self.0.byte()?)),
            25 => Ok(u64::from(u16::from_be_bytes(self.0.array()?))),
            26 => Ok(u64::from(u32::from_be_bytes(self.0.array()?))),
            27 => Ok(u64::from_be_bytes(self.0.array()?)),
            _ => Err("a head that means nothing"),
        }
    }

    /// Whether another element follows.
    fn more(&mut self, left: &mut Argument) -> Result<bool, &'static str> {
        match left {
            Some(0) => Ok(false),
            Some(n) => {
                *n -= 1;
                Ok(true)
            }
            None if self.0.next_is(BREAK) => self.0.byte().map(|_| false),
            None => Ok(true),
        }
    }
}

/// Bytes as they stand in a document.
pub(super) fn hex(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(1 + 2 * bytes.len());
    text.push(BYTES_FOLLOW);
    for byte in bytes {
        let _ = write!(text, "{byte:02x}");
    }
    text
}

/// RFC 8949 section 3.4.4: [exponent, mantissa] is mantissa times ten to the exponent.
fn decimal_fraction(inner: Value) -> Value {
    let both = inner.as_array().and_then(|list| match &list[..] {
        [exponent, mantissa] => Some((exponent.as_i64()?, mantissa.as_i64()?)),
        _ => None,
    });
    match both {
        // Through the text, so that the nearest number of all is taken.
        Some((exponent, mantissa)) => {
            format!("{mantissa}e{exponent}").parse().map_or(Value::Null, number)
        }
        None => inner,
    }
}

/// RFC 8949 appendix D: sixteen bits of a float.
fn half(bits: u16) -> f64 {
    let mantissa = f64::from(bits & 0x3ff);
    let size = match (bits >> 10) & 0x1f {
        0 => mantissa / 16_777_216.0,
        31 if mantissa == 0.0 => f64::INFINITY,
        31 => f64::NAN,
        exponent => (mantissa + 1024.0) * f64::from(1_u32 << (exponent - 1)) / 16_777_216.0,
    };
    if bits & 0x8000 == 0 { size } else { -size }
}

#[cfg(test)]
mod tests {
    use super::super::cursor::TABLES_MAX;
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
    fn the_examples_of_rfc_8949_appendix_a_hold() {
        for (encoded, expected) in [
            ("00", json!(0)),
            ("17", json!(23)),
            ("1818", json!(24)),
            ("1903e8", json!(1000)),
            ("1b000000e8d4a51000", json!(1_000_000_000_000_u64)),
            ("1bffffffffffffffff", json!(18_446_744_073_709_551_615_u64)),
            ("20", json!(-1)),
            ("3903e7", json!(-1000)),
            ("3bffffffffffffffff", json!(-18_446_744_073_709_551_616.0)),
            ("f90000", json!(0.0)),
            ("f93c00", json!(1.0)),
            ("f93e00", json!(1.5)),
            ("f97bff", json!(65504.0)),
            ("f90001", json!(5.960464477539063e-8)),
            ("f90400", json!(0.00006103515625)),
            ("f9c400", json!(-4.0)),
            ("fb3ff199999999999a", json!(1.1)),
            ("fa47c35000", json!(100000.0)),
            ("fbc010666666666666", json!(-4.1)),
            ("f97c00", json!("inf")),
            ("f97e00", json!("NaN")),
            ("f4", json!(false)),
            ("f5", json!(true)),
            ("f6", json!(null)),
            ("f7", json!(null)),
            ("c074323031332d30332d32315432303a30343a30305a", json!("2013-03-21T20:04:00Z")),
            ("c11a514b67b0", json!(1_363_896_240)),
            ("c1fb41d452d9ec200000", json!(1_363_896_240.5)),
            ("4401020304", json!("\u{0}01020304")),
            ("6449455446", json!("IETF")),
            ("62c3bc", json!("ü")),
            ("83010203", json!([1, 2, 3])),
            ("8301820203820405", json!([1, [2, 3], [4, 5]])),
            ("a201020304", json!({"1": 2, "3": 4})),
            ("a26161016162820203", json!({"a": 1, "b": [2, 3]})),
            ("5f42010243030405ff", json!("\u{0}0102030405")),
            ("7f657374726561646d696e67ff", json!("streaming")),
            ("9f018202039f0405ffff", json!([1, [2, 3], [4, 5]])),
            ("bf6346756ef563416d7421ff", json!({"Fun": true, "Amt": -2})),
            // RFC 8949 section 3.4.4: 273.15 as a decimal fraction.
            ("c48221196ab3", json!(273.15)),
        ] {
            assert_eq!(read(&bytes(encoded)), Ok(expected), "{encoded}");
        }
    }

    #[test]
    fn what_is_not_cbor_is_refused_and_says_where() {
        // RFC 8949 appendix F: not well-formed.
        for (encoded, why) in [
            ("", "not CBOR: it breaks off at byte 0"),
            ("18", "not CBOR: it breaks off at byte 1"),
            ("5affffffff00", "not CBOR: it breaks off at byte 5"),
            ("9bffffffffffffffff", "not CBOR: it breaks off at byte 9"),
            ("ff", "not CBOR: a head that means nothing at byte 1"),
            ("1c", "not CBOR: a head that means nothing at byte 1"),
            ("5f00ff", "not CBOR: a piece of another kind in a string at byte 2"),
            ("a1f600", "not CBOR: a key that is neither text nor number at byte 2"),
            ("62c328", "not CBOR: a text that is not UTF-8 at byte 3"),
            ("0000", "not CBOR: something follows the end at byte 1"),
        ] {
            assert_eq!(read(&bytes(encoded)), Err(why.to_owned()), "{encoded}");
        }
        let many = [&[0x9f][..], &[0xa1, 0, 0].repeat(TABLES_MAX + 1)].concat();
        assert_eq!(read(&many), Err("not CBOR: too many tables at byte 30002".to_owned()));
        let deep = [0x81].repeat(100_000);
        assert_eq!(read(&deep), Err("not CBOR: nested too deeply at byte 65".to_owned()));
    }

    proptest! {
        #[test]
        fn no_bytes_make_it_panic(noise in prop::collection::vec(any::<u8>(), 0..65_536)) {
            let _ = read(&noise);
        }
    }
}
