//! "I go" and "not me": does a piece of a sentence say one of the two, and nothing else?
//!
//! Every word of the piece must be understood. "Going" is an answer, "going to bed" is not.

use super::clause::{self, Word};
use super::figure;
use super::known::Known;
use super::words::{self, Going, Words};

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Answer {
    pub(super) kind: Kind,
    pub(super) minutes: Option<u32>,
    pub(super) animal: Option<String>,
    pub(super) alert: Option<u64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Going(Going),
    /// Bare: no more than a "no".
    Pass {
        bare: bool,
    },
}

pub(super) fn read(piece: &[Word], known: &Known<'_>, words: &Words) -> Option<Answer> {
    let plain = clause::plain(piece);
    let mut found = Found::default();
    let mut at = 0;
    while at < piece.len() {
        let rest = &plain[at..];
        at += found
            .phrase(rest, words)?
            .or_else(|| found.leading_alert(at, piece, known, words))
            .or_else(|| found.aim(&piece[at..], rest, known, words))
            .or_else(|| found.minutes(rest, words))
            .or_else(|| found.filler(rest, words))
            .or_else(|| is_closing_name(at, piece, known).then_some(1))?;
    }
    Some(Answer {
        kind: found.kind?,
        minutes: found.minutes,
        animal: found.animal,
        alert: found.alert,
    })
}

#[derive(Default)]
struct Found {
    kind: Option<Kind>,
    minutes: Option<u32>,
    animal: Option<String>,
    alert: Option<u64>,
}

impl Found {
    /// The outer nothing: both answers in one piece.
    fn phrase(&mut self, rest: &[&str], words: &Words) -> Option<Option<usize>> {
        let going = words::longest(words.going, rest);
        let pass = words::longest(words.pass, rest);
        let longer_pass = pass.map_or(0, |found| found.1) > going.map_or(0, |found| found.1);
        let (new, used) = match (going, pass) {
            (_, Some((bare, used))) if longer_pass => (Kind::Pass { bare }, used),
            (Some((going, used)), _) => (Kind::Going(going), used),
            (None, _) => return Some(None),
        };
        self.kind = Some(match (self.kind, new) {
            (None, new) => new,
            (Some(Kind::Going(old)), Kind::Going(new)) => Kind::Going(firmer(old, new)),
            (Some(Kind::Pass { bare: old }), Kind::Pass { bare: new }) => {
                Kind::Pass { bare: old && new }
            }
            (Some(Kind::Going(_) | Kind::Pass { .. }), _) => return None,
        });
        Some(Some(used))
    }

    /// "1 going", "2 ok": a number that is no animal, right before the answer.
    fn leading_alert(
        &mut self,
        at: usize,
        piece: &[Word],
        known: &Known<'_>,
        words: &Words,
    ) -> Option<usize> {
        let number = figure::alert_number(&piece[at].plain)?;
        let next = clause::plain(piece.get(1..)?);
        let answers = words::longest(words.going, &next).is_some()
            || words::longest(words.pass, &next).is_some();
        if at > 0 || !answers || known.animal(&piece[0].said).is_some() {
            return None;
        }
        self.alert = Some(number);
        Some(1)
    }

    /// "going 207", "going to 207": which animal.
    fn aim(
        &mut self,
        piece: &[Word],
        rest: &[&str],
        known: &Known<'_>,
        words: &Words,
    ) -> Option<usize> {
        self.kind?;
        let before = words::longest_of(words.toward, rest).unwrap_or(0);
        let unit_follows = figure::minutes(rest, words).is_some_and(|(_, unit, _)| unit);
        let animal = known.animal(&piece.get(before)?.said)?;
        if unit_follows || self.animal.as_ref().is_some_and(|old| *old != animal) {
            return None;
        }
        self.animal = Some(animal);
        Some(before + 1)
    }

    /// "going 20", "ok 20 min", "omw in ten".
    fn minutes(&mut self, rest: &[&str], words: &Words) -> Option<usize> {
        let Some(Kind::Going(how)) = self.kind else {
            return None;
        };
        let before = words::longest_of(words.within, rest).unwrap_or(0);
        let (count, unit, used) = figure::minutes(&rest[before..], words)?;
        let bare = !unit && before == 0;
        match how {
            Going::Plain => {}
            Going::Ok | Going::Yes if !bare => {}
            // "ok 1" names an alert; "ok 20" could be either, so it is neither.
            Going::Ok | Going::Yes if count < 5 && self.alert.is_none() => {
                self.alert = Some(u64::from(count));
                return Some(used);
            }
            Going::Ok | Going::Yes => return None,
        }
        let sensible = (1..=figure::PROMISE_MOST).contains(&count);
        if !sensible || self.minutes.is_some() {
            return None;
        }
        self.minutes = Some(count);
        Some(before + used)
    }

    fn filler(&self, rest: &[&str], words: &Words) -> Option<usize> {
        let word = rest.first()?;
        let meant = match self.kind {
            None => words::has(words.going_filler, word),
            Some(Kind::Going(_)) => {
                words::has(words.going_filler, word) || words::has(words.going_where, word)
            }
            Some(Kind::Pass { .. }) => words::has(words.pass_filler, word),
        };
        meant.then_some(1)
    }
}

fn firmer(one: Going, other: Going) -> Going {
    match (one, other) {
        (Going::Plain, _) | (_, Going::Plain) => Going::Plain,
        (Going::Ok, _) | (_, Going::Ok) => Going::Ok,
        (Going::Yes, Going::Yes) => Going::Yes,
    }
}

/// "going, Tom" without the comma. A name before the answer is another matter: "Tom going".
fn is_closing_name(at: usize, piece: &[Word], known: &Known<'_>) -> bool {
    at > 0 && at + 1 == piece.len() && (known.person)(&piece[at].plain)
}
