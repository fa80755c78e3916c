//! Putting off: somebody has seen it and wants to be called again later. It always ends, and the more urgent the
//! matter the sooner; what could cost a life within minutes is hardly put off at all.

use super::alert::Standing;
use super::moves::Move;
use super::watchman::Watchman;
use crate::config::Config;
use crate::plain::ids::{AlertNo, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::rules::priority::Priority;

/// A rest of five to ten minutes is normal in second stage, fifteen to twenty are not (facts.md S2-15): nobody
/// is called to what is urgent later than that.
const URGENT: Span = Span::minutes(10);
/// From one round of the yard to the next but one (common practice, no source).
const MIDDLING: Span = Span::hours(2);
/// Told a day later, what can wait has not been forgotten.
const CAN_WAIT: Span = Span::hours(24);

/// What came of putting off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PutOff {
    Until(Moment),
    /// Longer than this it may not be.
    AtMost(Span),
    /// Somebody else has it and is on the way.
    Taken,
    /// It is not open.
    Over,
}

/// How long an alert of a priority may be put off (standards.md MD-15, AL-25: bounded by the organisation, and
/// disclosed).
pub const fn most(priority: Priority) -> Span {
    match priority {
        Priority::High => URGENT,
        Priority::Medium => MIDDLING,
        Priority::Low => CAN_WAIT,
    }
}

impl Watchman {
    /// Puts an alert off. Without a span it is until the next list, or as long as it may be.
    pub fn later(
        &mut self,
        config: &Config,
        no: AlertNo,
        who: &PersonName,
        now: Moment,
        span: Option<Span>,
    ) -> (PutOff, Vec<Move>) {
        let Some(alert) = self.open.get_mut(&no) else { return (PutOff::Over, Vec::new()) };
        if alert.standing.held_by_another(who, now).is_some() {
            return (PutOff::Taken, Vec::new());
        }
        let most = most(alert.priority);
        let until = match span {
            Some(span) => now + span,
            None => config.calls.next_list(&config.farm.zone, now).min(now + most),
        };
        if until > now + most {
            return (PutOff::AtMost(most), Vec::new());
        }
        alert.answered.get_or_insert_with(|| (who.clone(), now));
        alert.standing = Standing::Later { by: who.clone(), until };
        let clock = config.farm.zone.clock_by(until, now);
        let mut moves = vec![
            Move::Note(format!("{who} puts alert {no} off until {clock}")),
            Move::Notice(no, "alert.later"),
        ];
        let calls = self.sent.calls_of(no, Some(who));
        moves.extend(calls.into_iter().map(Move::Withdraw));
        (PutOff::Until(until), moves)
    }
}
