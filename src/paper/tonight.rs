//! The night ahead: from now until the morning, who is on, who backs up, and which hours nobody has.

use crate::alarm::ladder;
use crate::config::Config;
use crate::config::people::{Part, Person};
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::rota;

/// When the day's people have begun (common practice, no source).
const MORNING: i8 = 8;
/// A page made shortly before the morning is for the night after.
const SHORTEST: Span = Span::hours(2);
/// Turns within one night; a rota that changes oftener is a mistake.
const TURNS_MAX: usize = 24;

pub(super) struct Turn {
    pub(super) from: Moment,
    pub(super) until: Moment,
    /// Empty: nobody is on duty, so everybody would be called.
    pub(super) on: Vec<PersonName>,
    pub(super) backup: Vec<PersonName>,
}

/// The next morning.
pub(super) fn until(now: Moment, zone: &Zone) -> Moment {
    let today = zone.wall(now).date();
    let tomorrow = today.tomorrow().unwrap_or(today);
    let after = tomorrow.tomorrow().unwrap_or(tomorrow);
    [today, tomorrow, after]
        .into_iter()
        .map(|date| zone.instant(date.at(MORNING, 0, 0, 0)))
        .find(|at| at.since(now) >= SHORTEST)
        .unwrap_or(now)
}

pub(super) fn turns(config: &Config, now: Moment) -> Vec<Turn> {
    let zone = &config.farm.zone;
    let end = until(now, zone);
    let mut turns: Vec<Turn> = Vec::new();
    let mut from = now;
    while from < end && turns.len() < TURNS_MAX {
        let change = rota::next_change(&config.rotas, zone, from).filter(|at| *at < end);
        let until = change.unwrap_or(end);
        let duty = ladder::duty(config, from);
        let mut on: Vec<PersonName> = duty.people.into_iter().map(|shift| shift.person).collect();
        on.dedup();
        match turns.last_mut() {
            Some(last) if last.on == on && last.backup == duty.backup => last.until = until,
            Some(_) | None => turns.push(Turn { from, until, on, backup: duty.backup }),
        }
        from = until;
    }
    turns
}

/// A person and the number that is called: whole, for a page that hangs in the farm's own yard.
pub(super) fn with_number(config: &Config, name: &PersonName) -> String {
    let person = ladder::find(config, name);
    person.map_or_else(|| name.to_string(), numbered)
}

fn numbered(person: &Person) -> String {
    match &person.mobile {
        Some(mobile) => format!("{} {mobile}", person.name),
        None => format!("{} (no number)", person.name),
    }
}

pub(super) fn all_with_numbers(config: &Config, names: &[PersonName]) -> String {
    let all: Vec<String> = names.iter().map(|name| with_number(config, name)).collect();
    all.join(", ")
}

/// The vets of the settings with their numbers.
pub(super) fn vets(config: &Config) -> Vec<String> {
    config.people.iter().filter(|one| one.part == Part::Vet).map(numbered).collect()
}
