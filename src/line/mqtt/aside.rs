//! Messages that somebody wants for themselves, such as a camera's pictures: they go to that one
//! and, where no sensor's filter means them too, never to the journal.
//!
//! It refuses to wait for whoever wanted them: a picture that finds no room is dropped, since a
//! picture is worth less than the next sensor's word behind it.

use bytes::Bytes;
use tokio::sync::mpsc;

use super::Message;
use crate::sensor::topic::Filter;

/// The largest packet let in where somebody wants asides: a still picture of a barn camera has some
/// hundred kilobytes.
pub(super) const PACKET_MAX: u32 = 2 * 1024 * 1024;

/// A message for somebody who asked for its topic.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Aside {
    pub topic: String,
    pub payload: Bytes,
    /// The broker kept it from earlier: its age is unknown.
    pub retained: bool,
}

/// Whoever wants asides: what is meant, and where it goes.
pub type Wanted = (Filter, mpsc::Sender<Aside>);

/// Gives the message to all who asked for its topic; whether anybody did.
pub(super) fn hand_over(wanted: &[Wanted], message: &Message) -> bool {
    let mut anybody = false;
    for (filter, to) in wanted {
        if filter.matches(&message.topic).is_none() {
            continue;
        }
        anybody = true;
        let aside = Aside {
            topic: message.topic.clone(),
            payload: message.payload.clone(),
            retained: message.retained,
        };
        if to.try_send(aside).is_err() {
            tracing::warn!("Nobody has room for a message on {}; it is dropped.", message.topic);
        }
    }
    anybody
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_who_asked_gets_it_and_nobody_is_waited_for() {
        let filter = |text: &str| Filter::parse(text).unwrap();
        let (one, mut ones) = mpsc::channel(1);
        let (other, mut others) = mpsc::channel(1);
        let wanted = [(filter("barn/{camera}/still"), one), (filter("barn/#"), other)];
        let message = |topic: &str| Message {
            topic: topic.to_owned(),
            payload: Bytes::from_static(b"picture"),
            ticket: None,
            retained: true,
        };
        assert!(!hand_over(&wanted, &message("yard/tail/t-07/state")));
        assert!(hand_over(&wanted, &message("barn/north/still")));
        assert!(hand_over(&wanted, &message("barn/south/still")), "wanted, if without room");
        let aside = ones.try_recv().unwrap();
        assert_eq!((aside.topic.as_str(), aside.retained), ("barn/north/still", true));
        assert!(ones.try_recv().is_err());
        assert_eq!(others.try_recv().unwrap(), aside);
    }
}
