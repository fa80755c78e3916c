//! How a night is run: where its settings and data lie, by what clock, and who prints the diary.

use std::path::PathBuf;

use super::clock::Clock;
use super::settings::Place;
use crate::config::SettingsText;
use crate::plain::moment::Moment;
use crate::watch::effect::Facts;

/// How a night is run.
pub struct Plan {
    pub place: Place,
    pub settings: SettingsText,
    pub data: PathBuf,
    /// Makes the clock, given the moment of the journal's last entry.
    pub clock: Box<dyn FnOnce(Option<Moment>) -> Clock>,
    pub credentials: Option<PathBuf>,
    /// Each diary line as it is committed.
    pub print: Print,
}

/// Prints one line of the diary and knows what it is about.
pub type Print = Box<dyn FnMut(&str, &Facts)>;
