//! Everything that can wake the watch, on one screen.

use serde::{Deserialize, Serialize};

use crate::alarm::message::Delivery;
use crate::config::SettingsText;
use crate::config::line::CALENDAR_OF;
use crate::plain::ids::LineName;
use crate::plain::moment::Moment;
use crate::sensor::packet::Packet;
use crate::talk::letter::Reply;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Event {
    /// The process began. `seed` was drawn once when the journal was made; `last` is the moment of
    /// the journal's last entry, if there was one: between the two nobody watched.
    Started {
        seed: u64,
        last: Option<Moment>,
    },
    Settings(SettingsText),
    Clock(ClockState),
    Packet(Packet),
    Answered(Reply),
    Delivered(Delivery),
    Line(LineState),
    /// The deadline named by the last step has come.
    Woke,
    /// Somebody was taken out of the whole journal and is called this in it from now on.
    Forgotten {
        called: String,
    },
}

impl Event {
    /// What a way in or out says about itself.
    pub fn of_line(line: &str, news: LineNews) -> Self {
        Self::Line(LineState { line: LineName::new(line), news })
    }
}

/// How far the machine's clock can be believed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ClockState {
    #[default]
    Trusted,
    /// Behind the journal's last entry, or not yet set: times are marked "about".
    About,
}

/// A rota's calendar that is fetched, as a line; no `[[line]]` can be called so.
pub fn calendar_line(rota: &str) -> LineName {
    LineName::new(&format!("{CALENDAR_OF}{rota}"))
}

/// The broker as a line.
pub fn broker_line() -> LineName {
    LineName::new(super::BROKER)
}

/// What a way in or out says about itself. `line` is "broker" and "journal" for those two.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineState {
    pub line: LineName,
    pub news: LineNews,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LineNews {
    Up,
    Down {
        why: String,
    },
    /// The broker was asked to keep our session and did not: messages may be gone (MQTT 5, 3.2.2-3).
    SessionLost,
    SubscriptionRefused {
        filter: String,
        why: String,
    },
    SubscriptionTaken {
        filter: String,
    },
    /// Something came in that is too large to be taken.
    TooLarge {
        what: String,
    },
    /// Our own broker turned somebody away or held somebody back, so many times since it last said so.
    TurnedAway {
        for_what: Misdeed,
        /// The address it came from.
        from: String,
        what: String,
        why: String,
        times: u32,
    },
}

/// What our own broker takes amiss.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Misdeed {
    /// A name or a password that it does not know.
    Login,
    /// A topic that is not theirs.
    Topic,
    /// More connections than there is room for.
    Crowd,
    /// A packet it does not take.
    Packet,
    /// Two that call themselves the same.
    Twin,
    /// More in a second than is allowed.
    Haste,
    /// An address outside the farm's network.
    Outside,
    /// A beginning of TLS that came to nothing.
    Handshake,
}

impl Misdeed {
    /// One word, for counting by.
    pub fn word(self) -> &'static str {
        match self {
            Self::Login => "login",
            Self::Topic => "topic",
            Self::Crowd => "crowd",
            Self::Packet => "packet",
            Self::Twin => "twin",
            Self::Haste => "haste",
            Self::Outside => "outside",
            Self::Handshake => "handshake",
        }
    }
}
