//! The handover: what the next person must know, on a page or in three text messages (needs.md N116).

use super::herd_words::{self, OfHer};
use super::sheet::Sheet;
use super::{dusk, made, tonight};
use crate::config::Config;
use crate::plain::english;
use crate::plain::ids::PersonName;
use crate::plain::zone::Zone;
use crate::talk::{cautions, wording};
use crate::watch::season::Season;
use crate::watch::view::AlertView;

/// Three text messages joined (standards.md SM-03: 3GPP TS 23.040, 152 plain characters each).
pub const TEXT_MAX: usize = 456;

pub fn sheet(season: &Season, config: &Config) -> Sheet {
    let dams = herd_words::all(season, config);
    let mut sheet = Sheet::new("Handover", made(season, config));
    dusk::temper(&mut sheet, dams.iter().filter(|dam| dam.is_met()));
    for (heading, lines, none) in parts(season, config, &dams) {
        sheet.heading(heading);
        if lines.is_empty() {
            sheet.para(none);
        }
        sheet.lines(lines);
    }
    dusk::people(&mut sheet, season, config);
    sheet.heading("To tell the next");
    sheet.blank(4);
    sheet.caution(cautions::FULL.trim().lines().map(str::trim));
    sheet
}

/// The same in at most `TEXT_MAX` plain characters; what has no room is counted.
pub fn text(season: &Season, config: &Config) -> String {
    let dams = herd_words::all(season, config);
    let mut text = format!("Handover {}.", config.farm.zone.clock(season.board.now));
    let wild: Vec<String> = dams
        .iter()
        .filter(|dam| dam.turns_on_people() && dam.is_met())
        .map(|dam| dam.view.animal.to_string())
        .collect();
    let mut left = add_wild(&mut text, &wild);
    for (_, lines, none) in parts(season, config, &dams) {
        if lines.is_empty() {
            left += usize::from(!add(&mut text, &format!(" {none}")));
        }
        for line in lines {
            left += usize::from(!add(&mut text, &format!(" {line}")));
        }
    }
    let duty = tonight::turns(config, season.board.now);
    if let Some(turn) = duty.first().filter(|turn| !turn.backup.is_empty()) {
        left += usize::from(!add(
            &mut text,
            &format!(" Backup: {}.", english::list(&names(&turn.backup))),
        ));
    }
    if left > 0 {
        text.push_str(&format!(" {left} more: lowbell paper handover."));
    }
    text
}

/// Who turns on people, as many as have room before all else; how many had none.
fn add_wild(text: &mut String, wild: &[String]) -> usize {
    const SHOWN: usize = 12;
    if wild.is_empty() {
        return 0;
    }
    for shown in (1..=wild.len().min(SHOWN)).rev() {
        let (named, more) = wild.split_at(shown);
        let more =
            if more.is_empty() { String::new() } else { format!(" and {} more", more.len()) };
        if add(text, &format!(" Not alone with {}{more}.", named.join(", "))) {
            return 0;
        }
    }
    // Not one number had room: that there are some has.
    usize::from(!add(text, &format!(" {} turn on people: never alone.", wild.len())))
}

/// Room for the count of what had none.
const LAST: usize = 40;

/// Only whole lines; whether there was room.
fn add(text: &mut String, line: &str) -> bool {
    let plain = wording::plain(line);
    let room = text.len() + plain.len() <= TEXT_MAX - LAST;
    if room {
        text.push_str(&plain);
    }
    room
}

fn names(people: &[PersonName]) -> Vec<String> {
    people.iter().map(ToString::to_string).collect()
}

type Part = (&'static str, Vec<String>, &'static str);

fn parts(season: &Season, config: &Config, dams: &[OfHer<'_>]) -> [Part; 5] {
    let zone = &config.farm.zone;
    let now = season.board.now;
    let begun = dams.iter().filter(|dam| dam.has_begun()).map(|dam| {
        let since =
            dam.view.since.map_or(String::new(), |at| format!(" since {}", zone.clock_by(at, now)));
        format!("{}: {}{since}.", dam.name(), dam.view.stage.phrase())
    });
    let promise = |alert: &AlertView| promise(alert, season, zone);
    let alone = dams.iter().filter(|dam| dam.watched.is_some_and(|row| !row.watched));
    let alone: Vec<String> = alone.map(|dam| dam.view.animal.to_string()).collect();
    let tonight = dams.iter().filter(|dam| dam.watched.is_some() && !dam.has_begun());
    let due: Vec<String> = tonight.map(|dam| dam.view.animal.to_string()).collect();
    let listed = |what: &str, animals: &[String]| {
        if animals.is_empty() {
            Vec::new()
        } else {
            vec![format!("{what} {}: {}.", animals.len(), shortened(animals))]
        }
    };
    let odd: Vec<String> = season
        .board
        .devices
        .iter()
        .filter(|device| device.on.is_some() && (!device.alive || !device.ills.is_empty()))
        .map(|device| device.device.to_string())
        .collect();
    [
        ("Begun", begun.collect(), "Nobody has begun."),
        (
            "Alerts and promises",
            season.board.alerts.iter().map(promise).collect(),
            "No alert is open.",
        ),
        ("Unwatched", listed("Unwatched", &alone), "Every dam in her window is watched."),
        ("May calve", listed("In the window", &due), "No dam is in her window."),
        ("Odd sensors", listed("Sensors to see to", &odd), "Every sensor on a dam is heard."),
    ]
}

fn promise(alert: &AlertView, season: &Season, zone: &Zone) -> String {
    let due = zone.clock_by(alert.due, season.board.now);
    match &alert.holder {
        Some(holder) => format!("{}: {holder} until {due}.", alert.head),
        None => format!("{}: nobody yet, next call {due}.", alert.head),
    }
}

/// A dozen by number; the rest counted.
fn shortened(animals: &[String]) -> String {
    const SHOWN: usize = 12;
    let shown = animals.iter().take(SHOWN).cloned().collect::<Vec<_>>().join(", ");
    let left = animals.len().saturating_sub(SHOWN);
    if left == 0 { shown } else { format!("{shown} and {left} more") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_list_of_who_turns_on_people_is_named_as_far_as_it_goes_and_counted() {
        let of = |wild: &[String]| {
            let mut text = "Handover 17:30.".to_owned();
            let left = add_wild(&mut text, wild);
            (text, left)
        };
        assert_eq!(of(&[]), ("Handover 17:30.".to_owned(), 0));
        let few = ["114".to_owned(), "207".to_owned()];
        assert_eq!(of(&few), ("Handover 17:30. Not alone with 114, 207.".to_owned(), 0));
        let many: Vec<String> = (100..300).map(|n| n.to_string()).collect();
        let (text, left) = of(&many);
        assert!(text.ends_with("110, 111 and 188 more.") && left == 0, "{text}");
        let long = vec!["9".repeat(TEXT_MAX); 3];
        let (text, left) = of(&long);
        assert_eq!((text.as_str(), left), ("Handover 17:30. 3 turn on people: never alone.", 0));
    }
}
