//! A rule in plain words, for whoever wants to know why they are called: what it waits for, the limits in
//! force, what it says, where it is from, and where its sources do not agree.
//!
//! Pure: it knows the settings and no dam.

use crate::config::disagreements::Disagreement;
use crate::config::rules::{
    Condition, Devices, Due, DueWhen, Edge, From, Harm, Ill, Level, Limit, Onset, Rule, Trouble,
    Turn,
};
use crate::plain::english;
use crate::plain::moment::Span;
use crate::rules::book;

/// The whole of a rule.
pub fn rule(rule: &Rule, known: &[Disagreement]) -> String {
    let mut text = format!("{}\n  {}.\n", rule.name, waits(&rule.condition));
    if !rule.while_stages.is_empty() {
        text.push_str(&format!("  Only in stage {}.\n", english::choice(&rule.while_stages)));
    }
    if let Some(stage) = &rule.enters {
        text.push_str(&format!("  It puts her into stage {stage}.\n"));
    }
    text.push_str(&calls(rule));
    if let Some(action) = &rule.action {
        text.push_str(&format!("  Do: {action}\n"));
    }
    let source = if rule.source.is_empty() { "none is given" } else { &rule.source };
    text.push_str(&format!("  Source: {}.\n", source.trim_end_matches('.')));
    for one in known.iter().filter(|one| one.concerns(&rule.condition)) {
        text.push_str(&differ(one));
    }
    text
}

/// What is said of a limit by those who do not agree.
pub fn differ(one: &Disagreement) -> String {
    let mut text = format!("  Sources differ on {}:\n", one.about);
    for says in &one.says {
        text.push_str(&format!("    {}: {}.\n", says.limit, says.source));
    }
    text
}

/// A rule in one line.
pub fn line(rule: &Rule) -> String {
    format!("{}: {}.\n", rule.name, waits(&rule.condition))
}

fn calls(rule: &Rule) -> String {
    let Some(ladder) = &rule.tell else {
        return "  It calls nobody: a line in the diary.\n".to_owned();
    };
    let harm = match rule.harm {
        Harm::Death => "death",
        Harm::Lasting => "lasting harm",
        Harm::Minor => "minor harm",
    };
    let onset = match rule.onset {
        Onset::Immediate => "at once",
        Onset::Prompt => "soon",
        Onset::Delayed => "later",
    };
    let priority = book::priority(rule).word();
    let loud = if rule.loud { ", everybody at once" } else { "" };
    let by_day = if rule.by_day { ", beginning between 08:00 and 20:00 only" } else { "" };
    format!(
        "  Calls the ladder {ladder}{loud}{by_day}; priority {priority} ({harm} may come of it, {onset}).\n"
    )
}

/// What a rule waits for.
pub fn waits(condition: &Condition) -> String {
    match condition {
        Condition::Count { sign, over, at_least, devices } => {
            let times = match at_least {
                1 => "at least once".to_owned(),
                more => format!("at least {more} times"),
            };
            format!("{sign} counted {times} within {}{}", english::span(*over), of(devices))
        }
        Condition::Level(level) => amount(level),
        Condition::Seen(seen) => {
            let region =
                seen.region.as_ref().map_or(String::new(), |region| format!(" in {region}"));
            format!(
                "a camera sees {}{region} with score {} in {} of its last {} pictures within {}{}",
                seen.sign,
                seen.score,
                seen.times,
                seen.of,
                english::span(seen.over),
                of(&seen.devices)
            )
        }
        Condition::Change(change) => {
            let turned = match change.turn {
                Turn::Rise => "risen",
                Turn::Fall => "fallen",
            };
            format!(
                "{} {turned} by {} or more against her own last {}{}",
                change.sign,
                with_unit(&change.least.to_string(), &change.unit),
                english::span(change.over),
                of(&change.devices)
            )
        }
        Condition::All(conditions) => each(conditions, "and"),
        Condition::AnyOf(conditions) => each(conditions, "or"),
        Condition::Not(condition) => format!("it is known not to be so that {}", waits(condition)),
        Condition::Due(due) => against_her_window(due),
        Condition::Clock { since, from, until, limit } => {
            let which = match from {
                From::First => "",
                From::Last if since.len() > 1 => ", whichever came last",
                From::Last => ", the last time",
            };
            format!(
                "{} since {}{which}, until {}",
                limits(*limit),
                english::choice(since),
                english::choice(until)
            )
        }
        Condition::Silent { .. }
        | Condition::Ill { .. }
        | Condition::Gateway { .. }
        | Condition::Unwatched { .. }
        | Condition::Alone { .. }
        | Condition::Uncovered { .. }
        | Condition::Drill { .. }
        | Condition::Trouble { .. } => waits_of_the_watch(condition),
    }
}

fn against_her_window(due: &Due) -> String {
    let by = english::span(due.by);
    let when = match due.when {
        DueWhen::Past if due.by == Span::ZERO => "her window is over".to_owned(),
        DueWhen::Past => format!("her window has been over for {by}, and again as often"),
        DueWhen::Early if due.by == Span::ZERO => "she begins before her window opens".to_owned(),
        DueWhen::Early => format!("she begins {by} or more before her window opens"),
        DueWhen::Lost => "she has aborted, or calved before term".to_owned(),
    };
    if due.until.is_empty() {
        when
    } else {
        format!("{when}, until {}", english::choice(&due.until))
    }
}

/// What a rule waits for that is about no dam.
fn waits_of_the_watch(condition: &Condition) -> String {
    match condition {
        Condition::Silent { kind, limit } => {
            let kind = if kind == "any" { "a sensor" } else { kind };
            format!("{kind} says nothing for {}", english::span(*limit))
        }
        Condition::Ill { with, kind, limit } => {
            let kind = if kind == "any" { "a sensor" } else { kind };
            let with: Vec<&str> = with.iter().copied().map(Ill::word).collect();
            format!("{kind} is ill ({}){}", english::choice(&with), for_so_long(*limit))
        }
        Condition::Gateway { limit } => {
            format!("nothing comes through a gateway for {}", english::span(*limit))
        }
        Condition::Unwatched { limit } => {
            format!("nothing and nobody watches a dam in her window{}", for_so_long(*limit))
        }
        Condition::Drill { .. } => "somebody asks for a drill, or a schedule does".to_owned(),
        Condition::Uncovered { ahead } => {
            let ahead = english::span(*ahead);
            format!(
                "somebody is ill or swapped, and within {ahead} nobody takes a shift or backs it up"
            )
        }
        Condition::Alone { limit } => {
            let late = format!("{} past the time", english::span(*limit));
            format!("somebody who went in with a dam has said nothing {late} they would be out by")
        }
        Condition::Trouble { with, limit } => {
            let with = match with {
                Trouble::LineDown => "a line or the broker is down",
                Trouble::SessionLost => "the broker forgot what it kept for us",
                Trouble::SubscriptionRefused => "the broker refused a subscription",
                Trouble::JournalStuck => "the journal cannot be written",
                Trouble::Strangers => "our broker turns the same address away again and again",
                Trouble::CalendarOld => "the calendar of a rota cannot be fetched",
            };
            format!("{with}{}", for_so_long(*limit))
        }
        Condition::Count { .. }
        | Condition::Level(_)
        | Condition::Seen(_)
        | Condition::Change(_)
        | Condition::Due(_)
        | Condition::All(_)
        | Condition::AnyOf(_)
        | Condition::Not(_)
        | Condition::Clock { .. } => String::new(),
    }
}

fn each(conditions: &[Condition], joint: &str) -> String {
    let each: Vec<String> = conditions.iter().map(waits).collect();
    each.join(&format!("; {joint} "))
}

fn amount(level: &Level) -> String {
    let (side, edge) = match level.edge {
        Edge::Above(edge) => ("over", edge),
        Edge::Below(edge) => ("under", edge),
    };
    let often = if level.of > 1 {
        format!(" in {} of its last {} messages", level.times, level.of)
    } else {
        String::new()
    };
    let clear = if level.clear == edge {
        String::new()
    } else {
        format!(", until it is {} again", with_unit(&level.clear.to_string(), &level.unit))
    };
    let edge = with_unit(&edge.to_string(), &level.unit);
    let devices = of(&level.devices);
    format!("{} {side} {edge}{often}{}{clear}{devices}", level.sign, for_so_long(level.hold))
}

fn with_unit(amount: &str, unit: &str) -> String {
    format!("{amount} {unit}").trim_end().to_owned()
}

fn for_so_long(limit: Span) -> String {
    if limit.is_positive() { format!(" for {}", english::span(limit)) } else { String::new() }
}

fn of(devices: &Devices) -> &'static str {
    match devices {
        Devices::Any => "",
        Devices::All => ", by all her devices that are heard",
        Devices::Weighted { .. } => ", by devices that weigh enough together",
    }
}

/// The limits in force.
fn limits(limit: Limit) -> String {
    let said = |span: Span| {
        if span.is_positive() { english::span(span) } else { "at once".to_owned() }
    };
    let cold = limit.cold.map(|cold| format!("{} in the cold", said(cold)));
    let usual = match (limit.cow, limit.heifer) {
        (Some(cow), Some(heifer)) if cow == heifer => Some(said(cow)),
        (Some(cow), Some(heifer)) => Some(format!("cow {}, heifer {}", said(cow), said(heifer))),
        (Some(one), None) | (None, Some(one)) => Some(said(one)),
        (None, None) => None,
    };
    let all: Vec<String> = usual.into_iter().chain(cold).collect();
    all.join(", ")
}
