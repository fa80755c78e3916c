//! How things stand in the yard, for a light or a siren on the farm's own broker.
//!
//! It is computed from the open alerts each time and never remembered: it cannot disagree with them.

use super::state::State;
use crate::alarm::alert::Alert;
use crate::config::lines::{Siren, Stands};
use crate::rules::priority::Priority;
use crate::rules::verdict::Subject;

/// The worst of what is open.
pub fn stands(state: &State) -> Stands {
    state.watchman.open.values().map(of).max().unwrap_or(Stands::Quiet)
}

fn of(alert: &Alert) -> Stands {
    let answered = alert.holder().is_some();
    match &alert.subject {
        // Until they are out: that somebody has answered does not mean that they were found.
        Subject::Person(_) => Stands::Person,
        Subject::Dam(_) => match alert.priority {
            Priority::High if !answered => Stands::Now,
            Priority::High | Priority::Medium => Stands::Near,
            Priority::Low => Stands::Quiet,
        },
        Subject::Herd => Stands::Near,
        Subject::Device(_) | Subject::Line(_) | Subject::Gateway(_) => Stands::Ill,
        Subject::Rota | Subject::Drill => Stands::Quiet,
    }
}

/// What a siren is told of that.
pub fn says(siren: &Siren, stands: Stands) -> &str {
    let at = Stands::ALL.iter().position(|one| *one == stands).unwrap_or(0);
    &siren.say[at]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_open_is_quiet_and_each_has_its_word() {
        assert_eq!(stands(&State::default()), Stands::Quiet);
        let siren = Siren {
            topic: "yard/siren/set".to_owned(),
            say: ["0", "1", "2", "3", "4"].map(str::to_owned),
        };
        let said: Vec<&str> = Stands::ALL.map(|stands| says(&siren, stands)).to_vec();
        assert_eq!(said, ["0", "1", "2", "3", "4"]);
        assert!(Stands::Person > Stands::Now && Stands::Now > Stands::Near);
    }
}
