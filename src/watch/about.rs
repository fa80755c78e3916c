//! What a reply means, which alert and which calf it is about, and what is asked back where that is not clear. It
//! changes nothing.

use std::fmt::Display;

use super::Watch;
use super::ready::Ready;
use crate::alarm::alert::Past;
use crate::alarm::ladder;
use crate::herd::row_code;
use crate::herd::stage::Stage;
use crate::plain::ids::{AlertNo, Animal, PersonName};
use crate::rules::verdict::Subject;
use crate::talk::head;
use crate::talk::known::{Known, newborn_of};
use crate::talk::letter::Reply;
use crate::talk::mark_said::MarkSaid;
use crate::talk::phrases::say;
use crate::talk::reader::Reader;
use crate::talk::reply::{self, Meaning};
use crate::talk::thread;
use crate::talk::wording;

/// Which alert the words are about.
pub(super) enum About {
    Open(AlertNo),
    /// All that one text was about.
    Several(Vec<AlertNo>),
    Over(Past),
    /// Nothing says which, and more or fewer than one could be meant.
    Unclear,
}

impl Watch {
    pub(super) fn understand(&self, who: &PersonName, text: &str, ready: &Ready) -> Meaning {
        let watchman = &self.state.watchman;
        // The code of an alert that is over is known too: its writer is told that it is over.
        let code = |code: &str| {
            watchman.open.values().any(|alert| alert.code == code)
                || watchman.past.iter().any(|past| past.code == code)
        };
        let animal = |name: &str| ready.animal(name).is_some();
        let person = |name: &str| ready.by_name(name).is_some();
        let device = |name: &str| self.device_named(name).is_some();
        let dams = &self.state.dams;
        let row = |code: &str| {
            let place = row_code::place_of(code).filter(|place| (*place as usize) < dams.len())?;
            let animal = dams.at(place).0;
            ready.animal(animal.as_str()).map(|animal| animal.as_str().to_owned())
        };
        let known = Known {
            code_open: &code,
            animal: &animal,
            person: &person,
            device: &device,
            row: &row,
            newborn: newborn_of(&ready.config.species.name),
        };
        let speaks = ladder::find(&ready.config, who).map(|person| person.speaks);
        reply::understand(text, &known, speaks.unwrap_or_default())
    }

    /// The alert a reply is about: its code, the animal beside the answer, its number, the mail it
    /// answers, or the only one this person knows of. A call that has not left yet is no knowledge: a
    /// word without a code that comes then is meant for something else.
    pub(super) fn about(
        &self,
        who: &PersonName,
        reply: &Reply,
        meaning: &Meaning,
        ready: &Ready,
    ) -> About {
        let watchman = &self.state.watchman;
        if let Some(code) = &meaning.code {
            return self.by_code(code);
        }
        let subject = meaning.animal.as_deref().and_then(|name| ready.animal(name));
        let subject = subject.map(|animal| Subject::Dam(animal.clone()));
        let about_her = subject.as_ref().map(|subject| watchman.about(subject));
        let numbered = meaning.alert_no.map(AlertNo).filter(|no| watchman.open.contains_key(no));
        match (about_her.as_deref(), numbered) {
            (Some([]), Some(no)) | (None, Some(no)) => return About::Open(no),
            (Some([only]), None) => return About::Open(*only),
            (Some([only]), Some(no)) if *only == no => return About::Open(no),
            (Some(_), _) => return About::Unclear,
            (None, None) => {}
        }
        let mut answered = reply.mail.as_deref().map_or(Vec::new(), |mail| {
            let message =
                thread::which_message(&mail.in_reply_to, &mail.references, self.state.seed);
            message.map(|no| watchman.sent.alerts_of(no)).unwrap_or_default()
        });
        if answered.len() > 1 {
            let open = answered.iter().copied().filter(|no| watchman.open.contains_key(no));
            let open: Vec<AlertNo> = open.collect();
            match open[..] {
                [] => answered.truncate(1),
                [_] => answered = open,
                [..] => return About::Several(open),
            }
        }
        if let Some(no) = answered.pop().or(meaning.alert_no.map(AlertNo)) {
            if watchman.open.contains_key(&no) {
                return About::Open(no);
            }
            if let Some(past) = watchman.past.iter().rev().find(|past| past.no == no) {
                return About::Over(past.clone());
            }
        }
        let told: Vec<AlertNo> = watchman
            .open
            .values()
            .filter(|alert| alert.reached.contains(who))
            .map(|alert| alert.no)
            .collect();
        match told[..] {
            [only] => About::Open(only),
            [] => About::Unclear,
            // All that they know of came in one text, and it was the last.
            [..] => {
                let last = watchman.sent.last_to(who);
                let one_text = told.iter().all(|no| last.contains(no));
                if one_text { About::Several(told) } else { About::Unclear }
            }
        }
    }

    fn by_code(&self, code: &str) -> About {
        let watchman = &self.state.watchman;
        let open = watchman.open.values().find(|alert| alert.code == code);
        let past = watchman.past.iter().rev().find(|past| past.code == code);
        match (open, past) {
            (Some(alert), _) => About::Open(alert.no),
            (None, Some(past)) => About::Over(past.clone()),
            (None, None) => About::Unclear,
        }
    }

    /// "Another" is the one after those that are noted; where none is, it may be said of anything.
    pub(super) fn numbered(&self, said: &MarkSaid, animal: &Animal) -> Option<MarkSaid> {
        if !said.is_another() {
            return Some(said.clone());
        }
        let dam = self.state.dams.get(animal.as_str())?;
        let born = dam.calves().len();
        let calves =
            u8::try_from(born).ok().filter(|born| *born > 0 && dam.stage < Stage::Closed)?;
        let number = calves.saturating_add(1);
        Some(MarkSaid { note: String::new(), calf: Some(number), ..said.clone() })
    }

    pub(super) fn not_understood(&self, who: &PersonName, ready: &Ready) -> String {
        let reader = Reader::of(&ready.config, who, None);
        let what = head::in_words(&ready.config, &reader, reader.phrases().not_understood);
        format!("{what}\n{}", self.open_list(who, ready))
    }

    pub(super) fn which_one(&self, who: &PersonName, ready: &Ready) -> String {
        // "Yes" is what people answer to a question about a swap: it is not taken for one, but they are asked again.
        if self.state.watchman.open.is_empty()
            && let Some(question) = self.asked_to_swap(who, ready)
        {
            return question;
        }
        let said = Reader::of(&ready.config, who, None).phrases();
        format!("{}\n{}", said.which_one, self.open_list(who, ready))
    }
}

/// What is said to somebody who answers what is over.
pub(super) fn over(past: &Past, who: &PersonName, ready: &Ready) -> String {
    let reader = Reader::of(&ready.config, who, None);
    let because = wording::because(&ready.config, past, &reader);
    let filled: [(&str, &dyn Display); 3] =
        [("no", &past.no), ("code", &past.code), ("because", &because)];
    say(reader.phrases().is_over, &filled)
}
