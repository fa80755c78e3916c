//! Rules that remind the keeper of the book, by day, of what the law wants done for a calf.
//!
//! They are made of `config/countries.toml`, and only where the settings name a keeper. A duty that one
//! mark alone does not end stands in the book's own list instead.

use super::countries::{self, Duty, Within};
use super::farm::Farm;
use super::people::{Call, Ladder, Only, Rung};
use super::records::Records;
use crate::plain::moment::Span;

/// The ladder that reaches the keeper; a farm may write one of this name itself.
pub(super) const LADDER: &str = "record keeper";

/// How long before an hour's deadline the keeper is to be reminded: the twelve hours of a night may pass first,
/// and twelve are then left to do it in (common practice, no source).
const NOTICE_HOURS: i64 = 24;

/// When the keeper is reminded of what has weeks: before she is watched no longer.
const REMINDED_ON_DAY: i64 = 7;

/// The keeper's own ladder, by every line that the farm uses anyway.
pub(super) fn ladder(farm: &Farm, records: &Records, ladders: &[Ladder]) -> Option<Ladder> {
    let keeper = records.keeper.clone().filter(|_| !rules(farm, records).is_empty())?;
    if ladders.iter().any(|ladder| ladder.name == LADDER) {
        return None;
    }
    let by = ladders.first().and_then(|ladder| ladder.rungs.first()).map(|rung| rung.by.clone());
    let (call, wait) = (vec![Call::Person(keeper)], Span::hours(4));
    let rung = Rung { call, by: by?, wait, only: Only::default() };
    Some(Ladder { name: LADDER.to_owned(), rungs: vec![rung], again: Span::hours(24) })
}

/// The rules as a text of settings; empty where there is nothing to remind of.
pub(super) fn rules(farm: &Farm, records: &Records) -> String {
    if records.keeper.is_none() {
        return String::new();
    }
    let duties = countries::duties_of(&farm.country, &farm.species);
    duties.iter().filter(|duty| duty.times == 1).map(rule).collect()
}

fn rule(duty: &Duty) -> String {
    let Duty { what, done, source, .. } = duty;
    let named = |form: fn(&String) -> String| duty.purpose.as_ref().map_or(String::new(), form);
    let of = named(|purpose| format!(", {purpose}"));
    let only = named(|purpose| format!("purpose = \"{purpose}\"\n"));
    let limit = match duty.within {
        Within::Hours(hours) => format!("{}h", (hours - NOTICE_HOURS).max(1)),
        Within::Days(days) => format!("{}d", days.min(REMINDED_ON_DAY)),
    };
    let by = match duty.within {
        Within::Hours(hours) => format!("within {hours} h of the birth"),
        Within::Days(days) => format!("before day {}", days + 1),
    };
    format!(
        "[[rule]]\nname = \"{what}{of}\"\n{only}since = \"calf\"\nuntil = [\"{done}\", \"calf dead\"]\n\
         limit = \"{limit}\"\nby-day = true\nharm = \"minor\"\nonset = \"delayed\"\n\
         do = \"The law wants it {by}. Then answer {done}.\"\ntell = \"{LADDER}\"\nsource = \"{source}\"\n\n"
    )
}
