//! What a rule answers, and about whom.

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::config::rules::{DueWhen, Ill};
use crate::plain::amount::Amount;
use crate::plain::ids::{Animal, DeviceId, GatewayName, LineName, PersonName, RuleName};
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
    /// Who is on duty when.
    Rota,
    /// A drill: about nothing that is.
    Drill,
    /// Somebody who is in with a dam.
    Person(PersonName),
}

impl Subject {
    /// The dam, if it is about one.
    pub fn dam(&self) -> Option<&Animal> {
        match self {
            Self::Dam(animal) => Some(animal),
            Self::Device(_)
            | Self::Line(_)
            | Self::Gateway(_)
            | Self::Herd
            | Self::Rota
            | Self::Drill
            | Self::Person(_) => None,
        }
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Dam(animal) => write!(f, "dam {animal}"),
            Self::Device(device) => write!(f, "device {device}"),
            Self::Line(line) => write!(f, "line {line}"),
            Self::Gateway(gateway) => write!(f, "gateway {gateway}"),
            Self::Herd => f.write_str("the herd"),
            Self::Rota => f.write_str("the rota"),
            Self::Drill => f.write_str("drill"),
            Self::Person(person) => write!(f, "{person}"),
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
        /// Which calf it is about, where she has more than one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        calf: Option<u8>,
    },
    /// The mean of the last hour, and what it was before; `of_the_hour`: at this hour of her days before.
    Changed {
        sign: String,
        value: Amount,
        before: Amount,
        unit: String,
        of_the_hour: bool,
        over: Span,
        voices: Voices,
    },
    /// So many of a sign within a span; the limit is how many are too many.
    Counted { sign: String, n: u64, over: Span, limit: u64, voices: Voices },
    /// The last amount, and the edge that it has been beyond since it began.
    Level {
        sign: String,
        value: Amount,
        unit: String,
        above: bool,
        edge: Amount,
        began: Moment,
        voices: Voices,
    },
    /// In so many of the last pictures.
    Seen { sign: String, n: usize, of: usize, voices: Voices },
    /// Which day of her carrying it is or was, if that is known, and how many days past her window, before
    /// it, or before term.
    Due { when: DueWhen, day: Option<(i64, i64)>, days: i64 },
    /// Something that is known not to be so.
    NotSo { what: String },
    /// Several things at once.
    Several(Vec<Figures>),
    /// Nothing heard since then; `never` if nothing ever was.
    Silence { since: Moment, never: bool },
    /// A device itself is ill, since then and because of this.
    Ill { ill: Ill, since: Moment, why: String },
    /// `momentary`: it is news, not a state, and ends once somebody has answered.
    Trouble { since: Moment, why: String, momentary: bool },
    /// Nothing came through a gateway since then, and whom nothing else watches therefore.
    Gateway { since: Moment, animals: Vec<Animal> },
    /// Who is watched by nothing and nobody.
    Unwatched { animals: Vec<Animal> },
    /// Somebody went in then, with her if they said whom, and would be out by then.
    Alone { with: Option<Animal>, since: Moment, until: Moment },
    /// A drill, and until when it goes on unanswered.
    Drill { until: Moment },
    /// Of whose shift it is, and which hours by the clock on the wall; `nobody`: else there is no backup.
    Uncovered {
        rota: String,
        hours: String,
        nobody: bool,
        /// Who stands in the rota and has not shown that calls come through.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        unproven: Vec<PersonName>,
    },
}

/// Which devices on a dam say so, which say otherwise, and which are not heard.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Voices {
    pub say: Vec<DeviceId>,
    pub deny: Vec<DeviceId>,
    pub unheard: Vec<DeviceId>,
    /// The kinds of sensor of those that say so.
    pub kinds: Vec<Arc<str>>,
}

impl Voices {
    pub(super) fn says(&mut self, id: DeviceId, kind: &Arc<str>) {
        self.say.push(id);
        if !self.kinds.contains(kind) {
            self.kinds.push(kind.clone());
        }
    }
}

impl Figures {
    /// What several conditions say at once.
    pub(super) fn together(mut figures: Vec<Self>) -> Self {
        match (figures.pop(), figures.is_empty()) {
            (Some(only), true) => only,
            (last, _) => Self::Several(figures.into_iter().chain(last).collect()),
        }
    }

    pub(super) fn told_by(mut self, who: Voices) -> Self {
        if let Self::Counted { voices, .. }
        | Self::Level { voices, .. }
        | Self::Changed { voices, .. }
        | Self::Seen { voices, .. } = &mut self
        {
            *voices = who;
        }
        self
    }

    /// Whom somebody who has not come out went in with.
    pub fn gone_in_with(&self) -> Option<&Animal> {
        if let Self::Alone { with, .. } = self { with.as_ref() } else { None }
    }

    /// A device that this is said of watches nobody.
    pub fn says_it_is_blind(&self) -> bool {
        match self {
            Self::Silence { .. } => true,
            Self::Ill { ill, .. } => ill.blinds(),
            Self::Clock { .. }
            | Self::Changed { .. }
            | Self::Counted { .. }
            | Self::Level { .. }
            | Self::Seen { .. }
            | Self::NotSo { .. }
            | Self::Due { .. }
            | Self::Several(_)
            | Self::Gateway { .. }
            | Self::Unwatched { .. }
            | Self::Alone { .. }
            | Self::Uncovered { .. }
            | Self::Drill { .. }
            | Self::Trouble { .. } => false,
        }
    }

    /// She has lost it before term: other cautions hold.
    pub fn says_lost(&self) -> bool {
        match self {
            Self::Due { when, .. } => *when == DueWhen::Lost,
            Self::Several(figures) => figures.iter().any(Self::says_lost),
            Self::Clock { .. }
            | Self::Changed { .. }
            | Self::Counted { .. }
            | Self::Level { .. }
            | Self::Seen { .. }
            | Self::NotSo { .. }
            | Self::Silence { .. }
            | Self::Ill { .. }
            | Self::Gateway { .. }
            | Self::Unwatched { .. }
            | Self::Alone { .. }
            | Self::Uncovered { .. }
            | Self::Drill { .. }
            | Self::Trouble { .. } => false,
        }
    }

    /// Signs of a birth that sensors have counted or seen: that they fade is no all-clear.
    pub fn are_signs(&self) -> bool {
        match self {
            Self::Counted { .. } | Self::Seen { .. } => true,
            Self::Several(figures) => figures.iter().any(Self::are_signs),
            Self::Clock { .. }
            | Self::Changed { .. }
            | Self::Level { .. }
            | Self::Due { .. }
            | Self::NotSo { .. }
            | Self::Silence { .. }
            | Self::Ill { .. }
            | Self::Gateway { .. }
            | Self::Unwatched { .. }
            | Self::Alone { .. }
            | Self::Uncovered { .. }
            | Self::Drill { .. }
            | Self::Trouble { .. } => false,
        }
    }

    /// A sensor says so, and may stop saying so without anybody having looked.
    pub fn may_fade(&self) -> bool {
        match self {
            Self::Counted { .. }
            | Self::Level { .. }
            | Self::Changed { .. }
            | Self::Seen { .. } => true,
            Self::Several(figures) => figures.iter().any(Self::may_fade),
            Self::Clock { .. }
            | Self::Due { .. }
            | Self::NotSo { .. }
            | Self::Silence { .. }
            | Self::Ill { .. }
            | Self::Gateway { .. }
            | Self::Unwatched { .. }
            | Self::Alone { .. }
            | Self::Uncovered { .. }
            | Self::Drill { .. }
            | Self::Trouble { .. } => false,
        }
    }
}

/// A rule that is wrong about a subject: that pair is its identity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    pub rule: RuleName,
    pub subject: Subject,
    pub wrong: Wrong,
}
