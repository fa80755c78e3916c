//! Goes through the sentences of a text in order and notes what each clause says, if it says one thing.
//!
//! It judges clause by clause and sentence by sentence. What the clauses make of each other over the
//! whole text ("ok" beside doubt, "going" beside "can't") is weighed in `reply`.

use super::answer::{self, Answer};
use super::clause::{self, Clause, Sentence, Word};
use super::figure;
use super::known::Known;
use super::mark_said::{self, MarkSaid};
use super::mark_words::Spoken;
use super::words::{self, Going, Words};
use crate::herd::sign::Mark;

/// A sentence this short that denies or doubts, and names no mark, is about the one before it.
const AFTERTHOUGHT_MOST: usize = 4;

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Heard {
    pub(super) what: What,
    /// The clause as typed.
    pub(super) said: String,
    pub(super) line: usize,
    pub(super) sentence: usize,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum What {
    Answer(Answer),
    Mark(MarkSaid),
    /// An animal without a mark.
    Named(String),
    /// Not understood.
    Lost,
}

pub(super) struct Ear<'a> {
    known: &'a Known<'a>,
    words: &'a Words,
    heard: Vec<Heard>,
    spoken_of: SpokenOf,
    /// The sentence that is being heard has named it.
    in_sentence: bool,
    /// The calf that this sentence speaks of.
    calf: Spoken,
}

/// The animal that a mark without one is about.
#[derive(Clone, Debug, PartialEq, Eq)]
enum SpokenOf {
    /// The one of the alert.
    Unsaid,
    Animal(String),
    /// A clause that we did not follow may have named another.
    Unclear,
}

pub(super) fn listen(sentences: Vec<Sentence>, known: &Known<'_>, words: &Words) -> Vec<Heard> {
    let mut ear = Ear {
        known,
        words,
        heard: Vec::new(),
        spoken_of: SpokenOf::Unsaid,
        in_sentence: false,
        calf: Spoken::default(),
    };
    for (number, sentence) in sentences.into_iter().enumerate() {
        ear.sentence(number, sentence);
    }
    ear.heard
}

impl Ear<'_> {
    fn sentence(&mut self, number: usize, sentence: Sentence) {
        let line = sentence.line;
        let doubtful = self.doubts(&sentence);
        let asks = sentence.asks || self.begins_like_a_question(&sentence);
        if self.is_afterthought(&sentence, asks || doubtful) {
            for heard in self.heard.iter_mut().filter(|heard| heard.sentence + 1 == number) {
                heard.what = What::Lost;
            }
        }
        self.in_sentence = false;
        self.calf = Spoken::default();
        let mut denied = false;
        for clause in sentence.clauses {
            let said = clause::said(clause.iter().flatten());
            let clause = self.without_greetings(clause);
            if clause.is_empty() || self.is_a_name(&clause) {
                continue;
            }
            let start = self.heard.len();
            if asks || doubtful {
                self.note(What::Lost);
            } else {
                self.clause(&clause, &mut denied);
            }
            let lost = self.heard[start..].iter().any(|heard| heard.what == What::Lost);
            if lost && self.names_something(&clause) {
                self.spoken_of = SpokenOf::Unclear;
            }
            for heard in &mut self.heard[start..] {
                heard.said.clone_from(&said);
                heard.line = line;
                heard.sentence = number;
            }
        }
        self.doubt_nothing(number);
    }

    /// "nothing but feet": with something not understood beside it, "nothing" is not nothing.
    fn doubt_nothing(&mut self, number: usize) {
        let of_it = |heard: &&mut Heard| heard.sentence == number;
        let lost = self.heard.iter_mut().filter(of_it).any(|heard| heard.what == What::Lost);
        for heard in self.heard.iter_mut().filter(of_it).filter(|_| lost) {
            if let What::Mark(said) = &heard.what
                && said.mark == Mark::Seen
            {
                heard.what = What::Lost;
            }
        }
    }

    fn note(&mut self, what: What) {
        self.heard.push(Heard { what, said: String::new(), line: 0, sentence: 0 });
    }

    fn clause(&mut self, clause: &Clause, denied: &mut bool) {
        let mut clause = clause.clone();
        self.take_acknowledgement(&mut clause);
        let Some(first) = clause.first() else {
            return;
        };
        let answer = answer::read(first, self.known, self.words);
        let others = clause.len() > 1;
        if let Some(answer) = answer {
            // "no" and "can't" deny what stands behind them too: "no, feet" is not feet.
            *denied |= self.denies(&clause);
            self.note(What::Answer(answer));
            if others {
                self.marks(&clause[1..].to_vec(), *denied);
            }
            return;
        }
        let seen_nothing = mark_said::read(&clause, None, false, self.calf, self.known, self.words)
            .is_some_and(|read| is_seen_only(&read.marks));
        *denied |= !seen_nothing && self.denies(&clause);
        self.marks(&clause, *denied);
        // "nothing, feet": whatever that means, it is not feet.
        *denied |= self.denies(&clause);
    }

    /// "ok 114 feet" is an "ok" and a mark.
    fn take_acknowledgement(&mut self, clause: &mut Clause) {
        let Some(first) = clause.first_mut() else {
            return;
        };
        let plain = clause::plain(first);
        let Some((how, used)) = words::longest(self.words.going, &plain) else {
            return;
        };
        let whole = answer::read(first, self.known, self.words).is_some();
        match how {
            Going::Ok | Going::Yes if !whole && used < first.len() => {
                let words: Vec<Word> = first.drain(..used).collect();
                if let Some(answer) = answer::read(&words, self.known, self.words) {
                    self.note(What::Answer(answer));
                }
            }
            Going::Plain | Going::Ok | Going::Yes => {}
        }
    }

    fn marks(&mut self, clause: &Clause, denied: bool) {
        let spoken_of = match &self.spoken_of {
            SpokenOf::Animal(animal) => Some(animal.clone()),
            SpokenOf::Unsaid | SpokenOf::Unclear => None,
        };
        let read = mark_said::read(
            clause,
            spoken_of.as_deref(),
            self.in_sentence,
            self.calf,
            self.known,
            self.words,
        )
        .filter(|_| !denied);
        let Some(read) = read else {
            self.note(What::Lost);
            return;
        };
        let whose = read.marks.iter().any(|said| said.animal.is_none());
        if whose && self.spoken_of == SpokenOf::Unclear {
            self.note(What::Lost);
            return;
        }
        self.calf = read.spoken;
        if read.marks.is_empty() {
            self.alone(read.animal.clone(), read.clock);
        }
        for said in read.marks {
            self.note(What::Mark(said));
        }
        if let Some(animal) = read.animal {
            self.spoken_of = SpokenOf::Animal(animal);
            self.in_sentence = true;
        }
    }

    /// "feet, 0210": the time belongs to the mark right before it, if that has none.
    fn alone(&mut self, animal: Option<String>, clock: Option<figure::ClockTime>) {
        match (animal, clock, self.heard.last_mut().map(|heard| &mut heard.what)) {
            (Some(animal), _, _) => self.note(What::Named(animal)),
            (None, Some(clock), Some(What::Mark(said))) if said.at.is_none() => {
                said.at = Some(clock);
            }
            (None, _, _) => self.note(What::Lost),
        }
    }

    /// Whether a word of it doubts; in "calf trying to stand" the word is part of what was seen.
    fn doubts(&self, sentence: &Sentence) -> bool {
        let all: Vec<&str> = sentence.words().map(|word| word.plain.as_str()).collect();
        let is_of_a_mark = |at: usize| {
            (at.saturating_sub(3)..=at).any(|from| {
                words::longest(self.words.marks, &all[from..]).is_some_and(|(phrase, used)| {
                    phrase == words::Phrase::Is(Mark::Trying) && from + used > at
                })
            })
        };
        let doubt =
            |(at, word): (usize, &&str)| words::has(self.words.doubt, word) && !is_of_a_mark(at);
        all.iter().enumerate().any(doubt)
    }

    fn denies(&self, clause: &Clause) -> bool {
        clause.iter().any(|piece| {
            let plain = clause::plain(piece);
            let mut at = 0;
            while at < plain.len() {
                // "wont get up" and "not eating" are marks: what denies in them denies nothing else.
                let whole = words::longest(self.words.marks, &plain[at..]);
                let used = match whole {
                    Some((words::Phrase::Is(_), used)) if used > 1 => used,
                    Some(_) | None => 1,
                };
                if used == 1 && words::has(self.words.negation, plain[at]) {
                    return true;
                }
                at += used;
            }
            false
        })
    }

    fn begins_like_a_question(&self, sentence: &Sentence) -> bool {
        let first = sentence
            .clauses
            .iter()
            .map(|clause| self.without_greetings(clause.clone()))
            .find(|clause| !clause.is_empty());
        let piece = first.as_ref().and_then(|clause| clause.first());
        // "can not go" is none.
        if piece.is_some_and(|piece| answer::read(piece, self.known, self.words).is_some()) {
            return false;
        }
        let word = piece.and_then(|piece| piece.first());
        word.is_some_and(|word| words::has(self.words.question, &word.plain))
    }

    /// "Feet. I think." and "Calf up. No." take back the sentence before.
    fn is_afterthought(&self, sentence: &Sentence, doubtful: bool) -> bool {
        let all: Vec<&str> = sentence.words().map(|word| word.plain.as_str()).collect();
        let denies = sentence.clauses.iter().any(|clause| self.denies(clause));
        let names_mark =
            (0..all.len()).any(|at| match words::longest(self.words.marks, &all[at..]) {
                Some((phrase, _)) => phrase != words::Phrase::Filler,
                None => false,
            });
        (doubtful || denies) && all.len() <= AFTERTHOUGHT_MOST && !names_mark
    }

    /// Does the clause have an animal in it, or a figure that may be meant for one?
    fn names_something(&self, clause: &Clause) -> bool {
        clause.iter().flatten().any(|word| {
            self.known.animal(&word.said).is_some()
                || (word.plain.starts_with(|c: char| c.is_ascii_digit())
                    && figure::sure_clock(&word.plain).is_none()
                    && figure::bare_clock(&word.plain).is_none())
        })
    }

    fn without_greetings(&self, mut clause: Clause) -> Clause {
        if let Some(first) = clause.first_mut() {
            while let Some(count) = self.greeting(first) {
                first.drain(..count);
            }
        }
        if let Some(last) = clause.last_mut() {
            while let Some(count) = self.farewell(last) {
                last.truncate(last.len() - count);
            }
        }
        clause.retain(|piece| !piece.is_empty());
        clause
    }

    fn greeting(&self, piece: &[Word]) -> Option<usize> {
        let plain = clause::plain(piece);
        let count = words::longest_of(self.words.greeting, &plain)?;
        let named = words::has(self.words.to_somebody, plain[count - 1])
            && plain.get(count).is_some_and(|name| self.could_be_a_name(name));
        Some(count + usize::from(named))
    }

    fn farewell(&self, piece: &[Word]) -> Option<usize> {
        let last = &piece.last()?.plain;
        let before = piece.len().checked_sub(2).map(|at| &piece[at].plain);
        if words::has(self.words.greeting, last) {
            return Some(1);
        }
        let thanked = before.is_some_and(|word| words::has(self.words.to_somebody, word));
        (thanked && self.could_be_a_name(last)).then_some(2)
    }

    /// A word that means nothing to us anywhere.
    fn could_be_a_name(&self, word: &str) -> bool {
        let table = self.words;
        let listed = [
            table.negation,
            table.question,
            table.doubt,
            table.later,
            table.others,
            table.taken_back,
            table.greeting,
            table.going_filler,
            table.going_where,
            table.before_animal,
            table.before_time,
            table.and,
            table.but,
            table.alert,
        ];
        let one = [word];
        word.chars().all(char::is_alphabetic)
            && !listed.iter().any(|list| words::has(list, word))
            && words::longest(table.going, &one).is_none()
            && words::longest(table.pass, &one).is_none()
            && words::longest(table.marks, &one).is_none()
            && self.known.animal(word).is_none()
    }

    fn is_a_name(&self, clause: &Clause) -> bool {
        clause.iter().flatten().all(|word| (self.known.person)(&word.plain))
    }
}

/// Seen, and nothing but seen: "nothing yet" denies nothing that it says itself.
fn is_seen_only(marks: &[MarkSaid]) -> bool {
    !marks.is_empty() && marks.iter().all(|said| said.mark == Mark::Seen)
}
