//! Why an alert was raised, with its numbers and with who says so: short for the head of a message,
//! whole for the rest of it.

use crate::plain::english;
use crate::plain::moment::Moment;
use crate::rules::verdict::{Figures, Voices};

/// For the head, where every character counts.
pub(super) fn short(figures: &Figures, now: Moment) -> String {
    match figures {
        Figures::Clock { began, .. } => english::span(now.since(*began)),
        Figures::Counted { n, over, .. } => format!("{n} in {}", english::span(*over)),
        Figures::Level { value, unit, .. } => format!("{value} {unit}").trim_end().to_owned(),
        Figures::Seen { n, of, .. } => format!("{n} of {of}"),
        Figures::NotSo { .. } | Figures::Trouble { .. } => String::new(),
        Figures::Several(figures) => {
            let each: Vec<String> = figures
                .iter()
                .map(|figures| short(figures, now))
                .filter(|words| !words.is_empty())
                .collect();
            each.join(", ")
        }
        Figures::Silence { since, never: false } => english::span(now.since(*since)),
        Figures::Silence { never: true, .. } => "never heard".to_owned(),
    }
}

/// What was measured, against what limit, and which devices say so; empty where the head says all.
pub(super) fn why(figures: &Figures, now: Moment) -> String {
    match figures {
        Figures::Counted { sign, n, over, limit, voices } => format!(
            "{sign} counted {n} in {}, limit {limit}{}",
            english::span(*over),
            who(voices)
        ),
        Figures::Level { sign, value, unit, above, edge, began, voices } => {
            let side = if *above { "over" } else { "under" };
            let amount = format!("{value} {unit}");
            let for_so_long = english::span(now.since(*began));
            format!("{sign} {}, {side} {edge} for {for_so_long}{}", amount.trim_end(), who(voices))
        }
        Figures::Seen { sign, n, of, voices } => {
            format!("{sign} seen in {n} of {of} pictures{}", who(voices))
        }
        Figures::NotSo { what } => format!("not so: {what}"),
        Figures::Several(figures) => {
            let each: Vec<String> = figures
                .iter()
                .map(|figures| why(figures, now))
                .filter(|words| !words.is_empty())
                .collect();
            each.join("; ")
        }
        Figures::Clock { .. } | Figures::Silence { .. } | Figures::Trouble { .. } => String::new(),
    }
}

/// "(t-07)", or, where they do not all say the same, "(t-07; c-12 says otherwise, k-3 is not heard)".
fn who(voices: &Voices) -> String {
    if voices.say.is_empty() {
        return String::new();
    }
    let say: Vec<&str> = voices.say.iter().map(|id| id.as_str()).collect();
    let mut rest = Vec::new();
    for (others, one, more) in [
        (&voices.deny, "says otherwise", "say otherwise"),
        (&voices.unheard, "is not heard", "are not heard"),
    ] {
        let names: Vec<&str> = others.iter().map(|id| id.as_str()).collect();
        let verb = if names.len() == 1 { one } else { more };
        if !names.is_empty() {
            rest.push(format!("{} {verb}", english::list(&names)));
        }
    }
    let rest = if rest.is_empty() { rest.concat() } else { format!("; {}", rest.join(", ")) };
    format!(" ({}{rest})", english::list(&say))
}

/// Devices that do not say the same: worth its place in a short text.
pub(super) fn is_disputed(figures: &Figures) -> bool {
    match figures {
        Figures::Counted { voices, .. }
        | Figures::Level { voices, .. }
        | Figures::Seen { voices, .. } => {
            !voices.deny.is_empty() || !voices.unheard.is_empty()
        }
        Figures::Several(figures) => figures.iter().any(is_disputed),
        Figures::Clock { .. }
        | Figures::NotSo { .. }
        | Figures::Silence { .. }
        | Figures::Trouble { .. } => false,
    }
}
