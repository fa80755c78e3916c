//! The herd file: one row a dam.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::plain::ids::Animal;

/// One row of `herd.csv`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AnimalRow {
    pub animal: Animal,
    pub name: String,
    /// ISO 11784, 15 digits: a second name for the same dam.
    pub eid: Option<String>,
    pub parity: Parity,
    /// How often she had calved when the file was written, if it says so.
    pub calvings: Option<u16>,
    pub born: Option<Date>,
    /// Whom she was served by.
    pub sire: String,
    pub breed: String,
    /// How she takes people on the day she calves: 1 docile to 6 aggressive (needs.md N104).
    pub temper: Option<u8>,
    /// How many calves a scan has shown.
    pub scanned: Option<u8>,
    /// What she is kept for, where a law asks: "dairy" or "beef".
    pub purpose: String,
    /// Where she stands: shown to whoever must go there.
    pub group: String,
    pub notes: String,
    /// The first and last day she may have been served, and the days between which she is due.
    pub served: Option<(Date, Date)>,
    pub due: Option<(Date, Date)>,
    pub service: Option<Service>,
    /// The farm's own columns, by name, in the order of the file; empty cells are left out.
    pub own: Vec<(String, String)>,
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
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Parity {
    Heifer,
    /// Also who has not said: the limits of a cow are the shorter and safer ones.
    #[default]
    Cow,
}

/// A calving of a past season: how many days after the service.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Past {
    pub breed: String,
    pub heifer: bool,
    pub days: i64,
    /// Whom she was served by; empty if that is not known.
    pub sire: String,
}
