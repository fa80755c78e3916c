//! What can be said only when all sections are read: people nobody calls, ladders nobody climbs,
//! answers nobody reads.

use super::Config;
use super::cover;
use super::farm::FarmRead;
use super::faults::{Faults, Place, Placed};
use super::ladder::{self, is_faulty, is_usable};
use super::lines::{Line, Way};
use super::people::{Call, Part, Person, Rota, Rung};
use super::person::{self, People};
use super::rota;
use super::rulebook::Rulebook;
use super::rules::{Condition, Rule};
use crate::plain::ids::PersonName;

/// Where things were written, for what can be said of them only now.
pub(super) struct Written<'w> {
    pub(super) farm: &'w FarmRead,
    pub(super) people: &'w People,
    pub(super) rotas: &'w [Placed<Rota>],
    pub(super) ladders: &'w [ladder::Written],
    pub(super) lines: &'w [Placed<Line>],
    pub(super) rules: &'w Rulebook,
    pub(super) sure: Sure,
}

/// What was read without a fault: of the rest, nothing more can be said that would not be a guess.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Sure {
    /// People, lines, rotas and ladders.
    pub(super) people: bool,
    pub(super) sensors: bool,
    pub(super) rules: bool,
}

pub(super) fn check(config: &Config, written: &Written<'_>, faults: &Faults) {
    ways_out(config, written, faults);
    ways_back(config, written, faults);
    if written.sure.people {
        for person in &config.people {
            if let Some(at) = person::place(written.people, &person.name) {
                reached(config, person, at, faults);
            }
        }
        hours(config, written, faults);
        backups(config, written, faults);
    }
    if written.sure.rules {
        ladders(config, written, faults);
    }
    if written.sure.sensors {
        for rule in &written.rules.rules {
            rule.warn_if_never(faults);
        }
    }
    if written.sure.sensors && written.sure.rules {
        silence(config, written, faults);
    }
    if written.sure.sensors && config.sensors.is_empty() && written.farm_is_whole() {
        let help =
            "rules that count a sign or wait for silence stay quiet; people's marks are heard";
        faults.warn(&written.farm.at, "this farm has no sensor", help);
    }
}

impl Written<'_> {
    /// Something was read of it at all: else one fault has said enough.
    fn farm_is_whole(&self) -> bool {
        !self.farm.farm.name.is_empty()
    }
}

fn ways_out(config: &Config, written: &Written<'_>, faults: &Faults) {
    if !written.farm_is_whole() {
        return;
    }
    let at = &written.farm.at;
    if config.people.iter().all(|person| person.part == Part::Viewer) {
        let help = "add a [[person]] with a name and a mail or mobile";
        faults.refuse(at, "there is nobody to tell", help);
    }
    // A line whose own fault has been said may yet be one.
    if !config.lines.iter().any(|line| is_usable(line) || is_faulty(line)) {
        let help = "add a [[line]] of the kind smtp or sms-http";
        faults.refuse(at, "there is no way to tell anybody", help);
    }
}

fn ways_back(config: &Config, written: &Written<'_>, faults: &Faults) {
    let reads = |line: &Line| matches!(line.way, Way::Imap(_)) || is_faulty(line);
    if config.lines.iter().any(reads) {
        return;
    }
    let sends = |line: &&Placed<Line>| matches!(line.is.way, Way::Smtp(_));
    if let Some(line) = written.lines.iter().find(sends) {
        let title = "replies to these mails will not be read";
        let answers = config.broker.answers.as_deref().unwrap_or_default();
        let help = format!(
            "add a [[line]] of the kind imap; until then people answer by lowbell answer or on {answers}"
        );
        faults.warn(&line.at, title, help);
    }
}

/// Whether this person is ever called, and if so, whether a line reaches them.
fn reached(config: &Config, person: &Person, at: &Place, faults: &Faults) {
    if person.part == Part::Viewer {
        return;
    }
    let calls = config.ladders.iter().flat_map(|ladder| &ladder.rungs);
    let mut calls = calls.flat_map(|rung| &rung.call);
    if !calls.any(|call| calls_person(config, call, person)) {
        let title = format!("nobody ever calls {}", person.name);
        let help = "no rung of a ladder reaches them; name them in one, or make them a viewer";
        faults.warn(at, title, help);
        return;
    }
    let has = |wanted: fn(&Way) -> bool| config.lines.iter().any(|line| wanted(&line.way));
    let by_mail = has(|way| matches!(way, Way::Smtp(_))) && person.mail.is_some();
    let by_text = has(|way| matches!(way, Way::SmsHttp(_))) && person.mobile.is_some();
    // Without any line, or with one still unread, there is nothing to say of one person.
    let may_yet = config.lines.iter().any(is_faulty) || !config.lines.iter().any(is_usable);
    if by_mail || by_text || may_yet {
        return;
    }
    let title = format!("no line reaches {}", person.name);
    let help = match (&person.mail, &person.mobile) {
        (None, None) => "give them a mail or a mobile",
        (Some(_), None) => "they have a mail alone, and no line sends any",
        (None, Some(_)) => "they have a mobile alone, and no line sends texts",
        (Some(_), Some(_)) => "no line sends mail or texts",
    };
    faults.warn(at, title, help);
}

fn calls_person(config: &Config, call: &Call, person: &Person) -> bool {
    let works_here = match person.part {
        Part::Owner | Part::Stockman | Part::Helper => true,
        Part::Vet | Part::Viewer => false,
    };
    let among = |names: &[PersonName]| names.contains(&person.name);
    match call {
        Call::OnDuty if config.rotas.is_empty() => works_here,
        Call::OnDuty => config.rotas.iter().any(|rota| {
            among(&rota.turn) || rota.instead.iter().any(|one| one.person == person.name)
        }),
        Call::Backup => config.rotas.iter().any(|rota| among(&rota.backup)),
        Call::Everyone => works_here,
        Call::Part(part) => *part == person.part,
        Call::Person(name) => *name == person.name,
    }
}

fn hours(config: &Config, written: &Written<'_>, faults: &Faults) {
    let Some(at) = rota::first_place(written.rotas) else {
        return;
    };
    if let Some(wanted) = config.calls.covered {
        for gap in cover::hours_without(&config.rotas, Some(wanted), |rota| {
            rota.calendar.is_some() || !rota.turn.is_empty()
        }) {
            let title = format!("nobody is on duty {gap}, which is to be covered");
            let help =
                "widen shift or days, add a [[rota]], or say in [calls] covered which hours matter";
            faults.refuse(at, title, help);
        }
        // Whoever is on duty cannot back themselves up.
        let backed = |rota: &Rota| {
            let another = |who: &PersonName| rota.backup.iter().any(|backup| backup != who);
            rota.calendar.is_some() || rota.over.is_some() || rota.turn.iter().all(another)
        };
        for gap in cover::hours_without(&config.rotas, Some(wanted), backed) {
            let title = format!("nobody else backs up whoever is on duty {gap}");
            faults.refuse(at, title, "name somebody else in backup of the [[rota]] of these hours");
        }
        return;
    }
    for gap in cover::hours_uncovered(&config.rotas) {
        let title = format!("nobody is on duty {gap}");
        let help =
            "a rung that calls on duty then calls everyone; widen shift or days, or add a [[rota]]";
        faults.warn(at, title, help);
    }
}

/// Rules of the farm's own in place of a species' shipped ones, and none of them hears a sensor fall silent.
fn silence(config: &Config, written: &Written<'_>, faults: &Faults) {
    let hears = |rule: &Rule| matches!(rule.condition, Condition::Silent { .. });
    let Some(at) = &written.rules.own else { return };
    if !config.sensors.is_empty() && !config.rules.iter().any(hears) {
        let title = "no rule says when a sensor falls silent";
        let help = "this file is the farm's own; name the rules of the watch beside it: \"rules/watch.toml\"";
        faults.warn(at, title, help);
    }
}

/// A rung that calls nobody only loses time.
fn backups(config: &Config, written: &Written<'_>, faults: &Faults) {
    if config.rotas.iter().any(|rota| !rota.backup.is_empty()) {
        return;
    }
    for ladder in written.ladders {
        let only_backup = |rung: &Rung| rung.call == [Call::Backup];
        if ladder.is.rungs.iter().any(only_backup) {
            let title = format!("a rung of the ladder {} calls nobody", ladder.is.name);
            let help = "it calls backup, and no rota names any; add backup to a [[rota]], or take the rung out";
            faults.warn(&ladder.at, title, help);
        }
    }
}

fn ladders(config: &Config, written: &Written<'_>, faults: &Faults) {
    for ladder in written.ladders {
        let told = |name: &Option<String>| name.as_deref() == Some(ladder.is.name.as_str());
        if !config.rules.iter().any(|rule| told(&rule.tell)) {
            let title = format!("no rule tells the ladder {}", ladder.is.name);
            let help = "name it in a rule's tell, or take it out";
            faults.warn(&ladder.at, title, help);
        }
    }
}
