//! What a reader of replies must be told about the farm: which words are codes, animals, people.
//!
//! It holds questions, not lists, so that whoever asks need not copy the herd.

use std::ops::RangeInclusive;

/// The farm, as far as a reply's words need it.
pub struct Known<'a> {
    /// Is this the code of an alert that is open? Asked in capitals.
    pub code_open: &'a dyn Fn(&str) -> bool,
    /// Does the farm have an animal of exactly this name? Asked as typed, then in lower case, then in
    /// capitals, then capitalised.
    pub animal: &'a dyn Fn(&str) -> bool,
    /// Is somebody of the farm called that? Asked in lower case. A name beside an answer is then no
    /// foreign word; it never decides anything.
    pub person: &'a dyn Fn(&str) -> bool,
    /// Is there a device of this name? Asked as typed; its case does not count.
    pub device: &'a dyn Fn(&str) -> bool,
    /// Which animal has this row code on a printed sheet? Asked in capitals.
    pub row: &'a dyn Fn(&str) -> Option<String>,
    /// What a newborn of the farm's species may weigh, in grams; what lies outside is a slip of the thumb.
    pub newborn: RangeInclusive<u32>,
}

impl Known<'_> {
    /// The animal's name as the farm writes it.
    pub(super) fn animal(&self, said: &str) -> Option<String> {
        let lower = said.to_lowercase();
        let mut rest = lower.chars();
        let capitalised: String =
            rest.next().map(|first| first.to_uppercase().chain(rest).collect()).unwrap_or_default();
        [said.to_owned(), lower.clone(), said.to_uppercase(), capitalised]
            .into_iter()
            .find(|form| (self.animal)(form))
    }
}

/// What a newborn may weigh, in grams, with room for a very small and a very large one (common practice, no
/// source). A species that has no row here is held to nothing but sense.
pub fn newborn_of(species: &str) -> RangeInclusive<u32> {
    match species {
        "cattle" | "buffalo" => 10_000..=90_000,
        "sheep" | "goat" => 500..=12_000,
        "horse" => 10_000..=100_000,
        "pig" => 300..=4_000,
        "alpaca" => 2_000..=20_000,
        _ => 100..=150_000,
    }
}
