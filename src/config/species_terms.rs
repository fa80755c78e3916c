//! A species' words for dam, young and birth, and how long a dam is watched after one.
//!
//! Marks and stages keep one name in rules and settings whatever the species ("calf" is a mark's name); only
//! what people read is put into the words of their animals. What people themselves have written is never
//! changed.

use serde::{Deserialize, Serialize};

use super::faults::{Faults, Place};
use super::shipped;
use super::tree::{Table, Tree};
use crate::plain::moment::Span;

/// `config/species/words/NAME.toml`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Terms {
    pub dam: String,
    /// A dam before her first birth.
    pub maiden: String,
    pub young: String,
    pub many: String,
    pub male: String,
    pub female: String,
    pub birth: String,
    /// "calved".
    pub bore: String,
    pub spans: Spans,
    /// Where the two spans were taken from.
    pub sources: [String; 2],
}

/// How long a dam is watched, and how far apart two births of hers are at least.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Spans {
    pub after_birth: Span,
    /// From when she was let go.
    pub between_births: Span,
}

impl Default for Spans {
    /// Of cattle: to day ten (common practice, no source); and shorter than any gestation of cattle (facts.md
    /// G-26: 262 days at the least). `config/species/words/cattle.toml` says the same; a test holds it.
    fn default() -> Self {
        Self { after_birth: Span::days(10), between_births: Span::days(200) }
    }
}

impl Spans {
    /// For a record that need not say what every dam of cattle has.
    pub fn are_usual(&self) -> bool {
        *self == Self::default()
    }
}

/// No dam is watched longer for one birth, and none carries longer.
const SPAN_MAX: Span = Span::days(400);

/// Days as a word, where people say one.
const DAYS: [&str; 13] = [
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve",
];

impl Terms {
    /// Of a species that the program knows; of cattle for any other word.
    pub fn of(species: &str) -> Self {
        Self::read(species, &Faults::default())
    }

    fn read(species: &str, faults: &Faults) -> Self {
        let place = Place { file: species.into(), span: None };
        let tree = Tree::read_shipped(species, shipped::words_of(species), place, faults);
        let root = tree.root(faults);
        let words = root.table("words");
        let word = |key: &'static str| {
            let text = words.as_ref().and_then(|words| words.needed(key, "every species has one"));
            text.map(|text| text.is).unwrap_or_default()
        };
        let watch = root.table("watch");
        let usual = Spans::default();
        let watch = watch.as_ref();
        let (after_birth, after_source) = span(watch, "after-birth", usual.after_birth);
        let (between_births, between_source) = span(watch, "between-births", usual.between_births);
        Self {
            dam: word("dam"),
            maiden: word("maiden"),
            young: word("young"),
            many: word("many"),
            male: word("male"),
            female: word("female"),
            birth: word("birth"),
            bore: word("bore"),
            spans: Spans { after_birth, between_births },
            sources: [after_source, between_source],
        }
    }

    /// A text of the program's own, written of cattle, in the words of this species.
    pub fn in_words(&self, text: &str) -> String {
        let mut said = String::with_capacity(text.len());
        let mut word = String::new();
        for letter in text.chars() {
            if letter.is_alphanumeric() {
                word.push(letter);
                continue;
            }
            said.push_str(self.word(&word));
            word.clear();
            said.push(letter);
        }
        said.push_str(self.word(&word));
        said
    }

    fn word<'w>(&'w self, word: &'w str) -> &'w str {
        match word {
            "calf" => &self.young,
            "calves" => &self.many,
            "cow" => &self.dam,
            "heifer" => &self.maiden,
            "calving" => &self.birth,
            "calved" => &self.bore,
            other => other,
        }
    }

    /// What the note of a young one's sex is called: "bull" and "heifer" in every record.
    pub fn sex<'w>(&'w self, note: &'w str) -> &'w str {
        match note {
            "bull" => &self.male,
            "heifer" => &self.female,
            other => other,
        }
    }

    /// "ten days after the foal": why a dam is let go.
    pub fn day_of_closing(&self) -> String {
        let days = self.spans.after_birth.whole_seconds() / 86_400;
        let word = usize::try_from(days).ok().and_then(|days| DAYS.get(days));
        let days = word.map_or_else(|| days.to_string(), |word| (*word).to_owned());
        format!("{days} days after the {}", self.young)
    }
}

fn span(watch: Option<&Table<'_>>, key: &'static str, usual: Span) -> (Span, String) {
    let Some(table) = watch.and_then(|watch| watch.table(key)) else {
        return (usual, String::new());
    };
    let is = table.span("span", usual, Span::days(1)..=SPAN_MAX);
    let source = table.needed("source", "who says so").map(|text| text.is).unwrap_or_default();
    table.done();
    (is, source)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_species_has_every_word_and_a_source_for_each_span() {
        for species in shipped::species() {
            let faults = Faults::default();
            let terms = Terms::read(species, &faults);
            assert!(faults.sorted(&[species]).is_empty(), "{species}");
            for word in [&terms.dam, &terms.maiden, &terms.young, &terms.many, &terms.male] {
                assert!(!word.is_empty() && word.is_ascii(), "{species}: {word}");
            }
            for word in [&terms.female, &terms.birth, &terms.bore] {
                assert!(!word.is_empty() && word.is_ascii(), "{species}: {word}");
            }
            assert!(terms.sources.iter().all(|source| !source.is_empty()), "{species}");
        }
        let cattle = Terms::of("cattle");
        assert!(cattle.spans.are_usual());
        assert_eq!(Terms::of("cats"), cattle);
    }

    /// Sources: facts.md G-26 and O-01, O-02, O-03, O-05, O-07, O-09: the shortest gestation printed there
    /// (reference works and university extension services), in days. Less would be an abortion or premature.
    #[test]
    fn two_births_are_never_taken_for_one_nor_one_for_two() {
        for (species, shortest) in [
            ("cattle", 262),
            ("sheep", 144),
            ("goat", 145),
            ("horse", 320),
            ("pig", 109),
            ("alpaca", 335),
            ("buffalo", 300),
        ] {
            let spans = Terms::of(species).spans;
            let apart = spans.after_birth + spans.between_births;
            assert!(apart < Span::days(shortest), "{species}: a next birth would be missed");
            assert!(spans.between_births > Span::days(shortest / 2), "{species}");
        }
    }

    #[test]
    fn a_text_of_ours_is_put_into_the_words_of_the_yard() {
        let mare = Terms::of("horse");
        assert_eq!(
            mare.in_words("(water bag, calf, second calf)"),
            "(water bag, foal, second foal)"
        );
        assert_eq!(mare.in_words("cow up"), "mare up");
        assert_eq!(mare.in_words("calfskin; recalf"), "calfskin; recalf");
        assert_eq!(
            (mare.sex("bull"), mare.sex("heifer"), mare.sex("x")),
            ("colt foal", "filly foal", "x")
        );
        assert_eq!(mare.day_of_closing(), "ten days after the foal");
        let ours = "no calf has been noted for her yet, cow or heifer";
        assert_eq!(Terms::of("cattle").in_words(ours), ours);
    }
}
