//! What every call about a dam says of her birth: the two clocks of second stage, and whether to move her.
//!
//! It says nothing of what to do about her; that is the rule's.

use super::phrases::{Phrases, say};
use super::reader::Reader;
use crate::alarm::alert::Alert;
use crate::config::farm::Moving;
use crate::herd::dam::Dam;
use crate::herd::stage::Stage;
use crate::plain::moment::{Moment, Span};
use crate::rules::verdict::Figures;

/// A dam in second stage for longer is past moving for the pen's sake: by then a cow is to be helped (facts.md
/// S2-03: after 30 min).
const MOVED_WITHIN: Span = Span::minutes(30);

/// How her birth stands when a message is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Birth {
    stage: Stage,
    /// Since when second stage goes on, and when something new was last seen.
    second: Option<(Moment, Moment)>,
    in_trouble: bool,
}

impl Birth {
    pub fn of(dam: &Dam) -> Self {
        Self { stage: dam.stage, second: dam.second_stage(), in_trouble: dam.is_in_trouble() }
    }

    /// "Second stage 42 min, nothing new for 18 min" (needs.md N98).
    pub fn clocks(&self, now: Moment, said: &Phrases) -> Option<String> {
        let (began, new) = self.second?;
        let (total, new) = (said.span(now.since(began)), said.span(now.since(new)));
        Some(say(said.second_stage, &[("total", &total), ("new", &new)]))
    }

    /// The second of the two alone, for a message whose head says the first.
    pub fn progress(&self, now: Moment, said: &Phrases) -> Option<String> {
        let (_, new) = self.second?;
        Some(say(said.nothing_new, &[("new", &said.span(now.since(new)))]))
    }

    /// Since when second stage goes on.
    pub fn began(&self) -> Option<Moment> {
        self.second.map(|(began, _)| began)
    }

    /// Whether to move her. In first stage never: it halts her (needs.md N109, facts.md X-01). In second stage
    /// as the farm does it, early and while nothing is wrong.
    pub fn moving(&self, farm: Moving, now: Moment, said: &Phrases) -> Option<&'static str> {
        let began = match self.stage {
            Stage::First => return Some(said.stay),
            Stage::Second => self.began()?,
            Stage::Carrying | Stage::Third | Stage::Recovering | Stage::Closed => return None,
        };
        match farm {
            Moving::Never => Some(said.stay),
            Moving::AsYouLike => None,
            Moving::InSecondStage => {
                let early = now.since(began) < MOVED_WITHIN && !self.in_trouble;
                early.then_some(said.pen_her)
            }
        }
    }
}

/// The two clocks of second stage as far as there is room, and not what the head says already.
pub(super) fn clocks(
    alert: &Alert,
    birth: Option<&Birth>,
    room: usize,
    now: Moment,
    reader: &Reader,
) -> String {
    let (Some(birth), said) = (birth, reader.phrases()) else { return String::new() };
    let head_says_total = matches!(
        &alert.figures,
        Figures::Clock { began, .. } if Some(*began) == birth.began()
    );
    let sentence = |words: String| reader.fold(&format!(" {words}."));
    let whole = birth.clocks(now, said).filter(|_| !head_says_total).map(sentence);
    let rest = birth.progress(now, said).map(sentence);
    let fits = |words: &String| words.chars().count() <= room;
    whole.filter(fits).or_else(|| rest.filter(fits)).unwrap_or_default()
}

/// Whether to move her, where the rule's own words do not say it.
pub(super) fn moving(
    farm: Moving,
    action: &str,
    birth: Option<&Birth>,
    now: Moment,
    said: &Phrases,
) -> Option<&'static str> {
    let moving = birth?.moving(farm, now, said)?;
    (!action.to_lowercase().contains(said.says_move)).then_some(moving)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::herd::sign::Mark;
    use crate::talk::phrases::english;

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn after(marks: &[(Mark, i64)]) -> Birth {
        let mut dam = Dam::default();
        for (mark, at) in marks {
            let _ = dam.mark(*mark, minute(*at));
        }
        Birth::of(&dam)
    }

    #[test]
    fn both_clocks_of_second_stage_are_said() {
        let feet = after(&[(Mark::WaterBag, 0), (Mark::Feet, 24)]);
        let words = "Second stage 42 min, nothing new for 18 min";
        assert_eq!(feet.clocks(minute(42), english()).as_deref(), Some(words));
        assert_eq!(after(&[(Mark::Restless, 0)]).clocks(minute(42), english()), None);
        assert_eq!(after(&[(Mark::Feet, 0), (Mark::Calf, 9)]).clocks(minute(42), english()), None);
    }

    /// needs.md N109: stage one says "do not move", stage two says "move now if you pen", by the farm's policy.
    #[test]
    fn whether_to_move_her_follows_her_stage_and_the_farm() {
        let first = after(&[(Mark::Restless, 0)]);
        let second = after(&[(Mark::WaterBag, 0)]);
        let backward = after(&[(Mark::WaterBag, 0), (Mark::Backward, 1)]);
        let born = after(&[(Mark::Calf, 0)]);
        let now = "If you pen her, move her now.";
        for (farm, early) in [
            (Moving::InSecondStage, Some(now)),
            (Moving::Never, Some(english().stay)),
            (Moving::AsYouLike, None),
        ] {
            assert_eq!(first.moving(farm, minute(5), english()), Some(english().stay));
            assert_eq!(second.moving(farm, minute(29), english()), early);
            assert_eq!(born.moving(farm, minute(5), english()), None);
            assert_ne!(
                second.moving(farm, minute(30), english()),
                Some(now),
                "by then she is to be helped"
            );
            assert_ne!(backward.moving(farm, minute(5), english()), Some(now));
        }
    }
}
