//! The figures and names that stand behind a calf's marks: sex, weight, tag, first milk, whom it was given to.
//!
//! Each comes out in one short form, whatever was typed; what is not one of its forms is nothing, and then the
//! whole piece says nothing.

use std::ops::RangeInclusive;

use super::clause::Word;
use super::figure;
use super::known::Known;
use super::words::{self, Words};

/// Nobody rates a calf past ten (facts.md C-09: five things of two points each).
const VIGOUR_MOST: u32 = 10;
/// Millilitres that are given to a calf at one time at most (common practice, no source).
const MILLILITRES_MOST: u32 = 10_000;
const QUARTS_MOST: u32 = 10;
/// What a refractometer shows of first milk, and IgG of it in grams a litre (common practice, no source).
const BRIX: RangeInclusive<u32> = 5..=40;
const IGG: RangeInclusive<u32> = 5..=200;
/// Letters and figures of a tag; an electronic number has fifteen.
const TAG_MOST: usize = 20;
/// A tag's digits may stand in so many groups.
const TAG_GROUPS: usize = 4;

/// "bull", "heifer" and their short forms.
pub(super) fn sex(word: &str, words: &Words) -> Option<&'static str> {
    let [bull, heifer] = words.sexes;
    if words::has(bull, word) {
        return Some("bull");
    }
    words::has(heifer, word).then_some("heifer")
}

pub(super) fn vigour(word: &str) -> Option<String> {
    let figure: u32 = word.parse().ok()?;
    let plain = word.len() <= 2 && figure <= VIGOUR_MOST;
    plain.then(|| figure.to_string())
}

/// "38kg", "38 kg", "84 lb by tape", and where the word weight stood before it a bare "38": its note, and how
/// many words it takes. A weight that no newborn of the species has is none.
pub(super) fn weight(
    rest: &[&str],
    named: bool,
    newborn: &RangeInclusive<u32>,
    words: &Words,
) -> Option<(String, usize)> {
    let first = rest.first()?;
    let split = first.find(|c: char| c.is_ascii_alphabetic()).unwrap_or(first.len());
    let (figures, attached) = first.split_at(split);
    let next = rest.get(1).copied().unwrap_or_default();
    let (unit, mut used) = if attached.is_empty() { (next, 2) } else { (attached, 1) };
    let in_pounds = words::has(words.pounds, unit);
    if !in_pounds && !words::has(words.kilos, unit) {
        if !named || !attached.is_empty() {
            return None;
        }
        used = 1;
    }
    let (figures, tenths) = figure::whole_or_tenth(figures)?;
    let grams = if in_pounds { tenths * 4536 / 100 } else { tenths * 100 };
    if !newborn.contains(&grams) {
        return None;
    }
    let unit = if in_pounds { "lb" } else { "kg" };
    let by = [(words.by_tape, " tape"), (words.by_eye, " guess"), (words.by_scales, " weighed")];
    let said = by
        .iter()
        .find_map(|(list, note)| Some((words::longest_of(list, rest.get(used..)?)?, *note)));
    let (more, note) = said.unwrap_or((0, ""));
    Some((format!("{figures} {unit}{note}"), used + more))
}

/// "IE 37212345670021", "UK 123456 700021", "0712": the number, and how many words it takes. Two letters of a
/// country go before groups of figures; without them one word is the whole number.
pub(super) fn tag(piece: &[Word], known: &Known<'_>) -> Option<(String, usize)> {
    let first = piece.first()?;
    let digits = |word: &str| !word.is_empty() && word.bytes().all(|b| b.is_ascii_digit());
    if first.plain.len() == 2 && first.plain.bytes().all(|b| b.is_ascii_alphabetic()) {
        let groups = piece[1..].iter().take(TAG_GROUPS).take_while(|word| digits(&word.plain));
        let groups: Vec<&str> = groups.map(|word| word.plain.as_str()).collect();
        let number = groups.concat();
        let fits = (4..=TAG_MOST).contains(&number.len());
        return fits
            .then(|| (format!("{} {number}", first.plain.to_ascii_uppercase()), 1 + groups.len()));
    }
    let has_figure = first.plain.bytes().any(|b| b.is_ascii_digit());
    let is_one = first.plain.bytes().all(|b| b.is_ascii_alphanumeric());
    let taken = has_figure && is_one && first.plain.len() <= TAG_MOST;
    // "tagged 114": that is whose calf it is.
    (taken && known.animal(&first.said).is_none()).then(|| (first.plain.to_ascii_uppercase(), 1))
}

/// "to 207", "on to cow 207": the foster mother, and how many words it takes.
pub(super) fn foster_mother(
    piece: &[Word],
    rest: &[&str],
    known: &Known<'_>,
    words: &Words,
) -> Option<(String, usize)> {
    let before = words::longest_of(words.to_mother, rest)?;
    let animal = known.animal(&piece.get(before)?.said)?;
    Some((animal, before + 1))
}

/// One thing that is said of first milk, in its short form and by the order in which they are noted; nothing
/// to note where it only joins two others. And how many words it takes.
pub(super) fn milk(rest: &[&str], words: &Words) -> Option<(Option<(u8, String)>, usize)> {
    let first = rest.first()?;
    let next = rest.get(1).copied().unwrap_or_default();
    if let Some((found, used)) = volume(first, next, words) {
        return Some((Some((0, found)), used));
    }
    for (order, list, note) in
        [(1, words.by_tube, "tube"), (1, words.by_bottle, "bottle"), (2, words.powder, "powder")]
    {
        if words::has(list, first) {
            return Some((Some((order, note.to_owned())), 1));
        }
    }
    for (order, name, range) in [(3, "brix", &BRIX), (4, "igg", &IGG)] {
        let figure = |word: &str| {
            let (figures, tenths) = figure::whole_or_tenth(word)?;
            range.contains(&(tenths / 10)).then(|| format!("{name} {figures}"))
        };
        if *first == name {
            return Some((Some((order, figure(next)?)), 2));
        }
        if next == name {
            return Some((Some((order, figure(first)?)), 2));
        }
    }
    words::has(words.colostrum_words, first).then_some((None, 1))
}

fn volume(first: &str, next: &str, words: &Words) -> Option<(String, usize)> {
    let split = first.find(|c: char| c.is_ascii_alphabetic()).unwrap_or(first.len());
    let (figures, attached) = first.split_at(split);
    let (unit, used) = if attached.is_empty() { (next, 2) } else { (attached, 1) };
    if words::has(words.litres, unit) {
        let (amount, _) = figure::amount(figures, words)?;
        return Some((format!("{amount}l"), used));
    }
    if words::has(words.millilitres, unit) {
        let millilitres: u32 = figures.parse().ok()?;
        let fits = (50..=MILLILITRES_MOST).contains(&millilitres);
        return fits.then(|| (format!("{millilitres}ml"), used));
    }
    if words::has(words.quarts, unit) {
        let (figures, tenths) = figure::whole_or_tenth(figures)?;
        let fits = (1..=QUARTS_MOST * 10).contains(&tenths);
        return fits.then(|| (format!("{figures}qt"), used));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::super::known::newborn_of;
    use super::super::tongue::ENGLISH;
    use super::*;

    #[test]
    fn weights_are_read_with_their_unit_and_how_they_were_come_by() {
        for (said, named, read) in [
            ("38", true, Some(("38 kg", 1))),
            ("38", false, None),
            ("38kg", false, Some(("38 kg", 1))),
            ("41.5 kilos", false, Some(("41.5 kg", 2))),
            ("41,5 kg by tape", false, Some(("41.5 kg tape", 4))),
            ("84 lb", false, Some(("84 lb", 2))),
            ("84lbs estimated", false, Some(("84 lb guess", 2))),
            ("38 kg on scales", false, Some(("38 kg weighed", 4))),
            ("38 kg at", false, Some(("38 kg", 2))),
            // Past what a calf weighs: pounds were meant, or a slip of the thumb.
            ("380", true, None),
            ("95", true, None),
            ("3 kg", true, None),
            ("38 stone", true, Some(("38 kg", 1))),
            ("heavy", true, None),
        ] {
            let rest: Vec<&str> = said.split(' ').collect();
            let read = read.map(|(note, used)| (note.to_owned(), used));
            assert_eq!(weight(&rest, named, &newborn_of("cattle"), &ENGLISH), read, "{said}");
        }
    }

    #[test]
    fn a_lamb_weighs_four_kilos_and_no_calf_does() {
        for (species, said, is_one) in [
            ("sheep", ["4.2", "kg"], true),
            ("cattle", ["4.2", "kg"], false),
            ("pig", ["1.4", "kg"], true),
            ("pig", ["14", "kg"], false),
            ("alpaca", ["7", "kg"], true),
            ("horse", ["52", "kg"], true),
            ("sheep", ["38", "kg"], false),
        ] {
            let read = weight(&said, false, &newborn_of(species), &ENGLISH);
            assert_eq!(read.is_some(), is_one, "{species} {said:?}");
        }
    }

    #[test]
    fn what_is_said_of_first_milk_comes_out_short() {
        for (said, read) in [
            ("2l", Some((Some((0, "2l")), 1))),
            ("2,5 litres", Some((Some((0, "2.5l")), 2))),
            ("1500ml", Some((Some((0, "1500ml")), 1))),
            ("2 quarts", Some((Some((0, "2qt")), 2))),
            ("20000 ml", None),
            ("tubed", Some((Some((1, "tube")), 1))),
            ("brix 24", Some((Some((3, "brix 24")), 2))),
            ("22.5 brix", Some((Some((3, "brix 22.5")), 2))),
            ("brix 90", None),
            ("igg 60", Some((Some((4, "igg 60")), 2))),
            ("by", Some((None, 1))),
            ("wall", None),
        ] {
            let rest: Vec<&str> = said.split(' ').collect();
            let read = read.map(|(found, used): (Option<(u8, &str)>, usize)| {
                (found.map(|(order, note)| (order, note.to_owned())), used)
            });
            assert_eq!(milk(&rest, &ENGLISH), read, "{said}");
        }
    }
}
