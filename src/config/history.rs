//! Last season's calving book as rows: our own export, or another's under names that are told.
//!
//! A row that could be misread is a fault, never a guess; columns that are not asked for are passed over.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::animals::Past;
use super::dates::{DateForm, NotADay};
use super::fault::Fault;
use super::faults::{Faults, Place};
use super::sheet::{Row, Sheet};
use super::suggest;
use crate::plain::ids::Animal;

/// One calf of an earlier calving.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HistoryRow {
    pub animal: Animal,
    pub calved: Date,
    pub gestation: Option<u16>,
    pub breed: String,
    /// Her first calf, where that is said.
    pub first_calf: Option<bool>,
    pub sex: Option<Sex>,
    /// On the scale of the farm that wrote it; `None` is not scored, which is not "easy".
    pub ease: Option<u8>,
    pub tag: String,
    pub fate: Option<Fate>,
    pub sire: String,
}

impl HistoryRow {
    /// How long she carried it, where the book says so: what she has lost before term tells nothing of a gestation.
    fn past(&self) -> Option<Past> {
        let lost = self.fate == Some(Fate::Aborted);
        let days = self.gestation.filter(|_| !lost)?;
        let heifer = self.first_calf?;
        let (breed, sire) = (self.breed.clone(), self.sire.clone());
        Some(Past { breed, heifer, days: i64::from(days), sire })
    }
}

/// Calves of one birth may be born on both sides of a midnight, and no dam gives birth twice within this.
const ONE_BIRTH: i32 = 7;

/// How long the farm's dams have carried a single calf: twins come earlier, and a birth is no two.
pub(super) fn past(rows: &[HistoryRow]) -> Vec<Past> {
    let mut days = BTreeMap::<&Animal, Vec<Date>>::new();
    rows.iter().for_each(|row| days.entry(&row.animal).or_default().push(row.calved));
    let near = |one: Date, other: Date| (one - other).get_days().abs() <= ONE_BIRTH;
    let is_single = |row: &&HistoryRow| {
        let of_it = days.get(&row.animal).into_iter().flatten();
        of_it.filter(|day| near(**day, row.calved)).count() == 1
    };
    rows.iter().filter(is_single).filter_map(HistoryRow::past).collect()
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sex {
    Bull,
    Heifer,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    Alive,
    BornDead,
    Died,
    Aborted,
}

/// What our columns are called in somebody else's file: (theirs, ours).
pub type Named = Vec<(String, String)>;

/// The columns that are read; a file may have any others.
pub const COLUMNS: [&str; 10] = [
    "animal",
    "calved",
    "gestation days",
    "breed",
    "first calf",
    "sex",
    "ease",
    "tag",
    "fate",
    "sire",
];

const SEXES: [(&str, Sex); 8] = [
    ("bull", Sex::Bull),
    ("b", Sex::Bull),
    ("m", Sex::Bull),
    ("male", Sex::Bull),
    ("heifer", Sex::Heifer),
    ("h", Sex::Heifer),
    ("f", Sex::Heifer),
    ("female", Sex::Heifer),
];

const FATES: [(&str, Fate); 6] = [
    ("alive", Fate::Alive),
    ("born dead", Fate::BornDead),
    ("stillborn", Fate::BornDead),
    ("dead", Fate::Died),
    ("died", Fate::Died),
    ("aborted", Fate::Aborted),
];

/// Of every species: from a sow's loss before term to a mare's and an alpaca's longest (facts.md O-03, O-05, O-07: below 109 and past 355 days).
/// Against the farm's own species it is held where that is known, in `paper/doubts.rs`.
const GESTATION: std::ops::RangeInclusive<u16> = 90..=400;

/// The widest scale has six steps (facts.md E-04).
const EASE: std::ops::RangeInclusive<u8> = 1..=6;

/// Reads a book; the faults are all of them, by place.
pub fn read(
    file: &str,
    text: &str,
    named: &Named,
    date_form: Option<&str>,
) -> (Vec<HistoryRow>, Vec<Fault>) {
    let faults = Faults::default();
    let rows = rows(file, text, named, date_form, &faults);
    let refused = faults.refused();
    (if refused { Vec::new() } else { rows }, faults.sorted(&[file]))
}

pub(super) fn rows(
    file: &str,
    text: &str,
    named: &Named,
    date_form: Option<&str>,
    faults: &Faults,
) -> Vec<HistoryRow> {
    let Some(sheet) = Sheet::read(file, text, faults) else { return Vec::new() };
    let Some(form) = form(&sheet, date_form, faults) else { return Vec::new() };
    let before = faults.refusals();
    let columns = Columns::of(&sheet, named, faults);
    if faults.refusals() > before {
        // Under wrong names every row would only say the same again.
        return Vec::new();
    }
    let mut reader = Reader { columns, form, faults, tags: BTreeSet::new() };
    sheet.rows.iter().filter_map(|row| reader.row(row)).collect()
}

/// How its dates are written: as told, as its first line says, or ISO.
fn form(sheet: &Sheet, told: Option<&str>, faults: &Faults) -> Option<DateForm> {
    let note = sheet.notes.iter().find_map(|note| note.text.strip_prefix("date-form"));
    let Some(said) = told.or(note) else { return Some(DateForm::ISO) };
    let form = DateForm::parse(said.trim_start_matches([':', '=', ' ']));
    if form.is_none() {
        let title = format!("{said} does not say how dates are written");
        faults.refuse(sheet.head_place(), title, "write d/m/y, or another order of d, m and y");
    }
    form
}

/// Where each of our columns stands in the file.
struct Columns(BTreeMap<&'static str, usize>);

impl Columns {
    fn of(sheet: &Sheet, named: &Named, faults: &Faults) -> Self {
        for (theirs, ours) in named {
            if !COLUMNS.contains(&ours.as_str()) {
                let help = suggest::way_out("columns that are read", ours, &COLUMNS);
                faults.refuse(sheet.head_place(), format!("{ours} is no column of ours"), help);
            }
            if sheet.column(&theirs.to_lowercase()).is_none() {
                let names: Vec<&str> = sheet.columns().iter().map(String::as_str).collect();
                let help = suggest::way_out("columns of the file", theirs, &names);
                faults.refuse(sheet.head_place(), format!("there is no column {theirs}"), help);
            }
        }
        let place = |ours: &'static str| {
            let theirs = named.iter().find(|(_, one)| one == ours).map(|(theirs, _)| theirs);
            let name = theirs.map_or_else(|| ours.to_owned(), |theirs| theirs.to_lowercase());
            sheet.column(&name).map(|place| (ours, place))
        };
        let columns = Self(COLUMNS.into_iter().filter_map(place).collect());
        for needed in ["animal", "calved"] {
            if !columns.0.contains_key(needed) {
                let title = format!("no column says {needed}");
                let help = format!("name it: --columns \"their name={needed}\"");
                faults.refuse(sheet.head_place(), title, help);
            }
        }
        columns
    }

    fn place(&self, column: &str) -> Option<usize> {
        self.0.get(column).copied()
    }
}

struct Reader<'f> {
    columns: Columns,
    form: DateForm,
    faults: &'f Faults,
    tags: BTreeSet<String>,
}

impl Reader<'_> {
    fn row(&mut self, row: &Row) -> Option<HistoryRow> {
        let animal = self.text(row, "animal");
        if animal.is_empty() {
            let help = "write her number, with its leading zeros, or take the row out";
            self.refuse(row, "animal", "this row has no animal".to_owned(), help);
        }
        let calved = self.date(row)?;
        let animal = Animal::new(&animal);
        let tag = self.text(row, "tag");
        if !tag.is_empty() && !self.tags.insert(tag.clone()) {
            let help = "two calves cannot wear one number: look at both rows";
            self.refuse(row, "tag", format!("the tag {tag} stands in this book twice"), help);
        }
        Some(HistoryRow {
            animal,
            calved,
            gestation: self.number(row, "gestation days", GESTATION),
            breed: self.text(row, "breed"),
            first_calf: self.word(row, "first calf", &[("yes", true), ("no", false)]),
            sex: self.word(row, "sex", &SEXES),
            ease: self.number(row, "ease", EASE),
            tag,
            fate: self.word(row, "fate", &FATES),
            sire: self.text(row, "sire"),
        })
    }

    /// What a cell says, without what spreadsheets wrap around a number that is a text.
    fn text(&self, row: &Row, column: &str) -> String {
        let cell = row.cell(self.columns.place(column));
        let held = cell.strip_prefix("=\"").and_then(|cell| cell.strip_suffix('"'));
        let inner = held.map_or_else(|| cell.to_owned(), |cell| cell.replace("\"\"", "\""));
        inner.trim().to_owned()
    }

    fn date(&self, row: &Row) -> Option<Date> {
        let text = self.text(row, "calved");
        let help = "write 2026-02-14, or say the order in a first line such as # date-form: d/m/y";
        match self.form.read(&text) {
            Ok(date) => return Some(date),
            Err(NotADay::Ambiguous(one, other)) => {
                self.refuse(row, "calved", format!("{text} could be {one} or {other}"), help);
            }
            Err(NotADay::No) if text.is_empty() => {
                let help = "write the day she calved, or take the row out";
                self.refuse(row, "calved", "this row says no day".to_owned(), help);
            }
            Err(NotADay::No) => self.refuse(row, "calved", format!("{text} is not a date"), help),
        }
        None
    }

    fn number<T>(&self, row: &Row, column: &str, range: std::ops::RangeInclusive<T>) -> Option<T>
    where
        T: std::str::FromStr + PartialOrd + std::fmt::Display,
    {
        let text = self.text(row, column);
        if text.is_empty() {
            return None;
        }
        let number = text.parse().ok().filter(|number| range.contains(number));
        if number.is_none() {
            let help = format!("it may be {} to {}, or empty", range.start(), range.end());
            self.refuse(row, column, format!("{column} cannot be {text}"), &help);
        }
        number
    }

    fn word<T: Copy>(&self, row: &Row, column: &str, words: &[(&str, T)]) -> Option<T> {
        let text = self.text(row, column).to_lowercase();
        if text.is_empty() {
            return None;
        }
        let found = words.iter().find(|(word, _)| *word == text).map(|(_, meaning)| *meaning);
        if found.is_none() {
            let names: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let title = format!("{column} cannot be {text}");
            self.refuse(row, column, title, &suggest::one_of(&text, &names));
        }
        found
    }

    fn refuse(&self, row: &Row, column: &str, title: String, help: &str) {
        let at: Place = row.place(self.columns.place(column));
        self.faults.refuse(&at, title, help);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn titles(text: &str, named: &[(&str, &str)], dates: Option<&str>) -> (usize, Vec<String>) {
        let named = named.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
        let (rows, faults) = read("book.csv", text, &named, dates);
        (rows.len(), faults.into_iter().map(|fault| fault.title).collect())
    }

    #[test]
    fn a_book_of_another_hand_is_read_under_the_names_that_are_told() {
        let text = "\u{feff}Cow;Birth;Diff\r\n=\"0114\";03.04.2025;2\r\n";
        let named = [("Cow", "animal"), ("birth", "calved"), ("Diff", "ease")];
        let named = named.map(|(a, b)| (a.to_owned(), b.to_owned())).to_vec();
        let (rows, faults) = read("book.csv", text, &named, Some("d.m.y"));
        assert_eq!(faults, []);
        assert_eq!(rows[0].animal.as_str(), "0114", "the leading zero counts");
        assert_eq!((rows[0].calved.to_string().as_str(), rows[0].ease), ("2025-04-03", Some(2)));
    }

    #[test]
    fn every_fault_of_a_book_is_said_at_once_and_then_no_row_is_taken() {
        let text =
            "animal,calved,ease,tag,gestation days\n114,03/04/2025,,A1,\n,2025-04-01,7,A1,401\n";
        let (rows, faults) = titles(text, &[], None);
        assert_eq!(rows, 0);
        assert_eq!(
            faults,
            [
                "03/04/2025 could be 2025-04-03 or 2025-03-04",
                "this row has no animal",
                "ease cannot be 7",
                "gestation days cannot be 401",
            ]
        );
        let (_, faults) =
            titles("animal,calved,tag\n1,2025-04-01,A1\n2,2025-04-02,A1\n", &[], None);
        assert_eq!(faults, ["the tag A1 stands in this book twice"]);
        let (_, faults) = titles("cow,calved\n1,2025-04-01\n", &[("cov", "animall")], None);
        assert_eq!(
            faults,
            ["animall is no column of ours", "there is no column cov", "no column says animal"]
        );
    }

    #[test]
    fn an_empty_score_stays_empty() {
        // facts.md E-04: blank is not unassisted.
        let (rows, _) = read("b", "animal,calved,ease\n1,2025-04-01,\n", &Vec::new(), None);
        assert_eq!(rows[0].ease, None);
    }
}
