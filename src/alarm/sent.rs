//! The ledger of messages: which numbers are out, and what each was about.
//!
//! A number is given once and never again, so a restart can send what was in flight under the same
//! number, and a reply can be matched to what it answers.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::message::{Message, MessageKind, Notice};
use crate::plain::bounded::Ring;
use crate::plain::ids::{AlertNo, MessageNo, PersonName};

/// Replies to older messages than these must name a code.
const REMEMBERED: usize = 2_000;

/// More than this many undelivered messages means that every line is dead; the oldest are dropped,
/// the ladder says it all again anyway.
const IN_FLIGHT_CAP: usize = 1_000;

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sent {
    last: MessageNo,
    in_flight: BTreeMap<MessageNo, Flight>,
    remembered: Ring<Remembered, REMEMBERED>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Flight {
    Message(Message),
    Notice(Notice),
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Remembered {
    no: MessageNo,
    alert: AlertNo,
    to: PersonName,
}

impl Sent {
    pub fn next_number(&mut self) -> MessageNo {
        self.last = self.last.next();
        self.last
    }

    pub fn leaves(&mut self, flight: Flight) {
        let no = match &flight {
            Flight::Message(message) => {
                for alert in message.alerts() {
                    let to = message.to.clone();
                    self.remembered.push(Remembered { no: message.no, alert, to });
                }
                message.no
            }
            Flight::Notice(notice) => notice.no,
        };
        self.in_flight.insert(no, flight);
        while self.in_flight.len() > IN_FLIGHT_CAP {
            self.in_flight.pop_first();
        }
    }

    /// Takes a message out of flight; `None` if it was not (a second report of the same delivery).
    pub fn lands(&mut self, no: MessageNo) -> Option<Flight> {
        self.in_flight.remove(&no)
    }

    pub fn in_flight(&self) -> impl Iterator<Item = &Flight> {
        self.in_flight.values()
    }

    pub fn is_in_flight(&self, no: MessageNo) -> bool {
        self.in_flight.contains_key(&no)
    }

    /// The calls of an alert alone, and the pictures behind them, that have not landed yet, but for those to
    /// one person.
    pub fn calls_of(&self, alert: AlertNo, but: Option<&PersonName>) -> Vec<MessageNo> {
        self.in_flight
            .values()
            .filter_map(|flight| match flight {
                Flight::Message(message)
                    if message.alert == Some(alert)
                        && message.also.is_empty()
                        && (message.kind == MessageKind::Alert || message.kind.is_picture())
                        && but != Some(&message.to) =>
                {
                    Some(message.no)
                }
                Flight::Message(_) | Flight::Notice(_) => None,
            })
            .collect()
    }

    /// The pictures on their way to one person whose call has landed.
    pub fn pictures_to(&self, alert: AlertNo, to: &PersonName) -> Vec<MessageNo> {
        self.in_flight
            .values()
            .filter_map(|flight| match flight {
                Flight::Message(message) if message.alert == Some(alert) && message.to == *to => {
                    match &message.kind {
                        MessageKind::Picture { follows, .. } if !self.is_in_flight(*follows) => {
                            Some(message.no)
                        }
                        MessageKind::Picture { .. }
                        | MessageKind::Alert
                        | MessageKind::Taken
                        | MessageKind::Over
                        | MessageKind::Answer
                        | MessageKind::Page { .. }
                        | MessageKind::Welcome => None,
                    }
                }
                Flight::Message(_) | Flight::Notice(_) => None,
            })
            .collect()
    }

    /// Which alerts a message was about, the first first.
    pub fn alerts_of(&self, no: MessageNo) -> Vec<AlertNo> {
        self.remembered.iter().filter(|one| one.no == no).map(|one| one.alert).collect()
    }

    /// What the last message to a person was about.
    pub fn last_to(&self, who: &PersonName) -> Vec<AlertNo> {
        let last = self.remembered.iter().rev().find(|one| one.to == *who);
        last.map(|last| self.alerts_of(last.no)).unwrap_or_default()
    }
}
