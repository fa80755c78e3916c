//! What cannot be so, or hardly: said with its reason before it stands in the book (needs.md N102).
//!
//! It refuses nothing by itself and corrects nothing; whoever asks decides whom to tell.

use jiff::civil::Date;

use crate::config::animals::AnimalRow;
use crate::config::shipped::CATTLE;
use crate::config::species::Species;
use crate::plain::moment::{Moment, Span};

/// What is wrong with an entry, and the way out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// It cannot be: else it is only asked about.
    pub refused: bool,
    pub what: String,
    pub way_out: String,
}

/// The usual days of cattle, where a species says none (facts.md G-01), and against which the shares below are.
const CATTLE_DAYS: i32 = 283;
/// An earlier birth of cattle is an abortion (facts.md E-09: 120 to 260 days); of others the same share of their
/// carrying (arithmetic from it, no source).
const CALF_NOT_BEFORE: i32 = 120;
/// Beyond every gestation of cattle in the facts file (G-26: 296 days at most) and the width of a service that
/// nobody saw: so many days past the middle, of others too (common practice, no source).
const LATE: i32 = 37;

/// Clocks of people and machines disagree by minutes, not by hours.
const AHEAD: Span = Span::minutes(10);

/// Of cattle alone: no such figures are known here of others. Triplets of the facts file weigh 67.5 lb on average (E-19), a hard birth begins at 36 kg (E-20): what
/// lies outside is asked about (common practice, no source).
const WEIGHT_GRAMS: std::ops::RangeInclusive<i64> = 10_000..=90_000;

/// Ages at calving: a heifer served early, and her gestation; of others the same share (common practice, no source).
const DAM_NOT_UNDER: i32 = 450;

/// Days that hold for the farm's species.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// A birth before this day is lost before term.
    pub not_before: i32,
    /// Nobody carries longer.
    pub not_after: i32,
    /// No dam gives birth younger.
    pub dam_not_under: i32,
}

impl Bounds {
    pub fn of(species: &Species) -> Self {
        let mean = species.gestation.mean.as_ref().map(|figure| figure.days.nearest());
        let mean = mean.and_then(|days| i32::try_from(days).ok()).unwrap_or(CATTLE_DAYS);
        Self {
            not_before: CALF_NOT_BEFORE * mean / CATTLE_DAYS,
            not_after: mean + LATE,
            dam_not_under: DAM_NOT_UNDER * mean / CATTLE_DAYS,
        }
    }
}

/// The longest of a tag that people read aloud.
const TAG_MAX: usize = 24;

fn refused(what: String, way_out: &str) -> Wrong {
    Wrong { refused: true, what, way_out: way_out.to_owned() }
}

fn asked(what: String, way_out: &str) -> Wrong {
    Wrong { refused: false, what, way_out: way_out.to_owned() }
}

/// A birth of this dam on that day: against the day she was served and her own age.
pub fn birth(row: &AnimalRow, day: Date, species: &Species) -> Vec<Wrong> {
    let bounds = Bounds::of(species);
    let mut wrong = Vec::new();
    if let Some((from, until)) = row.served {
        let most = days(from, day);
        let least = days(until, day);
        if most < 0 {
            let what = format!("{} calved on {day}, before she was served on {from}", row.animal);
            wrong.push(refused(what, "look at her number and at both dates"));
        } else if most < bounds.not_before {
            let what = format!("{} calved on day {most}: too early for a calf", row.animal);
            wrong.push(asked(what, "was she aborting, or is it another dam, or served before?"));
        } else if least > bounds.not_after {
            let what = format!("{} calved on day {least}: nobody carries so long", row.animal);
            wrong.push(asked(what, "was she served again later? put the day into the herd file"));
        }
    }
    if let Some(born) = row.born {
        let age = days(born, day);
        if age < 0 {
            let what = format!("{} calved on {day}, before she was born on {born}", row.animal);
            wrong.push(refused(what, "look at her number and at both dates"));
        } else if age < bounds.dam_not_under {
            let what = format!("{} was {age} days old when she calved", row.animal);
            wrong.push(asked(what, "is it another dam, or is her birthday wrong?"));
        }
    }
    if NOT_DAMS.contains(&own(row, "sex").as_str()) {
        let what = format!("{} is no female in the herd file", row.animal);
        wrong.push(refused(what, "look at the number"));
    }
    wrong
}

/// What a herd file's own column "sex" says of who cannot calve.
const NOT_DAMS: [&str; 7] = ["m", "male", "b", "bull", "steer", "bullock", "ox"];

fn own(row: &AnimalRow, column: &str) -> String {
    let found = row.own.iter().find(|(name, _)| name == column);
    found.map_or(String::new(), |(_, cell)| cell.to_lowercase())
}

/// Something noted as having been at that moment.
pub fn time(at: Moment, now: Moment) -> Option<Wrong> {
    (at > now + AHEAD).then(|| {
        refused("that is yet to come".to_owned(), "look at the day and the hour, and say it again")
    })
}

/// A calf's weight at birth.
pub fn birth_weight(grams: i64, species: &Species) -> Option<Wrong> {
    if species.name != CATTLE || WEIGHT_GRAMS.contains(&grams) {
        return None;
    }
    let what = format!("{} kg is no usual weight of a calf at birth", grams / 1000);
    Some(asked(what, "was it in pounds? say it again with its unit, such as weight 38 kg"))
}

/// A calf's new tag, against those that are worn already, each with whose it is.
pub fn tag<'t>(new: &str, worn: impl IntoIterator<Item = (&'t str, &'t str)>) -> Option<Wrong> {
    if new.chars().count() > TAG_MAX {
        let what = format!("a tag has at most {TAG_MAX} letters");
        return Some(refused(what, "read it again"));
    }
    let same = |one: &str| !new.is_empty() && one.eq_ignore_ascii_case(new);
    let (_, whose) = worn.into_iter().find(|(one, _)| same(one))?;
    let what = format!("the tag {new} is worn already: {whose}");
    Some(refused(what, "read it again; if it is right, mend the other one first"))
}

/// Days elapsed from one to the other: the day itself is 0 (facts.md D-01).
pub fn days(from: Date, until: Date) -> i32 {
    (until - from).get_days()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::species::{Days, Figure};
    use jiff::civil::date;

    fn species(name: &str, mean: i64) -> Species {
        let mut species = Species { name: name.to_owned(), ..Species::default() };
        species.gestation.mean = Some(Figure { days: Days::whole(mean), ..Figure::default() });
        species
    }

    /// Sources: facts.md O-03, O-05 and O-07 (reference works and extension services: a mare's 322 to 345 days, a
    /// sow's 109 to 119, an alpaca's past 355).
    #[test]
    fn a_mare_may_carry_a_year_and_a_sow_four_months() {
        let mare = Bounds::of(&species("horse", 340));
        assert!(mare.not_after > 345 && mare.not_before < 320, "{mare:?}");
        assert!(Bounds::of(&species("alpaca", 343)).not_after > 355);
        let sow = Bounds::of(&species("pig", 115));
        assert!(sow.not_before < 109 && (120..200).contains(&sow.not_after), "{sow:?}");
        assert_eq!(birth_weight(1_400, &species("pig", 115)), None, "the range is of cattle");
    }

    fn row() -> AnimalRow {
        AnimalRow {
            animal: "114".into(),
            served: Some((date(2026, 2, 14), date(2026, 2, 14))),
            born: Some(date(2024, 2, 11)),
            ..AnimalRow::default()
        }
    }

    fn of(day: Date) -> Vec<(bool, String)> {
        birth(&row(), day, &species("cattle", 283))
            .into_iter()
            .map(|wrong| (wrong.refused, wrong.what))
            .collect()
    }

    #[test]
    fn a_calf_before_its_service_is_refused_and_one_of_day_hundred_and_nineteen_asked_about() {
        let early = (true, "114 calved on 2026-02-13, before she was served on 2026-02-14".into());
        assert_eq!(of(date(2026, 2, 13)), [early]);
        let asked = (false, "114 calved on day 119: too early for a calf".into());
        assert_eq!(of(date(2026, 6, 13)), [asked]);
        assert_eq!(of(date(2026, 6, 14)), []);
        assert_eq!(of(date(2026, 11, 24)), [], "day 283");
        assert_eq!(of(date(2026, 12, 31)), [], "day 320");
        let late = (false, "114 calved on day 321: nobody carries so long".into());
        assert_eq!(of(date(2027, 1, 1)), [late]);
    }

    #[test]
    fn who_was_not_born_or_is_a_bull_does_not_calve() {
        let cattle = species("cattle", 283);
        let mut row = AnimalRow { served: None, ..row() };
        assert!(birth(&row, date(2024, 2, 10), &cattle)[0].refused);
        assert!(!birth(&row, date(2025, 5, 5), &cattle)[0].refused, "449 days old: asked");
        row.own = vec![("sex".to_owned(), "Bull".to_owned())];
        assert_eq!(
            birth(&row, date(2026, 11, 24), &cattle)[0].what,
            "114 is no female in the herd file"
        );
    }

    #[test]
    fn a_tag_is_worn_once_and_nothing_is_told_of_tomorrow() {
        let worn = [("IE0451", "the calf of 114")];
        assert!(tag("ie0451", worn).is_some_and(|wrong| wrong.refused));
        assert_eq!(tag("IE0452", worn), None);
        assert_eq!(tag("", [("", "the calf of 114")]), None, "no tag is no tag twice");
        let now = Moment::from_seconds(1_000_000);
        assert_eq!(time(now + Span::minutes(10), now), None);
        assert!(time(now + Span::minutes(11), now).is_some());
    }

    #[test]
    fn a_weight_outside_ten_to_ninety_kilograms_is_asked_about() {
        for (grams, is_asked) in [(9_999, true), (10_000, false), (90_000, false), (90_001, true)] {
            let asked = birth_weight(grams, &species("cattle", 283));
            assert_eq!(asked.is_some_and(|wrong| !wrong.refused), is_asked);
        }
    }
}
