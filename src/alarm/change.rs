//! A change of shift: what nobody has answered goes to whoever comes on, too; what somebody has stays theirs.

use super::climb::tell_incoming;
use super::moves::Move;
use super::watchman::Watchman;
use crate::config::Config;
use crate::plain::ids::PersonName;

impl Watchman {
    /// Tells somebody who comes on duty of everything that climbs.
    pub fn comes_on(&mut self, config: &Config, who: &PersonName) -> Vec<Move> {
        let open = self.open.values_mut();
        open.flat_map(|alert| tell_incoming(config, alert, who)).collect()
    }
}
