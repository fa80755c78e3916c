//! Tells a story: a text of what happens, and the whole diary that must come of it.
//!
//! ```text
//! # what it is about
//! 01:10  dam 114 tail raised
//! 03:17  Tom answers 1
//! until 18:00
//! ---
//! 01:10  dam 114 enters first stage (…)
//! ```
//!
//! Times are the farm's; a time earlier than the one before it is on the next day. In the body of a
//! packet `<now>` is the time in seconds, `<now-90>` and `<now+3600>` another. `5 times every 10m packet
//! …` says the same again and again. `+ ` adds a line to the farm's settings, `+ herd: ` one to a herd
//! file of the story's own.

use lowbell::alarm::message::{Delivery, Message, Outcome};
use lowbell::alarm::sent::Flight;
use lowbell::config::{NamedText, SettingsText};
use lowbell::plain::ids::LineName;
use lowbell::plain::moment::{Moment, Span};
use lowbell::plain::zone::Zone;
use lowbell::sensor::packet::{Packet, Payload};
use lowbell::talk::letter::{MailPlace, MailProof, Reply, Sender};
use lowbell::watch::Watch;
use lowbell::watch::diary::Diary;
use lowbell::watch::effect::Effect;
use lowbell::watch::event::{Event, LineNews, LineState, calendar_line};

/// The evening on which every story begins, at noon.
const NOON: &str = "2026-11-24T12:00:00Z";
const SEED: u64 = 7;

/// A watch being told a story, with everything that went in kept for telling it again.
pub(crate) struct Teller {
    pub(crate) watch: Watch,
    diary: Diary,
    zone: Zone,
    pub(crate) now: Moment,
    pub(crate) lines: Vec<String>,
    pub(crate) events: Vec<(Moment, Event)>,
    pub(crate) sent: Vec<Message>,
    failing: Vec<String>,
    /// Mails with pictures are neither taken nor refused.
    hanging: bool,
    uid: u32,
    down: Option<Moment>,
}

/// The story's two halves.
pub(crate) fn halves(text: &str) -> (&str, &str) {
    text.split_once("\n---\n").expect("a story has a line of three dashes before its diary")
}

/// `extra` are the settings of the story's own; of its lines those that begin with `farm ` stand in `[farm]`,
/// and those that begin with `herd ` are rows in place of the rows of the same animals.
pub(crate) fn settings(extra: &str) -> SettingsText {
    let mut farm = include_str!("../stories/farm.toml").to_owned();
    let mut herd = include_str!("../stories/herd.csv").to_owned();
    // A line that begins with "herd: " is a line of the story's own herd file, which takes its place.
    let own: Vec<&str> = extra.lines().filter_map(|line| line.strip_prefix("herd: ")).collect();
    if !own.is_empty() {
        herd = own.join("\n") + "\n";
    }
    for line in extra.lines().filter(|line| !line.starts_with("herd: ")) {
        if let Some(key) = line.strip_prefix("farm ") {
            farm = farm.replacen("[farm]\n", &format!("[farm]\n{key}\n"), 1);
        } else if let Some(key) = line.strip_prefix("calls ") {
            let (name, _) = key.split_once(' ').expect("a key of [calls]");
            let old = farm.lines().find(|line| line.starts_with(name)).map(ToOwned::to_owned);
            farm = old.map_or(farm.clone(), |old| farm.replacen(&format!("{old}\n"), "", 1));
            farm = farm.replacen("[calls]\n", &format!("[calls]\n{key}\n"), 1);
        } else if let Some(row) = line.strip_prefix("herd ") {
            let animal = &row[..=row.find(',').expect("a row has more than its animal")];
            let others = herd.lines().filter(|old| !old.starts_with(animal));
            herd = others.chain([row]).map(|line| format!("{line}\n")).collect();
        } else {
            farm.push_str(&format!("\n{line}"));
        }
    }
    farm.push('\n');
    let file = |name: &str, text: String| NamedText { name: name.into(), text };
    SettingsText { files: vec![file("farm.toml", farm), file("herd.csv", herd)] }
}

impl Teller {
    pub(crate) fn new(extra: &str) -> Self {
        Self::of(settings(extra))
    }

    /// A story told of other settings.
    pub(crate) fn of(settings: SettingsText) -> Self {
        let mut teller = Self {
            watch: Watch::default(),
            diary: Diary::default(),
            zone: Zone::named("Europe/Dublin").unwrap(),
            now: Moment::from_rfc3339(NOON).unwrap(),
            lines: Vec::new(),
            events: Vec::new(),
            sent: Vec::new(),
            failing: Vec::new(),
            hanging: false,
            uid: 0,
            down: None,
        };
        teller.happens(Event::Started { seed: SEED, last: None });
        teller.happens(Event::Settings(settings));
        assert!(
            teller.watch.ready().is_some(),
            "the story's settings are refused: {:?}",
            teller.lines
        );
        teller.lines.clear();
        teller
    }

    /// Tells the first half of a story and gives back the diary.
    pub(crate) fn tell(mut self, story: &str) -> Self {
        for line in story.lines() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') || line.starts_with('+') {
                continue;
            }
            if let Some(time) = line.strip_prefix("until ") {
                let until = match time.strip_prefix('+') {
                    Some(span) => self.now + Span::parse(span).unwrap(),
                    None => self.at(time),
                };
                self.passes_until(until);
                continue;
            }
            let (time, what) = line.split_once(char::is_whitespace).unwrap();
            let at = self.at(time);
            self.passes_until(at);
            self.line(what.trim());
        }
        self
    }

    /// Somebody's words. A line break in what is said is written \\n.
    fn words(&mut self, name: &str, what: &str) {
        let (way, text) = what.split_once(' ').unwrap().1.split_once(' ').unwrap();
        let text = text.replace("\\n", "\n");
        match way {
            "answers" => self.says(name, &format!("{text} going")),
            "says" => self.says(name, &text),
            "texts" => {
                let people = &self.watch.ready().unwrap().config.people;
                let person = people.iter().find(|person| person.name.as_str() == name).unwrap();
                let number = person.mobile.clone().expect("a mobile to text from");
                self.replies(Sender::Mobile(number), &text, None);
            }
            _ => self.mails(name, &text),
        }
    }

    fn line(&mut self, what: &str) {
        let words: Vec<&str> = what.split_whitespace().collect();
        match words[..] {
            ["dam", animal, "contractions", n] => {
                let t = self.now.seconds();
                let body = format!("{{\"contractions\":{n},\"t\":{t}}}");
                self.packet(&format!("yard/collar/k-{animal}"), &body);
            }
            ["dam", animal, ..] => {
                let sign = what.splitn(3, ' ').nth(2).unwrap();
                self.packet(&format!("yard/camera/c-{animal}"), &format!("{{\"{sign}\":true}}"));
            }
            ["packet", topic, ..] => {
                let body = with_times(what.splitn(3, ' ').nth(2).unwrap_or_default(), self.now);
                self.packet(topic, &body);
            }
            [times, "times", "every", span, ..] => {
                let rest = what.splitn(5, ' ').nth(4).unwrap();
                let span = Span::parse(span).unwrap();
                for n in 0..times.parse::<u32>().unwrap() {
                    if n > 0 {
                        self.passes_until(self.now + span);
                    }
                    self.line(rest);
                }
            }
            ["the", "settings", "are", "read", "again"] => {
                let settings = self.watch.state().settings.clone();
                self.happens(Event::Settings(settings));
            }
            ["kept", topic, ..] => {
                let body = what.splitn(3, ' ').nth(2).unwrap_or_default();
                self.hears(topic, body, true);
            }
            [name, "answers" | "says" | "texts" | "mails", ..] => self.words(name, what),
            ["mail", "to", name, "fails"] => self.failing.push(name.into()),
            ["mail", "to", name, "works"] => self.failing.retain(|one| one != name),
            ["pictures", "hang"] => self.hanging = true,
            ["broker", ..] => self.line_news("broker", what.split_once(' ').unwrap().1),
            ["calendar", "of", rota, ..] => {
                let what = what.splitn(4, ' ').nth(3).unwrap();
                self.line_news(calendar_line(rota).as_str(), what);
            }
            ["the", "herd", "loses", animal] => {
                let mut settings = self.watch.state().settings.clone();
                for file in settings.files.iter_mut().filter(|file| file.name == "herd.csv") {
                    let stays = |line: &&str| !line.starts_with(&format!("{animal},"));
                    file.text =
                        file.text.lines().filter(stays).map(|line| format!("{line}\n")).collect();
                }
                // What she wore is hers no longer.
                for file in settings.files.iter_mut().filter(|file| file.name == "farm.toml") {
                    for worn in ["c", "k"] {
                        let row =
                            format!("[[device]]\nid = \"{worn}-{animal}\"\non = \"{animal}\"\n");
                        file.text = file.text.replace(&row, "");
                    }
                }
                self.happens(Event::Settings(settings));
            }
            ["we", "go", "down"] => self.down = Some(self.now),
            ["we", "begin", "again"] => {
                let last = self.down.take();
                self.happens(Event::Started { seed: SEED, last });
            }
            _ => panic!("the story says something nobody understands: {what}"),
        }
    }

    fn line_news(&mut self, line: &str, what: &str) {
        let news = match what {
            "up" => LineNews::Up,
            "lost our session" => LineNews::SessionLost,
            down => LineNews::Down { why: down.strip_prefix("down: ").unwrap().into() },
        };
        self.happens(Event::Line(LineState { line: LineName::new(line), news }));
    }

    fn packet(&mut self, topic: &str, body: &str) {
        self.hears(topic, body, false);
    }

    fn hears(&mut self, topic: &str, body: &str, retained: bool) {
        let payload = Payload(body.as_bytes().to_vec());
        self.happens(Event::Packet(Packet { topic: topic.into(), payload, retained }));
    }

    fn says(&mut self, name: &str, text: &str) {
        let from = Sender::Name(name.into());
        self.replies(from, text, None);
    }

    /// A mail in answer to the last call this person got, with that call quoted below.
    fn mails(&mut self, name: &str, text: &str) {
        let call = self.sent.iter().rev().find(|message| message.to.as_str() == name).cloned();
        self.uid += 1;
        let quoted = call.as_ref().map_or(String::new(), |call| {
            call.text.lines().map(|line| format!("> {line}\n")).collect()
        });
        let proof = MailProof {
            message_id: Some(format!("{}.{}@elsewhere.example", self.uid, name)),
            in_reply_to: call
                .iter()
                .map(|call| format!("{}@hollowbank.example", call.id))
                .collect(),
            place: Some(MailPlace { mailbox: "INBOX".into(), validity: 1, uid: self.uid }),
            content_type: "text/plain".into(),
            ..MailProof::default()
        };
        let from = Sender::Mail(format!("{}@hollowbank.example", name.to_lowercase()));
        self.replies(from, &format!("{text}\n\n{quoted}"), Some(proof));
    }

    fn replies(&mut self, from: Sender, text: &str, mail: Option<MailProof>) {
        let line = LineName::new("answers");
        let mail = mail.map(Box::new);
        self.happens(Event::Answered(Reply { line, from, text: text.into(), mail, asked: None }));
    }

    /// One event now, and the deliveries that follow from it.
    fn happens(&mut self, event: Event) {
        let step = self.watch.step(self.now, &event);
        self.events.push((self.now, event));
        let lines = self.diary.write(&self.watch, &step.effects);
        for line in lines {
            self.lines.push(format!("{}  {}", self.zone.clock(line.at), line.text));
        }
        for effect in step.effects {
            match effect {
                Effect::Send(message) | Effect::Again(Flight::Message(message)) => {
                    self.deliver(message);
                }
                Effect::Changed(_)
                | Effect::Publish(_)
                | Effect::Again(Flight::Notice(_))
                | Effect::Withdraw(_)
                | Effect::Refused(_)
                | Effect::Noted(_)
                | Effect::Said(_) => {}
            }
        }
    }

    fn deliver(&mut self, message: Message) {
        let fails = self.failing.iter().any(|name| name == message.to.as_str());
        let outcome = if fails {
            Outcome::Failed { why: "550 no such mailbox".into() }
        } else {
            Outcome::Taken
        };
        let no = message.no;
        let hangs = self.hanging && message.kind.is_picture();
        self.sent.push(message);
        if hangs {
            return;
        }
        self.happens(Event::Delivered(Delivery { no, outcome }));
    }

    fn passes_until(&mut self, until: Moment) {
        for _ in 0..10_000 {
            let next = self.watch.next_deadline().filter(|next| next.at <= until);
            match next {
                Some(next) if self.down.is_none() => {
                    self.now = self.now.max(next.at);
                    self.happens(Event::Woke);
                }
                Some(_) | None => {
                    self.now = until;
                    return;
                }
            }
        }
        panic!("time does not pass: {:?}", self.lines.last());
    }

    fn at(&self, time: &str) -> Moment {
        let (hour, minute) = time.split_once(':').unwrap();
        let today = self.zone.wall(self.now).date();
        let wall = today.at(hour.parse().unwrap(), minute.parse().unwrap(), 0, 0);
        let at = self.zone.instant(wall);
        if at >= self.now { at } else { at + Span::days(1) }
    }
}

/// `<now>`, `<now-90>`, `<now+3600>` as seconds since 1970.
fn with_times(body: &str, now: Moment) -> String {
    let mut parts = body.split("<now");
    let mut text = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (offset, rest) = part.split_once('>').expect("a time in a story ends with >");
        let offset: i64 = if offset.is_empty() { 0 } else { offset.parse().unwrap() };
        text.push_str(&format!("{}{rest}", now.seconds() + offset));
    }
    text
}

/// Lines of a story that begin with `+ ` are settings of its own.
pub(crate) fn extra(story: &str) -> String {
    story
        .lines()
        .filter_map(|line| line.strip_prefix("+ "))
        .map(|line| format!("{line}\n"))
        .collect()
}
