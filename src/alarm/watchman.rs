//! All open alerts and what moves them: raised, climbed, answered, passed, run out, over.
//!
//! Every way in returns the moves that follow. It never asks what time it is: whoever calls says so.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::alert::{Alert, DueWhy, Past, RungState, Standing};
use super::climb::{climb, tell, tell_holder, tell_others};
use super::code;
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

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Watchman {
    pub open: BTreeMap<AlertNo, Alert>,
    pub past: Ring<Past, PAST>,
    pub sent: Sent,
    last: AlertNo,
    /// Who said they are with this dam, and until when that stands.
    attending: BTreeMap<Animal, Attending>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Attending {
    who: PersonName,
    until: Moment,
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
    /// Makes an alert of a finding. It is due at once, so the same step climbs its first rung.
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
            standing: Standing::Climbing { next: now },
            told: BTreeMap::new(),
            reached: BTreeSet::new(),
            passed: BTreeSet::new(),
            also: BTreeSet::new(),
            rung: RungState { next: how.first_rung, ..RungState::default() },
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
        let Some(alert) = self.open.get_mut(&no) else {
            return Vec::new();
        };
        match alert.standing.clone() {
            Standing::Climbing { .. } => climb(config, alert, now, None),
            Standing::Held { by, .. } => {
                let mut moves =
                    vec![Move::Note(format!("{by} promised to look and alert {no} is still open"))];
                moves.extend(climb(config, alert, now, Some(&by)));
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
        if let Some(holder) = alert.standing.held_by_another(who, now).cloned() {
            alert.also.insert(who.clone());
            let moves = vec![Move::Note(format!("{who} is also coming for alert {no}"))];
            return (Some(Taken::Also { holder }), moves);
        }
        let (subject, priority) = (alert.subject.clone(), alert.priority);
        let mut moves = self.hold(no, who, until, &BTreeSet::new());
        moves.extend(self.calls_need_not_leave(config, no, who));
        if let Subject::Dam(animal) = &subject {
            // Whoever goes to this dam goes for everything about her that is no worse.
            let knows: BTreeSet<PersonName> = self.open[&no].told.keys().cloned().collect();
            for other in self.about(&subject) {
                let alert = &self.open[&other];
                if other != no && alert.priority <= priority && alert.holder().is_none() {
                    moves.extend(self.hold(other, who, until, &knows));
                    moves.extend(self.calls_need_not_leave(config, other, who));
                }
            }
            self.note_attending(animal, who, until);
        }
        (Some(Taken::Yours { until }), moves)
    }

    /// An alert is somebody's until a moment; everybody else told of it is told so, but for those who
    /// know already.
    fn hold(
        &mut self,
        no: AlertNo,
        who: &PersonName,
        until: Moment,
        knows: &BTreeSet<PersonName>,
    ) -> Vec<Move> {
        let Some(alert) = self.open.get_mut(&no) else {
            return Vec::new();
        };
        let news = alert.holder() != Some(who);
        alert.standing = Standing::Held { by: who.clone(), until };
        alert.passed.remove(who);
        if !news {
            return Vec::new();
        }
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
    fn let_holder_know(&mut self, config: &Config, no: AlertNo, who: &PersonName) -> Vec<Move> {
        let calls = self.sent.calls_of(no, Some(who));
        let mut moves: Vec<Move> = calls.into_iter().map(Move::Withdraw).collect();
        if let Some(alert) = self.open.get_mut(&no).filter(|alert| !alert.told.contains_key(who)) {
            moves.extend(tell_holder(config, alert, who));
        }
        moves
    }

    /// Somebody is with this dam until a moment.
    pub fn note_attending(&mut self, animal: &Animal, who: &PersonName, until: Moment) {
        self.attending.insert(animal.clone(), Attending { who: who.clone(), until });
    }

    /// Somebody cannot go: the next rung is called at once.
    pub fn pass(
        &mut self,
        config: &Config,
        no: AlertNo,
        who: &PersonName,
        now: Moment,
    ) -> Vec<Move> {
        let Some(alert) = self.open.get_mut(&no) else {
            return Vec::new();
        };
        alert.passed.insert(who.clone());
        match &alert.standing {
            Standing::Held { by, .. } if by != who => Vec::new(),
            Standing::Held { .. } | Standing::Climbing { .. } => climb(config, alert, now, None),
        }
    }

    /// Somebody made a mark of this dam, so somebody is there: what is still open about her is theirs
    /// for a while.
    pub fn attends(
        &mut self,
        config: &Config,
        animal: &Animal,
        who: &PersonName,
        now: Moment,
        span: Span,
    ) -> Vec<Move> {
        let mut moves = Vec::new();
        let mut knows = BTreeSet::new();
        for no in self.about(&Subject::Dam(animal.clone())) {
            let alert = &self.open[&no];
            // What has only now been raised has not been heard by anybody: it runs its own course.
            if alert.raised < now && alert.holder().is_none_or(|holder| holder == who) {
                let told: Vec<PersonName> = alert.told.keys().cloned().collect();
                moves.extend(self.hold(no, who, now + span, &knows));
                moves.extend(self.let_holder_know(config, no, who));
                knows.extend(told);
            }
        }
        moves
    }

    /// What it was about is settled. `by` made the mark that settled it and need not be told.
    pub fn over(
        &mut self,
        no: AlertNo,
        now: Moment,
        because: &str,
        by: Option<&PersonName>,
    ) -> Vec<Move> {
        let Some(alert) = self.open.remove(&no) else {
            return Vec::new();
        };
        let mut moves: Vec<Move> =
            self.sent.calls_of(no, None).into_iter().map(Move::Withdraw).collect();
        moves.push(Move::Note(format!("alert {no} is over: {because}")));
        moves.push(Move::Notice(no, "alert.over"));
        moves.extend(tell_others(&alert, by, &MessageKind::Over, because));
        self.past.push(Past {
            no,
            code: alert.code,
            rule: alert.rule,
            subject: alert.subject,
            on: alert.on,
            ended: now,
            because: because.to_owned(),
        });
        moves
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
        let Some(alert) = self.open.get_mut(&no) else {
            return Vec::new();
        };
        let of_this_rung = alert.rung.alive.remove(&message);
        if !of_this_rung || alert.holder().is_some() {
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
        moves.extend(climb(config, alert, now, None));
        moves
    }

    /// Open alerts about a subject.
    pub fn about(&self, subject: &Subject) -> Vec<AlertNo> {
        self.open.values().filter(|alert| alert.subject == *subject).map(|alert| alert.no).collect()
    }

    /// The one dam this person said they are with; `None` if there is none, or more than one.
    pub fn attended_by(&self, who: &PersonName, now: Moment) -> Option<Animal> {
        let theirs = |one: &(&Animal, &Attending)| one.1.who == *who && one.1.until > now;
        let mut animals = self.attending.iter().filter(theirs).map(|(animal, _)| animal);
        let only = animals.next()?;
        animals.next().is_none().then(|| only.clone())
    }

    /// Who said they are with the dam a finding is about.
    pub fn attending(&self, subject: &Subject, now: Moment) -> Option<PersonName> {
        let Subject::Dam(animal) = subject else {
            return None;
        };
        let attending = self.attending.get(animal)?;
        (attending.until > now).then(|| attending.who.clone())
    }
}
