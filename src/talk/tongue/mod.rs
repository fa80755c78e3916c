//! The words that people answer with, one table a language.
//!
//! All words stand here in their plain form: lower case, no accents, no apostrophes ("cant"). The grammar knows none of
//! them by itself. A phrase is found before the shorter one that begins it. Adding a word here can only make more
//! understood: be sure that nobody means anything else by it.

mod english;
mod french;
mod german;
mod hands;
mod herds;
mod insides;
mod irish;
mod rotas;
mod spanish;

pub(super) use english::ENGLISH;

use super::words::Words;
use crate::config::people::Language;

/// Every language with its table.
pub(super) const ALL: [(Language, &Words); 5] = [
    (Language::English, &ENGLISH),
    (Language::IrishEnglish, &irish::IRISH),
    (Language::Spanish, &spanish::SPANISH),
    (Language::German, &german::GERMAN),
    (Language::French, &french::FRENCH),
];

pub(super) fn of(language: Language) -> &'static Words {
    match language {
        Language::English => &ENGLISH,
        Language::IrishEnglish => &irish::IRISH,
        Language::Spanish => &spanish::SPANISH,
        Language::German => &german::GERMAN,
        Language::French => &french::FRENCH,
    }
}

#[cfg(test)]
mod tests {
    use super::super::spelling;
    use super::super::words::{Phrase::*, has, longest};
    use super::*;
    use crate::herd::sign::Mark;

    #[test]
    fn every_word_stands_in_its_plain_form() {
        for (language, table) in ALL {
            let lists = table.going.iter().map(|list| list.1);
            let lists = lists.chain(table.pass.iter().map(|list| list.1));
            let lists = lists.chain(table.marks.iter().map(|list| list.1));
            for phrase in lists.flat_map(|list| list.split(", ")) {
                assert_eq!(spelling::folded(phrase), phrase, "{language:?}");
                assert_eq!(
                    phrase.split_whitespace().collect::<Vec<_>>().join(" "),
                    phrase,
                    "{language:?}"
                );
                assert!(!phrase.contains(['\'', '’', '-', ',', '.']), "{phrase}");
            }
        }
    }

    #[test]
    fn no_phrase_means_two_things() {
        for (language, table) in ALL {
            let mut seen = std::collections::BTreeSet::new();
            for phrase in table.marks.iter().flat_map(|list| list.1.split(", ")) {
                assert!(seen.insert(phrase), "{language:?}: {phrase}");
            }
            for phrase in table.going.iter().flat_map(|list| list.1.split(", ")) {
                assert!(seen.insert(phrase), "{language:?}: {phrase}");
            }
            for phrase in table.pass.iter().flat_map(|list| list.1.split(", ")) {
                assert!(seen.insert(phrase), "{language:?}: {phrase}");
            }
        }
    }

    #[test]
    fn every_mark_can_be_said() {
        for (language, table) in ALL {
            for mark in Mark::ALL {
                let said = table.marks.iter().any(|(phrase, _)| match phrase {
                    Is(is) | Noted(is, _) => *is == mark,
                    Which(number) => *number == 2 && mark == Mark::SecondCalf,
                    CalfOf(_) => matches!(mark, Mark::Calf | Mark::Sex),
                    Up => mark == Mark::Up,
                    Dead => matches!(mark, Mark::CalfDead | Mark::DamDead),
                    Calf => mark == Mark::Calf,
                    Down => mark == Mark::Down,
                    Looked | Nothing => mark == Mark::Seen,
                    Bull | Dam | She | Filler | Never => false,
                });
                assert!(said, "{language:?}: {}", mark.word());
            }
        }
    }

    #[test]
    fn the_longest_phrase_is_found() {
        let words = ["water", "bag", "burst", "now"];
        let found = longest(ENGLISH.marks, &words);
        assert_eq!(found, Some((Is(Mark::WaterBag), 3)));
        assert_eq!(longest(ENGLISH.marks, &["wall"]), None);
        assert!(has(ENGLISH.and, "&") && !has(ENGLISH.and, "a"));
    }
}
