//! Reads `[calls]`: how calls are kept few: when small matters are told, and how many messages are too many.
//! Whom a ladder calls is not its business.

use jiff::civil::Time;

use super::dates;
use super::tree::Table;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// `[calls]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calls {
    /// When what can wait is told, in one list: in order, never empty.
    pub lists: Vec<Time>,
    /// Messages about what is not urgent that one person gets in an hour; more are gathered into one.
    pub at_most: usize,
    /// How long by night a matter that threatens no life waits for a call that must be made anyway.
    pub company: Span,
    /// The hours of every day in which somebody must be on duty and somebody else must back them up; the same time
    /// twice is the whole day. `None`: the farm does not say.
    pub covered: Option<(Time, Time)>,
    /// How long after a change of shift whoever had the last one is still called for what nobody has answered.
    pub overlap: Span,
    /// Whoever comes on duty is told what is open.
    pub handover: bool,
    /// Whoever may be called is asked to show that calls reach them, and is no cover until then.
    pub welcome: bool,
    /// How long it is taken for proven that they do.
    pub proven_for: Span,
}

/// The two rounds of a yard's day (common practice, no source).
const LISTS: [Time; 2] = [jiff::civil::time(8, 0, 0, 0), jiff::civil::time(17, 0, 0, 0)];
/// From eight in the morning to eight at night it is day (common practice, no source).
pub const MORNING: i8 = 8;
pub const EVENING: i8 = 20;

/// Whether it is day by the clock on the wall.
pub fn is_day(zone: &Zone, at: Moment) -> bool {
    (MORNING..EVENING).contains(&zone.wall(at).hour())
}

/// "Very likely acceptable" is one alarm in ten minutes for one person (standards.md AL-02).
const AT_MOST: usize = 6;
const LISTS_MAX: usize = 6;
/// Time to hand over in the yard (common practice, no source).
const OVERLAP: Span = Span::minutes(15);
/// A telephone number, a contract, a job may change in two months (needs.md N70).
const PROVEN_FOR: Span = Span::days(60);
const PROVEN_FOR_MIN: Span = Span::days(7);
const PROVEN_FOR_MAX: Span = Span::days(400);
const OVERLAP_MAX: Span = Span::hours(2);
const COMPANY_MAX: Span = Span::hours(1);

impl Default for Calls {
    fn default() -> Self {
        Self {
            lists: LISTS.to_vec(),
            at_most: AT_MOST,
            company: Span::ZERO,
            covered: None,
            overlap: OVERLAP,
            handover: true,
            welcome: true,
            proven_for: PROVEN_FOR,
        }
    }
}

impl Calls {
    pub(super) fn read(table: Table<'_>) -> Self {
        let usual = Self::default();
        let lists = lists(&table).unwrap_or(usual.lists);
        let at_most = table.value("at-most").and_then(|value| value.whole(1..=1_000));
        let at_most = at_most.and_then(|most| usize::try_from(most).ok());
        let company = table.span("company", usual.company, Span::ZERO..=COMPANY_MAX);
        let covered = covered(&table);
        let overlap = table.span("overlap", usual.overlap, Span::ZERO..=OVERLAP_MAX);
        let handover = table.flag("handover").unwrap_or(usual.handover);
        let welcome = table.flag("welcome").unwrap_or(usual.welcome);
        let within = PROVEN_FOR_MIN..=PROVEN_FOR_MAX;
        let proven_for = table.span("proven-for", usual.proven_for, within);
        table.done();
        let at_most = at_most.unwrap_or(usual.at_most);
        Self { lists, at_most, company, covered, overlap, handover, welcome, proven_for }
    }

    /// The next time of a list after a moment, by the clock on the wall: a skipped time is moved on by the gap, a
    /// doubled one is its first pass (RFC 5545 section 3.3.5).
    pub fn next_list(&self, zone: &Zone, after: Moment) -> Moment {
        let mut day = zone.wall(after).date();
        for _ in 0..3 {
            let times = self.lists.iter().map(|time| zone.instant(day.to_datetime(*time)));
            if let Some(at) = times.filter(|at| *at > after).min() {
                return at;
            }
            let Ok(tomorrow) = day.tomorrow() else { break };
            day = tomorrow;
        }
        // At the end of the calendar there is no tomorrow.
        after + Span::hours(12)
    }
}

fn covered(table: &Table<'_>) -> Option<(Time, Time)> {
    let text = table.text("covered")?;
    if text.is == "always" {
        return Some((Time::midnight(), Time::midnight()));
    }
    let hours = dates::shift(&text.is);
    if hours.is_none() {
        let title = format!("{} are not hours", text.is);
        table.faults().refuse(
            &text.at,
            title,
            "write \"always\", or hours such as \"18:00-08:00\"",
        );
    }
    hours
}

fn lists(table: &Table<'_>) -> Option<Vec<Time>> {
    let value = table.value("lists")?;
    let (mut times, texts) = (Vec::new(), table.texts("lists"));
    for text in &texts {
        match dates::time_of_day(&text.is) {
            Some(time) => times.push(time),
            None => {
                let title = format!("{} is not a time of day", text.is);
                table.faults().refuse(
                    &text.at,
                    title,
                    "write it like 08:00, in the farm's own time",
                );
            }
        }
    }
    times.sort_unstable();
    times.dedup();
    if times.is_empty() && !texts.is_empty() {
        return None;
    }
    if times.is_empty() || times.len() > LISTS_MAX {
        let help =
            "what can wait must be told some time: give one to six, such as [\"08:00\", \"17:00\"]";
        value.refuse("there must be a time for small matters, and not too many", help);
        return None;
    }
    Some(times)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn next(zone: &str, after: &str) -> String {
        let zone = Zone::named(zone).unwrap();
        Calls::default().next_list(&zone, Moment::from_rfc3339(after).unwrap()).rfc3339()
    }

    /// The clocks of Dublin went on at 01:00 UTC on 29 March 2026 (standards.md TZ-01).
    #[test]
    fn a_list_comes_by_the_clock_on_the_wall() {
        assert_eq!(next("Europe/Dublin", "2026-11-25T07:59:59Z"), "2026-11-25T08:00:00Z");
        assert_eq!(next("Europe/Dublin", "2026-11-25T08:00:00Z"), "2026-11-25T17:00:00Z");
        assert_eq!(next("Europe/Dublin", "2026-11-25T22:00:00Z"), "2026-11-26T08:00:00Z");
        assert_eq!(next("Europe/Dublin", "2026-03-28T22:00:00Z"), "2026-03-29T07:00:00Z");
    }

    /// 02:15 is skipped and 01:45 comes twice (rows GF-05 and GF-06 of the project's standards notes).
    #[test]
    fn a_skipped_list_is_moved_on_and_a_doubled_one_comes_once() {
        let lord_howe = Zone::named("Australia/Lord_Howe").unwrap();
        let at = |text| Moment::from_rfc3339(text).unwrap();
        let calls = |hour, minute| Calls {
            lists: vec![jiff::civil::time(hour, minute, 0, 0)],
            ..Calls::default()
        };
        let skipped = calls(2, 15).next_list(&lord_howe, at("2026-10-03T12:00:00Z"));
        assert_eq!(skipped, at("2026-10-03T15:45:00Z"));
        let doubled = calls(1, 45);
        let first = doubled.next_list(&lord_howe, at("2026-04-04T12:00:00Z"));
        assert_eq!(first, at("2026-04-04T14:45:00Z"));
        assert_eq!(doubled.next_list(&lord_howe, first), at("2026-04-05T15:15:00Z"));
    }
}
