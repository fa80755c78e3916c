//! Several devices on one dam: each is asked for itself, those not heard are left out, and whoever
//! says otherwise is named. Nothing is averaged.

use std::sync::Arc;

use super::answer::{Answer, Says, soonest};
use super::verdict::{Figures, Voices};
use crate::config::rules::Devices;
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
