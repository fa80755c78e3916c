//! What the watch has asked of people in a week, and what came of it: alerts, answers and how fast, what was false,
//! and each person's load over the month beside what is held to be bearable (standards.md AL-02 to AL-20).
//!
//! It judges nobody. Figures of few alerts are shown as counts, not as shares.

use std::collections::BTreeMap;

use super::load::{Came, Load, PersonLoad, Raised};
use super::proposal;
use super::sheet::{Column, Sheet, Table};
use crate::config::Config;
use crate::plain::english::{self, many};
use crate::plain::moment::{Moment, Span};

/// The week itself, and the month over which loads are judged (AL-19: at least 30 days).
pub const WEEK: Span = Span::days(7);
pub const MONTH: Span = Span::days(30);
/// A share of fewer alerts says nothing (common practice, no source).
const SHARE_FROM: usize = 5;

/// `from`: since when the journal knows anything.
pub fn sheet(load: &Load, config: &Config, from: Moment, now: Moment) -> Sheet {
    let zone = &config.farm.zone;
    let week = (now - WEEK).max(from);
    let month = (now - MONTH).max(from);
    let made = format!("{}, made {}", config.farm.name, zone.date_and_clock(now));
    let mut sheet = Sheet::new("The week", made);
    sheet.heading(format!("Alerts since {}", zone.date_and_clock(week)));
    add_alerts(&mut sheet, load, week, now);
    sheet.heading("Answers");
    add_answers(&mut sheet, load, week, now);
    sheet.heading("What came of them, by rule");
    add_rules(&mut sheet, load, week, now);
    sheet.heading(format!(
        "What might be changed, by what came since {}",
        zone.date_and_clock(month)
    ));
    proposal::add(&mut sheet, load, config, month, now);
    sheet.heading(format!("Each person's load since {}", zone.date_and_clock(month)));
    add_people(&mut sheet, load, config, month, now);
    sheet.heading("The bell itself, over the same time");
    add_bell(&mut sheet, load, month, now);
    sheet
}

fn add_alerts(sheet: &mut Sheet, load: &Load, from: Moment, until: Moment) {
    let raised: Vec<&Raised> = load.raised_in(from, until).collect();
    let came = |what| raised.iter().filter(|one| one.came == Some(what)).count();
    let told = raised.iter().filter(|one| !one.told.is_empty()).count();
    let open = raised.iter().filter(|one| one.ended.is_none()).count();
    sheet.para(format!(
        "{}, {told} of them told to somebody: {} seen to, {} false, {} passed by themselves, {open} still open.",
        many(raised.len(), "alert", "alerts"),
        came(Came::True),
        came(Came::False),
        came(Came::Passed)
    ));
}

/// From the first call by each line to the first answer, whoever gave it.
fn add_answers(sheet: &mut Sheet, load: &Load, from: Moment, until: Moment) {
    let mut by_line: BTreeMap<&str, (usize, Vec<Span>)> = BTreeMap::new();
    for one in load.raised_in(from, until) {
        for (line, told) in &one.told {
            let (times, answered) = by_line.entry(line.as_str()).or_default();
            *times += 1;
            let answer = one.answered.as_ref().filter(|(_, at)| at >= told);
            answered.extend(answer.map(|(_, at)| at.since(*told)));
        }
    }
    if by_line.is_empty() {
        sheet.para("Nobody was called.");
        return;
    }
    let mut table = Table::new(vec![
        Column::left("line", 3),
        Column::right("alerts told", 2),
        Column::right("answered", 2),
        Column::right("half of them within", 3),
        Column::right("the slowest", 3),
    ]);
    for (line, (times, mut answered)) in by_line {
        answered.sort_unstable();
        let middle = answered.get(answered.len() / 2).copied();
        let span = |span: Option<Span>| span.map_or("-".to_owned(), english::span);
        let slowest = span(answered.last().copied());
        table.row([
            line.to_owned(),
            times.to_string(),
            answered.len().to_string(),
            span(middle),
            slowest,
        ]);
    }
    sheet.table(table);
}

fn add_rules(sheet: &mut Sheet, load: &Load, from: Moment, until: Moment) {
    let mut by_rule: BTreeMap<&str, [usize; 4]> = BTreeMap::new();
    for one in load.raised_in(from, until) {
        let counts = by_rule.entry(one.rule.as_str()).or_default();
        counts[0] += 1;
        match one.came {
            Some(Came::True) => counts[1] += 1,
            Some(Came::False) => counts[2] += 1,
            Some(Came::Passed) => counts[3] += 1,
            None => {}
        }
    }
    if by_rule.is_empty() {
        sheet.para("No rule has raised any.");
        return;
    }
    let mut table = Table::new(vec![
        Column::left("rule", 6),
        Column::right("raised", 2),
        Column::right("seen to", 2),
        Column::right("false", 2),
        Column::right("passed", 2),
        Column::right("false share", 3),
    ]);
    let mut rows: Vec<(&str, [usize; 4])> = by_rule.into_iter().collect();
    rows.sort_by_key(|(rule, counts)| (std::cmp::Reverse(counts[0]), *rule));
    for (rule, [raised, seen, wrong, passed]) in rows {
        // Of those of which somebody said what they were.
        let said = seen + wrong;
        let share = if said < SHARE_FROM {
            format!("{wrong} of {said}")
        } else {
            format!("{} %", wrong * 100 / said)
        };
        let counts = [raised, seen, wrong, passed].map(|count| count.to_string());
        table.row([rule.to_owned()].into_iter().chain(counts).chain([share]));
    }
    sheet.table(table);
}

fn add_people(sheet: &mut Sheet, load: &Load, config: &Config, from: Moment, until: Moment) {
    let mut table = Table::new(vec![
        Column::left("who", 4),
        Column::right("texts", 2),
        Column::right("in 10 min", 3),
        Column::right("worst hour of the day", 4),
        Column::right("over 10", 2),
        Column::right("most", 2),
        Column::right("woken", 2),
        Column::right("nights", 2),
        Column::right("least sleep", 3),
    ]);
    let mut anybody = false;
    for person in &config.people {
        let one = load.of(&person.name, &config.farm.zone, from, until);
        if one.messages == 0 {
            continue;
        }
        anybody = true;
        table.row(row(person.name.as_str(), &one));
    }
    if !anybody {
        sheet.para("Nobody was called.");
        return;
    }
    sheet.table(table);
    sheet.para(
        "About 1 text in ten minutes is held to be bearable, 2 the most that can be managed; under 1 % of the \
         windows of ten minutes may have more than 10 (AL-02, AL-03, AL-08, AL-10). Empty windows are counted. \
         Woken: calls between 22:00 and 06:00, those within 20 minutes of each other once. Least sleep: of each \
         night the longest time without a call, and of these the shortest.",
    );
}

fn row(name: &str, one: &PersonLoad) -> Vec<String> {
    let in_ten = |texts: usize, windows: usize| {
        let thousandths = texts * 1_000 / windows.max(1);
        format!("{}.{:03}", thousandths / 1_000, thousandths % 1_000)
    };
    let sleep = one.shortest_sleep.map_or("-".to_owned(), english::span);
    vec![
        name.to_owned(),
        one.messages.to_string(),
        in_ten(one.messages, one.windows),
        in_ten(one.worst_hour_of_day, one.days.max(1) * 6),
        one.over.to_string(),
        one.most.to_string(),
        one.wakings.to_string(),
        one.nights.to_string(),
        sleep,
    ]
}

fn add_bell(sheet: &mut Sheet, load: &Load, from: Moment, until: Moment) {
    let (chatter, fleeting) = load.nuisances(from, until);
    let [low, medium, high] = load.mix(from, until);
    let all = (low + medium + high).max(1);
    let share = |count: usize| count * 100 / all;
    sheet.lines([
        format!("Chattering (three of one thing within a minute): {chatter}; there should be none (AL-12)."),
        format!("Fleeting (over within ten seconds): {fleeting}; there should be none (AL-13)."),
        format!(
            "Standing for more than a day, at most on one day: {}; fewer than 5 (AL-14).",
            load.stale(from, until)
        ),
        format!(
            "Of {} told: low {} %, medium {} %, high {} %. Plants aim at 80, 15 and 5 (AL-15); a birth is rarely low.",
            many(low + medium + high, "alert", "alerts"),
            share(low),
            share(medium),
            share(high)
        ),
    ]);
}
