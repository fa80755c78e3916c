//! Who there is, when each is on duty, and in what order they are told.

use jiff::civil::{Date, Time, Weekday};

use serde::{Deserialize, Serialize};

use super::cron::Cron;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};

/// `[[person]]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    pub name: PersonName,
    pub part: Part,
    pub mobile: Option<String>,
    pub mail: Option<String>,
    /// What they read and write.
    pub speaks: Language,
}

/// A language or a dialect of one, by its tag (RFC 5646).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Language {
    #[default]
    English,
    IrishEnglish,
    Spanish,
    German,
    French,
}

impl Language {
    pub const ALL: [Self; 5] =
        [Self::English, Self::IrishEnglish, Self::Spanish, Self::German, Self::French];

    pub fn tag(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::IrishEnglish => "en-IE",
            Self::Spanish => "es",
            Self::German => "de",
            Self::French => "fr",
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    Owner,
    Stockman,
    Helper,
    Vet,
    /// May look, is never called.
    Viewer,
}

/// `[[rota]]`: one shift that people take in turn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rota {
    pub name: String,
    /// Local start and end; an end at or before the start is on the next day.
    pub start: Time,
    pub end: Time,
    /// The days on which the shift starts.
    pub days: Vec<Weekday>,
    pub turn: Vec<PersonName>,
    pub change: Change,
    /// The day from which turns are counted.
    pub since: Date,
    pub backup: Vec<PersonName>,
    pub instead: Vec<Instead>,
    /// The rota whose person it takes the place of while a shift of it is on; that person is then first backup.
    pub over: Option<String>,
    /// It stands in a calendar: who is on when is in `instead`, and nobody takes it in turn.
    pub calendar: Option<CalendarFile>,
    /// Which of `instead` are its calendar's.
    pub planned: Planned,
    /// Who cannot come, by their own word: their shifts go to the first backup who can.
    pub away: Vec<Away>,
}

/// How many at the head of a rota's `instead` are its calendar's, in order, and how long the longest of them is: so a calendar
/// of twenty years need not be looked at whole.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Planned {
    pub count: usize,
    pub longest: Span,
}

/// Where a rota's calendar lies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CalendarFile {
    pub name: String,
    /// Where it is fetched from: the file is then the last good copy, in the farm's data folder.
    pub url: Option<String>,
    pub allow_private: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    Day,
    Week,
    Fortnight,
    /// Whenever this comes true, from `since` on.
    Cron(Cron),
}

/// `[[rota.instead]]`: this person takes every shift between these instants.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Instead {
    pub from: Moment,
    pub until: Moment,
    pub person: PersonName,
}

/// Somebody cannot take their shifts between these instants: ill, or gone. Their own word, not the settings'.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Away {
    pub person: PersonName,
    pub from: Moment,
    pub until: Moment,
}

/// `[[ladder]]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ladder {
    pub name: String,
    pub rungs: Vec<Rung>,
    /// How long until the last rung comes round again, for ever.
    pub again: Span,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rung {
    pub call: Vec<Call>,
    /// Names of lines, all tried at once. A way this version cannot use is left out, with a warning.
    pub by: Vec<String>,
    pub wait: Span,
    /// When it is climbed; else it is passed over. The last rung always is.
    pub only: Only,
}

/// What must be so for a rung to be climbed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Only {
    /// By night alone, or by day alone.
    pub by_night: Option<bool>,
    /// It calls those alone from whose telephone words have come lately: it has reception.
    pub proven: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Call {
    OnDuty,
    Backup,
    Everyone,
    Part(Part),
    Person(PersonName),
}
