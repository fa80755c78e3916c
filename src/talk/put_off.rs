//! "later 30", "hold": somebody has seen it and wants to be called again later.
//!
//! Only whole clauses that say this, which alert, and how long: whoever writes more beside it is asked, for what
//! is put off calls nobody meanwhile.

use super::clause::{self, Sentence};
use super::figure;
use super::fitting;
use super::known::Known;
use super::reply::{self, Meaning, Saying};
use super::spelling;
use super::target::{self, Named};
use super::words::{self, Words};

/// A clause of more words says something else.
const WORDS_MAX: usize = 8;
/// "later 1440": a day. How long it really may be, the watch knows.
const MINUTES_MAX: u32 = 1_440;

/// What is put off, and for how long if that was said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct PutOff {
    minutes: Option<u32>,
    code: Option<String>,
    animal: Option<String>,
    alert_no: Option<u64>,
}

/// What a text means that puts something off and says nothing else.
pub(super) fn alone(text: &str, known: &Known<'_>, table: &Words) -> Option<Meaning> {
    let (mut found, rest) = fitting::take_clauses(text, |clause| {
        Some(vec![(read(clause, known, table)?, clause.to_owned())])
    });
    let mut sentences = clause::sentences(&rest, table);
    reply::drop_opening(&mut sentences, table);
    let alone = found.len() == 1 && sentences.iter().flat_map(Sentence::words).next().is_none();
    let (PutOff { minutes, code, animal, alert_no }, _) = found.pop().filter(|_| alone)?;
    let said = vec![Saying::PutOff { minutes }];
    Some(Meaning { code, alert_no, animal, said, left: String::new() })
}

fn read(clause: &str, known: &Known<'_>, table: &Words) -> Option<PutOff> {
    let clause = clause.trim().trim_end_matches([',', ';', '.', '!']);
    let said: Vec<&str> = clause.split_whitespace().collect();
    if clause.ends_with('?') || said.is_empty() || said.len() > WORDS_MAX {
        return None;
    }
    let plain: Vec<String> = said.iter().map(|word| spelling::plain(word)).collect();
    let plain: Vec<&str> = plain.iter().map(String::as_str).collect();
    let mut put_off = PutOff::default();
    let mut at = usize::from(put_off.names(said[0], known));
    at += words::longest_of(table.put_off, &plain[at..])?;
    at += words::longest_of(table.within, &plain[at..]).unwrap_or(0);
    if at < said.len()
        && let Some((minutes, unit, used)) = figure::minutes(&plain[at..], table)
        && (unit || known.animal(said[at]).is_none())
        && (1..=MINUTES_MAX).contains(&minutes)
    {
        put_off.minutes = Some(minutes);
        at += used;
    }
    if at < said.len() && put_off.names(said[at], known) {
        at += 1;
    }
    while at < said.len() && (words::has(table.please, plain[at]) || (known.person)(plain[at])) {
        at += 1;
    }
    (at == said.len()).then_some(put_off)
}

impl PutOff {
    /// Whether a word names the alert: once is enough.
    fn names(&mut self, word: &str, known: &Known<'_>) -> bool {
        if self.code.is_some() || self.animal.is_some() || self.alert_no.is_some() {
            return false;
        }
        match target::named(word, known) {
            Some(Named::Code(code)) => self.code = Some(code),
            Some(Named::Animal(animal)) => self.animal = Some(animal),
            Some(Named::Number(number)) => self.alert_no = Some(number),
            None => return false,
        }
        true
    }
}
