//! What a person says was seen becomes marks of a dam or her calves, and the answer to it.
//!
//! A word that cannot be true of her is not taken, and its writer is told why.

use std::rc::Rc;

use super::Watch;
use super::answers::Speaker;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::herd::case::SINGLE;
use crate::herd::dam::{Dam, Marked};
use crate::herd::noted::Noted;
use crate::herd::sign::Mark;
use crate::plain::ids::{Animal, PersonName};
use crate::talk::mark_said::{EVERY_CALF, MarkSaid};
use crate::talk::reader::Reader;
use crate::talk::{head, noted_answer, spoken};

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
        let animal = match &said.animal {
            Some(name) => ready.animal(name).cloned(),
            None => self.animal_meant(speaker),
        };
        let Some(animal) = animal else {
            let answer = format!(
                "Which animal do you mean by \"{}\"? Begin with her number.",
                spoken::mark(&ready.config.terms, said.mark, said.calf)
            );
            return (format!("{answer}\n{}", self.open_list(who, ready)), false);
        };
        let Some(said) = self.numbered(said, &animal) else {
            let young = &ready.config.terms.young;
            let answer =
                format!("Which one? No {young} of {animal} is noted yet; say {young} first.");
            return (answer, false);
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
    fn cannot_be(&self, animal: &Animal, said: &MarkSaid, ready: &Ready) -> Option<String> {
        let calves = self.state.dams.get(animal).map(Dam::calves).unwrap_or_default();
        // Only a calf sucks. "Colostrum" alone may be what drips from her udder: a way or an amount says that it
        // was given.
        let fed =
            said.mark == Mark::Sucked || (said.mark == Mark::Colostrum && !said.note.is_empty());
        if said.mark.proves_a_calf() && !fed && !said.of_calf && calves.is_empty() {
            // It would end the clocks of the birth, and the dam breathes and sits up too.
            let word = said.mark.word().trim_start_matches("calf ");
            return Some(format!("no calf is noted yet; if it is the calf, say calf {word}"));
        }
        if said.mark == Mark::Calf && said.note == SINGLE && calves.is_empty() {
            // Before the birth it is what a scan has shown, not a calf.
            return Some("no calf is noted yet".to_owned());
        }
        (said.mark == Mark::Tagged)
            .then(|| self.bears(&said.note, animal, said.calf, ready))
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
        if said.mark == Mark::AllBorn && self.state.inside.contains_key(who) {
            // "All out" may be the people.
            let answer = "Who is out? For yourself answer out; for the young, all born.";
            return (answer.to_owned(), false);
        }
        let now = self.state.now;
        let zone = &ready.config.farm.zone;
        let at = said.at.map_or(now, |(hour, minute)| zone.latest(now, hour, minute));
        let terms = &ready.config.terms;
        let note = spoken::note(terms, said.mark, &said.note);
        let note = if note.is_empty() { String::new() } else { format!(" {note}") };
        let word = spoken::mark(terms, said.mark, said.calf);
        // "Vet called" needs no "vet" before it.
        let word = if said.mark == Mark::Vet && !note.is_empty() { String::new() } else { word };
        let word = match said.calf {
            Some(calf) if said.mark.is_of_a_calf() => format!("{word} of {} {calf}", terms.young),
            Some(_) | None => word,
        };
        let clock = zone.clock(at);
        out.note(format!("{who} says dam {animal} {word}{note} at {clock}"));
        self.moment.by = Some(who.clone());
        let because = format!("{word} at {clock}, said {who}");
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
        let marked = match self.cannot_be(animal, said, ready) {
            Some(why) => Err(why),
            None => match self.mark(animal, noted, &because, touched, out) {
                Marked::Not(why) => Err(terms.in_words(why)),
                Marked::Kept(moved) => Ok(moved),
            },
        };
        match marked {
            Err(why) => {
                out.note(format!("dam {animal} {word} was not taken: {why}"));
                (format!("Not taken: {animal} {word}, because {why}."), false)
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
                let head = format!("Noted: {animal} {word}{note} {clock}.");
                let more = self.before_term(animal, said.mark, at, ready, out);
                let moving = self.moving(animal, moved, ready);
                let dam = self.state.dams.member(animal);
                let noted = noted_answer::noted(dam, &head, said, at, zone);
                let mut answer = vec![format!("{mind}{noted}{moving}{more}")];
                answer.extend(self.what_follows(animal, said.mark, ready));
                (answer.join(" "), true)
            }
        }
    }

    /// What a false alarm has taken back, and what is open of her calves.
    fn what_follows(&self, animal: &Animal, mark: Mark, ready: &Ready) -> Vec<String> {
        let mut said = Vec::new();
        if let (Mark::FalseAlarm, Some(dam)) = (mark, self.state.dams.get(animal)) {
            let stage = dam.stage.phrase();
            said.push(format!("What was said of it is struck through; she is {stage} now."));
        }
        said.extend(self.said_of_calf(animal, ready));
        said.into_iter().map(|said| ready.config.terms.in_words(&said)).collect()
    }
}

/// What comes before everything else about a dam with a temper, in the words of whoever reads it.
fn mind(animal: &Animal, who: &PersonName, ready: &Ready) -> &'static str {
    let reader = Reader::of(&ready.config, who, None);
    head::mind(&ready.config, animal.as_str(), &reader).unwrap_or_default()
}
