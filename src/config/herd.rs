//! Reads the herd file, one row a dam. A row that could be misread is a fault, never a guess.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::animals::{AnimalRow, Parity, Service};
use super::dates::{DateForm, NotADay};
use super::faults::{Faults, Place, Placed};
use super::sheet::{Row, Sheet};
use super::suggest;
use crate::plain::eid::{self, Giver, Wrong};
use crate::plain::ids::Animal;

/// The farm's animals, by every name they have.
#[derive(Debug, Default)]
pub(super) struct Herd {
    pub(super) rows: Vec<AnimalRow>,
    names: BTreeMap<String, Animal>,
    file: File,
}

#[derive(Debug, Default, PartialEq, Eq)]
enum File {
    #[default]
    NotNamed,
    /// Named, but not to be read: that has been said.
    Unread,
    Read,
}

/// Columns that mean something; any other is the farm's own.
const COLUMNS: [&str; 15] = [
    "animal", "name", "born", "calvings", "served", "service", "due", "sire", "breed", "group",
    "temper", "notes", "eid", "scanned", "purpose",
];

const PURPOSES: [&str; 2] = ["dairy", "beef"];

/// From docile to aggressive, as calving books have it (needs.md N104).
const TEMPERS: std::ops::RangeInclusive<u32> = 1..=6;

/// No dam of any species here carries more.
const SCANNED_MAX: u32 = 20;

const SERVICES: [&str; 4] = ["ai", "bull", "et", "scan"];

const SERVED: [Service; 4] = [Service::Ai, Service::Bull, Service::Embryo, Service::Scan];

/// An animal's number goes into every text: it must leave room for the rest.
const ANIMAL_MAX: usize = 20;

/// Looking for the nearest of a whole herd takes long, and nobody mends more at a time.
const SUGGESTED_MAX: usize = 50;

/// No cow has calved so often.
const CALVINGS_MAX: u32 = 30;

impl Herd {
    pub(super) fn unread() -> Self {
        Self { file: File::Unread, ..Self::default() }
    }

    pub(super) fn read(file: &str, text: &str, faults: &Faults) -> Self {
        let Some(sheet) = Sheet::read(file, text, faults) else {
            return Self::unread();
        };
        let form = date_form(&sheet, faults);
        check_columns(&sheet, faults);
        let mut herd = Self { file: File::Read, ..Self::default() };
        for row in &sheet.rows {
            let dates = check_row(&sheet, row, form, faults);
            herd.add(&sheet, row, dates, faults);
        }
        warn_of_unknown_parity(&sheet, faults);
        herd
    }

    /// The animal of that number or electronic number.
    pub(super) fn find(&self, name: &Placed<String>, faults: &Faults) -> Option<Animal> {
        if let Some(animal) = self.names.get(name.is.as_str()) {
            return Some(animal.clone());
        }
        let title = format!("there is no animal {}", name.is);
        match self.file {
            File::Unread => {}
            File::NotNamed => {
                let help = "name the herd file: [farm] herd = \"herd.csv\"";
                faults.refuse(&name.at, title, help);
            }
            File::Read if faults.refusals() >= SUGGESTED_MAX => {
                faults.refuse(&name.at, title, "the herd file has no row for her");
            }
            File::Read => {
                let names: Vec<&str> = self.names.keys().map(String::as_str).collect();
                let help = suggest::way_out("animals in the herd file", &name.is, &names);
                faults.refuse(&name.at, title, help);
            }
        }
        None
    }

    fn add(&mut self, sheet: &Sheet, row: &Row, dates: Dates, faults: &Faults) {
        let cell = |column| row.cell(sheet.column(column));
        let place = |column| row.place(sheet.column(column));
        let animal = cell("animal");
        if sheet.column("animal").is_none() {
            return;
        }
        if animal.is_empty() {
            let title = "this row has no animal";
            let help = "write her number, with its leading zeros";
            faults.refuse(&place("animal"), title, help);
            return;
        }
        if animal.chars().count() > ANIMAL_MAX || animal.chars().any(char::is_control) {
            let title = format!("an animal's number has at most {ANIMAL_MAX} letters");
            let help = "it stands in every text; keep what the farm calls her by";
            faults.refuse(&place("animal"), title, help);
        }
        let animal = Animal::new(animal);
        self.name(animal.as_str(), &animal, &place("animal"), faults);
        let eid = cell("eid");
        if !eid.is_empty() {
            check_eid(eid, &place("eid"), faults);
            if eid != animal.as_str() {
                self.name(eid, &animal, &place("eid"), faults);
            }
        }
        let calvings = cell("calvings").parse::<u16>().ok();
        let parity = if calvings == Some(0) { Parity::Heifer } else { Parity::Cow };
        let own = sheet.columns().iter().filter(|name| !COLUMNS.contains(&name.as_str()));
        let own = own.map(|name| (name.clone(), cell(name).to_owned()));
        self.rows.push(AnimalRow {
            animal,
            name: cell("name").to_owned(),
            eid: (!eid.is_empty()).then(|| eid.to_owned()),
            parity,
            calvings,
            born: dates.born,
            sire: cell("sire").to_owned(),
            breed: cell("breed").to_owned(),
            temper: number(sheet, row, "temper", TEMPERS, faults),
            scanned: number(sheet, row, "scanned", 0..=SCANNED_MAX, faults),
            purpose: purpose(sheet, row, faults),
            group: cell("group").to_owned(),
            notes: cell("notes").to_owned(),
            served: dates.served,
            due: dates.due,
            service: dates.service,
            own: own.filter(|(_, cell)| !cell.is_empty()).collect(),
        });
    }

    fn name(&mut self, name: &str, animal: &Animal, at: &Place, faults: &Faults) {
        if self.names.contains_key(name) {
            let title = format!("{name} is in the herd file twice");
            let help = "give each animal one row and numbers of her own";
            faults.refuse(at, title, help);
            return;
        }
        self.names.insert(name.to_owned(), animal.clone());
    }
}

/// ISO 11784 (standards.md ID-01 to ID-03).
fn check_eid(eid: &str, at: &Place, faults: &Faults) {
    let title = format!("{eid} is not an electronic number");
    match eid::read(eid) {
        Ok(Giver::Country | Giver::Maker) => {}
        Ok(Giver::Test) => {
            let help = "999 in front is for trying readers out; read her tag again";
            faults.warn(at, format!("{eid} is a test number"), help);
        }
        Err(Wrong::Digits) => {
            let help =
                "it has 15 digits; a spreadsheet may have cut them: format the column as text";
            faults.refuse(at, title, help);
        }
        Err(Wrong::TooHigh) => {
            let help =
                "behind the country it ends at 274877906943 (ISO 11784): a digit is wrong in it";
            faults.refuse(at, title, help);
        }
    }
}

/// When a row says she may calve.
struct Dates {
    born: Option<Date>,
    served: Option<Range>,
    due: Option<Range>,
    service: Option<Service>,
}

/// Two days, the earlier first.
type Range = (Date, Date);

/// What is said of a row's cells besides who she is.
fn check_row(sheet: &Sheet, row: &Row, form: DateForm, faults: &Faults) -> Dates {
    let date = |name, is_range| check_date(row, sheet.column(name), form, is_range, faults);
    let born = date("born", false).map(|(day, _)| day);
    let (served, due) = (date("served", true), date("due", true));
    let column = sheet.column("service");
    let service = row.cell(column);
    if !service.is_empty() && !SERVICES.contains(&service.to_lowercase().as_str()) {
        let title = format!("service cannot be {service}");
        let help = suggest::one_of(service, &SERVICES);
        faults.refuse(&row.place(column), title, help);
    }
    let place = SERVICES.iter().position(|word| *word == service.to_lowercase());
    let dates = Dates { born, served, due, service: place.map(|place| SERVED[place]) };
    let column = sheet.column("calvings");
    let calvings = row.cell(column);
    let number = calvings.parse::<u32>();
    if !calvings.is_empty() && !number.is_ok_and(|number| number <= CALVINGS_MAX) {
        let title = format!("calvings cannot be {calvings}");
        let help = format!("write how often she has calved: 0 to {CALVINGS_MAX}");
        faults.refuse(&row.place(column), title, help);
    }
    dates
}

/// A small whole number; an empty cell is none.
fn number(
    sheet: &Sheet,
    row: &Row,
    name: &str,
    allowed: std::ops::RangeInclusive<u32>,
    faults: &Faults,
) -> Option<u8> {
    let column = sheet.column(name);
    let cell = row.cell(column);
    if cell.is_empty() {
        return None;
    }
    let number = cell.parse::<u32>().ok().filter(|number| allowed.contains(number));
    if number.is_none() {
        let title = format!("{name} cannot be {cell}");
        let help = format!("write a number from {} to {}", allowed.start(), allowed.end());
        faults.refuse(&row.place(column), title, help);
    }
    number.and_then(|number| u8::try_from(number).ok())
}

fn purpose(sheet: &Sheet, row: &Row, faults: &Faults) -> String {
    let column = sheet.column("purpose");
    let cell = row.cell(column).to_lowercase();
    if !cell.is_empty() && !PURPOSES.contains(&cell.as_str()) {
        let title = format!("purpose cannot be {cell}");
        faults.refuse(&row.place(column), title, suggest::one_of(&cell, &PURPOSES));
    }
    cell
}

pub(super) fn check_date(
    row: &Row,
    column: Option<usize>,
    form: DateForm,
    is_range: bool,
    faults: &Faults,
) -> Option<Range> {
    let text = row.cell(column);
    if text.is_empty() {
        return None;
    }
    let read = if is_range { form.read_range(text) } else { form.read(text).map(|day| (day, day)) };
    let at = row.place(column);
    match read {
        Ok((from, until)) if from <= until => return Some((from, until)),
        Ok((from, until)) => {
            let title = format!("the range ends on {until}, before it begins on {from}");
            faults.refuse(&at, title, "write the earlier date first");
        }
        Err(NotADay::Ambiguous(one, other)) => {
            let title = format!("{text} could be {one} or {other}");
            let help = "write 2026-02-14, or say how the file writes dates in a first line such as # date-form: d/m/y";
            faults.refuse(&at, title, help);
        }
        Err(NotADay::No) => {
            let title = format!("{text} is not a date");
            let help = "write 2026-02-14, or say how the file writes dates in a first line such as # date-form: d/m/y";
            faults.refuse(&at, title, help);
        }
    }
    None
}

pub(super) fn date_form(sheet: &Sheet, faults: &Faults) -> DateForm {
    let mut form = DateForm::ISO;
    for note in &sheet.notes {
        let Some(text) = note.text.strip_prefix("date-form") else {
            continue;
        };
        match DateForm::parse(text.trim_start_matches([':', '=', ' '])) {
            Some(said) => form = said,
            None => {
                let title = "this does not say how dates are written";
                faults.refuse(
                    &note.at,
                    title,
                    "write # date-form: d/m/y, or another order of d, m and y",
                );
            }
        }
    }
    form
}

fn check_columns(sheet: &Sheet, faults: &Faults) {
    if sheet.column("animal").is_none() {
        let title = "no column is called animal";
        let help = "the first line names the columns: animal,name,born,calvings,…";
        faults.refuse(sheet.head_place(), title, help);
    }
    for (n, column) in sheet.columns().iter().enumerate() {
        if COLUMNS.contains(&column.as_str()) {
            continue;
        }
        // A column of the farm's own is welcome, unless it looks like a slip.
        let missing: Vec<&str> =
            COLUMNS.into_iter().filter(|name| sheet.column(name).is_none()).collect();
        if let Some(name) = suggest::nearest(column, &missing) {
            let title = format!("the column {column} is not read");
            let help = format!("did you mean {name}?");
            faults.warn(&sheet.column_place(n), title, help);
        }
    }
}

/// Who has not said how often she has calved is watched by the shorter, safer limits of a cow.
fn warn_of_unknown_parity(sheet: &Sheet, faults: &Faults) {
    let column = sheet.column("calvings");
    let help =
        "they are taken as cows, whose limits are the shorter and safer ones; write 0 for a heifer";
    if column.is_none() {
        let title = "no column calvings says which animals are heifers";
        faults.warn(sheet.head_place(), title, help);
        return;
    }
    let silent = |row: &&Row| row.cell(column).is_empty();
    if let Some(first) = sheet.rows.iter().find(silent) {
        let count = sheet.rows.iter().filter(silent).count();
        let title = format!("calvings is empty for {}", animals(count));
        faults.warn(&first.place(column), title, help);
    }
}

fn animals(count: usize) -> String {
    if count == 1 { "1 animal".to_owned() } else { format!("{count} animals") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::rc::Rc;

    fn read(text: &str) -> (Herd, Vec<String>) {
        let faults = Faults::default();
        let herd = Herd::read("herd.csv", text, &faults);
        let list = faults.sorted(&[]);
        (herd, list.into_iter().map(|fault| fault.title).collect())
    }

    #[test]
    fn a_dam_keeps_her_leading_zeros_and_her_second_name() {
        let (herd, faults) = read("eid,animal,calvings\n372000000000114,0114,0\n,114,4\n");
        assert_eq!(faults, [""; 0]);
        let rows: Vec<(&str, Parity)> =
            herd.rows.iter().map(|row| (row.animal.as_str(), row.parity)).collect();
        assert_eq!(rows, [("0114", Parity::Heifer), ("114", Parity::Cow)]);
        let faults = Faults::default();
        let name = Placed {
            is: "372000000000114".to_owned(),
            at: Place { file: Rc::from("farm.toml"), span: None },
        };
        assert_eq!(herd.find(&name, &faults), Some(Animal::new("0114")));
    }

    #[test]
    fn no_two_animals_share_a_number() {
        let (herd, faults) = read("animal,calvings,eid\n114,0,\n114,1,\n");
        assert_eq!(faults, ["114 is in the herd file twice"]);
        assert_eq!(herd.rows.len(), 2);
        let (_, faults) = read("animal,calvings,eid\n1,0,372000000000114\n2,1,372000000000114\n");
        assert_eq!(faults, ["372000000000114 is in the herd file twice"]);
    }

    #[test]
    fn an_electronic_number_is_held_to_iso_11784() {
        let of = |eid: &str| read(&format!("animal,calvings,eid\n1,0,{eid}\n")).1;
        assert_eq!(of("982000123456789"), [""; 0]);
        assert_eq!(of("826274877906944"), ["826274877906944 is not an electronic number"]);
        assert_eq!(of("37200000000401X"), ["37200000000401X is not an electronic number"]);
        assert_eq!(of("999000000000000"), ["999000000000000 is a test number"]);
    }

    #[test]
    fn dates_are_never_guessed() {
        let (_, faults) = read("animal,calvings,served\n1,0,03/04/2026\n2,0,25/12/2026\n");
        assert_eq!(
            faults,
            ["03/04/2026 could be 2026-04-03 or 2026-03-04", "25/12/2026 is not a date"]
        );
        let (_, faults) =
            read("# date-form: d/m/y\nanimal,calvings,served\n1,0,03/04/2026\n2,0,25/12/2026\n");
        assert_eq!(faults, [""; 0]);
    }

    #[test]
    fn an_animal_of_unknown_parity_is_watched_as_a_cow() {
        let (herd, faults) = read("animal,calvings\n1,\n2,0\n3,\n");
        assert_eq!(faults, ["calvings is empty for 2 animals"]);
        assert_eq!(herd.rows[0].parity, Parity::Cow);
        let (herd, faults) = read("animal\n1\n");
        assert_eq!(faults, ["no column calvings says which animals are heifers"]);
        assert_eq!(herd.rows[0].parity, Parity::Cow);
    }
}
