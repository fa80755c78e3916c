//! A move of a device that is told late: what it told since then goes to the dam that wore it.
//!
//! Counts and amounts go. A stage that came of them stays, for it cannot be told apart from what a person
//! or another device said; whoever moved the device is told so, and may answer "false".

use std::fmt::Display;

use super::Watch;
use super::out::Out;
use super::ready::Ready;
use crate::herd::misfiled::Misfiled;
use crate::herd::stage::Stage;
use crate::plain::english;
use crate::plain::moment::Moment;
use crate::sensor::ledger::Worn;
use crate::talk::speech::Speech;

/// A device was on another dam, or on nobody, than was thought.
pub(super) struct Refiled {
    pub(super) device: u32,
    /// On whom it was thought to be from then on, and until when.
    pub(super) was: Worn,
    pub(super) is: Option<u32>,
    pub(super) from: Moment,
}

impl Watch {
    /// Moves what a device told since then; what is left to say to whoever moved it.
    pub(super) fn refile(
        &mut self,
        refiled: &Refiled,
        speech: &Speech<'_>,
        ready: &Ready,
        out: &mut Out,
    ) -> Option<String> {
        let Refiled { device, was, is, from } = *refiled;
        if Some(was.dam) == is {
            return None;
        }
        let then = |at: Moment| at >= from && was.until.is_none_or(|until| at < until);
        let misfiled: Misfiled = self.state.dams.at_mut(was.dam).gives_up(device, then);
        let readings = misfiled.readings();
        if let Some(is) = is {
            let keep = (ready.book.keep, &ready.book.series);
            self.state.dams.at_mut(is).takes_over(device, misfiled, keep);
        }
        let zone = &ready.config.farm.zone;
        let animal = |dam: u32| self.state.dams.at(dam).0.as_str();
        if readings > 0 {
            let many = english::many(readings, "reading", "readings");
            let since = zone.clock(from);
            let now = match is {
                Some(is) => format!("now counted for {}", animal(is)),
                None => "now counted for nobody".to_owned(),
            };
            out.note(format!(
                "{many} since {since}, counted for {} so far: {now}",
                animal(was.dam)
            ));
        }
        let dam = self.state.dams.at(was.dam).1;
        let entered = dam.entered(dam.stage).filter(|at| then(*at))?;
        if dam.stage == Stage::Closed {
            return None;
        }
        let (name, old) = (self.state.devices.at(device).0, animal(was.dam));
        let at = zone.clock(entered);
        out.note(format!("{old} stays in {}, since {at}", dam.stage.phrase()));
        let filled: [(&str, &dyn Display); 4] =
            [("animal", &old), ("stage", &speech.stage(dam.stage)), ("at", &at), ("device", name)];
        Some(speech.say(speech.answers.stage_stays, &filled))
    }
}
