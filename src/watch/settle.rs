//! After an event: ask the rules about whatever it touched and whatever has come due, until nothing
//! is due any more.

use std::collections::BTreeSet;
use std::rc::Rc;

use super::Watch;
use super::alive::Worn;
use super::coverage;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use crate::alarm::ending::Ending;
use crate::alarm::message::MessageKind;
use crate::alarm::moves::Move;
use crate::herd::recovery::{self, Closing};
use crate::herd::stage::Stage;
use crate::plain::ids::{AlertNo, RuleName};
use crate::plain::moment::Moment;
use crate::rules::verdict::{Figures, Finding, Subject, Verdict};
use crate::talk::speech::Speech;

/// Each turn handles everything due; a chain longer than this is a rule that answers itself.
const TURNS_MAX: usize = 1_000;

/// What an event touched.
#[derive(Default)]
pub(super) struct Touched {
    keys: BTreeSet<Key>,
    all_devices: bool,
    everything: bool,
}

impl Touched {
    pub(super) fn key(&mut self, key: Key) {
        self.keys.insert(key);
    }

    pub(super) fn devices(&mut self) {
        self.all_devices = true;
    }

    pub(super) fn everything(&mut self) {
        self.everything = true;
    }
}

impl Watch {
    pub(super) fn settle(&mut self, touched: &mut Touched, out: &mut Out) {
        let Some(ready) = self.ready.clone() else {
            return;
        };
        self.air_grows_old(out);
        if touched.everything {
            self.drop_rules_taken_out(&ready, out);
        }
        let mut keys = self.keys_of(touched, &ready);
        for _ in 0..TURNS_MAX {
            keys.extend(self.deadlines.take_due(self.state.now));
            for key in std::mem::take(&mut keys) {
                self.look_at(&key, &ready, out);
            }
            while let Some((_, no, _)) =
                self.state.watchman.due().filter(|(at, _, _)| *at <= self.state.now)
            {
                let moves = self.state.watchman.time_passes(&ready.config, no, self.state.now);
                self.follow(moves, &ready, out);
            }
            let due = self.next_deadline().is_some_and(|next| next.at <= self.state.now);
            if !due {
                return;
            }
        }
        panic!("after {TURNS_MAX} turns something is still due: {:?}", self.next_deadline());
    }

    pub(super) fn keys_of(&self, touched: &mut Touched, ready: &Ready) -> BTreeSet<Key> {
        let mut keys = std::mem::take(&mut touched.keys);
        if touched.everything {
            keys.extend((0..).zip(self.state.dams.names()).map(|(place, _)| Key::Dam(place)));
            keys.extend(self.state.lines.keys().cloned().map(Key::Line));
            keys.extend(self.state.inside.keys().cloned().map(Key::Inside));
            if !ready.book.uncovered.is_empty() || !self.state.swaps.is_empty() {
                keys.insert(Key::Rota);
            }
            if ready.config.calls.handover && !ready.config.rotas.is_empty() {
                keys.insert(Key::Duty);
            }
            let schedules = u16::try_from(ready.config.schedules.len()).unwrap_or(u16::MAX);
            keys.extend((0..schedules).map(Key::Clocked));
            if self.state.drill.is_some() {
                keys.insert(Key::Drill);
            }
            if ready.config.calls.welcome {
                keys.insert(Key::Contacts);
            }
        }
        if touched.everything || touched.all_devices {
            keys.extend(self.state.ledger.devices().map(Key::Device));
            keys.extend((0..).zip(&self.state.gateways).map(|(place, _)| Key::Gateway(place)));
            if ready.asks_for_cover() {
                keys.extend((0..).zip(self.state.dams.names()).map(|(place, _)| Key::Cover(place)));
                keys.insert(Key::Herd);
            }
        }
        keys
    }

    /// Asks every rule about a subject, raises and ends alerts, and notes when to ask again.
    fn look_at(&mut self, key: &Key, ready: &Rc<Ready>, out: &mut Out) {
        let (mut verdicts, again) = match key {
            Key::Dam(place) => self.ask_dam(*place, ready, out),
            Key::Device(place) => self.ask_device(*place, ready),
            Key::Line(line) => self.ask_line(line, ready),
            Key::Gateway(place) => self.ask_gateway(*place, ready),
            Key::Cover(dam) => (Vec::new(), self.keep_cover(*dam, ready)),
            Key::Herd => self.ask_herd(ready),
            Key::Rota => {
                self.ends_questions(ready, out);
                self.ask_rota(ready)
            }
            Key::Duty => {
                self.hands_over(ready, out);
                self.ask_duty(ready)
            }
            Key::Clocked(place) => {
                self.sends_by_clock(*place, ready, out);
                self.ask_clocked(*place, ready)
            }
            Key::Drill => {
                self.ends_drill(ready, out);
                self.ask_drill(ready)
            }
            Key::Contacts => {
                self.asks_for_words(ready, out);
                self.ask_contacts(ready)
            }
            Key::Inside(person) => {
                self.ask_if_out(person, ready, out);
                self.ask_inside(person, ready)
            }
        };
        self.wait_for_morning(key, &mut verdicts, ready);
        self.wait_since_look(key, &mut verdicts, ready);
        let mut next = again;
        let mut wrong = false;
        for (_, verdict) in &verdicts {
            match verdict {
                Verdict::Fine => {}
                Verdict::FineUntil(at) => next = earlier(next, Some(*at)),
                Verdict::Wrong(what) => {
                    wrong = true;
                    next = earlier(next, what.ends);
                }
            }
        }
        if let Key::Gateway(place) = key {
            self.note_gateway(*place, ready);
        }
        let nothing_stands = self.state.watchman.open.is_empty() && self.state.logged.is_empty();
        if !verdicts.is_empty() && (wrong || !nothing_stands) {
            let subject = key.subject(&self.state);
            for (rule, verdict) in verdicts {
                self.judge(&rule, &subject, verdict, ready, out);
            }
            next = earlier(next, self.rest_ends(&subject, ready));
        }
        if let Key::Dam(place) = key {
            next = earlier(next, self.close_if_over(*place, out));
        }
        self.deadlines.set(key, next);
    }

    fn judge(
        &mut self,
        rule: &RuleName,
        subject: &Subject,
        verdict: Verdict,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        let open = self
            .state
            .watchman
            .open
            .values()
            .find(|alert| alert.rule == *rule && alert.subject == *subject)
            .map(|alert| alert.no);
        let Some(settings) = ready.rule(rule) else {
            return;
        };
        match (verdict, open) {
            (Verdict::Wrong(wrong), Some(no)) if self.has_grown_while_held(no, &wrong.figures) => {
                // Whoever has it promised to look at fewer: the rest is news to everybody.
                let moves = self.over_for_the_settings(no, Ending::Grown, ready);
                self.follow(moves, ready, out);
                let finding = Finding { rule: rule.clone(), subject: subject.clone(), wrong };
                self.found(finding, settings, ready, out);
            }
            (Verdict::Wrong(wrong), Some(no)) => {
                if let Some(alert) = self.state.watchman.open.get_mut(&no) {
                    alert.fine_since = None;
                    let was_blind = alert.figures.says_it_is_blind();
                    alert.figures = wrong.figures;
                    if was_blind != alert.figures.says_it_is_blind() {
                        self.herd_again(subject, ready);
                    }
                }
            }
            (Verdict::Wrong(wrong), None) => {
                let finding = Finding { rule: rule.clone(), subject: subject.clone(), wrong };
                self.found(finding, settings, ready, out);
            }
            (Verdict::Fine | Verdict::FineUntil(_), Some(no)) => {
                if !self.rests(no, settings.rest) && !self.waits_for_an_answer(no, ready) {
                    self.end_alert(no, subject, ready, out);
                }
            }
            (Verdict::Fine | Verdict::FineUntil(_), None) => {
                if !self.state.logged.is_empty() {
                    self.state.logged.remove(&format!("{rule} / {subject}"));
                }
            }
        }
    }

    /// Signs that built up and faded are no all-clear: a calf that lies wrong may show no more (needs.md
    /// N99). While she is in no later stage, such an alert stands until somebody has answered. And a
    /// sensor that says nothing more calls nobody off: unless one that is heard says otherwise, only
    /// an answer does.
    fn waits_for_an_answer(&self, no: AlertNo, ready: &Ready) -> bool {
        let Some(alert) = self.state.watchman.open.get(&no) else { return false };
        let Subject::Dam(animal) = &alert.subject else { return false };
        let corrected = self.moment.mark.as_ref().is_some_and(|(marked, _)| marked == animal);
        if !alert.figures.may_fade() || corrected || alert.holder().is_some() {
            return false;
        }
        let Some(place) = self.state.dams.find(animal) else { return false };
        let dam = self.state.dams.at(place).1;
        let early = matches!(dam.stage, Stage::Carrying | Stage::First);
        dam.listed
            && ((alert.figures.are_signs() && early) || !self.is_denied(&alert.rule, place, ready))
    }

    /// Whether anything that is heard says otherwise than a rule's finding about a dam.
    pub(super) fn is_denied(&self, rule: &RuleName, place: u32, ready: &Ready) -> bool {
        let worn = Worn { state: &self.state, ready, dam: place };
        let dam = self.state.dams.at(place).1;
        let mut rules = ready.book.dam.iter().filter(|known| known.name == *rule);
        let asking = self.asking(&worn);
        rules.any(|rule| rule.is_denied(dam, &asking))
    }

    fn has_grown_while_held(&self, no: AlertNo, figures: &Figures) -> bool {
        let alert = self.state.watchman.open.get(&no);
        alert.is_some_and(|alert| {
            alert.holder().is_some() && coverage::grown(&alert.figures, figures)
        })
    }

    /// Over by no mark and by nothing that was found.
    fn over_for_the_settings(&mut self, no: AlertNo, ending: Ending, ready: &Ready) -> Vec<Move> {
        let because = Speech::english(&ready.config).ending(&ending);
        self.state.watchman.over(no, self.state.now, (ending, &because), None)
    }

    fn drop_rules_taken_out(&mut self, ready: &Rc<Ready>, out: &mut Out) {
        let gone: Vec<AlertNo> = self
            .state
            .watchman
            .open
            .values()
            .filter(|alert| {
                let rule = ready.rule(&alert.rule).is_none_or(|rule| rule.tell.is_none());
                rule || !self.is_known(&alert.subject, ready)
            })
            .map(|alert| alert.no)
            .collect();
        for no in gone {
            let moves = self.over_for_the_settings(no, Ending::TakenOut, ready);
            self.follow(moves, ready, out);
        }
    }

    /// Whether the settings still speak of a subject.
    fn is_known(&self, subject: &Subject, ready: &Ready) -> bool {
        match subject {
            Subject::Dam(animal) => {
                self.state.dams.get(animal.as_str()).is_some_and(|dam| dam.listed)
            }
            Subject::Device(device) => self
                .state
                .devices
                .find(device.as_str())
                .is_some_and(|place| self.state.ledger.knows(place)),
            Subject::Gateway(gateway) => {
                ready.config.chains.iter().any(|known| known.name == *gateway)
            }
            Subject::Herd => ready.asks_for_cover(),
            Subject::Rota => !ready.book.uncovered.is_empty(),
            Subject::Drill => !ready.book.drill.is_empty(),
            Subject::Person(person) => self.state.inside.contains_key(person),
            Subject::Line(line) => self.state.lines.contains_key(line),
        }
    }

    /// Lets a dam go once nothing is open about her; else says when to ask again.
    fn close_if_over(&mut self, place: u32, out: &mut Out) -> Option<Moment> {
        let now = self.state.now;
        let dam = self.state.dams.at(place).1;
        let unsettled = match recovery::closing(dam, now) {
            Closing::Never => return None,
            Closing::NotBefore(at) => return Some(at),
            Closing::Now(unsettled) => unsettled,
        };
        let days = recovery::day(dam, now).unwrap_or_default();
        let animal = self.state.dams.at(place).0.clone();
        let open = !self.state.watchman.about(&Subject::Dam(animal)).is_empty();
        // At the last she is let go whatever is open, and its alerts end with that.
        let at_last = !unsettled.is_empty();
        if (at_last || !open)
            && let Some(moved) = self.state.dams.at_mut(place).enter(Stage::Closed, now)
        {
            let why = recovery::why_closed(days, &unsettled);
            self.changed(place, moved, now, &why, out);
        }
        None
    }

    /// Turns the moves of an alert into effects.
    pub(super) fn follow(&mut self, moves: Vec<Move>, ready: &Rc<Ready>, out: &mut Out) {
        for step in moves {
            match step {
                Move::Note(text) => out.note(text),
                Move::Withdraw(no) => {
                    if self.state.watchman.sent.lands(no).is_some() {
                        out.withdraw(no);
                    }
                }
                Move::Notice(alert, kind) => self.notify(alert, kind, ready, out),
                Move::Tell(telling) if telling.kind == MessageKind::Alert => {
                    self.moment.calls.push(telling);
                }
                Move::Tell(telling) => self.tell(&telling, ready, out),
            }
        }
    }
}

pub(super) fn earlier(one: Option<Moment>, other: Option<Moment>) -> Option<Moment> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.min(other)),
        (one, other) => one.or(other),
    }
}
