//! What readers may see of the days after a birth: what is open about each dam, who has milk, which calf needs a
//! mother. Plain facts, computed when somebody asks.

use serde::{Deserialize, Serialize};

use super::ready::Ready;
use super::state::State;
use crate::herd::dam::Dam;
use crate::herd::foster;
use crate::herd::recovery::{self, Open};
use crate::plain::english;
use crate::plain::ids::Animal;
use crate::plain::moment::Moment;

/// Something open about a dam who has calved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenView {
    /// In the yard's words: "placenta not passed", "infection watch (helped)".
    pub what: String,
    pub since: Option<Moment>,
    /// When it ends by itself.
    pub until: Option<Moment>,
}

/// Who has milk, and which calf needs a mother.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fosters {
    pub milk: Vec<MilkView>,
    pub calves: Vec<CalfView>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MilkView {
    pub animal: Animal,
    pub group: String,
    pub since: Moment,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CalfView {
    /// Whose it is.
    pub dam: Animal,
    /// Its number among the calves of that birth, from 1.
    pub calf: u8,
    pub group: String,
    pub since: Moment,
    pub why: String,
}

/// What is open about one dam.
pub(super) fn open(dam: &Dam, now: Moment) -> Vec<OpenView> {
    recovery::open(dam, now).iter().map(view).collect()
}

fn view(open: &Open) -> OpenView {
    let (since, until, more) = match open {
        Open::Placenta { since, .. }
        | Open::Down { since }
        | Open::Wobbly { since }
        | Open::Prolapse { since }
        | Open::OffFeed { since }
        | Open::Discharge { since }
        | Open::Carcass { since } => (Some(*since), None, String::new()),
        Open::Infection { until, at_risk } => {
            let risks: Vec<&str> = at_risk.iter().map(|risk| risk.word()).collect();
            let more = if risks.is_empty() {
                String::new()
            } else {
                format!(" ({})", english::list(&risks))
            };
            (None, Some(*until), more)
        }
        Open::Withdrawal { until, .. } => (None, Some(*until), String::new()),
        Open::NotSucked { calf: 1 } | Open::Measure | Open::Score => (None, None, String::new()),
        Open::NotSucked { calf } => (None, None, format!(" (calf {calf})")),
    };
    OpenView { what: format!("{}{more}", open.word()), since, until }
}

/// The two lists, the newest need last.
pub(super) fn fosters(state: &State, ready: &Ready, now: Moment) -> Fosters {
    let mut fosters = Fosters::default();
    let mut placed: Vec<(Animal, Moment)> = Vec::new();
    let dams =
        || ready.config.animals.iter().filter_map(|row| Some((row, state.dams.get(&row.animal)?)));
    for (_, dam) in dams() {
        let onto = foster::fostered_onto(dam);
        placed.extend(onto.filter_map(|(at, name)| Some((ready.animal(name)?.clone(), at))));
    }
    for (row, dam) in dams() {
        let taken =
            |since: Moment| placed.iter().any(|(onto, at)| *onto == row.animal && *at >= since);
        if let Some(since) = foster::has_milk(dam, now).filter(|since| !taken(*since)) {
            fosters.milk.push(MilkView {
                animal: row.animal.clone(),
                group: row.group.clone(),
                since,
            });
        }
        let calves = foster::motherless(dam, now).into_iter().map(|needs| CalfView {
            dam: row.animal.clone(),
            calf: needs.calf,
            group: row.group.clone(),
            since: needs.since,
            why: needs.why.word().to_owned(),
        });
        fosters.calves.extend(calves);
    }
    fosters.milk.sort_by(|one, other| (one.since, &one.animal).cmp(&(other.since, &other.animal)));
    fosters.calves.sort_by(|one, other| (one.since, &one.dam).cmp(&(other.since, &other.dam)));
    fosters
}
