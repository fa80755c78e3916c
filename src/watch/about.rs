//! What a reply means and which alert it is about. It changes nothing.

use super::Watch;
use super::ready::Ready;
use crate::alarm::alert::Past;
use crate::herd::row_code;
use crate::plain::ids::{AlertNo, PersonName};
use crate::rules::verdict::Subject;
use crate::talk::known::Known;
use crate::talk::letter::Reply;
use crate::talk::reply::{self, Meaning};
use crate::talk::thread;

/// Which alert the words are about.
pub(super) enum About {
    Open(AlertNo),
    Over(Past),
    /// Nothing says which, and more or fewer than one could be meant.
    Unclear,
}

impl Watch {
    pub(super) fn understand(&self, text: &str, ready: &Ready) -> Meaning {
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
        };
        reply::understand(text, &known)
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
        let answered = reply.mail.as_deref().and_then(|mail| {
            let no = thread::which_message(&mail.in_reply_to, &mail.references, self.state.seed)?;
            watchman.sent.alert_of(no)
        });
        if let Some(no) = answered.or(meaning.alert_no.map(AlertNo)) {
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
            _ => About::Unclear,
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
}
