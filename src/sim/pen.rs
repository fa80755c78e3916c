//! How invented people put things: the words of a reply, the mail or text that carries them, and what
//! they meant by it.

use super::dice::Dice;
use super::ledger::{About, Means, Words};
use super::yard::{ANSWERS, PEOPLE, TEXTS, may_call_false};
use crate::alarm::message::Message;
use crate::herd::sign::Mark;
use crate::plain::ids::{Animal, LineName, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::sensor::packet::{Packet, Payload};
use crate::talk::letter::{MailProof, Reply, Sender};
use crate::watch::event::Event;

/// Older than this, nobody remembers the minute.
const REMEMBERED: Span = Span::hours(3);

/// By what way a reply goes.
#[derive(Clone, Debug)]
pub(super) enum Way {
    /// In answer to this mail, which is quoted below.
    MailTo(Box<Message>),
    FreshMail,
    Text,
    /// On the farm's own broker.
    Yard,
    /// At the machine in the dairy, waiting for what it says.
    Desk,
}

/// How a reply says in its words which alert it is about.
#[derive(Clone, Copy, Debug)]
pub(super) enum Naming<'a> {
    Code(&'a str),
    /// "going 114"
    Animal(&'a str),
    Nothing,
}

/// A reply ready to go, without its place in any mailbox.
#[derive(Clone, Debug)]
pub(super) struct Letter {
    pub(super) event: Event,
    pub(super) words: Option<Words>,
}

pub(super) struct Pen<'a> {
    pub(super) who: usize,
    pub(super) zone: &'a Zone,
    pub(super) dice: &'a mut Dice,
}

impl Pen<'_> {
    pub(super) fn going(&mut self) -> (String, Vec<Means>) {
        let plain = [
            "going",
            "Going now",
            "ok",
            "on my way",
            "I'll look",
            "yes",
            "going\nthanks",
            "coming",
        ];
        let timed = [("going 20", 20), ("ok 45 min", 45), ("going 10 min", 10)];
        if self.dice.chance(250) {
            let (text, minutes) = *self.dice.pick(&timed);
            return (text.to_owned(), vec![Means::Going(Some(Span::minutes(minutes)))]);
        }
        let text = *self.dice.pick(&plain);
        (text.to_owned(), vec![Means::Going(None)])
    }

    /// Too tired to type more than the code: who does that means to go.
    pub(super) fn silent(&mut self) -> (String, Vec<Means>) {
        (String::new(), vec![Means::Going(None)])
    }

    pub(super) fn pass(&mut self) -> (String, Vec<Means>) {
        let text = *self.dice.pick(&["pass", "can't go", "not me", "Pass, sorry"]);
        (text.to_owned(), vec![Means::Pass])
    }

    pub(super) fn nonsense(&mut self) -> (String, Vec<Means>) {
        let texts = [
            "purple gate hinge",
            "what about the trailer?",
            "zzzz",
            "the feed man comes on friday",
        ];
        ((*self.dice.pick(&texts)).to_owned(), Vec::new())
    }

    /// What was seen of one dam, some of it with its time.
    pub(super) fn marks(
        &mut self,
        now: Moment,
        animal: Option<&Animal>,
        seen: &[(Mark, Moment)],
    ) -> (String, Vec<Means>) {
        let mut clauses = Vec::new();
        let mut means = Vec::new();
        for (mark, at) in seen {
            let word = word(*mark);
            let named = animal.map_or(String::new(), |animal| format!("{animal} "));
            let stated = self.stated(now, *at).filter(|_| self.dice.chance(600));
            let time = stated.map_or(String::new(), |at| self.zone.clock(at).replace(':', ""));
            clauses.push(format!("{named}{word} {time}").trim_end().to_owned());
            if *mark != Mark::FalseAlarm || may_call_false(self.who) {
                means.push(Means::Mark { animal: animal.cloned(), mark: *mark, at: stated });
            }
        }
        (clauses.join("\n"), means)
    }

    /// The minute that somebody would write down, if the farm's clock shows it once only.
    fn stated(&self, now: Moment, at: Moment) -> Option<Moment> {
        let minute = Moment::from_seconds(at.seconds() - at.seconds().rem_euclid(60));
        let clear = |other: Moment| self.zone.clock(other) != self.zone.clock(minute);
        let hour = Span::hours(1);
        let once = clear(minute + hour) && clear(minute - hour);
        (once && now.since(minute) < REMEMBERED && minute <= now).then_some(minute)
    }

    pub(super) fn letter(
        &mut self,
        way: &Way,
        naming: Naming<'_>,
        said: (String, Vec<Means>),
    ) -> Letter {
        let (text, means) = said;
        let text = match naming {
            Naming::Code(code) => format!("{code} {text}").trim_end().to_owned(),
            Naming::Animal(animal) => format!("{text} {animal}"),
            Naming::Nothing => text,
        };
        let (name, _, address, mobile, _) = PEOPLE[self.who];
        let who = PersonName::new(name);
        let about = match (naming, way) {
            (Naming::Code(code), _) => About::Code(code.to_owned()),
            (Naming::Animal(animal), _) => About::Animal(animal.to_owned()),
            (Naming::Nothing, Way::MailTo(message)) => About::Message(message.id.clone()),
            (Naming::Nothing, Way::FreshMail | Way::Text | Way::Yard | Way::Desk) => About::Bare,
        };
        let mut words = Words { who, about, means, letter: None };
        let reply = |line: &str,
                     from: Sender,
                     mail: Option<MailProof>,
                     text: String,
                     asked: Option<u64>| {
            Event::Answered(Reply {
                line: LineName::new(line),
                from,
                text,
                mail: mail.map(Box::new),
                asked,
            })
        };
        let event = match (way, mobile) {
            (Way::MailTo(_) | Way::FreshMail, _) => {
                let id = format!("{:016x}@phone.example", self.dice.roll());
                words.letter = Some(id.clone());
                let answers =
                    if let Way::MailTo(message) = way { Some(message.as_ref()) } else { None };
                let text = answers.map_or(text.clone(), |message| quoting(&text, message));
                reply(
                    ANSWERS,
                    Sender::Mail(address.to_owned()),
                    Some(proof(id, answers)),
                    text,
                    None,
                )
            }
            (Way::Text, Some(mobile)) => {
                reply(TEXTS, Sender::Mobile(mobile.to_owned()), None, text, None)
            }
            (Way::Yard, _) | (Way::Text, None) => {
                let topic = format!("yard/words/{}", name.to_lowercase());
                Event::Packet(Packet {
                    topic,
                    payload: Payload(text.into_bytes()),
                    retained: false,
                })
            }
            (Way::Desk, _) => {
                let asked = Some(self.dice.roll());
                reply("desk", Sender::Name(name.to_owned()), None, text, asked)
            }
        };
        Letter { event, words: Some(words) }
    }

    /// What a mail program says while its owner is away: never a person's word.
    pub(super) fn machine(&mut self, message: &Message) -> Letter {
        let way = Way::MailTo(Box::new(message.clone()));
        let text = "Going on leave. I am away until Monday.".to_owned();
        let mut letter = self.letter(&way, Naming::Nothing, (text, Vec::new()));
        letter.words = None;
        if let Event::Answered(Reply { mail: Some(mail), .. }) = &mut letter.event {
            mail.auto_submitted = vec!["auto-replied".to_owned()];
        }
        letter
    }
}

fn proof(id: String, answers: Option<&Message>) -> MailProof {
    let answered = answers.map(|message| format!("{}@hollowbank.example", message.id));
    MailProof {
        message_id: Some(id),
        subject: answers
            .map_or("home field".to_owned(), |message| format!("Re: {}", message.subject)),
        in_reply_to: answered.clone().into_iter().collect(),
        references: answered.into_iter().collect(),
        return_path: Some("<somebody@hollowbank.example>".to_owned()),
        content_type: "text/plain; charset=utf-8".to_owned(),
        ..MailProof::default()
    }
}

fn quoting(text: &str, message: &Message) -> String {
    let quoted: String = message.text.lines().map(|line| format!("> {line}\n")).collect();
    format!("{text}\n\nOn Monday, Lowbell wrote:\n{quoted}")
}

/// A word that people use for a mark.
fn word(mark: Mark) -> &'static str {
    let others = [
        (Mark::FalseAlarm, "false alarm"),
        (Mark::Up, "calf up"),
        (Mark::Placenta, "cleaned"),
        (Mark::DamDead, "cow dead"),
    ];
    let other = others.into_iter().find(|(known, _)| *known == mark);
    other.map_or(mark.word(), |(_, word)| word)
}
