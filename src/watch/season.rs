//! The whole season as plain data: the board, and every dam's record. For papers and books.
//!
//! It is large and is made only when somebody asks; what a page needs all the time is the board.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::Watch;
use super::view::Board;
use crate::config::animals::Parity;
use crate::herd::case::Case;
use crate::herd::stage::Stage;
use crate::plain::ids::Animal;
use crate::plain::moment::Moment;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Season {
    pub board: Board,
    /// Every dam ever known, in the order in which they became known; sold ones too.
    pub dams: Vec<DamRecord>,
}

/// What is known of one dam's calvings. What the herd file says of her is in the settings.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DamRecord {
    pub animal: Animal,
    /// She stands in the herd file now.
    pub listed: bool,
    pub parity: Parity,
    pub stage: Stage,
    /// When each stage of this calving was entered.
    pub entered: BTreeMap<Stage, Moment>,
    pub case: Case,
    /// The records of the calvings before, the oldest first.
    pub earlier: Vec<Case>,
}

impl Watch {
    /// Everything that the papers are made of; `None` before there are settings.
    pub fn season(&self, now: Moment) -> Option<Season> {
        let board = self.view_at(now)?;
        let state = self.state();
        let dams = state.dams.names().filter_map(|animal| {
            let dam = state.dams.get(animal)?;
            Some(DamRecord {
                animal: animal.clone(),
                listed: dam.listed,
                parity: dam.parity,
                stage: dam.stage,
                entered: dam.stages().clone(),
                case: dam.case().clone(),
                earlier: dam.earlier().to_vec(),
            })
        });
        Some(Season { board, dams: dams.collect() })
    }
}
