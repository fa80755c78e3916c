//! The words of one piece as marks, animals and times, in the order in which they stand.
//!
//! It knows which words may stand together: "calf up" is a mark, "feet up" is not. One word that it
//! does not know, and the whole piece says nothing: a false mark could silence an alarm.

use std::ops::RangeInclusive;

use super::calf_words;
use super::clause::{self, Word};
use super::company::{CLEANED, spoken_of, together};
use super::figure::{self, ClockTime};
use super::known::Known;
use super::litter;
use super::words::{self, Phrase, Words};
use crate::herd::sign::Mark;

/// A note is shown in the diary's one line.
const NOTE_MOST: usize = 120;

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Item {
    Mark(Mark, String, Spoken),
    /// Somebody looked.
    Looked,
    /// Looked, and there was nothing.
    Nothing,
    Animal(String),
    /// Four figures that are an animal of the farm and a time of day.
    Either(String, ClockTime),
    Clock(ClockTime),
}

/// Which calf is spoken of: what is said of a calf later in the sentence goes on about it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Spoken {
    /// Its number, from 1; 0 for every one of hers.
    pub(super) calf: Option<u8>,
    /// A calf was named, with or without its number: so it is not the dam that is meant.
    pub(super) named: bool,
}

/// A mark of whatever calf is spoken of.
fn mark(mark: Mark, note: impl Into<String>) -> Item {
    Item::Mark(mark, note.into(), Spoken::default())
}

/// What one step over the words found.
pub(super) enum Found {
    Item(Item),
    /// A word that needs its neighbours to mean something.
    Word(Phrase, String),
    /// Said of dams and of calves: a mark of the dam if she is named.
    OfEither(Mark),
    /// "2l" and "by tube" beside colostrum, by the order in which they are noted.
    Detail(u8, String),
}

/// The piece's items, and which calf is spoken of from here on; nothing if a word or a combination is not
/// understood.
pub(super) fn read(
    piece: &[Word],
    spoken: Spoken,
    known: &Known<'_>,
    words: &Words,
) -> Option<(Vec<Item>, Spoken)> {
    let plain = clause::plain(piece);
    let mut found = Vec::new();
    let mut at = 0;
    while at < piece.len() {
        let used = time(&plain[at..], words, &mut found)
            .or_else(|| phrase(&piece[at..], &plain[at..], known, words, &mut found))
            .or_else(|| of_a_litter(&plain[at..], &mut found))
            .or_else(|| detail(&plain, at, words, &mut found))
            .or_else(|| calf_figure(&plain[at..], spoken, &known.newborn, words, &mut found))
            .or_else(|| animal(&piece[at..], known, words, &mut found))
            .or_else(|| four_figures(&plain[at..], &mut found))
            .or_else(|| closing_name(piece, at, known));
        at += used?;
    }
    let spoken = spoken_of(&found).unwrap_or(spoken);
    let items = together(found, spoken, words)?;
    Some((items, spoken))
}

/// The last word is known to be a person's name: the writer signs, or speaks to somebody.
fn closing_name(piece: &[Word], at: usize, known: &Known<'_>) -> Option<usize> {
    let last = at > 0 && at + 1 == piece.len();
    (last && (known.person)(&piece[at].plain)).then_some(1)
}

fn time(rest: &[&str], words: &Words, found: &mut Vec<Found>) -> Option<usize> {
    let (clock, used) = clock_at(rest, words)?;
    found.push(Found::Item(Item::Clock(clock)));
    Some(used)
}

/// A time that can be nothing else.
fn clock_at(rest: &[&str], words: &Words) -> Option<(ClockTime, usize)> {
    let first = rest.first()?;
    let next = rest.get(1).copied();
    if words::has(words.before_time, first)
        && let Some(clock) = clock_after_at(&rest[1..], words)
    {
        return Some((clock.0, clock.1 + 1));
    }
    if let Some(half) = next.filter(|next| words::has(words.half_day, next))
        && let Some(clock) = figure::sure_clock(&format!("{first}{half}"))
    {
        return Some((clock, 2));
    }
    figure::sure_clock(first).map(|clock| (clock, 1))
}

fn clock_after_at(rest: &[&str], words: &Words) -> Option<(ClockTime, usize)> {
    let first = rest.first()?;
    match rest.get(1).filter(|next| words::has(words.half_day, next)) {
        Some(half) => figure::sure_clock(&format!("{first}{half}")).map(|clock| (clock, 2)),
        None => figure::clock_after_at(first).map(|clock| (clock, 1)),
    }
}

fn of_a_litter(rest: &[&str], found: &mut Vec<Found>) -> Option<usize> {
    let (note, used) = litter::read(rest)?;
    let calf = note.parse().ok();
    let note = if calf.is_some() { String::new() } else { note };
    found.push(Found::Item(Item::Mark(Mark::SecondCalf, note, Spoken { calf, named: true })));
    Some(used)
}

fn phrase(
    piece: &[Word],
    rest: &[&str],
    known: &Known<'_>,
    words: &Words,
    found: &mut Vec<Found>,
) -> Option<usize> {
    let (phrase, used) = words::longest(words.marks, rest)?;
    let said = rest[..used].join(" ");
    let item = |item: Item| Found::Item(item);
    match phrase {
        Phrase::Never => None,
        // "calf 2 l of colostrum"
        Phrase::Which(_) if rest.get(used).is_some_and(|next| words::has(words.litres, next)) => {
            found.push(Found::Word(Phrase::Calf, "calf".to_owned()));
            Some(1)
        }
        // Its figure or word stands right behind it.
        Phrase::Is(
            of @ (Mark::Temperature
            | Mark::CalfTemperature
            | Mark::Weight
            | Mark::Vigour
            | Mark::Sex
            | Mark::Tagged
            | Mark::Fostered),
        ) => {
            let more = figured(of, &said, &piece[used..], &rest[used..], known, words, found)?;
            Some(used + more)
        }
        Phrase::Is(Mark::Helped) => {
            let (note, more) = ease(&said, rest.get(used).copied(), words);
            found.push(item(mark(Mark::Helped, note)));
            Some(used + more)
        }
        Phrase::Is(mark) if words::has(words.whose, &said) => {
            found.push(Found::OfEither(mark));
            Some(used)
        }
        Phrase::Is(Mark::Treated) => {
            treated(&piece[used..], known, words, found);
            Some(piece.len())
        }
        Phrase::Is(Mark::Vet) => {
            let note = if used > 1 { said } else { String::new() };
            found.push(item(mark(Mark::Vet, note)));
            Some(used)
        }
        Phrase::Is(Mark::Placenta) if said == CLEANED => {
            found.push(item(mark(Mark::Placenta, CLEANED)));
            Some(used)
        }
        Phrase::Is(of) => {
            whole(of, "", &said, words, found);
            Some(used)
        }
        Phrase::Noted(of, note) => {
            whole(of, note, &said, words, found);
            Some(used)
        }
        Phrase::Nothing => {
            found.push(Found::Item(Item::Nothing));
            Some(used)
        }
        Phrase::Calf
        | Phrase::CalfOf(_)
        | Phrase::Which(_)
        | Phrase::Bull
        | Phrase::Dam
        | Phrase::She
        | Phrase::Up
        | Phrase::Dead
        | Phrase::Down
        | Phrase::Looked
        | Phrase::Filler => {
            found.push(Found::Word(phrase, said));
            Some(used)
        }
    }
}

/// The ease score behind the word, or in it, and how many words it takes.
fn ease(said: &str, next: Option<&str>, words: &Words) -> (String, usize) {
    let score = next.filter(|next| matches!(*next, "1" | "2" | "3" | "4" | "5" | "6"));
    let note = score.or(ease_said(said, words)).unwrap_or_default().to_owned();
    (note, usize::from(score.is_some()))
}

/// The ease score that a word stands for (facts.md E-01 and E-04, two herd books: 1 unassisted, 2 an easy pull,
/// 3 a hard one, 4 by surgery).
fn ease_said(said: &str, words: &Words) -> Option<&'static str> {
    let score = words.eased.iter().position(|list| words::has(list, said))?;
    ["1", "2", "3", "4"].get(score).copied()
}

/// A mark that needs nothing behind it.
fn whole(of: Mark, note: &str, said: &str, words: &Words, found: &mut Vec<Found>) {
    if of.is_of_a_calf() {
        name_the_calf(said, words, found);
    }
    if of == Mark::Colostrum && said.starts_with("tube") {
        found.push(Found::Detail(1, "tube".to_owned()));
    } else if of == Mark::Colostrum && said.starts_with("bottle") {
        found.push(Found::Detail(1, "bottle".to_owned()));
    }
    found.push(Found::Item(mark(of, note)));
}

/// A mark with the figure or the name behind it: how many words that takes.
fn figured(
    of: Mark,
    said: &str,
    piece: &[Word],
    rest: &[&str],
    known: &Known<'_>,
    words: &Words,
    found: &mut Vec<Found>,
) -> Option<usize> {
    let warmth = matches!(of, Mark::Temperature | Mark::CalfTemperature);
    let of_calf = of == Mark::CalfTemperature || (warmth && follows_a_calf(found));
    let (note, more) = if warmth {
        temperature(rest, of_calf)?
    } else {
        behind(of, piece, rest, known, words)
            .or_else(|| may_be_bare(of, said).then(|| (String::new(), 0)))?
    };
    name_the_calf(said, words, found);
    found.push(Found::Item(mark(if of_calf { Mark::CalfTemperature } else { of }, note)));
    Some(more)
}

/// "calf up" names the calf as "calf" alone does.
fn name_the_calf(said: &str, words: &Words, found: &mut Vec<Found>) {
    if said.split(' ').any(|word| words::has(words.calf, word)) && !follows_a_calf(found) {
        found.push(Found::Word(Phrase::Calf, "calf".to_owned()));
    }
}

/// The words right before speak of a calf.
fn follows_a_calf(found: &[Found]) -> bool {
    matches!(
        found.last(),
        Some(Found::Word(Phrase::Calf | Phrase::CalfOf(_) | Phrase::Which(_), _))
    )
}

/// The figure or name that a mark needs right behind it.
fn behind(
    of: Mark,
    piece: &[Word],
    rest: &[&str],
    known: &Known<'_>,
    words: &Words,
) -> Option<(String, usize)> {
    if of == Mark::Weight {
        return calf_words::weight(rest, true, &known.newborn, words);
    }
    if of == Mark::Vigour {
        return calf_words::vigour(rest.first()?).map(|note| (note, 1));
    }
    if of == Mark::Sex {
        return calf_words::sex(rest.first()?, words).map(|note| (note.to_owned(), 1));
    }
    if of == Mark::Tagged {
        return calf_words::tag(piece, known);
    }
    calf_words::foster_mother(piece, rest, known, words)
}

/// "tagged" and "fostered" say something alone; "tag" and "weight" do not.
fn may_be_bare(of: Mark, said: &str) -> bool {
    of == Mark::Fostered || (of == Mark::Tagged && said.ends_with("tagged"))
}

fn temperature(rest: &[&str], of_calf: bool) -> Option<(String, usize)> {
    let read = if of_calf { figure::calf_temperature } else { figure::temperature };
    let first = rest.first()?;
    match rest.get(1) {
        Some(unit @ (&"c" | &"f")) => read(&format!("{first}{unit}")).map(|value| (value, 2)),
        Some(_) | None => read(first).map(|value| (value, 1)),
    }
}

/// "calf 38 kg", "calf up 38 kg", and "calf 37.2c", which needs its unit.
fn calf_figure(
    rest: &[&str],
    spoken: Spoken,
    newborn: &RangeInclusive<u32>,
    words: &Words,
    found: &mut Vec<Found>,
) -> Option<usize> {
    let named = spoken.named || spoken_of(found).is_some();
    if let Some((note, used)) = calf_words::weight(rest, false, newborn, words).filter(|_| named) {
        found.push(Found::Item(mark(Mark::Weight, note)));
        return Some(used);
    }
    if !follows_a_calf(found) {
        return None;
    }
    let (value, used) = temperature(rest, true)?;
    let has_unit = used == 2 || rest.first()?.ends_with(['c', 'f']);
    found.push(Found::Item(mark(Mark::CalfTemperature, value)));
    has_unit.then_some(used)
}

/// All that follows is the note, but for an animal right behind the word and a time at the end.
fn treated(rest: &[Word], known: &Known<'_>, words: &Words, found: &mut Vec<Found>) {
    found.push(Found::Item(mark(Mark::Treated, "")));
    let slot = found.len() - 1;
    let mut note = rest;
    if let Some(first) = note.first()
        && let Some(animal) = known.animal(&first.said)
    {
        found.push(Found::Item(Item::Animal(animal)));
        note = &note[1..];
    }
    let plain = clause::plain(note);
    for count in (1..=3.min(note.len())).rev() {
        let end = &plain[plain.len() - count..];
        let clock = clock_at(end, words).filter(|(_, used)| *used == count);
        let bare = if count == 1 { figure::bare_clock(end[0]) } else { None };
        if let Some(clock) = clock.map(|(clock, _)| clock).or(bare) {
            found.push(Found::Item(Item::Clock(clock)));
            note = &note[..note.len() - count];
            break;
        }
    }
    let text: String = clause::said(note).chars().take(NOTE_MOST).collect();
    found[slot] = Found::Item(mark(Mark::Treated, text));
}

/// Amounts and ways of giving, where the piece is about colostrum.
fn detail(plain: &[&str], at: usize, words: &Words, found: &mut Vec<Found>) -> Option<usize> {
    if !plain.iter().any(|word| words::has(words.milk, word)) {
        return None;
    }
    let (note, used) = calf_words::milk(&plain[at..], words)?;
    found.extend(note.map(|(order, note)| Found::Detail(order, note)));
    Some(used)
}

fn animal(
    piece: &[Word],
    known: &Known<'_>,
    words: &Words,
    found: &mut Vec<Found>,
) -> Option<usize> {
    let first = piece.first()?;
    let before = words::has(words.before_animal, &first.plain) && piece.len() > 1;
    let word = if before { &piece[1] } else { first };
    let animal = known.animal(&word.said)?;
    found.push(Found::Item(match figure::bare_clock(&word.plain) {
        Some(clock) if !word.hash && !before => Item::Either(animal, clock),
        Some(_) | None => Item::Animal(animal),
    }));
    Some(if before { 2 } else { 1 })
}

fn four_figures(rest: &[&str], found: &mut Vec<Found>) -> Option<usize> {
    let clock = figure::bare_clock(rest.first()?)?;
    found.push(Found::Item(Item::Clock(clock)));
    Some(1)
}
