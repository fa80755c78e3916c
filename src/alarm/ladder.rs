//! Whom a rung calls at a moment, and by which of their lines.

use std::collections::BTreeSet;

use crate::config::Config;
use crate::config::lines::{Line, Way};
use crate::config::people::{Call, Ladder, Part, Person, Rung};
use crate::plain::ids::{LineName, PersonName};
use crate::plain::moment::Moment;
use crate::rota::{self, Duty};

/// One person and the lines that reach them, never empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Called {
    pub person: PersonName,
    pub lines: Vec<LineName>,
}

/// Who is on duty and who backs them up; with no rota at all, everybody is on duty.
pub fn duty(config: &Config, at: Moment) -> Duty {
    rota::on_duty(&config.rotas, &config.farm.zone, at)
}

/// Everybody this rung calls who can be reached at all. A shift that nobody has calls everyone.
pub fn called(config: &Config, rung: &Rung, at: Moment) -> Vec<Called> {
    let mut names: Vec<PersonName> = Vec::new();
    for call in &rung.call {
        for name in names_of(config, call, at) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    reached(config, names, &rung.by)
}

/// Those who take turns and have none now: nobody calls them but a ladder's last rung. Whoever is on no rota at
/// all, such as a vet, is never off duty.
pub fn off_duty(config: &Config, at: Moment) -> BTreeSet<PersonName> {
    let on = duty(config, at);
    if on.people.is_empty() {
        // A shift that nobody has is everybody's.
        return BTreeSet::new();
    }
    let turns = config.rotas.iter().flat_map(|rota| {
        let instead = rota.instead.iter().map(|instead| &instead.person);
        rota.turn.iter().chain(&rota.backup).chain(instead)
    });
    turns
        .filter(|who| on.people.iter().all(|shift| shift.person != **who))
        .filter(|who| !on.backup.contains(who))
        .cloned()
        .collect()
}

/// Everybody who works here and can be reached.
pub fn everybody(config: &Config, by: &[String]) -> Vec<Called> {
    reached(config, everyone(config), by)
}

fn reached(config: &Config, names: Vec<PersonName>, by: &[String]) -> Vec<Called> {
    names
        .into_iter()
        .filter_map(|person| {
            let lines = lines_for(config, &person, by);
            (!lines.is_empty()).then_some(Called { person, lines })
        })
        .collect()
}

/// The lines of a rung that reach this person; if none does, any line that can.
pub fn lines_for(config: &Config, person: &PersonName, by: &[String]) -> Vec<LineName> {
    let wanted: Vec<LineName> = reaching(config, person)
        .filter(|line| by.iter().any(|name| name == line.as_str()))
        .collect();
    if wanted.is_empty() { reaching(config, person).collect() } else { wanted }
}

/// A line to this person that is not among those tried.
pub fn another_line(
    config: &Config,
    person: &PersonName,
    tried: &BTreeSet<LineName>,
) -> Option<LineName> {
    reaching(config, person).find(|line| !tried.contains(line))
}

/// What a line calls this person: a mail address or a telephone number.
pub fn address(config: &Config, person: &PersonName, line: &LineName) -> Option<String> {
    let person = find(config, person)?;
    let line = config.lines.iter().find(|one| one.name == *line)?;
    address_on(person, line)
}

pub fn find<'a>(config: &'a Config, name: &PersonName) -> Option<&'a Person> {
    config.people.iter().find(|person| person.name == *name)
}

/// The ladder of that name, or the farm's first.
pub fn named<'a>(config: &'a Config, name: &str) -> Option<&'a Ladder> {
    config.ladders.iter().find(|ladder| ladder.name == name).or_else(|| config.ladders.first())
}

fn reaching<'a>(config: &'a Config, name: &PersonName) -> impl Iterator<Item = LineName> + 'a {
    let person = find(config, name);
    config
        .lines
        .iter()
        .filter(move |line| person.is_some_and(|person| address_on(person, line).is_some()))
        .map(|line| line.name.clone())
}

fn address_on(person: &Person, line: &Line) -> Option<String> {
    match &line.way {
        Way::Smtp(_) => person.mail.clone(),
        Way::SmsHttp(_) => person.mobile.clone(),
        Way::Imap(_) | Way::Webhook(_) | Way::Siren(_) | Way::NotYet { .. } => None,
    }
}

/// Everybody who is meant by these, once each.
pub fn people(config: &Config, calls: &[Call], at: Moment) -> Vec<PersonName> {
    let mut people: Vec<PersonName> = Vec::new();
    for who in calls.iter().flat_map(|call| names_of(config, call, at)) {
        if !people.contains(&who) {
            people.push(who);
        }
    }
    people
}

fn names_of(config: &Config, call: &Call, at: Moment) -> Vec<PersonName> {
    match call {
        Call::OnDuty if config.rotas.is_empty() => everyone(config),
        Call::OnDuty => {
            let names: Vec<PersonName> =
                duty(config, at).people.into_iter().map(|shift| shift.person).collect();
            if names.is_empty() { everyone(config) } else { names }
        }
        Call::Backup => duty(config, at).backup,
        Call::Everyone => everyone(config),
        Call::Part(part) => with_part(config, |one| one == *part),
        Call::Person(name) => vec![name.clone()],
    }
}

/// Everybody who works here. A vet is called by part or by name only, a viewer never.
fn everyone(config: &Config) -> Vec<PersonName> {
    with_part(config, |part| match part {
        Part::Owner | Part::Stockman | Part::Helper => true,
        Part::Vet | Part::Viewer => false,
    })
}

fn with_part(config: &Config, wanted: impl Fn(Part) -> bool) -> Vec<PersonName> {
    config
        .people
        .iter()
        .filter(|person| wanted(person.part))
        .map(|person| person.name.clone())
        .collect()
}
