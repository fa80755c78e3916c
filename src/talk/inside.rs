//! "In" and "out": somebody goes in with a dam, alone perhaps, and is out again.
//!
//! It takes whole clauses that say this and nothing else. "Calf out" and "in 20 min" say something else,
//! and a word that is not understood beside "out" leaves the clock running: the safe side is to be
//! looked for in vain.

use super::figure;
use super::fitting;
use super::known::Known;
use super::spelling;
use super::words::{self, Words};

/// The words of a language for going in and being out again.
pub(super) struct InsideWords {
    pub(super) inside: &'static str,
    pub(super) with: &'static str,
    pub(super) now: &'static str,
    pub(super) lasting: &'static str,
    pub(super) outside: &'static str,
    pub(super) help: &'static str,
    /// Behind the name of somebody else.
    pub(super) of_another: &'static str,
}

pub(super) const ENGLISH: InsideWords = InsideWords {
    inside: "in, im in, i am in, in now, im in now, going in, im going in, i am going in, going in now, gone in, \
        in again, im in again, in the pen, im in the pen, in pen, still in, im still in, i am still in",
    with: "with, to, with cow, with heifer, with the cow, with the heifer, with her",
    now: "now, again",
    lasting: "for",
    outside: "out, im out, i am out, out now, im out now, out again, im out again, out safe, im out safe, safe out, \
        out of the pen, im out of the pen, i am out of the pen, back out, im back out",
    help: "help, help me, send help, i need help, need help, hurt, im hurt, i am hurt, help with, i need help with, \
        help at, help in",
    of_another: "out, is out, is out now, out now, is out safe, is safe, is back out",
};

/// A clause of more words says something else.
const WORDS_MAX: usize = 8;

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Whereabouts {
    /// In with her, for so many minutes if that was said.
    In { animal: Option<String>, minutes: Option<u32> },
    /// In trouble: the others are to come now.
    Help { animal: Option<String> },
    /// Out again: the writer, or whoever is named.
    Out { person: Option<String> },
}

/// Takes the clauses about going in and out out of a text; gives back what was taken, as typed, and the
/// rest.
pub(super) fn take(
    text: &str,
    known: &Known<'_>,
    table: &Words,
) -> (Vec<(Whereabouts, String)>, String) {
    fitting::take_clauses(text, |clause| {
        Some(vec![(read(clause, known, table)?, clause.trim().to_owned())])
    })
}

fn read(clause: &str, known: &Known<'_>, table: &Words) -> Option<Whereabouts> {
    let clause = clause.trim().trim_end_matches([',', ';', '.', '!']);
    if clause.ends_with('?') {
        return None;
    }
    let said: Vec<&str> = clause.split_whitespace().collect();
    if said.is_empty() || said.len() > WORDS_MAX {
        return None;
    }
    let plain: Vec<String> = said.iter().map(|word| spelling::plain(word)).collect();
    let plain: Vec<&str> = plain.iter().map(String::as_str).collect();
    help(&said, &plain, known, table)
        .or_else(|| inside(&said, &plain, known, table))
        .or_else(|| outside(&said, &plain, known, table))
}

/// "in", "in 114", "114 in", "going in with 114 for 30 min".
fn inside(said: &[&str], plain: &[&str], known: &Known<'_>, table: &Words) -> Option<Whereabouts> {
    let mut animal = known.animal(said[0]).filter(|_| said.len() > 1);
    let mut at = usize::from(animal.is_some());
    at += words::longest_of(table.inside.inside, &plain[at..])?;
    if let Some(used) = words::longest_of(table.inside.with, &plain[at..]) {
        at += used;
    }
    if let (None, Some(word)) = (&animal, said.get(at))
        && let Some(named) = known.animal(word)
        && figure::minutes(&plain[at..], table).is_none_or(|(_, unit, _)| !unit)
    {
        animal = Some(named);
        at += 1;
    }
    at += words::longest_of(table.inside.now, &plain[at..]).unwrap_or(0);
    let rest = &plain[at..];
    if rest.is_empty() {
        return Some(Whereabouts::In { animal, minutes: None });
    }
    let before = usize::from(rest[0] == table.inside.lasting);
    // "in 20" and "in 20 min" are how soon somebody comes, unless it is said whom they are in with.
    let clear = before > 0 || animal.is_some();
    let (minutes, unit, used) = figure::minutes(&rest[before..], table)?;
    let whole = before + used == rest.len();
    (whole && clear && (unit || before > 0))
        .then_some(Whereabouts::In { animal, minutes: Some(minutes) })
}

/// "Help", "help 207", "I am hurt".
fn help(said: &[&str], plain: &[&str], known: &Known<'_>, table: &Words) -> Option<Whereabouts> {
    let used = words::longest_of(table.inside.help, plain)?;
    match &said[used..] {
        [] => Some(Whereabouts::Help { animal: None }),
        [animal] => known.animal(animal).map(|animal| Whereabouts::Help { animal: Some(animal) }),
        _ => None,
    }
}

/// "out", "I'm out", "out of the pen", "Ana is out".
fn outside(said: &[&str], plain: &[&str], known: &Known<'_>, table: &Words) -> Option<Whereabouts> {
    // "114 out" and, at this machine, "12 out" to an alert of that number.
    let numbered = known.animal(said[0]).is_some() || plain[0].chars().all(|c| c.is_ascii_digit());
    for from in [0, usize::from(numbered && plain.len() > 1)] {
        if words::longest_of(table.inside.outside, &plain[from..]) == Some(plain.len() - from) {
            return Some(Whereabouts::Out { person: None });
        }
    }
    let named = (known.person)(plain[0]);
    let whole = words::longest_of(table.inside.of_another, &plain[1..]) == Some(plain.len() - 1);
    (named && whole).then(|| Whereabouts::Out { person: Some(said[0].to_owned()) })
}
