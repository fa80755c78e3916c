//! What became of every alert, told only from what left the watch and from the words that went in:
//! who was called, who holds it, which round of the ladder it is on.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::broken::{Faults, Promise};
use super::facts::Evidence;
use super::limits::SESSION_LOST;
use super::lists::{LOW, Lists};
use super::yard::PROMISE;
use crate::alarm::message::{Message, MessageKind, Notice};
use crate::herd::sign::Mark;
use crate::plain::ids::{AlertNo, Animal, LineName, MessageNo, PersonName};
use crate::plain::moment::{Moment, Span};

/// What a person meant by a reply, for those who check: never for the watch.
#[derive(Clone, Debug)]
pub(super) struct Words {
    pub(super) who: PersonName,
    pub(super) about: About,
    pub(super) means: Vec<Means>,
    /// The mail's own id: the same mail twice is one mail.
    pub(super) letter: Option<String>,
}

#[derive(Clone, Debug)]
pub(super) enum About {
    Code(String),
    /// A reply to the message of this id.
    Message(String),
    /// The one about this dam.
    Animal(String),
    /// Nothing says which.
    Bare,
}

#[derive(Clone, Debug)]
pub(super) enum Means {
    Going(Option<Span>),
    Pass,
    Mark { animal: Option<Animal>, mark: Mark, at: Option<Moment> },
}

/// One alert as the world knows it.
#[derive(Clone, Debug)]
pub(super) struct Known {
    pub(super) rule: String,
    pub(super) about: String,
    pub(super) code: String,
    pub(super) priority: u8,
    pub(super) raised: Moment,
    /// When somebody must have been told at the latest.
    pub(super) told_by: Moment,
    /// Everybody who has a call of it for sure.
    reached: BTreeSet<PersonName>,
    /// Calls that have not been taken back.
    pub(super) calls: BTreeSet<MessageNo>,
    pub(super) held: Option<(PersonName, Moment)>,
    /// When its ladder was last climbed, and how often.
    pub(super) climbed: Moment,
    pub(super) round: u32,
    pub(super) this_round: BTreeSet<(PersonName, LineName)>,
    /// Since when nobody has had it.
    pub(super) loose_since: Moment,
}

#[derive(Default)]
pub(super) struct Ledger {
    pub(super) open: BTreeMap<AlertNo, Known>,
    over: BTreeMap<AlertNo, (String, String)>,
    /// Every message that ever left, and the alert it was about.
    ids: BTreeMap<String, Vec<AlertNo>>,
    /// What the last message to each person was about.
    last_to: BTreeMap<PersonName, Vec<AlertNo>>,
    /// Calls of which no line has said yet what became of them.
    calls: BTreeMap<MessageNo, (Vec<AlertNo>, PersonName)>,
    pub(super) lists: Lists,
    pub(super) numbers: BTreeMap<MessageNo, String>,
    read: BTreeSet<String>,
    /// How often each rule has raised an alert.
    pub(super) raised: BTreeMap<String, u64>,
}

impl Ledger {
    /// What a person's words come to: who holds what from now on. `takes` is given the marks, and says
    /// which of them counted.
    pub(super) fn hears(
        &mut self,
        now: Moment,
        words: &Words,
        mut takes: impl FnMut(&Evidence) -> Vec<(Animal, Mark)>,
    ) -> Deeds {
        let mut deeds = Deeds::default();
        if words.letter.as_ref().is_some_and(|letter| !self.read.insert(letter.clone())) {
            return deeds;
        }
        let (open, about) = self.meant(words);
        for means in &words.means {
            match means {
                Means::Going(span) => {
                    for no in &open {
                        self.is_seen(*no, &mut takes);
                        self.goes(*no, &words.who, now + span.unwrap_or(PROMISE), now);
                    }
                }
                Means::Pass => {
                    for no in &open {
                        let Some(known) = self.open.get_mut(no) else { continue };
                        let others =
                            known.held.as_ref().is_some_and(|(holder, _)| *holder != words.who);
                        if !others {
                            known.held = None;
                            deeds.passed.insert(*no);
                        }
                    }
                }
                Means::Mark { animal, mark, at } => {
                    let of_alert = about.as_deref().and_then(|about| about.strip_prefix("dam "));
                    let Some(animal) = animal.clone().or_else(|| of_alert.map(Animal::new)) else {
                        continue;
                    };
                    let at = at.unwrap_or(now);
                    let evidence = vec![(animal.clone(), *mark, at)];
                    let counted = takes(&Evidence::Marks(evidence));
                    deeds.cleared |= counted.iter().any(|(_, mark)| *mark == Mark::FalseAlarm);
                    // Told in the morning of a look at midnight: nobody is with her now.
                    let is_there = at + PROMISE > now;
                    if is_there && counted.iter().any(|(_, mark)| *mark != Mark::FalseAlarm) {
                        deeds.seen.push((animal, words.who.clone()));
                    }
                }
            }
        }
        deeds
    }

    /// The open alerts that are meant, and whom the meant one, open or over, is about, if it is one.
    fn meant(&self, words: &Words) -> (Vec<AlertNo>, Option<String>) {
        let of = |no: &AlertNo| match self.open.get(no) {
            Some(known) => (vec![*no], Some(known.about.clone())),
            None => (Vec::new(), self.over.get(no).map(|(_, about)| about.clone())),
        };
        match &words.about {
            About::Code(code) => {
                let open = self.open.iter().find(|(_, known)| known.code == *code);
                if let Some((no, _)) = open {
                    return of(no);
                }
                let past = self.over.iter().rev().find(|(_, (old, _))| old == code);
                if let Some((no, _)) = past {
                    return of(no);
                }
            }
            About::Message(id) => {
                let of_message = self.ids.get(id).map_or(&[][..], Vec::as_slice);
                let open = of_message.iter().copied().filter(|no| self.open.contains_key(no));
                let open: Vec<AlertNo> = open.collect();
                match (&open[..], of_message) {
                    ([only], _) | ([], [only, ..]) => return of(only),
                    ([], []) => {}
                    ([..], _) => return (open, None),
                }
            }
            About::Animal(animal) => {
                let about = format!("dam {animal}");
                let mut hers = self.open.iter().filter(|(_, known)| known.about == about);
                return match (hers.next(), hers.next()) {
                    (Some((no, _)), None) => of(no),
                    (_, _) => (Vec::new(), None),
                };
            }
            About::Bare => {}
        }
        let told = self.open.iter().filter(|(_, known)| known.reached.contains(&words.who));
        let told: Vec<AlertNo> = told.map(|(no, _)| *no).collect();
        match told[..] {
            [only] => of(&only),
            [] => (Vec::new(), None),
            [..] => {
                let last = self.last_to.get(&words.who);
                let one_text = last.is_some_and(|last| told.iter().all(|no| last.contains(no)));
                (if one_text { told } else { Vec::new() }, None)
            }
        }
    }

    /// A lost session is news: once somebody has answered, it is over.
    fn is_seen(&self, no: AlertNo, takes: &mut impl FnMut(&Evidence) -> Vec<(Animal, Mark)>) {
        let news = self.open.get(&no).filter(|known| known.rule == SESSION_LOST);
        if let Some(line) = news.and_then(|known| known.about.strip_prefix("line ")) {
            takes(&Evidence::Seen(LineName::new(line)));
        }
    }

    /// Somebody goes: for this alert, and for whatever else about the same dam is no worse.
    fn goes(&mut self, no: AlertNo, who: &PersonName, until: Moment, now: Moment) {
        let Some(known) = self.open.get_mut(&no) else { return };
        if known.held.as_ref().is_some_and(|(holder, ends)| holder != who && *ends > now) {
            return;
        }
        known.held = Some((who.clone(), until));
        let (about, priority) = (known.about.clone(), known.priority);
        if about.starts_with("dam ") {
            let others = self.open.values_mut().filter(|other| other.about == about);
            for other in others.filter(|other| other.priority <= priority && other.held.is_none()) {
                other.held = Some((who.clone(), until));
            }
        }
    }

    /// Whoever makes a mark of a dam is with her: what is open about her after that is theirs.
    pub(super) fn attend(&mut self, now: Moment, deeds: &Deeds) {
        for (animal, who) in &deeds.seen {
            let about = format!("dam {animal}");
            for known in self.open.values_mut().filter(|known| known.about == about) {
                let others = known.held.as_ref().is_some_and(|(holder, _)| holder != who);
                if !others && known.raised < now {
                    known.held = Some((who.clone(), now + PROMISE));
                }
            }
        }
    }

    /// A line says that a message was handed over.
    pub(super) fn landed(&mut self, no: MessageNo) {
        let Some((alerts, to)) = self.calls.remove(&no) else { return };
        for alert in alerts {
            if let Some(known) = self.open.get_mut(&alert) {
                known.reached.insert(to.clone());
            }
        }
    }

    /// The watch takes a message back: what a line says of it later is not heard any more.
    pub(super) fn need_not_leave(&mut self, no: MessageNo) {
        self.calls.remove(&no);
    }

    /// A message that had not left was taken back in time.
    pub(super) fn withdrawn(&mut self, no: MessageNo) {
        for known in self.open.values_mut() {
            known.calls.remove(&no);
        }
    }

    /// A message leaves. Says what is wrong with that.
    pub(super) fn sent(&mut self, now: Moment, message: &Message) -> Faults {
        let Message { no, to, .. } = message;
        let mut wrong = self.numbered(*no, &message.id);
        let alerts: Vec<AlertNo> = message.alerts().collect();
        self.ids.insert(message.id.clone(), alerts.clone());
        if !alerts.is_empty() {
            self.last_to.insert(to.clone(), alerts.clone());
        }
        if message.kind != MessageKind::Alert {
            return wrong;
        }
        if alerts.is_empty() {
            wrong.push((Promise::OneTruth, format!("message {no} calls {to} for nothing")));
        }
        for alert in &alerts {
            wrong.extend(self.called(now, *alert, message));
        }
        self.calls.insert(*no, (alerts, to.clone()));
        wrong
    }

    /// A message calls somebody for an alert.
    fn called(&mut self, now: Moment, alert: AlertNo, message: &Message) -> Faults {
        let Message { no, to, line, .. } = message;
        let mut wrong = Faults::new();
        let Some(known) = self.open.get_mut(&alert) else {
            wrong.push((
                Promise::OneTruth,
                format!("message {no} calls {to} for an alert that is not open"),
            ));
            return wrong;
        };
        if let Some((holder, until)) = &known.held
            && *until > now
            && holder != to
        {
            wrong.push((
                Promise::TheHolderIsAlone,
                format!("message {no} calls {to} although {holder} has promised to go"),
            ));
        }
        if !known.this_round.insert((to.clone(), line.clone())) {
            wrong.push((
                Promise::OnceARound,
                format!("message {no} calls {to} by {line} a second time on one round"),
            ));
        }
        known.calls.insert(*no);
        wrong
    }

    /// A fact for the web receivers leaves.
    pub(super) fn published(&mut self, now: Moment, notice: &Notice) -> Faults {
        let mut wrong = self.numbered(notice.no, &notice.id);
        let Ok(body) = serde_json::from_str::<Value>(&notice.body) else {
            wrong.push((Promise::WordsFit, format!("notice {} is no JSON", notice.no)));
            return wrong;
        };
        let text = |key: &str| body["data"][key].as_str().unwrap_or_default().to_owned();
        match notice.kind.as_str() {
            "alert.raised" => {
                let priority = ["low", "medium", "high"]
                    .iter()
                    .position(|word| *word == text("priority"))
                    .and_then(|at| u8::try_from(at).ok())
                    .unwrap_or_default();
                let known = Known {
                    told_by: self.lists.told_by(now, priority, &text("about")),
                    rule: text("rule"),
                    about: text("about"),
                    code: text("code"),
                    priority,
                    raised: now,
                    reached: BTreeSet::new(),
                    calls: BTreeSet::new(),
                    held: None,
                    climbed: now,
                    round: 0,
                    this_round: BTreeSet::new(),
                    loose_since: now,
                };
                *self.raised.entry(known.rule.clone()).or_default() += 1;
                if self.open.insert(notice.alert, known).is_some() {
                    wrong.push((
                        Promise::OneTruth,
                        format!("alert {} is raised twice", notice.alert),
                    ));
                }
            }
            "alert.told" => {
                if let Some(known) = self.open.get_mut(&notice.alert) {
                    known.climbed = now;
                    known.round += 1;
                    known.this_round.clear();
                }
            }
            "alert.over" => match self.open.remove(&notice.alert) {
                Some(known) => {
                    self.over.insert(notice.alert, (known.code, known.about));
                }
                None => wrong.push((
                    Promise::OneTruth,
                    format!("alert {} is over and was not open", notice.alert),
                )),
            },
            _ => {}
        }
        wrong
    }

    fn numbered(&mut self, no: MessageNo, id: &str) -> Faults {
        let taken = self.numbers.insert(no, id.to_owned()).is_some() || self.ids.contains_key(id);
        if taken {
            vec![(Promise::NumbersAreOnce, format!("message number {no} was given before"))]
        } else {
            Vec::new()
        }
    }

    /// Promises that have run out by now hold no longer: it is loose since they ended.
    pub(super) fn time_passes(&mut self, now: Moment) {
        for known in self.open.values_mut() {
            let ended = known.held.take_if(|(_, until)| *until <= now).map(|(_, until)| until);
            if let Some(until) = known.held.as_ref().map(|_| now).or(ended) {
                known.loose_since = known.loose_since.max(until);
            }
        }
    }
}

impl Known {
    /// When it must move at the latest, if nobody has it.
    pub(super) fn moves_by(&self, lists: &Lists, again: Span) -> Moment {
        if self.round == 0 && self.calls.is_empty() {
            return self.told_by;
        }
        let by =
            self.climbed.max(if self.round == 0 { self.told_by } else { self.climbed }) + again;
        if self.priority == LOW { lists.next(by.max(self.loose_since)) } else { by }
    }
}

/// What a reply did, for the rules that allow something only because of it.
#[derive(Default)]
pub(super) struct Deeds {
    /// Alerts whose ladder goes on at once.
    pub(super) passed: BTreeSet<AlertNo>,
    /// Who is with which dam.
    seen: Vec<(Animal, PersonName)>,
    /// Somebody said that it was a false alarm.
    pub(super) cleared: bool,
}
