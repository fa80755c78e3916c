//! How often a device speaks, where the settings do not say: learnt from its own habit.
//!
//! It keeps no timer and judges no silence: a rule asks for the beat and does that.

use serde::{Deserialize, Serialize};

use crate::plain::bounded::Ring;
use crate::plain::moment::Span;

/// The middle of so many pauses is not moved by a few odd ones.
const KEPT: usize = 9;
/// Fewer say nothing of a habit.
const NEEDED: usize = 5;
/// Closer together it is one turn to speak, in several messages.
const ONE_TURN: Span = Span::seconds(5);
/// A device that speaks less often has no habit to be missed by: its silence is judged as if it had
/// this one (common practice, no source).
const SLOWEST: Span = Span::hours(4);

/// The last pauses, in milliseconds.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Rhythm(Ring<i64, KEPT>);

impl Rhythm {
    pub fn pauses(&mut self, pause: Span) {
        if pause >= ONE_TURN {
            self.0.push(pause.millis());
        }
    }

    /// The habit, once there is one.
    pub fn beat(&self) -> Option<Span> {
        if self.0.len() < NEEDED {
            return None;
        }
        let mut pauses: Vec<i64> = self.0.iter().copied().collect();
        pauses.sort_unstable();
        let middle = pauses.get(pauses.len() / 2).copied()?;
        Some(Span::from_millis(middle).min(SLOWEST))
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn beat(minutes: &[i64]) -> Option<Span> {
        let mut rhythm = Rhythm::default();
        for pause in minutes {
            rhythm.pauses(Span::minutes(*pause));
        }
        rhythm.beat()
    }

    #[test]
    fn a_habit_is_the_middle_of_the_last_pauses() {
        assert_eq!(beat(&[15, 15, 15, 15]), None, "four pauses are no habit yet");
        assert_eq!(beat(&[15, 15, 600, 14, 15]), Some(Span::minutes(15)));
        assert_eq!(beat(&[0, 0, 0, 0, 0, 0]), None, "one turn in several messages is no pause");
        assert_eq!(beat(&[600; 5]), Some(SLOWEST));
        let changed = [[60; 9], [5; 9]].concat();
        assert_eq!(beat(&changed), Some(Span::minutes(5)), "a new habit replaces the old one");
    }
}
