//! The words of one piece as marks, animals and times, in the order in which they stand.
//!
//! It knows which words may stand together: "calf up" is a mark, "feet up" is not. One word that it
//! does not know, and the whole piece says nothing: a false mark could silence an alarm.

use super::beside::may_stand_beside;
use super::calf_words;
use super::clause::{self, Word};
use super::figure::{self, ClockTime};
use super::known::Known;
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
enum Found {
    Item(Item),
    /// A word that needs its neighbours to mean something.
    Word(Phrase, String),
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
            .or_else(|| detail(&plain, at, words, &mut found))
            .or_else(|| calf_figure(&plain[at..], words, &mut found))
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
        Phrase::Is(Mark::Temperature | Mark::CalfTemperature) => {
            let of_calf = phrase == Phrase::Is(Mark::CalfTemperature) || follows_a_calf(found);
            let (value, more) = temperature(&rest[used..], of_calf)?;
            name_the_calf(&said, found);
            let of = if of_calf { Mark::CalfTemperature } else { Mark::Temperature };
            found.push(item(mark(of, value)));
            Some(used + more)
        }
        // Its figure or word stands right behind it.
        Phrase::Is(
            of @ (Mark::Weight | Mark::Vigour | Mark::Sex | Mark::Tagged | Mark::Fostered),
        ) => {
            let (note, more) = behind(of, &piece[used..], &rest[used..], known, words)
                .or_else(|| may_be_bare(of, &said).then(|| (String::new(), 0)))?;
            name_the_calf(&said, found);
            found.push(item(mark(of, note)));
            Some(used + more)
        }
        Phrase::Is(Mark::Helped) => {
            let score = rest.get(used).filter(|next| matches!(**next, "1" | "2" | "3" | "4" | "5"));
            let note = score.map_or(String::new(), |score| (*score).to_owned());
            found.push(item(mark(Mark::Helped, note)));
            Some(used + usize::from(score.is_some()))
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
        Phrase::Is(of) => {
            if of.is_of_a_calf() {
                name_the_calf(&said, found);
            }
            if of == Mark::Colostrum && said.starts_with("tube") {
                found.push(Found::Detail(1, "tube".to_owned()));
            } else if of == Mark::Colostrum && said.starts_with("bottle") {
                found.push(Found::Detail(1, "bottle".to_owned()));
            }
            found.push(item(mark(of, "")));
            Some(used)
        }
        Phrase::Noted(of, note) => {
            if of.is_of_a_calf() {
                name_the_calf(&said, found);
            }
            found.push(item(mark(of, note)));
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
        | Phrase::Looked
        | Phrase::Filler => {
            found.push(Found::Word(phrase, said));
            Some(used)
        }
    }
}

/// "calf up" names the calf as "calf" alone does.
fn name_the_calf(said: &str, found: &mut Vec<Found>) {
    if said.split(' ').any(|word| word == "calf") && !follows_a_calf(found) {
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
        return calf_words::weight(rest, true, words);
    }
    if of == Mark::Vigour {
        return calf_words::vigour(rest.first()?).map(|note| (note, 1));
    }
    if of == Mark::Sex {
        return calf_words::sex(rest.first()?).map(|note| (note.to_owned(), 1));
    }
    if of == Mark::Tagged {
        return calf_words::tag(piece, known);
    }
    calf_words::foster_mother(piece, rest, known, words)
}

/// "tagged" and "fostered" say something alone; "tag" and "weight" do not.
fn may_be_bare(of: Mark, said: &str) -> bool {
    match of {
        Mark::Fostered => true,
        Mark::Tagged => said.ends_with("tagged"),
        _ => false,
    }
}

fn temperature(rest: &[&str], of_calf: bool) -> Option<(String, usize)> {
    let read = if of_calf { figure::calf_temperature } else { figure::temperature };
    let first = rest.first()?;
    match rest.get(1) {
        Some(unit @ (&"c" | &"f")) => read(&format!("{first}{unit}")).map(|value| (value, 2)),
        Some(_) | None => read(first).map(|value| (value, 1)),
    }
}

/// "38 kg" anywhere, and "calf 37.2c", which needs its unit.
fn calf_figure(rest: &[&str], words: &Words, found: &mut Vec<Found>) -> Option<usize> {
    if let Some((note, used)) = calf_words::weight(rest, false, words) {
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

/// The words of a piece, counted, to judge whether they may stand together.
#[derive(Default)]
struct Company {
    calf: bool,
    /// "bull calf", "heifer calf".
    calf_of: Option<&'static str>,
    /// "second calf", "both".
    which: Option<u8>,
    /// "bull" by itself.
    bull: bool,
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
}

fn company(found: &[Found]) -> Company {
    let mut all = Company::default();
    for (at, one) in found.iter().enumerate() {
        match one {
            Found::Item(Item::Mark(mark, ..)) => all.marks.push(*mark),
            Found::Item(Item::Nothing) => all.nothing = true,
            Found::Item(Item::Animal(_) | Item::Either(..)) => all.animals += 1,
            Found::Word(Phrase::Calf, _) => all.calf = true,
            Found::Word(Phrase::CalfOf(sex), _) => {
                all.calf = true;
                all.calf_of = Some(sex);
            }
            Found::Word(Phrase::Which(number), _) => {
                all.calf = true;
                all.which = Some(*number);
            }
            Found::Word(Phrase::Bull, _) => all.bull = true,
            Found::Word(Phrase::She, _) => all.she = true,
            Found::Word(Phrase::Dam, said) if said == "heifer" && is_of_a_numbered(found, at) => {
                all.calf_of = Some("heifer");
            }
            Found::Word(Phrase::Dam, _) => match found.get(at + 1) {
                Some(Found::Item(Item::Animal(_) | Item::Either(..))) => all.labelled_dam = true,
                Some(_) | None => all.dam = true,
            },
            Found::Word(Phrase::Looked, _) => all.looked = true,
            Found::Word(Phrase::Up, _) => all.bare_up = true,
            Found::Word(Phrase::Dead, _) => all.dead = true,
            Found::Word(Phrase::Filler, said) => all.fillers.push(said.clone()),
            Found::Item(Item::Looked | Item::Clock(_))
            | Found::Word(Phrase::Is(_) | Phrase::Noted(..) | Phrase::Nothing | Phrase::Never, _)
            | Found::Detail(..) => {}
        }
    }
    if all.bull && all.which.is_some() && all.calf_of.is_none() {
        all.calf_of = Some("bull");
        all.bull = false;
    }
    all
}

/// "second calf heifer": not the dam, if no animal follows.
fn is_of_a_numbered(found: &[Found], at: usize) -> bool {
    let before = found[..at]
        .iter()
        .any(|one| matches!(one, Found::Word(Phrase::Which(number), _) if *number > 1));
    before && !matches!(found.get(at + 1), Some(Found::Item(Item::Animal(_) | Item::Either(..))))
}

/// Which calf the piece speaks of, if it speaks of one.
fn spoken_of(found: &[Found]) -> Option<Spoken> {
    let mut spoken = None;
    for one in found {
        let calf = match one {
            Found::Word(Phrase::Which(number), _) => Some(*number),
            Found::Item(Item::Mark(Mark::SecondCalf, ..)) => Some(2),
            Found::Word(Phrase::Calf | Phrase::CalfOf(_), _)
            | Found::Item(Item::Mark(Mark::Calf, ..)) => None,
            Found::Item(_) | Found::Word(..) | Found::Detail(..) => continue,
        };
        // A number beside it says more than "calf" does.
        let before = spoken.and_then(|spoken: Spoken| spoken.calf);
        spoken = Some(Spoken { calf: calf.or(before), named: true });
    }
    spoken
}

/// The items, with the words that needed each other resolved.
fn together(found: Vec<Found>, spoken: Spoken, words: &Words) -> Option<Vec<Item>> {
    let all = company(&found);
    let others = all.marks.len() + usize::from(all.bare_up) + usize::from(all.dead);
    fits(&all, others, words)?;
    let mut details: Vec<(u8, String)> = found
        .iter()
        .filter_map(|one| match one {
            Found::Detail(order, said) => Some((*order, said.clone())),
            Found::Item(_) | Found::Word(..) => None,
        })
        .collect();
    details.sort_by_key(|(order, _)| *order);
    details.dedup();
    let details: Vec<String> = details.into_iter().map(|(_, said)| said).collect();
    let born = || match all.which {
        Some(number) if number > 1 => Mark::SecondCalf,
        Some(_) | None => Mark::Calf,
    };
    let told = |of: Mark, note: &str| Item::Mark(of, note.to_owned(), spoken);
    let mut items = Vec::new();
    let mut sexed = all.calf_of.filter(|sex| shows_its_sex(&all, sex));
    let mut is_born = false;
    for one in found {
        match one {
            Found::Item(Item::Mark(Mark::Colostrum, ..)) => {
                items.push(told(Mark::Colostrum, &details.join(" ")));
            }
            // Born dead is born: its birth and its death.
            Found::Item(Item::Mark(Mark::CalfDead, note, _)) if !note.is_empty() => {
                items.extend([told(born(), ""), told(Mark::CalfDead, &note)]);
            }
            Found::Item(Item::Mark(of, note, _)) => items.push(Item::Mark(of, note, spoken)),
            Found::Item(item) => items.push(item),
            Found::Word(Phrase::Calf | Phrase::CalfOf(_) | Phrase::Which(_) | Phrase::Dam, _)
                if all.calf && others == 0 && !is_born =>
            {
                is_born = true;
                items.push(told(born(), ""));
                items.extend(sexed.take().map(|sex| told(Mark::Sex, sex)));
            }
            Found::Word(Phrase::CalfOf(_), _) => {
                items.extend(sexed.take().map(|sex| told(Mark::Sex, sex)));
            }
            Found::Word(Phrase::Up, _) => items.push(told(Mark::Up, "")),
            Found::Word(Phrase::Dead, _) => {
                let whose = if all.calf || !(all.dam || all.labelled_dam) {
                    Mark::CalfDead
                } else {
                    Mark::DamDead
                };
                items.push(told(whose, ""));
            }
            // "feet seen" says more than that somebody looked.
            Found::Word(Phrase::Looked, _) if others == 0 && !all.nothing => {
                items.push(Item::Looked);
            }
            Found::Word(..) | Found::Detail(..) => {}
        }
    }
    Some(items)
}

/// Whether "heifer calf" and "bull calf" say which it is. "Heifer calf dead" and "heifer calf feet" may be a
/// heifer whose calf is not out yet, and a sex shows that it is.
fn shows_its_sex(all: &Company, sex: &str) -> bool {
    let of_a_born =
        |mark: &Mark| mark.proves_a_calf() || matches!(mark, Mark::Calf | Mark::SecondCalf);
    let up = all.bare_up || all.marks.contains(&Mark::Up);
    let rest = all.marks.iter().filter(|mark| **mark != Mark::Up).all(of_a_born);
    !all.dead && rest && (!up || sex == "bull" || all.which.is_some())
}

/// May these words stand together? Nothing where they could mean something else.
fn fits(all: &Company, others: usize, words: &Words) -> Option<()> {
    let only = |allowed: &[Mark]| all.marks.iter().all(|mark| allowed.contains(mark));
    let after_birth =
        [Mark::Calf, Mark::Sucked, Mark::Colostrum, Mark::Breathing, Mark::Navel, Mark::Tagged];
    let beside_calf = |mark: &Mark| {
        mark.is_of_a_calf()
            || matches!(mark, Mark::Calf | Mark::SecondCalf | Mark::Feet | Mark::Nose)
    };
    // "she is breathing", "cow 114 sitting up": whatever the dam does is no sign of her calf.
    let of_either = [Mark::Breathing, Mark::Sternal, Mark::Trying];
    let of_dam = all.dam || all.labelled_dam;
    let dam_does = |mark: &Mark| all.marks.contains(mark) && !all.calf;
    let calf_alone = all.calf && others == 0;
    let silent = others == 0 && !all.calf && !all.looked && !all.nothing;
    let refused = [
        // "114 is": something was to follow.
        silent && !all.fillers.is_empty(),
        // "cow calf": which of the two is it about?
        all.calf && all.dam,
        all.calf && !all.marks.iter().all(beside_calf),
        all.bull || (all.which == Some(0) && (others == 0 || all.dead)),
        all.which == Some(0) && all.marks.iter().any(|mark| !mark.is_of_a_calf()),
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
        (of_dam || all.she) && of_either.iter().any(dam_does),
        // The dam does not suck.
        of_dam && dam_does(&Mark::Sucked),
        all.dam && (all.marks.contains(&Mark::Up)),
        !all.marks.iter().all(|mark| may_stand_beside(*mark, &all.fillers, words)),
        // "nothing" beside a mark denies it.
        all.nothing && others > 0,
        all.marks.contains(&Mark::FalseAlarm) && others > 1,
    ];
    (!refused.contains(&true)).then_some(())
}
