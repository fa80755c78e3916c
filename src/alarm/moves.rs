//! What follows from a change in an alert, before it is put into words.

use crate::alarm::message::MessageKind;
use crate::plain::ids::{AlertNo, LineName, MessageNo, PersonName};

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Move {
    Tell(Telling),
    /// A message that has not left yet has become pointless.
    Withdraw(MessageNo),
    /// For the web receivers: `alert.raised`, `alert.told`, `alert.answered`, `alert.over`.
    Notice(AlertNo, &'static str),
    Note(String),
}

/// Somebody is to be told something about an alert by one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Telling {
    pub alert: AlertNo,
    pub to: PersonName,
    pub line: LineName,
    pub kind: MessageKind,
    /// For `Taken`: what to say of the holder.
    pub word: String,
}
