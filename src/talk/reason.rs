//! Why an alert was raised, with its numbers and with who says so: short for the head of a message,
//! whole for the rest of it.

use std::fmt::Display;

use super::named;
use super::phrases::{Phrases, say};
use crate::config::Config;
use crate::config::rules::DueWhen;
use crate::config::sensors::Horizon;
use crate::plain::amount::Amount;
use crate::plain::ids::DeviceId;
use crate::plain::moment::{Moment, Span};
use crate::rules::verdict::{Figures, Voices};

/// For the head, where every letter counts.
pub fn short(figures: &Figures, now: Moment, said: &Phrases) -> String {
    match figures {
        Figures::Clock { began, calf, .. } => {
            let which =
                calf.map_or(String::new(), |number| say(said.calf_no, &[("n", &number)]) + " ");
            let ran = now.since(*began);
            // What is called at once has run for no time at all.
            let ran = if ran < Span::minutes(1) { String::new() } else { said.span(ran) };
            format!("{which}{ran}").trim_end().to_owned()
        }
        Figures::Counted { n, over, .. } => {
            say(said.n_in, &[("n", n), ("span", &said.span(*over))])
        }
        Figures::Level { value, unit, .. } | Figures::Changed { value, unit, .. } => {
            format!("{value} {unit}").trim_end().to_owned()
        }
        Figures::Seen { n, of, .. } => say(said.n_of, &[("n", n), ("of", of)]),
        Figures::Due { when, day, days } => due_short(*when, *day, *days, said),
        Figures::NotSo { .. } | Figures::Trouble { .. } => String::new(),
        Figures::Several(figures) => {
            let each: Vec<String> = figures
                .iter()
                .filter(|one| says_something(one, figures))
                .map(|figures| short(figures, now, said))
                .filter(|words| !words.is_empty())
                .collect();
            each.join(", ")
        }
        Figures::Silence { since, never: false } => said.span(now.since(*since)),
        Figures::Silence { never: true, .. } => said.never_heard.to_owned(),
        Figures::Ill { ill, .. } => format!("({})", said.ill(*ill)),
        Figures::Gateway { since, animals } => {
            let ran = said.span(now.since(*since));
            format!("{ran}, {}", named::unwatched(animals.len(), said))
        }
        Figures::Unwatched { .. } => named::animals(figures, named::NAMED, said),
        Figures::Drill { .. } => said.drill_short.to_owned(),
        Figures::Uncovered { hours, nobody, unproven, .. } => {
            let word = match unproven.as_slice() {
                [] => String::new(),
                [who] => say(said.no_word_of_one, &[("who", who)]),
                [_, more @ ..] => say(said.no_word_of, &[("n", &(more.len() + 1))]),
            };
            format!("{word}{}{hours}", if *nobody { "" } else { said.no_backup })
        }
        Figures::Alone { with, since, .. } => {
            let her = with.as_ref();
            let her =
                her.map_or(String::new(), |animal| say(said.with_animal, &[("animal", animal)]));
            format!("{her} {}", said.span(now.since(*since))).trim_start().to_owned()
        }
    }
}

/// Of several clocks the one that has run longest is enough; and where what matters is that something is not so,
/// how long she has been asked about and what was counted before only mislead.
fn says_something(one: &Figures, all: &[Figures]) -> bool {
    let denies = all.iter().any(|figures| matches!(figures, Figures::NotSo { .. }));
    match one {
        Figures::Clock { began, .. } => {
            let earlier = |other: &Figures| matches!(other, Figures::Clock { began: other, .. } if other < began);
            !denies && !all.iter().any(earlier)
        }
        Figures::Counted { .. } => !denies,
        Figures::Level { .. }
        | Figures::Changed { .. }
        | Figures::Due { .. }
        | Figures::Seen { .. }
        | Figures::NotSo { .. }
        | Figures::Several(_)
        | Figures::Silence { .. }
        | Figures::Ill { .. }
        | Figures::Gateway { .. }
        | Figures::Unwatched { .. }
        | Figures::Alone { .. }
        | Figures::Uncovered { .. }
        | Figures::Drill { .. }
        | Figures::Trouble { .. } => true,
    }
}

/// What was measured, against what limit, and which devices say so; empty where the head says all.
pub fn why(figures: &Figures, now: Moment, said: &Phrases) -> String {
    match figures {
        Figures::Counted { sign, n, over, limit, voices } => {
            let span = said.span(*over);
            let filled: [(&str, &dyn Display); 4] =
                [("sign", sign), ("n", n), ("span", &span), ("limit", limit)];
            say(said.counted, &filled) + &who(voices, said)
        }
        Figures::Level { sign, value, unit, above, edge, began, voices } => {
            let words = if *above { said.over_edge } else { said.under_edge };
            let amount = amount(value, unit);
            let held = now.since(*began);
            let held = if held < Span::minutes(1) {
                String::new()
            } else {
                say(said.held, &[("span", &said.span(held))])
            };
            let words = say(words, &[("sign", sign), ("amount", &amount), ("edge", edge)]);
            words + &held + &who(voices, said)
        }
        Figures::Changed { sign, value, before, unit, of_the_hour, over, voices } => {
            let words = if *of_the_hour { said.changed_hour } else { said.changed_over };
            let (amount, before) = (amount(value, unit), amount(before, unit));
            let span = said.span(*over);
            let filled: [(&str, &dyn Display); 4] =
                [("sign", sign), ("amount", &amount), ("before", &before), ("span", &span)];
            say(words, &filled) + &who(voices, said)
        }
        Figures::Seen { sign, n, of, voices } => {
            say(said.seen, &[("sign", sign), ("n", n), ("of", of)]) + &who(voices, said)
        }
        Figures::NotSo { what } => say(said.not_so, &[("what", what)]),
        Figures::Due { when, day, days } => due(*when, *day, *days, said),
        Figures::Several(figures) => {
            let each: Vec<String> = figures
                .iter()
                .map(|figures| why(figures, now, said))
                .filter(|words| !words.is_empty())
                .collect();
            each.join("; ")
        }
        Figures::Ill { why, .. } => why.clone(),
        Figures::Clock { .. }
        | Figures::Silence { .. }
        | Figures::Gateway { .. }
        | Figures::Unwatched { .. }
        | Figures::Alone { .. }
        | Figures::Uncovered { .. }
        | Figures::Drill { .. }
        | Figures::Trouble { .. } => String::new(),
    }
}

fn amount(value: &Amount, unit: &str) -> String {
    format!("{value} {unit}").trim_end().to_owned()
}

/// "day 297".
pub fn day((low, high): (i64, i64), said: &Phrases) -> String {
    if low == high {
        say(said.day, &[("n", &low)])
    } else {
        say(said.day_range, &[("from", &low), ("until", &high)])
    }
}

fn days(days: i64, said: &Phrases) -> String {
    said.many(usize::try_from(days).unwrap_or(0), said.one_day, said.days)
}

fn due_short(when: DueWhen, known: Option<(i64, i64)>, by: i64, said: &Phrases) -> String {
    let words = match (known.filter(|(low, high)| low == high), when) {
        (Some(known), _) => return day(known, said),
        (None, DueWhen::Past) => said.by_days,
        (None, DueWhen::Early) => said.by_days_least,
        (None, DueWhen::Lost) => return String::new(),
    };
    say(words, &[("days", &days(by, said))])
}

fn due(when: DueWhen, known: Option<(i64, i64)>, by: i64, said: &Phrases) -> String {
    let words = match when {
        DueWhen::Past => said.due_past,
        DueWhen::Early => said.due_early,
        DueWhen::Lost if by == 0 => said.due_lost_seen,
        DueWhen::Lost => said.due_lost,
    };
    let what = say(words, &[("days", &days(by, said))]);
    match known {
        Some(known) => format!("{}, {what}", day(known, said)),
        None => what,
    }
}

/// "(t-07)", or, where they do not all say the same, "(t-07; c-12 does not say so, k-3 is not heard)".
fn who(voices: &Voices, said: &Phrases) -> String {
    if voices.say.is_empty() {
        return String::new();
    }
    let list = |ids: &[DeviceId]| {
        let names: Vec<&str> = ids.iter().map(DeviceId::as_str).collect();
        said.list(&names)
    };
    let mut rest = Vec::new();
    for (others, one, more) in [
        (&voices.deny, said.denies_one, said.denies),
        (&voices.unheard, said.unheard_one, said.unheard),
    ] {
        let words = if others.len() == 1 { one } else { more };
        if !others.is_empty() {
            rest.push(say(words, &[("who", &list(others))]));
        }
    }
    let rest = if rest.is_empty() { rest.concat() } else { format!("; {}", rest.join(", ")) };
    format!(" ({}{rest})", list(&voices.say))
}

/// How far ahead those sensors tell that say so (needs.md N52); `None` if that is not known of each.
pub fn ahead(figures: &Figures, config: &Config) -> Option<Horizon> {
    match figures {
        Figures::Counted { voices, .. }
        | Figures::Level { voices, .. }
        | Figures::Changed { voices, .. }
        | Figures::Seen { voices, .. } => {
            let of = |kind: &str| {
                let known = config.horizons.iter().find(|(named, _)| named == kind);
                known.map(|(_, horizon)| *horizon)
            };
            let each: Option<Vec<Horizon>> = voices.kinds.iter().map(|kind| of(kind)).collect();
            each?.into_iter().min()
        }
        Figures::Several(figures) => {
            let told = figures.iter().filter(|figures| figures.may_fade());
            let each: Option<Vec<Horizon>> = told.map(|figures| ahead(figures, config)).collect();
            each?.into_iter().min()
        }
        Figures::Clock { .. }
        | Figures::NotSo { .. }
        | Figures::Due { .. }
        | Figures::Silence { .. }
        | Figures::Ill { .. }
        | Figures::Gateway { .. }
        | Figures::Unwatched { .. }
        | Figures::Alone { .. }
        | Figures::Uncovered { .. }
        | Figures::Drill { .. }
        | Figures::Trouble { .. } => None,
    }
}

/// Why, where the head of a message does not say all of it: what was measured, or devices that do not
/// say the same.
pub fn more(figures: &Figures, now: Moment, said: &Phrases) -> Option<String> {
    let head_says_all = match figures {
        Figures::Counted { voices, .. } => voices.deny.is_empty() && voices.unheard.is_empty(),
        Figures::Clock { .. }
        | Figures::Silence { .. }
        | Figures::Gateway { .. }
        | Figures::Unwatched { .. }
        | Figures::Alone { .. }
        | Figures::Uncovered { .. }
        | Figures::Drill { .. }
        | Figures::Trouble { .. } => true,
        Figures::Level { .. }
        | Figures::Changed { .. }
        | Figures::Seen { .. }
        | Figures::NotSo { .. }
        | Figures::Due { .. }
        | Figures::Ill { .. }
        | Figures::Several(_) => false,
    };
    (!head_says_all).then(|| why(figures, now, said)).filter(|why| !why.is_empty())
}
