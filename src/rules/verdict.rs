//! What a rule answers, and about whom.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::plain::ids::{Animal, DeviceId, GatewayName, LineName, RuleName};
use crate::plain::moment::{Moment, Span};

/// Whom a finding is about.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Subject {
    Dam(Animal),
    Device(DeviceId),
    Line(LineName),
    Gateway(GatewayName),
    /// All dams together.
    Herd,
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Dam(animal) => write!(f, "dam {animal}"),
            Self::Device(device) => write!(f, "device {device}"),
            Self::Line(line) => write!(f, "line {line}"),
            Self::Gateway(gateway) => write!(f, "gateway {gateway}"),
            Self::Herd => f.write_str("the herd"),
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    Fine,
    /// Fine now; ask again at this moment.
    FineUntil(Moment),
    Wrong(Wrong),
}

/// What is wrong: the figures may move while the finding stays the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// When it became wrong.
    pub since: Moment,
    pub figures: Figures,
    /// When it will be right by itself if nothing more is heard.
    pub ends: Option<Moment>,
}

/// The numbers behind a finding, for the message.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Figures {
    /// A clock that began here and has passed its limit.
    Clock {
        began: Moment,
        limit: Span,
    },
    Counted {
        n: u64,
        over: Span,
    },
    /// Nothing heard since then; `never` if nothing ever was.
    Silence {
        since: Moment,
        never: bool,
    },
    /// `momentary`: it is news, not a state, and ends once somebody has answered.
    Trouble {
        since: Moment,
        why: String,
        momentary: bool,
    },
    /// Nothing came through a gateway since then, and whom nothing else watches therefore.
    Gateway {
        since: Moment,
        animals: Vec<Animal>,
    },
    /// Who is watched by nothing and nobody.
    Unwatched {
        animals: Vec<Animal>,
    },
}

/// A rule that is wrong about a subject: that pair is its identity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    pub rule: RuleName,
    pub subject: Subject,
    pub wrong: Wrong,
}
