//! Invented people: they sleep, they read what they were really sent, they go and look at the truth,
//! and they answer well, badly, late or not at all.
//!
//! They know nothing of the watch but its messages: whom it is about and which alert are read from
//! the text, as a person would.

use std::collections::{BTreeMap, BTreeSet};

use super::dice::Dice;
use super::farm::Farm;
use super::ledger::Means;
use super::pen::{Letter, Naming, Pen, Way};
use super::sensors::Sensor;
use super::yard::{PEOPLE, TEXTS, may_call_false};
use crate::alarm::message::Message;
use crate::herd::sign::Mark;
use crate::plain::ids::Animal;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

pub(super) struct Person {
    /// Which row of `PEOPLE`.
    pub(super) at: usize,
    /// Codes they have been told somebody else has, or that are over.
    settled: BTreeSet<String>,
    /// Messages read: a copy of one is no news.
    read: BTreeSet<String>,
    /// The last mail about each animal, to answer to.
    last: BTreeMap<String, Message>,
    /// What they have said of each animal.
    said: BTreeSet<(String, Mark)>,
}

/// Where somebody goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Errand {
    Dam(String),
    Device(String),
    Line,
}

/// What somebody does about it.
pub(super) enum Act {
    Says(Span, Box<Letter>),
    Visits(Span, Errand),
    Forgets,
}

/// The world as it is when somebody acts.
pub(super) struct Scene<'a> {
    pub(super) now: Moment,
    pub(super) zone: &'a Zone,
    pub(super) farm: &'a mut Farm,
    pub(super) sensors: &'a mut [Sensor],
    pub(super) dice: &'a mut Dice,
    /// Faults have stopped: everybody is awake and does what they should.
    pub(super) calm: bool,
}

impl Person {
    pub(super) fn new(at: usize) -> Self {
        Self {
            at,
            settled: BTreeSet::new(),
            read: BTreeSet::new(),
            last: BTreeMap::new(),
            said: BTreeSet::new(),
        }
    }

    pub(super) fn name(&self) -> &'static str {
        PEOPLE[self.at].0
    }

    /// How long until they read what has just come: a mail does not ring.
    pub(super) fn delay(&self, message: &Message, scene: &mut Scene<'_>) -> Span {
        let dice = &mut *scene.dice;
        if scene.calm {
            return dice.span(Span::seconds(20), Span::minutes(4));
        }
        let (from, until) = PEOPLE[self.at].4;
        let hour = scene.zone.wall(scene.now).hour();
        let sleeps =
            if from < until { (from..until).contains(&hour) } else { hour >= from || hour < until };
        let wakes = if message.line.as_str() == TEXTS { 750 } else { 450 };
        if sleeps && !dice.chance(wakes) {
            let hours = i64::from((until - hour).rem_euclid(24));
            return Span::hours(hours) + dice.minutes(0, 30);
        }
        if dice.chance(100) {
            dice.minutes(20, 90)
        } else {
            dice.span(Span::seconds(30), Span::minutes(7))
        }
    }

    pub(super) fn reads(&mut self, message: &Message, scene: &mut Scene<'_>) -> Vec<Act> {
        if !self.read.insert(message.id.clone()) {
            return Vec::new();
        }
        let texted = message.line.as_str() == TEXTS;
        let text = if texted {
            message.text.clone()
        } else {
            format!("{}\n{}", message.subject, message.text)
        };
        if !message.also.is_empty() {
            return self.reads_several(message, &text, scene);
        }
        let Some((code, errand)) = understood(&text) else {
            return Vec::new();
        };
        if text.contains("You need not go") || text.contains("is over") {
            self.settled.insert(code);
            return Vec::new();
        }
        if text.starts_with("Which alert") || text.starts_with("We did not understand") {
            return self.answers_again(&code, scene);
        }
        if let (Errand::Dam(animal), false) = (&errand, texted) {
            self.last.insert(animal.clone(), message.clone());
        }
        if let Errand::Dam(animal) = &errand {
            // Asked again, they tell all again.
            self.said.retain(|(said, _)| said != animal);
        }
        let settled = self.settled.remove(&code);
        if !scene.calm && settled && scene.dice.chance(600) {
            return Vec::new();
        }
        self.answers(message, &code, errand, scene)
    }

    /// One text about several matters: a bare word answers them all.
    fn reads_several(&self, message: &Message, text: &str, scene: &mut Scene<'_>) -> Vec<Act> {
        if !scene.calm && !scene.dice.chance(700) {
            return Vec::new();
        }
        let errands: Vec<Errand> = text
            .split(['\n', ';'])
            .filter_map(|piece| understood(piece.trim()))
            .map(|(_, errand)| errand)
            .collect();
        let (after, soon) =
            (scene.dice.span(Span::seconds(15), Span::minutes(2)), scene.dice.minutes(4, 18));
        let texted = message.line.as_str() == TEXTS;
        let mut pen = self.pen(scene);
        let said = pen.going();
        let way = if texted { Way::Text } else { Way::MailTo(Box::new(message.clone())) };
        let letter = pen.letter(&way, Naming::Nothing, said);
        let visits = errands.into_iter().map(|errand| Act::Visits(after + soon, errand));
        let mut acts = vec![Act::Says(after, Box::new(letter))];
        acts.extend(visits);
        acts
    }

    fn answers_again(&self, code: &str, scene: &mut Scene<'_>) -> Vec<Act> {
        if !scene.calm && !scene.dice.chance(600) {
            return Vec::new();
        }
        let mut pen = self.pen(scene);
        let said = pen.going();
        let letter = pen.letter(&Way::FreshMail, Naming::Code(code), said);
        vec![Act::Says(Span::seconds(40), Box::new(letter))]
    }

    fn answers(
        &mut self,
        message: &Message,
        code: &str,
        errand: Errand,
        scene: &mut Scene<'_>,
    ) -> Vec<Act> {
        let roll = if scene.calm { 0 } else { scene.dice.below(1_000) };
        let after = scene.dice.span(Span::seconds(15), Span::minutes(2));
        let soon = scene.dice.minutes(4, 18);
        let texted = message.line.as_str() == TEXTS;
        if (870..910).contains(&roll) && !texted {
            let letter = self.pen(scene).machine(message);
            return vec![Act::Says(after, Box::new(letter))];
        }
        let calm = scene.calm;
        let mut pen = self.pen(scene);
        let (said, goes) = match roll {
            0..640 => (pen.going(), true),
            640..700 => (pen.going(), false),
            700..800 => (pen.pass(), false),
            800..850 => (pen.nonsense(), false),
            850..870 => return vec![Act::Visits(soon, errand)],
            _ => return Vec::new(),
        };
        let way = match (texted, pen.dice.below(20)) {
            (true, 0..16) => Way::Text,
            (false, 0..14) => Way::MailTo(Box::new(message.clone())),
            (_, 14..17) => Way::FreshMail,
            (_, 17) => Way::Yard,
            (_, _) => Way::Desk,
        };
        let clear = matches!(way, Way::MailTo(_));
        let named = if calm { !clear } else { pen.dice.chance(if clear { 150 } else { 600 }) };
        let by_animal = !calm && !named && !clear && goes && pen.dice.chance(400);
        let letter = match &errand {
            Errand::Dam(animal) if by_animal => {
                let said = ("going".to_owned(), vec![Means::Going(None)]);
                pen.letter(&way, Naming::Animal(animal), said)
            }
            Errand::Dam(_) | Errand::Device(_) | Errand::Line if named => {
                let said = if goes && pen.dice.chance(150) { pen.silent() } else { said };
                pen.letter(&way, Naming::Code(code), said)
            }
            Errand::Dam(_) | Errand::Device(_) | Errand::Line => {
                pen.letter(&way, Naming::Nothing, said)
            }
        };
        let mut acts = vec![Act::Says(after, Box::new(letter))];
        match (goes, roll) {
            (true, _) => acts.push(Act::Visits(after + soon, errand)),
            (false, 640..700) => acts.push(Act::Forgets),
            (false, _) => {}
        }
        acts
    }

    /// They are there and see how it is.
    pub(super) fn visits(&mut self, errand: &Errand, scene: &mut Scene<'_>) -> Vec<Act> {
        match errand {
            Errand::Dam(animal) => self.looks_at(animal, scene),
            Errand::Device(device) => {
                let now = scene.now;
                for sensor in scene.sensors.iter_mut().filter(|sensor| sensor.id.as_str() == device)
                {
                    sensor.mended(now);
                }
                Vec::new()
            }
            Errand::Line => Vec::new(),
        }
    }

    fn looks_at(&mut self, animal: &str, scene: &mut Scene<'_>) -> Vec<Act> {
        let (now, calm) = (scene.now, scene.calm);
        let Some(cow) = scene.farm.cows.iter_mut().find(|cow| cow.animal.as_str() == animal) else {
            return Vec::new();
        };
        if !calm && scene.dice.chance(8) {
            // The wrong dam, or half asleep.
            self.said.retain(|(said, _)| said != animal);
            return vec![self.writes(animal, &[(Mark::FalseAlarm, now)], scene)];
        }
        let limit = Span::minutes(if cow.heifer { 60 } else { 30 });
        let Some(calving) = cow.calving.as_mut().filter(|calving| calving.restless <= now) else {
            // Half asleep, a helper forgets that "false" is not theirs to say.
            let calls_false = if calm { may_call_false(self.at) } else { scene.dice.chance(600) };
            let mark = if calls_false { Mark::FalseAlarm } else { Mark::Seen };
            return vec![self.writes(animal, &[(mark, now)], scene)];
        };
        let happened = calving.by(now);
        let mut again = None;
        let mut extra = scene.dice.chance(3).then_some(Mark::DamDead);
        if calving.strains(now) {
            if calm || now.since(calving.bag) > limit || scene.dice.chance(150) {
                calving.helped(now, scene.dice);
            }
            again = Some(scene.dice.minutes(8, 15));
        } else if now >= calving.calf && calving.sucked.is_none_or(|at| at > now) {
            if calm || scene.dice.chance(200) {
                calving.fed(now + Span::minutes(10));
                extra = scene.dice.chance(500).then_some(Mark::Colostrum);
            } else if scene.dice.chance(20) {
                extra = Some(*scene.dice.pick(&[Mark::CalfDead, Mark::SecondCalf, Mark::Vet]));
            }
            again = (calm || scene.dice.chance(300)).then(|| scene.dice.minutes(15, 40));
        } else if now < calving.bag {
            again = scene.dice.chance(300).then(|| scene.dice.minutes(40, 120));
        }
        let news: Vec<(Mark, Moment)> = happened
            .into_iter()
            .filter(|(mark, _)| self.said.insert((animal.to_owned(), *mark)))
            .collect();
        let straining = again.is_some_and(|span| span < Span::minutes(16));
        let mut seen = match news.len() {
            0 if straining && scene.dice.chance(400) => vec![(Mark::Progress, now)],
            0 => vec![(Mark::Seen, now)],
            many => news[many.saturating_sub(4)..].to_vec(),
        };
        if let Some(mark) = extra.take() {
            seen.retain(|(seen, _)| *seen != Mark::Seen);
            seen.push((mark, now));
        }
        let mut acts = vec![self.writes(animal, &seen, scene)];
        if let Some(span) = again.filter(|_| calm || scene.dice.chance(850)) {
            acts.push(Act::Visits(span, Errand::Dam(animal.to_owned())));
        }
        acts
    }

    /// A morning's walk: every dam that has begun, whoever was called.
    pub(super) fn walks(&mut self, scene: &mut Scene<'_>) -> Vec<Act> {
        let now = scene.now;
        let begun = scene.farm.cows.iter().filter(|cow| {
            cow.calving.as_ref().is_some_and(|calving| {
                calving.restless <= now && now < calving.placenta + Span::days(1)
            })
        });
        let animals: Vec<String> = begun.map(|cow| cow.animal.to_string()).collect();
        let seen: Vec<String> = animals.into_iter().filter(|_| scene.dice.chance(250)).collect();
        seen.iter().flat_map(|animal| self.looks_at(animal, scene)).collect()
    }

    fn writes(&self, animal: &str, seen: &[(Mark, Moment)], scene: &mut Scene<'_>) -> Act {
        let now = scene.now;
        let after = scene.dice.span(Span::seconds(20), Span::minutes(3));
        let mail = self.last.get(animal).filter(|_| scene.dice.chance(600)).cloned();
        let named = mail.is_none() || scene.dice.chance(500);
        let way = match (mail, scene.dice.below(4)) {
            (Some(mail), _) => Way::MailTo(Box::new(mail)),
            (None, 0) => Way::FreshMail,
            (None, 1) => Way::Text,
            (None, 2) => Way::Yard,
            (None, _) => Way::Desk,
        };
        let animal = Animal::new(animal);
        let mut pen = self.pen(scene);
        let said = pen.marks(now, named.then_some(&animal), seen);
        Act::Says(after, Box::new(pen.letter(&way, Naming::Nothing, said)))
    }

    fn pen<'a>(&self, scene: &'a mut Scene<'_>) -> Pen<'a> {
        Pen { who: self.at, zone: scene.zone, dice: scene.dice }
    }
}

/// The first code in a text and whom it is about: the animal that begins it, or the device or line.
fn understood(text: &str) -> Option<(String, Errand)> {
    let words = || text.split(|c: char| c.is_whitespace() || c == ':' || c == '.' || c == ',');
    let code = words().find(|word| is_code(word))?.to_owned();
    let line = text.lines().find(|line| line.contains(&code))?;
    let mut named = line.split(|c: char| c.is_whitespace() || c == ':');
    let first = named.next().unwrap_or_default();
    let device = line
        .split_whitespace()
        .find(|word| ["k-", "t-", "c-"].iter().any(|kind| word.starts_with(kind)));
    let errand = match device {
        Some(device) => Errand::Device(device.to_owned()),
        None if first.starts_with(|c: char| c.is_ascii_digit()) => Errand::Dam(first.to_owned()),
        None => Errand::Line,
    };
    Some((code, errand))
}

/// Consonant, digit, consonant, digit.
fn is_code(word: &str) -> bool {
    let bytes = word.as_bytes();
    bytes.len() == 4
        && [0, 2].iter().all(|at| bytes[*at].is_ascii_uppercase())
        && [1, 3].iter().all(|at| bytes[*at].is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_person_reads_whom_a_message_is_about_and_its_code() {
        let read = |text| understood(text).unwrap();
        assert_eq!(
            read("114 home field: second stage too long 31 min K4T7. Examine her now."),
            ("K4T7".to_owned(), Errand::Dam("114".to_owned()))
        );
        assert_eq!(
            read("207 river field: sensor silent 46 min k-207 B2D3"),
            ("B2D3".to_owned(), Errand::Device("k-207".to_owned()))
        );
        assert_eq!(read("Lowbell mail: line down C5F6"), ("C5F6".to_owned(), Errand::Line));
        assert_eq!(understood("Noted: 114 feet 02:10."), None);
    }
}
