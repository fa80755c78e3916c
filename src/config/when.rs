//! Reads `when`: one condition about a dam, or several joined by all, any and not.
//!
//! What one condition measures is read in `measured`; clocks inside a join are read as outside.

use super::condition::{Doubt, Reader};
use super::faults::Place;
use super::rules::{Condition, Devices};
use super::suggest;
use super::tree::Table;
use super::value::Value;
use crate::plain::english;

/// Each form of condition by the key that begins it.
const FORMS: [&str; 9] = ["count", "level", "seen", "change", "since", "due", "all", "any", "not"];

/// About a device or a line: nothing to say of a dam.
const NOT_HERS: [&str; 2] = ["silent", "trouble"];

/// Deeper than this nobody reads a rule at night.
const DEPTH_MAX: usize = 3;

/// More conditions in one join are several rules.
const JOINED_MAX: usize = 10;

/// A weight past this says no more than this.
const WEIGHT_MAX: u64 = 100;

/// The form of condition still to come that stands in `when` or in a join within it.
pub(super) fn to_come(value: &Value<'_>, words: &[&'static str]) -> Option<(&'static str, Place)> {
    within(value, words, 0)
}

fn within(
    value: &Value<'_>,
    words: &[&'static str],
    depth: usize,
) -> Option<(&'static str, Place)> {
    if !value.is_table() || depth > DEPTH_MAX {
        return None;
    }
    let table = value.table("when")?;
    let here = words.iter().find_map(|key| table.key_place(key).map(|place| (*key, place)));
    here.or_else(|| {
        let joined = ["all", "any", "not"].into_iter().flat_map(|key| table.values(key));
        joined.take(JOINED_MAX).find_map(|value| within(&value, words, depth + 1))
    })
}

impl Reader<'_> {
    pub(super) fn when(&self) -> Option<Condition> {
        let devices = self.devices();
        let value = self.table.value("when")?;
        let condition = self.condition(value.table("[when]")?, "when", &devices, 0)?;
        self.weigh(&condition, &devices);
        Some(condition)
    }

    fn condition(
        &self,
        table: Table<'_>,
        name: &str,
        devices: &Devices,
        depth: usize,
    ) -> Option<Condition> {
        let faults = table.faults();
        if let Some((key, at)) =
            NOT_HERS.into_iter().find_map(|key| Some((key, table.key_place(key)?)))
        {
            let title = format!("{key} is not about a dam, so it cannot stand in {name}");
            faults.refuse(&at, title, "make a rule of its own of it");
            table.ignore_rest();
            return None;
        }
        let forms: Vec<&str> = FORMS.into_iter().filter(|key| table.has(key)).collect();
        if let [first, second, ..] = forms.as_slice() {
            let at = table.key_place(second).unwrap_or_else(|| table.place());
            let title = format!("{second} does not go with {first}");
            let help = "a condition says one thing; join two by all = [ { … }, { … } ] or any";
            faults.refuse(&at, title, help);
            table.ignore_rest();
            return None;
        }
        let condition = match forms.first().copied() {
            Some("count") => self.count(&table, devices),
            Some("level") => self.level(&table, devices),
            Some("seen") => self.seen(&table, devices),
            Some("change") => self.change(&table, devices),
            Some("since") => self.clock_within(&table),
            Some("due") => self.at(&table).due(),
            Some("all") => self.joined(&table, "all", devices, depth).map(Condition::All),
            Some("any") => self.joined(&table, "any", devices, depth).map(Condition::AnyOf),
            Some(_) => {
                let not = self.joined(&table, "not", devices, depth);
                not.and_then(|mut only| only.pop()).map(|only| Condition::Not(Box::new(only)))
            }
            None => {
                let help =
                    "write count, level, seen or change, or join conditions by all, any or not";
                faults.refuse(&table.place(), format!("{name} waits for nothing"), help);
                table.ignore_rest();
                return None;
            }
        };
        table.done();
        condition
    }

    /// The conditions that a join joins; `not` takes one.
    fn joined(
        &self,
        table: &Table<'_>,
        key: &'static str,
        devices: &Devices,
        depth: usize,
    ) -> Option<Vec<Condition>> {
        let value = table.value(key)?;
        if depth == DEPTH_MAX {
            let title = format!("{key} stands more than {DEPTH_MAX} deep");
            value.refuse(title, "make two rules of it");
            return None;
        }
        let values = table.values(key);
        let wrong = match values.len() {
            0 => Some(format!("{key} joins nothing")),
            2.. if key == "not" => Some("not takes one condition".to_owned()),
            n if n > JOINED_MAX => Some(format!("{key} joins more than {JOINED_MAX} conditions")),
            _ => None,
        };
        if let Some(title) = wrong {
            let help = match key {
                "not" => "write not = { … }, or not = { any = [ { … }, { … } ] }".to_owned(),
                key => format!("write {key} = [ {{ … }}, {{ … }} ]"),
            };
            value.refuse(title, help);
            return None;
        }
        let outer = self.doubt.take();
        let mut doubts: Vec<Doubt> = Vec::new();
        let conditions: Vec<Option<Condition>> = values
            .iter()
            .map(|value| {
                let table = value.table(&format!("[{key}]"))?;
                let condition = self.condition(table, key, devices, depth + 1);
                doubts.extend(self.doubt.take());
                condition
            })
            .collect();
        // One that can come true is enough for any, and all must be able to for all.
        let never = if key == "any" { doubts.len() == values.len() } else { !doubts.is_empty() };
        *self.doubt.borrow_mut() = outer.or(doubts.into_iter().next().filter(|_| never));
        conditions.into_iter().collect()
    }

    fn clock_within(&self, table: &Table<'_>) -> Option<Condition> {
        let reader = self.at(table);
        let clock = reader.clock();
        if let Some(doubt) = reader.doubt.take() {
            self.doubt.borrow_mut().get_or_insert(doubt);
        }
        clock
    }

    /// Which of several devices on a dam must say so.
    fn devices(&self) -> Devices {
        let Some(value) = self.table.value("devices") else {
            return Devices::Any;
        };
        if !value.is_table() {
            let words = [("any", Devices::Any), ("all", Devices::All)];
            let Some(text) = value.text() else { return Devices::Any };
            let found = words.into_iter().find(|(word, _)| *word == text.is);
            return found.map_or_else(
                || {
                    let choice = suggest::one_of(&text.is, &["any", "all"]);
                    let help =
                        format!("{choice}, or weights: {{ tail = 2, collar = 1, enough = 2 }}");
                    value.refuse(format!("devices cannot be {}", text.is), help);
                    Devices::Any
                },
                |(_, devices)| devices,
            );
        }
        let Some(table) = value.table("devices") else { return Devices::Any };
        let (mut weights, mut enough) = (Vec::new(), None);
        for (key, value) in table.all_values() {
            match value.whole(1..=WEIGHT_MAX) {
                Some(weight) if key == "enough" => enough = Some(weight),
                Some(weight) => weights.push((key, weight)),
                None => {}
            }
        }
        if !table.has("enough") {
            table.missing("enough", "how much those that say so must weigh together, such as 2");
        }
        let enough = enough.unwrap_or(1);
        let most: u64 = weights.iter().map(|(_, weight)| weight).sum();
        if most < enough && table.has("enough") {
            let title = format!("enough is {enough}, and all together weigh {most}");
            value.refuse(title, "make enough smaller, or weigh more kinds of sensor");
        }
        table.ignore_rest();
        Devices::Weighted { weights, enough }
    }

    /// Weights of kinds that no sensor is, or that all say nothing of what is asked.
    fn weigh(&self, condition: &Condition, devices: &Devices) {
        let Devices::Weighted { weights, .. } = devices else { return };
        if self.is_excused() {
            return;
        }
        let at = self.table.key_place("devices").unwrap_or_else(|| self.table.place());
        let kinds: Vec<&str> = self.sensors.kinds.iter().map(|kind| kind.kind.as_str()).collect();
        for (kind, _) in weights.iter().filter(|(kind, _)| !self.sensors.has_kind(kind)) {
            let title = format!("no sensor is of the kind {kind}, so it weighs nothing");
            self.table.faults().warn(&at, title, suggest::one_of(kind, &kinds));
        }
        let mut signs = Vec::new();
        signs_of(condition, &mut signs);
        let gives = |sign: &&str| {
            let mut kinds = self.sensors.kinds.iter();
            kinds.any(|kind| {
                weights.iter().any(|(weighed, _)| *weighed == kind.kind)
                    && kind.read.iter().any(|read| read.sign == **sign)
            })
        };
        if !signs.is_empty() && !weights.is_empty() && !signs.iter().any(gives) {
            let what = english::choice(&signs);
            self.never(&at, format!("none of the kinds that weigh something gives {what}"));
        }
    }
}

fn signs_of<'c>(condition: &'c Condition, signs: &mut Vec<&'c str>) {
    match condition {
        Condition::Count { sign, .. } => signs.push(sign),
        Condition::Level(level) => signs.push(&level.sign),
        Condition::Seen(seen) => signs.push(&seen.sign),
        Condition::Change(change) => signs.push(&change.sign),
        Condition::All(conditions) | Condition::AnyOf(conditions) => {
            conditions.iter().for_each(|condition| signs_of(condition, signs));
        }
        Condition::Not(condition) => signs_of(condition, signs),
        Condition::Clock { .. }
        | Condition::Due(_)
        | Condition::Silent { .. }
        | Condition::Ill { .. }
        | Condition::Gateway { .. }
        | Condition::Unwatched { .. }
        | Condition::Alone { .. }
        | Condition::Uncovered { .. }
        | Condition::Drill { .. }
        | Condition::Trouble { .. } => {}
    }
}
