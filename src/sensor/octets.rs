//! Raw bytes: out of their wrapping, and a number out of them.

use base64::Engine;
use base64::alphabet;
use base64::engine::{DecodePaddingMode, GeneralPurpose, GeneralPurposeConfig};

use super::value;
use crate::config::sensors::{ByteField, ByteNumber, Order, Shape, Wrap};

const LOOSE: GeneralPurposeConfig = GeneralPurposeConfig::new()
    .with_decode_padding_mode(DecodePaddingMode::Indifferent)
    .with_decode_allow_trailing_bits(true);
const PLAIN: GeneralPurpose = GeneralPurpose::new(&alphabet::STANDARD, LOOSE);
/// RFC 4648 section 5: `-` and `_` for `+` and `/`.
const URL_SAFE: GeneralPurpose = GeneralPurpose::new(&alphabet::URL_SAFE, LOOSE);

/// The bytes that a text wraps.
pub fn unwrap(text: &str, wrap: Wrap) -> Result<Vec<u8>, String> {
    let text = text.trim_ascii();
    if let Some(hex) = text.strip_prefix(value::BYTES_FOLLOW) {
        return unhex(hex).ok_or_else(|| "its bytes are broken".to_owned());
    }
    match wrap {
        Wrap::Base64 => {
            let engine = if text.contains(['-', '_']) { &URL_SAFE } else { &PLAIN };
            engine.decode(text).map_err(|_| format!("{} is not base64", value::sample(text)))
        }
        Wrap::Hex => unhex(text).ok_or_else(|| format!("{} is not hex", value::sample(text))),
        Wrap::Bytes => Err(format!("{} is a text, not bytes", value::sample(text))),
    }
}

/// Pairs of hex digits, with `0x` before them or blanks and colons between them.
fn unhex(text: &str) -> Option<Vec<u8>> {
    let text = text.strip_prefix("0x").unwrap_or(text);
    let digits: Vec<u8> = text
        .bytes()
        .filter(|byte| !matches!(byte, b' ' | b':' | b'\n' | b'\r'))
        .map(|byte| char::from(byte).to_digit(16).and_then(|digit| u8::try_from(digit).ok()))
        .collect::<Option<_>>()?;
    let whole = digits.len().is_multiple_of(2) && !digits.is_empty();
    whole.then(|| digits.chunks(2).map(|pair| pair[0] << 4 | pair[1]).collect())
}

/// The number at a field's place, before scale and shift.
pub fn number(bytes: &[u8], field: &ByteField) -> Result<f64, String> {
    let wide = usize::from(field.number.wide);
    let at = usize::try_from(field.at)
        .map_or_else(|_| bytes.len().checked_sub(field.at.unsigned_abs() as usize), Some);
    let part = at.and_then(|at| bytes.get(at..at.checked_add(wide)?));
    let Some(part) = part else {
        return Err(format!(
            "there is no number of {wide} B at {}: it has {} B",
            field.at,
            bytes.len()
        ));
    };
    let mut bits = ordered(part, field.number);
    let mut count = 8 * u32::from(field.number.wide);
    if field.number.shape == Shape::Float {
        return Ok(if wide == 4 {
            f64::from(f32::from_bits(bits as u32))
        } else {
            f64::from_bits(bits)
        });
    }
    if let Some(some) = field.bits {
        count = u32::from(some.count).clamp(1, 64);
        bits = bits >> u32::from(some.from).min(63) & (u64::MAX >> (64 - count));
    }
    Ok(match field.number.shape {
        // Shifted up and down again, so that the highest bit becomes the sign.
        Shape::Signed => ((bits << (64 - count)) as i64 >> (64 - count)) as f64,
        Shape::Unsigned | Shape::Float => bits as f64,
    })
}

fn ordered(part: &[u8], number: ByteNumber) -> u64 {
    let add = |so_far: u64, byte: &u8| so_far << 8 | u64::from(*byte);
    match number.order {
        Order::Big => part.iter().fold(0, add),
        Order::Little => part.iter().rev().fold(0, add),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::sensors::Bits;
    use proptest::prelude::*;

    #[test]
    fn the_vectors_of_rfc_4648_section_10_come_out_of_their_wrapping() {
        for (plain, base64, hex) in [
            ("f", "Zg==", "66"),
            ("fo", "Zm8=", "666F"),
            ("foo", "Zm9v", "666F6F"),
            ("foob", "Zm9vYg==", "666F6F62"),
            ("fooba", "Zm9vYmE=", "666F6F6261"),
            ("foobar", "Zm9vYmFy", "666F6F626172"),
        ] {
            assert_eq!(unwrap(base64, Wrap::Base64).unwrap(), plain.as_bytes());
            assert_eq!(
                unwrap(base64.trim_end_matches('='), Wrap::Base64).unwrap(),
                plain.as_bytes()
            );
            assert_eq!(unwrap(hex, Wrap::Hex).unwrap(), plain.as_bytes());
        }
        assert_eq!(unwrap("-_8=", Wrap::Base64), Ok(vec![0xfb, 0xff]));
        assert_eq!(unwrap("0x01 02:ff", Wrap::Hex), Ok(vec![1, 2, 255]));
        for (text, wrap) in [
            ("Zg=", Wrap::Hex),
            ("1", Wrap::Hex),
            ("", Wrap::Hex),
            ("a b!", Wrap::Base64),
            ("01", Wrap::Bytes),
        ] {
            assert!(unwrap(text, wrap).is_err(), "{text}");
        }
    }

    #[test]
    fn a_number_is_read_where_the_table_says() {
        let bytes = [0x01, 0xff, 0x38, 0x0f, 0x00, 0x00, 0x1a, 0x42, 0xb5];
        for (at, shape, wide, order, bits, expected) in [
            (0, Shape::Unsigned, 1, Order::Big, None, Some(1.0)),
            (1, Shape::Signed, 1, Order::Big, None, Some(-1.0)),
            (1, Shape::Unsigned, 2, Order::Big, None, Some(65336.0)),
            (1, Shape::Signed, 2, Order::Big, None, Some(-200.0)),
            (2, Shape::Signed, 2, Order::Little, None, Some(3896.0)),
            (1, Shape::Signed, 3, Order::Big, None, Some(-51185.0)),
            // 38.5 as IEEE 754 binary32 is 0x421a0000.
            (4, Shape::Float, 4, Order::Little, None, Some(38.5)),
            (-1, Shape::Unsigned, 1, Order::Big, None, Some(181.0)),
            (-2, Shape::Unsigned, 2, Order::Big, None, Some(17077.0)),
            (-1, Shape::Unsigned, 1, Order::Big, Some((0, 1)), Some(1.0)),
            (-1, Shape::Unsigned, 1, Order::Big, Some((1, 1)), Some(0.0)),
            (-1, Shape::Unsigned, 1, Order::Big, Some((4, 4)), Some(11.0)),
            (-1, Shape::Signed, 1, Order::Big, Some((4, 4)), Some(-5.0)),
            (8, Shape::Unsigned, 2, Order::Big, None, None),
            (9, Shape::Unsigned, 1, Order::Big, None, None),
            (-10, Shape::Unsigned, 1, Order::Big, None, None),
        ] {
            let field = ByteField {
                at,
                number: ByteNumber { shape, wide, order },
                bits: bits.map(|(from, count)| Bits { from, count }),
                scale: 1.0,
                shift: 0.0,
            };
            assert_eq!(number(&bytes, &field).ok(), expected, "{field:?}");
        }
    }

    proptest! {
        #[test]
        fn what_was_written_is_read(n in any::<i16>(), x in any::<f32>(), before in 0..9_usize) {
            let field = |shape, wide, order| ByteField {
                at: before as i32,
                number: ByteNumber { shape, wide, order },
                bits: None,
                scale: 1.0,
                shift: 0.0,
            };
            let mut bytes = vec![0xaa; before];
            bytes.extend(n.to_le_bytes());
            prop_assert_eq!(number(&bytes, &field(Shape::Signed, 2, Order::Little)), Ok(f64::from(n)));
            bytes.truncate(before);
            bytes.extend(x.to_be_bytes());
            let read = number(&bytes, &field(Shape::Float, 4, Order::Big)).unwrap();
            prop_assert!(read == f64::from(x) || x.is_nan() && read.is_nan());
        }
    }
}
