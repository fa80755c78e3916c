//! What in the book cannot be so, or hardly: every row that is wrong, why, and the way out (needs.md N102).
//!
//! It mends nothing. What a person takes back by a reply is struck through, and the row is right again.

use std::collections::{BTreeMap, BTreeSet};

use super::ease;
use super::record::{Outcome, Record};
use crate::config::Config;
use crate::config::history::HistoryRow;
use crate::herd::impossible::{self, Bounds, Wrong};
use crate::plain::moment::Moment;

/// Which row is meant, as a person finds it again, and what is wrong with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubt {
    pub row: String,
    pub wrong: Wrong,
}

/// Of the calves of this season.
pub fn of_book(records: &[Record], config: &Config, now: Moment) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    let mut worn = BTreeMap::<String, String>::new();
    for row in config.history.iter().filter(|row| !row.tag.is_empty()) {
        worn.insert(
            row.tag.to_lowercase(),
            format!("the {} of {}, {}", config.terms.young, row.animal, row.calved),
        );
    }
    for record in records {
        let row =
            format!("{} {} of {}, {}", config.terms.young, record.calf, record.animal, record.day);
        let mut say = |wrong: Wrong| doubts.push(Doubt { row: row.clone(), wrong });
        impossible::time(record.born.moment(), now).into_iter().for_each(&mut say);
        let dam = config.animals.iter().find(|one| one.animal.as_str() == record.animal);
        if record.calf == 1
            && let Some(dam) = dam
        {
            // The dates of the herd file are about her latest calving alone.
            let mut dam = dam.clone();
            if record.served.is_none() {
                dam.served = None;
            }
            impossible::birth(&dam, record.day, &config.species).into_iter().for_each(&mut say);
        }
        if let Some(score) = record.no_step.filter(|_| record.calf == 1) {
            say(Wrong {
                refused: false,
                what: format!("{score} is no step of the scale {}", config.records.ease.word()),
                way_out: ease::question(config.records.ease).to_owned(),
            });
        }
        if let Some((weight, _)) = record.weight {
            impossible::birth_weight(weight.grams(), &config.species)
                .into_iter()
                .for_each(&mut say);
        }
        if let Outcome::Died(at) = record.outcome {
            impossible::time(at, now).into_iter().for_each(&mut say);
        }
        let others = worn.iter().map(|(tag, whose)| (tag.as_str(), whose.as_str()));
        impossible::tag(&record.tag, others).into_iter().for_each(&mut say);
        if !record.tag.is_empty() {
            worn.entry(record.tag.to_lowercase()).or_insert(format!("the {row}"));
        }
    }
    doubts
}

/// Of a book of last season, beside what its reading has said: what only the herd and the day can tell.
pub fn of_history(rows: &[HistoryRow], config: &Config, now: Moment) -> Vec<Doubt> {
    let today = config.farm.zone.wall(now).date();
    let mut doubts = Vec::new();
    let mut seen = BTreeSet::new();
    for (n, row) in rows.iter().enumerate() {
        let name = format!("row {} ({}, {})", n + 1, row.animal, row.calved);
        let mut say = |refused, what: String, way_out: &str| {
            let wrong = Wrong { refused, what, way_out: way_out.to_owned() };
            doubts.push(Doubt { row: name.clone(), wrong });
        };
        if row.calved > today {
            say(true, "that day is yet to come".to_owned(), "look at the year");
        }
        let born = config.animals.iter().find(|one| one.animal == row.animal).map(|one| one.born);
        match born {
            None => say(
                false,
                "she is not in the herd file".to_owned(),
                "her row is kept and used for nobody; is the number right?",
            ),
            Some(Some(born)) if born >= row.calved => {
                say(
                    true,
                    format!("she was born on {born}"),
                    "look at her number and at both dates",
                );
            }
            Some(_) => {}
        }
        let most = Bounds::of(&config.species).not_after;
        if let Some(days) = row.gestation.filter(|days| i32::from(*days) > most) {
            say(
                false,
                format!(
                    "she carried {days} days: nobody of the {} carries so long",
                    config.species.name
                ),
                "look at the day of service and at the day she calved",
            );
        }
        if !seen.insert((&row.animal, row.calved, &row.tag, row.sex)) {
            say(false, "the same calf stands in the book twice".to_owned(), "take one row out");
        }
    }
    doubts
}
