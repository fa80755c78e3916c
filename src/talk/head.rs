//! The head of every message: which animal, where, what and the code, in as many letters as a locked telephone shows.

use super::drill;
use super::phrases::say;
use super::reader::Reader;
use super::reason;
use super::speech::Speech;
use super::wording::cut;
use crate::alarm::alert::Alert;
use crate::config::Config;
use crate::config::animals::AnimalRow;
use crate::config::lessons;
use crate::plain::ids::Animal;
use crate::plain::moment::Moment;
use crate::rules::verdict::{Figures, Subject};

/// What a locked screen shows of a message (common practice, no source).
pub const HEAD_MAX: usize = 70;
/// A dam's number of 15 digits and a little more.
const WHO_MAX: usize = 20;
/// What a text begins with, so that what to do begins on a locked screen.
const LEAD_MAX: usize = 45;
/// The same where a shorter one would say nothing of the place.
const LEAD_MOST: usize = 50;
/// A device's name in it.
const DEVICE_MAX: usize = 16;
/// Less of a place's name than this tells nobody where.
const PLACE_MIN: usize = 4;

/// For a page of the house.
pub fn head(config: &Config, alert: &Alert, now: Moment) -> String {
    head_for(config, alert, now, &Reader::of_the_house())
}

/// Never more than `HEAD_MAX` letters, all of them such as its reader's way carries.
pub fn head_for(config: &Config, alert: &Alert, now: Moment, reader: &Reader) -> String {
    head_with(config, alert, &what(config, alert, now, reader), reader)
}

/// What has happened, and the figures: "second stage too long 1 h 01 min".
pub(super) fn what(config: &Config, alert: &Alert, now: Moment, reader: &Reader) -> String {
    let name = rule_name(config, alert.rule.as_str(), reader);
    if let Figures::Ill { ill, .. } = &alert.figures
        && alert.rule.as_str().contains(ill.word())
    {
        // The rule's name says it already.
        return name;
    }
    let figures = reason::short(&alert.figures, now, reader.phrases());
    format!("{name} {}", in_words(config, reader, &figures)).trim_end().to_owned()
}

/// The head with something else to say of its subject.
pub fn head_with(config: &Config, alert: &Alert, what: &str, reader: &Reader) -> String {
    head_of(config, (&alert.subject, on(alert)), what, &alert.code, reader)
}

/// `about`: the subject, and the dam that wears it if it is a device.
pub(super) fn head_of(
    config: &Config,
    about: (&Subject, Option<&Animal>),
    what: &str,
    code: &str,
    reader: &Reader,
) -> String {
    let what = match about.0 {
        Subject::Device(device) => format!("{what} {device}"),
        Subject::Drill => drill::what(what, &rule_name(config, "drill", reader)),
        Subject::Dam(_)
        | Subject::Line(_)
        | Subject::Gateway(_)
        | Subject::Herd
        | Subject::Rota
        | Subject::Person(_) => what.to_owned(),
    };
    let what = reader.fold(&what);
    let who = who(config, about, reader);
    let used = letters(&who) + ": ".len() + letters(&what) + 1 + code.len();
    let place = place(config, about, HEAD_MAX.saturating_sub(used), reader);
    let used = letters(&who) + letters(&place) + ": ".len() + 1 + code.len();
    format!("{who}{place}: {} {code}", cut(&what, HEAD_MAX.saturating_sub(used)))
}

/// What a text begins with: whom it is about, where, and the code. So much of what follows is on the locked screen too
/// (needs.md N79).
pub(super) fn lead(config: &Config, alert: &Alert, reader: &Reader) -> String {
    let about = (&alert.subject, on(alert));
    let mut who = who(config, about, reader);
    let device = match &alert.subject {
        Subject::Device(device) => format!(" {}", cut(&reader.fold(device.as_str()), DEVICE_MAX)),
        Subject::Dam(_)
        | Subject::Line(_)
        | Subject::Gateway(_)
        | Subject::Herd
        | Subject::Rota
        | Subject::Drill
        | Subject::Person(_) => String::new(),
    };
    let used = letters(&who) + letters(&device) + 1 + alert.code.len();
    let least = LEAD_MOST.saturating_sub(used).min(1 + PLACE_MIN);
    let room = LEAD_MAX.saturating_sub(used).max(least);
    who.push_str(&place(config, about, room, reader));
    format!("{who}{device} {}", alert.code)
}

fn on(alert: &Alert) -> Option<&Animal> {
    alert.on.as_ref().or(alert.figures.gone_in_with())
}

/// Whom it is about, with a warning where she turns on people.
fn who(config: &Config, about: (&Subject, Option<&Animal>), reader: &Reader) -> String {
    let (subject, on) = about;
    let said = reader.phrases();
    let who = match subject {
        Subject::Dam(animal) => animal.as_str(),
        Subject::Device(_) => on.map_or(said.no_dam, Animal::as_str),
        Subject::Line(_) => "Lowbell",
        Subject::Gateway(gateway) => gateway.as_str(),
        Subject::Herd => said.herd,
        Subject::Rota => said.rota,
        Subject::Drill => said.drill,
        Subject::Person(person) => person.as_str(),
    };
    let about_her = match subject {
        Subject::Dam(animal) => Some(animal),
        Subject::Device(_) | Subject::Person(_) => on,
        Subject::Line(_) | Subject::Gateway(_) | Subject::Herd | Subject::Rota | Subject::Drill => {
            None
        }
    };
    let minds = about_her.is_some_and(|animal| is_minded(config, animal.as_str()));
    let mind = if minds { reader.fold(said.mind) } else { String::new() };
    format!("{mind}{}", cut(&reader.fold(who), WHO_MAX))
}

/// " home field", as much of it as there is room for; nothing where that tells nobody where.
fn place(
    config: &Config,
    about: (&Subject, Option<&Animal>),
    room: usize,
    reader: &Reader,
) -> String {
    let of = |animal: &Animal| row(config, animal.as_str()).map_or("", |row| row.group.as_str());
    let place = match about.0 {
        Subject::Dam(animal) => of(animal),
        Subject::Device(_) => about.1.map_or("", of),
        Subject::Line(line) => line.as_str(),
        Subject::Gateway(_)
        | Subject::Herd
        | Subject::Rota
        | Subject::Drill
        | Subject::Person(_) => "",
    };
    let room = room.saturating_sub(1);
    if place.is_empty() || room < PLACE_MIN {
        return String::new();
    }
    format!(" {}", cut(&reader.fold(place), room))
}

/// What a rule is called in a reader's language; the farm's own rules as the farm calls them.
pub(super) fn rule_name(config: &Config, rule: &str, reader: &Reader) -> String {
    let lesson = lessons::of(reader.language, &config.farm.species, rule);
    lesson.map_or_else(|| rule.to_owned(), |lesson| lesson.name.clone())
}

/// What comes first in every message about a dam who turns on people (needs.md N104).
pub fn mind(config: &Config, animal: &str, reader: &Reader) -> Option<&'static str> {
    is_minded(config, animal).then_some(reader.phrases().mind)
}

pub(super) fn is_minded(config: &Config, animal: &str) -> bool {
    let temper = row(config, animal).and_then(|row| row.temper);
    temper.is_some_and(|temper| temper >= config.farm.mind_from)
}

pub(super) fn row<'a>(config: &'a Config, animal: &str) -> Option<&'a AnimalRow> {
    config.animals.iter().find(|row| row.animal.as_str() == animal)
}

/// English is written of cattle and put into the words of the farm's species; the other languages name no species but the
/// young, and those only where they must.
pub fn in_words(config: &Config, reader: &Reader, text: &str) -> String {
    if reader.is_english() {
        config.terms.in_words(text)
    } else {
        Speech::new(config, reader.language).plain(text)
    }
}

/// Letters, each of which counts once when it has been folded.
pub(super) fn letters(text: &str) -> usize {
    text.chars().count()
}

/// "3 d 4 h" and other words that are filled in.
pub(super) fn late(alert: &Alert, words: &str, reader: &Reader) -> Option<String> {
    let span = reader.phrases().span(alert.late?);
    Some(say(words, &[("span", &span)]))
}
