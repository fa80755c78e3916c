//! Reads `[[line]]`: the ways out to people and back. What a kind needs is read beside it.

use super::faults::{Faults, Place, Placed};
use super::lines::{Line, Way};
use super::suggest;
use super::tree::Table;
use super::{mail_line, siren_line, web_line};
use crate::plain::ids::LineName;

const KINDS: [&str; 5] = ["smtp", "imap", "sms-http", "webhook", "mqtt"];

/// Kinds that the vocabulary has and this version has not.
pub(super) const KINDS_TO_COME: [&str; 1] = ["sms-modem"];

/// Names that are news about something else than a `[[line]]`.
const TAKEN: [&str; 2] = ["broker", "journal"];

/// How a calendar that is fetched is called among the lines.
pub const CALENDAR_OF: &str = "calendar of ";

/// A name stands in the diary and on the command line.
const NAME_MAX: usize = 40;

/// `None` if it lacks what makes it one.
pub(super) fn read(table: Table<'_>) -> Option<Placed<Line>> {
    let faults = table.faults();
    let name = table.needed("name", "what rungs call this line by, such as \"mail\"");
    if let Some(name) = &name {
        check_name(name, faults);
    }
    let rings = table.flag("rings").unwrap_or(false);
    let help = suggest::one_of("", &KINDS);
    let kind = table.needed("kind", &help);
    let kind = kind.map(|kind| (kind.is, kind.at));
    let way = match kind.as_ref().map(|(word, at)| (word.as_str(), at)) {
        Some(("smtp", _)) => mail_line::smtp(table),
        Some(("imap", _)) => mail_line::imap(table),
        Some(("sms-http", _)) => web_line::sms_http(table),
        Some(("webhook", _)) => web_line::webhook(table),
        Some(("mqtt", _)) => siren_line::siren(table),
        Some((word, at)) => {
            table.ignore_rest();
            other_kind(word, at, faults)
        }
        None => {
            table.ignore_rest();
            None
        }
    };
    let name = name?;
    // A name that is known keeps those who use it from being blamed for a fault in here.
    let unread = || Way::NotYet { kind: kind.map(|(word, _)| word).unwrap_or_default() };
    Some(Placed {
        is: Line { name: LineName::new(&name.is), way: way.unwrap_or_else(unread), rings },
        at: name.at,
    })
}

/// A rung could not say which of two it means.
pub(super) fn check_names(lines: &[Placed<Line>], faults: &Faults) {
    for (n, line) in lines.iter().enumerate() {
        if lines[..n].iter().any(|other| other.is.name == line.is.name) {
            let title = format!("there are two lines called {}", line.is.name);
            faults.refuse(&line.at, title, "give each its own name");
        }
    }
}

fn check_name(name: &Placed<String>, faults: &Faults) {
    if TAKEN.contains(&name.is.as_str()) || name.is.starts_with(CALENDAR_OF) {
        let title = format!("no line can be called {}", name.is);
        let help = "the diary calls another thing so; take another name";
        faults.refuse(&name.at, title, help);
    }
    if name.is.chars().count() > NAME_MAX {
        let title = format!("a line's name has at most {NAME_MAX} letters");
        faults.refuse(&name.at, title, "it stands in the diary; shorten it");
    }
}

fn other_kind(word: &str, at: &Place, faults: &Faults) -> Option<Way> {
    if KINDS_TO_COME.contains(&word) {
        let title = format!("this version does not use lines of the kind {word} yet");
        let help = "nothing goes out by this line; rungs that name it use the others";
        faults.warn(at, title, help);
        return Some(Way::NotYet { kind: word.to_owned() });
    }
    let names: Vec<&str> = KINDS.into_iter().chain(KINDS_TO_COME).collect();
    let title = format!("kind cannot be {word}");
    faults.refuse(at, title, suggest::one_of(word, &names));
    None
}
