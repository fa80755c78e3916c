//! The herd file: one row a dam.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::plain::ids::Animal;

/// One row of `herd.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AnimalRow {
    pub animal: Animal,
    pub name: String,
    /// ISO 11784, 15 digits: a second name for the same dam.
    pub eid: Option<String>,
    pub parity: Parity,
    /// Where she stands: shown to whoever must go there.
    pub group: String,
    pub notes: String,
    /// The first and last day she may have been served, and the days between which she is due.
    pub served: Option<(Date, Date)>,
    pub due: Option<(Date, Date)>,
    pub service: Option<Service>,
}

/// How she was served, or how that is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Service {
    Ai,
    Bull,
    Embryo,
    Scan,
}

/// A heifer has never calved. The clocks of second stage differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Parity {
    Heifer,
    Cow,
}
