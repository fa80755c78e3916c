//! The calls of one step, at its end: what is urgent leaves alone and at once; the rest goes out as one text a
//! person and line, rides along by night with a call that wakes them anyway, and is held back for a while where
//! somebody has been sent too much. It decides nothing about what is urgent: the rule's harm and onset do.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use super::Watch;
use super::out::Out;
use super::ready::Ready;
use crate::alarm::alert::Standing;
use crate::alarm::message::MessageKind;
use crate::alarm::moves::Telling;
use crate::alarm::sent::Flight;
use crate::config::calls::is_day;
use crate::config::rules::{Harm, Rule};
use crate::plain::ids::{AlertNo, LineName, MessageNo, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::rules::book;
use crate::rules::priority::Priority;
use crate::rules::verdict::Subject;
use crate::talk::gathered::{self, Why};
use crate::talk::reader::Reader;

/// Sensors that fall silent together are found within so long of each other: one text names them all (needs.md
/// N10). It comes on top of the rule's own limit.
const GATHER: Span = Span::minutes(1);

/// By person and line, the alerts they are called for.
type Gathered = Vec<((PersonName, LineName), Vec<AlertNo>)>;

fn gather(gathered: &mut Gathered, call: Telling) {
    let key = (call.to, call.line);
    match gathered.iter_mut().find(|(known, _)| *known == key) {
        Some((_, alerts)) if alerts.contains(&call.alert) => {}
        Some((_, alerts)) => alerts.push(call.alert),
        None => gathered.push((key, vec![call.alert])),
    }
}

impl Watch {
    /// When an alert's first rung is climbed: at once, unless it can wait.
    pub(super) fn first_call(&self, subject: &Subject, rule: &Rule, ready: &Ready) -> Moment {
        let now = self.state.now;
        let (calls, zone) = (&ready.config.calls, &ready.config.farm.zone);
        if rule.loud {
            return now;
        }
        match (book::priority(rule), subject) {
            (Priority::High, _) => now,
            // A list that is told this very moment takes it along.
            (Priority::Low, _) => calls.next_list(zone, now - Span::from_millis(1)),
            (Priority::Medium, _) if rule.harm == Harm::Death => now,
            (Priority::Medium, _) if !is_day(zone, now) && calls.company > Span::ZERO => {
                now + calls.company
            }
            (Priority::Medium, Subject::Device(_)) => now + GATHER,
            (
                Priority::Medium,
                Subject::Dam(_)
                | Subject::Line(_)
                | Subject::Gateway(_)
                | Subject::Rota
                | Subject::Drill
                | Subject::Herd
                | Subject::Person(_),
            ) => now,
        }
    }

    /// Takes back texts about several alerts that call for nothing any more: each of them is over, or somebody has it and
    /// others have heard of it.
    pub(super) fn take_back_settled(&mut self, out: &mut Out) {
        if out.effects.is_empty() {
            return;
        }
        let open = &self.state.watchman.open;
        let settled = |no: AlertNo, to: &PersonName| {
            open.get(&no).is_none_or(|alert| {
                alert.holder().is_some() && !alert.reached.is_empty() && !alert.is_asked(to)
            })
        };
        let flights = self.state.watchman.sent.in_flight();
        let gone: Vec<MessageNo> = flights
            .filter_map(|flight| match flight {
                Flight::Message(message)
                    if message.kind == MessageKind::Alert
                        && !message.also.is_empty()
                        && message.alerts().all(|no| settled(no, &message.to)) =>
                {
                    Some(message.no)
                }
                Flight::Message(_) | Flight::Notice(_) => None,
            })
            .collect();
        for no in gone {
            if self.state.watchman.sent.lands(no).is_some() {
                out.withdraw(no);
            }
        }
    }

    /// Sends what this step has called for.
    pub(super) fn make_calls(&mut self, out: &mut Out) {
        let Some(ready) = self.ready.clone() else { return };
        if self.moment.calls.is_empty() {
            return;
        }
        let company = self.find_company(&ready, out);
        let calls = std::mem::take(&mut self.moment.calls);
        // In the order in which each person and line is first called.
        let mut small: Gathered = Vec::new();
        let mut urgent: Vec<(Subject, Gathered)> = Vec::new();
        for call in calls {
            if !self.is_still_to_be_made(&call) {
                continue;
            }
            let Some(alert) = self.state.watchman.open.get(&call.alert) else { continue };
            if alert.priority != Priority::High {
                gather(&mut small, call);
                continue;
            }
            match urgent.iter_mut().find(|(about, _)| *about == alert.subject) {
                Some((_, gathered)) => gather(gathered, call),
                None => {
                    let mut gathered = Vec::new();
                    let about = alert.subject.clone();
                    gather(&mut gathered, call);
                    urgent.push((about, gathered));
                }
            }
        }
        for ((to, line), alerts) in urgent.into_iter().flat_map(|(_, gathered)| gathered) {
            self.tell_urgent((&to, &line), alerts, &ready, out);
        }
        let small = self.hold_back(small, &ready, out);
        for ((to, line), alerts) in small {
            let why = if company.contains(&to) { Why::Company } else { Why::Several };
            self.tell_gathered((&to, &line), &alerts, why, &ready, out);
        }
    }

    fn priority_of(&self, no: AlertNo) -> Option<Priority> {
        self.state.watchman.open.get(&no).map(|alert| alert.priority)
    }

    /// What is urgent about one dam is one text: the worst of it, and that there is more.
    fn tell_urgent(
        &mut self,
        (to, line): (&PersonName, &LineName),
        mut alerts: Vec<AlertNo>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        let loud = |no: &AlertNo| {
            let rule = self.state.watchman.open.get(no).and_then(|alert| ready.rule(&alert.rule));
            rule.is_some_and(|rule| rule.loud)
        };
        // What calls everybody at once is worse, and of two the one that came true later.
        alerts.sort_by_key(|no| (!loud(no), std::cmp::Reverse(*no)));
        let Some(alert) = alerts.first().copied() else { return };
        let (to, line, word) = (to.clone(), line.clone(), String::new());
        let telling = Telling { alert, to, line, kind: MessageKind::Alert, word };
        self.tell_with(&telling, &alerts[1..], ready, out);
    }

    /// An alert may have ended or found somebody since it climbed, within this step.
    fn is_still_to_be_made(&self, call: &Telling) -> bool {
        let Some(alert) = self.state.watchman.open.get(&call.alert) else { return false };
        match &alert.standing {
            Standing::Climbing { .. } => true,
            Standing::Held { by, .. } | Standing::Later { by, .. } => {
                *by == call.to || alert.is_asked(&call.to)
            }
        }
    }

    /// By night whoever is woken anyway is told what has waited for them (needs.md N101). Says who that is.
    fn find_company(&mut self, ready: &Rc<Ready>, out: &mut Out) -> BTreeSet<PersonName> {
        let now = self.state.now;
        if is_day(&ready.config.farm.zone, now) {
            return BTreeSet::new();
        }
        let urgent = |call: &&Telling| self.priority_of(call.alert) == Some(Priority::High);
        let calls = self.moment.calls.iter();
        let woken: BTreeSet<PersonName> =
            calls.filter(urgent).map(|call| call.to.clone()).collect();
        if woken.is_empty() {
            return woken;
        }
        for no in self.state.watchman.waiting(&ready.config, now, &woken) {
            let moves = self.state.watchman.time_passes(&ready.config, no, now);
            self.follow(moves, ready, out);
        }
        woken
    }

    /// Whoever has had too much within an hour gets the rest of it in one text, a while after the last.
    fn hold_back(&mut self, small: Gathered, ready: &Rc<Ready>, out: &mut Out) -> Gathered {
        let (now, at_most) = (self.state.now, ready.config.calls.at_most);
        let people: BTreeSet<PersonName> = small.iter().map(|((to, _), _)| to.clone()).collect();
        let mut until: BTreeMap<PersonName, Moment> = BTreeMap::new();
        for who in people {
            let free = self.state.watchman.free_again(&who, at_most, now);
            until.extend(free.map(|free| (who, free)));
        }
        if until.is_empty() {
            return small;
        }
        let (held, leaving): (Vec<_>, Vec<_>) =
            small.into_iter().partition(|((to, _), _)| until.contains_key(to));
        let told: BTreeSet<AlertNo> =
            leaving.iter().flat_map(|(_, alerts)| alerts.iter().copied()).collect();
        for ((to, _), alerts) in held {
            for no in alerts {
                // Whoever else is called for it is called; alone, it waits until that person is free again.
                let wait = (!told.contains(&no)).then(|| until[&to]);
                self.state.watchman.holds_back(no, &to, wait);
            }
            let free = ready.config.farm.zone.clock(until[&to]);
            out.note(format!("{to} has been sent enough for now: the rest goes out at {free}"));
        }
        leaving
    }

    /// One text about one alert or several.
    fn tell_gathered(
        &mut self,
        (to, line): (&PersonName, &LineName),
        alerts: &[AlertNo],
        why: Why,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        self.state.watchman.disturbs(to, self.state.now);
        if let [only] = alerts {
            let (alert, word) = (*only, String::new());
            let (to, line) = (to.clone(), line.clone());
            let telling = Telling { alert, to, line, kind: MessageKind::Alert, word };
            self.tell(&telling, ready, out);
            return;
        }
        let watchman = &self.state.watchman;
        let mut open: Vec<_> = alerts.iter().filter_map(|no| watchman.open.get(no)).collect();
        open.sort_by_key(|alert| (std::cmp::Reverse(alert.priority), alert.no));
        let unseen: Vec<_> = watchman.unseen.values().collect();
        let (config, now) = (&ready.config, self.state.now);
        let reader = Reader::of(config, to, Some(line));
        let words = gathered::words(config, &open, &unseen, why, now, &reader);
        let sorted: Vec<AlertNo> = open.iter().map(|alert| alert.no).collect();
        let kind = MessageKind::Alert;
        let no = self.send_about(to, line, &sorted, kind, &words, None, ready, out);
        if let Some(no) = no {
            for alert in sorted {
                self.state.watchman.left(alert, no);
            }
        }
    }
}
