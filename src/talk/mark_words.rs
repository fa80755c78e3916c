//! The words of one piece as marks, animals and times, in the order in which they stand.
//!
//! It knows which words may stand together: "calf up" is a mark, "feet up" is not. One word that it
//! does not know, and the whole piece says nothing: a false mark could silence an alarm.

use super::beside::may_stand_beside;
use super::clause::{self, Word};
use super::figure::{self, ClockTime};
use super::known::Known;
use super::words::{self, Phrase, Words};
use crate::herd::sign::Mark;

/// A note is shown in the diary's one line.
const NOTE_MOST: usize = 120;

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Item {
    Mark(Mark, String),
    /// Somebody looked.
    Looked,
    /// Looked, and there was nothing.
    Nothing,
    Animal(String),
    /// Four figures that are an animal of the farm and a time of day.
    Either(String, ClockTime),
    Clock(ClockTime),
}

/// What one step over the words found.
enum Found {
    Item(Item),
    /// A word that needs its neighbours to mean something.
    Word(Phrase, String),
    /// Said of dams and of calves: a mark of the dam if she is named.
    OfEither(Mark),
    /// "2l" and "by tube" beside colostrum.
    Detail(String),
}

/// The piece's items; nothing if a word or a combination is not understood.
pub(super) fn read(piece: &[Word], known: &Known<'_>, words: &Words) -> Option<Vec<Item>> {
    let plain = clause::plain(piece);
    let mut found = Vec::new();
    let mut at = 0;
    while at < piece.len() {
        let used = time(&plain[at..], words, &mut found)
            .or_else(|| phrase(&piece[at..], &plain[at..], known, words, &mut found))
            .or_else(|| detail(&plain, at, words, &mut found))
            .or_else(|| animal(&piece[at..], known, words, &mut found))
            .or_else(|| four_figures(&plain[at..], &mut found))
            .or_else(|| closing_name(piece, at, known));
        at += used?;
    }
    together(found, words)
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

fn phrase(
    piece: &[Word],
    rest: &[&str],
    known: &Known<'_>,
    words: &Words,
    found: &mut Vec<Found>,
) -> Option<usize> {
    let (phrase, used) = words::longest(words.marks, rest)?;
    let said = rest[..used].join(" ");
    match phrase {
        Phrase::Never => None,
        Phrase::Is(mark @ (Mark::Temperature | Mark::CalfTemperature)) => {
            let (value, more) = temperature(&rest[used..])?;
            found.push(Found::Item(Item::Mark(mark, value)));
            Some(used + more)
        }
        // Its figure or word stands right behind it.
        Phrase::Is(mark @ (Mark::Weight | Mark::Vigour | Mark::Sex)) => {
            let note = (*rest.get(used)?).to_owned();
            found.push(Found::Item(Item::Mark(mark, note)));
            Some(used + 1)
        }
        Phrase::Is(Mark::Helped) => {
            let score =
                rest.get(used).filter(|next| matches!(**next, "1" | "2" | "3" | "4" | "5" | "6"));
            let note = score.copied().or(ease_said(&said)).unwrap_or_default().to_owned();
            found.push(Found::Item(Item::Mark(Mark::Helped, note)));
            Some(used + usize::from(score.is_some()))
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
            found.push(Found::Item(Item::Mark(Mark::Vet, note)));
            Some(used)
        }
        Phrase::Is(mark) => {
            found.push(Found::Item(Item::Mark(mark, String::new())));
            Some(used)
        }
        Phrase::Nothing => {
            found.push(Found::Item(Item::Nothing));
            Some(used)
        }
        Phrase::Calf
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

/// The ease score that a word stands for (facts.md E-01 and E-04, two herd books: 1 unassisted, 2 an easy pull,
/// 3 a hard one, 4 by surgery).
fn ease_said(said: &str) -> Option<&'static str> {
    match said {
        "unassisted" | "unaided" => Some("1"),
        "easy pull" | "light pull" => Some("2"),
        "hard pull" => Some("3"),
        "caesarean" | "c section" => Some("4"),
        _ => None,
    }
}

fn temperature(rest: &[&str]) -> Option<(String, usize)> {
    let first = rest.first()?;
    match rest.get(1) {
        Some(unit @ (&"c" | &"f")) => {
            figure::temperature(&format!("{first}{unit}")).map(|value| (value, 2))
        }
        Some(_) | None => figure::temperature(first).map(|value| (value, 1)),
    }
}

/// All that follows is the note, but for an animal right behind the word and a time at the end.
fn treated(rest: &[Word], known: &Known<'_>, words: &Words, found: &mut Vec<Found>) {
    found.push(Found::Item(Item::Mark(Mark::Treated, String::new())));
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
    found[slot] = Found::Item(Item::Mark(Mark::Treated, text));
}

/// Amounts and ways of giving, where the piece is about colostrum.
fn detail(plain: &[&str], at: usize, words: &Words, found: &mut Vec<Found>) -> Option<usize> {
    if !plain.contains(&"colostrum") {
        return None;
    }
    if words::has(words.colostrum_words, plain[at]) {
        found.push(Found::Detail(plain[at].to_owned()));
        return Some(1);
    }
    let (amount, unit) = figure::amount(plain[at], words)?;
    if unit {
        found.push(Found::Detail(plain[at].to_owned()));
        return Some(1);
    }
    let next = plain.get(at + 1)?;
    if !words::has(words.litres, next) {
        return None;
    }
    found.push(Found::Detail(format!("{amount}l")));
    Some(2)
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

/// The words of a piece, counted, to judge whether they may stand together.
#[derive(Default)]
struct Company {
    calf: bool,
    she: bool,
    /// "cow" and the like, where no animal follows; "cow 114" is a label.
    dam: bool,
    labelled_dam: bool,
    looked: bool,
    animals: usize,
    fillers: Vec<String>,
    marks: Vec<Mark>,
    nothing: bool,
    bare_up: bool,
    dead: bool,
    bare_down: bool,
    of_either: bool,
}

fn company(found: &[Found]) -> Company {
    let mut all = Company::default();
    for (at, one) in found.iter().enumerate() {
        match one {
            Found::Item(Item::Mark(mark, _)) => all.marks.push(*mark),
            Found::Item(Item::Nothing) => all.nothing = true,
            Found::Item(Item::Animal(_) | Item::Either(..)) => all.animals += 1,
            Found::Word(Phrase::Calf, _) => all.calf = true,
            Found::Word(Phrase::She, _) => all.she = true,
            Found::Word(Phrase::Dam, _) => match found.get(at + 1) {
                Some(Found::Item(Item::Animal(_) | Item::Either(..))) => all.labelled_dam = true,
                Some(_) | None => all.dam = true,
            },
            Found::Word(Phrase::Looked, _) => all.looked = true,
            Found::Word(Phrase::Up, _) => all.bare_up = true,
            Found::Word(Phrase::Dead, _) => all.dead = true,
            Found::Word(Phrase::Down, _) => all.bare_down = true,
            Found::OfEither(mark) => {
                all.marks.push(*mark);
                all.of_either = true;
            }
            Found::Word(Phrase::Filler, said) => all.fillers.push(said.clone()),
            Found::Item(Item::Looked | Item::Clock(_))
            | Found::Word(Phrase::Is(_) | Phrase::Nothing | Phrase::Never, _)
            | Found::Detail(_) => {}
        }
    }
    all
}

/// The items, with the words that needed each other resolved.
fn together(found: Vec<Found>, words: &Words) -> Option<Vec<Item>> {
    let all = company(&found);
    let bare = [all.bare_up, all.dead, all.bare_down];
    let others = all.marks.len() + bare.into_iter().filter(|is| *is).count();
    fits(&all, others, words)?;
    let details: Vec<String> = found
        .iter()
        .filter_map(|one| match one {
            Found::Detail(said) => Some(said.clone()),
            Found::Item(_) | Found::Word(..) | Found::OfEither(_) => None,
        })
        .collect();
    let mut items = Vec::new();
    for one in found {
        match one {
            Found::Item(Item::Mark(Mark::Colostrum, _)) => {
                items.push(Item::Mark(Mark::Colostrum, details.join(" ")));
            }
            Found::Item(item) => items.push(item),
            Found::OfEither(mark) => items.push(Item::Mark(mark, String::new())),
            Found::Word(Phrase::Down, _) => items.push(Item::Mark(Mark::Down, String::new())),
            Found::Word(Phrase::Calf, _) if others == 0 => {
                items.push(Item::Mark(Mark::Calf, String::new()));
            }
            Found::Word(Phrase::Up, _) => items.push(Item::Mark(Mark::Up, String::new())),
            Found::Word(Phrase::Dead, _) => {
                let whose = if all.calf || !(all.dam || all.labelled_dam) {
                    Mark::CalfDead
                } else {
                    Mark::DamDead
                };
                items.push(Item::Mark(whose, String::new()));
            }
            // "feet seen" says more than that somebody looked.
            Found::Word(Phrase::Looked, _) if others == 0 && !all.nothing => {
                items.push(Item::Looked);
            }
            Found::Word(..) | Found::Detail(_) => {}
        }
    }
    Some(items)
}

/// May these words stand together? Nothing where they could mean something else.
fn fits(all: &Company, others: usize, words: &Words) -> Option<()> {
    let only = |allowed: &[Mark]| all.marks.iter().all(|mark| allowed.contains(mark));
    let after_birth = [Mark::Calf, Mark::SecondCalf, Mark::Sucked, Mark::Colostrum];
    let of_calf = [
        Mark::Calf,
        Mark::Up,
        Mark::Sucked,
        Mark::Colostrum,
        Mark::CalfDead,
        Mark::Feet,
        Mark::Nose,
    ];
    let named = all.she || all.dam || all.labelled_dam || all.animals > 0;
    let calf_alone = all.calf && others == 0;
    let silent = others == 0 && !all.calf && !all.looked && !all.nothing;
    let refused = [
        // "114 is": something was to follow.
        silent && !all.fillers.is_empty(),
        // "cow calf": which of the two is it about?
        all.calf && all.dam,
        all.calf && !only(&of_calf),
        all.calf && (all.looked || all.nothing),
        // "calf showing", "I see the calf": not all of it is out.
        calf_alone && all.fillers.iter().any(|word| !words::has(words.calf_filler, word)),
        // Standing: "cow up", "she is up", "feet up", "I am up" are not the calf.
        all.bare_up && (all.she || all.dam || !only(&after_birth) || all.dead),
        all.bare_up && all.labelled_dam && !all.calf,
        all.bare_up && !all.calf && all.marks.is_empty() && !all.fillers.is_empty(),
        // Dead: "she is dead", "114 dead" do not say who.
        all.dead && (all.she || !all.marks.is_empty()),
        all.dead && all.animals > 0 && !(all.calf || all.labelled_dam || all.dam),
        // Lying, wobbly, off her feed: only of a dam who is named, and alone. "calf down" is none of it.
        all.bare_down && (others > 1 || all.calf || !named || !plain_beside(all, words)),
        all.of_either && (all.calf || !named),
        // The dam does not suck.
        (all.dam || all.labelled_dam) && all.marks.contains(&Mark::Sucked) && !all.calf,
        all.dam && (all.marks.contains(&Mark::Up)),
        !all.marks.iter().all(|mark| may_stand_beside(*mark, &all.fillers, words)),
        // "nothing" beside a mark denies it.
        all.nothing && others > 0,
        all.marks.contains(&Mark::FalseAlarm) && others > 1,
    ];
    (!refused.contains(&true)).then_some(())
}

/// Nothing beside it that could mean that it is somewhere else: "down there".
fn plain_beside(all: &Company, words: &Words) -> bool {
    all.fillers.iter().all(|word| words::has(words.finished_filler, word))
}
