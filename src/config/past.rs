//! Reads the calvings of past seasons: served on this day, calved on that one. A farm's own gestations may
//! then replace the figures of its breeds.
//!
//! A row without one of the two dates tells nothing and is passed over; one that cannot be is a fault.

use jiff::civil::Date;

use super::SettingsText;
use super::animals::Past;
use super::farm::FarmRead;
use super::faults::Faults;
use super::herd::{check_date, date_form};
use super::sheet::{Row, Sheet};

/// Columns that mean something; any other is passed over.
const NEEDED: [&str; 4] = ["breed", "calvings", "served", "calved"];

/// No animal of a farm carries longer.
const DAYS_MAX: i64 = 500;

pub(super) fn read(settings: &SettingsText, farm: &FarmRead, faults: &Faults) -> Vec<Past> {
    let Some(name) = &farm.past else { return Vec::new() };
    let mut files = settings.files.iter().skip(1);
    let Some(text) = files.find(|text| text.name == name.is) else {
        let title = format!("the file of past calvings {} is not there", name.is);
        faults.refuse(&name.at, title, "names are relative to farm.toml");
        return Vec::new();
    };
    let Some(sheet) = Sheet::read(&text.name, &text.text, faults) else { return Vec::new() };
    for column in NEEDED.into_iter().filter(|name| sheet.column(name).is_none()) {
        let title = format!("no column is called {column}");
        let help = "the first line names the columns: breed,calvings,served,calved,sire";
        faults.refuse(sheet.head_place(), title, help);
    }
    let form = date_form(&sheet, faults);
    let day = |row: &Row, name: &str| -> Option<Date> {
        check_date(row, sheet.column(name), form, false, faults).map(|(day, _)| day)
    };
    let past = sheet.rows.iter().filter_map(|row| {
        let (served, calved) = (day(row, "served")?, day(row, "calved")?);
        let days = served.until(calved).map_or(0, |span| i64::from(span.get_days()));
        if !(1..=DAYS_MAX).contains(&days) {
            let title = format!("she cannot have carried {days} days");
            let help = "served must be the day of the service that this calf is of";
            faults.refuse(&row.place(sheet.column("calved")), title, help);
            return None;
        }
        Some(Past {
            breed: row.cell(sheet.column("breed")).to_owned(),
            heifer: row.cell(sheet.column("calvings")) == "0",
            days,
            sire: row.cell(sheet.column("sire")).to_owned(),
        })
    });
    past.collect()
}
