//! Messages and notices: numbered, worded, put in flight, and taken out when they land.

use std::rc::Rc;

use serde_json::json;

use super::Watch;
use super::out::Out;
use super::ready::Ready;
use crate::alarm::alert::Alert;
use crate::alarm::ladder;
use crate::alarm::message::{Delivery, Message, MessageKind, Notice, Outcome};
use crate::alarm::moves::Telling;
use crate::alarm::sent::Flight;
use crate::config::lines::Way;
use crate::config::people::Part;
use crate::plain::ids::{AlertNo, LineName, MessageNo, PersonName};
use crate::plain::moment::Span;
use crate::rules::verdict::Subject;
use crate::talk::gathered;
use crate::talk::reader::Reader;
use crate::talk::speech::Speech;
use crate::talk::wording::{self, Beside, Words};

/// At most this many answers to one person within `ANSWERS_WITHIN`: enough for a busy night, too
/// few for two machines that answer each other (RFC 3834 section 2 asks for a limit).
const ANSWERS_WITHIN: Span = Span::hours(1);
const ANSWERS_MAX: usize = 20;

impl Watch {
    /// Puts a telling into words and on its way.
    pub(super) fn tell(&mut self, telling: &Telling, ready: &Rc<Ready>, out: &mut Out) {
        self.tell_with(telling, &[], ready, out);
    }

    /// The same with other urgent alerts about the same dam, which the text names at its end.
    pub(super) fn tell_with(
        &mut self,
        telling: &Telling,
        others: &[AlertNo],
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        let now = self.state.now;
        if telling.kind == MessageKind::Over && !self.first_over(telling) {
            return;
        }
        // That it is over is told in the same breath.
        if telling.kind == MessageKind::Taken && self.is_of_drill(telling.alert) {
            return;
        }
        let config = &ready.config;
        let reader = Reader::of(config, &telling.to, Some(&telling.line));
        let words = match self.state.watchman.open.get(&telling.alert) {
            Some(alert) => match &telling.kind {
                MessageKind::Taken => {
                    let birth = self.birth_of(&alert.subject, alert.on.as_ref());
                    let (word, birth) = (&telling.word, birth.as_ref());
                    wording::taken(config, alert, now, word, birth, &reader)
                }
                MessageKind::Alert
                | MessageKind::Over
                | MessageKind::Answer
                | MessageKind::Welcome
                | MessageKind::Page { .. }
                | MessageKind::Picture { .. } => {
                    self.call_words(alert, &telling.to, &reader, ready)
                }
            },
            None => {
                let past =
                    self.state.watchman.past.iter().rev().find(|past| past.no == telling.alert);
                match past {
                    Some(past) => wording::over(config, past, &reader),
                    None => return,
                }
            }
        };
        let open = &self.state.watchman.open;
        let more: Vec<&Alert> = others.iter().filter_map(|no| open.get(no)).collect();
        let words = gathered::with_more(config, words, &more, &reader);
        let alerts: Vec<AlertNo> =
            [telling.alert].into_iter().chain(others.iter().copied()).collect();
        let kind = telling.kind.clone();
        let no =
            self.send_about(&telling.to, &telling.line, &alerts, kind, &words, None, ready, out);
        if let (Some(no), MessageKind::Alert) = (no, &telling.kind) {
            alerts.iter().for_each(|alert| self.state.watchman.left(*alert, no));
            self.picture_follows(no, telling, ready, out);
        }
    }

    /// The call of one alert in the words of its reader.
    fn call_words(&self, alert: &Alert, to: &PersonName, reader: &Reader, ready: &Ready) -> Words {
        let now = self.state.now;
        let attending = self.state.watchman.attending(&alert.subject, now);
        let other = attending.filter(|who| who != to);
        let birth = self.birth_of(&alert.subject, alert.on.as_ref());
        let open = match (&alert.subject, ready.rule(&alert.rule)) {
            (Subject::Dam(animal), Some(rule)) if Self::is_about_calves(rule) => {
                self.open_of_calves(animal, &Speech::to(&ready.config, to), ready)
            }
            (_, _) => Vec::new(),
        };
        let of_vet = alert.subject.dam().filter(|_| reader.part == Part::Vet);
        let card = of_vet.and_then(|animal| self.card_lines(animal, ready));
        let asked = alert.asked.as_ref().filter(|asked| asked.to == *to);
        let beside = Beside {
            asked_by: asked.map(|asked| asked.by.as_str()),
            holder: other.as_ref().map(PersonName::as_str),
            birth: birth.as_ref(),
            open: &open,
            card: card.as_deref(),
        };
        wording::alert(&ready.config, alert, now, beside, reader)
    }

    /// Several alerts about one dam end with one mark: each person is told once.
    fn first_over(&mut self, telling: &Telling) -> bool {
        let past = self.state.watchman.past.iter().rev().find(|past| past.no == telling.alert);
        let Some(past) = past else { return true };
        self.moment.told_over.insert((telling.to.clone(), past.subject.clone()))
    }

    /// Answers a person over the line that reaches them, at most so often.
    pub(super) fn answer(
        &mut self,
        to: &PersonName,
        text: &str,
        to_mail: Option<String>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        let now = self.state.now;
        let given = self.state.answers.entry(to.clone()).or_default();
        while given.oldest().is_some_and(|at| *at <= now - ANSWERS_WITHIN) {
            given.pop_oldest();
        }
        if given.len() >= ANSWERS_MAX {
            self.refuse(
                &format!("answers to {to}"),
                &format!("an answer to {to}"),
                "too many this hour",
                out,
            );
            return;
        }
        given.push(now);
        let lines = ladder::lines_for(&ready.config, to, &[]);
        let is_mail = |line: &&LineName| {
            ready
                .config
                .lines
                .iter()
                .any(|one| one.name == **line && matches!(one.way, Way::Smtp(_)))
        };
        let line = if to_mail.is_some() { lines.iter().find(is_mail) } else { lines.first() };
        let Some(line) = line.cloned() else { return };
        let reader = Reader::of(&ready.config, to, Some(&line));
        let words = wording::answer_in_parts(text, self.moment.parts, &reader);
        self.send(to, &line, None, MessageKind::Answer, &words, to_mail, ready, out);
    }

    #[expect(clippy::too_many_arguments, reason = "a message has this many parts")]
    pub(super) fn send(
        &mut self,
        to: &PersonName,
        line: &LineName,
        alert: Option<AlertNo>,
        kind: MessageKind,
        words: &Words,
        in_reply_to: Option<String>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> Option<MessageNo> {
        let alerts: Vec<AlertNo> = alert.into_iter().collect();
        self.send_about(to, line, &alerts, kind, words, in_reply_to, ready, out)
    }

    /// Sends one text about several alerts, the first of which leads it.
    #[expect(clippy::too_many_arguments, reason = "a message has this many parts")]
    pub(super) fn send_about(
        &mut self,
        to: &PersonName,
        line: &LineName,
        alerts: &[AlertNo],
        kind: MessageKind,
        words: &Words,
        in_reply_to: Option<String>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> Option<MessageNo> {
        let address = ladder::address(&ready.config, to, line)?;
        let short = ready
            .config
            .lines
            .iter()
            .any(|one| one.name == *line && matches!(one.way, Way::SmsHttp(_)));
        let no = self.state.watchman.sent.next_number();
        let message = Message {
            no,
            to: to.clone(),
            address,
            line: line.clone(),
            alert: alerts.first().copied(),
            also: alerts.iter().skip(1).copied().collect(),
            kind,
            subject: words.subject.clone(),
            text: if short { words.sms.clone() } else { words.mail.clone() },
            in_reply_to,
            id: self.id(no),
            made: self.state.now,
        };
        if message.kind == MessageKind::Alert {
            self.drill_leaves(&message);
        }
        self.state.watchman.sent.leaves(Flight::Message(message.clone()));
        out.send(message);
        Some(no)
    }

    /// Tells every web receiver of a change in an alert.
    pub(super) fn notify(&mut self, alert: AlertNo, kind: &str, ready: &Rc<Ready>, out: &mut Out) {
        let hooks: Vec<LineName> = ready
            .config
            .lines
            .iter()
            .filter(|line| matches!(line.way, Way::Webhook(_)))
            .map(|line| line.name.clone())
            .filter(|line| !self.state.gone.contains_key(line))
            .collect();
        if hooks.is_empty() {
            return;
        }
        let body = self.body(alert, kind);
        for line in hooks {
            let no = self.state.watchman.sent.next_number();
            let id = self.id(no);
            let made = self.state.now;
            let notice =
                Notice { no, line, kind: kind.to_owned(), body: body.clone(), id, alert, made };
            self.state.watchman.sent.leaves(Flight::Notice(notice.clone()));
            out.publish(notice);
        }
    }

    pub(super) fn delivered(&mut self, delivery: &Delivery, out: &mut Out) {
        let Some(ready) = self.ready.clone() else {
            return;
        };
        let Some(flight) = self.state.watchman.sent.lands(delivery.no) else {
            return;
        };
        let now = self.state.now;
        if let Flight::Message(message) = &flight {
            self.drill_lands(message, &delivery.outcome);
        }
        match (&delivery.outcome, flight) {
            (Outcome::Taken, Flight::Message(message)) => {
                if message.kind == MessageKind::Alert {
                    for alert in message.alerts() {
                        self.state.watchman.landed(alert, &message.to);
                    }
                }
            }
            (Outcome::Taken, Flight::Notice(_)) => {}
            (Outcome::Failed { why } | Outcome::Gone { why }, Flight::Message(message)) => {
                out.note(format!(
                    "message {} to {} by {} failed: {why}",
                    message.no, message.to, message.line
                ));
                self.is_not_reached(&message.to, &message.line, &message.address);
                // A picture that does not come calls nobody else: its call stands.
                let is_call = message.kind == MessageKind::Alert;
                for alert in message.alerts().filter(|_| is_call) {
                    let (no, to) = (message.no, &message.to);
                    let moves = self.state.watchman.failed(&ready.config, alert, no, to, now);
                    self.follow(moves, &ready, out);
                }
            }
            (Outcome::Failed { why }, Flight::Notice(notice)) => {
                out.note(format!("{} to {} failed: {why}", notice.kind, notice.line));
            }
            (Outcome::Gone { why }, Flight::Notice(notice)) => {
                out.note(format!("{} asked not to be called again: {why}", notice.line));
                self.state.gone.insert(notice.line, why.clone());
            }
        }
    }

    /// Unique for ever: the journal's own seed and a number given once.
    pub(super) fn id(&self, no: MessageNo) -> String {
        format!("lowbell.{:016x}.{no}", self.state.seed)
    }

    fn body(&self, no: AlertNo, kind: &str) -> String {
        let timestamp = self.state.now.rfc3339();
        let animal = |subject: &Subject| subject.dam().map(ToString::to_string);
        let about = match self.state.watchman.open.get(&no) {
            Some(alert) => json!({
                "alert": no, "code": alert.code, "rule": alert.rule,
                "about": alert.subject.to_string(), "animal": animal(&alert.subject),
                "priority": alert.priority.word(), "since": alert.since.rfc3339(),
                "holder": alert.holder(), "late_seconds": alert.late.map(Span::whole_seconds),
            }),
            None => match self.state.watchman.past.iter().rev().find(|past| past.no == no) {
                Some(past) => json!({
                    "alert": no, "code": past.code, "rule": past.rule,
                    "about": past.subject.to_string(), "animal": animal(&past.subject),
                    "because": past.because,
                }),
                None => json!({ "alert": no }),
            },
        };
        json!({ "type": kind, "timestamp": timestamp, "data": about }).to_string()
    }
}
