//! What the law wants done for a calf, by when, and whether it has been done.
//!
//! It counts from the earliest moment at which the calf may have been born: a deadline is never later
//! than the truth. It reminds nobody by itself.

use jiff::ToSpan as _;

use super::calf::Born;
use super::case::Case;
use super::sign::Mark;
use crate::config::countries::{Duty, Within};
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// Whether a birth still wants its ease score: it is not closed without one (needs.md N107).
pub fn wants_a_score(case: &Case) -> bool {
    let figure = |note: &str| note.starts_with(|c: char| c.is_ascii_digit());
    !case.calves().is_empty() && !case.of(Mark::Helped).any(|noted| figure(&noted.note))
}

/// One thing to be done for one calf.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Owed {
    /// Which calf of this birth, from 1.
    pub calf: u8,
    pub what: String,
    /// It must be done before this.
    pub until: Moment,
    pub done: bool,
    /// Nobody said when the calf was born: the deadline is of the earliest it may have been.
    pub guessed: bool,
}

/// What is owed for the living calves of a birth, the most pressing first. A calf that has died is owed
/// no tag; what else the law wants for it stands with whoever collects it.
pub fn owed(case: &Case, purpose: &str, duties: &[Duty], zone: &Zone) -> Vec<Owed> {
    let mut owed = Vec::new();
    for (n, calf) in case.calves().iter().enumerate().filter(|(_, calf)| !calf.is_dead()) {
        let number = u8::try_from(n + 1).unwrap_or(u8::MAX);
        for duty in duties.iter().filter(|duty| holds(duty, purpose)) {
            owed.push(Owed {
                calf: number,
                what: duty.what.clone(),
                until: until(duty.within, earliest(calf.born), zone),
                done: times_done(case, number, duty) >= duty.times,
                guessed: !calf.born.said,
            });
        }
    }
    owed.sort_by_key(|one| (one.until, one.calf));
    owed
}

/// Whether a duty holds for her calves. Of a dam whose purpose nobody wrote down all of them hold: a
/// reminder too many is better than a fine.
fn holds(duty: &Duty, purpose: &str) -> bool {
    purpose.is_empty() || duty.purpose.as_deref().is_none_or(|one| one == purpose)
}

/// When it was born at the earliest.
fn earliest(born: Born) -> Moment {
    if born.said { born.at } else { born.not_before.unwrap_or(born.at) }
}

fn until(within: Within, born: Moment, zone: &Zone) -> Moment {
    match within {
        Within::Hours(hours) => born + Span::hours(hours),
        Within::Days(days) => {
            let day = zone.wall(born).date();
            let after = day.checked_add((days + 1).days()).unwrap_or(day);
            zone.instant(after.at(0, 0, 0, 0))
        }
    }
}

fn times_done(case: &Case, calf: u8, duty: &Duty) -> u32 {
    let Some(mark) = Mark::of_word(&duty.done) else { return 0 };
    let of_it = |number: Option<u8>| number.is_none_or(|number| number == calf);
    let times = case.of(mark).filter(|noted| of_it(noted.calf)).map(|noted| {
        // Both put in at once: "tagged both IE0451".
        let both = noted.note.split_whitespace().any(|word| word.eq_ignore_ascii_case("both"));
        if both { 2 } else { 1 }
    });
    times.sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::countries::duties;
    use crate::herd::noted::Noted;

    fn london() -> Zone {
        Zone::named("Europe/London").unwrap()
    }

    fn case(marks: &[(Mark, &str, &str)]) -> Case {
        let mut case = Case::default();
        for (mark, at, note) in marks {
            let at = Moment::from_rfc3339(at).unwrap();
            let noted = Noted { note: (*note).to_owned(), timed: true, ..Noted::bare(*mark, at) };
            let _ = case.note(noted);
        }
        case
    }

    fn shown(case: &Case, purpose: &str) -> Vec<(String, String, bool)> {
        let list = owed(case, purpose, &duties("GB"), &london());
        let row = |one: Owed| (one.what, london().date_and_clock(one.until), one.done);
        list.into_iter().map(row).collect()
    }

    fn row(what: &str, until: &str, done: bool) -> (String, String, bool) {
        (what.to_owned(), until.to_owned(), done)
    }

    #[test]
    fn a_dairy_calf_wears_one_tag_within_thirty_six_hours_and_two_before_day_twenty_one() {
        // needs.md N108 (the government's guidance for keepers). Born on the 1st, the 21st is day 20.
        let born = [(Mark::Calf, "2026-03-01T02:10:00Z", "")];
        assert_eq!(
            shown(&case(&born), "dairy"),
            [
                row("first ear tag", "2026-03-02 14:10", false),
                row("second ear tag", "2026-03-22 00:00", false),
                row("registration", "2026-03-29 00:00", false),
            ]
        );
        let once = [born[0], (Mark::Tagged, "2026-03-01T10:00:00Z", "UK0451")];
        let done: Vec<bool> = shown(&case(&once), "dairy").iter().map(|row| row.2).collect();
        assert_eq!(done, [true, false, false]);
        let both = [born[0], (Mark::Tagged, "2026-03-01T10:00:00Z", "both UK0451")];
        let done: Vec<bool> = shown(&case(&both), "dairy").iter().map(|row| row.2).collect();
        assert_eq!(done, [true, true, false]);
    }

    #[test]
    fn a_beef_calf_has_both_before_day_twenty_one_and_a_dead_one_owes_nothing() {
        let born = [(Mark::Calf, "2026-03-01T02:10:00Z", "")];
        assert_eq!(
            shown(&case(&born), "beef"),
            [
                row("both ear tags", "2026-03-22 00:00", false),
                row("registration", "2026-03-29 00:00", false),
            ]
        );
        let dead = [born[0], (Mark::CalfDead, "2026-03-01T04:00:00Z", "")];
        assert_eq!(shown(&case(&dead), "beef"), []);
        assert_eq!(owed(&case(&born), "beef", &duties("IE"), &london()), []);
    }

    #[test]
    fn a_birth_wants_a_score_until_it_has_a_figure() {
        // needs.md N107.
        let born = (Mark::Calf, "2026-03-01T02:10:00Z", "");
        let helped = |note| (Mark::Helped, "2026-03-01T02:20:00Z", note);
        assert!(!wants_a_score(&case(&[])), "no calf, no score");
        assert!(wants_a_score(&case(&[born])));
        assert!(wants_a_score(&case(&[born, helped("")])), "helped, but how much?");
        assert!(!wants_a_score(&case(&[born, helped("2")])));
    }

    #[test]
    fn a_deadline_counts_from_the_earliest_the_calf_may_have_been_born() {
        let mut case = Case::default();
        let at = |text| Moment::from_rfc3339(text).unwrap();
        let _ = case.note(Noted::bare(Mark::Seen, at("2026-03-01T00:00:00Z")));
        let _ = case.note(Noted::bare(Mark::Calf, at("2026-03-01T06:00:00Z")));
        let first = &owed(&case, "dairy", &duties("GB"), &london())[0];
        assert_eq!(first.until, at("2026-03-02T12:00:00Z"));
        assert!(first.guessed);
    }
}
