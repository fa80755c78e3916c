//! A message is one text to one person by one line; a notice is one fact to one web receiver.
//!
//! Each has a number of its own that stays the same however often it is tried, so that a receiver
//! can tell a retry from news.

use serde::{Deserialize, Serialize};

use crate::plain::ids::{AlertNo, DeviceId, LineName, MessageNo, PersonName};
use crate::plain::moment::{Moment, Span};

/// A text on its way to a person.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Message {
    pub no: MessageNo,
    pub to: PersonName,
    /// A mail address or a telephone number, as the line needs it.
    pub address: String,
    pub line: LineName,
    /// The alert it is about, if it is about one.
    pub alert: Option<AlertNo>,
    /// Others that are told in the same text.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<AlertNo>,
    pub kind: MessageKind,
    pub subject: String,
    /// The whole text: at most 160 characters of plain ASCII for a text message, twice that for a card
    /// that was asked for, longer for a mail.
    pub text: String,
    /// The Message-ID of the mail that this answers.
    pub in_reply_to: Option<String>,
    /// Unique for ever: `lowbell.SEED.NUMBER`, without brackets and domain.
    pub id: String,
    pub made: Moment,
}

impl Message {
    /// All alerts that it is about, the first first.
    pub fn alerts(&self) -> impl Iterator<Item = AlertNo> {
        self.alert.into_iter().chain(self.also.iter().copied())
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MessageKind {
    /// Go and look.
    Alert,
    /// Somebody else has it.
    Taken,
    /// It is over, nobody need come.
    Over,
    /// What we made of your words.
    Answer,
    /// Show that this reaches you.
    Welcome,
    /// Sent by the clock. What stands on a page is had only when it leaves, by mail.
    Page { page: Page },
    /// What a camera sees of her, behind the call that it follows. The picture itself is had only when
    /// the message leaves; a call waits for none.
    Picture {
        camera: DeviceId,
        follows: MessageNo,
        /// When the alert was raised: the picture's age is told from there.
        raised: Moment,
    },
}

/// What is sent by the clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Page {
    Dusk,
    Handover,
    Heartbeat,
}

impl Page {
    pub fn title(self) -> &'static str {
        match self {
            Self::Dusk => "Dusk page",
            Self::Handover => "Handover",
            Self::Heartbeat => "The watch is up",
        }
    }
}

impl MessageKind {
    pub fn is_picture(&self) -> bool {
        matches!(self, Self::Picture { .. })
    }
}

/// A picture that would come later than this after its call shows nothing that helps any more: it is
/// dropped.
pub const PICTURE_LATE: Span = Span::minutes(15);

/// A fact about an alert for a web receiver.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Notice {
    pub no: MessageNo,
    pub line: LineName,
    /// Such as `alert.raised`.
    pub kind: String,
    /// The exact JSON body; retries send the same bytes.
    pub body: String,
    pub id: String,
    pub alert: AlertNo,
    pub made: Moment,
}

/// What a line says became of a message or a notice.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Delivery {
    pub no: MessageNo,
    pub outcome: Outcome,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// The next server or gateway has it.
    Taken,
    /// It will not be tried again.
    Failed { why: String },
    /// The receiver asked never to be called again (HTTP 410).
    Gone { why: String },
}
