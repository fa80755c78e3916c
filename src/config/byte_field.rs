//! Reads `bytes = { … }`: where a number stands in raw bytes, and how wide it is.

use super::sensors::{Bits, ByteField, ByteNumber, Order, Shape};
use super::suggest;
use super::tree::Table;
use super::value::Value;

/// Bytes of one message that a table can point at.
const AT_MAX: i32 = 65_535;

const NUMBERS: [(&str, ByteNumber); 18] = [
    ("u8", number(Shape::Unsigned, 1, Order::Big)),
    ("i8", number(Shape::Signed, 1, Order::Big)),
    ("u16-be", number(Shape::Unsigned, 2, Order::Big)),
    ("u16-le", number(Shape::Unsigned, 2, Order::Little)),
    ("i16-be", number(Shape::Signed, 2, Order::Big)),
    ("i16-le", number(Shape::Signed, 2, Order::Little)),
    ("u24-be", number(Shape::Unsigned, 3, Order::Big)),
    ("u24-le", number(Shape::Unsigned, 3, Order::Little)),
    ("i24-be", number(Shape::Signed, 3, Order::Big)),
    ("i24-le", number(Shape::Signed, 3, Order::Little)),
    ("u32-be", number(Shape::Unsigned, 4, Order::Big)),
    ("u32-le", number(Shape::Unsigned, 4, Order::Little)),
    ("i32-be", number(Shape::Signed, 4, Order::Big)),
    ("i32-le", number(Shape::Signed, 4, Order::Little)),
    ("f32-be", number(Shape::Float, 4, Order::Big)),
    ("f32-le", number(Shape::Float, 4, Order::Little)),
    ("f64-be", number(Shape::Float, 8, Order::Big)),
    ("f64-le", number(Shape::Float, 8, Order::Little)),
];

/// The widest whole numbers, apart: they lose their last digits beyond 2^53.
const WIDEST: [(&str, ByteNumber); 4] = [
    ("u64-be", number(Shape::Unsigned, 8, Order::Big)),
    ("u64-le", number(Shape::Unsigned, 8, Order::Little)),
    ("i64-be", number(Shape::Signed, 8, Order::Big)),
    ("i64-le", number(Shape::Signed, 8, Order::Little)),
];

const fn number(shape: Shape, wide: u8, order: Order) -> ByteNumber {
    ByteNumber { shape, wide, order }
}

/// A number by its word, with or without the dash: `f32-le`, `f32le`.
pub(super) fn named(word: &str) -> Option<ByteNumber> {
    let same = |name: &str| name == word || name.replace('-', "") == word;
    NUMBERS.iter().chain(&WIDEST).find(|(name, _)| same(name)).map(|(_, number)| *number)
}

/// The n-th number of a row of them.
pub(super) fn in_a_row(n: usize, number: ByteNumber) -> ByteField {
    let at = i32::try_from(n * usize::from(number.wide)).unwrap_or(AT_MAX);
    ByteField { at, number, bits: None, scale: 1.0, shift: 0.0 }
}

pub(super) fn read(table: Table<'_>) -> Option<ByteField> {
    if !table.has("at") {
        table.missing("at", "say which byte it begins at, from 0; -1 is the last one");
    }
    let at = table.value("at").and_then(|value| offset(&value));
    if !table.has("as") {
        table.missing("as", "say what number it is, such as \"i16-be\" or \"u8\"");
    }
    let number = table.text("as").and_then(|word| {
        let number = named(&word.is);
        if number.is_none() {
            let names: Vec<&str> = NUMBERS.iter().chain(&WIDEST).map(|(name, _)| *name).collect();
            let title = format!("as cannot be {}", word.is);
            let help = format!(
                "write i or u for whole numbers with and without a sign, f for floats, then the bits, then -be or -le: {}",
                suggest::one_of(&word.is, &names[..4])
            );
            table.faults().refuse(&word.at, title, help);
        }
        number
    });
    let scale = table.value("scale").map_or(Some(1.0), |value| scale(&value));
    let shift = table.value("shift").map_or(Some(0.0), |value| value.finite());
    let wide = number.map_or(64, |number| number.wide * 8);
    let bits = bits(&table, wide);
    let is_float = number.is_some_and(|number| number.shape == Shape::Float);
    if let (true, Some(value)) = (is_float, table.value("bits").or_else(|| table.value("bit"))) {
        value.refuse("a float has no bits to take out", "write a u or an i number");
    }
    table.done();
    Some(ByteField { at: at?, number: number?, bits: bits?, scale: scale?, shift: shift? })
}

fn offset(value: &Value<'_>) -> Option<i32> {
    let number = value.number()?;
    let whole = number.fract() == 0.0 && number.abs() <= f64::from(AT_MAX);
    if !whole {
        let help = format!("count bytes from 0, or from the end with -1; at most {AT_MAX}");
        value.refuse(format!("at cannot be {number}"), help);
    }
    whole.then_some(number as i32)
}

fn scale(value: &Value<'_>) -> Option<f64> {
    let scale = value.finite()?;
    if scale == 0.0 {
        value.refuse("scale cannot be 0", "every value would be the same; take scale out");
        return None;
    }
    Some(scale)
}

/// `Some(None)` if no bits are taken out; `None` after a fault.
fn bits(table: &Table<'_>, wide: u8) -> Option<Option<Bits>> {
    let (bit, list) = (table.value("bit"), table.value("bits"));
    let bits = match (bit, list) {
        (None, None) => return Some(None),
        (Some(bit), None) => Bits { from: small(&bit)?, count: 1 },
        (None, Some(list)) => {
            let both = list.numbers(2, "the lowest bit, from 0, and how many: [4, 3]")?;
            let [from, count] = both[..] else { return None };
            let small = |n: f64| (n.fract() == 0.0 && (0.0..64.1).contains(&n)).then_some(n as u8);
            match (small(from), small(count)) {
                (Some(from), Some(count)) if count > 0 => Bits { from, count },
                (_, _) => {
                    let help = "the lowest bit, from 0, and how many: [4, 3]";
                    table.faults().refuse(&table.place(), "bits are whole numbers", help);
                    return None;
                }
            }
        }
        (Some(bit), Some(_)) => {
            bit.refuse("bit does not go with bits", "take one of the two out");
            return None;
        }
    };
    if bits.from + bits.count > wide {
        let title = format!("bits {} to {} are not there", bits.from, bits.from + bits.count - 1);
        table.faults().refuse(
            &table.place(),
            title,
            format!("this number has bits 0 to {}", wide - 1),
        );
        return None;
    }
    Some(Some(bits))
}

fn small(value: &Value<'_>) -> Option<u8> {
    value.whole(0..=63).and_then(|bit| u8::try_from(bit).ok())
}
