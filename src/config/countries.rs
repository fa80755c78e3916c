//! What the law of a country wants done for a calf, and by when: the rows of `config/countries.toml`.
//!
//! A country without a row has no deadline here, and nobody guesses one. The program is no lawyer.

use serde::Deserialize;

use super::shipped::CATTLE;

/// The shipped rows.
const ROWS: &str = include_str!("../../config/countries.toml");

/// One thing to be done for every calf.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Duty {
    pub what: String,
    /// For calves of "dairy" or "beef" dams alone; `None` for all.
    pub purpose: Option<String>,
    pub within: Within,
    /// The mark that ends it, and how often it must have been made.
    pub done: String,
    pub times: u32,
    pub source: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Within {
    /// From the earliest moment at which the calf may have been born.
    Hours(i64),
    /// Whole days after the day of birth, to the end of the last.
    Days(i64),
}

#[derive(Deserialize)]
struct Written {
    duty: Vec<WrittenDuty>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenDuty {
    country: String,
    what: String,
    #[serde(default)]
    purpose: Option<String>,
    within: String,
    done: String,
    times: u32,
    source: String,
}

/// What is to be done for a calf in that country; nothing where no row names it.
pub fn duties(country: &str) -> Vec<Duty> {
    // Our own text: a test reads every row of it.
    let rows = toml::from_str::<Written>(ROWS).map(|written| written.duty).unwrap_or_default();
    rows.into_iter().filter(|row| row.country == country).filter_map(duty).collect()
}

/// The same for a farm of that species: the rows are the law of cattle, and of others none is known here.
pub fn duties_of(country: &str, species: &str) -> Vec<Duty> {
    if species == CATTLE { duties(country) } else { Vec::new() }
}

fn duty(row: WrittenDuty) -> Option<Duty> {
    Some(Duty {
        within: within(&row.within)?,
        what: row.what,
        purpose: row.purpose,
        done: row.done,
        times: row.times,
        source: row.source,
    })
}

fn within(text: &str) -> Option<Within> {
    let number = |unit: char| text.strip_suffix(unit)?.parse::<i64>().ok();
    number('h').map(Within::Hours).or_else(|| number('d').map(Within::Days))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::words::MARKS;

    #[test]
    fn every_row_is_read_and_says_whence_it_is() {
        let written: Written = toml::from_str(ROWS).unwrap();
        assert!(!written.duty.is_empty());
        for row in written.duty {
            let what = row.what.clone();
            assert!(row.source.contains("N108"), "{what}");
            assert!(MARKS.contains(&row.done.as_str()), "{what}");
            assert!(matches!(row.purpose.as_deref(), None | Some("dairy" | "beef")), "{what}");
            assert!(duty(row).is_some(), "{what}");
        }
    }

    #[test]
    fn the_united_kingdom_wants_what_its_guidance_says_and_an_unknown_country_nothing() {
        // needs.md N108, the government's guidance for keepers: dairy first tag before 36 h, second
        // before 21 days; beef both before 21 days.
        let of = |purpose: &str| -> Vec<(String, Within)> {
            let fits = |duty: &Duty| duty.purpose.as_deref().is_none_or(|one| one == purpose);
            duties("GB").into_iter().filter(fits).map(|duty| (duty.what, duty.within)).collect()
        };
        let row = |what: &str, within| (what.to_owned(), within);
        assert_eq!(
            of("dairy"),
            [
                row("first ear tag", Within::Hours(36)),
                row("second ear tag", Within::Days(20)),
                row("registration", Within::Days(27)),
            ]
        );
        assert_eq!(
            of("beef"),
            [row("both ear tags", Within::Days(20)), row("registration", Within::Days(27))]
        );
        assert_eq!(duties("IE"), []);
        assert_eq!(duties(""), []);
        assert_eq!(duties_of("GB", "sheep"), [], "the rows are of cattle");
        assert_eq!(duties_of("GB", "cattle"), duties("GB"));
    }
}
