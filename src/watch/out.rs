//! The effects of one step, gathered in the order in which they follow.

use super::effect::{Answer, Effect, Note, Refusal, StageChange};
use crate::alarm::message::{Message, Notice};
use crate::alarm::sent::Flight;
use crate::plain::ids::MessageNo;

#[derive(Default)]
pub(super) struct Out {
    pub(super) effects: Vec<Effect>,
}

impl Out {
    pub(super) fn note(&mut self, text: String) {
        self.effects.push(Effect::Noted(Note { text }));
    }

    pub(super) fn changed(&mut self, change: StageChange) {
        self.effects.push(Effect::Changed(change));
    }

    pub(super) fn refused(&mut self, what: &str, why: &str, times: u64) {
        let refusal = Refusal { what: what.to_owned(), why: why.to_owned(), times };
        self.effects.push(Effect::Refused(refusal));
    }

    pub(super) fn send(&mut self, message: Message) {
        self.effects.push(Effect::Send(message));
    }

    pub(super) fn publish(&mut self, notice: Notice) {
        self.effects.push(Effect::Publish(notice));
    }

    pub(super) fn again(&mut self, flight: Flight) {
        self.effects.push(Effect::Again(flight));
    }

    pub(super) fn withdraw(&mut self, no: MessageNo) {
        self.effects.push(Effect::Withdraw(no));
    }

    pub(super) fn said(&mut self, asked: u64, text: String, understood: bool) {
        self.effects.push(Effect::Said(Answer { asked, text, understood }));
    }
}
