//! Row 9. Invented seasons: a farm's truth, seen by sensors that fail and answered by people who were
//! really told, through the one door of the watch. Pure: the same seed is the same season.
//!
//! First everything goes wrong (is it always safe?), then faults stop and everybody does what they
//! should (does it recover?). It knows no journal, no line and no clock.

mod always;
mod broken;
mod checks;
mod dam_facts;
mod dice;
mod facts;
mod farm;
mod faults;
mod ledger;
mod limits;
mod lists;
mod lives;
mod pen;
mod people;
mod post;
mod process;
mod sabotage;
mod sensors;
mod tally;
mod tape;
mod world;
mod yard;

pub use broken::{Broken, Promise};
pub use farm::Size;
pub use sabotage::Sabotage;
pub use tally::Tally;

use crate::paper::load::Load;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};

/// How a season is to be.
#[derive(Clone, Copy, Debug)]
pub struct Terms {
    pub nights: u32,
    pub size: Size,
    /// How long it goes on after faults have stopped.
    pub calm: Span,
    pub sabotage: Option<Sabotage>,
    /// People's load is measured, and nothing checked: for farms too large to be looked at whole after each step.
    pub measured: bool,
}

impl Terms {
    /// So many nights on a farm small enough to run a hundred of.
    pub const fn nights(nights: u32) -> Self {
        Self {
            nights,
            size: Size { dams: 18, calvings: 13 },
            calm: Span::hours(10),
            sabotage: None,
            measured: false,
        }
    }
}

/// The zone of the invented farm.
pub const ZONE: &str = yard::ZONE;

/// Everybody on it who can be called.
pub fn people() -> impl Iterator<Item = PersonName> {
    yard::PEOPLE.iter().map(|row| PersonName::new(row.0))
}

/// What became of a season.
#[derive(Clone, Debug, Default)]
pub struct Season {
    pub seed: u64,
    /// The last lines of its diary.
    pub tail: Vec<String>,
    pub tally: Tally,
    /// What it should never have shown, oldest first.
    pub broken: Vec<Broken>,
    /// When it began, and what it asked of people, where that was measured.
    pub began: Moment,
    pub load: Load,
}

/// Lives through one season.
pub fn season(seed: u64, terms: &Terms) -> Season {
    world::World::new(seed, terms).run()
}
