//! Row 8. Ways in and out: the only code that speaks to brokers, mail servers and gateways.
//!
//! A line carries; it never decides. What it hears becomes an `Arrival`, what it is given to carry
//! ends in an `Attempt`. Retries, rotas and meaning are somebody else's.

pub mod broker;
pub mod calendar;
pub mod feed;
pub mod imap;
pub mod letter;
pub mod mqtt;
pub mod picture;
pub mod secret;
pub mod sms;
pub mod smtp;
pub mod trust;
pub mod webhook;

mod http;
mod mail_out;
mod patience;
mod quote;
mod target;

use std::sync::Arc;

use bytes::Bytes;

use crate::plain::moment::Span;
use crate::watch::event::Event;

/// Something a line heard, with the means to confirm it once it is on disk.
pub struct Arrival {
    pub event: Event,
    pub receipt: Option<Receipt>,
}

impl Arrival {
    /// An event that nobody waits to have confirmed.
    pub fn plain(event: Event) -> Self {
        Self { event, receipt: None }
    }
}

/// Takes messages that never become events, such as a camera's pictures: given the topic, the payload and
/// whether it was retained, it says whether it took this one.
pub type Taker = Arc<dyn Fn(&str, &Bytes, bool) -> bool + Send + Sync>;

/// Confirms an arrival to whoever sent it. Dropped unconfirmed, it stays unconfirmed.
pub struct Receipt {
    confirm: Box<dyn FnOnce() + Send>,
    /// How long the sender can be kept waiting for the commit before it suffers.
    pub patience: Span,
}

impl Receipt {
    pub fn new(patience: Span, confirm: impl FnOnce() + Send + 'static) -> Self {
        Self { confirm: Box::new(confirm), patience }
    }

    /// Call only when the arrival's entry is on disk.
    pub fn confirm(self) {
        (self.confirm)();
    }
}

/// What became of one try to hand something over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Attempt {
    /// The other side said yes.
    Taken,
    /// It may have been taken; trying again under the same number is safe.
    Unsure { why: String },
    /// Not now. `after` is what the other side asked for, if it did.
    Later { why: String, after: Option<Span> },
    /// Never, as it stands.
    Never { why: String },
    /// The receiver asked not to be called again.
    Gone { why: String },
}

impl Attempt {
    /// Why it did not succeed; empty if it did.
    fn why(self) -> String {
        match self {
            Self::Unsure { why }
            | Self::Later { why, .. }
            | Self::Never { why }
            | Self::Gone { why } => why,
            Self::Taken => String::new(),
        }
    }
}
