//! The days after a birth: what is still open about the dam, how long she is watched for infection, and when she
//! is let go.
//!
//! It raises nothing and judges no illness: the rules call people, the vet says what it is.

use super::dam::Dam;
use super::dam_figures::{self, FEVER, Product};
use super::sign::Mark;
use super::stage::Stage;
use crate::config::animals::Parity;
use crate::plain::english;
use crate::plain::moment::{Moment, Span};

/// Retained by the stricter of the two definitions in use: notice is given then (facts.md S3-03, university
/// extension and trials).
pub const NOTICE: Span = Span::hours(12);
/// Retained by the other, and so it goes into her record (facts.md S3-04, a veterinary reference manual and a
/// review).
pub const RETAINED: Span = Span::hours(24);
/// Puerperal metritis is looked for within so long (facts.md M-01, Sheldon and others); most comes within ten
/// days (M-05), so that only a dam at risk is watched to the end of it.
pub const AT_RISK_WATCHED: Span = Span::days(21);
/// Milk fever comes most within a day, and the rest within so long (facts.md H-01).
pub const MILK_FEVER: Span = Span::days(3);
/// Past this nobody will still say how she calved: she is let go, and what is missing is said (common practice,
/// no source). A placenta may stay for half of it without harm (facts.md S3-12).
pub const LET_GO_AT_LAST: Span = Span::days(30);

/// A morning's round may come a little earlier than the one before it (common practice, no source).
const MEASURED_EVERY: Span = Span::hours(20);

/// Something that is not settled about a dam who has calved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Open {
    /// Since the birth; `retained` from the hour on at which it is recorded so.
    Placenta {
        since: Moment,
        retained: bool,
    },
    /// She lies and does not rise.
    Down {
        since: Moment,
    },
    Wobbly {
        since: Moment,
    },
    Prolapse {
        since: Moment,
    },
    OffFeed {
        since: Moment,
    },
    Discharge {
        since: Moment,
    },
    /// Her womb is watched for infection.
    Infection {
        until: Moment,
        at_risk: Vec<Risk>,
    },
    /// Nothing of her may be sold before then, as somebody typed it from the label.
    Withdrawal {
        of: Product,
        until: Moment,
    },
    /// Her temperature is to be taken: nobody has for a day, and she is at risk or was hot.
    Measure,
    /// A living calf of whom nobody has said that it has had its first milk.
    NotSucked {
        calf: u8,
    },
    /// A carcass that nobody has said was taken away.
    Carcass {
        since: Moment,
    },
    /// Nobody has said how easily she calved (needs.md N107).
    Score,
}

/// What makes an infection of the womb likelier (facts.md X-09, two reviews).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Risk {
    Retained,
    Twins,
    HardBirth,
    DeadCalf,
    MilkFever,
}

impl Risk {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Retained => "placenta late",
            Self::Twins => "twins",
            Self::HardBirth => "helped",
            Self::DeadCalf => "dead calf",
            Self::MilkFever => "down or wobbly",
        }
    }
}

impl Open {
    /// For the board: short, plain, without its times.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Placenta { retained: false, .. } => "placenta not passed",
            Self::Placenta { retained: true, .. } => "placenta retained",
            Self::Down { .. } => "down",
            Self::Wobbly { .. } => "wobbly",
            Self::Prolapse { .. } => "prolapse",
            Self::OffFeed { .. } => "off feed",
            Self::Discharge { .. } => "foul discharge",
            Self::Infection { .. } => "infection watch",
            Self::Withdrawal { of: Product::Meat, .. } => "meat withdrawal",
            Self::Withdrawal { of: Product::Milk, .. } => "milk withdrawal",
            Self::Measure => "temperature to take",
            Self::NotSucked { .. } => "calf not sucked",
            Self::Carcass { .. } => "carcass not collected",
            Self::Score => "ease score missing",
        }
    }

    /// Whether she is kept on the list of those watched because of it. A carcass is paper work and yard work, and
    /// not hers.
    const fn holds(&self) -> bool {
        match self {
            Self::Placenta { .. }
            | Self::Down { .. }
            | Self::Wobbly { .. }
            | Self::Prolapse { .. }
            | Self::OffFeed { .. }
            | Self::Discharge { .. }
            | Self::Infection { .. }
            | Self::Withdrawal { .. }
            | Self::NotSucked { .. }
            | Self::Score => true,
            Self::Measure | Self::Carcass { .. } => false,
        }
    }

    /// When it ends by itself.
    const fn ends(&self) -> Option<Moment> {
        match self {
            Self::Infection { until, .. } | Self::Withdrawal { until, .. } => Some(*until),
            Self::Placenta { .. }
            | Self::Down { .. }
            | Self::Wobbly { .. }
            | Self::Prolapse { .. }
            | Self::OffFeed { .. }
            | Self::Discharge { .. }
            | Self::Measure
            | Self::NotSucked { .. }
            | Self::Carcass { .. }
            | Self::Score => None,
        }
    }
}

/// When she calved or lost it: the beginning of all that follows.
pub fn began(dam: &Dam) -> Option<Moment> {
    let over = dam.track(Mark::Calf).or_else(|| dam.track(Mark::Aborted));
    over.map(|over| over.first)
}

/// Whole days since she calved: 0 is the first.
pub fn day(dam: &Dam, now: Moment) -> Option<i64> {
    let since = now.since(began(dam)?).millis().max(0);
    Some(since / Span::days(1).millis())
}

/// When her placenta became, or came to be recorded as, late by this definition; `None` if it was passed in
/// time or its time is not over.
pub fn late_placenta(dam: &Dam, definition: Span, now: Moment) -> Option<Moment> {
    let due = began(dam)? + definition;
    let passed = dam.track(Mark::Placenta).map(|track| track.first);
    (passed.unwrap_or(now) >= due && now >= due).then_some(due)
}

/// Recorded as retained: not shed within a day (facts.md S3-04).
pub fn is_retained(dam: &Dam, now: Moment) -> bool {
    late_placenta(dam, RETAINED, now).is_some()
}

/// She has calved before, and calved within the days in which milk fever comes (facts.md H-01; heifers rarely,
/// H-05).
pub fn may_have_milk_fever(dam: &Dam, at: Moment) -> bool {
    let within = began(dam).is_some_and(|began| at >= began && at < began + MILK_FEVER);
    within && dam.parity == Parity::Cow
}

/// Why she is watched longer (facts.md X-09).
pub fn risks(dam: &Dam, now: Moment) -> Vec<Risk> {
    let case = dam.case();
    let ill_early = [Mark::Down, Mark::Wobbly].into_iter().any(|mark| {
        let mut told = case.of(mark);
        told.any(|noted| may_have_milk_fever(dam, noted.at))
    });
    let all = [
        (Risk::Retained, late_placenta(dam, NOTICE, now).is_some()),
        (Risk::Twins, dam.calves().len() > 1),
        (Risk::HardBirth, dam_figures::was_helped(case)),
        (Risk::DeadCalf, dam.track(Mark::CalfDead).is_some()),
        (Risk::MilkFever, ill_early),
    ];
    all.into_iter().filter(|(_, is_so)| *is_so).map(|(risk, _)| risk).collect()
}

/// Everything that is open about a dam who has calved, what matters soonest first.
pub fn open(dam: &Dam, now: Moment) -> Vec<Open> {
    let Some(began) = began(dam) else { return Vec::new() };
    let mut open = Vec::new();
    let lives = dam.track(Mark::DamDead).is_none();
    if lives {
        ails(dam, began, &mut open);
        if dam.track(Mark::Placenta).is_none() {
            open.push(Open::Placenta { since: began, retained: is_retained(dam, now) });
        }
    }
    for (at, calf) in dam.calves().iter().enumerate() {
        let fed =
            [Mark::Sucked, Mark::Colostrum].into_iter().any(|mark| calf.marked(mark).is_some());
        if let (false, false, Ok(calf)) = (fed, calf.is_dead(), u8::try_from(at + 1)) {
            open.push(Open::NotSucked { calf });
        }
    }
    if lives {
        let at_risk = risks(dam, now);
        let until =
            began + if at_risk.is_empty() { usual_watch(dam, began) } else { AT_RISK_WATCHED };
        if until > now {
            if is_to_be_measured(dam, began, &at_risk, now) {
                open.push(Open::Measure);
            }
            open.push(Open::Infection { until, at_risk });
        }
        let withdrawals = dam_figures::withdrawals(dam.case(), now).into_iter();
        open.extend(withdrawals.map(|(of, until)| Open::Withdrawal { of, until }));
    }
    open.extend(carcass(dam).map(|since| Open::Carcass { since }));
    let is_birth = dam.track(Mark::Calf).is_some();
    if is_birth && dam_figures::ease(dam.case()).is_none() {
        open.push(Open::Score);
    }
    open
}

/// Daily for ten days is common where it is done at all (facts.md M-09); here it is asked only of a dam at risk and
/// of one who was hot, for one reading says little.
fn is_to_be_measured(dam: &Dam, began: Moment, at_risk: &[Risk], now: Moment) -> bool {
    let readings = dam_figures::temperatures(dam.case());
    let last = readings.last().filter(|(at, _)| *at >= began);
    let hot = last.is_some_and(|(_, amount)| *amount >= FEVER);
    let taken = last.map_or(began, |(at, _)| *at);
    (hot || !at_risk.is_empty()) && now >= taken + MEASURED_EVERY
}

/// How long a dam without trouble is watched.
fn usual_watch(dam: &Dam, began: Moment) -> Span {
    dam.closes().map_or(dam.watched_after_birth(), |closes| closes.since(began))
}

fn ails(dam: &Dam, began: Moment, open: &mut Vec<Open>) {
    let since = |mark| dam.lasts(mark).map(|since: Moment| since.max(began));
    open.extend(since(Mark::Prolapse).map(|since| Open::Prolapse { since }));
    open.extend(since(Mark::Down).map(|since| Open::Down { since }));
    open.extend(since(Mark::Wobbly).map(|since| Open::Wobbly { since }));
    open.extend(since(Mark::OffFeed).map(|since| Open::OffFeed { since }));
    open.extend(since(Mark::Discharge).map(|since| Open::Discharge { since }));
}

/// Since when a carcass lies, as far as anybody said.
fn carcass(dam: &Dam) -> Option<Moment> {
    let dead = [Mark::CalfDead, Mark::DamDead].into_iter().filter_map(|mark| dam.track(mark));
    let collected = dam.track(Mark::Collected).map(|track| track.last);
    let since = dead.map(|track| track.last).max()?;
    collected.is_none_or(|at| at < since).then_some(since)
}

/// Whether she is to be let go, and when to ask again otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Closing {
    /// Nothing is waited for: she carries, or is closed.
    Never,
    NotBefore(Moment),
    /// Now, though this was never settled.
    Now(Vec<Open>),
}

/// She is let go when nothing is open about her, but not before her days are over; at the last without the
/// rest.
pub fn closing(dam: &Dam, now: Moment) -> Closing {
    let Some(began) = began(dam) else { return Closing::Never };
    match dam.stage {
        Stage::Third | Stage::Recovering => {}
        Stage::Carrying | Stage::First | Stage::Second | Stage::Closed => return Closing::Never,
    }
    let last = began + LET_GO_AT_LAST;
    let mut open = open(dam, now);
    open.retain(Open::holds);
    if now >= last {
        return Closing::Now(open);
    }
    if open.is_empty() && dam.stage == Stage::Recovering {
        return Closing::Now(open);
    }
    // What ends by itself may be all that holds her; what does not is told by somebody, and asked about then.
    let ends = open.iter().filter_map(Open::ends);
    // From then on a placenta that stays makes the days longer.
    let late = dam.track(Mark::Placenta).is_none().then_some(began + NOTICE);
    let next = ends.chain(late).filter(|at| *at > now).min();
    Closing::NotBefore(next.map_or(last, |next| next.min(last)))
}

/// For the diary: "10 days after the calf", and at the last what was never settled.
pub fn why_closed(days: i64, unsettled: &[Open]) -> String {
    let words: Vec<&str> = unsettled.iter().map(Open::word).collect();
    let rest = if words.is_empty() {
        String::new()
    } else {
        format!("; still open: {}", english::list(&words))
    };
    format!("{days} days after the calf{rest}")
}
