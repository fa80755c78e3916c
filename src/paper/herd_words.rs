//! What a page says of one dam in a few words: her name, her place, her past, what was seen of her.

use crate::config::Config;
use crate::config::animals::{AnimalRow, Parity};
use crate::config::species_terms::Terms;
use crate::herd::case::Case;
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::ids::Animal;
use crate::talk::due::DueView;
use crate::talk::watched::Watched;
use crate::watch::season::{DamRecord, Season};
use crate::watch::view::DamView;

/// An ease score from which a birth was more than a little help (facts.md E-01, E-04, herd book guidelines: 3 is major or hard).
const HARD: u8 = 3;

/// All that the papers know of one dam.
pub(super) struct OfHer<'a> {
    pub(super) view: &'a DamView,
    pub(super) row: Option<&'a AnimalRow>,
    pub(super) record: Option<&'a DamRecord>,
    pub(super) watched: Option<&'a Watched>,
    /// Her line of the list of who is due.
    pub(super) due: Option<&'a DueView>,
    /// The words of her species.
    pub(super) terms: &'a Terms,
    /// From this temper on she is known to turn on people.
    mind_from: u8,
}

/// Every dam of the herd file, in its order.
pub(super) fn all<'a>(season: &'a Season, config: &'a Config) -> Vec<OfHer<'a>> {
    use std::collections::BTreeMap;
    let rows: BTreeMap<&Animal, &AnimalRow> =
        config.animals.iter().map(|row| (&row.animal, row)).collect();
    let records: BTreeMap<&Animal, &DamRecord> =
        season.dams.iter().map(|record| (&record.animal, record)).collect();
    let watched: BTreeMap<&Animal, &Watched> =
        season.board.watched.iter().map(|row| (&row.animal, row)).collect();
    let due: BTreeMap<&Animal, &DueView> =
        season.board.due.iter().map(|row| (&row.animal, row)).collect();
    let dams = season.board.dams.iter().map(|view| OfHer {
        view,
        row: rows.get(&view.animal).copied(),
        record: records.get(&view.animal).copied(),
        watched: watched.get(&view.animal).copied(),
        due: due.get(&view.animal).copied(),
        terms: &config.terms,
        mind_from: config.farm.mind_from,
    });
    dams.collect()
}

impl OfHer<'_> {
    pub(super) fn name(&self) -> String {
        [self.view.animal.as_str(), &self.view.name].join(" ").trim_end().to_owned()
    }

    pub(super) fn has_begun(&self) -> bool {
        match self.view.stage {
            Stage::First | Stage::Second | Stage::Third => true,
            Stage::Carrying | Stage::Recovering | Stage::Closed => false,
        }
    }

    /// Whoever goes among them meets her: begun, due, or fresh with her calf.
    pub(super) fn is_met(&self) -> bool {
        self.watched.is_some() || self.has_begun() || self.view.stage == Stage::Recovering
    }

    pub(super) fn is_heifer(&self) -> bool {
        self.record.is_some_and(|record| record.parity == Parity::Heifer)
    }

    pub(super) fn turns_on_people(&self) -> bool {
        self.row.and_then(|row| row.temper).is_some_and(|temper| temper >= self.mind_from)
    }

    /// "temper 5 of 6: turned on Tom last year".
    pub(super) fn temper(&self) -> Option<String> {
        let row = self.row?;
        let temper = row.temper.filter(|temper| *temper >= self.mind_from)?;
        let notes = if row.notes.is_empty() { String::new() } else { format!(": {}", row.notes) };
        Some(format!("temper {temper} of 6{notes}"))
    }

    /// When she may calve: "11-20 to 12-10, over".
    pub(super) fn window(&self) -> String {
        let Some(watched) = self.watched else { return String::new() };
        let short = |date: &str| date.get(5..).unwrap_or(date).to_owned();
        match &watched.window {
            Some((from, until)) => {
                let over = if watched.overdue { ", over" } else { "" };
                format!("{} to {}{over}", short(from), short(until))
            }
            None => "no date".to_owned(),
        }
    }

    /// What makes her one to look at twice: marks of this time, then what is known of her.
    pub(super) fn odd(&self) -> Vec<String> {
        let mut words = Vec::new();
        if self.view.alerts > 0 {
            words.push("an alert is open".to_owned());
        }
        if let Some(watched) = self.watched.filter(|row| !row.watched) {
            let nobody =
                if watched.devices.is_empty() { "no sensor" } else { "her sensor is silent" };
            words.push(format!("unwatched ({nobody})"));
        }
        for device in self.watched.iter().flat_map(|row| &row.devices) {
            if !device.alive && !device.only_pictures {
                words.push(format!("{} is not heard", device.device));
            }
        }
        if let Some(record) = self.record {
            let case = &record.case;
            for mark in [Mark::BaggedUp, Mark::Slack, Mark::Restless, Mark::OffFeed, Mark::Down] {
                if case.of(mark).next().is_some() && self.view.stage == Stage::Carrying {
                    words.push(mark.word().to_owned());
                }
            }
            let trouble = trouble(&record.earlier);
            words.extend(trouble.iter().map(|said| self.terms.in_words(said)));
        }
        if let Some(row) = self.row {
            if row.scanned.is_some_and(|calves| calves > 1) {
                words.push(self.terms.in_words("more than one calf scanned"));
            }
            if self.watched.is_some_and(|row| row.overdue) {
                words.push("past her window".to_owned());
            }
        }
        words
    }
}

/// What went wrong at earlier calvings.
fn trouble(earlier: &[Case]) -> Vec<&'static str> {
    let has = |mark: Mark| earlier.iter().any(|case| case.of(mark).next().is_some());
    let hard = earlier
        .iter()
        .flat_map(|case| case.of(Mark::Helped))
        .any(|noted| noted.note.trim().parse().is_ok_and(|score: u8| score >= HARD));
    let mut words = Vec::new();
    for (so, what) in [
        (hard, "hard calving before"),
        (has(Mark::CalfDead), "lost a calf before"),
        (has(Mark::Prolapse), "prolapse before"),
        (has(Mark::Wobbly) || has(Mark::Down), "wobbly or down before"),
    ] {
        if so {
            words.push(what);
        }
    }
    words
}
