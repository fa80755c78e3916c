//! What a person, or a machine in a person's name, sent back: the words and the proof that came with them.

use serde::{Deserialize, Serialize};

use crate::plain::ids::LineName;

/// Words that came in over any line, before anybody has judged them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reply {
    pub line: LineName,
    pub from: Sender,
    /// The whole text as it came, quoted lines and all; cut at a cap by the line.
    pub text: String,
    /// Present when it came as a mail.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mail: Option<Box<MailProof>>,
    /// Somebody at this machine or socket waits for the answer under this number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub asked: Option<u64>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sender {
    /// The address of the From field, without the display name.
    Mail(String),
    Mobile(String),
    /// Said at this machine or on the farm's own broker by somebody who gave this name.
    Name(String),
}

/// The header fields of a mail that decide whether a person wrote it and what it answers.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct MailProof {
    pub message_id: Option<String>,
    pub subject: String,
    /// Ids without angle brackets.
    pub in_reply_to: Vec<String>,
    pub references: Vec<String>,
    /// Every Auto-Submitted field's value, as written.
    pub auto_submitted: Vec<String>,
    /// The Return-Path field's value, if there is one; `<>` is the null path.
    pub return_path: Option<String>,
    /// The outermost Content-Type with its parameters, lower case.
    pub content_type: String,
    pub precedence: Option<String>,
    pub list_id: bool,
    /// The body of a delivery report, where the mail is one.
    pub report: Option<Report>,
    /// Where it was found: the key under which it is read once and never again.
    pub place: Option<MailPlace>,
    /// The mail was larger than the cap; only its beginning was read.
    pub cut: bool,
}

/// A delivery report (RFC 3464): what happened to one of our own mails.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Report {
    /// failed, delayed, delivered, relayed, expanded; lower case.
    pub action: String,
    pub recipient: String,
    /// The Message-ID of our mail, if the report carries it, without brackets.
    pub about: Option<String>,
    pub status: String,
}

/// (mailbox, UIDVALIDITY, UID) names one immutable message for ever (RFC 3501 section 2.3.1.1).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MailPlace {
    pub mailbox: String,
    pub validity: u32,
    pub uid: u32,
}
