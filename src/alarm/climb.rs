//! Climbing: whom the next rung calls, and the moves that tell them.

use std::collections::{BTreeMap, BTreeSet};

use super::alert::{Alert, Standing};
use super::ladder::{self, Called};
use super::message::MessageKind;
use super::moves::{Move, Telling};
use crate::config::Config;
use crate::config::calls::is_day;
use crate::config::people::{Call, Ladder, Rung};
use crate::plain::ids::{LineName, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::rota;
use crate::rules::priority::Priority;

/// A farm without any ladder is refused by the settings; if it comes to it, look again this often.
const NO_LADDER_AGAIN: Span = Span::minutes(15);

/// A telephone from which words have come within so long has reception and a person behind it (needs.md N70).
const PROVEN_FOR: Span = Span::days(60);

/// What a climb is decided by: the settings, the moment, and from whose telephone words have come.
#[derive(Clone, Copy)]
pub(super) struct Yard<'a> {
    pub(super) config: &'a Config,
    pub(super) texted: &'a BTreeMap<PersonName, Moment>,
    pub(super) now: Moment,
}

impl Yard<'_> {
    /// When an alert that waits for a list is told, if it may not be before `after`.
    pub(super) fn list_after(&self, after: Moment) -> Moment {
        self.config.calls.next_list(&self.config.farm.zone, after)
    }

    fn proven(&self, who: &PersonName) -> bool {
        self.texted.get(who).is_some_and(|at| *at + PROVEN_FOR > self.now)
    }

    /// Whether a rung is climbed now.
    fn is_open(&self, rung: &Rung) -> bool {
        let night = !is_day(&self.config.farm.zone, self.now);
        rung.only.by_night.is_none_or(|by_night| by_night == night)
    }
}

/// Climbs to the next rung that calls anybody; at the top the last rung comes round again, for ever.
/// `also` is somebody who promised and is called again with it.
pub(super) fn climb(yard: Yard<'_>, alert: &mut Alert, also: Option<&PersonName>) -> Vec<Move> {
    alert.rung.alive.clear();
    alert.rung.tried.clear();
    alert.rung.pictured.clear();
    alert.asked = None;
    let Some(ladder) = ladder::named(yard.config, &alert.ladder) else {
        alert.standing = Standing::Climbing { next: yard.now + NO_LADDER_AGAIN };
        return vec![Move::Note(format!("alert {} has no ladder to climb", alert.no))];
    };
    if let Some(first) = ask_first(yard.config, alert, ladder) {
        alert.standing = next_climb(yard, alert, ladder.rungs[0].wait);
        return tell(alert, &[first]);
    }
    let top = ladder.rungs.len().saturating_sub(1);
    loop {
        let at = alert.rung.next.min(top);
        let rung = &ladder.rungs[at];
        let wait = if at == top && alert.rung.rounds > 0 { ladder.again } else { rung.wait };
        let called = called(yard, alert, rung, at == top, also);
        alert.rung.next = at + 1;
        if at == top {
            alert.rung.rounds += 1;
        }
        alert.standing = next_climb(yard, alert, wait);
        if !called.is_empty() {
            let mut moves = vec![Move::Notice(alert.no, "alert.told")];
            moves.extend(tell(alert, &called));
            return moves;
        }
        if at == top {
            return vec![Move::Note(format!("there is nobody to tell of alert {}", alert.no))];
        }
    }
}

/// What can wait is told again in a list, whatever the rung's wait.
fn next_climb(yard: Yard<'_>, alert: &Alert, wait: Span) -> Standing {
    let next = yard.now + wait;
    let next = if alert.is_for_a_list() { yard.list_after(next) } else { next };
    Standing::Climbing { next }
}

/// Nobody of this rung has it: the next is called at once, or with the next list.
pub(super) fn go_up(yard: Yard<'_>, alert: &mut Alert) -> Vec<Move> {
    if alert.is_for_a_list() {
        alert.standing = Standing::Climbing { next: yard.list_after(yard.now) };
        return Vec::new();
    }
    climb(yard, alert, None)
}

pub(super) fn tell(alert: &mut Alert, called: &[Called]) -> Vec<Move> {
    let mut moves = Vec::new();
    for one in called {
        for line in &one.lines {
            alert.told.entry(one.person.clone()).or_default().insert(line.clone());
            alert.rung.tried.entry(one.person.clone()).or_default().insert(line.clone());
            moves.push(Move::Tell(Telling {
                alert: alert.no,
                to: one.person.clone(),
                line: line.clone(),
                kind: MessageKind::Alert,
                word: String::new(),
            }));
        }
    }
    moves
}

/// Calls the one who has it now, by the lines of the rung that was climbed last.
pub(super) fn tell_holder(config: &Config, alert: &mut Alert, who: &PersonName) -> Vec<Move> {
    let rungs = ladder::named(config, &alert.ladder).map_or(&[][..], |ladder| &ladder.rungs);
    let last = alert.rung.next.saturating_sub(1).min(rungs.len().saturating_sub(1));
    let by = rungs.get(last).map_or(&[][..], |rung| &rung.by);
    let lines = quiet(config, alert, ladder::lines_for(config, who, by));
    tell(alert, &[Called { person: who.clone(), lines }])
}

/// Tells everybody told so far, but one, by the first of the lines they were told by. What was told in a list
/// ends without a word: the next list leaves it out.
pub(super) fn tell_others(
    alert: &Alert,
    but: Option<&PersonName>,
    kind: &MessageKind,
    word: &str,
) -> Vec<Move> {
    if alert.is_for_a_list() {
        return Vec::new();
    }
    alert
        .told
        .iter()
        .filter(|(person, _)| Some(*person) != but)
        .filter_map(|(person, lines)| {
            Some(Move::Tell(Telling {
                alert: alert.no,
                to: person.clone(),
                line: lines.first()?.clone(),
                kind: kind.clone(),
                word: word.to_owned(),
            }))
        })
        .collect()
}

/// Somebody is with this dam already: they are told first and alone, once.
fn ask_first(config: &Config, alert: &mut Alert, ladder: &Ladder) -> Option<Called> {
    let person = alert.ask_first.take()?;
    let lines = quiet(config, alert, ladder::lines_for(config, &person, &ladder.rungs[0].by));
    (!lines.is_empty()).then_some(Called { person, lines })
}

/// What is not urgent does not ring, where there is a line that does not (needs.md N54).
pub(super) fn quiet(config: &Config, alert: &Alert, lines: Vec<LineName>) -> Vec<LineName> {
    let rings = |line: &LineName| config.lines.iter().any(|one| one.name == *line && one.rings);
    if alert.priority == Priority::High || lines.iter().all(rings) {
        return lines;
    }
    lines.into_iter().filter(|line| !rings(line)).collect()
}

/// Whom a rung calls: not who has passed or is off duty, unless at the top nobody else is left.
pub(super) fn called(
    yard: Yard<'_>,
    alert: &Alert,
    rung: &Rung,
    top: bool,
    also: Option<&PersonName>,
) -> Vec<Called> {
    let config = yard.config;
    let mut called = Vec::new();
    if top || yard.is_open(rung) {
        called = ladder::called(config, rung, yard.now);
    }
    if top && called.is_empty() {
        // A top that calls nobody would be the end of the ladder; there is none.
        called = ladder::everybody(config, &rung.by);
    }
    if !top {
        let off = ladder::off_duty(config, yard.now);
        called.retain(|one| !off.contains(&one.person));
        called.retain(|one| !rung.only.proven || yard.proven(&one.person));
    }
    overlap(yard, alert, rung, &mut called);
    let here = |one: &Called| !rota::cannot_come(&config.rotas, &one.person, yard.now);
    if called.iter().any(here) {
        called.retain(here);
    }
    let willing = |one: &Called| !alert.passed.contains(&one.person);
    if !top || called.iter().any(willing) {
        called.retain(willing);
    }
    if let Some(also) = also.filter(|also| called.iter().all(|one| one.person != **also)) {
        let lines = ladder::lines_for(config, also, &rung.by);
        if !lines.is_empty() {
            called.insert(0, Called { person: also.clone(), lines });
        }
    }
    for one in &mut called {
        one.lines = quiet(config, alert, std::mem::take(&mut one.lines));
    }
    called
}

/// What was raised before a change of shift calls whoever had the last one too, for a while.
fn overlap(yard: Yard<'_>, alert: &Alert, rung: &Rung, called: &mut Vec<Called>) {
    let config = yard.config;
    let duty = ladder::duty(config, yard.now);
    let Some(change) = duty.people.iter().map(|shift| shift.from).max() else { return };
    let since = alert.raised < change && yard.now < change + config.calls.overlap;
    let calls = rung.call.contains(&Call::OnDuty) && yard.is_open(rung) && !alert.is_for_a_list();
    if !calls || !since {
        return;
    }
    for shift in ladder::duty(config, change - Span::from_millis(1)).people {
        let lines = ladder::lines_for(config, &shift.person, &rung.by);
        if called.iter().all(|one| one.person != shift.person) && !lines.is_empty() {
            called.push(Called { person: shift.person, lines });
        }
    }
}

/// Somebody comes on duty: what has been told to others and nobody has answered is told to them at once.
pub(super) fn tell_incoming(config: &Config, alert: &mut Alert, who: &PersonName) -> Vec<Move> {
    let climbs = matches!(alert.standing, Standing::Climbing { .. });
    let knows = alert.told.contains_key(who) || alert.passed.contains(who);
    if !climbs || knows || alert.told.is_empty() || alert.is_for_a_list() {
        return Vec::new();
    }
    tell_holder(config, alert, who)
}

/// Whom the next rung would call, if it were climbed now.
pub(super) fn would_call(yard: Yard<'_>, alert: &Alert) -> BTreeSet<PersonName> {
    let Some(ladder) = ladder::named(yard.config, &alert.ladder) else { return BTreeSet::new() };
    let top = ladder.rungs.len().saturating_sub(1);
    let at = alert.rung.next.min(top);
    let rung = ladder.rungs.get(at);
    let called = rung.map(|rung| called(yard, alert, rung, at == top, None)).unwrap_or_default();
    called.into_iter().map(|one| one.person).collect()
}
