//! What a person says was seen becomes marks of a dam or her calves, and the answer to it.
//!
//! A word that cannot be true of her is not taken, and its writer is told why.

use std::fmt::Display;
use std::rc::Rc;

use super::Watch;
use super::answers::Speaker;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::alarm::ending::Ending;
use crate::herd::case::SINGLE;
use crate::herd::dam::{Dam, Marked};
use crate::herd::noted::Noted;
use crate::herd::sign::Mark;
use crate::plain::ids::{Animal, PersonName};
use crate::plain::moment::Moment;
use crate::talk::mark_said::{EVERY_CALF, MarkSaid};
use crate::talk::reader::Reader;
use crate::talk::speech::Speech;
use crate::talk::{head, noted_answer};

impl Watch {
    pub(super) fn marks(
        &mut self,
        speaker: &Speaker<'_>,
        said: &MarkSaid,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) -> (String, bool) {
        let who = &speaker.who;
        let own = Speech::to(&ready.config, who);
        let animal = match &said.animal {
            Some(name) => ready.animal(name).cloned(),
            None => self.animal_meant(speaker),
        };
        let Some(animal) = animal else {
            let what = own.mark(said.mark, said.calf);
            let answer = own.say(own.answers.which_animal, &[("what", &what)]);
            return (format!("{answer}\n{}", self.open_list(who, ready)), false);
        };
        let Some(said) = self.numbered(said, &animal) else {
            return (own.say(own.answers.which_young, &[("animal", &animal)]), false);
        };
        let numbers = match said.calf {
            Some(EVERY_CALF) => self.living_calves(&animal),
            calf => vec![calf],
        };
        let (mut answers, mut clear) = (Vec::new(), true);
        for calf in numbers {
            let said = MarkSaid { calf, ..said.clone() };
            let (answer, taken) = self.mark_by_word(who, &animal, &said, ready, touched, out);
            answers.push(answer);
            clear &= taken;
        }
        (answers.join("\n"), clear)
    }

    /// The numbers of her living calves; of one that is not numbered, none.
    fn living_calves(&self, animal: &Animal) -> Vec<Option<u8>> {
        let calves = self.state.dams.get(animal).map(Dam::calves).unwrap_or_default();
        let living = (1_u8..).zip(calves).filter(|(_, calf)| !calf.is_dead());
        let living: Vec<Option<u8>> = living.map(|(number, _)| Some(number)).collect();
        if living.is_empty() { vec![None] } else { living }
    }

    /// Why a word cannot be taken of her, before it is tried.
    fn cannot_be(
        &self,
        animal: &Animal,
        said: &MarkSaid,
        speech: &Speech<'_>,
        ready: &Ready,
    ) -> Option<String> {
        let words = speech.answers;
        let calves = self.state.dams.get(animal).map(Dam::calves).unwrap_or_default();
        // Only a calf sucks. "Colostrum" alone may be what drips from her udder: a way or an amount says that it
        // was given.
        let fed =
            said.mark == Mark::Sucked || (said.mark == Mark::Colostrum && !said.note.is_empty());
        if said.mark.proves_a_calf() && !fed && !said.of_calf && calves.is_empty() {
            // It would end the clocks of the birth, and the dam breathes and sits up too.
            let (name, young) = (speech.mark(said.mark, None), speech.young());
            let word = name.trim_start_matches(young).trim_start();
            return Some(speech.say(words.no_young_say, &[("word", &word)]));
        }
        if said.mark == Mark::Calf && said.note == SINGLE && calves.is_empty() {
            // Before the birth it is what a scan has shown, not a calf.
            return Some(speech.plain(words.no_young_yet));
        }
        (said.mark == Mark::Tagged)
            .then(|| self.bears(&said.note, animal, said.calf, speech, ready))
            .flatten()
    }

    fn mark_by_word(
        &mut self,
        who: &PersonName,
        animal: &Animal,
        said: &MarkSaid,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) -> (String, bool) {
        let (english, own) = (Speech::english(&ready.config), Speech::to(&ready.config, who));
        if said.mark == Mark::AllBorn && self.state.inside.contains_key(who) {
            // "All out" may be the people.
            return (own.answers.who_is_out.to_owned(), false);
        }
        let now = self.state.now;
        let zone = &ready.config.farm.zone;
        let at = said.at.map_or(now, |(hour, minute)| zone.latest(now, hour, minute));
        let (clock, what) = (zone.clock(at), what(said, &english));
        out.note(format!("{who} says dam {animal} {what} at {clock}"));
        self.moment.by = Some(who.clone());
        let ending = told(said, at, who);
        // A person's word is asked about at once, whatever else is still coming in.
        if let Some(place) = self.state.dams.find(animal)
            && self.state.poured.remove(&place).is_some()
        {
            touched.key(Key::Dam(place));
        }
        let noted = Noted {
            told: now,
            by: who.to_string(),
            note: said.note.clone(),
            calf: said.calf,
            timed: said.at.is_some(),
            ..Noted::bare(said.mark, at)
        };
        let cannot_be = |speech| self.cannot_be(animal, said, speech, ready);
        let marked = match cannot_be(&english).zip(cannot_be(&own)) {
            Some(why) => Err(why),
            None => match self.mark(animal, noted, &ending, touched, out) {
                Marked::Not(why) => Err((english.not_taken(why), own.not_taken(why))),
                Marked::Kept(moved) => Ok(moved),
            },
        };
        match marked {
            Err((why, own_why)) => {
                let word = word(said, &english);
                out.note(format!("dam {animal} {word} was not taken: {why}"));
                let what = format!("{animal} {}", self::word(said, &own));
                let filled: [(&str, &dyn Display); 2] = [("what", &what), ("why", &own_why)];
                (own.say(own.answers.not_taken, &filled), false)
            }
            Ok(moved) => {
                self.looked(animal, who, at);
                if ready.asks_for_cover()
                    && let Some(dam) = self.state.dams.find(animal)
                {
                    touched.key(Key::Cover(dam));
                }
                let until = at + ready.config.farm.promise;
                if said.mark != Mark::FalseAlarm && until > now {
                    // Told in the morning of a look at midnight: nobody is with her now.
                    let until = now + ready.config.farm.promise;
                    self.state.watchman.note_attending(animal, who, until);
                    self.moment.attending.push((animal.clone(), who.clone()));
                }
                let mind = mind(animal, who, ready);
                let what = format!("{animal} {} {clock}", self::what(said, &own));
                let head = own.say(own.answers.noted, &[("what", &what)]);
                let more = self.before_term(animal, said.mark, at, &own, ready, out);
                let moving = self.moving(animal, moved, own.phrases(), ready);
                let dam = self.state.dams.member(animal);
                let noted = noted_answer::noted(dam, &head, said, at, zone, &own);
                let mut answer = vec![format!("{mind}{noted}{moving}{more}")];
                answer.extend(self.what_follows(animal, said.mark, &own, ready));
                (answer.join(" "), true)
            }
        }
    }

    /// What a false alarm has taken back, and what is open of her calves.
    fn what_follows(
        &self,
        animal: &Animal,
        mark: Mark,
        speech: &Speech<'_>,
        ready: &Ready,
    ) -> Vec<String> {
        let mut said = Vec::new();
        if let (Mark::FalseAlarm, Some(dam)) = (mark, self.state.dams.get(animal)) {
            let stage = speech.stage(dam.stage);
            said.push(speech.say(speech.answers.struck, &[("stage", &stage)]));
        }
        said.extend(self.said_of_calf(animal, speech, ready));
        said
    }
}

/// Why what these words settle is over.
fn told(said: &MarkSaid, at: Moment, who: &PersonName) -> Ending {
    let (mark, calf, noted) = (said.mark, said.calf, is_noted(said));
    Ending::Told { mark, calf, noted, at, who: who.clone() }
}

/// "Vet called" needs no "vet" before it.
fn is_noted(said: &MarkSaid) -> bool {
    said.mark == Mark::Vet && !said.note.is_empty()
}

/// What was said, without its note: "up of calf 2".
fn word(said: &MarkSaid, speech: &Speech<'_>) -> String {
    if is_noted(said) { String::new() } else { speech.mark_of(said.mark, said.calf) }
}

/// The same with its note.
fn what(said: &MarkSaid, speech: &Speech<'_>) -> String {
    let note = speech.note(said.mark, &said.note);
    let note = if note.is_empty() { String::new() } else { format!(" {note}") };
    format!("{}{note}", word(said, speech))
}

/// What comes before everything else about a dam with a temper, in the words of whoever reads it.
fn mind(animal: &Animal, who: &PersonName, ready: &Ready) -> &'static str {
    let reader = Reader::of(&ready.config, who, None);
    head::mind(&ready.config, animal.as_str(), &reader).unwrap_or_default()
}
