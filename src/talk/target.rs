//! What a reply says it answers: a code, or the number of an alert.
//!
//! It takes them out of the words, so that the rest reads the same with and without. Where they lead
//! nowhere, or to two places, it says that it is unclear; it never chooses.

use super::answer;
use super::clause::{Sentence, Word};
use super::figure;
use super::known::Known;
use super::words::{self, Words};

/// What the reply says it answers.
#[derive(Default)]
pub(super) struct Target {
    pub(super) code: Option<String>,
    pub(super) alert_no: Option<u64>,
    /// An animal that is named like the alert.
    pub(super) animal: Option<String>,
    /// Nobody can tell which alert is answered.
    pub(super) unclear: bool,
    /// Codes and numbers that lead nowhere, as typed.
    pub(super) stray: Vec<String>,
}

/// What one word names an alert by.
pub(super) enum Named {
    Code(String),
    Animal(String),
    Number(u64),
}

/// A code that is open, an animal, or a number with or without its sign.
pub(super) fn named(word: &str, known: &Known<'_>) -> Option<Named> {
    let code = word.trim_end_matches(':').to_uppercase();
    if has_code_shape(&code) && (known.code_open)(&code) {
        return Some(Named::Code(code));
    }
    let animal = known.animal(word).map(Named::Animal);
    let number = || figure::alert_number(&word.trim_start_matches('#').to_lowercase());
    animal.or_else(|| number().map(Named::Number))
}

impl Target {
    /// Takes codes and alert numbers out of the sentences.
    pub(super) fn take(sentences: &mut Vec<Sentence>, known: &Known<'_>, table: &Words) -> Target {
        let mut target = Target::default();
        let alone = sentences.iter().flat_map(Sentence::words).count() == 1;
        for sentence in sentences.iter_mut() {
            for piece in sentence.clauses.iter_mut().flatten() {
                let mut kept: Vec<Word> = Vec::with_capacity(piece.len());
                let answers = answers_beside_number(piece, known, table);
                for mut word in piece.drain(..) {
                    // "#9 feet" may be meant for an animal that we do not know.
                    word.hash &= answers;
                    if !target.takes_code(&word, &mut kept, known, table)
                        && !target.takes_number(&word, &mut kept, known, table)
                    {
                        kept.push(word);
                    }
                }
                *piece = kept;
            }
        }
        target.take_lone_number(sentences, alone, known);
        for sentence in sentences.iter_mut() {
            for clause in &mut sentence.clauses {
                clause.retain(|piece| !piece.is_empty());
            }
            sentence.clauses.retain(|clause| !clause.is_empty());
            // "K4T7?" asks; alone, a code would answer.
            target.unclear |= sentence.asks && sentence.clauses.is_empty();
        }
        sentences.retain(|sentence| !sentence.clauses.is_empty());
        target
    }

    /// "1", and "1, going": a number in a clause of its own, at the beginning.
    fn take_lone_number(&mut self, sentences: &mut [Sentence], alone: bool, known: &Known<'_>) {
        let first = sentences.first_mut();
        let first = first.and_then(|sentence| sentence.clauses.first_mut());
        let Some([piece]) = first.map(Vec::as_mut_slice) else {
            return;
        };
        let [word] = piece.as_slice() else {
            return;
        };
        let Some(number) = figure::alert_number(&word.plain) else {
            return;
        };
        let animal = known.animal(&word.said);
        if animal.is_some() && !alone {
            return;
        }
        self.animal = animal;
        let said = word.said.clone();
        piece.clear();
        self.name_alert(number, &said);
    }

    fn takes_code(
        &mut self,
        word: &Word,
        kept: &mut Vec<Word>,
        known: &Known<'_>,
        table: &Words,
    ) -> bool {
        let code = word.plain.to_uppercase();
        if !has_code_shape(&code) {
            return false;
        }
        let open = (known.code_open)(&code);
        if !open && known.animal(&word.said).is_some() {
            return false;
        }
        kept.pop_if(|before| words::has(table.code, &before.plain));
        match &self.code {
            _ if !open => {
                self.unclear = true;
                self.stray.push(word.said.clone());
            }
            Some(other) if *other != code => {
                self.unclear = true;
                self.stray.push(word.said.clone());
            }
            Some(_) => {}
            None => self.code = Some(code),
        }
        true
    }

    /// "alert 1", "#1".
    fn takes_number(
        &mut self,
        word: &Word,
        kept: &mut Vec<Word>,
        known: &Known<'_>,
        table: &Words,
    ) -> bool {
        let Some(number) = figure::alert_number(&word.plain) else {
            return false;
        };
        let called = kept.last().is_some_and(|before| words::has(table.alert, &before.plain));
        // "false alarm 114" is about an animal.
        let other = kept.len() > 1 && kept[kept.len() - 2].plain == "false";
        if called && !other {
            kept.pop();
        } else if !word.hash || known.animal(&word.said).is_some() {
            return false;
        }
        self.name_alert(number, &word.said);
        true
    }

    pub(super) fn name_alert(&mut self, number: u64, said: &str) {
        match self.alert_no {
            Some(other) if other != number => {
                self.unclear = true;
                self.stray.push(said.to_owned());
            }
            Some(_) | None => self.alert_no = Some(number),
        }
    }
}

/// Is a number with a `#` alone in its piece, or beside an answer?
fn answers_beside_number(piece: &[Word], known: &Known<'_>, table: &Words) -> bool {
    let rest: Vec<Word> = piece
        .iter()
        .filter(|word| !word.hash && !has_code_shape(&word.plain.to_uppercase()))
        .cloned()
        .collect();
    rest.is_empty() || answer::read(&rest, known, table).is_some()
}

/// Consonant, figure, consonant, figure, without the letters and figures that are mistaken for others.
pub(super) fn has_code_shape(word: &str) -> bool {
    let consonant = |c: char| "BCDFGHJKMNPQRSTVWXYZ".contains(c);
    let digit = |c: char| ('2'..='9').contains(&c);
    let letters: Vec<char> = word.chars().take(5).collect();
    match letters.as_slice() {
        [a, b, c, d] => consonant(*a) && digit(*b) && consonant(*c) && digit(*d),
        _ => false,
    }
}
