//! What a person's words come to: a promise, a pass, marks, or a polite question back.
//!
//! Only people of the farm are heard, machines never, and each mail once.

use std::rc::Rc;

use super::Watch;
use super::about::About;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::alarm::alert::Past;
use crate::alarm::watchman::Taken;
use crate::config::rules::{Condition, Trouble};
use crate::herd::dam::Marked;
use crate::herd::noted::Noted;
use crate::herd::sign::Mark;
use crate::plain::ids::{AlertNo, PersonName};
use crate::plain::moment::Span;
use crate::rules::priority::Priority;
use crate::rules::verdict::{Figures, Subject};
use crate::talk::human::{self, DeliveryReport, Hand};
use crate::talk::letter::{MailProof, Reply, Sender};
use crate::talk::mark_said::MarkSaid;
use crate::talk::reply::{Meaning, Saying};
use crate::talk::spoken;
use crate::talk::thread;

/// Open alerts named in an answer; the rest are counted.
const LISTED: usize = 8;

/// Who speaks, and about what.
struct Speaker<'a> {
    who: PersonName,
    about: About,
    meaning: &'a Meaning,
}

impl Watch {
    pub(super) fn answered(&mut self, reply: &Reply, touched: &mut Touched, out: &mut Out) {
        let Some(ready) = self.ready.clone() else {
            self.refuse("before settings", "an answer", "there are no settings yet", out);
            return;
        };
        if let Some(mail) = reply.mail.as_deref()
            && (self.read_before(reply, mail) || self.is_a_machine(reply, mail, &ready, out))
        {
            return;
        }
        let Some(who) = speaker(&ready, &reply.from) else {
            let from = match &reply.from {
                Sender::Mail(from) | Sender::Mobile(from) | Sender::Name(from) => from,
            };
            let what = format!("words from {}", from.chars().take(80).collect::<String>());
            self.refuse(&format!("stranger {from}"), &what, "nobody of this farm", out);
            self.say_back(reply, None, "Nobody of this farm has that name.", false, &ready, out);
            return;
        };
        let meaning = self.understand(&reply.text, &ready);
        let about = self.about(&who, reply, &meaning, &ready);
        let speaker = Speaker { who: who.clone(), about, meaning: &meaning };
        let (answer, understood) = self.act_on(&speaker, &ready, touched, out);
        self.say_back(reply, Some(&who), &answer, understood, &ready, out);
    }

    /// Whether this mail was read before, by its place or, in a mailbox numbered anew, by its id.
    fn read_before(&mut self, reply: &Reply, mail: &MailProof) -> bool {
        if let Some(place) = &mail.place {
            if let Some(read) = self.state.mailboxes.get(&reply.line)
                && read.mailbox == place.mailbox
                && read.validity == place.validity
                && place.uid <= read.uid
            {
                return true;
            }
            self.state.mailboxes.insert(reply.line.clone(), place.clone());
        }
        let Some(id) = &mail.message_id else {
            return false;
        };
        if self.state.letters.iter().any(|seen| seen == id) {
            return true;
        }
        self.state.letters.push(id.clone());
        false
    }

    fn is_a_machine(
        &mut self,
        reply: &Reply,
        mail: &MailProof,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> bool {
        let from = match &reply.from {
            Sender::Mail(from) | Sender::Mobile(from) | Sender::Name(from) => from.clone(),
        };
        match human::judge(mail) {
            Hand::Person => false,
            Hand::Machine { why } => {
                let what = format!("a mail from {}", from.chars().take(80).collect::<String>());
                self.refuse(&format!("machine {from}"), &what, why, out);
                true
            }
            Hand::Report(report) => {
                if report.failed() {
                    self.bounced(&report, ready, out);
                }
                true
            }
        }
    }

    /// The mail server says that one of our mails did not arrive: the ladder goes on at once.
    fn bounced(&mut self, report: &DeliveryReport, ready: &Rc<Ready>, out: &mut Out) {
        let about = report.about.as_slice();
        let Some(no) = thread::which_message(about, &[], self.state.seed) else {
            return;
        };
        let Some(alert) = self.state.watchman.sent.alert_of(no) else {
            return;
        };
        let Some(who) = ready.by_mail(&report.recipient).cloned() else {
            return;
        };
        out.note(format!("message {no} to {who} came back: {}", report.status));
        let moves = self.state.watchman.failed(&ready.config, alert, no, &who, self.state.now);
        self.follow(moves, ready, out);
    }

    fn act_on(
        &mut self,
        speaker: &Speaker<'_>,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) -> (String, bool) {
        let meaning = speaker.meaning;
        if meaning.said.is_empty() && meaning.left.is_empty() && names_an_alert(meaning) {
            // Whoever types the code and nothing else has read the mail and means to go.
            return self.going(speaker, None, ready, out);
        }
        if meaning.said.is_empty() {
            out.note(format!("{} wrote something we did not understand", speaker.who));
            return (self.not_understood(ready), false);
        }
        let mut answers = Vec::new();
        let mut understood = true;
        for saying in &meaning.said {
            let (answer, clear) = match saying {
                Saying::Going { minutes } => self.going(speaker, *minutes, ready, out),
                Saying::Pass => self.passes(speaker, ready, out),
                Saying::Mark(said) => self.marks(speaker, said, ready, touched, out),
                Saying::Fitting(fitting) => self.fits(&speaker.who, fitting, ready, touched, out),
            };
            understood &= clear;
            answers.push(answer);
        }
        (answers.join("\n"), understood)
    }

    fn going(
        &mut self,
        speaker: &Speaker<'_>,
        minutes: Option<u32>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let who = &speaker.who;
        let no = match &speaker.about {
            About::Open(no) => *no,
            About::Over(past) => return (over(past), true),
            About::Unclear => return (self.which_one(ready), false),
        };
        let usual = self.usual_promise(no, ready);
        let promise =
            minutes.map_or(usual, |minutes| Span::minutes(i64::from(minutes)).min(PROMISE_MAX));
        let (taken, moves) =
            self.state.watchman.going(&ready.config, no, who, self.state.now, promise);
        self.once_seen(no);
        let answer = match taken {
            Some(Taken::Yours { until }) => {
                let until = ready.config.farm.zone.clock(until);
                out.note(format!("{who} answers alert {no}: going, until {until}"));
                format!("You have alert {no} until {until}. Answer with what you see.")
            }
            Some(Taken::Also { holder }) => {
                format!("{holder} has alert {no}. You are noted as also coming.")
            }
            None => format!("Alert {no} is not open."),
        };
        self.follow(moves, ready, out);
        (answer, true)
    }

    /// A broker that forgot us, or strangers at ours, are something to know, not something that lasts: once somebody has
    /// answered, it is over. So are signs that had faded and only waited for an answer.
    fn once_seen(&mut self, no: AlertNo) {
        let Some(alert) = self.state.watchman.open.get(&no) else { return };
        if let Subject::Dam(animal) = &alert.subject
            && let Some(place) = self.state.dams.find(animal.as_str())
        {
            self.deadlines.set(&Key::Dam(place), Some(self.state.now));
        }
        let momentary = matches!(alert.figures, Figures::Trouble { momentary: true, .. });
        let rule = self.ready.as_ref().and_then(|ready| ready.rule(&alert.rule));
        let is_about_strangers = rule.is_some_and(|rule| {
            matches!(rule.condition, Condition::Trouble { with: Trouble::Strangers, .. })
        });
        if let (true, Subject::Line(line)) = (momentary, alert.subject.clone()) {
            if let Some(record) = self.state.lines.get_mut(&line) {
                if is_about_strangers {
                    record.strangers.clear();
                } else {
                    record.session_lost = None;
                }
            }
            self.deadlines.set(&Key::Line(line), Some(self.state.now));
        }
    }

    fn passes(
        &mut self,
        speaker: &Speaker<'_>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let no = match &speaker.about {
            About::Open(no) => *no,
            About::Over(past) => return (over(past), true),
            About::Unclear => return (self.which_one(ready), false),
        };
        out.note(format!("{} passes on alert {no}", speaker.who));
        let moves = self.state.watchman.pass(&ready.config, no, &speaker.who, self.state.now);
        self.follow(moves, ready, out);
        (format!("Noted: you pass on alert {no}. The next person is called."), true)
    }

    fn marks(
        &mut self,
        speaker: &Speaker<'_>,
        said: &MarkSaid,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) -> (String, bool) {
        let who = &speaker.who;
        let animal = self.animal_meant(who, &speaker.about, said.animal.as_deref(), ready);
        let Some(animal) = animal else {
            let answer = format!(
                "Which animal do you mean by \"{}\"? Begin with her number.",
                spoken::mark(&ready.config.terms, said.mark, said.calf)
            );
            return (format!("{answer}\n{}", self.open_list(ready)), false);
        };
        let now = self.state.now;
        let terms = &ready.config.terms;
        let Some(said) = self.numbered(said, &animal) else {
            let young = &terms.young;
            let answer =
                format!("Which one? No {young} of {animal} is noted yet; say {young} first.");
            return (answer, false);
        };
        let zone = &ready.config.farm.zone;
        let at = said.at.map_or(now, |(hour, minute)| zone.latest(now, hour, minute));
        let note = spoken::note(terms, said.mark, &said.note);
        let note = if note.is_empty() { String::new() } else { format!(" {note}") };
        let word = spoken::mark(terms, said.mark, said.calf);
        let clock = zone.clock(at);
        out.note(format!("{who} says dam {animal} {word}{note} at {clock}"));
        self.moment.by = Some(who.clone());
        let because = format!("{word} at {clock}, said {who}");
        // A person's word is asked about at once, whatever else is still coming in.
        if let Some(place) = self.state.dams.find(&animal)
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
        match self.mark(&animal, noted, &because, touched, out) {
            Marked::Not(why) => {
                let why = terms.in_words(why);
                out.note(format!("dam {animal} {word} was not taken: {why}"));
                (format!("Not taken: {animal} {word}, because {why}."), false)
            }
            Marked::Kept(_) => {
                self.looked(&animal, who, at);
                if ready.asks_for_cover()
                    && let Some(dam) = self.state.dams.find(&animal)
                {
                    touched.key(Key::Cover(dam));
                }
                if said.mark != Mark::FalseAlarm {
                    let until = now + ready.config.farm.promise;
                    self.state.watchman.note_attending(&animal, who, until);
                    self.moment.attending.push((animal.clone(), who.clone()));
                }
                (format!("Noted: {animal} {word}{note} {clock}."), true)
            }
        }
    }

    fn say_back(
        &mut self,
        reply: &Reply,
        who: Option<&PersonName>,
        text: &str,
        understood: bool,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        if let Some(asked) = reply.asked {
            out.said(asked, text.to_owned(), understood);
            return;
        }
        let Some(who) = who else { return };
        match &reply.mail {
            Some(mail) => self.answer(who, text, mail.message_id.clone(), ready, out),
            None if !understood => self.answer(who, text, None, ready, out),
            None => {}
        }
    }

    /// A sensor that is a little ill waits for the day: whoever has answered is not asked again at once.
    fn usual_promise(&self, no: AlertNo, ready: &Ready) -> Span {
        let alert = self.state.watchman.open.get(&no);
        let waits = alert.is_some_and(|alert| {
            alert.priority == Priority::Low && matches!(alert.figures, Figures::Ill { .. })
        });
        if waits { PROMISE_OF_A_SENSOR } else { ready.config.farm.promise }
    }

    pub(super) fn open_list(&self, ready: &Ready) -> String {
        let open = &self.state.watchman.open;
        if open.is_empty() {
            return "No alert is open.".to_owned();
        }
        let mut lines: Vec<String> = open
            .values()
            .take(LISTED)
            .map(|alert| {
                let head = crate::talk::wording::head(&ready.config, alert, self.state.now);
                let holder = alert.holder().map_or(String::new(), |who| format!(" ({who} has it)"));
                format!("{} {head}{holder}", alert.no)
            })
            .collect();
        if open.len() > LISTED {
            lines.push(format!("and {} more", open.len() - LISTED));
        }
        format!("Open:\n{}", lines.join("\n"))
    }
}

/// From an evening to the next morning's round (common practice, no source).
const PROMISE_OF_A_SENSOR: Span = Span::hours(12);

/// Nobody is away from the yard longer than this without being asked again.
const PROMISE_MAX: Span = Span::hours(2);

fn names_an_alert(meaning: &Meaning) -> bool {
    meaning.code.is_some() || (meaning.alert_no.is_some() && meaning.animal.is_none())
}

fn over(past: &Past) -> String {
    format!("Alert {} ({}) is over: {}.", past.no, past.code, past.because)
}

fn speaker(ready: &Ready, from: &Sender) -> Option<PersonName> {
    match from {
        Sender::Mail(address) => ready.by_mail(address),
        Sender::Mobile(number) => ready.by_mobile(number),
        Sender::Name(name) => ready.by_name(name),
    }
    .cloned()
}
