//! The picture behind a call by mail: which camera sees her, who gets one, and when it is too late.
//!
//! It has no picture and fetches none. What it sends is the wish for one, with a number of its own;
//! whoever carries mails makes it good, or says in the mail why that could not be done.

use std::rc::Rc;

use super::Watch;
use super::out::Out;
use super::ready::Ready;
use crate::alarm::message::{MessageKind, PICTURE_LATE};
use crate::alarm::moves::Telling;
use crate::alarm::sent::Flight;
use crate::config::lines::Way;
use crate::plain::english;
use crate::plain::ids::{Animal, DeviceId, LineName, MessageNo};
use crate::rules::verdict::Subject;
use crate::talk::picture;
use crate::talk::speech::Speech;
use crate::talk::wording::Words;

impl Watch {
    /// After a call by mail about a dam whom a camera sees now, a second mail with what it sees: one a
    /// person and rung.
    pub(super) fn picture_follows(
        &mut self,
        call: MessageNo,
        telling: &Telling,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        let Some(domain) = domain_of(&telling.line, ready) else { return };
        let Some(alert) = self.state.watchman.open.get(&telling.alert) else { return };
        let Subject::Dam(animal) = &alert.subject else { return };
        let Some(camera) = self.camera_on(animal, ready) else { return };
        let raised = alert.raised;
        let words = Words {
            subject: picture::subject(&ready.config, alert, &camera, &telling.to),
            mail: Speech::to(&ready.config, &telling.to).answers.picture_below.to_owned(),
            sms: String::new(),
        };
        if let Some(alert) = self.state.watchman.open.get_mut(&telling.alert)
            && !alert.rung.pictured.insert(telling.to.clone())
        {
            return;
        }
        let kind = MessageKind::Picture { camera, follows: call, raised };
        let answers = Some(format!("{}@{domain}", self.id(call)));
        let alert = Some(telling.alert);
        self.send(&telling.to, &telling.line, alert, kind, &words, answers, ready, out);
    }

    /// The first camera of the settings that sees this dam now, in whole or in a region.
    fn camera_on(&self, animal: &Animal, ready: &Ready) -> Option<DeviceId> {
        if ready.config.cameras.is_empty() {
            return None;
        }
        let (dam, now) = (self.state.dams.find(animal.as_str())?, self.state.now);
        let on_her = |place: &u32| {
            self.state.ledger.wearing(*place, now).is_some_and(|worn| worn.dam == dam)
        };
        let worn: Vec<&DeviceId> = self
            .state
            .ledger
            .devices()
            .filter(on_her)
            .map(|place| self.state.devices.at(place).0)
            .collect();
        let mut cameras = ready.config.cameras.iter();
        let sees =
            cameras.find(|camera| worn.iter().any(|device| camera.is_meant_by(device.as_str())))?;
        Some(sees.id.clone())
    }

    /// A picture still on its way when we stopped may be too late by now; then it is not sent again.
    pub(super) fn drops_late_picture(&mut self, flight: &Flight, out: &mut Out) -> bool {
        let Flight::Message(message) = flight else { return false };
        let late = self.state.now.since(message.made);
        if !message.kind.is_picture() || late <= PICTURE_LATE {
            return false;
        }
        self.state.watchman.sent.lands(message.no);
        out.note(format!(
            "message {} to {} is dropped: its picture would come {} after the call",
            message.no,
            message.to,
            english::span(late)
        ));
        true
    }
}

/// The domain that ends the Message-IDs of a line; `None` if it carries no mail.
fn domain_of<'r>(line: &LineName, ready: &'r Ready) -> Option<&'r str> {
    let line = ready.config.lines.iter().find(|one| one.name == *line)?;
    match &line.way {
        Way::Smtp(smtp) => smtp.from.rsplit_once('@').map(|(_, domain)| domain),
        Way::Imap(_) | Way::SmsHttp(_) | Way::Webhook(_) | Way::Siren(_) | Way::NotYet { .. } => {
            None
        }
    }
}
