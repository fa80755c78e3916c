//! Somebody is in with a dam: a clock that only their own word, or somebody who has seen them, stops.
//!
//! It asks them once when their time is up, and calls the others to go and look if nothing comes. Any
//! word of theirs begins the time anew.

use std::fmt::Display;
use std::rc::Rc;

use super::Watch;
use super::about::About;
use super::answers::Speaker;
use super::asking::Asked;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::{Touched, earlier};
use super::state::Inside;
use crate::alarm::ladder;
use crate::alarm::message::MessageKind;
use crate::config::farm::INSIDE_MAX;
use crate::plain::english;
use crate::plain::ids::{Animal, PersonName};
use crate::plain::moment::Span;
use crate::rules::verdict::{Figures, Subject, Verdict, Wrong};
use crate::talk::inside::Whereabouts;
use crate::talk::phrases::{Phrases, say};
use crate::talk::reader::Reader;
use crate::talk::speech::Speech;
use crate::talk::{background, head, wording};

impl Watch {
    pub(super) fn whereabouts(
        &mut self,
        speaker: &Speaker<'_>,
        whereabouts: &Whereabouts,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) -> (String, bool) {
        let who = &speaker.who;
        let said = Reader::of(&ready.config, who, None).phrases();
        match whereabouts {
            Whereabouts::In { animal, minutes } => {
                let named = animal.as_ref().and_then(|name| ready.animal(name)).cloned();
                let with = named.or_else(|| self.animal_meant(speaker));
                (self.goes_in(who, with, *minutes, ready, touched, out), true)
            }
            Whereabouts::Help { animal } => {
                let named = animal.as_ref().and_then(|name| ready.animal(name)).cloned();
                let with = named.or_else(|| self.animal_meant(speaker));
                (self.calls_for_help(who, with, ready, touched, out), true)
            }
            Whereabouts::Out { person: None } => self.comes_out(who, who, said, touched, out),
            Whereabouts::Out { person: Some(name) } => match ready.by_name(name).cloned() {
                Some(other) => self.comes_out(&other, who, said, touched, out),
                None => (format!("Nobody here is called {name}."), false),
            },
        }
    }

    /// The dam that words without her number are about.
    pub(super) fn animal_meant(&self, speaker: &Speaker<'_>) -> Option<Animal> {
        let subject = match &speaker.about {
            About::Open(no) => self.state.watchman.open.get(no).map(|alert| alert.subject.clone()),
            About::Over(past) => Some(past.subject.clone()),
            About::Several(_) | About::Unclear => {
                let now = self.state.now;
                self.state.watchman.attended_by(&speaker.who, now).map(Subject::Dam)
            }
        }?;
        subject.dam().cloned()
    }

    /// They went in.
    fn goes_in(
        &mut self,
        who: &PersonName,
        with: Option<Animal>,
        minutes: Option<u32>,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) -> String {
        let now = self.state.now;
        let said = minutes.map(|minutes| Span::minutes(i64::from(minutes)));
        let span = said.map_or(ready.config.farm.inside, |said| said.min(INSIDE_MAX));
        let until = now + span;
        let her = with.as_ref().map_or(String::new(), |animal| format!(" with {animal}"));
        let clock = ready.config.farm.zone.clock(until);
        out.note(format!("{who} is in{her}, out by {clock}"));
        if let Some(animal) = &with {
            self.looked(animal, who, now);
            self.state.watchman.note_attending(animal, who, until);
            self.moment.attending.push((animal.clone(), who.clone()));
            if let Some(dam) = self.state.dams.find(animal.as_str()) {
                touched.key(Key::Dam(dam));
                if ready.asks_for_cover() {
                    touched.key(Key::Cover(dam));
                }
            }
        }
        let reader = Reader::of(&ready.config, who, None);
        let said = reader.phrases();
        let mind = with.as_ref();
        let mind = mind.and_then(|animal| head::mind(&ready.config, animal.as_str(), &reader));
        let her = background::her(with.as_ref(), said);
        self.state
            .inside
            .insert(who.clone(), Inside { with, since: now, span, until, asked: false });
        touched.key(Key::Inside(who.clone()));
        let mind = mind.unwrap_or_default();
        let sent = if ready.book.alone.is_empty() { said.else_none } else { said.else_sent };
        let filled: [(&str, &dyn Display); 3] =
            [("her", &her), ("until", &clock), ("else_what", &sent)];
        mind.to_owned() + &say(said.in_now, &filled)
    }

    /// They are in trouble: as if they had not come out, now.
    fn calls_for_help(
        &mut self,
        who: &PersonName,
        with: Option<Animal>,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) -> String {
        let now = self.state.now;
        let her = with.as_ref().map_or(String::new(), |animal| format!(" with {animal}"));
        out.note(format!("{who} calls for help{her}"));
        let said = Reader::of(&ready.config, who, None).phrases();
        let limit = ready.book.alone.iter().map(|rule| rule.limit).max().unwrap_or(Span::ZERO);
        let span = ready.config.farm.inside;
        let inside = Inside { with, since: now, span, until: now - limit, asked: true };
        self.state.inside.insert(who.clone(), inside);
        touched.key(Key::Inside(who.clone()));
        if ready.book.alone.is_empty() {
            return said.help_none.to_owned();
        }
        said.help_called.to_owned()
    }

    /// They are out, by their own word or somebody else's.
    fn comes_out(
        &mut self,
        who: &PersonName,
        by: &PersonName,
        said: &Phrases,
        touched: &mut Touched,
        out: &mut Out,
    ) -> (String, bool) {
        let Some(inside) = self.state.inside.remove(who) else {
            let speech = self.ready.as_ref().map(|ready| Speech::to(&ready.config, by));
            let answer = match speech {
                Some(speech) => speech.say(said.not_in, &[("who", who)]),
                None => say(said.not_in, &[("who", who)]),
            };
            return (answer, false);
        };
        let stayed = self.state.now.since(inside.since);
        let told = if who == by { String::new() } else { format!(", says {by}") };
        out.note(format!("{who} is out after {}{told}", english::span(stayed)));
        self.moment.by = Some(by.clone());
        touched.key(Key::Inside(who.clone()));
        let stayed = said.span(stayed);
        (say(said.out_noted, &[("who", who), ("span", &stayed)]), true)
    }

    /// Whoever says anything is well: their time begins anew.
    pub(super) fn is_heard_from(&mut self, who: &PersonName, touched: &mut Touched) {
        let now = self.state.now;
        if let Some(inside) = self.state.inside.get_mut(who) {
            inside.until = inside.until.max(now + inside.span);
            inside.asked = false;
            touched.key(Key::Inside(who.clone()));
        }
    }

    /// Asks somebody whose time is up, once.
    pub(super) fn ask_if_out(&mut self, who: &PersonName, ready: &Rc<Ready>, out: &mut Out) {
        let now = self.state.now;
        let Some(inside) = self.state.inside.get_mut(who) else { return };
        if inside.asked || now < inside.until {
            return;
        }
        inside.asked = true;
        let said = Reader::of(&ready.config, who, None).phrases();
        let her = background::her(inside.with.as_ref(), said);
        let since = ready.config.farm.zone.clock(inside.since);
        let text = say(said.are_you_out, &[("her", &her), ("since", &since)]);
        for line in ladder::lines_for(&ready.config, who, &[]) {
            let reader = Reader::of(&ready.config, who, Some(&line));
            let words = wording::answer(&text, &reader);
            let _ = self.send(who, &line, None, MessageKind::Answer, &words, None, ready, out);
        }
    }

    pub(super) fn ask_inside(&self, who: &PersonName, ready: &Ready) -> Asked {
        let now = self.state.now;
        let Some(inside) = self.state.inside.get(who) else {
            let fine = ready.book.alone.iter().map(|rule| (rule.name.clone(), Verdict::Fine));
            return (fine.collect(), None);
        };
        let asks = (!inside.asked).then_some(inside.until);
        let asked = ready.book.alone.iter().map(|rule| {
            let due = inside.until + rule.limit;
            let verdict = if now < due {
                Verdict::FineUntil(due)
            } else {
                let (with, since, until) = (inside.with.clone(), inside.since, inside.until);
                let figures = Figures::Alone { with, since, until };
                Verdict::Wrong(Wrong { since: due, figures, ends: None })
            };
            (rule.name.clone(), verdict)
        });
        (asked.collect(), earlier(None, asks))
    }

    /// Whom an alert must not call: they are the one who is missing.
    pub(super) fn missing(subject: &Subject) -> Option<&PersonName> {
        match subject {
            Subject::Person(person) => Some(person),
            Subject::Dam(_)
            | Subject::Device(_)
            | Subject::Line(_)
            | Subject::Gateway(_)
            | Subject::Rota
            | Subject::Drill
            | Subject::Herd => None,
        }
    }
}
