//! The herd file: one row a dam.

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
}

/// A heifer has never calved. The clocks of second stage differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Parity {
    Heifer,
    Cow,
}
