//! Marks with their animal and their time: which belongs to which.
//!
//! A number of four figures that is both an animal of the farm and a time of day is the animal when
//! the clause has another time, or when it stands right before a mark; right after a mark, or beside
//! another animal, it is the time. Right before a mark, in a sentence that has already named an animal,
//! it could be either, and the clause says nothing.

use super::clause::{Clause, Word};
use super::figure::ClockTime;
use super::known::Known;
use super::litter;
use super::mark_words::{self, Item, Spoken};
use super::words::{self, Phrase, Words};
use crate::herd::sign::Mark;

/// "both up": said of every living calf of hers.
pub const EVERY_CALF: u8 = 0;

/// One mark as a person said it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MarkSaid {
    /// The animal as the farm writes it, where one was named.
    pub animal: Option<String>,
    pub mark: Mark,
    /// The temperature, the score, what was given; empty where nothing more was said.
    pub note: String,
    /// Which calf of this birth, from 1, where one was named; `EVERY_CALF` for all of them.
    pub calf: Option<u8>,
    /// A calf was named, with or without its number: it is not the dam that sits up.
    pub of_calf: bool,
    /// Hour and minute by the farm's clock, where a time was named.
    pub at: Option<(i8, i8)>,
}

impl MarkSaid {
    /// "Another" was said of a litter: which one it is depends on how many there are.
    pub fn is_another(&self) -> bool {
        self.mark == Mark::SecondCalf && self.note == litter::ANOTHER
    }
}

/// What a clause says of animals.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Read {
    pub(super) marks: Vec<MarkSaid>,
    /// The animal that later clauses go on about.
    pub(super) animal: Option<String>,
    /// A time that no mark here took.
    pub(super) clock: Option<ClockTime>,
    /// The calf that later clauses of the sentence go on about.
    pub(super) spoken: Spoken,
}

/// Nothing if a word or a combination of the clause is not understood. `spoken_of` is the animal of
/// the clauses before, `in_sentence` whether this sentence has named it.
pub(super) fn read(
    clause: &Clause,
    spoken_of: Option<&str>,
    in_sentence: bool,
    spoken: Spoken,
    known: &Known<'_>,
    words: &Words,
) -> Option<Read> {
    let mut items = Vec::new();
    let another = clause.iter().flatten().any(|word| names_another(word, spoken_of, known));
    let mut spoken = if another { Spoken::default() } else { spoken };
    for piece in with_notes_whole(clause, words) {
        let (more, now) = mark_words::read(&piece, spoken, known, words)?;
        items.extend(more);
        spoken = now;
    }
    let items = decided(items, in_sentence)?;
    let items = looked_or_marked(items)?;
    assigned(&items, spoken_of).map(|read| Read { spoken, ..read })
}

/// An animal that is not the one spoken of, and no time of day: her calves are others.
fn names_another(word: &Word, spoken_of: Option<&str>, known: &Known<'_>) -> bool {
    let animal = known.animal(&word.said);
    animal.is_some_and(|animal| spoken_of != Some(animal.as_str()))
        && super::figure::bare_clock(&word.plain).is_none()
}

/// What stands behind "treated" is its note, "and"s and all.
fn with_notes_whole(clause: &Clause, words: &Words) -> Vec<Vec<Word>> {
    let mut pieces: Vec<Vec<Word>> = Vec::new();
    let mut in_note = false;
    for piece in clause {
        match pieces.last_mut() {
            Some(last) if in_note => {
                let and = words.and.split(", ").next().unwrap_or_default();
                last.push(Word { plain: and.to_owned(), said: and.to_owned(), hash: false });
                last.extend(piece.iter().cloned());
            }
            Some(_) | None => pieces.push(piece.clone()),
        }
        in_note |= piece.iter().any(|word| {
            let found = words::longest(words.marks, &[word.plain.as_str()]);
            found.is_some_and(|(phrase, _)| phrase == Phrase::Is(Mark::Treated))
        });
    }
    pieces
}

fn is_mark(item: &Item) -> bool {
    match item {
        Item::Mark(..) | Item::Looked | Item::Nothing => true,
        Item::Animal(_) | Item::Either(..) | Item::Clock(_) => false,
    }
}

fn is_animal(item: &Item) -> bool {
    match item {
        Item::Animal(_) => true,
        Item::Mark(..) | Item::Looked | Item::Nothing | Item::Either(..) | Item::Clock(_) => false,
    }
}

fn is_clock(item: &Item) -> bool {
    match item {
        Item::Clock(_) => true,
        Item::Mark(..) | Item::Looked | Item::Nothing | Item::Either(..) | Item::Animal(_) => false,
    }
}

/// Four figures become an animal or a time.
fn decided(mut items: Vec<Item>, in_sentence: bool) -> Option<Vec<Item>> {
    for at in 0..items.len() {
        let Item::Either(animal, clock) = items[at].clone() else {
            continue;
        };
        let named = items.iter().any(is_animal);
        let other_time = items
            .iter()
            .enumerate()
            .any(|(index, item)| index != at && matches!(item, Item::Clock(_) | Item::Either(..)));
        let before_mark = items.get(at + 1).is_some_and(is_mark);
        let after_mark = at > 0 && is_mark(&items[at - 1]);
        items[at] = if named {
            Item::Clock(clock)
        } else if other_time && items.iter().any(is_mark) {
            Item::Animal(animal)
        } else if before_mark && in_sentence {
            return None;
        } else if before_mark {
            Item::Animal(animal)
        } else if after_mark {
            Item::Clock(clock)
        } else {
            Item::Animal(animal)
        };
    }
    Some(items)
}

/// A look beside a mark is no mark of its own, and "nothing" beside one denies it.
fn looked_or_marked(items: Vec<Item>) -> Option<Vec<Item>> {
    let said: Vec<Mark> = items
        .iter()
        .filter_map(|item| match item {
            Item::Mark(mark, ..) => Some(*mark),
            Item::Looked | Item::Nothing | Item::Animal(_) | Item::Either(..) | Item::Clock(_) => {
                None
            }
        })
        .collect();
    if said.len() > 1 && said.contains(&Mark::FalseAlarm) {
        return None;
    }
    // "up and down": restless, or two different animals.
    if said.contains(&Mark::Down) && (said.contains(&Mark::Up) || said.contains(&Mark::Risen)) {
        return None;
    }
    let nothing = items.contains(&Item::Nothing);
    if nothing && !said.is_empty() {
        return None;
    }
    let mut seen = false;
    let resolved = items.into_iter().filter_map(|item| match item {
        Item::Looked | Item::Nothing if !said.is_empty() || seen => None,
        Item::Looked | Item::Nothing => {
            seen = true;
            Some(Item::Mark(Mark::Seen, String::new(), Spoken::default()))
        }
        Item::Mark(..) | Item::Animal(_) | Item::Either(..) | Item::Clock(_) => Some(item),
    });
    Some(resolved.collect())
}

fn assigned(items: &[Item], spoken_of: Option<&str>) -> Option<Read> {
    let first = |is: fn(&Item) -> bool| items.iter().position(is);
    let animals = items.iter().filter(|item| is_animal(item)).count();
    let clocks = items.iter().filter(|item| is_clock(item)).count();
    let Some(first_mark) = first(is_mark) else {
        return alone(items, animals, clocks);
    };
    let animal_first = first(is_animal).is_some_and(|at| at < first_mark);
    let clock_first = first(is_clock).is_some_and(|at| at < first_mark);
    let mut taken = vec![false; items.len()];
    let mut marks = Vec::new();
    for (at, item) in items.iter().enumerate() {
        let Item::Mark(mark, note, spoken) = item else {
            continue;
        };
        let animal = match animals {
            0 => None,
            1 => first(is_animal),
            _ if animal_first => (0..at).rev().find(|&near| is_animal(&items[near])),
            _ => Some((at..items.len()).find(|&near| is_animal(&items[near]))?),
        };
        let clock = if clock_first {
            (0..at).rev().find(|&near| is_clock(&items[near]))
        } else {
            (at..items.len())
                .take_while(|&near| animals < 2 || !animal_first || !is_animal(&items[near]))
                .find(|&near| is_clock(&items[near]))
        };
        for index in [animal, clock].into_iter().flatten() {
            taken[index] = true;
        }
        marks.push(MarkSaid {
            animal: named(items, animal).or_else(|| spoken_of.map(str::to_owned)),
            mark: *mark,
            note: note.clone(),
            calf: calf_of(*mark, *spoken),
            of_calf: spoken.named && mark.is_of_a_calf(),
            at: clock_of(items, clock),
        });
    }
    // An animal or a time that no mark took shows that we did not follow.
    let all_taken = items.iter().zip(&taken).all(|(item, &taken)| taken || is_mark(item));
    let last = items.iter().rposition(is_animal);
    let spoken = Spoken::default();
    all_taken.then(|| Read { marks, animal: named(items, last), clock: None, spoken })
}

/// The second calf needs no number for its birth; the third does.
fn calf_of(mark: Mark, spoken: Spoken) -> Option<u8> {
    if mark.is_of_a_calf() {
        return spoken.calf;
    }
    spoken.calf.filter(|calf| mark == Mark::SecondCalf && *calf > 2)
}

fn named(items: &[Item], at: Option<usize>) -> Option<String> {
    match items.get(at?)? {
        Item::Animal(name) => Some(name.clone()),
        Item::Mark(..) | Item::Looked | Item::Nothing | Item::Either(..) | Item::Clock(_) => None,
    }
}

fn clock_of(items: &[Item], at: Option<usize>) -> Option<ClockTime> {
    match items.get(at?)? {
        Item::Clock(clock) => Some(*clock),
        Item::Mark(..) | Item::Looked | Item::Nothing | Item::Either(..) | Item::Animal(_) => None,
    }
}

/// No mark: one animal that later clauses go on about, or one time for the mark before.
fn alone(items: &[Item], animals: usize, clocks: usize) -> Option<Read> {
    match (animals, clocks) {
        (0 | 1, 0) | (0, 1) => Some(Read {
            marks: Vec::new(),
            animal: named(items, items.iter().position(is_animal)),
            clock: clock_of(items, items.iter().position(is_clock)),
            spoken: Spoken::default(),
        }),
        _ => None,
    }
}
