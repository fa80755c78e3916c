//! The ledger: which device was on which dam, from when to when, and who says so.
//!
//! Rows of the settings and people's words both end here. Of all rows the one with the latest beginning
//! holds, so that a word said later is never undone by a row that stood in the settings before it. A
//! row without a beginning counts from when it first appeared, or, for a device that was in no row
//! before, from ever. History stays with the animal: nothing here is taken out but what was corrected.
//! It refuses to guess: a device is on one dam at a time, a dam may wear several.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::plain::ids::PersonName;
use crate::plain::moment::Moment;

/// Rows kept of one device; more in one season is a fault, and the oldest go first.
const ROWS: usize = 64;

/// All rows, by the device's place in the state's roster.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(from = "Written", into = "Written")]
pub struct Ledger {
    worn: Vec<Rows>,
    batteries: BTreeMap<u32, Battery>,
    /// By the dam's place, which devices some row puts on her: an index, and may hold too many.
    by_dam: Vec<Vec<u32>>,
}

/// What is kept of it: the index is made anew.
#[derive(Serialize, Deserialize)]
struct Written {
    worn: Vec<Rows>,
    batteries: BTreeMap<u32, Battery>,
}

/// A device was put on a dam, or taken off whichever it was on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Row {
    /// By her place in the state's roster; `None`: on nobody.
    pub dam: Option<u32>,
    /// `None`: from ever.
    pub from: Option<Moment>,
    pub until: Option<Moment>,
    pub by: By,
}

/// Who says so.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum By {
    /// A row of the settings; `dated` if it says itself when it begins, `gone` if it stands there no
    /// longer.
    Settings {
        dated: bool,
        gone: bool,
    },
    Person(PersonName),
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Battery {
    pub at: Moment,
    pub by: PersonName,
}

/// A device is on the dam at this place, from then to then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Worn {
    pub dam: u32,
    pub from: Option<Moment>,
    pub until: Option<Moment>,
}

/// What one `[[device]]` says, by places.
#[derive(Clone, Copy, Debug)]
pub struct Set {
    pub device: u32,
    pub dam: u32,
    pub from: Option<Moment>,
    pub until: Option<Moment>,
}

/// Mostly a device is on one dam all season: that row lies here, the rest elsewhere, all by their
/// beginning.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
struct Rows {
    first: Option<Row>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    more: Vec<Row>,
}

impl PartialEq for Ledger {
    fn eq(&self, other: &Self) -> bool {
        self.worn == other.worn && self.batteries == other.batteries
    }
}

impl From<Written> for Ledger {
    fn from(written: Written) -> Self {
        let Written { worn, batteries } = written;
        let mut ledger = Self { worn, batteries, by_dam: Vec::new() };
        for device in 0..u32::try_from(ledger.worn.len()).unwrap_or(u32::MAX) {
            let dams: Vec<u32> = ledger.rows(device).filter_map(|row| row.dam).collect();
            dams.into_iter().for_each(|dam| ledger.note_dam(dam, device));
        }
        ledger
    }
}

impl From<Ledger> for Written {
    fn from(ledger: Ledger) -> Self {
        Self { worn: ledger.worn, batteries: ledger.batteries }
    }
}

impl Ledger {
    /// Which dam wears a device at a moment.
    pub fn wearing(&self, device: u32, at: Moment) -> Option<Worn> {
        let rows = self.worn.get(device as usize)?;
        let mut ends = None;
        for row in rows.all().rev() {
            if row.from.is_none_or(|from| from <= at) {
                let until = earlier(row.until, ends);
                let holds = row.until.is_none_or(|until| at < until);
                let worn = |dam| Worn { dam, from: row.from, until };
                return row.dam.filter(|_| holds).map(worn);
            }
            ends = row.from;
        }
        None
    }

    /// The row that decides at a moment, whether it puts the device on a dam or not.
    pub fn deciding(&self, device: u32, at: Moment) -> Option<&Row> {
        let rows = self.worn.get(device as usize)?;
        rows.all().rev().find(|row| row.from.is_none_or(|from| from <= at))
    }

    /// The next moment at which a device goes on or comes off.
    pub fn changes(&self, device: u32, after: Moment) -> Option<Moment> {
        let rows = self.worn.get(device as usize)?.all();
        rows.flat_map(|row| [row.from, row.until]).flatten().filter(|at| *at > after).min()
    }

    /// The places of all devices that were ever on a dam, but for those whose rows are all gone from
    /// the settings.
    pub fn devices(&self) -> impl Iterator<Item = u32> {
        (0..).zip(&self.worn).filter(|(_, rows)| rows.stands()).map(|(place, _)| place)
    }

    /// Whether the settings or a person still speak of a device.
    pub fn knows(&self, device: u32) -> bool {
        self.worn.get(device as usize).is_some_and(Rows::stands)
    }

    /// The devices that a dam wears at a moment.
    pub fn on(&self, dam: u32, at: Moment) -> impl Iterator<Item = u32> {
        let devices = self.by_dam.get(dam as usize).map(Vec::as_slice).unwrap_or_default();
        devices
            .iter()
            .copied()
            .filter(move |device| self.wearing(*device, at).is_some_and(|on| on.dam == dam))
    }

    /// The next moment at which something goes on a dam or comes off her.
    pub fn dam_changes(&self, dam: u32, after: Moment) -> Option<Moment> {
        let devices = self.by_dam.get(dam as usize)?;
        devices.iter().filter_map(|device| self.changes(*device, after)).min()
    }

    /// When a device last came off a dam, up to a moment.
    pub fn last_off(&self, dam: u32, up_to: Moment) -> Option<Moment> {
        let devices = self.by_dam.get(dam as usize)?;
        let ends = |device: &u32| {
            let rows: Vec<&Row> = self.rows(*device).collect();
            let end = |n: usize| earlier(rows[n].until, rows.get(n + 1).and_then(|row| row.from));
            let hers = (0..rows.len()).filter(|n| rows[*n].dam == Some(dam));
            hers.filter_map(end).filter(|at| *at <= up_to).max()
        };
        devices.iter().filter_map(ends).max()
    }

    /// Every row of a device, by its beginning.
    pub fn rows(&self, device: u32) -> impl DoubleEndedIterator<Item = &Row> {
        self.worn.get(device as usize).into_iter().flat_map(Rows::all)
    }

    /// A person says that a device is on a dam, or on nobody, from a moment on.
    pub fn tell(&mut self, device: u32, dam: Option<u32>, from: Moment, who: &PersonName) {
        let by = By::Person(who.clone());
        self.add(device, Row { dam, from: Some(from), until: None, by });
    }

    pub fn battery_changed(&mut self, device: u32, at: Moment, who: &PersonName) {
        self.batteries.insert(device, Battery { at, by: who.clone() });
    }

    /// When a device was last given a new battery: no trend reaches back behind it.
    pub fn battery(&self, device: u32) -> Option<&Battery> {
        self.batteries.get(&device)
    }

    /// Takes in the rows of the settings as they stand now. Gives back the devices whose dam the
    /// settings would have otherwise than it is, because of a person's word.
    pub fn set(&mut self, sets: &[Set], now: Moment) -> Vec<u32> {
        let mut by_device: BTreeMap<u32, Vec<Set>> = BTreeMap::new();
        for set in sets {
            by_device.entry(set.device).or_default().push(*set);
        }
        for device in 0..u32::try_from(self.worn.len()).unwrap_or(u32::MAX) {
            let sets = by_device.get(&device).map(Vec::as_slice).unwrap_or_default();
            self.drop_rows_taken_out(device, sets, now);
        }
        let mut overruled = Vec::new();
        for (device, sets) in by_device {
            let known = self.rows(device).next().is_some();
            for set in &sets {
                self.set_row(set, known, now);
            }
            let meant = sets.iter().filter(|set| set.from.is_none_or(|from| from <= now));
            let meant = meant.filter(|set| set.until.is_none_or(|until| now < until));
            let meant = meant.max_by_key(|set| set.from).map(|set| set.dam);
            let is = self.wearing(device, now).map(|on| on.dam);
            let a_word = self.deciding(device, now).is_some_and(|row| row.by.is_a_person());
            if a_word && meant.is_some() && meant != is {
                overruled.push(device);
            }
        }
        overruled
    }

    fn set_row(&mut self, set: &Set, known: bool, now: Moment) {
        let dated = set.from.is_some();
        let rows = self.rows_mut(set.device);
        if let Some(row) = rows.all_mut().find(|row| row.is_of(set)) {
            row.until = set.until;
            return;
        }
        let from = set.from.or(known.then_some(now));
        let by = By::Settings { dated, gone: false };
        self.add(set.device, Row { dam: Some(set.dam), from, until: set.until, by });
    }

    /// A row that stands in the settings no longer ends now; one that was only corrected, or had not
    /// begun, never was.
    fn drop_rows_taken_out(&mut self, device: u32, sets: &[Set], now: Moment) {
        let rows = &mut self.worn[device as usize];
        let standing = |row: &Row| sets.iter().any(|set| row.is_of(set));
        let out = |row: &Row| matches!(row.by, By::Settings { gone: false, .. }) && !standing(row);
        if !rows.all().any(out) {
            return;
        }
        rows.keep(|row| {
            let corrected = sets.iter().any(|set| Some(set.dam) == row.dam);
            let begun = row.from.is_none_or(|from| from < now);
            !out(row) || (begun && !corrected)
        });
        for row in rows.all_mut().filter(|row| out(row)) {
            row.until = earlier(row.until, Some(now));
            if let By::Settings { gone, .. } = &mut row.by {
                *gone = true;
            }
        }
    }

    fn add(&mut self, device: u32, row: Row) {
        if let Some(dam) = row.dam {
            self.note_dam(dam, device);
        }
        self.rows_mut(device).add(row);
    }

    fn note_dam(&mut self, dam: u32, device: u32) {
        let dam = dam as usize;
        if self.by_dam.len() <= dam {
            self.by_dam.resize_with(dam + 1, Vec::new);
        }
        if !self.by_dam[dam].contains(&device) {
            self.by_dam[dam].push(device);
        }
    }

    fn rows_mut(&mut self, device: u32) -> &mut Rows {
        let device = device as usize;
        if self.worn.len() <= device {
            self.worn.resize_with(device + 1, Rows::default);
        }
        &mut self.worn[device]
    }
}

impl Row {
    /// Is this the row that the settings write so? Who else was on that dam at that time it may be.
    fn is_of(&self, set: &Set) -> bool {
        match self.by {
            By::Settings { dated: true, gone: false } => {
                self.dam == Some(set.dam) && self.from == set.from
            }
            By::Settings { dated: false, gone: false } => {
                self.dam == Some(set.dam) && set.from.is_none()
            }
            By::Settings { gone: true, .. } | By::Person(_) => false,
        }
    }
}

impl By {
    pub fn is_a_person(&self) -> bool {
        match self {
            Self::Person(_) => true,
            Self::Settings { .. } => false,
        }
    }

    pub fn words(&self) -> &str {
        match self {
            Self::Settings { .. } => "the settings",
            Self::Person(who) => who.as_str(),
        }
    }
}

impl Rows {
    fn all(&self) -> impl DoubleEndedIterator<Item = &Row> {
        self.first.iter().chain(&self.more)
    }

    fn all_mut(&mut self) -> impl Iterator<Item = &mut Row> {
        self.first.iter_mut().chain(&mut self.more)
    }

    fn stands(&self) -> bool {
        self.all().any(|row| !matches!(row.by, By::Settings { gone: true, .. }))
    }

    /// In the order of beginnings; of two that begin together the one said last is behind.
    fn add(&mut self, row: Row) {
        let mut all: Vec<Row> = self.first.take().into_iter().chain(self.more.drain(..)).collect();
        let behind = all.iter().rev().take_while(|old| old.from > row.from).count();
        all.insert(all.len() - behind, row);
        if all.len() > ROWS {
            all.remove(0);
        }
        self.fill(all);
    }

    fn keep(&mut self, which: impl Fn(&Row) -> bool) {
        let all = self.first.take().into_iter().chain(self.more.drain(..));
        let kept = all.filter(which).collect();
        self.fill(kept);
    }

    fn fill(&mut self, all: Vec<Row>) {
        let mut all = all.into_iter();
        self.first = all.next();
        self.more = all.collect();
    }
}

fn earlier(one: Option<Moment>, other: Option<Moment>) -> Option<Moment> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.min(other)),
        (one, other) => one.or(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Span;

    fn hour(n: i64) -> Moment {
        Moment::default() + Span::hours(n)
    }

    fn set(dam: u32, from: Option<i64>, until: Option<i64>) -> Set {
        Set { device: 0, dam, from: from.map(hour), until: until.map(hour) }
    }

    fn on(ledger: &Ledger, at: i64) -> Option<u32> {
        ledger.wearing(0, hour(at)).map(|on| on.dam)
    }

    fn ana() -> PersonName {
        PersonName::new("Ana")
    }

    /// Source: needs.md N50: a collar moved from 12 to 40 at 14:00.
    #[test]
    fn what_was_before_the_move_belongs_to_the_one_before() {
        let mut ledger = Ledger::default();
        assert!(ledger.set(&[set(12, None, None)], hour(1)).is_empty());
        ledger.tell(0, Some(40), hour(14), &ana());
        assert_eq!((on(&ledger, 13), on(&ledger, 14)), (Some(12), Some(40)));
        assert_eq!(ledger.wearing(0, hour(13)).unwrap().until, Some(hour(14)));
        assert_eq!(ledger.on(40, hour(20)).collect::<Vec<_>>(), [0]);
        assert_eq!(ledger.on(12, hour(20)).count(), 0);
    }

    #[test]
    fn a_row_that_stood_before_never_undoes_a_later_word() {
        let mut ledger = Ledger::default();
        ledger.set(&[set(12, None, None)], hour(1));
        ledger.tell(0, Some(40), hour(14), &ana());
        assert_eq!(ledger.set(&[set(12, None, None)], hour(20)), [0], "and it is said");
        assert_eq!(on(&ledger, 21), Some(40));
        // A row that is new speaks of now, one with a date of its own day.
        ledger.set(&[set(7, None, None)], hour(22));
        assert_eq!((on(&ledger, 21), on(&ledger, 23)), (Some(40), Some(7)));
        let mut ledger = Ledger::default();
        ledger.tell(0, Some(40), hour(14), &ana());
        assert_eq!(ledger.set(&[set(12, Some(10), None)], hour(20)), [0]);
        assert_eq!((on(&ledger, 13), on(&ledger, 20)), (Some(12), Some(40)));
        assert!(ledger.set(&[set(12, Some(15), None)], hour(20)).is_empty());
        assert_eq!(on(&ledger, 20), Some(12), "the latest beginning holds");
        assert_eq!(on(&ledger, 12), None, "a corrected date is no history");
    }

    #[test]
    fn a_row_taken_out_ends_and_stays_history() {
        let mut ledger = Ledger::default();
        ledger.set(&[set(12, None, None)], hour(1));
        ledger.set(&[], hour(5));
        assert_eq!((on(&ledger, 4), on(&ledger, 5)), (Some(12), None));
        assert!(!ledger.knows(0));
        ledger.set(&[set(12, None, None)], hour(9));
        assert_eq!((on(&ledger, 8), on(&ledger, 9)), (None, Some(12)));
        assert!(ledger.knows(0));
    }

    #[test]
    fn taken_off_is_on_nobody_and_a_word_told_late_counts_from_its_time() {
        let mut ledger = Ledger::default();
        ledger.set(&[set(12, Some(1), Some(20))], hour(1));
        assert_eq!(ledger.changes(0, hour(2)), Some(hour(20)));
        ledger.tell(0, None, hour(16), &ana());
        ledger.tell(0, Some(40), hour(14), &ana());
        assert_eq!([13, 15, 17, 21].map(|at| on(&ledger, at)), [Some(12), Some(40), None, None]);
        assert_eq!(ledger.deciding(0, hour(17)).map(|row| row.by.words()), Some("Ana"));
    }

    #[test]
    fn it_is_the_same_after_it_was_written_down() {
        let mut ledger = Ledger::default();
        ledger.set(&[set(12, None, None)], hour(1));
        ledger.tell(0, Some(40), hour(14), &ana());
        ledger.battery_changed(0, hour(15), &ana());
        let text = serde_json::to_string(&ledger).unwrap();
        let again: Ledger = serde_json::from_str(&text).unwrap();
        assert_eq!(again, ledger);
        assert_eq!(again.on(40, hour(20)).collect::<Vec<_>>(), [0]);
        assert_eq!(again.battery(0).map(|battery| battery.at), Some(hour(15)));
    }
}
