//! Why an alert was raised, with its numbers and with who says so: short for the head of a message,
//! whole for the rest of it.

use crate::config::Config;
use crate::config::sensors::Horizon;
use crate::plain::english;
use crate::plain::moment::{Moment, Span};
use crate::rules::verdict::{Figures, Voices};

use super::wording;

/// For the head, where every character counts.
pub(super) fn short(figures: &Figures, now: Moment) -> String {
    match figures {
        // "1 s" says no more than that it is so.
        Figures::Clock { began, .. } if now.since(*began) < Span::minutes(1) => String::new(),
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
        Figures::Ill { ill, .. } => format!("({})", ill.word()),
        Figures::Gateway { since, animals } => {
            format!("{}, {}", english::span(now.since(*since)), wording::unwatched(animals.len()))
        }
        Figures::Unwatched { .. } => wording::animals(figures, wording::NAMED),
    }
}

/// What was measured, against what limit, and which devices say so; empty where the head says all.
pub(super) fn why(figures: &Figures, now: Moment) -> String {
    match figures {
        Figures::Counted { sign, n, over, limit, voices } => {
            format!("{sign} counted {n} in {}, limit {limit}{}", english::span(*over), who(voices))
        }
        Figures::Level { sign, value, unit, above, edge, began, voices } => {
            let side = if *above { "over" } else { "under" };
            let amount = format!("{value} {unit}");
            let held = now.since(*began);
            let held = if held < Span::minutes(1) {
                String::new()
            } else {
                format!(" for {}", english::span(held))
            };
            format!("{sign} {}, {side} {edge}{held}{}", amount.trim_end(), who(voices))
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
        Figures::Ill { why, .. } => why.clone(),
        Figures::Clock { .. }
        | Figures::Silence { .. }
        | Figures::Gateway { .. }
        | Figures::Unwatched { .. }
        | Figures::Trouble { .. } => String::new(),
    }
}

/// "(t-07)", or, where they do not all say the same, "(t-07; c-12 does not say so, k-3 is not heard)".
fn who(voices: &Voices) -> String {
    if voices.say.is_empty() {
        return String::new();
    }
    let say: Vec<&str> = voices.say.iter().map(|id| id.as_str()).collect();
    let mut rest = Vec::new();
    for (others, one, more) in [
        (&voices.deny, "does not say so", "do not say so"),
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

/// How far ahead those sensors tell that say so (needs.md N52); `None` if that is not known of each.
pub fn ahead(figures: &Figures, config: &Config) -> Option<Horizon> {
    match figures {
        Figures::Counted { voices, .. }
        | Figures::Level { voices, .. }
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
        | Figures::Silence { .. }
        | Figures::Ill { .. }
        | Figures::Gateway { .. }
        | Figures::Unwatched { .. }
        | Figures::Trouble { .. } => None,
    }
}

/// Why, where the head of a message does not say all of it: what was measured, or devices that do not
/// say the same.
pub fn more(figures: &Figures, now: Moment) -> Option<String> {
    let head_says_all = match figures {
        Figures::Counted { voices, .. } => voices.deny.is_empty() && voices.unheard.is_empty(),
        Figures::Clock { .. }
        | Figures::Silence { .. }
        | Figures::Gateway { .. }
        | Figures::Unwatched { .. }
        | Figures::Trouble { .. } => true,
        Figures::Level { .. }
        | Figures::Seen { .. }
        | Figures::NotSo { .. }
        | Figures::Ill { .. }
        | Figures::Several(_) => false,
    };
    (!head_says_all).then(|| why(figures, now)).filter(|why| !why.is_empty())
}
