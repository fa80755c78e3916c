//! A subject by its place in the rosters: what the index and the loop pass around, because a number
//! costs nothing to copy and compare. People and alerts know subjects by name.

use crate::plain::ids::{LineName, PersonName};
use crate::rules::verdict::Subject;

use super::state::State;

#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Key {
    /// A place in `State::dams`.
    Dam(u32),
    /// A place in `State::devices`.
    Device(u32),
    Line(LineName),
    /// A place in `State::gateways`.
    Gateway(u32),
    /// Whether a dam is watched: a place in `State::dams`.
    Cover(u32),
    Herd,
    Rota,
    /// Who is on duty now.
    Duty,
    /// Whom calls are known to reach.
    Contacts,
    /// A schedule, by its place in the settings.
    Clocked(u16),
    /// The drill that runs.
    Drill,
    /// Somebody who is in with a dam.
    Inside(PersonName),
}

impl Key {
    pub fn subject(&self, state: &State) -> Subject {
        match self {
            Self::Dam(place) | Self::Cover(place) => Subject::Dam(state.dams.at(*place).0.clone()),
            Self::Device(place) => Subject::Device(state.devices.at(*place).0.clone()),
            Self::Line(name) => Subject::Line(name.clone()),
            Self::Gateway(place) => Subject::Gateway(state.gateways[*place as usize].0.clone()),
            Self::Herd => Subject::Herd,
            Self::Rota | Self::Duty | Self::Contacts | Self::Clocked(_) => Subject::Rota,
            Self::Drill => Subject::Drill,
            Self::Inside(person) => Subject::Person(person.clone()),
        }
    }
}
