//! The farm's rules as the settings write them: a condition, whom to tell, what to do.

use jiff::civil::Time;
use serde::{Deserialize, Serialize};

use super::animals::Parity;
use crate::plain::amount::Amount;
use crate::plain::ids::RuleName;
use crate::plain::moment::Span;

/// `[[rule]]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rule {
    pub name: RuleName,
    pub condition: Condition,
    /// Stages (as words) in which it may speak; empty means every stage but closed.
    pub while_stages: Vec<String>,
    /// What could come of doing nothing, and how soon: the priority follows from the two.
    pub harm: Harm,
    pub onset: Onset,
    /// What the person woken should do. A rule without it may only log.
    pub action: Option<String>,
    /// What the farm itself says to each part beside it.
    pub by_part: ByPart,
    /// The ladder that is climbed: the first of the names written that the farm has.
    pub tell: Option<String>,
    /// Start at the last rung: everybody at once.
    pub loud: bool,
    /// It begins by day only: what is found at night waits for the morning.
    pub by_day: bool,
    /// How long it must be well again before its alert is over: what comes back meanwhile is the same alert.
    pub rest: Span,
    /// It speaks only if its clock began within these hours of the farm's day.
    pub began: Option<Hours>,
    /// Only of dams of whom a scan has shown at least so many calves.
    pub scanned: Option<u8>,
    /// Only of dams kept for that, "dairy" or "beef", and of those of whom the herd file does not say.
    pub purpose: Option<String>,
    /// The stage a dam enters when this comes true.
    pub enters: Option<String>,
    pub source: String,
}

/// A rule's own words for one part or another, where the farm has written any.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ByPart {
    /// What to look for, whoever goes.
    pub look: Option<String>,
    pub owner: Option<String>,
    pub stockman: Option<String>,
    pub helper: Option<String>,
    pub vet: Option<String>,
}

/// Hours of the farm's day, the first minute in them and the last not; past midnight if they end earlier than
/// they begin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hours {
    pub from: Time,
    pub until: Time,
}

impl Hours {
    pub fn hold(&self, at: Time) -> bool {
        if self.from < self.until {
            self.from <= at && at < self.until
        } else {
            self.from <= at || at < self.until
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Condition {
    /// At least so many of a sign within a sliding span.
    Count { sign: String, over: Span, at_least: u64, devices: Devices },
    /// A measured amount stays beyond an edge.
    Level(Level),
    /// A camera sees something in so many of its last pictures.
    Seen(Seen),
    /// All of these hold of the same dam.
    All(Vec<Condition>),
    /// At least one of these holds.
    AnyOf(Vec<Condition>),
    /// It is known that this does not hold.
    Not(Box<Condition>),
    /// A clock: started by one of these marks, signs or stages, stopped by one of those.
    Clock { since: Vec<String>, from: From, until: Vec<String>, limit: Limit },
    /// An amount has risen or fallen against her own earlier days.
    Change(Change),
    /// Against the window in which the herd file says that she may calve.
    Due(Due),
    /// A device of this kind says nothing for so long.
    Silent { kind: String, limit: Span },
    /// A device of this kind is itself ill in one of these ways, for so long.
    Ill { with: Vec<Ill>, kind: String, limit: Span },
    /// Nothing comes through a gateway of the `[[chain]]` for so long.
    Gateway { limit: Span },
    /// A dam in her window is watched by nothing and nobody for so long.
    Unwatched { limit: Span },
    /// A way in or out is in trouble for so long.
    Trouble { with: Trouble, limit: Span },
    /// Somebody who went in with a dam is so long past the time by which they would be out.
    Alone { limit: Span },
    /// Hours within so long that nobody takes, or nobody backs up: somebody is ill, or swapped.
    Uncovered { ahead: Span },
    /// A drill is on; unanswered it goes on so long.
    Drill { lasts: Span },
}

impl Condition {
    pub fn is_about_a_dam(&self) -> bool {
        match self {
            Self::Count { .. }
            | Self::Level(_)
            | Self::Seen(_)
            | Self::All(_)
            | Self::AnyOf(_)
            | Self::Not(_)
            | Self::Due(_)
            | Self::Clock { .. }
            | Self::Change(_) => true,
            Self::Silent { .. }
            | Self::Ill { .. }
            | Self::Gateway { .. }
            | Self::Unwatched { .. }
            | Self::Trouble { .. }
            | Self::Alone { .. }
            | Self::Uncovered { .. }
            | Self::Drill { .. } => false,
        }
    }
}

/// An amount beyond an edge in `times` of the last `of` messages, for so long, until it is clear again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Level {
    pub sign: String,
    pub edge: Edge,
    /// Where it ends: the edge itself, or further back.
    pub clear: Amount,
    /// How long it must have been so.
    pub hold: Span,
    pub times: usize,
    pub of: usize,
    /// An amount older than this says nothing about now.
    pub fresh: Span,
    /// For people: the amounts are in the sign's own unit.
    pub unit: String,
    pub devices: Devices,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    Above(Amount),
    Below(Amount),
}

/// So many days to or past her window; called off by one of these marks, signs or stages.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    pub when: DueWhen,
    pub by: Span,
    pub until: Vec<String>,
}

/// On which side of her window.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DueWhen {
    /// It is over and she has not calved.
    Past,
    /// She calves, or has begun to, before it opens.
    Early,
    /// She has lost it: somebody says so, or it came before it could be at term.
    Lost,
}

/// A score reached in `times` of the last `of` pictures within `over`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    pub sign: String,
    pub score: Amount,
    pub times: usize,
    pub of: usize,
    pub over: Span,
    /// Only this part of the picture.
    pub region: Option<String>,
    pub devices: Devices,
}

/// Which of the devices on a dam must say so. Each is asked for itself; nothing is averaged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Devices {
    Any,
    /// All that are heard.
    All,
    /// The weights of those that say so, by kind of sensor, come to `enough`.
    Weighted {
        weights: Vec<(String, u64)>,
        enough: u64,
    },
}

/// Which of several starting marks the clock counts from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum From {
    First,
    Last,
}

/// How long is too long. The shortest that applies holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limit {
    /// `None` where the clock is asked in the cold only.
    pub cow: Option<Span>,
    pub heifer: Option<Span>,
    /// While the farm's weather is cold.
    pub cold: Option<Span>,
}

impl Limit {
    /// The same for a cow and a heifer, in whatever weather.
    pub const fn both(limit: Span) -> Self {
        Self { cow: Some(limit), heifer: Some(limit), cold: None }
    }

    pub const fn by_parity(cow: Span, heifer: Span) -> Self {
        Self { cow: Some(cow), heifer: Some(heifer), cold: None }
    }

    /// What holds for such a dam now; `None` if the clock is not asked of her.
    pub fn of(self, parity: Parity, cold: bool) -> Option<Span> {
        let usual = match parity {
            Parity::Cow => self.cow,
            Parity::Heifer => self.heifer,
        };
        let cold = self.cold.filter(|_| cold);
        [usual, cold].into_iter().flatten().min()
    }

    pub fn longest(self) -> Span {
        [self.cow, self.heifer, self.cold].into_iter().flatten().max().unwrap_or(Span::ZERO)
    }
}

/// An amount that has changed against her own earlier days.
///
/// What is compared, for each device by itself and in whole thousandths: the mean of what it told within the
/// hour up to its newest word, against its words of `over` before that hour. Where at least half of the days
/// in `over` have a word within an hour and a half of the same time of day, the mean of those days' means
/// stands for before: like hour with like hour, for a cow's heat goes up and down with the day (facts.md
/// T-05, X-13). Else it is the mean of all words of `over` before that hour, if there are three or more; with
/// fewer nothing is known. A newest word older than `fresh` says nothing about now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    pub sign: String,
    pub over: Span,
    pub turn: Turn,
    /// By so much at least; more than nothing.
    pub least: Amount,
    pub fresh: Span,
    /// For people: the amounts are in the sign's own unit.
    pub unit: String,
    pub devices: Devices,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    Rise,
    Fall,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// A line or the broker does not answer.
    LineDown,
    /// The broker forgot what it was keeping for us.
    SessionLost,
    /// The broker refused one of our subscriptions.
    SubscriptionRefused,
    /// The journal cannot be written.
    JournalStuck,
    /// Our own broker turned the same address away again and again.
    Strangers,
    /// A rota's calendar cannot be fetched: its copy stays in force and grows old.
    CalendarOld,
}

/// What can be wrong with a device itself, whatever is the matter with its dam.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ill {
    /// Figures that no live animal has.
    Nonsense,
    /// Figures that jump and come back.
    Jumps,
    /// The very same figure for hours.
    Flat,
    /// As cold as the air.
    OffTheAnimal,
    ClockWrong,
    /// It talks, and what it says cannot be read.
    NotUnderstood,
    BatteryLow,
    /// The battery will be empty before the dam's time is over.
    BatteryFailing,
    /// It, or the broker in its name, has said that it is gone.
    Offline,
    /// It starts anew again and again.
    Restarts,
}

impl Ill {
    pub const ALL: [Self; 10] = [
        Self::Nonsense,
        Self::Jumps,
        Self::Flat,
        Self::OffTheAnimal,
        Self::ClockWrong,
        Self::NotUnderstood,
        Self::BatteryLow,
        Self::BatteryFailing,
        Self::Offline,
        Self::Restarts,
    ];

    /// What such a sensor says is no sign of its dam: for her it is as good as none.
    pub const fn blinds(self) -> bool {
        match self {
            Self::Nonsense | Self::Flat | Self::OffTheAnimal | Self::NotUnderstood => true,
            Self::Jumps
            | Self::ClockWrong
            | Self::BatteryLow
            | Self::BatteryFailing
            | Self::Offline
            | Self::Restarts => false,
        }
    }

    /// The word of the settings and of every message.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Nonsense => "nonsense",
            Self::Jumps => "jumps",
            Self::Flat => "flat",
            Self::OffTheAnimal => "off the animal",
            Self::ClockWrong => "clock wrong",
            Self::NotUnderstood => "not understood",
            Self::BatteryLow => "battery low",
            Self::BatteryFailing => "battery failing",
            Self::Offline => "offline",
            Self::Restarts => "restarts",
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Harm {
    Death,
    Lasting,
    Minor,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Onset {
    Immediate,
    Prompt,
    Delayed,
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::time;

    #[test]
    fn hours_may_go_past_midnight_and_their_end_is_outside() {
        let late = Hours { from: time(13, 30, 0, 0), until: time(4, 30, 0, 0) };
        for (hour, minute, within) in [
            (13, 29, false),
            (13, 30, true),
            (23, 59, true),
            (0, 0, true),
            (4, 29, true),
            (4, 30, false),
        ] {
            assert_eq!(late.hold(time(hour, minute, 0, 0)), within, "{hour}:{minute}");
        }
        let day = Hours { from: late.until, until: late.from };
        assert!(day.hold(time(12, 0, 0, 0)) && !day.hold(time(13, 30, 0, 0)));
    }
}
