//! Which clocks run: when each began, and whether anything has stopped it. A clock that a birth starts and
//! a mark of a calf stops is each calf's own.
//!
//! It knows no limit; how long is too long is asked of the rule.

use super::book::Start;
use crate::config::rules::From;
use crate::herd::calf::Calf;
use crate::herd::dam::Dam;
use crate::herd::sign::Mark;
use crate::plain::moment::Moment;

/// A clock that nothing has stopped yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Running {
    pub(super) began: Moment,
    /// Which calf's it is, where she has more than one.
    pub(super) calf: Option<u8>,
}

/// When her clock began, if it runs.
pub(super) fn of_dam(dam: &Dam, since: &[Start], from: From, until: &[Start]) -> Option<Moment> {
    if until.iter().any(|stop| stopped(dam, stop)) {
        return None;
    }
    began(dam, since, from)
}

/// The clocks of her living calves, in the order of birth. Where no calf is meant by what starts it but the
/// second, the first has none.
pub(super) fn of_calves(dam: &Dam, since: &[Start], until: &[Start]) -> Vec<Running> {
    let calves = dam.calves();
    let every = since.contains(&Start::Mark(Mark::Calf));
    let several = calves.len() > 1;
    (1_u8..)
        .zip(calves)
        .filter(|(number, calf)| (every || *number > 1) && !calf.is_dead())
        .filter(|(_, calf)| !until.iter().any(|stop| stopped_for(dam, calf, stop)))
        .map(|(number, calf)| Running { began: calf.born.at, calf: several.then_some(number) })
        .collect()
}

/// When the clock began: the earliest of its starts, or the latest.
fn began(dam: &Dam, starts: &[Start], from: From) -> Option<Moment> {
    let moments = starts.iter().filter_map(|start| match start {
        Start::Mark(mark) => dam.track(*mark).map(|track| match from {
            From::First => track.first,
            From::Last => track.last,
        }),
        Start::Stage(stage) => dam.entered(*stage),
        Start::Sign(sign) => dam.counted(sign).map(|track| match from {
            From::First => track.first,
            From::Last => track.last,
        }),
    });
    match from {
        From::First => moments.min(),
        From::Last => moments.max(),
    }
}

fn stopped_for(dam: &Dam, calf: &Calf, stop: &Start) -> bool {
    match stop {
        Start::Mark(mark) if mark.is_of_a_calf() => calf.marked(*mark).is_some(),
        Start::Mark(_) | Start::Stage(_) | Start::Sign(_) => stopped(dam, stop),
    }
}

fn stopped(dam: &Dam, stop: &Start) -> bool {
    match stop {
        Start::Mark(mark) => dam.track(*mark).is_some(),
        Start::Stage(stage) => dam.stage >= *stage,
        Start::Sign(sign) => dam.counted(sign).is_some(),
    }
}
