//! What the law wants done for the calves of the season, by when: the list the record keeper works from.
//!
//! It is a reminder and no legal advice; the farm's own authority has the last word.

use super::sheet::{Column, Sheet, Table};
use crate::config::Config;
use crate::config::countries;
use crate::herd::duty::{self, Owed};
use crate::plain::english;
use crate::plain::moment::{Moment, Span};
use crate::watch::season::Season;

/// One thing owed for a calf of this dam.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Deadline {
    pub animal: String,
    pub owed: Owed,
}

/// After so long nobody mends it any more; it is a matter between the farm and the authority.
const FORGOTTEN: Span = Span::days(90);

/// Everything still owed, the most pressing first; what has been done is left out.
pub fn deadlines(season: &Season, config: &Config, now: Moment) -> Vec<Deadline> {
    let duties = countries::duties_of(&config.farm.country, &config.farm.species);
    let mut list = Vec::new();
    for dam in &season.dams {
        let row = config.animals.iter().find(|row| row.animal == dam.animal);
        let purpose = row.map_or("", |row| row.purpose.as_str());
        for case in dam.earlier.iter().chain([&dam.case]) {
            for owed in duty::owed(case, purpose, &duties, &config.farm.zone) {
                if !owed.done && now.since(owed.until) < FORGOTTEN {
                    list.push(Deadline { animal: dam.animal.to_string(), owed });
                }
            }
        }
    }
    list.sort_by(|a, b| (a.owed.until, &a.animal).cmp(&(b.owed.until, &b.animal)));
    list
}

/// How much is left, or how late it is.
pub fn left(deadline: &Deadline, now: Moment) -> String {
    let until = deadline.owed.until;
    if until > now {
        return format!("{} left", english::span(until.since(now)));
    }
    format!("{} late", english::span(now.since(until)))
}

fn calf_of(one: &Deadline) -> String {
    if one.owed.calf <= 1 {
        return format!("the calf of {}", one.animal);
    }
    format!("calf {} of {}", one.owed.calf, one.animal)
}

/// The list as a part of a page.
pub fn add_to(sheet: &mut Sheet, season: &Season, config: &Config, now: Moment) {
    sheet.heading("What the law wants");
    if countries::duties_of(&config.farm.country, &config.farm.species).is_empty() {
        let country = &config.farm.country;
        let country = if country.is_empty() { "this country" } else { country.as_str() };
        let many = &config.terms.many;
        sheet.para(format!(
            "No deadline of {country} for {many} is known here: ask your own authority."
        ));
        return;
    }
    let list = deadlines(season, config, now);
    if list.is_empty() {
        sheet.para("Nothing is owed.");
        return;
    }
    let mut table = Table::new(vec![
        Column::left("before", 4),
        Column::left("calf", 4),
        Column::left("what", 4),
        Column::left("time", 3),
    ]);
    for one in &list {
        let sure = if one.owed.guessed { " (of the earliest birth)" } else { "" };
        let until = format!("{}{sure}", config.farm.zone.date_and_clock(one.owed.until));
        let cells = [until, calf_of(one), one.owed.what.clone(), left(one, now)];
        if one.owed.until <= now { table.strong_row(cells) } else { table.row(cells) }
    }
    sheet.table(table);
    sheet.para("A reminder, no legal advice: your own authority has the last word.");
}
