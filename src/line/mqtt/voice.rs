//! What can be said to the broker and heard from it, in either version of the protocol.
//!
//! Nothing here waits for the client library's own queue: what finds no room is refused.

use std::time::Duration;

use super::fault::Fault;
use super::window::Ticket;
use super::{Heard, Message, Terms, five, three};
use crate::config::farm::MqttVersion;

/// How sure a message of ours, or one to us, has to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Care {
    /// The next one will do as well (QoS 0).
    Little,
    /// It is confirmed (QoS 1).
    Confirmed,
}

pub(super) enum Voice {
    Five(rumqttc::v5::AsyncClient),
    Three(rumqttc::AsyncClient),
}

pub(super) enum Ear {
    Five(Box<five::Ear>),
    Three(Box<three::Ear>),
}

/// Both ends of a connection that is not begun, and how many unconfirmed messages the broker sends.
pub(super) fn open(terms: &Terms) -> (Voice, Ear, usize) {
    match terms.version {
        MqttVersion::Five => {
            let (client, ear) = five::open(terms);
            (Voice::Five(client), Ear::Five(Box::new(ear)), usize::from(five::WINDOW))
        }
        MqttVersion::ThreeOneOne => {
            let (client, ear) = three::open(terms);
            (Voice::Three(client), Ear::Three(Box::new(ear)), usize::from(three::WINDOW))
        }
    }
}

impl Voice {
    pub(super) fn subscribe(&self, filter: &str, care: Care) -> bool {
        match self {
            Self::Five(client) => five::subscribe(client, filter, care),
            Self::Three(client) => three::subscribe(client, filter, care),
        }
    }

    pub(super) fn unsubscribe(&self, filter: &str) -> bool {
        match self {
            Self::Five(client) => client.try_unsubscribe(filter).is_ok(),
            Self::Three(client) => client.try_unsubscribe(filter).is_ok(),
        }
    }

    pub(super) fn publish(&self, topic: &str, payload: &str, care: Care) -> bool {
        match self {
            Self::Five(client) => five::publish(client, topic, payload, care, false),
            Self::Three(client) => three::publish(client, topic, payload, care, false),
        }
    }

    /// The broker is to keep it; an empty payload takes away what it kept.
    pub(super) fn keep(&self, topic: &str, payload: &str, care: Care) -> bool {
        match self {
            Self::Five(client) => five::publish(client, topic, payload, care, true),
            Self::Three(client) => three::publish(client, topic, payload, care, true),
        }
    }

    pub(super) fn acknowledge(&self, ticket: Ticket) -> bool {
        match self {
            Self::Five(client) => five::acknowledge(client, ticket),
            Self::Three(client) => three::acknowledge(client, ticket),
        }
    }

    pub(super) fn leave(&self) -> bool {
        match self {
            Self::Five(client) => client.try_disconnect().is_ok(),
            Self::Three(client) => client.try_disconnect().is_ok(),
        }
    }
}

impl Ear {
    pub(super) async fn hear(&mut self) -> Result<Heard, Fault> {
        match self {
            Self::Five(ear) => ear.hear().await,
            Self::Three(ear) => ear.hear().await,
        }
    }

    pub(super) fn leftovers(&mut self) -> Vec<Message> {
        match self {
            Self::Five(ear) => ear.leftovers(),
            Self::Three(ear) => ear.leftovers(),
        }
    }

    pub(super) fn keep_alive(&self) -> Duration {
        match self {
            Self::Five(ear) => ear.keep_alive(),
            Self::Three(ear) => ear.keep_alive(),
        }
    }
}
