//! One calf's row of the calving book: everything the herd books ask (facts.md E-15 to E-17), as far as it
//! is known, and how sure it is.
//!
//! Nothing is filled in: an unseen hour stays between two looks, an unscored birth stays a question.

use jiff::civil::Date;

use super::ease;
use super::figures::{Weight, adjusted_birth_weight, dam_years};
use crate::config::Config;
use crate::config::animals::{AnimalRow, Parity, Service};
use crate::config::history::Sex;
use crate::config::shipped::CATTLE;
use crate::config::species::Species;
use crate::herd::calf::{Born, Calf};
use crate::herd::case::Case;
use crate::herd::impossible::{Bounds, days};
use crate::herd::noted::Noted;
use crate::herd::sign::Mark;
use crate::plain::moment::{Moment, Span};
use crate::watch::season::{DamRecord, Season};

/// When a calf was born, as far as that is known (needs.md N106).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    Said(Moment),
    /// Not before the one, told at the other.
    Between(Moment, Moment),
    /// Told at this moment; nobody had looked before.
    Estimated(Moment),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    Weighed,
    Tape,
    Guess,
    /// Nobody said how it was found.
    Told,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Alive,
    BornDead,
    Died(Moment),
    /// Lost before term; there is no calf to speak of.
    Aborted,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Record {
    pub animal: String,
    pub name: String,
    pub eid: String,
    pub breed: String,
    pub purpose: String,
    /// Which of her births that are kept, the earliest 0: the calves of one birth share it.
    pub birth: usize,
    /// Whether it is her first; `None` of a birth before her latest, of which no herd file speaks.
    pub first_calf: Option<bool>,
    /// Which calving of hers this was, where the herd file says how many there had been.
    pub parity: Option<u16>,
    pub dam_years: Option<u16>,
    /// The correction of weights by the age of the dam is known of cattle alone (facts.md E-10).
    pub of_cattle: bool,
    pub sire: String,
    pub service: Option<Service>,
    pub served: Option<(Date, Date)>,
    /// Least and most days from the service to this birth.
    pub gestation: Option<(i32, i32)>,
    /// From 1; 0 where it came to no calf.
    pub calf: u8,
    pub of: u8,
    pub born: When,
    pub day: Date,
    pub sex: Option<Sex>,
    pub tag: String,
    pub weight: Option<(Weight, Source)>,
    /// On the farm's scale; `None` is a question.
    pub ease: Option<u8>,
    /// A score was told that is no step of the farm's scale: it counts nowhere, and the book asks.
    pub no_step: Option<u8>,
    pub presentation: &'static str,
    pub helped_by: String,
    /// facts.md E-17: 1 single, 2 twin to a bull, 3 twin to a heifer, 4 other; `None` of twins whose other
    /// calf has no sex yet.
    pub twin_code: Option<u8>,
    pub vigour: String,
    /// facts.md E-17: 1 vigorous, 2 the calf's fault, 3 the dam's, 4 the surroundings'.
    pub nurse_code: Option<u8>,
    pub colostrum: String,
    /// How long after the calf the placenta was seen.
    pub placenta: Option<Span>,
    pub outcome: Outcome,
    pub treatments: Vec<String>,
    pub temper: Option<u8>,
    pub notes: String,
    pub attended: Vec<String>,
}

/// Every calf that is kept, of earlier seasons too, the earliest birth first; of the dams known to the settings and of those
/// that have left them.
pub fn records(season: &Season, config: &Config) -> Vec<Record> {
    let mut records = Vec::new();
    for dam in &season.dams {
        let row = config.animals.iter().find(|row| row.animal == dam.animal);
        let cases = dam.earlier.len();
        for (n, case) in dam.earlier.iter().chain([&dam.case]).enumerate() {
            let known = Known { config, row, dam, birth: n, is_latest: n == cases };
            records.extend(known.of_case(case));
        }
    }
    records.sort_by(|a, b| {
        (a.born.moment(), &a.animal, a.calf).cmp(&(b.born.moment(), &b.animal, b.calf))
    });
    records
}

/// So far back a birth is of the season that is spoken of: longer than a drawn-out season, and shorter than
/// the year after which the next one begins (common practice, no source).
const SEASON: Span = Span::days(300);

/// The births of the latest season alone.
pub fn of_season(mut records: Vec<Record>, now: Moment) -> Vec<Record> {
    records.retain(|record| now.since(record.born.moment()) <= SEASON);
    records
}

/// The births that nobody scored: they are not closed until somebody has (needs.md N107). A calving is
/// named once, whatever its calves.
pub fn unscored(records: &[Record]) -> Vec<&Record> {
    records.iter().filter(|record| record.calf == 1 && record.ease.is_none()).collect()
}

impl When {
    /// The moment it is filed under: the latest it may have been.
    pub const fn moment(self) -> Moment {
        match self {
            Self::Said(at) | Self::Between(_, at) | Self::Estimated(at) => at,
        }
    }

    pub const fn word(self) -> &'static str {
        match self {
            Self::Said(_) => "said",
            Self::Between(..) => "between",
            Self::Estimated(_) => "estimated",
        }
    }

    fn of(born: Born) -> Self {
        match born.not_before {
            _ if born.said => Self::Said(born.at),
            Some(before) => Self::Between(before, born.at),
            None => Self::Estimated(born.at),
        }
    }
}

impl Source {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Weighed => "weighed",
            Self::Tape => "tape",
            Self::Guess => "guess",
            Self::Told => "told",
        }
    }
}

impl Record {
    /// Corrected for the age of the dam, of cattle and where both are known (facts.md E-10).
    pub fn adjusted_birth_weight(&self) -> Option<Weight> {
        let years = self.dam_years.filter(|_| self.of_cattle)?;
        Some(adjusted_birth_weight(self.weight?.0, years))
    }

    /// Dead at birth, or so soon after it that the farm counts it as stillborn.
    pub fn is_stillborn(&self, within: Span) -> bool {
        match self.outcome {
            Outcome::BornDead => true,
            Outcome::Died(at) => at.since(self.born.moment()) <= within,
            Outcome::Alive | Outcome::Aborted => false,
        }
    }
}

/// What is known around a case.
struct Known<'k> {
    config: &'k Config,
    row: Option<&'k AnimalRow>,
    dam: &'k DamRecord,
    /// Which of her births, from 0.
    birth: usize,
    /// The calving that the herd file's dates are about.
    is_latest: bool,
}

impl Known<'_> {
    fn of_case(&self, case: &Case) -> Vec<Record> {
        let calves = case.calves();
        if let (true, Some(lost)) = (calves.is_empty(), case.of(Mark::Aborted).next()) {
            let when = if lost.timed { When::Said(lost.at) } else { When::Estimated(lost.at) };
            let record = self.of_birth(case, when);
            return vec![Record { outcome: Outcome::Aborted, ..record }];
        }
        let sexes: Vec<Option<Sex>> =
            (0..calves.len()).map(|n| sex(last_of(case, Mark::Sex, n))).collect();
        let each = calves.iter().enumerate();
        each.map(|(n, calf)| self.of_calf(case, calf, n, &sexes)).collect()
    }

    fn of_calf(&self, case: &Case, calf: &Calf, n: usize, sexes: &[Option<Sex>]) -> Record {
        let number = u8::try_from(n + 1).unwrap_or(u8::MAX);
        let note = |mark| last_of(case, mark, n).map_or("", |noted| noted.note.as_str());
        let placenta = case.of(Mark::Placenta).next();
        Record {
            calf: number,
            of: u8::try_from(sexes.len()).unwrap_or(u8::MAX),
            sex: sexes.get(n).copied().flatten(),
            tag: tag(note(Mark::Tagged)),
            weight: weight(note(Mark::Weight)),
            twin_code: twin_code(n, sexes),
            vigour: note(Mark::Vigour).to_owned(),
            nurse_code: nurse_code(calf, note(Mark::Sucked)),
            colostrum: note(Mark::Colostrum).to_owned(),
            placenta: placenta.map(|noted| noted.at.since(calf.born.at)),
            outcome: outcome(calf, last_of(case, Mark::CalfDead, n)),
            ..self.of_birth(case, When::of(calf.born))
        }
    }

    /// What is the same for all calves of a birth.
    fn of_birth(&self, case: &Case, born: When) -> Record {
        let day = self.config.farm.zone.wall(born.moment()).date();
        let row = self.row.filter(|_| self.is_latest);
        let served = row.and_then(|row| row.served);
        let text = |get: fn(&AnimalRow) -> &str| self.row.map_or("", get).to_owned();
        let calvings = row.and_then(|row| row.calvings);
        let helped = case.of(Mark::Helped).next_back();
        let (told, scale) = (helped.and_then(score), self.config.records.ease);
        let mut attended: Vec<String> = case.standing().map(|noted| noted.by.clone()).collect();
        attended.retain(|name| self.config.people.iter().any(|one| one.name.as_str() == name));
        attended.sort();
        attended.dedup();
        Record {
            animal: self.dam.animal.to_string(),
            name: text(|row| &row.name),
            eid: text(|row| row.eid.as_deref().unwrap_or_default()),
            breed: text(|row| &row.breed),
            purpose: text(|row| &row.purpose),
            birth: self.birth,
            // Of a heifer whose earlier birth is kept, this is not the first.
            first_calf: self
                .is_latest
                .then(|| self.dam.earlier.is_empty() && self.dam.parity == Parity::Heifer),
            parity: calvings.and_then(|had| had.checked_add(1)),
            dam_years: self.row.and_then(|row| dam_years(row.born?, day)),
            of_cattle: self.config.farm.species == CATTLE,
            sire: row.map_or(String::new(), |row| row.sire.clone()),
            service: row.and_then(|row| row.service),
            gestation: served.and_then(|(from, until)| {
                carried(days(until, day), days(from, day), &self.config.species)
            }),
            served,
            calf: 0,
            of: 0,
            born,
            day,
            sex: None,
            tag: String::new(),
            weight: None,
            ease: told.filter(|score| ease::is_step(scale, *score)),
            no_step: told.filter(|score| !ease::is_step(scale, *score)),
            presentation: presentation(case),
            helped_by: helped.map_or(String::new(), |noted| noted.by.clone()),
            twin_code: None,
            vigour: String::new(),
            nurse_code: None,
            colostrum: String::new(),
            placenta: None,
            outcome: Outcome::Alive,
            treatments: case.of(Mark::Treated).map(|noted| noted.note.clone()).collect(),
            temper: self.row.and_then(|row| row.temper),
            notes: text(|row| &row.notes),
            attended,
        }
    }
}

/// Least and most days, unless the dates cannot be of this calving: then the book asks, and prints none.
fn carried(least: i32, most: i32, species: &Species) -> Option<(i32, i32)> {
    (most >= 0 && least <= Bounds::of(species).not_after).then_some((least, most))
}

/// The last that was said of a calf, counted from 0.
fn last_of(case: &Case, mark: Mark, calf: usize) -> Option<&Noted> {
    let of_it = |noted: &&Noted| usize::from(noted.calf.unwrap_or(1)) == calf + 1;
    case.of(mark).rfind(of_it)
}

fn sex(noted: Option<&Noted>) -> Option<Sex> {
    match noted?.note.to_lowercase().as_str() {
        "bull" | "male" | "m" => Some(Sex::Bull),
        "heifer" | "female" | "f" => Some(Sex::Heifer),
        _ => None,
    }
}

/// The number alone: "both" says only that two tags went in.
fn tag(note: &str) -> String {
    let words = note.split_whitespace().filter(|word| !word.eq_ignore_ascii_case("both"));
    words.collect::<Vec<&str>>().join(" ")
}

/// "38 kg", "85 lb", "38 kg tape", "38 kg weighed".
fn weight(note: &str) -> Option<(Weight, Source)> {
    let mut words = note.split_whitespace();
    let figure = words.next()?;
    let rest: Vec<&str> = words.collect();
    let source = if rest.contains(&"weighed") {
        Source::Weighed
    } else if rest.contains(&"tape") {
        Source::Tape
    } else if rest.contains(&"guess") {
        Source::Guess
    } else {
        Source::Told
    };
    let pounds = rest.iter().any(|word| matches!(*word, "lb" | "lbs"));
    Some((Weight::read(figure, pounds)?, source))
}

fn score(noted: &Noted) -> Option<u8> {
    noted.note.split_whitespace().next()?.parse().ok()
}

fn presentation(case: &Case) -> &'static str {
    [
        (Mark::TailOnly, "tail only"),
        (Mark::OneFoot, "one foot"),
        (Mark::Backward, "backward"),
        (Mark::Nose, "forward"),
    ]
    .into_iter()
    .find(|(mark, _)| case.of(*mark).next().is_some())
    .map_or("", |(_, word)| word)
}

fn twin_code(calf: usize, sexes: &[Option<Sex>]) -> Option<u8> {
    match sexes {
        [_] => Some(1),
        [_, _] => match sexes.get(1 - calf.min(1)).copied().flatten()? {
            Sex::Bull => Some(2),
            Sex::Heifer => Some(3),
        },
        _ => Some(4),
    }
}

/// facts.md E-17; only what was said. A calf that got up and sucked is vigorous; whose fault it was that
/// another did not is for people to say.
fn nurse_code(calf: &Calf, note: &str) -> Option<u8> {
    let said = note.split_whitespace().find_map(|word| word.parse().ok());
    let vigorous = calf.marked(Mark::Sucked).is_some() && calf.marked(Mark::Colostrum).is_none();
    said.filter(|code| (1..=4).contains(code)).or(vigorous.then_some(1))
}

/// A calf is born dead if it was found so with its birth and showed no life, and if somebody says so.
fn outcome(calf: &Calf, dead: Option<&Noted>) -> Outcome {
    let Some(dead) = dead else { return Outcome::Alive };
    let lived = [Mark::Breathing, Mark::Sternal, Mark::Trying, Mark::Up, Mark::Sucked];
    let lived = lived.into_iter().any(|mark| calf.marked(mark).is_some());
    let said = dead.note.contains("born dead") || dead.note.contains("stillborn");
    if said || (!lived && dead.at.since(calf.born.at) <= AT_BIRTH) {
        return Outcome::BornDead;
    }
    Outcome::Died(dead.at)
}

/// Found dead so soon, and no sign of life noted: it was born so (common practice, no source).
const AT_BIRTH: Span = Span::minutes(10);
