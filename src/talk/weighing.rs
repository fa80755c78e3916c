//! What the clauses of a reply make of each other: a doubt, a delay or a taking back beside an answer unsays it.

use super::answer::Kind;
use super::hearing::{Heard, What};
use super::words::{self, Going, Words};
use crate::herd::sign::Mark;

/// What the clauses make of each other.
pub(super) fn weigh(heard: &mut Vec<Heard>, all: &[String], table: &Words) {
    let all: Vec<&str> = all.iter().map(String::as_str).collect();
    let any = |list: &str| (0..all.len()).any(|at| words::longest_of(list, &all[at..]).is_some());
    if any(table.taken_back) {
        lose(heard, |_| true);
    }
    let marked = heard.iter().any(|heard| match heard.what {
        What::Mark(_) => true,
        What::Answer(_) | What::Named(_) | What::Lost => false,
    });
    // "yes calf up" affirms the mark; it is no answer, and nothing was left either.
    heard.retain(|heard| !(marked && firmness(heard) == Some(Firmness::Yes)));
    // "No. She calved at 0240" does not say "not me".
    lose(heard, |heard| marked && firmness(heard) == Some(Firmness::BareNo));
    if any(table.later) || any(table.doubt) {
        lose(heard, |heard| is_going(heard) || firmness(heard) == Some(Firmness::BareNo));
    }
    doubt_false_alarm(heard);
    let delegates = any(table.others);
    let lost_lines: Vec<usize> =
        heard.iter().filter(|heard| heard.what == What::Lost).map(|heard| heard.line).collect();
    lose(heard, |heard| match firmness(heard) {
        Some(Firmness::Firm) | None => false,
        Some(Firmness::Ok | Firmness::Yes | Firmness::BareNo) => {
            delegates || lost_lines.contains(&heard.line)
        }
    });
    let going = heard.iter().any(is_going);
    let passes = heard.iter().any(|heard| firmness(heard).is_some() && !is_going(heard));
    if going && passes {
        lose(heard, |heard| firmness(heard).is_some());
    }
}

/// "False alarm, feet showing": an alarm about an animal with marks of her own is not false.
fn doubt_false_alarm(heard: &mut [Heard]) {
    let marked: Vec<Option<String>> = heard
        .iter()
        .filter_map(|one| match &one.what {
            What::Mark(said) if !matches!(said.mark, Mark::FalseAlarm | Mark::Seen) => {
                Some(said.animal.clone())
            }
            What::Mark(_) | What::Answer(_) | What::Named(_) | What::Lost => None,
        })
        .collect();
    lose(heard, |one| match &one.what {
        What::Mark(said) => said.mark == Mark::FalseAlarm && marked.contains(&said.animal),
        What::Answer(_) | What::Named(_) | What::Lost => false,
    });
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Firmness {
    Firm,
    Ok,
    Yes,
    BareNo,
}

/// How firm an answer is; nothing for what is none.
fn firmness(heard: &Heard) -> Option<Firmness> {
    let What::Answer(answer) = &heard.what else {
        return None;
    };
    Some(match answer.kind {
        Kind::Going(Going::Plain) | Kind::Pass { bare: false } => Firmness::Firm,
        Kind::Going(Going::Ok) => Firmness::Ok,
        Kind::Going(Going::Yes) => Firmness::Yes,
        Kind::Pass { bare: true } => Firmness::BareNo,
    })
}

fn is_going(heard: &Heard) -> bool {
    match &heard.what {
        What::Answer(answer) => match answer.kind {
            Kind::Going(_) => true,
            Kind::Pass { .. } => false,
        },
        What::Mark(_) | What::Named(_) | What::Lost => false,
    }
}

pub(super) fn lose(heard: &mut [Heard], which: impl Fn(&Heard) -> bool) {
    for one in heard {
        if which(one) {
            one.what = What::Lost;
        }
    }
}
