//! The calving book on paper: a row for each calf, and the births that nobody has scored yet.

use super::ease;
use super::list::{in_unit, outcome, sex, unit_word};
use super::record::{Record, When, records, unscored};
use super::sheet::{Column, Sheet, Table};
use super::{deadlines, figures};
use crate::config::Config;
use crate::config::history::Sex;
use crate::config::records::Scale;
use crate::config::shipped::CATTLE;
use crate::plain::english;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;
use crate::watch::season::Season;

/// The whole book.
pub fn book(season: &Season, config: &Config, now: Moment) -> Sheet {
    let records = records(season, config);
    let zone = &config.farm.zone;
    let made = format!("{}, made {}", config.farm.name, zone.date_and_clock(now));
    let mut sheet = Sheet::new(title(&config.terms.birth), made).wide();
    let births = records.iter().filter(|record| record.calf == 1).count();
    let lost = records.iter().filter(|record| record.calf == 0).count();
    let calves = records.iter().filter(|record| record.calf > 0).count();
    let terms = &config.terms;
    let lost = if lost == 0 {
        String::new()
    } else {
        format!(", and {}", english::many(lost, "abortion", "abortions"))
    };
    sheet.para(format!(
        "{}, {}{lost}.",
        english::many(births, "birth", "births"),
        english::many(calves, &terms.young, &terms.many)
    ));
    add_unscored(&mut sheet, &records, config);
    if records.is_empty() {
        sheet.para("Nothing has been noted yet.");
    } else {
        sheet.table(rows(&records, config));
    }
    add_legend(&mut sheet, config);
    deadlines::add_to(&mut sheet, season, config, now);
    sheet
}

/// "Calving book", "Lambing book".
fn title(birth: &str) -> String {
    let mut letters = birth.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{} book", letters.as_str())
}

/// A birth is not closed until somebody has scored it (needs.md N107).
fn add_unscored(sheet: &mut Sheet, records: &[Record], config: &Config) {
    let open = unscored(records);
    if open.is_empty() {
        return;
    }
    let names: Vec<String> = open
        .iter()
        .take(NAMED_MAX)
        .map(|record| format!("{} ({})", record.animal, record.day))
        .collect();
    let more = open.len().saturating_sub(NAMED_MAX);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    sheet.caution([
        format!("Not scored yet, and so not closed: {}{more}.", names.join(", ")),
        format!("How did it go? {}.", ease::question(config.records.ease)),
    ]);
}

/// Nobody reads a longer list before the table, where each stands again.
const NAMED_MAX: usize = 12;

fn rows(records: &[Record], config: &Config) -> Table {
    let of_cattle = config.farm.species == CATTLE;
    let adjusted = if of_cattle { " (adj.)" } else { "" };
    let weight = format!("{}{adjusted}", unit_word(config.records.weights));
    let mut table = Table::new(vec![
        Column::left("born", 13),
        Column::left("dam", 8),
        Column::right("parity", 4),
        Column::left("sire", 6),
        Column::right("days", 6),
        Column::left(config.terms.young.as_str(), 7),
        Column::left("tag", 9),
        Column::right(weight, 9),
        Column::right("ease", 4),
        Column::left("how", 8),
        Column::right("twin", 4),
        Column::left("colostrum", 9),
        Column::left("placenta", 7),
        Column::left("fate", 8),
        Column::left("who", 8),
    ]);
    for record in records {
        let cells = cells(record, config);
        if record.ease.is_none() && record.calf == 1 {
            table.strong_row(cells)
        } else {
            table.row(cells)
        }
    }
    table
}

fn cells(record: &Record, config: &Config) -> Vec<String> {
    let zone = &config.farm.zone;
    let some = |number: Option<String>| number.unwrap_or_default();
    let called = if record.name.is_empty() { String::new() } else { format!(" {}", record.name) };
    let number =
        if record.of > 1 { format!("{}/{} ", record.calf, record.of) } else { String::new() };
    vec![
        born(record, zone),
        format!("{}{called}", record.animal),
        if record.first_calf == Some(true) {
            config.terms.maiden.clone()
        } else {
            some(record.parity.map(|n| n.to_string()))
        },
        record.sire.clone(),
        gestation(record),
        format!("{number}{}", record.sex.map_or("", |one| short_sex(config, one))),
        record.tag.clone(),
        weight(record, config),
        ease_cell(record),
        record.presentation.to_owned(),
        some(record.twin_code.map(|code| code.to_string())),
        record.colostrum.clone(),
        placenta(record),
        outcome(record.outcome).to_owned(),
        english::list(&record.attended),
    ]
}

/// "bull", "ram", "filly": the word of the species without its young.
fn short_sex(config: &Config, one: Sex) -> &str {
    let terms = &config.terms;
    let word = terms.sex(sex(one));
    word.strip_suffix(terms.young.as_str()).unwrap_or(word).trim_end()
}

/// "2026-03-01 02:10", "2026-03-01 00:00-06:00", "2026-03-01 06:00 est.".
fn born(record: &Record, zone: &Zone) -> String {
    match record.born {
        When::Said(at) => zone.date_and_clock(at),
        When::Between(from, until) if zone.wall(from).date() == zone.wall(until).date() => {
            format!("{}-{}", zone.date_and_clock(from), zone.clock(until))
        }
        When::Between(from, until) => {
            format!("{} to {}", zone.date_and_clock(from), zone.date_and_clock(until))
        }
        When::Estimated(at) => format!("{} est.", zone.date_and_clock(at)),
    }
}

/// The score, or the question that is still open.
fn ease_cell(record: &Record) -> String {
    let open = if record.calf > 0 { "?" } else { "" };
    record.ease.map_or_else(|| open.to_owned(), |score| score.to_string())
}

fn placenta(record: &Record) -> String {
    let open = if record.calf > 0 { "not seen" } else { "" };
    record.placenta.map_or_else(|| open.to_owned(), english::span)
}

/// Days elapsed since the service: one figure, or two of a range.
fn gestation(record: &Record) -> String {
    match record.gestation {
        None => String::new(),
        Some((least, most)) if least == most => least.to_string(),
        Some((least, most)) => format!("{least}-{most}"),
    }
}

fn weight(record: &Record, config: &Config) -> String {
    let Some((weight, source)) = record.weight else { return String::new() };
    let unit = config.records.weights;
    let adjusted = record.adjusted_birth_weight();
    let adjusted = adjusted.map_or(String::new(), |weight| format!(" ({})", in_unit(weight, unit)));
    let source = match source {
        super::record::Source::Tape | super::record::Source::Guess => format!(" {}", source.word()),
        super::record::Source::Weighed | super::record::Source::Told => String::new(),
    };
    format!("{}{source}{adjusted}", in_unit(weight, unit))
}

fn add_legend(sheet: &mut Sheet, config: &Config) {
    sheet.heading("What the figures mean");
    sheet.lines(scale_lines(config.records.ease));
    sheet.lines([
        "? has not been scored. est.: nobody said the hour. days: elapsed since the service, which is day 0."
            .to_owned(),
        format!(
            "twin: 1 single, 2 twin to a {}, 3 twin to a {}, 4 other.",
            short_sex(config, Sex::Bull),
            short_sex(config, Sex::Heifer)
        ),
    ]);
    if config.farm.species == CATTLE {
        sheet.lines([format!(
            "adj.: for the age of the dam in years, added in lb: 2: {}, 3: {}, 4: {}, 11 and over: {}.",
            added(2),
            added(3),
            added(4),
            added(11)
        )]);
    }
}

fn added(years: u16) -> String {
    figures::adjusted_birth_weight(figures::Weight::default(), years).in_pounds()
}

/// The steps of a scale, one a line.
pub fn scale_lines(scale: Scale) -> Vec<String> {
    let mut lines = vec![format!("ease, scale \"{}\":", scale.word())];
    let steps = ease::steps(scale).iter().enumerate();
    lines.extend(steps.map(|(n, meaning)| format!("  {} {meaning}", n + 1)));
    lines
}
