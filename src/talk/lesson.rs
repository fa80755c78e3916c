//! What one person reads of one alert: what to look for, what to do if it is so, whom to call if they are not sure
//! (needs.md N71).
//!
//! The farm's own words go before the shipped ones, and those before what is said to a part of any rule. A helper is never
//! sent to examine a dam, and a vet is told what is asked and what nobody knows: that follows from the part alone.

use super::phrases::say;
use super::reader::Reader;
use crate::alarm::alert::Alert;
use crate::config::Config;
use crate::config::lessons::{self, Lesson};
use crate::config::people::{Part, Person};
use crate::config::rules::Rule;
use crate::rules::verdict::Subject;

pub(super) struct Told<'c> {
    pub(super) look: String,
    pub(super) act: String,
    /// What the others are told, where this part has no words of its own in the rule.
    pub(super) others: Option<String>,
    /// Whom to call when not sure.
    pub(super) call: Option<&'c Person>,
}

pub(super) fn told<'c>(config: &'c Config, alert: &Alert, reader: &Reader) -> Told<'c> {
    let rule = config.rules.iter().find(|rule| rule.name == alert.rule);
    let action = rule.and_then(|rule| rule.action.as_deref());
    let name = alert.rule.as_str();
    let lesson = lessons::fitting(reader.language, &config.farm.species, name, action);
    let call = reader.whom_to_call(config);
    let name = call.map_or_else(|| anybody(reader), |person| person.name.as_str());
    let own = rule.and_then(|rule| own(rule, reader.part));
    let act = own.or(lesson.map(|lesson| of_part(lesson, reader.part)));
    let others = act.is_none().then(|| others(action, reader.part)).flatten();
    let act = act.or_else(|| usual(alert, action, reader)).unwrap_or(reader.phrases().go_and_look);
    let look = rule.and_then(|rule| rule.by_part.look.as_deref());
    let look = look.or(lesson.map(|lesson| lesson.look.as_str()));
    Told {
        look: look.unwrap_or_else(|| usual_look(alert, reader)).to_owned(),
        act: say(act, &[("call", &name)]),
        others: others.map(str::to_owned),
        call,
    }
}

/// "Tom, +353860000002", for a mail.
pub(super) fn with_number(call: Option<&Person>, reader: &Reader) -> String {
    match call {
        Some(person) => match &person.mobile {
            Some(number) => format!("{}, {number}", person.name),
            None => person.name.to_string(),
        },
        None => anybody(reader).to_owned(),
    }
}

/// Whom to call on a farm that has nobody for it.
fn anybody(reader: &Reader) -> &'static str {
    match reader.part {
        Part::Owner => reader.phrases().any_owner,
        Part::Stockman | Part::Helper | Part::Viewer => reader.phrases().any_helper,
        Part::Vet => reader.phrases().any_vet,
    }
}

/// What the farm has written for a part.
fn own(rule: &Rule, part: Part) -> Option<&str> {
    match part {
        Part::Owner => rule.by_part.owner.as_deref(),
        Part::Stockman => rule.by_part.stockman.as_deref(),
        Part::Helper => rule.by_part.helper.as_deref(),
        Part::Vet => rule.by_part.vet.as_deref(),
        Part::Viewer => None,
    }
}

fn of_part(lesson: &Lesson, part: Part) -> &str {
    match part {
        Part::Owner | Part::Stockman | Part::Viewer => &lesson.action,
        Part::Helper => &lesson.helper,
        Part::Vet => &lesson.vet,
    }
}

/// What a part is told by a rule that has no words for it.
fn usual<'w>(alert: &Alert, action: Option<&'w str>, reader: &Reader) -> Option<&'w str> {
    let said = reader.phrases();
    match (reader.part, is_about_a_dam(alert)) {
        (Part::Owner | Part::Stockman | Part::Viewer, _) => action,
        (Part::Helper, true) => Some(said.helper_of_dam),
        (Part::Helper, false) => Some(said.helper_of_gear),
        (Part::Vet, true) => Some(said.vet_of_dam),
        (Part::Vet, false) => Some(said.vet_of_gear),
    }
}

fn others(action: Option<&str>, part: Part) -> Option<&str> {
    match part {
        Part::Helper | Part::Vet => action,
        Part::Owner | Part::Stockman | Part::Viewer => None,
    }
}

fn usual_look(alert: &Alert, reader: &Reader) -> &'static str {
    if is_about_a_dam(alert) { reader.phrases().look_at_dam } else { reader.phrases().look_at_gear }
}

fn is_about_a_dam(alert: &Alert) -> bool {
    match &alert.subject {
        Subject::Dam(_) | Subject::Herd | Subject::Person(_) => true,
        Subject::Device(_)
        | Subject::Line(_)
        | Subject::Gateway(_)
        | Subject::Rota
        | Subject::Drill => false,
    }
}
