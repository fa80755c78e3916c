//! Ways to break a season on purpose, so as to show that the checks see it. Only tests ask for one.

use crate::alarm::message::MessageKind;
use crate::herd::stage::Stage;
use crate::plain::ids::MessageNo;
use crate::watch::Step;
use crate::watch::effect::{Effect, StageChange};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sabotage {
    /// Calls are made and never leave.
    CallsVanish,
    /// Time passes and nobody wakes the watch.
    NobodyWakes,
    /// What people answer never gets in.
    AnswersLost,
    /// Every other message of a sensor never gets in.
    PacketsLost,
    /// The step says that nothing is due.
    DeadlinesForgotten,
    /// A call leaves twice under one number.
    NumberGivenTwice,
    /// A person is called twice on one round.
    CalledTwice,
    /// Everybody is called although somebody has answered.
    HolderDisturbed,
    /// A dam goes back a stage.
    StageBackward,
    /// After a restart, what came last is forgotten.
    RestartForgets,
    /// When everything is well again, nobody looks at their telephone.
    PeopleGone,
}

impl Sabotage {
    pub const ALL: [Self; 11] = [
        Self::CallsVanish,
        Self::NobodyWakes,
        Self::AnswersLost,
        Self::PacketsLost,
        Self::DeadlinesForgotten,
        Self::NumberGivenTwice,
        Self::CalledTwice,
        Self::HolderDisturbed,
        Self::StageBackward,
        Self::RestartForgets,
        Self::PeopleGone,
    ];

    /// Breaks what comes out of a step.
    pub(super) fn on(self, step: &mut Step) {
        match self {
            Self::CallsVanish => step.effects.retain(|effect| call_of(effect).is_none()),
            Self::DeadlinesForgotten => step.wake = None,
            Self::NumberGivenTwice => {
                let again = step.effects.iter().find(|effect| call_of(effect).is_some()).cloned();
                step.effects.extend(again);
            }
            Self::CalledTwice => {
                let again = step.effects.iter().find_map(renumbered);
                step.effects.extend(again);
            }
            Self::HolderDisturbed => {
                let answered = step.effects.iter().position(|effect| {
                    matches!(effect, Effect::Publish(notice) if notice.kind == "alert.answered")
                });
                if let Some(Effect::Send(taken)) = answered.and_then(|at| {
                    step.effects[at..]
                        .iter()
                        .find(|effect| matches!(effect, Effect::Send(_)))
                        .cloned()
                }) && taken.kind == MessageKind::Taken
                {
                    let mut call = taken;
                    call.kind = MessageKind::Alert;
                    step.effects.extend(renumbered(&Effect::Send(call)));
                }
            }
            Self::StageBackward => {
                let back = step.effects.iter().find_map(|effect| match effect {
                    Effect::Changed(change) if change.to > Stage::First => {
                        Some(StageChange { from: change.to, to: Stage::First, ..change.clone() })
                    }
                    Effect::Changed(_)
                    | Effect::Send(_)
                    | Effect::Publish(_)
                    | Effect::Again(_)
                    | Effect::Withdraw(_)
                    | Effect::Refused(_)
                    | Effect::Noted(_)
                    | Effect::Said(_) => None,
                });
                step.effects.extend(back.map(Effect::Changed));
            }
            Self::NobodyWakes
            | Self::AnswersLost
            | Self::PacketsLost
            | Self::RestartForgets
            | Self::PeopleGone => {}
        }
    }
}

fn call_of(effect: &Effect) -> Option<MessageNo> {
    match effect {
        Effect::Send(message) if message.kind == MessageKind::Alert => Some(message.no),
        Effect::Send(_)
        | Effect::Changed(_)
        | Effect::Publish(_)
        | Effect::Again(_)
        | Effect::Withdraw(_)
        | Effect::Refused(_)
        | Effect::Noted(_)
        | Effect::Said(_) => None,
    }
}

/// The same call under a number that nobody has.
fn renumbered(effect: &Effect) -> Option<Effect> {
    let Effect::Send(message) = effect else {
        return None;
    };
    if message.kind != MessageKind::Alert {
        return None;
    }
    let mut message = message.clone();
    message.no = MessageNo(message.no.0 + 1_000_000);
    message.id.push_str("000000");
    Some(Effect::Send(message))
}
