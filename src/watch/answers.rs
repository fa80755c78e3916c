//! What a person's words come to: a promise, a pass, marks, or a polite question back.
//!
//! Only people of the farm are heard, machines never, and each mail once.

use std::rc::Rc;

use super::Watch;
use super::about::{About, over};
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::alarm::alert::Alert;
use crate::alarm::watchman::Taken;
use crate::config::rights::Deed;
use crate::config::rules::{Condition, Trouble};
use crate::plain::ids::{AlertNo, PersonName};
use crate::plain::moment::Span;
use crate::rules::priority::Priority;
use crate::rules::verdict::{Figures, Subject};
use crate::talk::letter::{Reply, Sender};
use crate::talk::phrases::{Phrases, say};
use crate::talk::reader::Reader;
use crate::talk::reply::{Meaning, Saying};
use crate::talk::{drill, head, noted_answer, sender, welcome};

/// Open alerts named in an answer; the rest are counted.
const LISTED: usize = 8;
/// Of more marks than a person sends from a pen only those that were not taken are told back one by one.
const LISTED_MARKS: usize = 12;

/// Text messages that an answer may fill which must be read to its end.
const PARTS_OF_WHAT_MATTERS: usize = 2;

/// Who speaks, and about what.
pub(super) struct Speaker<'a> {
    pub(super) who: PersonName,
    pub(super) about: About,
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
        if reply.mail.is_none() {
            // A mail may have lain somewhere for hours: it is no sign of life.
            self.is_heard_from(&who, touched);
        }
        self.state.heard_from.insert(who.clone(), self.state.now);
        let proves = self.proves(&who, reply, &ready, touched, out);
        if welcome::is_ready(&reply.text) {
            let thanks = if proves { welcome::thanks } else { welcome::not_this_way };
            let thanks = thanks(who.as_str(), said_to(&who, &ready));
            self.say_back(reply, Some(&who), &thanks, proves, &ready, out);
            return;
        }
        if drill::is_asked(&reply.text) {
            let (answer, begins) = self.begins_drill(Some(&who), &ready, touched, out);
            self.say_back(reply, Some(&who), &answer, begins, &ready, out);
            return;
        }
        if matches!(reply.from, Sender::Mobile(_)) {
            self.state.watchman.texted.insert(who.clone(), self.state.now);
        }
        let meaning = self.understand(&who, &reply.text, &ready);
        let about = self.about(&who, reply, &meaning, &ready);
        let speaker = Speaker { who: who.clone(), about, meaning: &meaning };
        let (mut answer, understood) = self.act_on(&speaker, &ready, touched, out);
        if let Some(ended) = self.answers_drill(&who, &reply.from, &ready) {
            answer = ended;
            // A mail is answered anyway.
            self.moment.by = reply.mail.is_some().then(|| who.clone());
        }
        self.say_back(reply, Some(&who), &answer, understood, &ready, out);
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
            if let Some((why, _)) = self.forbids(speaker, Deed::Answer, ready) {
                return (why, false);
            }
            // Whoever types the code and nothing else has read the mail and means to go.
            return self.going(speaker, None, ready, out);
        }
        if meaning.said.is_empty() {
            out.note(format!("{} wrote something we did not understand", speaker.who));
            return (self.not_understood(&speaker.who, ready), false);
        }
        let mut answers = Vec::new();
        let mut understood = true;
        let whole_sheet = meaning.said.len() > LISTED_MARKS;
        let mut counted = 0;
        for saying in &meaning.said {
            let deed = self.deed_of(speaker, saying);
            let forbidden = deed.and_then(|deed| self.forbids(speaker, deed, ready));
            if let Some((why, english)) = forbidden {
                out.note(format!("{} said what is not theirs to say: {english}", speaker.who));
                understood = false;
                if !answers.contains(&why) {
                    answers.push(why);
                }
                continue;
            }
            let (answer, clear) = match saying {
                Saying::Going { minutes } => self.going(speaker, *minutes, ready, out),
                Saying::Pass => self.passes(speaker, ready, out),
                // Of a drill there is nothing to see: whoever says what they see would have gone.
                Saying::Mark(said) if said.animal.is_none() && self.is_about_drill(speaker) => {
                    if !answers.is_empty() {
                        continue;
                    }
                    self.going(speaker, None, ready, out)
                }
                Saying::Mark(said) => self.marks(speaker, said, ready, touched, out),
                Saying::Fitting(fitting) => self.fits(&speaker.who, fitting, ready, touched, out),
                Saying::Is(whereabouts) => {
                    self.whereabouts(speaker, whereabouts, ready, touched, out)
                }
                Saying::PutOff { minutes } => self.puts_off(speaker, *minutes, ready, out),
                Saying::GiveTo(to) => self.gives_to(speaker, to, ready, out),
                Saying::TakeOver => self.takes_over(speaker, ready, out),
                Saying::Rota(said) => self.settles_rota(&speaker.who, said, touched, out),
                Saying::VetCard(animal) => self.vet_card(speaker, animal.as_deref(), ready),
                Saying::Ask(question) => (question.clone(), false),
            };
            understood &= clear;
            match saying {
                Saying::Mark(_) if whole_sheet && clear => counted += 1,
                Saying::Mark(_)
                | Saying::Going { .. }
                | Saying::Pass
                | Saying::Fitting(_)
                | Saying::Is(_)
                | Saying::PutOff { .. }
                | Saying::GiveTo(_)
                | Saying::TakeOver
                | Saying::Rota(_)
                | Saying::VetCard(_)
                | Saying::Ask(_) => answers.push(answer),
            }
        }
        if counted > 0 {
            let said = said_to(&speaker.who, ready);
            answers.insert(0, say(said.noted_marks, &[("n", &counted)]));
        }
        (answers.join("\n"), understood)
    }

    /// The open alerts that are meant, or what is answered where there are none.
    pub(super) fn meant(
        &mut self,
        speaker: &Speaker<'_>,
        ready: &Ready,
    ) -> Result<Vec<AlertNo>, (String, bool)> {
        match &speaker.about {
            About::Open(no) => Ok(vec![*no]),
            About::Several(nos) => Ok(nos.clone()),
            About::Over(past) => {
                self.state.watchman.is_seen(past.no);
                Err((over(past, &speaker.who, ready), true))
            }
            About::Unclear => Err((self.which_one(&speaker.who, ready), false)),
        }
    }

    fn going(
        &mut self,
        speaker: &Speaker<'_>,
        minutes: Option<u32>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let nos = match self.meant(speaker, ready) {
            Ok(nos) => nos,
            Err(answer) => return answer,
        };
        let answers = nos.iter().map(|no| self.going_to(&speaker.who, *no, minutes, ready, out).0);
        let answers: Vec<String> = answers.collect();
        (answers.join("\n"), true)
    }

    pub(super) fn going_to(
        &mut self,
        who: &PersonName,
        no: AlertNo,
        minutes: Option<u32>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let usual = self.usual_promise(no, ready);
        let alert = self.state.watchman.open.get(&no);
        let missing = alert.is_some_and(|alert| Self::missing(&alert.subject).is_some());
        let most = if missing { PROMISE_OF_A_SEARCH } else { PROMISE_MAX };
        let promise = minutes.map_or(usual, |minutes| Span::minutes(i64::from(minutes)).min(most));
        let (taken, moves) =
            self.state.watchman.going(&ready.config, no, who, self.state.now, promise);
        self.once_seen(no);
        let said = said_to(who, ready);
        let answer = match taken {
            Some(Taken::Yours { until }) => {
                let until = ready.config.farm.zone.clock(until);
                out.note(format!("{who} answers alert {no}: going, until {until}"));
                say(said.yours, &[("no", &no), ("until", &until)])
            }
            Some(Taken::Also { holder }) => say(said.also_coming, &[("no", &no), ("who", &holder)]),
            None => say(said.not_open, &[("no", &no)]),
        };
        self.follow(moves, ready, out);
        (answer, true)
    }

    /// A broker that forgot us, or strangers at ours, are news and no state: once somebody has answered, it is
    /// over. So are signs that had faded and only waited for an answer.
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
        let nos = match self.meant(speaker, ready) {
            Ok(nos) => nos,
            Err(answer) => return answer,
        };
        let said = said_to(&speaker.who, ready);
        let mut answers = Vec::new();
        for no in nos {
            out.note(format!("{} passes on alert {no}", speaker.who));
            self.will_not(no, &speaker.who, ready, out);
            let moves = self.state.watchman.pass(&ready.config, no, &speaker.who, self.state.now);
            self.follow(moves, ready, out);
            let open = self.state.watchman.open.get(&no);
            if let Some(holder) = open.and_then(Alert::holder) {
                answers.push(say(said.passed_has, &[("no", &no), ("who", holder)]));
                continue;
            }
            let next = open.filter(|alert| alert.is_for_a_list()).map(|alert| alert.due().0);
            answers.push(match next {
                Some(at) => {
                    let at = ready.config.farm.zone.clock(at);
                    say(said.passed_later, &[("no", &no), ("at", &at)])
                }
                None => say(said.passed, &[("no", &no)]),
            });
        }
        (answers.join("\n"), true)
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
            None if noted_answer::must_be_read(text) => {
                self.moment.parts = PARTS_OF_WHAT_MATTERS;
                self.answer(who, text, None, ready, out);
                self.moment.parts = 0;
            }
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
        let missing = alert.is_some_and(|alert| Self::missing(&alert.subject).is_some());
        if missing {
            return ready.config.farm.promise.min(PROMISE_OF_A_SEARCH);
        }
        if waits { PROMISE_OF_A_SENSOR } else { ready.config.farm.promise }
    }

    pub(super) fn open_list(&self, who: &PersonName, ready: &Ready) -> String {
        let reader = Reader::of(&ready.config, who, None);
        let said = reader.phrases();
        let open = &self.state.watchman.open;
        if open.is_empty() {
            return said.none_open.to_owned();
        }
        let mut lines: Vec<String> = open
            .values()
            .take(LISTED)
            .map(|alert| {
                let head = head::head_for(&ready.config, alert, self.state.now, &reader);
                let holder = alert.holder().map(|who| say(said.has_it, &[("who", who)]));
                format!("{} {head}{}", alert.no, holder.unwrap_or_default())
            })
            .collect();
        if open.len() > LISTED {
            lines.push(say(said.and_more, &[("n", &(open.len() - LISTED))]));
        }
        format!("{}\n{}", said.open, lines.join("\n"))
    }
}

/// From an evening to the next morning's round (common practice, no source).
const PROMISE_OF_A_SENSOR: Span = Span::hours(12);

/// Whoever looks for somebody in a pen is asked again soon (common practice, no source).
const PROMISE_OF_A_SEARCH: Span = Span::minutes(10);

/// Nobody is away from the yard longer than this without being asked again.
const PROMISE_MAX: Span = Span::hours(2);

/// What is said to a person, in their language.
fn said_to(who: &PersonName, ready: &Ready) -> &'static Phrases {
    Reader::of(&ready.config, who, None).phrases()
}

fn names_an_alert(meaning: &Meaning) -> bool {
    meaning.code.is_some() || (meaning.alert_no.is_some() && meaning.animal.is_none())
}

fn speaker(ready: &Ready, from: &Sender) -> Option<PersonName> {
    sender::of(&ready.config, from).cloned()
}
