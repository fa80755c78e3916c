//! The two clocks of second stage: how long it has gone on, and how long nothing new has been seen.
//!
//! Needs.md N98: progress starts the second again and never the first. It knows no limit.

use super::dam::Dam;
use super::sign::Mark;
use super::stage::Stage;
use crate::plain::moment::Moment;

/// What shows that she gets on.
pub const PROGRESS: [Mark; 4] = [Mark::WaterBag, Mark::Feet, Mark::Nose, Mark::Progress];

/// What asks for more than the clocks do.
const TROUBLE: [Mark; 6] =
    [Mark::Backward, Mark::OneFoot, Mark::TailOnly, Mark::Stained, Mark::Bleeding, Mark::Tongue];

impl Dam {
    /// Since when she has been in second stage, if she is, and when something new was last seen.
    pub fn second_stage(&self) -> Option<(Moment, Moment)> {
        let began = self.entered(Stage::Second).filter(|_| self.stage == Stage::Second)?;
        let seen = PROGRESS.into_iter().filter_map(|mark| self.track(mark));
        let new = seen.map(|track| track.last).max().map_or(began, |new| new.max(began));
        Some((began, new))
    }

    /// Whether something has been seen of this birth that asks for more than the clocks do.
    pub fn is_in_trouble(&self) -> bool {
        TROUBLE.into_iter().any(|mark| self.track(mark).is_some())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Span;

    /// needs.md N98: a mark of progress starts the no-progress clock again, but not the total.
    #[test]
    fn progress_moves_one_clock_and_not_the_other() {
        let minute = |n| Moment::default() + Span::minutes(n);
        let mut dam = Dam::default();
        assert_eq!(dam.second_stage(), None);
        let _ = dam.mark(Mark::Straining, minute(0));
        assert_eq!(dam.second_stage(), Some((minute(0), minute(0))));
        let _ = dam.mark(Mark::Feet, minute(24));
        assert_eq!(dam.second_stage(), Some((minute(0), minute(24))));
        let _ = dam.mark(Mark::OneFoot, minute(30));
        assert_eq!(dam.second_stage(), Some((minute(0), minute(24))), "that is no progress");
        assert!(dam.is_in_trouble());
        let _ = dam.mark(Mark::Calf, minute(40));
        assert_eq!(dam.second_stage(), None);
    }
}
