//! Who is watched at this moment, by what and until when: devices that live, and people who have looked.
//!
//! Every dam in her window is asked for herself, so that a packet costs no more in a large herd; the herd
//! is asked only when one has lost her last watcher or found one.

use std::collections::BTreeSet;

use super::Watch;
use super::asking::Asked;
use super::key::Key;
use super::ready::Ready;
use super::settle::earlier;
use super::state::Look;
use crate::herd::stage::Stage;
use crate::plain::ids::{Animal, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::rules::verdict::{Figures, Subject, Verdict, Wrong};

/// Animals named in one finding; the herd file says who else there is.
const ANIMALS: usize = 500;

/// What watches a dam.
pub(super) struct Cover {
    pub(super) in_window: bool,
    /// Until when at least one device lives or a look counts; `None` if nothing does.
    pub(super) until: Option<Moment>,
    /// When her window opens or closes, or something goes on or comes off.
    pub(super) changes: Option<Moment>,
}

impl Watch {
    pub(super) fn cover(&self, dam: u32, ready: &Ready, now: Moment) -> Cover {
        let record = self.state.dams.at(dam).1;
        // What only gives pictures tells nobody anything by itself.
        let worn = self.state.ledger.on(dam, now);
        let worn: Vec<u32> = worn.filter(|on| !self.gives_pictures_only(*on, ready)).collect();
        let window = ready.window(dam);
        let in_window = match record.stage {
            Stage::First | Stage::Second | Stage::Third => true,
            Stage::Recovering | Stage::Closed => false,
            Stage::Carrying => match window {
                Some((from, until)) => from <= now && now < until,
                None => !worn.is_empty(),
            },
        };
        let alive = worn.iter().filter_map(|device| self.believed_until(*device, ready));
        let devices = alive.filter(|until| *until > now).max();
        let look = self.look_until(dam, ready).filter(|until| *until > now);
        let edges = window.map(|(from, until)| [from, until]);
        let edge = edges.into_iter().flatten().filter(|at| *at > now).min();
        let changes = earlier(self.state.ledger.dam_changes(dam, now), edge);
        Cover { in_window: in_window && record.listed, until: devices.max(look), changes }
    }

    /// A camera that was never heard, and need not be.
    pub(super) fn gives_pictures_only(&self, device: u32, ready: &Ready) -> bool {
        self.state.devices.at(device).1.heard.is_none() && ready.only_gives_pictures(device)
    }

    /// Until when a person's last look counts for a dam in the stage she is in now.
    pub(super) fn look_until(&self, dam: u32, ready: &Ready) -> Option<Moment> {
        let look = self.state.looks.get(&dam)?;
        Some(look.at + look_every(self.state.dams.at(dam).1.stage, ready)?)
    }

    /// A person has made a mark of a dam, and so has looked at her.
    pub(super) fn looked(&mut self, animal: &Animal, who: &PersonName, at: Moment) {
        let Some(dam) = self.state.dams.find(animal) else { return };
        if self.state.looks.get(&dam).is_none_or(|look| look.at <= at) {
            self.state.looks.insert(dam, Look { at, by: who.clone() });
        }
    }

    /// Is the dam watched? Says when to ask again.
    pub(super) fn ask_cover(&self, dam: u32, ready: &Ready) -> (bool, Option<Moment>) {
        let cover = self.cover(dam, ready, self.state.now);
        let watched = !cover.in_window || cover.until.is_some();
        let lapses = if cover.in_window { cover.until } else { None };
        (watched, earlier(lapses, cover.changes))
    }

    /// Asks a dam and keeps the list of the unwatched; says when to ask again.
    pub(super) fn keep_cover(&mut self, dam: u32, ready: &Ready) -> Option<Moment> {
        let (watched, again) = self.ask_cover(dam, ready);
        let now = self.state.now;
        let news = if watched {
            self.state.unwatched.remove(&dam).is_some()
        } else {
            let new = !self.state.unwatched.contains_key(&dam);
            self.state.unwatched.entry(dam).or_insert(now);
            new
        };
        if news {
            self.deadlines.set(&Key::Herd, Some(now));
        }
        again
    }

    /// Whoever wears this device is to be asked again, if any rule wants to know.
    pub(super) fn cover_again(&mut self, device: u32, ready: &Ready) {
        let now = self.state.now;
        if ready.asks_for_cover()
            && let Some(on) = self.state.ledger.wearing(device, now)
        {
            self.deadlines.set(&Key::Cover(on.dam), Some(now));
        }
    }

    /// An alert was raised or has ended: who is named in it is no news, or is again.
    pub(super) fn herd_again(&mut self, subject: &Subject, ready: &Ready) {
        if !ready.asks_for_cover() || *subject == Subject::Herd {
            return;
        }
        let now = self.state.now;
        self.deadlines.set(&Key::Herd, Some(now));
        if let Subject::Device(device) = subject
            && let Some(place) = self.state.devices.find(device.as_str())
        {
            self.cover_again(place, ready);
        }
    }

    pub(super) fn ask_herd(&self, ready: &Ready) -> Asked {
        // A farm without any sensor has its own rounds.
        if ready.config.sensors.is_empty() {
            return (Vec::new(), None);
        }
        let rules = ready.book.unwatched.iter();
        let asked = rules.map(|rule| (rule.name.clone(), self.unwatched(rule.limit, ready)));
        (asked.collect(), None)
    }

    fn unwatched(&self, limit: Span, ready: &Ready) -> Verdict {
        let now = self.state.now;
        let news = |dam: &u32| !self.is_spoken_of(*dam, ready);
        let news: Vec<(u32, Moment)> = self
            .state
            .unwatched
            .iter()
            .filter(|(dam, _)| news(dam))
            .map(|(dam, since)| (*dam, *since + limit))
            .collect();
        let due: BTreeSet<u32> =
            news.iter().filter(|(_, due)| *due <= now).map(|(dam, _)| *dam).collect();
        let next = news.iter().map(|(_, due)| *due).filter(|due| *due > now).min();
        let since = news.iter().map(|(_, due)| *due).min().filter(|due| *due <= now);
        let Some(since) = since else {
            return next.map_or(Verdict::Fine, Verdict::FineUntil);
        };
        let names = due.into_iter().take(ANIMALS);
        let animals = names.map(|dam| self.state.dams.at(dam).0.clone()).collect();
        Verdict::Wrong(Wrong { since, figures: Figures::Unwatched { animals }, ends: next })
    }

    /// Somebody is called to her, or to what watched her, already.
    fn is_spoken_of(&self, dam: u32, ready: &Ready) -> bool {
        let now = self.state.now;
        let name = self.state.dams.at(dam).0;
        let worn: Vec<u32> = self.state.ledger.on(dam, now).collect();
        let device = |device: &u32| self.state.devices.at(*device).0;
        let open = self.state.watchman.open.values();
        let mut open = open.filter(|alert| match &alert.subject {
            Subject::Dam(animal) => animal == name,
            // A battery that is low brings nobody to her tonight.
            Subject::Device(id) if alert.figures.says_it_is_blind() => {
                worn.iter().any(|place| device(place) == id)
            }
            Subject::Device(_)
            | Subject::Gateway(_)
            | Subject::Line(_)
            | Subject::Person(_)
            | Subject::Rota
            | Subject::Drill
            | Subject::Herd => false,
        });
        let cut_off = |place: &u32| self.is_cut_off(*place, ready);
        open.next().is_some()
            || worn.iter().any(cut_off)
            || (!worn.is_empty() && self.broker_is_down())
    }
}

/// How often somebody must look at a dam in this stage; `None` where nobody must.
pub(super) fn look_every(stage: Stage, ready: &Ready) -> Option<Span> {
    let look = &ready.config.farm.look;
    match stage {
        Stage::Carrying => Some(look.carrying),
        Stage::First => Some(look.first),
        Stage::Second => Some(look.second),
        Stage::Third => Some(look.third),
        Stage::Recovering | Stage::Closed => None,
    }
}

/// Who is in the second list and not in the first.
pub(super) fn grown(old: &Figures, new: &Figures) -> bool {
    match (old, new) {
        (Figures::Unwatched { animals: old }, Figures::Unwatched { animals: new }) => {
            new.iter().any(|animal| !old.contains(animal))
        }
        (
            Figures::Clock { .. }
            | Figures::Changed { .. }
            | Figures::Counted { .. }
            | Figures::Level { .. }
            | Figures::Seen { .. }
            | Figures::NotSo { .. }
            | Figures::Due { .. }
            | Figures::Several(_)
            | Figures::Silence { .. }
            | Figures::Ill { .. }
            | Figures::Trouble { .. }
            | Figures::Gateway { .. }
            | Figures::Alone { .. }
            | Figures::Uncovered { .. }
            | Figures::Drill { .. }
            | Figures::Unwatched { .. },
            _,
        ) => false,
    }
}
