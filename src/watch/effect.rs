//! Everything that follows from a step, and how each thing prints as one line of the diary.

use serde::{Deserialize, Serialize};

use crate::alarm::message::{Message, MessageKind, Notice};
use crate::alarm::sent::Flight;
use crate::herd::stage::Stage;
use crate::plain::ids::{Animal, MessageNo};
use crate::plain::moment::Moment;
use crate::plain::{english, masked};

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Effect {
    Changed(StageChange),
    Send(Message),
    Publish(Notice),
    /// It was in flight when the watch stopped, and nobody knows whether it left.
    Again(Flight),
    /// It has not left yet and need not any more.
    Withdraw(MessageNo),
    Refused(Refusal),
    Noted(Note),
    /// To whoever waits at this machine for an answer.
    Said(Answer),
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StageChange {
    pub animal: Animal,
    pub from: Stage,
    pub to: Stage,
    /// When it happened, which may be before it was told.
    pub at: Moment,
    pub because: String,
}

/// What came in made no sense, and why. Printed on the 1st, 10th, 100th … of its kind.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Refusal {
    pub what: String,
    pub why: String,
    pub times: u64,
}

/// Anything else worth a line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    pub text: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    pub asked: u64,
    pub text: String,
    pub understood: bool,
}

/// What an effect is about, for whoever searches the diary by field.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Facts {
    pub kind: &'static str,
    pub animal: Option<String>,
    pub alert: Option<u64>,
    pub message: Option<u64>,
    pub person: Option<String>,
    pub line: Option<String>,
}

impl Effect {
    /// The effect by its fields.
    pub fn facts(&self) -> Facts {
        let of = |kind| Facts { kind, ..Facts::default() };
        match self {
            Self::Changed(change) => {
                Facts { animal: Some(change.animal.to_string()), ..of("stage") }
            }
            Self::Send(message) | Self::Again(Flight::Message(message)) => Facts {
                alert: message.alert.map(|alert| alert.0),
                message: Some(message.no.0),
                person: Some(message.to.to_string()),
                line: Some(message.line.to_string()),
                ..of("message")
            },
            Self::Publish(notice) | Self::Again(Flight::Notice(notice)) => Facts {
                alert: Some(notice.alert.0),
                message: Some(notice.no.0),
                line: Some(notice.line.to_string()),
                ..of("notice")
            },
            Self::Withdraw(no) => Facts { message: Some(no.0), ..of("withdrawn") },
            Self::Refused(_) => of("refused"),
            Self::Noted(_) => of("note"),
            Self::Said(_) => of("said"),
        }
    }

    /// The effect as a stockman reads it, without the time in front, and with no address or number that could be used.
    pub fn line(&self) -> String {
        masked::text(&self.words())
    }

    fn words(&self) -> String {
        match self {
            Self::Changed(change) => format!(
                "dam {} {} ({})",
                change.animal,
                match change.to {
                    Stage::Carrying => "goes back to carrying".to_owned(),
                    Stage::Closed => "is closed".to_owned(),
                    Stage::First | Stage::Second | Stage::Third | Stage::Recovering =>
                        format!("enters {}", change.to.phrase()),
                },
                change.because
            ),
            Self::Send(message) => sending(message),
            Self::Publish(notice) => {
                format!("{} to {}: alert {}", notice.kind, notice.line, notice.alert)
            }
            Self::Again(Flight::Message(message)) => format!("again: {}", sending(message)),
            Self::Again(Flight::Notice(notice)) => {
                format!("again: {} to {}: alert {}", notice.kind, notice.line, notice.alert)
            }
            Self::Withdraw(no) => format!("message {no} need not leave any more"),
            Self::Refused(refusal) if refusal.times == 1 => {
                format!("refused {}: {}", refusal.what, refusal.why)
            }
            Self::Refused(refusal) => {
                format!("refused {}: {} ({} times now)", refusal.what, refusal.why, refusal.times)
            }
            Self::Noted(note) => note.text.clone(),
            Self::Said(answer) => format!("said: {}", answer.text.replace('\n', " / ")),
        }
    }
}

fn sending(message: &Message) -> String {
    let Message { to, line, subject, .. } = message;
    let about = match (message.alert, &message.also[..]) {
        (None, _) => String::new(),
        (Some(alert), []) => format!("alert {alert} "),
        (Some(_), _) => {
            let alerts: Vec<String> = message.alerts().map(|alert| alert.to_string()).collect();
            let alerts: Vec<&str> = alerts.iter().map(String::as_str).collect();
            format!("alerts {} ", english::list(&alerts))
        }
    };
    match &message.kind {
        MessageKind::Alert => format!("{about}to {to} by {line}: {subject}"),
        MessageKind::Taken => format!("{about}taken, told to {to} by {line}: {subject}"),
        MessageKind::Over => format!("{about}over, told to {to} by {line}: {subject}"),
        MessageKind::Answer => format!("answer to {to} by {line}: {subject}"),
        MessageKind::Welcome => format!("asks {to} by {line} for a word: {subject}"),
        MessageKind::Page { .. } => format!("sent by the clock to {to} by {line}: {subject}"),
        MessageKind::Picture { camera, .. } => {
            format!("{about}picture from {camera} to {to} by {line}: {subject}")
        }
    }
}
