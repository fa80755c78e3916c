//! How a mark and its note are spoken of, in the words of the farm's species.
//!
//! The record keeps the names of the settings: only what is printed goes through here.

use crate::config::species_terms::Terms;
use crate::herd::sign::Mark;

/// "foal", "second lamb", "6th piglet", "mare up".
pub fn mark(terms: &Terms, mark: Mark, calf: Option<u8>) -> String {
    match calf.filter(|number| mark == Mark::SecondCalf && *number > 2) {
        Some(number) => format!("{} {}", ordinal(number), terms.young),
        None => terms.in_words(mark.word()),
    }
}

/// A note is the writer's own words, but that of a sex is a word of the record.
pub fn note<'w>(terms: &'w Terms, mark: Mark, note: &'w str) -> &'w str {
    if mark == Mark::Sex { terms.sex(note) } else { note }
}

/// "3rd", "11th", "22nd".
pub fn ordinal(number: u8) -> String {
    let end = match (number % 10, number % 100) {
        (1, tens) if tens != 11 => "st",
        (2, tens) if tens != 12 => "nd",
        (3, tens) if tens != 13 => "rd",
        _ => "th",
    };
    format!("{number}{end}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_is_spoken_of_in_the_words_of_the_species() {
        let (mare, sow, cow) = (Terms::of("horse"), Terms::of("pig"), Terms::of("cattle"));
        assert_eq!(mark(&mare, Mark::Calf, Some(1)), "foal");
        assert_eq!(mark(&mare, Mark::Risen, None), "mare up");
        assert_eq!(mark(&sow, Mark::SecondCalf, Some(2)), "second piglet");
        assert_eq!(mark(&sow, Mark::SecondCalf, Some(11)), "11th piglet");
        assert_eq!(mark(&sow, Mark::SecondCalf, Some(23)), "23rd piglet");
        assert_eq!(note(&mare, Mark::Sex, "heifer"), "filly foal");
        assert_eq!(note(&mare, Mark::Treated, "heifer"), "heifer", "somebody's own words");
        for one in Mark::ALL {
            assert_eq!(mark(&cow, one, None), one.word());
        }
    }
}
