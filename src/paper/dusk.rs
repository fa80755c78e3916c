//! The page of each dusk: who is on, whom to watch, and what is proven before dark and what is not.

use super::herd_words::{self, OfHer};
use super::sheet::{Column, Sheet, Table};
use super::{made, proof, tonight};
use crate::config::Config;
use crate::config::species_terms::Terms;
use std::collections::BTreeMap;

use crate::plain::english;
use crate::plain::ids::Animal;
use crate::plain::zone::Zone;
use crate::talk::{cautions, phrases, reason};
use crate::watch::season::Season;

pub fn sheet(season: &Season, config: &Config) -> Sheet {
    let zone = &config.farm.zone;
    let board = &season.board;
    let dams = herd_words::all(season, config);
    let mut sheet = Sheet::new("Dusk page", made(season, config));
    temper(&mut sheet, dams.iter().filter(|dam| dam.is_met()));
    people(&mut sheet, season, config);
    sheet.heading("Begun, and open alerts");
    let begun: Vec<&OfHer<'_>> = dams.iter().filter(|dam| dam.has_begun()).collect();
    if begun.is_empty() && board.alerts.is_empty() {
        sheet.para("Nobody has begun and no alert is open.");
    }
    sheet.lines(begun.iter().map(|dam| begun_line(dam, season, zone, &config.terms)));
    sheet.lines(board.alerts.iter().map(|alert| {
        let due = zone.clock_by(alert.due, board.now);
        let stands = match &alert.holder {
            Some(who) => format!("{who} has it until {due}"),
            None if alert.put_off => format!("Put off until {due}"),
            None => "Nobody has it yet".to_owned(),
        };
        format!("Alert {} ({}): {}. {stands}.", alert.no, alert.priority, alert.head)
    }));
    sheet.lines(board.quiet.line());
    due(&mut sheet, &dams, season, zone);
    odd(&mut sheet, &dams);
    let proof = proof::of(season, config);
    sheet.heading("Proven");
    sheet.lines(proof.proven);
    sheet.heading("Only assumed");
    sheet.lines(proof.assumed);
    sheet.caution(cautions::FULL.trim().lines().map(str::trim));
    sheet
}

/// Who turns on people comes before everything else (needs.md N104).
pub(super) fn temper<'a>(sheet: &mut Sheet, dams: impl Iterator<Item = &'a OfHer<'a>>) {
    let flagged = dams.filter_map(|dam| {
        let temper = dam.temper()?;
        Some(format!("{} {}: {temper}.", dam.name(), dam.view.group).replace(" :", ":"))
    });
    let flagged: Vec<String> = flagged.collect();
    if !flagged.is_empty() {
        let head = "Never alone with these, and know your way out first:".to_owned();
        sheet.caution(std::iter::once(head).chain(flagged));
    }
}

pub(super) fn people(sheet: &mut Sheet, season: &Season, config: &Config) {
    let zone = &config.farm.zone;
    sheet.heading("On tonight");
    let mut table = Table::new(vec![
        Column::left("from", 2),
        Column::left("until", 2),
        Column::left("on duty", 7),
        Column::left("backup", 7),
    ]);
    for turn in tonight::turns(config, season.board.now) {
        let hours = [zone.clock(turn.from), zone.clock(turn.until)];
        let backup = if turn.backup.is_empty() {
            "nobody".to_owned()
        } else {
            tonight::all_with_numbers(config, &turn.backup)
        };
        let [from, until] = hours;
        if turn.on.is_empty() {
            let on = if config.rotas.is_empty() { "everybody" } else { "NOBODY: all are called" };
            table.strong_row([from, until, on.to_owned(), backup]);
        } else {
            table.row([from, until, tonight::all_with_numbers(config, &turn.on), backup]);
        }
    }
    sheet.table(table);
    let vets = tonight::vets(config);
    sheet.para(if vets.is_empty() {
        "Vet: no vet stands in the settings; write the number here: ______________________"
            .to_owned()
    } else {
        format!("Vet: {}.", vets.join(", "))
    });
}

fn begun_line(dam: &OfHer<'_>, season: &Season, zone: &Zone, terms: &Terms) -> String {
    let now = season.board.now;
    let since = dam.view.since.map_or(String::new(), |since| {
        format!(" since {} ({})", zone.clock_by(since, now), english::span(now.since(since)))
    });
    let place =
        if dam.view.group.is_empty() { String::new() } else { format!(", {}", dam.view.group) };
    let kind = if dam.is_heifer() { &terms.maiden } else { &terms.dam };
    format!("{} ({kind}{place}): {}{since}.", dam.name(), dam.view.stage.phrase())
}

fn due(sheet: &mut Sheet, dams: &[OfHer<'_>], season: &Season, zone: &Zone) {
    let now = season.board.now;
    sheet.heading("May calve tonight");
    let mut table = Table::new(vec![
        Column::left("code", 3),
        Column::left("dam", 7),
        Column::left("where", 6),
        Column::left("window", 7),
        Column::left("watched by", 9),
        Column::left("last look", 6),
        Column::left("next look", 4),
    ]);
    // In the order in which to watch them: by window and risk.
    let listed = season.board.due.iter().map(|row| &row.animal);
    let places: BTreeMap<&Animal, usize> = listed.zip(0..).collect();
    let mut carrying: Vec<&OfHer<'_>> = dams.iter().filter(|dam| !dam.has_begun()).collect();
    carrying.sort_by_key(|dam| places.get(&dam.view.animal).copied().unwrap_or(usize::MAX));
    for dam in carrying {
        let Some(row) = dam.watched else { continue };
        let mut by: Vec<String> = row
            .devices
            .iter()
            .filter(|device| device.alive && !device.only_pictures)
            .map(|device| device.device.to_string())
            .collect();
        if by.is_empty() {
            by.push(if row.watched { "a person's look" } else { "NOBODY" }.to_owned());
        }
        let look = row.look.as_ref().map_or("none".to_owned(), |look| {
            format!("{} {}", zone.clock_by(look.at, now), look.by)
        });
        let next = match row.next_look {
            Some(at) if at <= now => "now".to_owned(),
            Some(at) => zone.clock_by(at, now),
            None => String::new(),
        };
        let risks = dam.due.map_or(String::new(), |due| due.risks.join(", "));
        let name = if risks.is_empty() { dam.name() } else { format!("{}: {risks}", dam.name()) };
        let day = dam
            .due
            .and_then(|due| due.day)
            .map_or(String::new(), |day| format!("{}: ", reason::day(day, phrases::english())));
        let window = format!("{day}{}", dam.window());
        let group = row.group.clone();
        let cells = [dam.view.code.clone(), name, group, window, by.join(", "), look, next];
        if row.watched && !dam.turns_on_people() {
            table.row(cells)
        } else {
            table.strong_row(cells)
        }
    }
    if table.rows.is_empty() {
        sheet.para("No dam is in her window.");
    } else {
        sheet.table(table);
    }
}

fn odd(sheet: &mut Sheet, dams: &[OfHer<'_>]) {
    let odd = dams.iter().filter(|dam| dam.watched.is_some() || dam.view.alerts > 0);
    let lines = odd.filter_map(|dam| {
        let words = dam.odd();
        (!words.is_empty()).then(|| format!("{}: {}.", dam.name(), words.join(", ")))
    });
    let lines: Vec<String> = lines.collect();
    sheet.heading("Look at these twice");
    if lines.is_empty() {
        sheet.para("None stands out.");
    }
    sheet.lines(lines);
}
