//! "swap fri Tom", "swap yes", "ill until mon", "well": what people settle among themselves about the rota.
//!
//! Only a whole text that says one of these and nothing else; which shift it is, and whether they may, the watch knows.

use jiff::civil::{Date, Weekday};

use super::known::Known;
use super::reply::{Meaning, Saying};
use super::spelling;
use super::words::{self, Words};

/// A text of more words says something else.
const WORDS_MAX: usize = 10;

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RotaSaid {
    /// "swap fri Tom", "swap fri Tom sat": my shift of that day to him, and his of the other day to me.
    Ask {
        day: DaySaid,
        with: String,
        back: Option<DaySaid>,
    },
    /// To whoever asked.
    Agree(Which),
    /// To whoever asked, or taking the question back.
    Refuse(Which),
    /// Cannot come: until the end of a day, or until they say that they are well.
    Ill {
        until: Option<DaySaid>,
    },
    Well,
}

/// Which of several questions: "swap yes fri", "swap no Ana".
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Which {
    pub day: Option<DaySaid>,
    pub person: Option<String>,
}

/// A day as people say it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DaySaid {
    Tonight,
    Tomorrow,
    /// The next of that name, today included.
    On(Weekday),
    Date(Date),
}

pub(super) fn read(text: &str, known: &Known<'_>, table: &Words) -> Option<RotaSaid> {
    let (said, plain) = spelling::statement(text, WORDS_MAX, known.person)?;
    let said: Vec<&str> = said.iter().map(String::as_str).collect();
    let plain: Vec<&str> = plain.iter().map(String::as_str).collect();
    let from = usize::from(
        (known.person)(plain[0]) && plain.len() > 1 && words::has(table.swap, plain[1]),
    );
    // "No swap" says the same as "swap no".
    let answered_first = plain.len() > 1
        && (words::has(table.rota.yes, plain[0]) || words::has(table.rota.no, plain[0]));
    if answered_first && words::longest_of(table.swap, &plain[1..]).is_some() {
        return answer(plain[0], &said[2..], &plain[2..], known, table);
    }
    swap(&said, &plain, from, known, table).or_else(|| health(&plain, table))
}

impl Meaning {
    /// All that is said.
    pub(super) fn of(said: RotaSaid) -> Self {
        Self { said: vec![Saying::Rota(said)], ..Self::default() }
    }
}

/// Words that fill: "with", "for", "please", "night".
fn fills(word: &str, table: &Words) -> bool {
    words::has(table.rota.filler, word) || words::has(table.please, word)
}

fn swap(
    said: &[&str],
    plain: &[&str],
    from: usize,
    known: &Known<'_>,
    table: &Words,
) -> Option<RotaSaid> {
    let used = words::longest_of(table.swap, &plain[from..])?;
    let rest = &plain[from + used..];
    if let ([word, which @ ..], 0) = (rest, from)
        && let Some(answer) = answer(word, &said[used + 1..], which, known, table)
    {
        return Some(answer);
    }
    // "Tom swap fri" names him in front.
    let mut with = (from > 0).then(|| said[0].to_owned());
    let mut days = Vec::new();
    for (at, word) in rest.iter().enumerate() {
        if let Some(day) = day(word, table) {
            days.push(day);
        } else if (known.person)(word) && with.is_none() {
            with = Some(said[from + used + at].to_owned());
        } else if !fills(word, table) {
            return None;
        }
    }
    match days[..] {
        [day] => Some(RotaSaid::Ask { day, with: with?, back: None }),
        [day, back] => Some(RotaSaid::Ask { day, with: with?, back: Some(back) }),
        _ => None,
    }
}

/// "yes", "no fri", "yes Ana".
fn answer(
    word: &str,
    said: &[&str],
    plain: &[&str],
    known: &Known<'_>,
    table: &Words,
) -> Option<RotaSaid> {
    let mut which = Which::default();
    for (said, word) in said.iter().zip(plain) {
        if let (Some(day), None) = (day(word, table), which.day) {
            which.day = Some(day);
        } else if (known.person)(word) && which.person.is_none() {
            which.person = Some((*said).to_owned());
        } else if !fills(word, table) {
            return None;
        }
    }
    if words::has(table.rota.yes, word) {
        return Some(RotaSaid::Agree(which));
    }
    words::has(table.rota.no, word).then_some(RotaSaid::Refuse(which))
}

fn health(plain: &[&str], table: &Words) -> Option<RotaSaid> {
    if words::longest_of(table.rota.well, plain) == Some(plain.len()) {
        return Some(RotaSaid::Well);
    }
    let used = words::longest_of(table.rota.ill, plain)?;
    let rest: Vec<&str> =
        plain[used..].iter().copied().filter(|word| !fills(word, table)).collect();
    match rest[..] {
        [] => Some(RotaSaid::Ill { until: None }),
        // Of one evening: until tomorrow, and to the end of a night that goes on then.
        [word] if words::has(table.rota.tonight, word) => {
            Some(RotaSaid::Ill { until: Some(DaySaid::Tomorrow) })
        }
        [until, word] if words::has(table.rota.until, until) => {
            Some(RotaSaid::Ill { until: Some(day(word, table)?) })
        }
        _ => None,
    }
}

fn day(word: &str, table: &Words) -> Option<DaySaid> {
    if words::has(table.rota.tonight, word) {
        return Some(DaySaid::Tonight);
    }
    if words::has(table.rota.tomorrow, word) {
        return Some(DaySaid::Tomorrow);
    }
    let named = table.rota.days.iter().position(|names| words::has(names, word));
    let named = named.and_then(|at| Weekday::from_monday_zero_offset(i8::try_from(at).ok()?).ok());
    named.map(DaySaid::On).or_else(|| word.parse().ok().map(DaySaid::Date))
}

/// The words of a language about the rota.
pub(super) struct RotaWords {
    pub(super) yes: &'static str,
    pub(super) no: &'static str,
    pub(super) ill: &'static str,
    pub(super) well: &'static str,
    pub(super) until: &'static str,
    pub(super) filler: &'static str,
    pub(super) tonight: &'static str,
    pub(super) tomorrow: &'static str,
    /// From Monday.
    pub(super) days: [&'static str; 7],
}

pub(super) const ENGLISH: RotaWords = RotaWords {
    yes: "yes, ok, okay, yep, agreed, fine, sure",
    no: "no, nope, off, cancel, cannot, cant",
    ill: "ill, im ill, i am ill, sick, im sick, i am sick, off sick, down sick",
    well: "well, im well, i am well, well again, im well again, better, im better, back on, i am back, im back",
    until: "until, till, til, to",
    filler: "with, for, my, night, shift, on, the, and, his, her, please, swap, day, evening, i, take, takes, sorry",
    tonight: "tonight, today",
    tomorrow: "tomorrow, tmrw",
    days: [
        "mon, monday",
        "tue, tues, tuesday",
        "wed, weds, wednesday",
        "thu, thur, thurs, thursday",
        "fri, friday",
        "sat, saturday",
        "sun, sunday",
    ],
};
