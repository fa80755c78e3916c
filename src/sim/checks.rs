//! What a season must always show. Asked after every step, and answered from what went in and what
//! came out; only where it says so is the watch itself asked.

use std::collections::{BTreeMap, BTreeSet};

use super::broken::{Broken, Faults, Promise};
use super::facts::{Evidence, Facts};
use super::ledger::{Deeds, Known, Ledger, Words};
use super::yard::{TEXTS, WAIT};
use crate::alarm::message::{Message, MessageKind, Outcome};
use crate::alarm::sent::Flight;
use crate::herd::stage::Stage;
use crate::plain::ids::{AlertNo, Animal};
use crate::plain::moment::{Moment, Span};
use crate::watch::effect::{Effect, StageChange};
use crate::watch::event::Event;
use crate::watch::{Step, Watch};

/// How late a wake may come: the loop was busy for a moment.
pub(super) const TOLERANCE: Span = Span::seconds(60);
/// A season that is broken in this many ways has made its point.
const BROKEN_MOST: usize = 20;

pub(super) struct Checks {
    pub(super) facts: Facts,
    pub(super) ledger: Ledger,
    pub(super) stages: BTreeMap<Animal, Stage>,
    /// When the last step was, and when it wanted to be woken.
    asked: Option<Moment>,
    /// Since when the process runs without a break, and until when it ran before.
    pub(super) up_since: Moment,
    pub(super) down_from: Option<Moment>,
    /// From when on nothing fails and everybody does what they should.
    pub(super) calm_from: Option<Moment>,
    pub(super) broken: Vec<Broken>,
}

/// What is allowed in this step because of its event.
struct Allowed {
    deeds: Deeds,
    /// Something could not be delivered: a rung may be left early.
    failed: bool,
}

impl Checks {
    pub(super) fn new(facts: Facts) -> Self {
        Self {
            facts,
            ledger: Ledger::default(),
            stages: BTreeMap::new(),
            asked: None,
            up_since: Moment::default(),
            down_from: None,
            calm_from: None,
            broken: Vec::new(),
        }
    }

    pub(super) fn breaks(&mut self, at: Moment, promise: Promise, what: &str) {
        if self.broken.len() < BROKEN_MOST {
            self.broken.push(Broken { at, promise, what: what.to_owned() });
        }
    }

    pub(super) fn broke(&mut self, now: Moment, faults: Faults) {
        for (promise, what) in faults {
            self.breaks(now, promise, &what);
        }
    }

    /// Looks at one step.
    pub(super) fn after(
        &mut self,
        now: Moment,
        event: &Event,
        evidence: &Evidence,
        words: Option<&Words>,
        step: &Step,
        watch: &Watch,
    ) {
        let deeds = self.goes_in(now, event, evidence, words);
        let allowed = Allowed { deeds, failed: is_a_failure(event) };
        self.was_woken_in_time(now);
        let waits = |known: &Known| known.held.is_some() || known.round == 0;
        let before: BTreeMap<AlertNo, (Moment, bool)> = self
            .ledger
            .open
            .iter()
            .map(|(no, known)| (*no, (known.climbed, waits(known))))
            .collect();
        for effect in &step.effects {
            self.comes_out(now, effect, &allowed, &before);
        }
        self.ledger.time_passes(now);
        self.ledger.attend(now, &allowed.deeds);
        self.facts.settle(now);
        self.lets_go(now);
        let wrong = self.facts.wrong(now);
        self.wrong_is_alert(now, &wrong);
        self.late_is_said(now, step, &wrong);
        self.every_alert_moves(now, step, watch);
        self.asked = step.wake.as_ref().map(|wake| wake.at);
    }

    fn goes_in(
        &mut self,
        now: Moment,
        event: &Event,
        evidence: &Evidence,
        words: Option<&Words>,
    ) -> Deeds {
        if let Event::Started { last, .. } = event {
            self.up_since = now;
            self.down_from = *last;
            self.asked = None;
        }
        let Self { facts, ledger, .. } = self;
        match words {
            Some(words) => ledger.hears(now, words, |evidence| facts.takes(now, evidence)),
            None => {
                match event {
                    Event::Delivered(delivery) if delivery.outcome == Outcome::Taken => {
                        ledger.landed(delivery.no);
                    }
                    Event::Delivered(_)
                    | Event::Started { .. }
                    | Event::Settings(_)
                    | Event::Clock(_)
                    | Event::Packet(_)
                    | Event::Answered(_)
                    | Event::Line(_)
                    | Event::Woke
                    | Event::Forgotten { .. } => {}
                }
                facts.takes(now, evidence);
                Deeds::default()
            }
        }
    }

    /// A deadline that was asked for and passed by without a step is a night without a watch.
    fn was_woken_in_time(&mut self, now: Moment) {
        if let Some(asked) = self.asked
            && now > asked + TOLERANCE
        {
            self.breaks(
                now,
                Promise::WokenInTime,
                &format!("nobody woke the watch, which was due at {}", asked.rfc3339()),
            );
        }
    }

    fn comes_out(
        &mut self,
        now: Moment,
        effect: &Effect,
        allowed: &Allowed,
        before: &BTreeMap<AlertNo, (Moment, bool)>,
    ) {
        let wrong = match effect {
            Effect::Changed(change) => self.changes(change, allowed),
            Effect::Send(message) => {
                let mut wrong = self.ledger.sent(now, message);
                wrong.extend(self.reads_badly(message));
                wrong
            }
            Effect::Publish(notice) => {
                if notice.kind == "alert.told"
                    && let Some((climbed, held)) = before.get(&notice.alert)
                {
                    let early = now < *climbed + WAIT && !held && !allowed.failed;
                    if early && !allowed.deeds.passed.contains(&notice.alert) {
                        let what = format!("alert {} climbs before its time", notice.alert);
                        self.breaks(now, Promise::RungsWait, &what);
                    }
                }
                self.ledger.published(now, notice)
            }
            Effect::Again(flight) => self.goes_again(now, flight),
            Effect::Withdraw(no) if !self.ledger.numbers.contains_key(no) => {
                vec![(Promise::NumbersAreOnce, format!("message {no} is withdrawn and never left"))]
            }
            Effect::Withdraw(no) => {
                self.ledger.need_not_leave(*no);
                Vec::new()
            }
            Effect::Refused(_) | Effect::Noted(_) | Effect::Said(_) => Vec::new(),
        };
        self.broke(now, wrong);
    }

    /// Ten days after the calf, and nothing is open about her.
    fn lets_go(&mut self, now: Moment) {
        let open: BTreeSet<String> =
            self.ledger.open.values().map(|known| known.about.clone()).collect();
        for animal in self.facts.to_let_go(now, &open) {
            self.facts.let_go(now, &animal);
        }
    }

    fn changes(&mut self, change: &StageChange, allowed: &Allowed) -> Faults {
        let StageChange { animal, from, to, .. } = change;
        let was = self.stages.insert(animal.clone(), *to).unwrap_or(Stage::Carrying);
        let mut wrong = Vec::new();
        if was != *from {
            wrong.push((
                Promise::StagesGoForward,
                format!("dam {animal} leaves {} and was in {}", from.phrase(), was.phrase()),
            ));
        }
        if to <= from && !allowed.deeds.cleared {
            wrong.push((
                Promise::StagesGoForward,
                format!("dam {animal} goes back from {} to {}", from.phrase(), to.phrase()),
            ));
        }
        wrong
    }

    fn goes_again(&self, now: Moment, flight: &Flight) -> Faults {
        let (no, id, held) = match flight {
            Flight::Message(message) => {
                let known = message.alert.and_then(|alert| self.ledger.open.get(&alert));
                let call = message.kind == MessageKind::Alert;
                let held = known.and_then(|known| known.held.as_ref());
                (
                    message.no,
                    &message.id,
                    call && held.is_some_and(|(by, until)| *until > now && *by != message.to),
                )
            }
            Flight::Notice(notice) => (notice.no, &notice.id, false),
        };
        let mut wrong = Vec::new();
        if self.ledger.numbers.get(&no) != Some(id) {
            wrong.push((
                Promise::NumbersAreOnce,
                format!("message {no} goes again and never left under that number"),
            ));
        }
        if held {
            wrong.push((
                Promise::TheHolderIsAlone,
                format!("message {no} calls again although somebody has promised to go"),
            ));
        }
        wrong
    }

    /// A locked telephone shows 70 characters: whom it is about and the code must be among them.
    fn reads_badly(&self, message: &Message) -> Faults {
        let mut wrong = Vec::new();
        if message.line.as_str() == TEXTS && (message.text.len() > 160 || !message.text.is_ascii())
        {
            wrong.push((
                Promise::WordsFit,
                format!("message {} does not fit one text: {}", message.no, message.text),
            ));
        }
        let known = message.alert.and_then(|alert| self.ledger.open.get(&alert));
        if let (MessageKind::Alert, Some(known), true) =
            (&message.kind, known, message.also.is_empty())
        {
            let head: String = message.text.chars().take(70).collect();
            let animal = known.about.strip_prefix("dam ").unwrap_or_default();
            if !head.contains(animal) || !head.contains(&known.code) {
                wrong.push((
                    Promise::WordsFit,
                    format!("message {} begins without animal and code: {head}", message.no),
                ));
            }
        }
        wrong
    }
}

fn is_a_failure(event: &Event) -> bool {
    match event {
        Event::Delivered(delivery) => delivery.outcome != Outcome::Taken,
        Event::Answered(reply) => reply.mail.as_ref().is_some_and(|mail| mail.report.is_some()),
        Event::Started { .. }
        | Event::Settings(_)
        | Event::Clock(_)
        | Event::Packet(_)
        | Event::Line(_)
        | Event::Woke
        | Event::Forgotten { .. } => false,
    }
}
