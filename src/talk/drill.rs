//! The words of a drill. Its first word is always DRILL, so that nobody half asleep takes it for a birth.

use std::fmt::Display;

use super::phrases::{Phrases, say};
use super::speech::Speech;
use crate::alarm::drill::{AnswerWay, Drill, HopFate};
use crate::plain::english;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// Words that ask for one, when they stand alone.
const ASKED: [&str; 8] = [
    "drill",
    "drill now",
    "drill please",
    "start a drill",
    "a drill",
    "übung",
    "simulacro",
    "exercice",
];

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

/// Each hop and its seconds, a line each.
pub fn report(drill: &Drill, speech: &Speech<'_>) -> Vec<String> {
    let said = speech.shifts;
    let begun = speech.zone().date_and_clock(drill.begun);
    let mut lines = vec![speech.say(said.report_head, &[("no", &drill.no), ("at", &begun)])];
    lines.push(match drill.heard {
        Some(heard) => {
            let ago = speech.phrases().span(drill.begun.since(heard));
            speech.say(said.report_heard, &[("ago", &ago)])
        }
        None => said.report_unheard.to_owned(),
    });
    for hop in &drill.hops {
        let fate = match &hop.fate {
            HopFate::Unknown => said.hop_unknown.to_owned(),
            HopFate::Taken { at } => {
                speech.say(said.hop_taken, &[("span", &speech.seconds(at.since(hop.left)))])
            }
            HopFate::Failed { at, why } => {
                let (span, why) = (speech.seconds(at.since(hop.left)), english::printable(why, 60));
                speech.say(said.hop_failed, &[("span", &span), ("why", &why)])
            }
        };
        let after = speech.seconds(hop.left.since(drill.begun));
        let filled: [(&str, &dyn Display); 4] =
            [("who", &hop.to), ("line", &hop.line), ("after", &after), ("fate", &fate)];
        lines.push(speech.say(said.report_hop, &filled));
    }
    match drill.untimed {
        0 => {}
        1 => lines.push(said.report_call.to_owned()),
        n => lines.push(speech.say(said.report_calls, &[("n", &n)])),
    }
    lines.push(match &drill.answered {
        Some(answered) => {
            let way = match answered.way {
                AnswerWay::Mail => said.by_mail,
                AnswerWay::Text => said.by_text,
                AnswerWay::ThisMachine => said.at_machine,
            };
            let after = speech.seconds(answered.at.since(drill.begun));
            let filled: [(&str, &dyn Display); 3] =
                [("who", &answered.who), ("after", &after), ("way", &way)];
            speech.say(said.report_answered, &filled)
        }
        None if drill.runs() => said.report_not_yet.to_owned(),
        None => said.report_nobody.to_owned(),
    });
    lines
}

/// One line for a page: when, and with what end; `None` while it runs.
pub fn outcome(drill: &Drill, speech: &Speech<'_>, now: Moment) -> Option<String> {
    drill.over?;
    let ending = speech.ending(&drill.ending());
    Some(format!("Drill at {}: {ending}.", speech.zone().clock_by(drill.begun, now)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drill_is_asked_for_by_that_word_alone() {
        for text in ["drill", "Drill.", "DRILL NOW\n> quoted", "start a drill", "Übung!"] {
            assert!(is_asked(text), "{text}");
        }
        for text in ["", "drill 412", "no drill", "> drill", "drilling"] {
            assert!(!is_asked(text), "{text}");
        }
    }
}
