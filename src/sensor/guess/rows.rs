//! A few bytes as a row of numbers, by every width whose figures a farm could measure.

use crate::config::sensors::{
    ByteField, ByteNumber, Form, Order, Read, ReadKind, SensorKind, Shape,
};
use crate::sensor::octets;

/// Rows longer than this are not guessed at.
const ROW_MAX: usize = 16;

/// What a figure on a farm can be at most: weights in grams, litres, seconds of a month.
const FIGURE_MAX: f64 = 5_000_000.0;
const FIGURE_MIN: f64 = 1e-4;

struct Row {
    name: &'static str,
    number: ByteNumber,
    scale: f64,
}

const fn row(name: &'static str, shape: Shape, wide: u8, order: Order, scale: f64) -> Row {
    Row { name, number: ByteNumber { shape, wide, order }, scale }
}

/// Floats that make sense are seldom chance; of whole numbers a hundredth of one is the commonest
/// way to send a temperature (common practice, no source).
const ROWS: [Row; 9] = [
    row("f32-le", Shape::Float, 4, Order::Little, 1.0),
    row("f32-be", Shape::Float, 4, Order::Big, 1.0),
    row("f64-le", Shape::Float, 8, Order::Little, 1.0),
    row("f64-be", Shape::Float, 8, Order::Big, 1.0),
    row("i16-be", Shape::Signed, 2, Order::Big, 0.01),
    row("i16-le", Shape::Signed, 2, Order::Little, 0.01),
    row("i16-be", Shape::Signed, 2, Order::Big, 1.0),
    row("i16-le", Shape::Signed, 2, Order::Little, 1.0),
    row("u8", Shape::Unsigned, 1, Order::Big, 1.0),
];

pub(super) fn of_bytes(
    bytes: &[u8],
    form: Form,
    what: &str,
    maybe: &mut Vec<(String, SensorKind)>,
) {
    for row in &ROWS {
        let wide = usize::from(row.number.wide);
        if !bytes.len().is_multiple_of(wide) || bytes.is_empty() || bytes.len() / wide > ROW_MAX {
            continue;
        }
        let fields: Vec<ByteField> = (0..bytes.len() / wide)
            .filter_map(|n| i32::try_from(n * wide).ok())
            .map(|at| ByteField {
                at,
                number: row.number,
                bits: None,
                scale: row.scale,
                shift: 0.0,
            })
            .collect();
        let figures = fields.iter().map(|field| octets::number(bytes, field));
        let sensible =
            |figure: f64| figure == 0.0 || (FIGURE_MIN..FIGURE_MAX).contains(&figure.abs());
        if row.number.shape == Shape::Float
            && !figures.clone().all(|figure| figure.is_ok_and(sensible))
        {
            continue;
        }
        // A scale is worth a guess where it makes some body's temperature.
        let warm = |figure: f64| (25.0..45.0).contains(&(figure * row.scale));
        if row.scale != 1.0 && !figures.clone().any(|figure| figure.is_ok_and(warm)) {
            continue;
        }
        let read = |(n, field): (usize, ByteField)| {
            let sign = format!("value {}", n + 1);
            Read { bytes: Some(field), ..Read::plain(&sign, &[], ReadKind::Level) }
        };
        let reads = fields.into_iter().enumerate().map(read).collect();
        let scaled = if row.scale == 1.0 { "" } else { ", in hundredths" };
        maybe.push((
            format!("{what}, numbers {}{scaled}", row.name),
            SensorKind::plain("sensor", "", form, reads),
        ));
    }
}

/// A number's word in the settings.
pub(super) fn word(number: ByteNumber) -> String {
    let shape = match number.shape {
        Shape::Unsigned => "u",
        Shape::Signed => "i",
        Shape::Float => "f",
    };
    let bits = u32::from(number.wide) * 8;
    match (number.wide, number.order) {
        (1, _) => format!("{shape}{bits}"),
        (_, Order::Big) => format!("{shape}{bits}-be"),
        (_, Order::Little) => format!("{shape}{bits}-le"),
    }
}
