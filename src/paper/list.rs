//! The calving book as rows for a spreadsheet: one profile for each way in which spreadsheets read them.
//!
//! Numbers of animals are texts, whatever they look like, and no cell can be taken for a formula
//! (needs.md N96).

use jiff::civil::Date;

use super::figures::Weight;
use super::record::{Outcome, Record};
use crate::config::Config;
use crate::config::animals::Service;
use crate::config::history::{COLUMNS, Fate, HistoryRow, Sex};
use crate::config::records::WeightUnit;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// How one kind of spreadsheet wants its rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Profile {
    pub word: &'static str,
    delimiter: char,
    decimal: char,
    /// Some take a file for another encoding without it.
    byte_order_mark: bool,
    dates: Dates,
    /// Numbers of animals are guarded against being taken for amounts.
    guarded: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Dates {
    Iso,
    DayFirst,
    MonthFirst,
}

/// The first is the usual one. `plain` is for programs and for reading in again.
pub const PROFILES: [Profile; 5] = [
    Profile {
        word: "comma",
        delimiter: ',',
        decimal: '.',
        byte_order_mark: true,
        dates: Dates::Iso,
        guarded: true,
    },
    Profile {
        word: "semicolon",
        delimiter: ';',
        decimal: ',',
        byte_order_mark: true,
        dates: Dates::DayFirst,
        guarded: true,
    },
    Profile {
        word: "tab",
        delimiter: '\t',
        decimal: '.',
        byte_order_mark: true,
        dates: Dates::Iso,
        guarded: true,
    },
    Profile {
        word: "month-first",
        delimiter: ',',
        decimal: '.',
        byte_order_mark: true,
        dates: Dates::MonthFirst,
        guarded: true,
    },
    Profile {
        word: "plain",
        delimiter: ',',
        decimal: '.',
        byte_order_mark: false,
        dates: Dates::Iso,
        guarded: false,
    },
];

/// The first line. It never begins with the letters "ID", which one spreadsheet takes for another kind of
/// file.
const HEAD: [&str; 38] = [
    "animal",
    "name",
    "eid",
    "breed",
    "first calf",
    "parity",
    "dam years",
    "sire",
    "service",
    "served from",
    "served until",
    "gestation days",
    "calved",
    "time",
    "time sure",
    "not before",
    "calf",
    "of",
    "sex",
    "tag",
    "weight",
    "unit",
    "weight source",
    "adjusted weight",
    "ease",
    "ease scale",
    "presentation",
    "helped by",
    "twin code",
    "vigour",
    "nurse code",
    "colostrum",
    "placenta minutes",
    "fate",
    "died",
    "treatments",
    "temper",
    "attended",
];

impl Profile {
    pub fn of_word(word: &str) -> Option<Self> {
        PROFILES.into_iter().find(|profile| profile.word == word)
    }

    fn date(self, day: Date) -> String {
        let (year, month, date) = (day.year(), day.month(), day.day());
        match self.dates {
            Dates::Iso => day.to_string(),
            Dates::DayFirst => format!("{date:02}.{month:02}.{year:04}"),
            Dates::MonthFirst => format!("{month:02}/{date:02}/{year:04}"),
        }
    }

    fn stamp(self, at: Moment, zone: &Zone) -> String {
        format!("{} {}", self.date(zone.wall(at).date()), zone.clock(at))
    }

    /// A name that begins with a figure: a spreadsheet would take zeros or last digits off, and read "12-3" or
    /// "1/2" as a day and "7E4" as a power.
    fn name(self, text: &str) -> String {
        if self.guarded && text.trim_start().starts_with(|c: char| c.is_ascii_digit()) {
            return self.held(text);
        }
        self.text(text)
    }

    /// A text and nothing else, whatever it looks like.
    fn held(self, text: &str) -> String {
        let text: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        self.quoted(&format!("=\"{}\"", text.replace('"', "\"\"")))
    }

    /// Words of people: what begins like a formula is made a text, and so is what is all figures and signs but no
    /// plain figure.
    fn text(self, text: &str) -> String {
        let figures = text.trim_start().starts_with(|c: char| c.is_ascii_digit());
        let bare = text.bytes().all(|byte| byte.is_ascii_digit());
        let signs = |c: char| c.is_ascii_digit() || " -/.:,+eE".contains(c);
        if self.guarded && figures && !bare && text.chars().all(signs) {
            return self.held(text);
        }
        let text: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        let risky = text.trim_start().starts_with(['=', '+', '-', '@']);
        self.quoted(&if risky { format!("'{text}") } else { text })
    }

    fn quoted(self, cell: &str) -> String {
        let plain = |c: char| c != self.delimiter && c != '"' && c != ',' && c != ';';
        if cell.chars().all(plain) {
            return cell.to_owned();
        }
        format!("\"{}\"", cell.replace('"', "\"\""))
    }

    fn amount(self, amount: &str) -> String {
        let amount = amount.replace('.', &self.decimal.to_string());
        self.quoted(&amount)
    }
}

/// The whole book in that profile; lines end as RFC 4180 has them.
pub fn csv(records: &[Record], config: &Config, profile: Profile) -> String {
    let between = profile.delimiter.to_string();
    let mut text = String::new();
    if profile.byte_order_mark {
        text.push('\u{feff}');
    }
    text.push_str(&HEAD.join(&between));
    text.push_str("\r\n");
    for record in records {
        text.push_str(&cells(record, config, profile).join(&between));
        text.push_str("\r\n");
    }
    text
}

fn cells(record: &Record, config: &Config, profile: Profile) -> Vec<String> {
    let mut cells = Vec::from(of_dam(record, profile));
    cells.extend(of_birth(record, config, profile));
    cells.extend(of_calf(record, config, profile));
    cells
}

fn some<T: ToString>(value: Option<T>) -> String {
    value.map_or(String::new(), |value| value.to_string())
}

fn of_dam(record: &Record, profile: Profile) -> [String; 12] {
    let date = |day: Option<Date>| day.map_or(String::new(), |day| profile.date(day));
    // Days are a figure only where the service was of one day.
    let gestation = record.gestation.filter(|(least, most)| least == most).map(|(days, _)| days);
    [
        profile.name(&record.animal),
        profile.text(&record.name),
        profile.name(&record.eid),
        profile.text(&record.breed),
        record.first_calf.map_or("", |first| if first { "yes" } else { "no" }).to_owned(),
        some(record.parity),
        some(record.dam_years),
        profile.name(&record.sire),
        service(record.service).to_owned(),
        date(record.served.map(|(from, _)| from)),
        date(record.served.map(|(_, until)| until)),
        some(gestation),
    ]
}

fn of_birth(record: &Record, config: &Config, profile: Profile) -> [String; 6] {
    let zone = &config.farm.zone;
    let before = match record.born {
        super::record::When::Between(from, _) => profile.stamp(from, zone),
        super::record::When::Said(_) | super::record::When::Estimated(_) => String::new(),
    };
    [
        profile.date(record.day),
        zone.clock(record.born.moment()),
        record.born.word().to_owned(),
        before,
        record.calf.to_string(),
        record.of.to_string(),
    ]
}

fn of_calf(record: &Record, config: &Config, profile: Profile) -> [String; 20] {
    let unit = config.records.weights;
    let amount = |weight: Weight| profile.amount(&in_unit(weight, unit));
    let died = match record.outcome {
        Outcome::Died(at) => profile.stamp(at, &config.farm.zone),
        Outcome::Alive | Outcome::BornDead | Outcome::Aborted => String::new(),
    };
    [
        record.sex.map_or("", sex).to_owned(),
        profile.name(&record.tag),
        record.weight.map_or(String::new(), |(weight, _)| amount(weight)),
        record.weight.map_or("", |_| unit_word(unit)).to_owned(),
        record.weight.map_or("", |(_, source)| source.word()).to_owned(),
        record.adjusted_birth_weight().map_or(String::new(), amount),
        some(record.ease),
        record.ease.map_or("", |_| config.records.ease.word()).to_owned(),
        record.presentation.to_owned(),
        profile.text(&record.helped_by),
        some(record.twin_code),
        profile.text(&record.vigour),
        some(record.nurse_code),
        profile.text(&record.colostrum),
        some(record.placenta.map(|span| span.whole_minutes())),
        outcome(record.outcome).to_owned(),
        died,
        profile.text(&record.treatments.join("; ")),
        some(record.temper),
        profile.text(&record.attended.join(", ")),
    ]
}

/// A weight in the unit of the farm.
pub fn in_unit(weight: Weight, unit: WeightUnit) -> String {
    match unit {
        WeightUnit::Kilograms => weight.in_kilograms(),
        WeightUnit::Pounds => weight.in_pounds(),
    }
}

pub const fn unit_word(unit: WeightUnit) -> &'static str {
    match unit {
        WeightUnit::Kilograms => "kg",
        WeightUnit::Pounds => "lb",
    }
}

pub const fn sex(sex: Sex) -> &'static str {
    match sex {
        Sex::Bull => "bull",
        Sex::Heifer => "heifer",
    }
}

pub const fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Alive => "alive",
        Outcome::BornDead => "born dead",
        Outcome::Died(_) => "died",
        Outcome::Aborted => "aborted",
    }
}

pub const fn service(service: Option<Service>) -> &'static str {
    match service {
        Some(Service::Ai) => "ai",
        Some(Service::Bull) => "bull",
        Some(Service::Embryo) => "et",
        Some(Service::Scan) => "scan",
        None => "",
    }
}

/// Rows of a book of last season, as the settings read them again.
pub fn history(rows: &[HistoryRow]) -> String {
    let profile = PROFILES[PROFILES.len() - 1];
    let mut text = format!("{}\r\n", COLUMNS.join(","));
    for row in rows {
        let first = row.first_calf.map_or("", |first| if first { "yes" } else { "no" });
        let fate = row.fate.map_or("", |fate| match fate {
            Fate::Alive => "alive",
            Fate::BornDead => "born dead",
            Fate::Died => "died",
            Fate::Aborted => "aborted",
        });
        let cells = [
            profile.name(row.animal.as_str()),
            profile.date(row.calved),
            some(row.gestation),
            profile.text(&row.breed),
            first.to_owned(),
            row.sex.map_or("", sex).to_owned(),
            some(row.ease),
            profile.name(&row.tag),
            fate.to_owned(),
            profile.text(&row.sire),
        ];
        text.push_str(&cells.join(","));
        text.push_str("\r\n");
    }
    text
}
