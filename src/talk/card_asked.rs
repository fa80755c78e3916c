//! "Vet card 114": somebody wants what the vet on the telephone needs to know of her.
//!
//! It takes whole clauses that ask for this and nothing else; "114 vet" is a mark, the vet was called.

use super::fitting;
use super::known::Known;
use super::spelling;
use super::words::{self, Words};

/// Takes such clauses out of a text; gives back the animal of each, if one was named, and the rest.
pub(super) fn take(
    text: &str,
    known: &Known<'_>,
    table: &Words,
) -> (Vec<(Option<String>, String)>, String) {
    let mut taken = Vec::new();
    let mut rest: Vec<String> = Vec::new();
    for line in text.lines() {
        let mut left: Vec<&str> = Vec::new();
        for clause in fitting::clauses(line) {
            match read(clause, known, table) {
                Some(animal) => taken.push((animal, clause.trim().to_owned())),
                None => left.push(clause),
            }
        }
        rest.push(left.concat());
    }
    if taken.is_empty() { (taken, text.to_owned()) } else { (taken, rest.join("\n")) }
}

/// The outer nothing: the clause asks for something else.
fn read(clause: &str, known: &Known<'_>, table: &Words) -> Option<Option<String>> {
    let clause = clause.trim().trim_end_matches([',', ';', '.', '!', '?']);
    let said: Vec<&str> = clause.split_whitespace().collect();
    let plain: Vec<String> = said.iter().map(|word| spelling::folded(word)).collect();
    let plain: Vec<&str> = plain.iter().map(String::as_str).collect();
    let first = said.first()?;
    if let Some(used) = words::longest_of(table.vet_card, &plain) {
        let rest = said.get(used..)?;
        return match rest {
            [] => Some(None),
            [animal] => known.animal(animal).map(Some),
            _ => None,
        };
    }
    let animal = known.animal(first)?;
    let whole = words::longest_of(table.vet_card, &plain[1..]) == Some(plain.len() - 1);
    whole.then_some(Some(animal))
}
