//! The farm's rules as the settings write them: a condition, whom to tell, what to do.

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
    /// The ladder that is climbed: the first of the names written that the farm has.
    pub tell: Option<String>,
    /// Start at the last rung: everybody at once.
    pub loud: bool,
    /// The stage a dam enters when this comes true.
    pub enters: Option<String>,
    pub source: String,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Condition {
    /// At least so many of a sign within a sliding span.
    Count { sign: String, over: Span, at_least: u64 },
    /// A clock: started by one of these marks, signs or stages, stopped by one of those.
    Clock { since: Vec<String>, from: From, until: Vec<String>, limit: Limit },
    /// A device of this kind says nothing for so long.
    Silent { kind: String, limit: Span },
    /// Nothing comes through a gateway of the `[[chain]]` for so long.
    Gateway { limit: Span },
    /// A dam in her window is watched by nothing and nobody for so long.
    Unwatched { limit: Span },
    /// A way in or out is in trouble for so long.
    Trouble { with: Trouble, limit: Span },
}

/// Which of several starting marks the clock counts from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum From {
    First,
    Last,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limit {
    pub cow: Span,
    pub heifer: Span,
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
