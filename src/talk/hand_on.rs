//! "Give it to Tom", "Tom takes it", "I take over from Ana": who is to have an alert, by name.
//!
//! Only a whole text that says this and which alert, and nothing else. Whether the other has heard of it nobody knows
//! here: whoever is named is asked, and nothing is theirs before they have answered.

use super::figure;
use super::known::Known;
use super::reply::{Meaning, Saying};
use super::spelling;
use super::target::{self, Named};
use super::words::{self, Words};

/// A text of more words says something else.
const WORDS_MAX: usize = 9;

/// The words of a language about it.
pub(super) struct HandWords {
    /// Before the name of whoever is to have it, and what may stand behind that name.
    pub(super) give: &'static str,
    pub(super) behind: &'static str,
    /// After that name.
    pub(super) takes: &'static str,
    /// "I take over", and what stands before the name of whoever had it.
    pub(super) over: &'static str,
    pub(super) from: &'static str,
}

/// What a text means that hands an alert on and says nothing else.
pub(super) fn alone(text: &str, known: &Known<'_>, table: &Words) -> Option<Meaning> {
    let (said, plain) = spelling::statement(text, WORDS_MAX, known.person)?;
    let said: Vec<&str> = said.iter().map(String::as_str).collect();
    let plain: Vec<&str> = plain.iter().map(String::as_str).collect();
    let mut reader = Reader { said: &said, plain: &plain, at: 0, known, table, about: None };
    reader.skip_about();
    let saying = reader.given().or_else(|| reader.taken_by()).or_else(|| reader.taken_over())?;
    reader.skip_about();
    while reader.word().is_some_and(|word| words::has(table.please, word)) {
        reader.at += 1;
    }
    if reader.at < plain.len() {
        return None;
    }
    let mut meaning = Meaning { said: vec![saying], ..Meaning::default() };
    match reader.about {
        Some(Named::Code(code)) => meaning.code = Some(code),
        Some(Named::Animal(animal)) => meaning.animal = Some(animal),
        Some(Named::Number(number)) => meaning.alert_no = Some(number),
        None => {}
    }
    Some(meaning)
}

struct Reader<'a> {
    said: &'a [&'a str],
    plain: &'a [&'a str],
    at: usize,
    known: &'a Known<'a>,
    table: &'a Words,
    about: Option<Named>,
}

impl Reader<'_> {
    fn word(&self) -> Option<&str> {
        self.plain.get(self.at).copied()
    }

    fn phrase(&self, at: usize, list: &str) -> Option<usize> {
        words::longest_of(list, self.plain.get(at..)?)
    }

    fn person(&self, at: usize) -> Option<String> {
        let is = self.plain.get(at).is_some_and(|word| (self.known.person)(word));
        is.then(|| self.said.get(at).map(|word| (*word).to_owned())).flatten()
    }

    /// A word that names the alert: once is enough.
    fn skip_about(&mut self) {
        let (Some(word), None) = (self.said.get(self.at), &self.about) else { return };
        let number = self.said.get(self.at + 1).and_then(|word| figure::alert_number(word));
        if self.word().is_some_and(|word| words::has(self.table.alert, word))
            && let Some(number) = number
        {
            self.about = Some(Named::Number(number));
            self.at += 2;
            return;
        }
        let about = target::named(word, self.known).filter(|_| self.person(self.at).is_none());
        if about.is_some() {
            self.about = about;
            self.at += 1;
        }
    }

    /// "Give it to Tom", "ask Tom to go".
    fn given(&mut self) -> Option<Saying> {
        let begin = self.at;
        let at = begin + self.phrase(begin, self.table.hand.give)?;
        let to = self.person(at)?;
        self.at = at + 1;
        self.at += self.phrase(self.at, self.table.hand.behind).unwrap_or(0);
        Some(Saying::GiveTo(to))
    }

    /// "Tom takes it".
    fn taken_by(&mut self) -> Option<Saying> {
        let to = self.person(self.at)?;
        self.at += 1 + self.phrase(self.at + 1, self.table.hand.takes)?;
        Some(Saying::GiveTo(to))
    }

    /// "I take over", "taking over from Ana".
    fn taken_over(&mut self) -> Option<Saying> {
        self.at += self.phrase(self.at, self.table.hand.over)?;
        let from = self.phrase(self.at, self.table.hand.from).unwrap_or(0);
        if self.person(self.at + from).is_some() {
            self.at += from + 1;
        }
        Some(Saying::TakeOver)
    }
}

pub(super) const ENGLISH: HandWords = HandWords {
    give: "give it to, give to, give her to, give that to, hand it to, hand to, hand it over to, hand over to, hand it on to, \
        hand on to, over to, ask, call, get, ring, let, send, its for, one for",
    behind: "take it, take over, take this, go, to take it, to take over, to go, for it",
    takes: "takes it, takes over, takes this, takes that, will take it, will take over, ll take it, is to take it, should take \
        it, can take it, goes, should go, is to go, is going, will go, has it, has got it, has this, is on it",
    over: "take over, taking over, i take over, ill take over, i will take over, im taking over, i am taking over, taking it \
        over, take it over, i take it over, ill take it over, i will take it over, i have it now, ive got it now, ive taken \
        over, i have taken over",
    from: "from, off, for",
};
