//! "Give it to Tom", "I take over": what people settle about who has an alert, and what each of them is told.

use std::rc::Rc;

use super::Watch;
use super::answers::Speaker;
use super::out::Out;
use super::ready::Ready;
use crate::alarm::hand_on::HandedOn;
use crate::config::rights::Deed;
use crate::plain::ids::{AlertNo, PersonName};
use crate::talk::phrases::{Phrases, say};
use crate::talk::reader::Reader;

impl Watch {
    pub(super) fn gives_to(
        &mut self,
        speaker: &Speaker<'_>,
        to: &str,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let said = Reader::of(&ready.config, &speaker.who, None).phrases();
        let Some(to) = ready.by_name(&to.to_lowercase()).cloned() else {
            return (self.not_understood(&speaker.who, ready), false);
        };
        if to == speaker.who {
            return self.takes_over(speaker, ready, out);
        }
        let person = ready.config.people.iter().find(|person| person.name == to);
        if !person.is_some_and(|person| person.part.may(Deed::Answer)) {
            return (say(said.only_looks_on, &[("who", &to)]), false);
        }
        let nos = match self.meant(speaker, ready) {
            Ok(nos) => nos,
            Err(answer) => return answer,
        };
        let each = nos.iter().map(|no| self.gives_one(&speaker.who, *no, &to, ready, said, out));
        let each: Vec<(String, bool)> = each.collect();
        let clear = each.iter().all(|(_, clear)| *clear);
        let answers: Vec<String> = each.into_iter().map(|(answer, _)| answer).collect();
        (answers.join("\n"), clear)
    }

    fn gives_one(
        &mut self,
        by: &PersonName,
        no: AlertNo,
        to: &PersonName,
        ready: &Rc<Ready>,
        said: &Phrases,
        out: &mut Out,
    ) -> (String, bool) {
        let (came, moves) = self.state.watchman.hand_on(&ready.config, no, by, to, self.state.now);
        self.follow(moves, ready, out);
        match came {
            HandedOn::Asked { until: Some(until) } => {
                let until = ready.config.farm.zone.clock(until);
                (say(said.asked_you_have, &[("no", &no), ("who", to), ("until", &until)]), true)
            }
            HandedOn::Asked { until: None } => {
                (say(said.asked_goes_on, &[("no", &no), ("who", to)]), true)
            }
            HandedOn::NoLine => (say(said.no_line_to, &[("who", to)]), false),
            HandedOn::Has(holder) => {
                (say(said.has_already, &[("no", &no), ("who", &holder)]), true)
            }
            HandedOn::Over => (say(said.not_open, &[("no", &no)]), true),
        }
    }

    pub(super) fn takes_over(
        &mut self,
        speaker: &Speaker<'_>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let nos = match self.meant(speaker, ready) {
            Ok(nos) => nos,
            Err(answer) => return answer,
        };
        let mut answers = Vec::new();
        for no in nos {
            self.state.watchman.takes_over(no, &speaker.who);
            answers.push(self.going_to(&speaker.who, no, None, ready, out).0);
        }
        (answers.join("\n"), true)
    }

    /// Whoever asked them is told that they will not, and that it is still theirs.
    pub(super) fn will_not(
        &mut self,
        no: AlertNo,
        who: &PersonName,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        let Some(by) = self.state.watchman.will_not(no, who) else { return };
        let said = Reader::of(&ready.config, &by, None).phrases();
        let open = self.state.watchman.open.get(&no);
        let yours = open.is_some_and(|alert| alert.holder() == Some(&by));
        let words = if yours { said.will_not_you_have } else { said.will_not };
        let text = say(words, &[("who", who), ("no", &no)]);
        self.answer(&by, &text, None, ready, out);
    }
}
