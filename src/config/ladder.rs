//! Reads `[[ladder]]`: who is told, in what order, by which lines, until somebody answers.

use super::faults::{Faults, Place, Placed};
use super::line;
use super::lines::{Line, Way};
use super::people::{Call, Ladder, Only, Part, Rung};
use super::person::{CALLS, PARTS, People};
use super::suggest;
use super::tree::Table;
use super::value::Value;
use crate::plain::english;
use crate::plain::moment::Span;

/// One `[[ladder]]` and where it stands.
pub(super) type Written = Placed<Ladder>;

/// Ways that the vocabulary names whether or not a line is called so.
const WAYS: [&str; 4] = ["ring", "sms", "mail", "siren"];

/// A ladder with more rungs than this is not climbed before morning.
const RUNGS_MAX: usize = 20;

const WAIT_MIN: Span = Span::seconds(1);
const WAIT_MAX: Span = Span::hours(12);
const AGAIN: Span = Span::minutes(15);

/// What a farm gets that names no ladder: on duty, then backup, then everyone.
pub(super) fn standard(lines: &[Line]) -> Ladder {
    let rung = |call, minutes| Rung {
        call: vec![call],
        by: usable(lines),
        wait: Span::minutes(minutes),
        only: Only::default(),
    };
    Ladder {
        name: "calving".to_owned(),
        rungs: vec![rung(Call::OnDuty, 5), rung(Call::Backup, 5), rung(Call::Everyone, 10)],
        again: AGAIN,
    }
}

/// `None` if it lacks what makes it one.
pub(super) fn read(table: Table<'_>, people: &People, lines: &[Line]) -> Option<Written> {
    let name = table.needed("name", "what rules tell it by, such as \"calving\"");
    let example =
        "write who is told, and how long to wait: rung = [{ call = \"on duty\", wait = \"5m\" }]";
    if !table.has("rung") {
        table.missing("rung", example);
    }
    let values = table.values("rung");
    if let (true, Some(value)) = (values.is_empty(), table.value("rung").filter(Value::is_list)) {
        value.refuse("this ladder has no rungs", example);
    }
    if let Some(beyond) = values.get(RUNGS_MAX) {
        beyond.refuse(
            format!("a ladder has at most {RUNGS_MAX} rungs"),
            "the last one comes round again for ever",
        );
    }
    let rungs: Vec<Rung> =
        values.iter().take(RUNGS_MAX).filter_map(|value| rung(value, people, lines)).collect();
    let again = again(&table, rungs.last());
    table.done();
    let name = name?;
    Some(Placed { is: Ladder { name: name.is, rungs, again }, at: name.at })
}

/// A rule could not say which of two it means.
pub(super) fn check_names(ladders: &[Written], faults: &Faults) {
    for (n, ladder) in ladders.iter().enumerate() {
        if ladders[..n].iter().any(|other| other.is.name == ladder.is.name) {
            let title = format!("there are two ladders called {}", ladder.is.name);
            faults.refuse(&ladder.at, title, "give each its own name");
        }
    }
}

fn again(table: &Table<'_>, last: Option<&Rung>) -> Span {
    let again = table.value("again").and_then(|value| value.span(WAIT_MIN..=WAIT_MAX));
    let Some(again) = again else {
        return AGAIN;
    };
    if let Some(last) = last.filter(|last| again.is < last.wait) {
        let title =
            format!("again is {}, shorter than the last rung's wait of {}", again.is, last.wait);
        let help = "the last rung comes round again before its own wait is over";
        table.faults().warn(&again.at, title, help);
    }
    again.is
}

fn rung(value: &Value<'_>, people: &People, lines: &[Line]) -> Option<Rung> {
    let table = value.table("rung")?;
    if !table.has("call") {
        table.missing("call", "whom: on duty, backup, everyone, a part or a name");
    }
    let texts = table.texts("call");
    let call: Vec<Call> =
        texts.iter().filter_map(|text| call(text, people, table.faults())).collect();
    if let (true, Some(value)) = (texts.is_empty(), table.value("call").filter(Value::is_list)) {
        value.refuse("this rung calls nobody", "name somebody, or take the rung out");
    }
    let by = by(&table, lines);
    if !table.has("wait") {
        table.missing("wait", "how long until the next rung, such as \"5m\"");
    }
    let wait = table.span("wait", AGAIN, WAIT_MIN..=WAIT_MAX);
    let only = only(&table);
    table.done();
    Some(Rung { call, by, wait, only })
}

/// `only`: by night, by day, proven, or one of the two first with the last.
fn only(table: &Table<'_>) -> Only {
    let mut only = Only::default();
    for text in table.texts("only") {
        let by_night = match text.is.as_str() {
            "by night" => true,
            "by day" => false,
            "proven" => {
                only.proven = true;
                continue;
            }
            _ => {
                let title = format!("a rung cannot be climbed only {}", text.is);
                let help = suggest::one_of(&text.is, &["by night", "by day", "proven"]);
                table.faults().refuse(&text.at, title, help);
                continue;
            }
        };
        if only.by_night == Some(!by_night) {
            let help = "by night and by day leave no hour; take one of them out";
            table.faults().refuse(&text.at, "this rung would never be climbed", help);
        }
        only.by_night = Some(by_night);
    }
    only
}

pub(super) fn call(text: &Placed<String>, people: &People, faults: &Faults) -> Option<Call> {
    match text.is.as_str() {
        "on duty" => return Some(Call::OnDuty),
        "backup" => return Some(Call::Backup),
        "everyone" => return Some(Call::Everyone),
        _ => {}
    }
    if let Some((word, part)) = PARTS.iter().find(|(word, _)| *word == text.is) {
        if *part == Part::Viewer {
            let title = format!("a {word} is never called");
            let help = "call on duty, backup, everyone, another part or a name";
            faults.refuse(&text.at, title, help);
            return None;
        }
        if !people.list.iter().any(|one| one.is.part == *part) {
            let title = format!("nobody on this farm has the part {word}");
            let help = "this rung then calls nobody by it; give somebody that part";
            faults.warn(&text.at, title, help);
        }
        return Some(Call::Part(*part));
    }
    let parts = PARTS.iter().map(|(word, _)| *word);
    let words: Vec<&str> = CALLS.into_iter().chain(parts).collect();
    let known = people.list.iter().any(|one| one.is.name.as_str() == text.is);
    if let (false, Some(word)) = (known, suggest::nearest(&text.is, &words)) {
        let title = format!("nobody is called {}", text.is);
        let help = format!("{}; or did you mean {word}?", people.way_out(""));
        faults.refuse(&text.at, title, help);
        return None;
    }
    people.find(text, faults).map(Call::Person)
}

/// The lines a rung is told by; whatever this version cannot use is left out aloud.
fn by(table: &Table<'_>, lines: &[Line]) -> Vec<String> {
    let Some(value) = table.value("by") else {
        return usable(lines);
    };
    let faults = table.faults();
    let mut by: Vec<String> = Vec::new();
    let mut left_out: Vec<String> = Vec::new();
    for text in table.texts("by") {
        match lines.iter().find(|line| line.name.as_str() == text.is) {
            Some(line) if is_usable(line) => {
                if !by.contains(&text.is) {
                    by.push(text.is);
                }
            }
            // What is wrong with the line itself has been said there.
            Some(line) if is_faulty(line) => {}
            Some(line) => match refusal(&line.way) {
                None => left_out.push(text.is),
                Some(help) => {
                    let title = format!("the line {} cannot tell anybody", text.is);
                    faults.refuse(&text.at, title, help);
                }
            },
            None if WAYS.contains(&text.is.as_str()) => left_out.push(text.is),
            None => {
                let names = usable(lines);
                let names: Vec<&str> = names.iter().map(String::as_str).collect();
                let title = format!("no line is called {}", text.is);
                let help = suggest::way_out("lines that can tell somebody", &text.is, &names);
                faults.refuse(&text.at, title, help);
            }
        }
    }
    if !left_out.is_empty() {
        warn_left_out(&left_out, &by, lines, &value.place(), faults);
    }
    if by.is_empty() { usable(lines) } else { by }
}

fn warn_left_out(left_out: &[String], by: &[String], lines: &[Line], at: &Place, faults: &Faults) {
    let title = format!("this version does not use {} in rungs yet", english::list(left_out));
    let others = usable(lines);
    let help = if !by.is_empty() {
        format!("it is told by {} alone", english::list(by))
    } else if others.is_empty() {
        "and there is no other line that can".to_owned()
    } else {
        format!("it is told by all that can: {}", english::list(&others))
    };
    faults.warn(at, title, help);
}

pub(super) fn is_usable(line: &Line) -> bool {
    match line.way {
        Way::Smtp(_) | Way::SmsHttp(_) => true,
        Way::Imap(_) | Way::Webhook(_) | Way::Siren(_) | Way::NotYet { .. } => false,
    }
}

/// A line of a kind that we use, but which could not be read.
pub(super) fn is_faulty(line: &Line) -> bool {
    match &line.way {
        Way::NotYet { kind } => !line::KINDS_TO_COME.contains(&kind.as_str()),
        Way::Smtp(_) | Way::Imap(_) | Way::SmsHttp(_) | Way::Webhook(_) | Way::Siren(_) => false,
    }
}

/// Why a line will never do for a rung; `None` if it will in a later version.
fn refusal(way: &Way) -> Option<&'static str> {
    match way {
        Way::Imap(_) => Some("it reads answers; name the smtp line that sends"),
        Way::Webhook(_) => Some("a webhook hears every alert by itself; take it out of the rung"),
        Way::Siren(_) => Some("a siren sounds for every alert by itself; take it out of the rung"),
        Way::Smtp(_) | Way::SmsHttp(_) | Way::NotYet { .. } => None,
    }
}

fn usable(lines: &[Line]) -> Vec<String> {
    lines.iter().filter(|line| is_usable(line)).map(|line| line.name.to_string()).collect()
}
