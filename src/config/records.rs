//! `[records]`: how this farm keeps its calving book, and what its season is measured from.
//!
//! Nothing here fills a gap: an ease score that nobody gave stays a question.

use jiff::civil::Date;

use super::dates;
use super::faults::Placed;
use super::person::People;
use super::tree::Table;
use crate::plain::ids::PersonName;

/// `[records]`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Records {
    pub ease: Scale,
    /// Who is reminded of what the law wants written down.
    pub keeper: Option<PersonName>,
    pub weights: WeightUnit,
    pub start: StartRule,
    /// The day the bulls went in, where the season is counted from it.
    pub bulls_in: Option<Date>,
    /// The oldest first.
    pub feeding: Vec<FeedingChange>,
}

/// How a birth's difficulty is scored.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Scale {
    /// facts.md E-01: five steps, the fifth is a calf that lies wrong.
    #[default]
    Five,
    /// facts.md E-04: six steps, the sixth is surgery that was planned.
    Six,
    /// facts.md E-06: five steps of trouble alone.
    Dairy,
    /// standards.md ID-09: the five names of the ICAR data exchange.
    Exchange,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum WeightUnit {
    #[default]
    Kilograms,
    Pounds,
}

/// From which day on the periods of 21 days are counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum StartRule {
    /// facts.md A-05: the day on which the third mature cow calves.
    #[default]
    ThirdCow,
    /// facts.md A-06: so many days after the bulls went in.
    AfterBulls(u16),
}

/// From this day on the herd was fed in another way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FeedingChange {
    pub at: Date,
    pub to: String,
}

const SCALES: [(&str, Scale); 4] = [
    ("five", Scale::Five),
    ("six", Scale::Six),
    ("dairy", Scale::Dairy),
    ("exchange", Scale::Exchange),
];

const UNITS: [(&str, WeightUnit); 2] = [("kg", WeightUnit::Kilograms), ("lb", WeightUnit::Pounds)];

const STARTS: [(&str, StartRule); 3] = [
    ("third cow", StartRule::ThirdCow),
    ("285 days", StartRule::AfterBulls(285)),
    ("283 days", StartRule::AfterBulls(283)),
];

/// Nobody changes the feeding of a season more often.
const CHANGES_MAX: usize = 20;

impl Scale {
    /// The word for it in the settings.
    pub fn word(self) -> &'static str {
        SCALES.iter().find(|(_, scale)| *scale == self).map_or("", |(word, _)| word)
    }
}

impl Records {
    pub(super) fn read(table: Table<'_>, people: &People) -> Self {
        let usual = Self::default();
        let word = table.word("ease", &SCALES);
        let start = table.word("start", &STARTS);
        let bulls_in = table.value("bulls-in").and_then(|value| dates::day(&value));
        check_start(&table, start.as_ref(), bulls_in);
        let mut feeding: Vec<FeedingChange> = table
            .tables("feeding-change", CHANGES_MAX)
            .into_iter()
            .filter_map(feeding_change)
            .collect();
        feeding.sort_by_key(|change| change.at);
        let records = Self {
            ease: word.map_or(usual.ease, |word| word.is),
            keeper: table.text("keeper").and_then(|name| people.find(&name, table.faults())),
            weights: table.word("weights", &UNITS).map_or(usual.weights, |word| word.is),
            start: start.map_or(usual.start, |start| start.is),
            bulls_in,
            feeding,
        };
        table.done();
        records
    }
}

fn check_start(table: &Table<'_>, start: Option<&Placed<StartRule>>, bulls_in: Option<Date>) {
    let Some(start) = start else { return };
    if let (StartRule::AfterBulls(days), None) = (start.is, bulls_in) {
        let title = format!("nothing says from which day the {days} days are counted");
        table.faults().refuse(&start.at, title, "write bulls-in = \"2026-02-14\" beside it");
    }
}

fn feeding_change(table: Table<'_>) -> Option<FeedingChange> {
    let at = table.value("at").and_then(|value| dates::day(&value));
    if !table.has("at") {
        table.missing("at", "the first day of it: at = \"2026-12-01\"");
    }
    let to = table.needed("to", "what it was changed to, such as \"dusk\"");
    table.done();
    Some(FeedingChange { at: at?, to: to?.is })
}
