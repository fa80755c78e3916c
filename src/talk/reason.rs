//! Why an alert was raised, with its numbers and with who says so: short for the head of a message,
//! whole for the rest of it.

use crate::config::Config;
use crate::config::rules::DueWhen;
use crate::config::sensors::Horizon;
use crate::plain::english;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::rules::verdict::{Figures, Voices};

use super::{drill, named};

/// For the head, where every character counts.
pub fn short(figures: &Figures, now: Moment) -> String {
    match figures {
        Figures::Clock { began, calf, .. } => {
            let which = calf.map_or(String::new(), |number| format!("calf {number} "));
            let ran = now.since(*began);
            // What is called at once has run for no time at all.
            let ran = if ran < Span::minutes(1) { String::new() } else { english::span(ran) };
            format!("{which}{ran}").trim_end().to_owned()
        }
        Figures::Counted { n, over, .. } => format!("{n} in {}", english::span(*over)),
        Figures::Level { value, unit, .. } | Figures::Changed { value, unit, .. } => {
            format!("{value} {unit}").trim_end().to_owned()
        }
        Figures::Seen { n, of, .. } => format!("{n} of {of}"),
        Figures::Due { when, day, days } => due_short(*when, *day, *days),
        Figures::NotSo { .. } | Figures::Trouble { .. } => String::new(),
        Figures::Several(figures) => {
            let each: Vec<String> = figures
                .iter()
                .filter(|one| says_something(one, figures))
                .map(|figures| short(figures, now))
                .filter(|words| !words.is_empty())
                .collect();
            each.join(", ")
        }
        Figures::Silence { since, never: false } => english::span(now.since(*since)),
        Figures::Silence { never: true, .. } => "never heard".to_owned(),
        Figures::Ill { ill, .. } => format!("({})", ill.word()),
        Figures::Gateway { since, animals } => {
            format!("{}, {}", english::span(now.since(*since)), named::unwatched(animals.len()))
        }
        Figures::Unwatched { .. } => named::animals(figures, named::NAMED),
        Figures::Drill { .. } => "answer as if a dam had begun; no need to go".to_owned(),
        Figures::Uncovered { hours, nobody, unproven, .. } => {
            let word = match unproven.as_slice() {
                [] => String::new(),
                [who] => format!("no word of {who}: "),
                [_, more @ ..] => format!("no word of {}: ", more.len() + 1),
            };
            format!("{word}{}{hours}", if *nobody { "" } else { "no backup " })
        }
        Figures::Alone { with, since, .. } => {
            let her = with.as_ref().map_or(String::new(), |animal| format!("with {animal} "));
            format!("{her}{}", english::span(now.since(*since)))
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
        Figures::Changed { sign, value, before, unit, of_the_hour, over, voices } => {
            let then = if *of_the_hour { "at this hour of" } else { "over" };
            let before = format!("{before} {unit}");
            let (amount, before) = (format!("{value} {unit}"), before.trim_end());
            let over = english::span(*over);
            format!(
                "{sign} {}, was {before} {then} the {over} before{}",
                amount.trim_end(),
                who(voices)
            )
        }
        Figures::Seen { sign, n, of, voices } => {
            format!("{sign} seen in {n} of {of} pictures{}", who(voices))
        }
        Figures::NotSo { what } => format!("not so: {what}"),
        Figures::Due { when, day, days } => due(*when, *day, *days),
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
        | Figures::Alone { .. }
        | Figures::Uncovered { .. }
        | Figures::Drill { .. }
        | Figures::Trouble { .. } => String::new(),
    }
}

/// "day 297".
pub fn day((low, high): (i64, i64)) -> String {
    if low == high { format!("day {low}") } else { format!("day {low} to {high}") }
}

fn due_short(when: DueWhen, known: Option<(i64, i64)>, days: i64) -> String {
    match (known.filter(|(low, high)| low == high), when) {
        (Some(known), _) => day(known),
        (None, DueWhen::Past) => format!("by {}", english::many(count(days), "day", "days")),
        (None, DueWhen::Early) => {
            format!("by {} at least", english::many(count(days), "day", "days"))
        }
        (None, DueWhen::Lost) => String::new(),
    }
}

fn due(when: DueWhen, known: Option<(i64, i64)>, days: i64) -> String {
    let by = english::many(count(days), "day", "days");
    let what = match when {
        DueWhen::Past => format!("{by} past the last day of her window"),
        DueWhen::Early => format!("{by} before her window opens"),
        DueWhen::Lost if days == 0 => "lost, as somebody has seen".to_owned(),
        DueWhen::Lost => format!("{by} before it could be at term"),
    };
    known.map_or(what.clone(), |known| format!("{}, {what}", day(known)))
}

fn count(days: i64) -> usize {
    usize::try_from(days).unwrap_or(0)
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
pub fn more(figures: &Figures, now: Moment) -> Option<String> {
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
    (!head_says_all).then(|| why(figures, now)).filter(|why| !why.is_empty())
}

/// Of what is about no dam and no device: a drill; or whose shift is open, and what to do about it.
pub(super) fn apart(figures: &Figures, zone: &Zone) -> String {
    if let Figures::Drill { until } = figures {
        return drill::background(zone, *until);
    }
    let Figures::Uncovered { rota, hours, nobody, unproven } = figures else {
        return String::new();
    };
    let what = match (nobody, rota.as_str()) {
        (true, "") => "Nobody is on duty".to_owned(),
        (true, rota) => format!("Nobody takes the shift {rota}"),
        (false, "") => "Nobody else backs up whoever is on duty".to_owned(),
        (false, rota) => format!("Nobody else backs up the shift {rota}"),
    };
    if !unproven.is_empty() {
        let who: Vec<&str> = unproven.iter().map(PersonName::as_str).collect();
        return format!(
            "{what}, {hours}.\nNothing has shown yet that a call reaches {}: see that they answer what asked them, or write somebody else into the rota. They are called all the same.",
            english::list(&who)
        );
    }
    format!(
        "{what}, {hours}.\nFind somebody, and write them into the rota; whoever was ill answers \"well\" when they can come again."
    )
}
