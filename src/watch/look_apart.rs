//! Nobody is called to a dam again soon after somebody has looked at her: whoever is disturbed too often stops
//! calving (needs.md N100). What cannot wait is not held back.
//!
//! It keeps no timer: the wait is computed from the last look each time. After the birth it says nothing.

use super::Watch;
use super::key::Key;
use super::ready::Ready;
use crate::config::rules::{Harm, Onset, Rule};
use crate::herd::stage::Stage;
use crate::plain::ids::RuleName;
use crate::plain::moment::Moment;
use crate::rules::verdict::{Figures, Verdict};

impl Watch {
    /// Puts off what would only send somebody to look at her again.
    pub(super) fn wait_since_look(
        &self,
        key: &Key,
        verdicts: &mut [(RuleName, Verdict)],
        ready: &Ready,
    ) {
        let Key::Dam(place) = key else { return };
        let Some(look) = self.state.looks.get(place) else { return };
        let until = look.at + ready.config.farm.look_apart;
        let early = match self.state.dams.at(*place).1.stage {
            Stage::Carrying | Stage::First | Stage::Second => true,
            Stage::Third | Stage::Recovering | Stage::Closed => false,
        };
        if !early || until <= self.state.now {
            return;
        }
        let subject = key.subject(&self.state);
        for (name, verdict) in verdicts {
            let asks_for_a_look = ready.rule(name).is_some_and(asks_for_a_look);
            let Verdict::Wrong(wrong) = &*verdict else { continue };
            // What that same word has brought up is news, and looks again and again put nothing off for ever.
            let news = brought_up(&wrong.figures).unwrap_or(wrong.since) == look.at;
            let until = until.min(wrong.since + ready.config.farm.look_apart);
            if asks_for_a_look && !news && until > self.state.now && !self.has_begun(name, &subject)
            {
                *verdict = Verdict::FineUntil(until);
            }
        }
    }
}

/// When a clock began that has run out; of several the last.
fn brought_up(figures: &Figures) -> Option<Moment> {
    match figures {
        Figures::Clock { began, .. } => Some(*began),
        Figures::Several(each) => each.iter().filter_map(brought_up).max(),
        Figures::Counted { .. }
        | Figures::Level { .. }
        | Figures::Changed { .. }
        | Figures::Seen { .. }
        | Figures::NotSo { .. }
        | Figures::Due { .. }
        | Figures::Silence { .. }
        | Figures::Ill { .. }
        | Figures::Gateway { .. }
        | Figures::Unwatched { .. }
        | Figures::Alone { .. }
        | Figures::Uncovered { .. }
        | Figures::Drill { .. }
        | Figures::Trouble { .. } => None,
    }
}

/// It calls somebody, and minutes do not matter.
fn asks_for_a_look(rule: &Rule) -> bool {
    let cannot_wait = (rule.harm == Harm::Death && rule.onset == Onset::Immediate) || rule.loud;
    rule.tell.is_some() && !cannot_wait
}
