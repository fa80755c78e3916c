//! Several devices on one dam: each is asked for itself, those not heard are left out, and whoever
//! says otherwise is named. Nothing is averaged.

use std::sync::Arc;

use super::answer::{Answer, Says, soonest};
use super::verdict::{Figures, Voices};
use crate::config::rules::Devices;
use crate::herd::window::Edges;
use crate::plain::ids::DeviceId;
use crate::plain::moment::Moment;

/// How a device stands at the moment of asking.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Standing {
    /// She wears it.
    pub on: bool,
    /// It is heard as often as it should be.
    pub heard: bool,
    /// When either may change though nothing more is heard.
    pub until: Option<Moment>,
}

/// What the rules must know of the devices on the dam that they are asked about.
pub trait Wearing {
    /// By its place in the watch's roster.
    fn standing(&self, device: u32) -> Standing;
    fn id(&self, device: u32) -> DeviceId;
    /// The edges of the window in which the herd file says that she may calve, if it says so.
    fn window(&self) -> Option<Edges> {
        None
    }
    /// What the herd file says she is kept for, "dairy" or "beef"; empty where it does not say.
    fn purpose(&self) -> &str {
        ""
    }
    /// Which day of her carrying a moment falls on: a range where the day of service is one.
    fn day(&self, _at: Moment) -> Option<(i64, i64)> {
        None
    }
}

/// A dam who wears no sensor.
pub struct Nothing;

impl Wearing for Nothing {
    fn standing(&self, _device: u32) -> Standing {
        Standing { on: false, heard: false, until: None }
    }

    fn id(&self, device: u32) -> DeviceId {
        DeviceId::new(&device.to_string())
    }
}

/// What one device answers.
pub(super) struct Voice {
    pub(super) device: u32,
    pub(super) kind: Arc<str>,
    pub(super) answer: Answer,
}

/// Which devices must say so, and whether it matters when one of them falls silent.
#[derive(Clone, Copy)]
pub(super) struct Asked<'a> {
    pub(super) devices: &'a Devices,
    pub(super) lives: bool,
    pub(super) wearing: &'a dyn Wearing,
}

/// What they answer together.
pub(super) fn together(voices: Vec<Voice>, asked: Asked<'_>) -> Answer {
    let mut names = Voices::default();
    let mut until = None;
    let mut heard = Vec::with_capacity(voices.len());
    for voice in voices {
        let standing = asked.wearing.standing(voice.device);
        let changes = standing.until.filter(|_| asked.lives);
        until = soonest([until, voice.answer.until, changes].into_iter());
        let id = asked.wearing.id(voice.device);
        let counts = standing.on && standing.heard && voice.answer.says != Says::Unknown;
        let has_happened = *asked.devices == Devices::Any && voice.answer.is_yes();
        match voice.answer.says {
            // What a device told before it fell silent, or came off, was so all the same.
            Says::Yes(..) if counts || has_happened => names.says(id, &voice.kind),
            Says::No(_) if counts => names.deny.push(id),
            Says::Yes(..) | Says::No(_) | Says::Unknown if standing.on => names.unheard.push(id),
            Says::Yes(..) | Says::No(_) | Says::Unknown => {}
        }
        if counts || has_happened {
            heard.push(voice);
        }
    }
    let says = match asked.devices {
        Devices::Any => any(heard),
        Devices::All => all(heard),
        Devices::Weighted { weights, enough } => weighted(heard, weights, *enough),
    };
    let says = match says {
        Says::Yes(since, figures) => Says::Yes(since, figures.told_by(names)),
        other @ (Says::No(_) | Says::Unknown) => other,
    };
    Answer { says, until }
}

/// One is enough: the first that said so.
fn any(heard: Vec<Voice>) -> Says {
    let mut first: Option<(Moment, Figures)> = None;
    let mut denied = None;
    for voice in heard {
        match voice.answer.says {
            Says::Yes(since, figures) => {
                if first.as_ref().is_none_or(|(before, _)| since < *before) {
                    first = Some((since, figures));
                }
            }
            Says::No(since) => denied = denied.max(Some(since)),
            Says::Unknown => {}
        }
    }
    match (first, denied) {
        (Some((since, figures)), _) => Says::Yes(since, figures),
        (None, Some(since)) => Says::No(since),
        (None, None) => Says::Unknown,
    }
}

/// All that are heard; if that is one, it decides.
fn all(heard: Vec<Voice>) -> Says {
    let mut last: Option<(Moment, Figures)> = None;
    for voice in heard {
        match voice.answer.says {
            Says::Yes(since, figures) => {
                if last.as_ref().is_none_or(|(latest, _)| since > *latest) {
                    last = Some((since, figures));
                }
            }
            Says::No(since) => return Says::No(since),
            Says::Unknown => {}
        }
    }
    last.map_or(Says::Unknown, |(since, figures)| Says::Yes(since, figures))
}

/// The weights of those that say so come to enough. Where all that are heard weigh less than that
/// together, all of them must say so: a silent device must not make a rule deaf.
fn weighted(heard: Vec<Voice>, weights: &[(String, u64)], enough: u64) -> Says {
    let weigh = |voice: &Voice| {
        let weight = weights.iter().find(|(kind, _)| **kind == *voice.kind);
        weight.map_or(0, |(_, weight)| *weight)
    };
    let most: u64 = heard.iter().map(weigh).sum();
    if most == 0 {
        return Says::Unknown;
    }
    let mut yes: Vec<(Moment, u64, Figures)> = Vec::new();
    let mut denied = None;
    for voice in heard {
        let weight = weigh(&voice);
        match voice.answer.says {
            Says::Yes(since, figures) => yes.push((since, weight, figures)),
            Says::No(since) => denied = denied.max(since),
            Says::Unknown => {}
        }
    }
    yes.sort_by_key(|(since, _, _)| *since);
    let mut sum = 0;
    for (since, weight, figures) in yes {
        sum += weight;
        if sum >= enough.min(most) {
            return Says::Yes(since, figures);
        }
    }
    Says::No(denied)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Span;

    /// Device 9 has come off, 5 and above are not heard.
    struct Herself;

    impl Wearing for Herself {
        fn standing(&self, device: u32) -> Standing {
            Standing { on: device != 9, heard: device < 5, until: None }
        }

        fn id(&self, device: u32) -> DeviceId {
            DeviceId::new(&format!("t-{device}"))
        }
    }

    fn yes(device: u32, kind: &str) -> Voice {
        let at = Moment::default() + Span::minutes(i64::from(device));
        let figures = Figures::Counted {
            sign: "contraction".into(),
            n: 8,
            over: Span::hours(1),
            limit: 8,
            voices: Voices::default(),
        };
        Voice { device, kind: kind.into(), answer: Answer::yes(at, figures, None) }
    }

    fn no(device: u32, kind: &str) -> Voice {
        Voice { device, kind: kind.into(), answer: Answer::no(None, None) }
    }

    /// What they say together, and in whose names.
    fn asked(voices: Vec<Voice>, devices: &Devices) -> String {
        let asked = Asked { devices, lives: true, wearing: &Herself };
        let names = |ids: &[DeviceId]| {
            ids.iter().map(|id| id.as_str().trim_start_matches("t-")).collect::<String>()
        };
        match together(voices, asked).says {
            Says::Yes(_, Figures::Counted { voices, .. }) => format!(
                "yes {}/{}/{}",
                names(&voices.say),
                names(&voices.deny),
                names(&voices.unheard)
            ),
            Says::Yes(..) => "yes".to_owned(),
            Says::No(_) => "no".to_owned(),
            Says::Unknown => "unknown".to_owned(),
        }
    }

    /// needs.md N51: one dead and one positive comes true; two that disagree are both named.
    #[test]
    fn the_dead_one_is_left_out_and_the_one_that_disagrees_is_named() {
        let both = || vec![yes(1, "tail"), no(2, "collar")];
        assert_eq!(asked(both(), &Devices::Any), "yes 1/2/");
        assert_eq!(asked(both(), &Devices::All), "no");
        assert_eq!(asked(vec![yes(1, "tail"), no(7, "collar")], &Devices::All), "yes 1//7");
        assert_eq!(asked(vec![no(1, "tail"), yes(7, "collar")], &Devices::All), "no");
        assert_eq!(asked(vec![yes(6, "tail"), no(7, "collar")], &Devices::All), "unknown");
    }

    #[test]
    fn what_was_counted_before_a_device_fell_silent_has_happened() {
        assert_eq!(asked(vec![yes(7, "tail")], &Devices::Any), "yes 7//");
        assert_eq!(asked(vec![yes(9, "tail"), no(1, "tail")], &Devices::Any), "yes 9/1/");
        assert_eq!(asked(vec![no(7, "tail")], &Devices::Any), "unknown");
        assert_eq!(asked(Vec::new(), &Devices::Any), "unknown");
    }

    #[test]
    fn weights_are_added_and_a_silent_device_makes_no_rule_deaf() {
        let weights = vec![("tail".to_owned(), 2), ("collar".to_owned(), 1)];
        let two = Devices::Weighted { weights, enough: 2 };
        assert_eq!(asked(vec![yes(1, "tail"), no(2, "collar")], &two), "yes 1/2/");
        assert_eq!(asked(vec![no(1, "tail"), yes(2, "collar")], &two), "no");
        assert_eq!(asked(vec![no(7, "tail"), yes(2, "collar")], &two), "yes 2//7");
        assert_eq!(asked(vec![yes(1, "camera")], &two), "unknown", "it weighs nothing");
    }
}
