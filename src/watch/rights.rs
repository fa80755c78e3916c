//! Holds words against what their writer's part may do, before anything comes of them.

use super::Watch;
use super::about::About;
use super::answers::Speaker;
use super::ready::Ready;
use crate::alarm::ladder;
use crate::config::rights::Deed;
use crate::herd::sign::Mark;
use crate::rules::priority::Priority;
use crate::talk::inside::Whereabouts;
use crate::talk::refusal;
use crate::talk::reply::Saying;
use crate::talk::speech::Speech;

impl Watch {
    /// Why this may not be said by its writer, in their words and for the diary; `None` if it may.
    pub(super) fn forbids(
        &self,
        speaker: &Speaker<'_>,
        deed: Deed,
        ready: &Ready,
    ) -> Option<(String, String)> {
        let part = ladder::find(&ready.config, &speaker.who)?.part;
        if part.may(deed) {
            return None;
        }
        let (own, english) =
            (Speech::to(&ready.config, &speaker.who), Speech::english(&ready.config));
        Some((refusal::words(part, deed, &own), refusal::words(part, deed, &english)))
    }

    /// What a saying comes to; `None` for what only asks.
    pub(super) fn deed_of(&self, speaker: &Speaker<'_>, saying: &Saying) -> Option<Deed> {
        Some(match saying {
            Saying::Going { .. } | Saying::Pass | Saying::GiveTo(_) | Saying::TakeOver => {
                Deed::Answer
            }
            Saying::PutOff { .. } if self.is_urgent(&speaker.about) => Deed::PutOffUrgent,
            Saying::PutOff { .. } => Deed::PutOff,
            Saying::Mark(said) if said.animal.is_none() && self.is_about_drill(speaker) => {
                Deed::Answer
            }
            Saying::Mark(said) if said.mark == Mark::FalseAlarm => Deed::CallFalse,
            Saying::Mark(_) => Deed::Mark,
            Saying::Fitting(_) => Deed::Device,
            Saying::Is(Whereabouts::Help { .. }) => Deed::Help,
            Saying::Is(Whereabouts::In { .. } | Whereabouts::Out { .. }) => Deed::Whereabouts,
            Saying::Rota(_) => Deed::Rota,
            Saying::VetCard(_) => Deed::VetCard,
            Saying::Ask(_) => return None,
        })
    }

    fn is_urgent(&self, about: &About) -> bool {
        let nos = match about {
            About::Open(no) => std::slice::from_ref(no),
            About::Several(nos) => nos.as_slice(),
            About::Over(_) | About::Unclear => &[],
        };
        let open = &self.state.watchman.open;
        let mut alerts = nos.iter().filter_map(|no| open.get(no));
        alerts.any(|alert| alert.priority == Priority::High)
    }
}
