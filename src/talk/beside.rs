//! Which small words may stand beside a mark without making it doubtful.

use super::words::{self, Words};
use crate::herd::sign::Mark;

/// May these small words stand beside the mark? Beside what begins, all may; beside what is over,
/// none that could mean that it is still going on; beside the vet, none, as "see vet" is a wish.
pub(super) fn may_stand_beside(mark: Mark, fillers: &[String], words: &Words) -> bool {
    let beside = |allowed: &[&str]| {
        fillers.iter().all(|word| allowed.iter().any(|list| words::has(list, word)))
    };
    match mark {
        Mark::TailRaised
        | Mark::Restless
        | Mark::WaterBag
        | Mark::Feet
        | Mark::Nose
        | Mark::Progress
        | Mark::BaggedUp
        | Mark::Slack
        | Mark::Straining
        | Mark::Backward
        | Mark::OneFoot
        | Mark::TailOnly
        | Mark::Stained
        | Mark::Bleeding
        | Mark::Tongue
        | Mark::Breathing
        | Mark::Discharge
        | Mark::Down
        | Mark::OffFeed
        | Mark::Wobbly
        | Mark::Prolapse
        | Mark::HasMilk
        | Mark::NeedsMother => true,
        Mark::Calf | Mark::SecondCalf | Mark::AllBorn | Mark::Placenta => {
            beside(&[words.finished_filler, words.out])
        }
        Mark::Treated
        | Mark::Helped
        | Mark::Navel
        | Mark::Tagged
        | Mark::Fostered
        | Mark::Collected
        | Mark::Registered => beside(&[words.finished_filler, words.done_filler]),
        Mark::Up
        | Mark::Sternal
        | Mark::Trying
        | Mark::Sucked
        | Mark::Colostrum
        | Mark::CalfTemperature
        | Mark::Weight
        | Mark::Sex
        | Mark::Vigour
        | Mark::Risen
        | Mark::Eating
        | Mark::Aborted
        | Mark::Temperature
        | Mark::CalfDead
        | Mark::DamDead
        | Mark::Seen
        | Mark::FalseAlarm => beside(&[words.finished_filler]),
        Mark::Vet => fillers.is_empty(),
    }
}
