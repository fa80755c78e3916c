//! What each happening in the world does.

use super::Sabotage;
use super::facts::Evidence;
use super::people::Act;
use super::post;
use super::sensors::Spoken;
use super::world::{Coming, Happening, World};
use super::yard::{ANSWERS, HOOK};
use crate::alarm::message::{Message, Outcome};
use crate::alarm::sent::Flight;
use crate::plain::ids::LineName;
use crate::plain::moment::Span;
use crate::sensor::packet::Packet;
use crate::watch::BROKER;
use crate::watch::effect::Effect;
use crate::watch::event::{Event, LineNews, LineState};

impl World {
    pub(super) fn live(&mut self, happening: Happening) {
        match happening {
            Happening::Beats(at) => self.beats(at),
            Happening::Comes(coming) => self.comes(*coming),
            Happening::News(news) => self.news(news),
            Happening::Line(line) => self.line_changes(line),
            Happening::Leaves(message) => self.leaves(&message),
            Happening::Lands(delivery) | Happening::NoticeLands(delivery) => {
                if self.down.is_none() {
                    self.feed(bare(Event::Delivered(delivery)));
                }
            }
            Happening::Reaches(message) => {
                let Some(at) =
                    self.people.iter().position(|person| person.name() == message.to.as_str())
                else {
                    return;
                };
                let calm = self.calm();
                let (mut scene, people) = self.scene(calm);
                let when = scene.now + people[at].delay(&message, &mut scene);
                self.happens(when, Happening::Reads(at, message));
            }
            Happening::Reads(..) | Happening::Visits(..) | Happening::Walks
                if self.calm() && self.sabotage == Some(Sabotage::PeopleGone) => {}
            Happening::Reads(at, message) => {
                let calm = self.calm();
                let (mut scene, people) = self.scene(calm);
                let acts = people[at].reads(&message, &mut scene);
                self.act(at, acts);
            }
            Happening::Visits(at, errand) => {
                let calm = self.calm();
                let (mut scene, people) = self.scene(calm);
                let acts = people[at].visits(&errand, &mut scene);
                self.act(at, acts);
            }
            Happening::Walks => {
                let calm = self.calm();
                let (mut scene, people) = self.scene(calm);
                let at = usize::try_from(scene.dice.below(people.len() as u64)).unwrap_or(0);
                let acts = people[at].walks(&mut scene);
                self.act(at, acts);
            }
            Happening::Stranger => {
                let event = post::stranger(&mut self.dice);
                self.comes(bare(event));
            }
            Happening::Dies => self.dies(),
            Happening::Begins => self.begins(),
            Happening::Calms => self.checks.calm_from = Some(self.now),
            Happening::Reloads => {
                if self.down.is_none() {
                    let text = &mut self.settings.files[0].text;
                    text.push_str("# saved again\n");
                    let event = Event::Settings(self.settings.clone());
                    self.feed(bare(event));
                }
            }
            Happening::Clocks(clock) => self.clock_says(clock),
        }
    }

    fn calm(&self) -> bool {
        self.checks.calm_from.is_some()
    }

    fn act(&mut self, who: usize, acts: Vec<Act>) {
        for act in acts {
            match act {
                Act::Says(after, letter) => {
                    if letter.words.is_none() {
                        self.tally.machines += 1;
                    }
                    let coming = Coming {
                        event: letter.event,
                        evidence: Evidence::Nothing,
                        words: letter.words,
                    };
                    self.happens(self.now + after, Happening::Comes(Box::new(coming)));
                }
                Act::Visits(after, errand) => {
                    self.happens(self.now + after, Happening::Visits(who, errand))
                }
                Act::Forgets => self.tally.forgotten += 1,
            }
        }
    }

    /// A sensor's turn: it speaks, and the air does what it likes with that.
    fn beats(&mut self, at: usize) {
        let every = self.sensors[at].kind.every();
        if self.now + every < self.sensors[at].until + Span::hours(1) && self.now < self.end {
            let next = self.now + every + self.dice.span(Span::seconds(-20), Span::seconds(20));
            self.happens(next, Happening::Beats(at));
        }
        let Some((packet, spoken)) = self.sensors[at].speaks(self.now, &self.farm, &mut self.dice)
        else {
            return;
        };
        let coming = heard(packet, spoken);
        let broker_down = self.faults.of(BROKER, self.now).map(|window| window.until);
        if let Some(until) = broker_down {
            // Half of the sensors keep what they could not say.
            if self.dice.chance(500) {
                self.happens(until + Span::seconds(5), Happening::Comes(Box::new(coming)));
            } else {
                self.tally.dropped += 1;
            }
            return;
        }
        match (self.calm(), self.dice.below(100)) {
            (false, 0..5) => self.tally.dropped += 1,
            (false, 5..9) => {
                let again = self.now + self.dice.span(Span::ZERO, Span::seconds(90));
                self.tally.doubles += 1;
                self.happens(again, Happening::Comes(Box::new(coming.clone())));
                self.comes(coming);
            }
            (false, 9..12) => {
                let late = self.now + self.dice.minutes(5, 200);
                self.tally.late += 1;
                self.happens(late, Happening::Comes(Box::new(coming)));
            }
            (_, _) => self.comes(coming),
        }
    }

    /// An event arrives at the door, which may be shut.
    fn comes(&mut self, mut coming: Coming) {
        let mail = matches!(&coming.event, Event::Answered(reply) if reply.mail.is_some());
        let shut = if mail { ANSWERS } else { BROKER };
        let over_it = mail || matches!(&coming.event, Event::Packet(_));
        if let Some(until) =
            self.faults.of(shut, self.now).map(|window| window.until).filter(|_| over_it)
        {
            self.happens(until + Span::seconds(10), Happening::Comes(Box::new(coming)));
            return;
        }
        if mail {
            self.is_filed(&mut coming);
        }
        if self.down.is_some() {
            self.waiting.push_back(coming);
            return;
        }
        if mail && self.dice.chance(60) && !self.calm() {
            self.tally.doubles += 1;
            let mut again = coming.clone();
            if self.dice.chance(200) {
                // The mailbox is numbered anew, and everything in it looks new.
                self.mailbox.validity += 1;
                self.mailbox.uid = 0;
                self.is_filed(&mut again);
            }
            self.feed(coming);
            self.feed(again);
            return;
        }
        self.feed(coming);
    }

    /// A mail gets its place in the mailbox when it arrives there.
    fn is_filed(&mut self, coming: &mut Coming) {
        if let Event::Answered(reply) = &mut coming.event
            && let Some(mail) = &mut reply.mail
        {
            self.mailbox.uid += 1;
            mail.place = Some(self.mailbox.clone());
        }
    }

    pub(super) fn news(&mut self, news: LineState) {
        if self.down.is_none() {
            let evidence = Evidence::Line(news.clone());
            self.feed(Coming { event: Event::Line(news), evidence, words: None });
        }
    }

    /// A bad time begins or ends: the line notices, or does not.
    fn line_changes(&mut self, line: &'static str) {
        let news = self.state_of(line);
        self.news(news);
        if line == BROKER && self.faults.of(line, self.now).is_none() {
            self.reconnects();
        }
    }

    pub(super) fn state_of(&self, line: &str) -> LineState {
        let news = match self.faults.of(line, self.now).filter(|window| window.says) {
            Some(_) => LineNews::Down { why: "connection refused".to_owned() },
            None => LineNews::Up,
        };
        LineState { line: LineName::new(line), news }
    }

    /// After each connection: a session kept or lost, filters taken or refused, and all that is kept.
    pub(super) fn reconnects(&mut self) {
        let line = LineName::new(BROKER);
        if self.tally.events > 20 && self.dice.chance(300) {
            self.news(LineState { line: line.clone(), news: LineNews::SessionLost });
        }
        if self.dice.chance(100) {
            let filter = "yard/tail/+/state".to_owned();
            let why = "not authorized".to_owned();
            let news = LineNews::SubscriptionRefused { filter: filter.clone(), why };
            self.news(LineState { line: line.clone(), news });
            let later = self.now + self.dice.minutes(5, 60);
            let news = LineNews::SubscriptionTaken { filter };
            self.happens(later, Happening::News(LineState { line, news }));
        }
        let kept: Vec<(Packet, Spoken)> = self
            .sensors
            .iter()
            .filter(|sensor| sensor.from <= self.now)
            .filter_map(|sensor| sensor.kept.clone())
            .collect();
        for (packet, _) in kept {
            if self.down.is_none() && self.faults.of(BROKER, self.now).is_none() {
                self.tally.kept += 1;
                self.feed(bare(Event::Packet(packet)));
            }
        }
    }

    /// An effect goes out into the world.
    pub(super) fn carries(&mut self, effect: Effect) {
        match effect {
            Effect::Send(message) | Effect::Again(Flight::Message(message)) => {
                let soon = self.now + self.dice.span(Span::seconds(1), Span::seconds(4));
                self.happens(soon, Happening::Leaves(Box::new(message)));
            }
            Effect::Publish(notice) | Effect::Again(Flight::Notice(notice)) => {
                let bad = self.faults.of(HOOK, self.now).is_some();
                let outcome =
                    if bad { Outcome::Failed { why: "503".to_owned() } } else { Outcome::Taken };
                let at = self.now + self.dice.span(Span::seconds(1), Span::seconds(9));
                self.happens(at, Happening::NoticeLands(post::delivery(notice.no, outcome)));
            }
            Effect::Withdraw(no) => {
                if self.drop_from_outbox(|other| other == no) > 0 {
                    self.checks.ledger.withdrawn(no);
                }
            }
            Effect::Changed(_) | Effect::Refused(_) | Effect::Noted(_) | Effect::Said(_) => {}
        }
    }

    fn leaves(&mut self, message: &Message) {
        let journey = post::journey(self.now, message, &self.faults, &mut self.dice);
        if journey.failed {
            self.tally.failures += 1;
        }
        if let Some(at) = journey.arrives {
            self.happens(at, Happening::Reaches(Box::new(message.clone())));
        }
        if let Some((at, delivery)) = journey.lands {
            self.happens(at, Happening::Lands(delivery));
        }
        if let Some((at, event)) = journey.report {
            self.tally.sent_back += 1;
            self.happens(at, Happening::Comes(Box::new(bare(event))));
        }
    }

    /// Whether what comes in is lost on purpose.
    pub(super) fn loses(&mut self, event: &Event) -> bool {
        match (self.sabotage, event) {
            (Some(Sabotage::AnswersLost), Event::Answered(_)) => true,
            (Some(Sabotage::PacketsLost), Event::Packet(_)) => self.dice.chance(500),
            (_, _) => false,
        }
    }
}

fn heard(packet: Packet, spoken: Spoken) -> Coming {
    Coming { event: Event::Packet(packet), evidence: Evidence::Spoken(spoken), words: None }
}

/// An event that proves nothing.
pub(super) fn bare(event: Event) -> Coming {
    Coming { event, evidence: Evidence::Nothing, words: None }
}
