//! May the words of a piece stand together, and what do those mean that need each other?
//!
//! Where they could mean two things they mean nothing: a false mark could silence an alarm.

use super::beside::may_stand_beside;
use super::litter;
use super::mark_words::{Found, Item, Spoken};
use super::words::{self, Phrase, Words};
use crate::herd::sign::Mark;

/// The note of a placenta that was told by "cleaned" alone; it is never kept.
pub(super) const CLEANED: &str = "cleaned";

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
    /// "single": no other calf is to come.
    single: bool,
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
    /// "cleaned" alone, which is her placenta only if nothing else was cleaned.
    cleaned: bool,
}

fn company(found: &[Found]) -> Company {
    let mut all = Company::default();
    for (at, one) in found.iter().enumerate() {
        match one {
            Found::Item(Item::Mark(mark, note, _)) => {
                all.cleaned |= *mark == Mark::Placenta && note == CLEANED;
                all.single |= *mark == Mark::Calf && !note.is_empty();
                all.marks.push(*mark);
            }
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
            Found::Word(Phrase::Down, _) => all.bare_down = true,
            Found::OfEither(mark) => {
                all.marks.push(*mark);
                all.of_either = true;
            }
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
pub(super) fn spoken_of(found: &[Found]) -> Option<Spoken> {
    let mut spoken = None;
    for one in found {
        let calf = match one {
            Found::Word(Phrase::Which(number), _) => Some(*number),
            Found::Item(Item::Mark(Mark::SecondCalf, note, own)) => {
                own.calf.or((note != litter::ANOTHER).then_some(2))
            }
            Found::Word(Phrase::Calf | Phrase::CalfOf(_), _)
            | Found::Item(Item::Mark(Mark::Calf, ..)) => None,
            Found::Item(_) | Found::Word(..) | Found::OfEither(_) | Found::Detail(..) => continue,
        };
        // A number beside it says more than "calf" does.
        let before = spoken.and_then(|spoken: Spoken| spoken.calf);
        spoken = Some(Spoken { calf: calf.or(before), named: true });
    }
    spoken
}

/// The items, with the words that needed each other resolved.
pub(super) fn together(found: Vec<Found>, spoken: Spoken, words: &Words) -> Option<Vec<Item>> {
    let all = company(&found);
    let bare = [all.bare_up, all.dead, all.bare_down];
    let others = all.marks.len() + bare.into_iter().filter(|is| *is).count();
    fits(&all, others, words)?;
    let mut details: Vec<(u8, String)> = found
        .iter()
        .filter_map(|one| match one {
            Found::Detail(order, said) => Some((*order, said.clone())),
            Found::Item(_) | Found::Word(..) | Found::OfEither(_) => None,
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
                items.extend([told(born(), &note), told(Mark::CalfDead, &note)]);
            }
            Found::Item(Item::Mark(Mark::Placenta, ..)) => items.push(told(Mark::Placenta, "")),
            // "4th calf born" is born, and not the first.
            Found::Item(Item::Mark(Mark::Calf, note, _)) => items.push(told(born(), &note)),
            Found::Item(Item::Mark(of, note, _)) => items.push(Item::Mark(of, note, spoken)),
            Found::Item(item) => items.push(item),
            Found::OfEither(of) => items.push(told(of, "")),
            Found::Word(Phrase::Down, _) => items.push(told(Mark::Down, "")),
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
    let named = all.she || of_dam || all.animals > 0;
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
        // Lying, wobbly, off her feed: only of a dam who is named, and alone. "calf down" is none of it.
        all.bare_down && (others > 1 || all.calf || !named || !plain_beside(all, words)),
        all.of_either && (all.calf || !named),
        // The dam does not suck, and "she has colostrum" is her udder.
        of_dam && dam_does(&Mark::Sucked),
        (of_dam || all.she) && dam_does(&Mark::Colostrum),
        all.marks.contains(&Mark::Colostrum) && all.marks.contains(&Mark::Collected),
        // "Cleaned the navel" is no placenta.
        all.cleaned && others > 1,
        all.dam && (all.marks.contains(&Mark::Up)),
        !all.marks.iter().all(|mark| may_stand_beside(*mark, &all.fillers, words)),
        // "nothing" beside a mark denies it.
        all.nothing && others > 0,
        // "single foot" is no calf.
        all.single && others > 1,
        all.marks.contains(&Mark::FalseAlarm) && others > 1,
    ];
    (!refused.contains(&true)).then_some(())
}

/// Nothing beside it that could mean that it is somewhere else: "down there".
fn plain_beside(all: &Company, words: &Words) -> bool {
    all.fillers.iter().all(|word| words::has(words.finished_filler, word))
}
