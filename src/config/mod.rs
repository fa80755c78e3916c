//! Row 1. The farm's own settings: text in, a `Config` or every fault at once out.
//!
//! The texts go into the journal, so a replay needs nothing else. Secrets do not: a settings text
//! names the file that holds one, and only the lines read it.

pub mod animals;
pub mod built_in;
pub mod calls;
pub mod cameras;
pub mod chains;
pub mod countries;
pub mod cover;
pub mod cron;
pub mod disagreements;
pub mod farm;
pub mod fault;
pub mod feeds;
pub mod history;
pub mod lessons;
pub mod lines;
pub mod people;
pub mod records;
pub mod rights;
pub mod rules;
pub mod schedule;
pub mod sensors;
pub mod species;
pub mod weather;
pub mod words;

mod address;
mod broker;
mod byte_field;
mod calendar;
mod camera;
mod chain;
mod change;
mod check;
mod condition;
mod dates;
mod device;
mod due;
mod faults;
mod field;
mod gestation;
mod herd;
mod ical;
mod ladder;
mod limit;
pub mod line;
mod mail_line;
mod measured;
mod person;
mod picture;
mod places;
mod read;
mod recur;
mod recur_times;
mod reminders;
mod rota;
mod rule;
mod rulebook;
mod sensor;
mod sheet;
pub mod shipped;
mod siren_line;
pub mod species_terms;
pub mod suggest;
mod topic;
mod tree;
mod value;
mod voice;
mod web_line;
mod when;

use serde::{Deserialize, Serialize};

pub use read::{copies, parse, wanted};
pub use shipped::{shipped, stands_in};

/// The texts a farm is set up from, in the order in which they were read: `farm.toml` first, then
/// the rule files and the herd file it names.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SettingsText {
    pub files: Vec<NamedText>,
}

/// One file's name, as the settings write it, and what it says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct NamedText {
    pub name: String,
    pub text: String,
}

/// A farm's settings, checked: whatever is named here exists.
#[derive(Clone, Debug, PartialEq)]
pub struct Config {
    pub farm: farm::Farm,
    /// How long the farm's animals carry.
    pub species: species::Species,
    /// The words of the farm's species, and its spans.
    pub terms: species_terms::Terms,
    pub broker: farm::Broker,
    pub animals: Vec<animals::AnimalRow>,
    /// How long dams of this farm carried in past seasons.
    pub past: Vec<animals::Past>,
    pub sensors: Vec<sensors::SensorKind>,
    /// How far ahead each kind of sensor speaks, where the settings say it.
    pub horizons: Vec<(String, sensors::Horizon)>,
    pub devices: Vec<sensors::DeviceOn>,
    pub cameras: Vec<cameras::Camera>,
    pub chains: Vec<chains::Gateway>,
    /// Where the air's temperature comes from, if the farm says it.
    pub weather: Option<weather::Weather>,
    pub people: Vec<people::Person>,
    pub calls: calls::Calls,
    pub rotas: Vec<people::Rota>,
    pub ladders: Vec<people::Ladder>,
    /// Calendars that are given out at an address.
    pub feeds: Option<feeds::Feeds>,
    /// What is sent by the clock.
    pub schedules: Vec<schedule::Schedule>,
    pub lines: Vec<lines::Line>,
    pub rules: Vec<rules::Rule>,
    pub records: records::Records,
    /// Last season's book, where the settings name one.
    pub history: Vec<history::HistoryRow>,
}

impl Config {
    /// The lights and sirens on the farm's own broker.
    pub fn sirens(&self) -> impl Iterator<Item = &lines::Siren> {
        self.lines.iter().filter_map(|line| match &line.way {
            lines::Way::Siren(siren) => Some(siren),
            lines::Way::Smtp(_)
            | lines::Way::Imap(_)
            | lines::Way::SmsHttp(_)
            | lines::Way::Webhook(_)
            | lines::Way::NotYet { .. } => None,
        })
    }

    /// Whether a device is a camera whose pictures are had, or a region of one.
    pub fn gives_pictures(&self, device: &str) -> bool {
        self.cameras.iter().any(|camera| camera.is_meant_by(device))
    }
}

/// What became of a farm's settings: there is a `Config` exactly if no fault refuses.
#[derive(Clone, Debug, PartialEq)]
pub struct Parsed {
    pub config: Option<Config>,
    /// All of them at once, by the order of the files and then by place.
    pub faults: Vec<fault::Fault>,
}
