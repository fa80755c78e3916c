//! A drill: something that never was goes by the real ladder and the real lines to a real answer. It ends with the first
//! who says that they go, or after the time that its rule gives it, and whoever asked reads each hop and its seconds.
//!
//! It is a finding about nothing (`Subject::Drill`), so that calls, answers and endings are those of every alert; what is
//! counted of a season leaves it out.

use std::rc::Rc;

use super::Watch;
use super::about::About;
use super::answers::Speaker;
use super::asking::Asked;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::alarm::alert::Alert;
use crate::alarm::drill::{AnswerWay, Answered, Drill, HopFate};
use crate::alarm::ending::Ending;
use crate::alarm::ladder;
use crate::alarm::message::{Message, Outcome};
use crate::config::people::Part;
use crate::config::rights::Deed;
use crate::plain::ids::{AlertNo, PersonName};
use crate::rules::priority::Priority;
use crate::rules::verdict::{Figures, Subject, Verdict, Wrong};
use crate::talk::drill;
use crate::talk::letter::Sender;
use crate::talk::refusal;
use crate::talk::speech::Speech;

/// Text messages that a report may fill.
const PARTS: usize = 3;

impl Watch {
    /// Begins a drill, or says why there is none now. `by` is `None` where a schedule asks.
    pub(super) fn begins_drill(
        &mut self,
        by: Option<&PersonName>,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) -> (String, bool) {
        let now = self.state.now;
        let speech = by.map(|by| Speech::to(&ready.config, by));
        let speech = speech.unwrap_or_else(|| Speech::english(&ready.config));
        let words = speech.shifts;
        let Some(rule) = ready.book.drill.first().filter(|rule| ready.tells(&rule.name)) else {
            return (words.drill_no_rule.to_owned(), false);
        };
        let part = by.and_then(|by| ladder::find(&ready.config, by)).map(|person| person.part);
        if let Some(part) = part.filter(|part| !part.may(Deed::Drill)) {
            return (refusal::words(part, Deed::Drill, &speech), false);
        }
        if self.drill_runs() {
            return (words.drill_on.to_owned(), false);
        }
        let unanswered = |alert: &&Alert| {
            alert.priority == Priority::High
                && alert.holder().is_none()
                && alert.subject != Subject::Drill
        };
        if let Some(alert) = self.state.watchman.open.values().find(unanswered) {
            return (speech.say(words.drill_not_now, &[("no", &alert.no)]), false);
        }
        let places = 0..u32::try_from(self.state.devices.len()).unwrap_or(u32::MAX);
        let heard = places.filter_map(|place| self.state.devices.at(place).1.heard).max();
        let no = self.state.drill.as_ref().map_or(0, |last| last.no) + 1;
        let asked = by.map_or("a schedule".to_owned(), PersonName::to_string);
        out.note(format!("drill {no} begins, asked for by {asked}"));
        let until = now + rule.lasts;
        self.state.drill = Some(Drill {
            no,
            by: by.cloned(),
            begun: now,
            until,
            heard,
            hops: Vec::new(),
            untimed: 0,
            answered: None,
            over: None,
        });
        touched.key(Key::Drill);
        let until = ready.config.farm.zone.clock(until);
        (speech.say(words.drill_begins, &[("no", &no), ("at", &until)]), true)
    }

    pub(super) fn drill_runs(&self) -> bool {
        self.state.drill.as_ref().is_some_and(Drill::runs)
    }

    /// Whether the drill wants to be asked about now, and what it comes to.
    pub(super) fn ask_drill(&self, ready: &Ready) -> Asked {
        let drill = self.state.drill.as_ref().filter(|drill| drill.runs());
        let asked = ready.book.drill.iter().take(1).map(|rule| {
            let verdict = drill.map_or(Verdict::Fine, |drill| {
                let figures = Figures::Drill { until: drill.until };
                Verdict::Wrong(Wrong { since: drill.begun, figures, ends: Some(drill.until) })
            });
            (rule.name.clone(), verdict)
        });
        (asked.collect(), drill.map(|drill| drill.until))
    }

    /// Ends it once somebody has answered or its time is up, and tells whoever asked.
    pub(super) fn ends_drill(&mut self, ready: &Rc<Ready>, out: &mut Out) {
        let now = self.state.now;
        let Some(drill) = self.state.drill.as_mut().filter(|drill| drill.runs()) else { return };
        if drill.answered.is_none() && now < drill.until {
            return;
        }
        drill.over = Some(now);
        let drill = drill.clone();
        let ending = Speech::english(&ready.config).ending(&drill.ending());
        out.note(format!("drill {} is over: {ending}", drill.no));
        let to = match &drill.by {
            Some(by) => vec![by.clone()],
            None => owners(ready),
        };
        for who in to {
            self.moment.parts = PARTS;
            let report = drill::report(&drill, &Speech::to(&ready.config, &who));
            self.answer(&who, &report.join("\n"), None, ready, out);
            self.moment.parts = 0;
        }
    }

    /// Why the alert of a drill is over.
    pub(super) fn why_drill_over(&self) -> Ending {
        self.state.drill.as_ref().map_or(Ending::DrillOver, Drill::ending)
    }

    pub(super) fn is_of_drill(&self, no: AlertNo) -> bool {
        let open = self.state.watchman.open.get(&no);
        open.is_some_and(|alert| alert.subject == Subject::Drill)
    }

    /// Whether somebody's words are about the drill that runs, and about nothing else.
    pub(super) fn is_about_drill(&self, speaker: &Speaker<'_>) -> bool {
        matches!(&speaker.about, About::Open(no) if self.is_of_drill(*no))
    }

    pub(super) fn drill_leaves(&mut self, message: &Message) {
        let is_call = message.alert.is_some_and(|no| self.is_of_drill(no));
        if let (true, Some(drill)) = (is_call, &mut self.state.drill) {
            drill.leaves(message.no, &message.to, &message.line, self.state.now);
        }
    }

    pub(super) fn drill_lands(&mut self, message: &Message, outcome: &Outcome) {
        let at = self.state.now;
        let Some(drill) = self.state.drill.as_mut().filter(|drill| drill.runs()) else { return };
        let fate = match outcome {
            Outcome::Taken => HopFate::Taken { at },
            Outcome::Failed { why } | Outcome::Gone { why } => {
                HopFate::Failed { at, why: why.clone() }
            }
        };
        drill.lands(message.no, fate);
    }

    /// Whether these words made their speaker the one who goes: then the drill has done its work.
    pub(super) fn answers_drill(
        &mut self,
        who: &PersonName,
        from: &Sender,
        ready: &Ready,
    ) -> Option<String> {
        let mut open = self.state.watchman.open.values();
        let alert = open.find(|alert| alert.subject == Subject::Drill)?;
        if alert.holder() != Some(who) {
            return None;
        }
        let drill = self.state.drill.as_mut().filter(|drill| drill.runs())?;
        if drill.answered.is_some() {
            return None;
        }
        let way = match from {
            Sender::Mail(_) => AnswerWay::Mail,
            Sender::Mobile(_) => AnswerWay::Text,
            Sender::Name(_) => AnswerWay::ThisMachine,
        };
        drill.answered = Some(Answered { who: who.clone(), at: self.state.now, way });
        let speech = Speech::to(&ready.config, who);
        let ending = speech.ending(&drill.ending());
        let words = speech.say(speech.shifts.drill_thanks, &[("ending", &ending)]);
        self.deadlines.set(&Key::Drill, Some(self.state.now));
        Some(words)
    }
}

fn owners(ready: &Ready) -> Vec<PersonName> {
    let people = ready.config.people.iter().filter(|person| person.part == Part::Owner);
    people.map(|person| person.name.clone()).collect()
}
