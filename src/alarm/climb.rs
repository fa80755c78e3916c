//! Climbing: whom the next rung calls, and the moves that tell them.

use super::alert::{Alert, Standing};
use super::ladder::{self, Called};
use super::message::MessageKind;
use super::moves::{Move, Telling};
use crate::config::Config;
use crate::config::people::{Ladder, Rung};
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};

/// A farm without any ladder is refused by the settings; if it comes to it, look again this often.
const NO_LADDER_AGAIN: Span = Span::minutes(15);

/// Climbs to the next rung that calls anybody; at the top the last rung comes round again, for ever.
/// `also` is somebody who promised and is called again with it.
pub(super) fn climb(
    config: &Config,
    alert: &mut Alert,
    now: Moment,
    also: Option<&PersonName>,
) -> Vec<Move> {
    alert.rung.alive.clear();
    alert.rung.tried.clear();
    alert.rung.pictured.clear();
    let Some(ladder) = ladder::named(config, &alert.ladder) else {
        alert.standing = Standing::Climbing { next: now + NO_LADDER_AGAIN };
        return vec![Move::Note(format!("alert {} has no ladder to climb", alert.no))];
    };
    if let Some(first) = ask_first(config, alert, ladder) {
        alert.standing = Standing::Climbing { next: now + ladder.rungs[0].wait };
        return tell(alert, &[first]);
    }
    let top = ladder.rungs.len().saturating_sub(1);
    loop {
        let at = alert.rung.next.min(top);
        let rung = &ladder.rungs[at];
        let wait = if at == top && alert.rung.rounds > 0 { ladder.again } else { rung.wait };
        let called = called(config, alert, rung, at == top, now, also);
        alert.rung.next = at + 1;
        if at == top {
            alert.rung.rounds += 1;
        }
        alert.standing = Standing::Climbing { next: now + wait };
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
    let lines = ladder::lines_for(config, who, by);
    tell(alert, &[Called { person: who.clone(), lines }])
}

/// Tells everybody told so far, but one, by the first of the lines they were told by.
pub(super) fn tell_others(
    alert: &Alert,
    but: Option<&PersonName>,
    kind: &MessageKind,
    word: &str,
) -> Vec<Move> {
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
    let lines = ladder::lines_for(config, &person, &ladder.rungs[0].by);
    (!lines.is_empty()).then_some(Called { person, lines })
}

/// Whom a rung calls: not who has passed, unless at the top nobody else is left.
fn called(
    config: &Config,
    alert: &Alert,
    rung: &Rung,
    top: bool,
    now: Moment,
    also: Option<&PersonName>,
) -> Vec<Called> {
    let mut called = ladder::called(config, rung, now);
    if top && called.is_empty() {
        // A top that calls nobody would be the end of the ladder; there is none.
        called = ladder::everybody(config, &rung.by);
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
    called
}
