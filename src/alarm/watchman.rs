//! All open alerts and what moves them: raised, climbed, answered, passed, run out, over.
//!
//! Every way in returns the moves that follow. It never asks what time it is: whoever calls says so.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::alert::{Alert, DueWhy, Past, RungState, Standing};
use super::attending::Attending;
use super::climb::{Yard, climb, go_up, tell, tell_holder, tell_others};
use super::code;
use super::ending::Ending;
use super::ladder::{self, Called};
use super::message::MessageKind;
use super::moves::Move;
use super::sent::Sent;
use crate::config::Config;
use crate::plain::bounded::Ring;
use crate::plain::ids::{AlertNo, Animal, MessageNo, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::rules::priority::Priority;
use crate::rules::verdict::{Finding, Subject};

/// Alerts that are over and can still be answered with "that is over".
const PAST: usize = 200;

/// What is well for now calls nobody new; it is asked again whether it has come back so often.
const RESTING: Span = Span::minutes(5);

/// Messages to a person that are counted; the settings' cap is lower.
const DISTURBED: usize = 1_000;

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Watchman {
    pub open: BTreeMap<AlertNo, Alert>,
    pub past: Ring<Past, PAST>,
    pub sent: Sent,
    last: AlertNo,
    /// Who said they are with this dam, and until when that stands.
    pub(super) attending: BTreeMap<Animal, Attending>,
    /// What passed by itself before anybody had answered: to be seen until somebody does (standards.md AL-22).
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub unseen: BTreeMap<AlertNo, Past>,
    /// When words last came from each person's telephone.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub texted: BTreeMap<PersonName, Moment>,
    /// When each person was sent what was not urgent, the last of an hour.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub(super) disturbed: BTreeMap<PersonName, Ring<Moment, DISTURBED>>,
}

/// How a finding is to be raised: what its rule and the farm's history say.
#[derive(Clone, Debug)]
pub struct Raising {
    pub ladder: String,
    pub priority: Priority,
    /// Begin at this rung.
    pub first_rung: usize,
    pub late: Option<Span>,
    /// The dam that wears the device it is about.
    pub on: Option<Animal>,
    pub seed: u64,
    /// When its first rung is climbed.
    pub first: Moment,
}

/// What an answer came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Taken {
    Yours {
        until: Moment,
    },
    /// Somebody else has it already; noted as also on the way.
    Also {
        holder: PersonName,
    },
}

impl Watchman {
    /// Makes an alert of a finding. If it is due at once, the same step climbs its first rung.
    pub fn raise(&mut self, finding: Finding, how: Raising, now: Moment) -> AlertNo {
        self.last = self.last.next();
        let no = self.last;
        let alert = Alert {
            no,
            code: code::of(no, how.seed),
            rule: finding.rule,
            ask_first: self.attending(&finding.subject, now).filter(|_| how.first_rung == 0),
            subject: finding.subject,
            on: how.on,
            priority: how.priority,
            ladder: how.ladder,
            since: finding.wrong.since,
            raised: now,
            late: how.late,
            figures: finding.wrong.figures,
            standing: Standing::Climbing { next: how.first },
            told: BTreeMap::new(),
            reached: BTreeSet::new(),
            passed: BTreeSet::new(),
            also: BTreeSet::new(),
            rung: RungState { next: how.first_rung, ..RungState::default() },
            answered: None,
            fine_since: None,
            asked: None,
        };
        self.open.insert(no, alert);
        no
    }

    /// The next thing that must happen to an alert.
    pub fn due(&self) -> Option<(Moment, AlertNo, DueWhy)> {
        self.open
            .values()
            .map(|alert| {
                let (at, why) = alert.due();
                (at, alert.no, why)
            })
            .min_by_key(|(at, no, _)| (*at, *no))
    }

    /// Its deadline has come: climb, or take back a promise that ran out.
    pub fn time_passes(&mut self, config: &Config, no: AlertNo, now: Moment) -> Vec<Move> {
        let yard = Yard { config, texted: &self.texted, now };
        let Some(alert) = self.open.get_mut(&no) else {
            return Vec::new();
        };
        match alert.standing.clone() {
            Standing::Climbing { .. } if alert.fine_since.is_some() => {
                alert.standing = Standing::Climbing { next: now + RESTING };
                Vec::new()
            }
            Standing::Climbing { .. } => climb(yard, alert, None),
            Standing::Held { by, .. } => {
                let mut moves =
                    vec![Move::Note(format!("{by} promised to look and alert {no} is still open"))];
                if alert.is_for_a_list() {
                    moves.extend(go_up(yard, alert));
                } else {
                    moves.extend(climb(yard, alert, Some(&by)));
                }
                moves
            }
            Standing::Later { by, .. } => {
                let mut moves = vec![Move::Note(format!("alert {no} was put off until now"))];
                // It begins anew: whoever put it off is called with those who are on now.
                alert.rung.next = 0;
                moves.extend(climb(yard, alert, Some(&by)));
                moves
            }
        }
    }

    /// Somebody says they go. The first answer stops the climb for everyone.
    pub fn going(
        &mut self,
        config: &Config,
        no: AlertNo,
        who: &PersonName,
        now: Moment,
        span: Span,
    ) -> (Option<Taken>, Vec<Move>) {
        let Some(alert) = self.open.get_mut(&no) else {
            return (None, Vec::new());
        };
        let until = now + span;
        alert.answered.get_or_insert_with(|| (who.clone(), now));
        let was_asked = alert.is_asked(who);
        if let Some(holder) = alert.standing.held_by_another(who, now).cloned()
            && !was_asked
        {
            alert.also.insert(who.clone());
            let moves = vec![Move::Note(format!("{who} is also coming for alert {no}"))];
            return (Some(Taken::Also { holder }), moves);
        }
        let (subject, priority) = (alert.subject.clone(), alert.priority);
        let mut moves = self.hold(no, who, (now, until), &BTreeSet::new());
        moves.extend(self.calls_need_not_leave(config, no, who));
        if let Subject::Dam(animal) = &subject {
            // Whoever goes to this dam goes for everything about her that is no worse.
            let knows: BTreeSet<PersonName> = self.open[&no].told.keys().cloned().collect();
            for other in self.about(&subject) {
                let alert = &self.open[&other];
                if other != no && alert.priority <= priority && alert.holder().is_none() {
                    moves.extend(self.hold(other, who, (now, until), &knows));
                    moves.extend(self.calls_need_not_leave(config, other, who));
                }
            }
            self.note_attending(animal, who, until);
        }
        (Some(Taken::Yours { until }), moves)
    }

    /// An alert is somebody's until a moment; everybody else told of it is told so, but for those who
    /// know already.
    pub(super) fn hold(
        &mut self,
        no: AlertNo,
        who: &PersonName,
        (now, until): (Moment, Moment),
        knows: &BTreeSet<PersonName>,
    ) -> Vec<Move> {
        let Some(alert) = self.open.get_mut(&no) else {
            return Vec::new();
        };
        let news = alert.holder() != Some(who);
        alert.standing = Standing::Held { by: who.clone(), until };
        alert.passed.remove(who);
        alert.answered.get_or_insert_with(|| (who.clone(), now));
        if !news {
            return Vec::new();
        }
        alert.asked = None;
        let mut moves = vec![Move::Notice(no, "alert.answered")];
        let told = tell_others(alert, Some(who), &MessageKind::Taken, who.as_str());
        moves.extend(told.into_iter().filter(|told| match told {
            Move::Tell(telling) => !knows.contains(&telling.to),
            Move::Withdraw(_) | Move::Notice(..) | Move::Note(_) => true,
        }));
        moves
    }

    /// Somebody goes: what has not left yet need not leave any more, unless nobody at all would then
    /// have been told ("going 114" may have been meant for the alert before this one).
    fn calls_need_not_leave(
        &mut self,
        config: &Config,
        no: AlertNo,
        who: &PersonName,
    ) -> Vec<Move> {
        if self.open.get(&no).is_some_and(|alert| alert.reached.is_empty()) {
            return self.let_holder_know(config, no, who);
        }
        let mut calls = self.sent.calls_of(no, None);
        // Whoever goes may still be glad of what the camera sees.
        let pictures = self.sent.pictures_to(no, who);
        calls.retain(|call| !pictures.contains(call));
        calls.into_iter().map(Move::Withdraw).collect()
    }

    /// An alert became somebody's without their naming it: their own calls stay on their way, and if
    /// there were none, they are called now. Else nobody might know of it at all.
    pub(super) fn let_holder_know(
        &mut self,
        config: &Config,
        no: AlertNo,
        who: &PersonName,
    ) -> Vec<Move> {
        let calls = self.sent.calls_of(no, Some(who));
        let mut moves: Vec<Move> = calls.into_iter().map(Move::Withdraw).collect();
        if let Some(alert) = self.open.get_mut(&no).filter(|alert| !alert.told.contains_key(who)) {
            moves.extend(tell_holder(config, alert, who));
        }
        moves
    }

    /// Somebody cannot go: the next rung is called at once.
    pub fn pass(
        &mut self,
        config: &Config,
        no: AlertNo,
        who: &PersonName,
        now: Moment,
    ) -> Vec<Move> {
        let yard = Yard { config, texted: &self.texted, now };
        let Some(alert) = self.open.get_mut(&no) else {
            return Vec::new();
        };
        alert.passed.insert(who.clone());
        alert.answered.get_or_insert_with(|| (who.clone(), now));
        match &alert.standing {
            Standing::Held { by, .. } | Standing::Later { by, .. } if by != who => Vec::new(),
            Standing::Held { .. } | Standing::Later { .. } | Standing::Climbing { .. } => {
                go_up(yard, alert)
            }
        }
    }

    /// What it was about is settled. `by` made the mark that settled it and need not be told.
    pub fn over(
        &mut self,
        no: AlertNo,
        now: Moment,
        (ending, because): (Ending, &str),
        by: Option<&PersonName>,
    ) -> Vec<Move> {
        let Some(alert) = self.open.remove(&no) else {
            return Vec::new();
        };
        let mut moves: Vec<Move> =
            self.sent.calls_of(no, None).into_iter().map(Move::Withdraw).collect();
        moves.push(Move::Note(format!("alert {no} is over: {because}")));
        moves.push(Move::Notice(no, "alert.over"));
        moves.extend(tell_others(&alert, by, &MessageKind::Over, ""));
        let past = Past {
            no,
            code: alert.code,
            rule: alert.rule,
            subject: alert.subject,
            on: alert.on,
            ended: now,
            because: because.to_owned(),
            ending: Some(ending),
        };
        if alert.answered.is_none() && by.is_none() {
            self.unseen.insert(no, past.clone());
            if self.unseen.len() > PAST {
                self.unseen.pop_first();
            }
        }
        self.past.push(past);
        moves
    }

    /// Somebody has seen that it is over.
    pub fn is_seen(&mut self, no: AlertNo) {
        self.unseen.remove(&no);
    }

    /// A message of an alert left: while one of its rung has not failed, the rung stands.
    pub fn left(&mut self, no: AlertNo, message: MessageNo) {
        if let Some(alert) = self.open.get_mut(&no) {
            alert.rung.alive.insert(message);
        }
    }

    /// A call was handed over: the person has it, or will in a moment.
    pub fn landed(&mut self, no: AlertNo, who: &PersonName) {
        if let Some(alert) = self.open.get_mut(&no) {
            alert.reached.insert(who.clone());
        }
    }

    /// A message could not be brought to a person: another line, or the next rung at once.
    pub fn failed(
        &mut self,
        config: &Config,
        no: AlertNo,
        message: MessageNo,
        who: &PersonName,
        now: Moment,
    ) -> Vec<Move> {
        let yard = Yard { config, texted: &self.texted, now };
        let Some(alert) = self.open.get_mut(&no) else {
            return Vec::new();
        };
        let of_this_rung = alert.rung.alive.remove(&message);
        let waits = matches!(alert.standing, Standing::Held { .. } | Standing::Later { .. });
        if !of_this_rung || waits {
            return Vec::new();
        }
        let tried = alert.rung.tried.entry(who.clone()).or_default();
        if let Some(line) = ladder::another_line(config, who, tried) {
            let called = Called { person: who.clone(), lines: vec![line] };
            return tell(alert, &[called]);
        }
        let at_the_top = alert.rung.rounds > 0;
        if !alert.rung.alive.is_empty() || at_the_top {
            return Vec::new();
        }
        let mut moves =
            vec![Move::Note(format!("nobody on this rung could be told of alert {no}"))];
        moves.extend(go_up(yard, alert));
        moves
    }

    /// Open alerts about a subject.
    pub fn about(&self, subject: &Subject) -> Vec<AlertNo> {
        self.open.values().filter(|alert| alert.subject == *subject).map(|alert| alert.no).collect()
    }
}
