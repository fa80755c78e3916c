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

/// What ends a state that a mark begins; empty for what happens once. The newest word of either kind decides.
pub(super) const fn ended_by(mark: Mark) -> &'static [Mark] {
    match mark {
        // How she lay in labour is no downer.
        Mark::Down => &[Mark::Risen, Mark::Calf],
        Mark::OffFeed => &[Mark::Eating],
        // The vet, or what the vet gave, decides what becomes of these.
        Mark::Wobbly => &[Mark::Vet, Mark::Treated, Mark::Risen, Mark::Eating],
        Mark::Prolapse => &[Mark::Vet],
        Mark::Discharge | Mark::Temperature => &[Mark::Vet, Mark::Treated],
        Mark::TailRaised
        | Mark::Restless
        | Mark::BaggedUp
        | Mark::Slack
        | Mark::Straining
        | Mark::WaterBag
        | Mark::Feet
        | Mark::Nose
        | Mark::Progress
        | Mark::Backward
        | Mark::OneFoot
        | Mark::TailOnly
        | Mark::Stained
        | Mark::Bleeding
        | Mark::Tongue
        | Mark::Aborted
        | Mark::Calf
        | Mark::SecondCalf
        | Mark::AllBorn
        | Mark::Breathing
        | Mark::Sternal
        | Mark::Trying
        | Mark::Up
        | Mark::Sucked
        | Mark::Colostrum
        | Mark::Navel
        | Mark::CalfTemperature
        | Mark::Weight
        | Mark::Sex
        | Mark::Vigour
        | Mark::Tagged
        | Mark::NeedsMother
        | Mark::Fostered
        | Mark::CalfDead
        | Mark::Placenta
        | Mark::Risen
        | Mark::Eating
        | Mark::Treated
        | Mark::Helped
        | Mark::Vet
        | Mark::HasMilk
        | Mark::DamDead
        | Mark::Collected
        | Mark::Registered
        | Mark::Seen
        | Mark::FalseAlarm => &[],
    }
}

impl Mark {
    /// Whether what it begins may end and begin again: of her and of what ends it the newest word decides.
    pub const fn may_come_again(self) -> bool {
        !ended_by(self).is_empty()
    }
}
