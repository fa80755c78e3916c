//! What a mark proves of a calving, and what falls with a birth that is taken back.

use super::sign::Mark;
use super::stage::Stage;

/// What is said of a birth and falls with it.
pub(super) const AFTER_THE_CALF: [Mark; 19] = [
    Mark::Aborted,
    Mark::Calf,
    Mark::SecondCalf,
    Mark::AllBorn,
    Mark::Breathing,
    Mark::Sternal,
    Mark::Trying,
    Mark::Up,
    Mark::Sucked,
    Mark::Colostrum,
    Mark::Navel,
    Mark::CalfTemperature,
    Mark::Weight,
    Mark::Sex,
    Mark::Vigour,
    Mark::Tagged,
    Mark::NeedsMother,
    Mark::Fostered,
    Mark::CalfDead,
];

/// The stage that a mark proves. "Up" proves none: it may be the dam that stands.
pub(super) const fn reached_by(mark: Mark) -> Option<Stage> {
    match mark {
        Mark::TailRaised | Mark::Restless => Some(Stage::First),
        Mark::Straining
        | Mark::WaterBag
        | Mark::Feet
        | Mark::Nose
        | Mark::Progress
        | Mark::Backward
        | Mark::OneFoot
        | Mark::TailOnly
        | Mark::Stained
        | Mark::Tongue => Some(Stage::Second),
        Mark::Aborted
        | Mark::Calf
        | Mark::SecondCalf
        | Mark::Breathing
        | Mark::Sternal
        | Mark::Trying
        | Mark::Sucked
        | Mark::Colostrum
        | Mark::Navel
        | Mark::CalfTemperature
        | Mark::Weight
        | Mark::Sex
        | Mark::Vigour
        | Mark::Tagged
        | Mark::NeedsMother
        | Mark::Fostered => Some(Stage::Third),
        Mark::Placenta => Some(Stage::Recovering),
        Mark::DamDead => Some(Stage::Closed),
        Mark::BaggedUp
        | Mark::Slack
        | Mark::Bleeding
        | Mark::AllBorn
        | Mark::Up
        | Mark::Temperature
        | Mark::Discharge
        | Mark::Down
        | Mark::Risen
        | Mark::OffFeed
        | Mark::Eating
        | Mark::Wobbly
        | Mark::Prolapse
        | Mark::Treated
        | Mark::Helped
        | Mark::Vet
        | Mark::HasMilk
        | Mark::CalfDead
        | Mark::Collected
        | Mark::Registered
        | Mark::Seen
        | Mark::FalseAlarm => None,
    }
}
