//! The vet's card as a page: five lines to read aloud, how to find the farm, and the whole record below.

use super::made;
use super::sheet::{Column, Sheet, Table};
use super::tonight;
use crate::config::Config;
use crate::plain::ids::Animal;
use crate::talk::cautions;
use crate::talk::vet_card::{self, Facts};
use crate::watch::season::{DamRecord, Season};

/// Lines of her record on the page: the latest.
const NOTED_MAX: usize = 40;

/// What the card is made of; `None` if the watch knows no such dam.
pub fn facts<'a>(season: &'a Season, config: &'a Config, animal: &str) -> Option<Facts<'a>> {
    let record = record(season, config, animal)?;
    let window = season.board.due.iter().find(|row| row.animal == record.animal);
    Some(Facts {
        farm: &config.farm,
        animal: &record.animal,
        row: config.animals.iter().find(|row| row.animal == record.animal),
        parity: record.parity,
        stage: record.stage,
        case: &record.case,
        window: window.map(|row| (row.from.to_string(), row.until.to_string())),
        now: season.board.now,
    })
}

/// By number, by the number in her ear, or by a name that only she has.
fn record<'a>(season: &'a Season, config: &Config, said: &str) -> Option<&'a DamRecord> {
    let by_number = |animal: &Animal| season.dams.iter().find(|record| record.animal == *animal);
    if let Some(record) = by_number(&Animal::new(said)) {
        return Some(record);
    }
    let said = said.to_lowercase();
    let mut rows = config.animals.iter().filter(|row| {
        row.name.to_lowercase() == said || row.eid.as_ref().is_some_and(|eid| *eid == said)
    });
    let row = rows.next()?;
    if rows.next().is_some() { None } else { by_number(&row.animal) }
}

pub fn sheet(season: &Season, config: &Config, animal: &str) -> Option<Sheet> {
    let facts = facts(season, config, animal)?;
    let card = vet_card::card(&facts);
    let mut sheet = Sheet::new(format!("Vet card: {}", facts.animal), made(season, config));
    if let Some(temper) =
        facts.row.and_then(|row| row.temper).filter(|temper| *temper >= config.farm.mind_from)
    {
        sheet.caution([format!("She turns on people: temper {temper} of 6. Tell the vet first.")]);
    }
    sheet.heading("Read this aloud");
    card.lines.iter().for_each(|line| sheet.para(line.as_str()));
    sheet.para(card.place.as_str());
    let vets = tonight::vets(config);
    if !vets.is_empty() {
        sheet.heading("Call");
        sheet.lines(vets);
    }
    sheet.heading("Her record");
    let zone = &config.farm.zone;
    let mut table = Table::new(vec![
        Column::left("when", 4),
        Column::left("what", 4),
        Column::left("more", 6),
        Column::left("said by", 3),
    ]);
    let noted: Vec<_> = facts.case.standing().collect();
    let skip = noted.len().saturating_sub(NOTED_MAX);
    for one in noted.into_iter().skip(skip) {
        let about = if one.timed { "" } else { "told " };
        let when = format!("{about}{}", zone.date_and_clock(one.at));
        let calf = one.calf.filter(|_| facts.case.calves().len() > 1);
        let calf = calf.map_or(String::new(), |calf| format!(" (calf {calf})"));
        table.row([when, format!("{}{calf}", one.mark.word()), one.note.clone(), one.by.clone()]);
    }
    if table.rows.is_empty() {
        sheet.para("Nothing is noted of her.");
    } else {
        sheet.table(table);
    }
    sheet.heading("What the vet says");
    sheet.blank(4);
    sheet.caution(cautions::FULL.trim().lines().map(str::trim));
    Some(sheet)
}
