//! Reads what a condition measures: so many of a sign, an amount beyond an edge, a camera's score.
//!
//! Says at once where it can never come true with the sensors that the farm has.

use super::condition::Reader;
use super::faults::Placed;
use super::rules::{Condition, Devices, Edge, Level, Seen};
use super::sensors::SensorKind;
use super::suggest;
use super::tree::Table;
use super::value::Value;
use crate::plain::amount::Amount;
use crate::plain::moment::Span;
use crate::plain::quantity::Unit;

const OVER_MAX: Span = Span::days(7);
const COUNT_MAX: u64 = 10_000;

/// N of the last m: with more than this nobody can tell what the rule waits for.
const OF_MAX: u64 = 100;

/// A level need not be watched for longer than a night before somebody is told.
const FOR_MAX: Span = Span::hours(12);
/// Once a day, and an hour or two later the next: what is measured by hand.
pub(super) const FRESH_MAX: Span = Span::days(2);

/// An amount is old after three beats of its sensor, but a radio's gap of some minutes is no silence
/// (common practice, no source).
const BEATS: i64 = 3;
const FRESH_LEAST: Span = Span::minutes(15);
/// The same where no sensor says how often it speaks.
pub(super) const FRESH_USUAL: Span = Span::hours(1);

/// Three of the last five pictures within five minutes: one alone is often wrong (common practice, no
/// source).
const PICTURES: (u64, u64) = (3, 5);
const PICTURES_OVER: Span = Span::minutes(5);
const PICTURES_OVER_MAX: Span = Span::hours(6);

/// Signs whose amounts people tell, so that no sensor need give them.
const TOLD: [&str; 2] = ["temp", "calf temp"];

impl Reader<'_> {
    pub(super) fn count(&self, table: &Table<'_>, devices: &Devices) -> Option<Condition> {
        let sign = table.needed("count", "the sign that is counted");
        for (key, help) in [
            ("over", "the span it is counted over, such as \"1h\""),
            ("at-least", "how many are too many, such as 8"),
        ] {
            if !table.has(key) {
                table.missing(key, help);
            }
        }
        let over = table.value("over").and_then(|value| value.span(Span::seconds(1)..=OVER_MAX));
        let at_least = table.value("at-least").and_then(|value| value.whole(1..=COUNT_MAX));
        let sign = sign?;
        self.doubt_unless_given(&sign);
        let devices = devices.clone();
        Some(Condition::Count { sign: sign.is, over: over?.is, at_least: at_least?, devices })
    }

    pub(super) fn level(&self, table: &Table<'_>, devices: &Devices) -> Option<Condition> {
        let sign = table.needed("level", "the sign whose amount is watched");
        let (unit, kept) = self.unit(table, sign.as_ref());
        let edge = edge(table, unit);
        let clear = table.value("clear");
        let hold = table.span("for", Span::ZERO, Span::seconds(1)..=FOR_MAX);
        let (times, of) = n_of_m(table, (1, 1));
        let usual = sign.as_ref().map_or(FRESH_USUAL, |sign| self.usual_fresh(&sign.is));
        let fresh = table.span("fresh", usual, Span::minutes(1)..=FRESH_MAX);
        let (sign, (edge, begins)) = (sign?, edge?);
        let clear = match clear {
            None => begins,
            Some(value) => {
                let clear = amount(&value, unit)?;
                let (wrong, side) = match edge {
                    Edge::Above(edge) => (clear > edge, "above"),
                    Edge::Below(edge) => (clear < edge, "below"),
                };
                if wrong {
                    // As they were written, not in the unit in which the sign is kept.
                    let typed =
                        |key: &'static str| table.value(key).and_then(|value| value.number());
                    let typed = |key: &'static str| typed(key).and_then(Amount::of);
                    let begins = typed("above").or_else(|| typed("below")).unwrap_or(begins);
                    let clear = typed("clear").unwrap_or(clear);
                    let title = format!("clear is {clear}, and that is {side} {begins}");
                    let help = format!(
                        "it says where the level is well again: write {begins} or what lies further back"
                    );
                    value.refuse(title, help);
                }
                clear
            }
        };
        self.doubt_unless_given(&sign);
        if let Some(every) = self.quickest(&sign.is).filter(|every| *every >= fresh) {
            let why = format!(
                "{} is told every {every}, and counts for {fresh} only; make fresh longer",
                sign.is
            );
            if hold.is_positive() || times > 1 {
                self.never(&sign.at, why);
            }
        }
        let devices = devices.clone();
        let (sign, unit) = (sign.is, kept.to_owned());
        Some(Condition::Level(Level { sign, edge, clear, hold, times, of, fresh, unit, devices }))
    }

    pub(super) fn seen(&self, table: &Table<'_>, devices: &Devices) -> Option<Condition> {
        let sign = table.needed("seen", "the sign that a camera may see");
        if !table.has("score") {
            table.missing("score", "how sure the camera must be, from 0 to 1, such as 0.7");
        }
        let score = table.value("score").and_then(|value| {
            let score = amount(&value, None)?;
            if score <= Amount::default() || score > Amount::thousandths(1000) {
                value.refuse(format!("score cannot be {score}"), "it is more than 0 and at most 1");
                return None;
            }
            Some(score)
        });
        let (times, of) = n_of_m(table, PICTURES);
        let over = table.span("over", PICTURES_OVER, Span::seconds(1)..=PICTURES_OVER_MAX);
        let region = table.text("region");
        let sign = sign?;
        self.doubt_unless_given(&sign);
        if let Some(region) = &region {
            self.doubt_unless_a_region(&sign.is, region);
        }
        let gaps = i64::try_from(times.saturating_sub(1)).unwrap_or(i64::MAX);
        if let Some(every) = self.quickest(&sign.is)
            && every.millis().saturating_mul(gaps) >= over.millis()
        {
            let why = format!(
                "{} is told every {every}, so {times} times do not fall within {over}",
                sign.is
            );
            self.never(&sign.at, why);
        }
        let (region, devices) = (region.map(|region| region.is), devices.clone());
        let score = score?;
        Some(Condition::Seen(Seen { sign: sign.is, score, times, of, over, region, devices }))
    }

    pub(super) fn doubt_unless_given(&self, sign: &Placed<String>) {
        if !self.sensors.gives(&sign.is) && !TOLD.contains(&sign.is.as_str()) && !self.is_excused()
        {
            let mut signs: Vec<&str> = Vec::new();
            for given in self.sensors.signs() {
                if !signs.contains(&given) {
                    signs.push(given);
                }
            }
            let what = format!("no sensor gives {}; signs that sensors give", sign.is);
            self.never(&sign.at, suggest::way_out(&what, &sign.is, &signs));
        }
    }

    /// A region that no camera has is seen nothing in.
    fn doubt_unless_a_region(&self, sign: &str, region: &Placed<String>) {
        let regions = self.giving(sign).flat_map(|kind| &kind.regions);
        let names: Vec<&str> = regions.map(|region| region.name.as_str()).collect();
        // What names its devices itself may name a region with them.
        if self.giving(sign).any(|kind| !kind.device.is_empty()) {
            return;
        }
        if self.is_excused() || !self.sensors.gives(sign) || names.contains(&region.is.as_str()) {
            return;
        }
        let what = if names.is_empty() {
            format!(
                "no camera that gives {sign} has regions; write regions = {{ … }} in its [[sensor]]"
            )
        } else {
            let what = format!("no camera that gives {sign} has a region {}; they have", region.is);
            suggest::way_out(&what, &region.is, &names)
        };
        self.never(&region.at, what);
    }

    fn giving(&self, sign: &str) -> impl Iterator<Item = &SensorKind> {
        let gives = move |kind: &&SensorKind| kind.read.iter().any(|read| read.sign == sign);
        self.sensors.kinds.iter().filter(gives)
    }

    /// How long an amount says something about now, unless the rule says.
    pub(super) fn usual_fresh(&self, sign: &str) -> Span {
        self.slowest(sign).map_or(FRESH_USUAL, |every| {
            Span::from_millis(every.millis().saturating_mul(BEATS)).max(FRESH_LEAST)
        })
    }

    fn slowest(&self, sign: &str) -> Option<Span> {
        self.giving(sign).filter_map(|kind| kind.every).max()
    }

    /// How often the sign is told at best, if every sensor that gives it says so.
    fn quickest(&self, sign: &str) -> Option<Span> {
        let every: Option<Vec<Span>> = self.giving(sign).map(|kind| kind.every).collect();
        every?.into_iter().min()
    }

    /// The unit in which the rule writes its amounts, and the name of the one in which the sign's are
    /// kept. Where the two differ, and where the sensor's own differs, the rule must say which it means.
    pub(super) fn unit(
        &self,
        table: &Table<'_>,
        sign: Option<&Placed<String>>,
    ) -> (Option<Unit>, &'static str) {
        let heard = sign.and_then(|sign| {
            let reads = self.giving(&sign.is).flat_map(|kind| &kind.read);
            let heard = reads.filter(|read| read.sign == sign.is).find_map(|read| read.unit);
            // What people tell of it is in degrees Celsius (src/talk/figure.rs).
            heard.or(TOLD.contains(&sign.is.as_str()).then_some(Unit::Celsius))
        });
        let kept = heard.map(Unit::kept);
        let shown = kept.map_or("", Unit::name);
        let Some(written) = table.text("unit") else {
            if let (Some(heard), Some(sign)) = (heard.filter(|heard| !heard.is_kept()), sign) {
                let (heard, sign) = (heard.name(), sign.is.as_str());
                let title =
                    format!("in which unit? {sign} comes in {heard} and is kept in {shown}");
                let help = format!("add unit = \"{heard}\" or unit = \"{shown}\"");
                table.faults().refuse(&table.place(), title, help);
            }
            return (None, shown);
        };
        let unit = Unit::named(&written.is);
        match (unit, kept) {
            (Some(unit), Some(kept)) if unit.kept() == kept => (Some(unit), shown),
            (Some(unit), None) => (Some(unit), unit.kept().name()),
            (_, Some(kept)) => {
                let title = format!(
                    "{} is measured in {}, not in {}",
                    table_sign(sign),
                    kept.name(),
                    written.is
                );
                let help = format!("write the amounts in {}", kept.name());
                table.faults().refuse(&written.at, title, help);
                (None, shown)
            }
            (None, None) => {
                let names: Vec<&str> = Unit::names().collect();
                let title = format!("{} is no unit", written.is);
                table.faults().refuse(&written.at, title, suggest::one_of(&written.is, &names));
                (None, shown)
            }
        }
    }
}

fn table_sign(sign: Option<&Placed<String>>) -> &str {
    sign.map_or("it", |sign| sign.is.as_str())
}

/// Above one amount or below one.
fn edge(table: &Table<'_>, unit: Option<Unit>) -> Option<(Edge, Amount)> {
    match (table.value("above"), table.value("below")) {
        (Some(above), None) => amount(&above, unit).map(|edge| (Edge::Above(edge), edge)),
        (None, Some(below)) => amount(&below, unit).map(|edge| (Edge::Below(edge), edge)),
        (Some(_), Some(below)) => {
            let help = "take one of the two out, or join two by any = [ { … }, { … } ]";
            below.refuse("below does not go with above", help);
            None
        }
        (None, None) => {
            table.missing("above or below", "the edge it may not cross, such as above = 39.5");
            None
        }
    }
}

/// In the unit in which readings are kept, if it is written in another.
fn amount(value: &Value<'_>, unit: Option<Unit>) -> Option<Amount> {
    let number = value.number()?;
    let amount = Amount::of(unit.map_or(number, |unit| unit.keep(number)));
    if amount.is_none() {
        value.refuse(format!("{number} is no amount"), "write a plain number, such as 39.5");
    }
    amount
}

/// `times` of the last `of`; `times` alone is so many in a row.
fn n_of_m(table: &Table<'_>, usual: (u64, u64)) -> (usize, usize) {
    let (times, of) = (table.value("times"), table.value("of"));
    let read = |value: &Value<'_>| value.whole(1..=OF_MAX);
    let (n, m) = match (&times, &of) {
        (None, None) => usual,
        (Some(times), None) => {
            let n = read(times).unwrap_or(1);
            (n, n)
        }
        (None, Some(of)) => {
            of.refuse(
                "of says nothing without times",
                "write times = 2, of = 3: two of the last three",
            );
            usual
        }
        (Some(times), Some(of)) => match (read(times), read(of)) {
            (Some(n), Some(m)) if n > m => {
                times.refuse(format!("{n} of the last {m} never happens"), "times is at most of");
                usual
            }
            (Some(n), Some(m)) => (n, m),
            (_, _) => usual,
        },
    };
    let size = |n: u64| usize::try_from(n).unwrap_or(usize::MAX);
    (size(n), size(m))
}
