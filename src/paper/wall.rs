//! The wall card: every rule that calls somebody, as the settings have it now, in plain words (needs.md N111).
//!
//! It is made of the rules themselves, so the wall cannot say something else than the watch does.

use super::sheet::{Column, Sheet, Table};
use super::tonight;
use crate::config::Config;
use crate::config::rules::{Condition, Edge, From, Limit, Rule};
use crate::herd::stage::Stage;
use crate::plain::english;
use crate::plain::moment::Span;
use crate::talk::{cautions, explain};

pub fn sheet(config: &Config) -> Sheet {
    let of = format!("{}, the rules of its settings", config.farm.name);
    let mut sheet = Sheet::new("Wall card", of).wide();
    let telling: Vec<&Rule> = config.rules.iter().filter(|rule| rule.tell.is_some()).collect();
    for (heading, of_dams) in [("The dam and her calf", true), ("The watch itself", false)] {
        let rules = telling.iter().filter(|rule| rule.condition.is_about_a_dam() == of_dams);
        let mut table = Table::new(vec![
            Column::left("rule", 5),
            Column::left("when", 8),
            Column::left(config.terms.dam.as_str(), 3),
            Column::left(config.terms.maiden.as_str(), 3),
            Column::left("what to do", 9),
            Column::left("where the figure is from", 8),
        ]);
        for rule in rules {
            let limit = limits(&rule.condition);
            let [cow, heifer] = limit.map_or([String::new(), String::new()], |limit| {
                [limit.cow, limit.heifer].map(|limit| limit.map_or(String::new(), at_once_or))
            });
            table.row([
                rule.name.to_string(),
                when(rule),
                cow,
                heifer,
                rule.action.clone().unwrap_or_default(),
                rule.source.clone(),
            ]);
        }
        if !table.rows.is_empty() {
            sheet.heading(config.terms.in_words(heading));
            sheet.table(table);
        }
    }
    let vets = tonight::vets(config);
    if !vets.is_empty() {
        sheet.heading("Vet");
        sheet.lines(vets);
    }
    sheet.caution(cautions::FULL.trim().lines().map(str::trim));
    sheet
}

fn limits(condition: &Condition) -> Option<Limit> {
    match condition {
        Condition::Clock { limit, .. } => Some(*limit),
        Condition::Silent { limit, .. }
        | Condition::Ill { limit, .. }
        | Condition::Gateway { limit }
        | Condition::Unwatched { limit }
        | Condition::Alone { limit }
        | Condition::Uncovered { ahead: limit }
        | Condition::Drill { lasts: limit }
        | Condition::Trouble { limit, .. } => both(*limit),
        Condition::Count { .. }
        | Condition::Change(_)
        | Condition::Due(_)
        | Condition::Level(_)
        | Condition::Seen(_)
        | Condition::All(_)
        | Condition::AnyOf(_)
        | Condition::Not(_) => None,
    }
}

/// Marks and signs as they are; stages as the diary says them: "second stage".
fn named(words: &[String]) -> Vec<&str> {
    let named = |word: &String| Stage::of_word(word).map(Stage::phrase);
    words.iter().map(|word| named(word).unwrap_or(word)).collect()
}

fn at_once_or(limit: Span) -> String {
    if limit == Span::ZERO { "at once".to_owned() } else { english::span(limit) }
}

/// No limit at all means at once.
fn both(limit: Span) -> Option<Limit> {
    let limit = Some(limit).filter(|limit| *limit > Span::ZERO)?;
    Some(Limit { cow: Some(limit), heifer: Some(limit), cold: None })
}

fn when(rule: &Rule) -> String {
    let mut words = said(&rule.condition);
    if !rule.while_stages.is_empty() {
        words.push_str(&format!("; while {}", english::choice(&named(&rule.while_stages))));
    }
    if rule.loud {
        words.push_str("; everybody at once");
    }
    words
}

fn said(condition: &Condition) -> String {
    let joined = |parts: &[Condition], word: &str| {
        parts.iter().map(said).collect::<Vec<_>>().join(&format!(" {word} "))
    };
    match condition {
        Condition::Count { sign, over, at_least, .. } => {
            format!("{at_least} or more of {sign} within {}", english::span(*over))
        }
        Condition::Level(level) => {
            let (word, edge) = match level.edge {
                Edge::Above(edge) => ("above", edge),
                Edge::Below(edge) => ("below", edge),
            };
            let unit = if level.unit.is_empty() { "" } else { " " };
            let times = if level.of > 1 {
                format!(", {} of the last {}", level.times, level.of)
            } else {
                String::new()
            };
            let hold = if level.hold > Span::default() {
                format!(", for {}", english::span(level.hold))
            } else {
                String::new()
            };
            format!("{} {word} {edge}{unit}{}{times}{hold}", level.sign, level.unit)
        }
        Condition::Seen(seen) => format!(
            "a camera sees {} in {} of {} pictures within {}",
            seen.sign,
            seen.times,
            seen.of,
            english::span(seen.over)
        ),
        Condition::All(parts) => joined(parts, "and"),
        Condition::AnyOf(parts) => joined(parts, "or"),
        Condition::Not(part) => format!("not ({})", said(part)),
        Condition::Change(_)
        | Condition::Due(_)
        | Condition::Alone { .. }
        | Condition::Drill { .. }
        | Condition::Uncovered { .. } => explain::waits(condition),
        Condition::Clock { since, from, until, limit } => {
            let last = match from {
                From::First => "",
                From::Last => "the last ",
            };
            let (since, until) = (english::choice(&named(since)), english::choice(&named(until)));
            let cold = limit
                .cold
                .map_or(String::new(), |cold| format!("; {} when it is cold", at_once_or(cold)));
            format!("since {last}{since}, no {until}{cold}")
        }
        Condition::Silent { kind, .. } if kind == "any" => "a sensor says nothing".to_owned(),
        Condition::Silent { kind, .. } => format!("a {kind} says nothing"),
        Condition::Ill { with, .. } => {
            let ills: Vec<&str> = with.iter().map(|ill| ill.word()).collect();
            format!("a sensor: {}", english::choice(&ills))
        }
        Condition::Gateway { .. } => "nothing comes through a gateway".to_owned(),
        Condition::Unwatched { .. } => "a dam in her window is watched by nobody".to_owned(),
        Condition::Trouble { .. } => "the watch itself is in trouble, as its name says".to_owned(),
    }
}
