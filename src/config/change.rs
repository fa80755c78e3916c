//! Reads `change`: an amount that has risen or fallen against her own earlier days.
//!
//! Says at once where no sensor gives it and nobody tells it.

use super::condition::Reader;
use super::measured::{self, FRESH_MAX};
use super::rules::{Change, Condition, Devices, Turn};
use super::tree::Table;
use crate::plain::amount::Amount;
use crate::plain::moment::Span;

/// Less than a day has no like hour in it; more than a week she is another cow.
const OVER: std::ops::RangeInclusive<Span> = Span::hours(24)..=Span::days(7);

impl Reader<'_> {
    /// The table behind `change`, whether it stands in the rule itself or in its `when`.
    pub(super) fn change(&self, table: &Table<'_>, devices: &Devices) -> Option<Condition> {
        let value = table.value("change")?;
        if !value.is_table() {
            let help = "write change = { of = \"temp\", over = \"48h\", rise = 0.8 }, or with fall";
            value.refuse("change takes a table", help);
            return None;
        }
        let inner = value.table("[change]")?;
        let sign = inner.needed("of", "the sign whose amount may change");
        if !inner.has("over") {
            inner.missing("over", "how far back it is compared, such as \"48h\"");
        }
        let over = inner.value("over").and_then(|value| value.span(OVER));
        let (unit, kept) = self.unit(&inner, sign.as_ref());
        let turned = turn(&inner, |number| {
            // A difference has no zero point of its own: 1.8 degrees of Fahrenheit are 1 of Celsius.
            Amount::of(unit.map_or(number, |unit| unit.keep(number) - unit.keep(0.0)))
        });
        let usual = sign.as_ref().map_or(measured::FRESH_USUAL, |sign| self.usual_fresh(&sign.is));
        let fresh = inner.span("fresh", usual, Span::minutes(1)..=FRESH_MAX);
        inner.done();
        let sign = sign?;
        self.doubt_unless_given(&sign);
        let (turn, least) = turned?;
        let (sign, unit, devices) = (sign.is, kept.to_owned(), devices.clone());
        Some(Condition::Change(Change { sign, over: over?.is, turn, least, fresh, unit, devices }))
    }
}

/// Which way, and by how much at least.
fn turn(table: &Table<'_>, keep: impl Fn(f64) -> Option<Amount>) -> Option<(Turn, Amount)> {
    let (turn, value) = match (table.value("rise"), table.value("fall")) {
        (Some(rise), None) => (Turn::Rise, rise),
        (None, Some(fall)) => (Turn::Fall, fall),
        (Some(_), Some(fall)) => {
            let help = "take one of the two out, or join two by any = [ { … }, { … } ]";
            fall.refuse("fall does not go with rise", help);
            return None;
        }
        (None, None) => {
            table.missing("rise or fall", "by how much at least, such as rise = 0.8");
            return None;
        }
    };
    let number = value.number()?;
    let least = keep(number).filter(|least| *least > Amount::default());
    if least.is_none() {
        value.refuse(format!("{number} is no change"), "write how much more or less, such as 0.8");
    }
    Some((turn, least?))
}
