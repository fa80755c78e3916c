//! Reads `[[rota]]`: shifts that people take in turn. Who is on duty when is not its business.

use jiff::civil::{Date, Weekday};

use super::NamedText;
use super::calendar;
use super::cron::Cron;
use super::dates;
use super::faults::{Faults, Place, Placed};
use super::people::{CalendarFile, Change, Instead, Planned, Rota};
use super::person::People;
use super::suggest;
use super::tree::Table;
use super::value::Value;
use super::web_line;
use crate::plain::zone::Zone;

/// The days of the week in order, as the settings write them.
const DAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Monday),
    ("tue", Weekday::Tuesday),
    ("wed", Weekday::Wednesday),
    ("thu", Weekday::Thursday),
    ("fri", Weekday::Friday),
    ("sat", Weekday::Saturday),
    ("sun", Weekday::Sunday),
];

const CHANGES: [&str; 3] = ["day", "week", "fortnight"];

/// A Monday: turns that say nothing of their beginning change on Mondays.
const SINCE: Date = jiff::civil::date(2000, 1, 3);

/// The same for turns that change by a cron line, which are counted one by one.
const SINCE_OF_A_LINE: Date = jiff::civil::date(2026, 1, 5);

/// Where a calendar is cut into days if nothing in it says where: no night is then.
const NOON: jiff::civil::Time = jiff::civil::time(12, 0, 0, 0);

/// Holidays and swaps of several years.
const INSTEAD_MAX: usize = 500;

/// `None` if it lacks what makes it one.
pub(super) fn read(
    table: Table<'_>,
    people: &People,
    zone: &Zone,
    files: &[NamedText],
) -> Option<Placed<Rota>> {
    let faults = table.faults();
    let at = table.place();
    if let Some(name) = table.text("calendar") {
        return of_calendar(table, &name, people, zone, files);
    }
    let name = table.needed("name", "what people call this shift");
    let shift = shift(&table);
    let days = days(&table);
    if !table.has("turn") {
        table.missing("turn", "the people who take it in turn: turn = [\"Ana\", \"Tom\"]");
    }
    let named = table.texts("turn");
    let turn = people.find_all(&named, faults);
    if let (true, Some(value)) = (named.is_empty(), table.value("turn").filter(Value::is_list)) {
        value.refuse("nobody takes this shift", "name those who do, in turn");
    }
    let change = change(&table, zone);
    let since = table.value("since").and_then(|value| dates::day(&value));
    let begins = if matches!(change, Change::Cron(_)) { SINCE_OF_A_LINE } else { SINCE };
    let over = table.text("over").map(|text| text.is);
    let backup = people.find_all(&table.texts("backup"), faults);
    let instead = table
        .tables("instead", INSTEAD_MAX)
        .into_iter()
        .filter_map(|table| instead(table, people, zone))
        .collect();
    table.done();
    let (start, end) = shift?;
    Some(Placed {
        is: Rota {
            name: name?.is,
            start,
            end,
            days,
            turn,
            change,
            since: since.unwrap_or(begins),
            backup,
            instead,
            over,
            calendar: None,
            planned: Planned::default(),
            away: Vec::new(),
        },
        at,
    })
}

/// The time of day at which most of them begin: cut there, hardly any is cut.
fn usual_start(planned: &[Instead], zone: &Zone) -> jiff::civil::Time {
    let mut counts = std::collections::BTreeMap::new();
    for one in planned {
        *counts.entry(zone.wall(one.from).time()).or_insert(0_usize) += 1;
    }
    let usual = counts.into_iter().rev().max_by_key(|(_, count)| *count);
    usual.map_or(NOON, |(time, _)| time)
}

/// A rota whose shifts stand in a calendar. Between its events it has nobody.
fn of_calendar(
    table: Table<'_>,
    calendar: &Placed<String>,
    people: &People,
    zone: &Zone,
    files: &[NamedText],
) -> Option<Placed<Rota>> {
    let faults = table.faults();
    let at = table.place();
    let name = table.needed("name", "what people call these shifts");
    let over = table.text("over").map(|text| text.is);
    let backup = people.find_all(&table.texts("backup"), faults);
    let more = table.tables("instead", INSTEAD_MAX).into_iter();
    let more: Vec<Instead> = more.filter_map(|table| instead(table, people, zone)).collect();
    for key in ["shift", "days", "turn", "change", "since"] {
        if let Some(place) = table.key_place(key) {
            let title = format!("{key} does not go with calendar");
            faults.refuse(&place, title, "the calendar says it; take one of them out");
            table.value(key);
        }
    }
    let allow_private = web_line::is_private_allowed(&table);
    let url = table.value("url").and_then(|_| {
        web_line::url(&table, "https://hollowbank.example/nights.ics", allow_private)
    });
    if url.is_some() && calendar.is.contains(['/', '\\']) {
        let title = format!("{} is no plain file name", calendar.is);
        faults.refuse(&calendar.at, title, "what is fetched is kept in the data folder");
    }
    table.done();
    let text = files.iter().skip(1).find(|file| file.name == calendar.is);
    let mut planned = match text {
        Some(text) => calendar::read(calendar, &text.text, people, zone, faults),
        None if url.is_some() => {
            let title = format!("the calendar {} has not been fetched yet", calendar.is);
            faults.warn(&calendar.at, title, "nobody is on duty by it before the watch has it");
            Vec::new()
        }
        None => {
            let title = format!("the calendar {} is not there", calendar.is);
            faults.refuse(&calendar.at, title, "names are relative to farm.toml");
            return None;
        }
    };
    let start = usual_start(&planned, zone);
    let longest = planned.iter().map(|one| one.until.since(one.from)).max();
    let count = planned.len();
    planned.extend(more);
    Some(Placed {
        is: Rota {
            name: name?.is,
            start,
            end: start,
            days: DAYS.iter().map(|(_, day)| *day).collect(),
            turn: Vec::new(),
            change: Change::Week,
            since: SINCE,
            backup,
            instead: planned,
            over,
            calendar: Some(CalendarFile { name: calendar.is.clone(), url, allow_private }),
            planned: Planned { count, longest: longest.unwrap_or_default() },
            away: Vec::new(),
        },
        at,
    })
}

/// A rota stands over one that is there, and not over itself or one that stands over another.
pub(super) fn check_layers(rotas: &[Placed<Rota>], faults: &Faults) {
    for rota in rotas {
        let Some(over) = &rota.is.over else { continue };
        let lower = rotas.iter().find(|other| other.is.name == *over);
        let (title, help) = match lower {
            None => {
                let names: Vec<&str> = rotas.iter().map(|rota| rota.is.name.as_str()).collect();
                let help = suggest::way_out("rotas of this farm", over, &names);
                (format!("{} stands over {over}, and there is no such rota", rota.is.name), help)
            }
            Some(lower) if lower.is.over.is_some() || lower.is.name == rota.is.name => {
                let help = "a rota may stand over one that stands over none".to_owned();
                (format!("{} cannot stand over {over}", rota.is.name), help)
            }
            Some(_) => continue,
        };
        faults.refuse(&rota.at, title, help);
    }
}

/// Two shifts of one name could not be told apart.
pub(super) fn check_names(rotas: &[Placed<Rota>], faults: &Faults) {
    for (n, rota) in rotas.iter().enumerate() {
        if rotas[..n].iter().any(|other| other.is.name == rota.is.name) {
            let title = format!("there are two rotas called {}", rota.is.name);
            faults.refuse(&rota.at, title, "give each its own name");
        }
    }
}

fn shift(table: &Table<'_>) -> Option<(jiff::civil::Time, jiff::civil::Time)> {
    let text = table.needed("shift", "from when to when, such as \"22:00-06:00\"")?;
    let shift = dates::shift(&text.is);
    if shift.is_none() {
        let title = format!("{} is not a shift", text.is);
        let help = "write it like 22:00-06:00, in the farm's own time";
        table.faults().refuse(&text.at, title, help);
    }
    shift
}

fn days(table: &Table<'_>) -> Vec<Weekday> {
    let Some(value) = table.value("days") else {
        return DAYS.iter().map(|(_, day)| *day).collect();
    };
    let texts = table.texts("days");
    let mut days = Vec::new();
    for text in &texts {
        match stretch(&text.is) {
            Ok(stretch) => days.extend(stretch),
            Err(word) => {
                let names: Vec<&str> = DAYS.iter().map(|(word, _)| *word).collect();
                let title = format!("{word:?} is not a day of the week");
                let help = suggest::way_out("write days like mon-fri; there are", &word, &names);
                table.faults().refuse(&text.at, title, help);
            }
        }
    }
    if texts.is_empty() && value.is_list() {
        value.refuse("this shift has no days", "take days out for every day");
    }
    days.sort_by_key(|day| day.to_monday_zero_offset());
    days.dedup();
    days
}

/// "sat", "mon-fri", or round the week's end: "fri-mon".
fn stretch(text: &str) -> Result<Vec<Weekday>, String> {
    let (first, last) = text.split_once('-').unwrap_or((text, text));
    let place = |word: &str| {
        let word = word.trim().to_lowercase();
        let found = DAYS.iter().position(|(day, _)| *day == word);
        found.ok_or(word)
    };
    let (first, last) = (place(first)?, place(last)?);
    let length = (last + DAYS.len() - first) % DAYS.len();
    let days = DAYS.iter().cycle().skip(first).take(length + 1);
    Ok(days.map(|(_, day)| *day).collect())
}

fn change(table: &Table<'_>, zone: &Zone) -> Change {
    let Some(text) = table.text("change") else {
        return Change::Week;
    };
    let faults = table.faults();
    match text.is.as_str() {
        "day" => return Change::Day,
        "week" => return Change::Week,
        "fortnight" => return Change::Fortnight,
        _ => {}
    }
    if text.is.split_whitespace().count() == 1 {
        let title = format!("change cannot be {}", text.is);
        let help = suggest::one_of(&text.is, &CHANGES);
        faults.refuse(&text.at, title, format!("{help}; or a cron line such as \"0 12 * * fri\""));
        return Change::Week;
    }
    match Cron::read(&text.is) {
        Ok(cron) => {
            if cron.next(zone.instant(SINCE.at(0, 0, 0, 0)), zone).is_none() {
                faults.warn(&text.at, "this never comes", "turns would never change");
            }
            Change::Cron(cron)
        }
        Err(wrong) => {
            let help = "write minute, hour, day, month, weekday: \"0 12 * * fri\"";
            faults.refuse(&text.at, format!("this is no cron line: {wrong}"), help);
            Change::Week
        }
    }
}

fn instead(table: Table<'_>, people: &People, zone: &Zone) -> Option<Instead> {
    let example = "write it like 2026-12-24T22:00, in the farm's own time";
    for key in ["from", "until"] {
        if !table.has(key) {
            table.missing(key, example);
        }
    }
    let from = table.value("from").and_then(|value| dates::moment(&value, zone));
    let until = table.value("until").and_then(|value| dates::moment(&value, zone));
    let person = table.needed("person", "who takes the shift instead");
    let faults = table.faults();
    table.done();
    let person = people.find(&person?, faults);
    let (from, until) = (from?, until?);
    if from.is >= until.is {
        let title = "this ends before it begins";
        faults.refuse(&until.at, title, "until must be later than from");
    }
    Some(Instead { from: from.is, until: until.is, person: person? })
}

/// Where the first of them stands, for what concerns them all.
pub(super) fn first_place(rotas: &[Placed<Rota>]) -> Option<&Place> {
    rotas.first().map(|rota| &rota.at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_go_round_the_end_of_the_week() {
        use Weekday::{Friday, Monday, Saturday, Sunday};
        assert_eq!(stretch("sat"), Ok(vec![Saturday]));
        assert_eq!(stretch("fri-mon"), Ok(vec![Friday, Saturday, Sunday, Monday]));
        assert_eq!(stretch("Mon - Sun").map(|days| days.len()), Ok(7));
        assert_eq!(stretch("mon-fry"), Err("fry".to_owned()));
    }

    #[test]
    fn turns_change_on_a_monday_unless_the_farm_says_otherwise() {
        assert_eq!(SINCE.weekday(), Weekday::Monday);
    }
}
