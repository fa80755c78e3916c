//! The words of a drill. Its first word is always DRILL, so that nobody half asleep takes it for a birth.

use super::phrases::{Phrases, say};
use crate::alarm::drill::{AnswerWay, Drill, HopFate};
use crate::plain::english;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// Words that ask for one, when they stand alone.
const ASKED: [&str; 5] = ["drill", "drill now", "drill please", "start a drill", "a drill"];

/// Whether these words ask for a drill and say nothing else.
pub fn is_asked(text: &str) -> bool {
    let new = super::quoted::new_text(text);
    let words: Vec<&str> = new
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect();
    ASKED.contains(&words.join(" ").to_lowercase().as_str())
}

/// What it says behind its first word.
pub(super) fn what(what: &str, name: &str) -> String {
    let rest = what.strip_prefix(name).unwrap_or(what).trim();
    if rest.is_empty() { "over".to_owned() } else { rest.to_owned() }
}

pub(super) fn background(zone: &Zone, until: Moment, said: &Phrases) -> String {
    say(said.drill_mail, &[("at", &zone.clock(until))])
}

/// Why it is over.
pub fn ending(drill: &Drill) -> String {
    match &drill.answered {
        Some(answered) => {
            let after = seconds(answered.at.since(drill.begun));
            format!("{} answered after {after}; nobody need go", answered.who)
        }
        None => {
            let lasted = english::span(drill.until.since(drill.begun));
            format!("nobody answered in {lasted}")
        }
    }
}

/// Each hop and its seconds, a line each.
pub fn report(drill: &Drill, zone: &Zone) -> Vec<String> {
    let mut lines = vec![format!("DRILL {} of {}.", drill.no, zone.date_and_clock(drill.begun))];
    lines.push(match drill.heard {
        Some(heard) => {
            let ago = english::span(drill.begun.since(heard));
            format!("Sensors: the last was heard {ago} before it.")
        }
        None => "Sensors: none had been heard.".to_owned(),
    });
    for hop in &drill.hops {
        let left = seconds(hop.left.since(drill.begun));
        let fate = match &hop.fate {
            HopFate::Unknown => "not known to have been taken".to_owned(),
            HopFate::Taken { at } => format!("taken in {}", seconds(at.since(hop.left))),
            HopFate::Failed { at, why } => {
                let after = seconds(at.since(hop.left));
                format!("failed after {after} ({})", english::printable(why, 60))
            }
        };
        lines.push(format!("{} by {}: called after {left}, {fate}.", hop.to, hop.line));
    }
    if drill.untimed > 0 {
        lines.push(format!("And {} more.", english::many(drill.untimed, "call", "calls")));
    }
    lines.push(match &drill.answered {
        Some(answered) => {
            let way = match answered.way {
                AnswerWay::Mail => "by mail",
                AnswerWay::Text => "by text",
                AnswerWay::ThisMachine => "at this machine, which proves no telephone",
            };
            let after = seconds(answered.at.since(drill.begun));
            format!("{} answered after {after}, {way}.", answered.who)
        }
        None if drill.runs() => "Nobody has answered yet.".to_owned(),
        None => "NOBODY ANSWERED.".to_owned(),
    });
    lines
}

/// One line for a page: when, and with what end; `None` while it runs.
pub fn outcome(drill: &Drill, zone: &Zone, now: Moment) -> Option<String> {
    drill.over?;
    Some(format!("Drill at {}: {}.", zone.clock_by(drill.begun, now), ending(drill)))
}

/// Seconds while they are few enough to be read: "42 s", else "4 min".
fn seconds(span: Span) -> String {
    let whole = span.whole_seconds();
    if whole < 120 { format!("{whole} s") } else { english::span(span) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drill_is_asked_for_by_that_word_alone() {
        for text in ["drill", "Drill.", "DRILL NOW\n> quoted", "start a drill"] {
            assert!(is_asked(text), "{text}");
        }
        for text in ["", "drill 412", "no drill", "> drill", "drilling"] {
            assert!(!is_asked(text), "{text}");
        }
    }
}
