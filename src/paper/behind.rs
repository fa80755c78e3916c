//! What stands behind an alert: on whose word it rests, how far its count went, and what came of it by the calf or by
//! somebody's look (needs.md N53, N86).
//!
//! It only notes. What follows from it for a rule is the affair of `proposal`.

use std::collections::{BTreeMap, BTreeSet};

use crate::alarm::alert::Alert;
use crate::config::rules::{Condition, Devices};
use crate::herd::dam::Dam;
use crate::herd::tally::Tally;
use crate::plain::ids::{Animal, DeviceId};
use crate::plain::moment::{Moment, Span};
use crate::rules::verdict::{Figures, Subject};
use crate::watch::Watch;
use crate::watch::ready::Ready;

/// A calf within so long of an alert about its dam proves the alert right, whatever was said of it (common practice, no
/// source: as far ahead as the visible signs of a birth go).
pub const CALVED_WITHIN: Span = Span::hours(24);

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Behind {
    /// The devices whose word it rests on.
    pub says: BTreeSet<DeviceId>,
    /// How far its count went, where it is about one.
    pub counted: Option<Counted>,
    /// When she calved after it.
    pub calved: Option<Moment>,
    on: Option<Animal>,
}

impl Behind {
    pub(super) fn new(alert: &Alert, ready: Option<&Ready>) -> Self {
        let rule = ready.and_then(|ready| ready.rule(&alert.rule));
        let on = alert.subject.dam().cloned();
        let counted = rule.and_then(|rule| Counted::of(&rule.condition));
        Self { on, counted, ..Self::default() }
    }

    /// It is open: what is said of it now.
    pub(super) fn is_open(&mut self, alert: &Alert, watch: &Watch, now: Moment) {
        said_by(&alert.figures, &mut self.says);
        if let Subject::Device(device) = &alert.subject {
            self.says.insert(device.clone());
        }
        if let (Some(counted), Some(dam)) = (&mut self.counted, dam(self.on.as_ref(), watch)) {
            counted.looks(dam, now);
        }
    }

    /// It was called false, which struck through what had been counted: had nobody been called, that would have counted
    /// on. Says whether to go on following.
    pub(super) fn goes_on(&mut self, ended: Moment, watch: &Watch, now: Moment) -> bool {
        let (Some(counted), Some(dam)) = (&mut self.counted, dam(self.on.as_ref(), watch)) else {
            return false;
        };
        counted.looks_after(dam, now);
        now.since(ended) < counted.over
    }

    /// Whether she has calved since it was raised; says whether to go on asking.
    pub(super) fn asks_for_a_calf(&mut self, raised: Moment, watch: &Watch, now: Moment) -> bool {
        let Some(dam) = dam(self.on.as_ref(), watch) else { return false };
        let born = dam.calves().iter().map(|calf| calf.born.at);
        let in_time = |at: &Moment| *at >= raised && at.since(raised) <= CALVED_WITHIN;
        self.calved = born.filter(in_time).min();
        now.since(raised) <= CALVED_WITHIN
    }
}

fn dam<'w>(on: Option<&Animal>, watch: &'w Watch) -> Option<&'w Dam> {
    watch.state().dams.get(on?.as_str())
}

fn said_by(figures: &Figures, says: &mut BTreeSet<DeviceId>) {
    match figures {
        Figures::Counted { voices, .. }
        | Figures::Level { voices, .. }
        | Figures::Changed { voices, .. }
        | Figures::Seen { voices, .. } => says.extend(voices.say.iter().cloned()),
        Figures::Several(each) => each.iter().for_each(|one| said_by(one, says)),
        Figures::Clock { .. }
        | Figures::Due { .. }
        | Figures::NotSo { .. }
        | Figures::Silence { .. }
        | Figures::Ill { .. }
        | Figures::Trouble { .. }
        | Figures::Gateway { .. }
        | Figures::Unwatched { .. }
        | Figures::Alone { .. }
        | Figures::Drill { .. }
        | Figures::Uncovered { .. } => {}
    }
}

/// A count that rose to its limit, and when it first reached each number from then on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Counted {
    pub sign: String,
    pub over: Span,
    reached: BTreeMap<u64, Moment>,
    /// What each device had counted when it was last looked at.
    kept: BTreeMap<u32, Tally>,
}

impl Counted {
    /// Only one count alone, of whichever device: of several conditions together nobody can say what one of them
    /// would have changed.
    fn of(condition: &Condition) -> Option<Self> {
        let Condition::Count { sign, over, devices: Devices::Any, .. } = condition else {
            return None;
        };
        Some(Self {
            sign: sign.clone(),
            over: *over,
            reached: BTreeMap::new(),
            kept: BTreeMap::new(),
        })
    }

    /// When the count came to so many; `None` if it never did.
    pub fn reached(&self, so_many: u64) -> Option<Moment> {
        self.reached.range(so_many..).next().map(|(_, at)| *at)
    }

    /// The most it came to.
    pub fn most(&self) -> u64 {
        self.reached.keys().next_back().copied().unwrap_or(0)
    }

    fn comes_to(&mut self, so_many: u64, now: Moment) {
        if so_many > self.most() {
            self.reached.insert(so_many, now);
        }
    }

    fn looks(&mut self, dam: &Dam, now: Moment) {
        for told in dam.tallies(&self.sign).into_iter().flat_map(|told| told.iter()) {
            let so_many = told.what.within(now, self.over);
            let known = self.kept.get(&told.device);
            if known.is_none_or(|known| known.within(now, self.over) != so_many) {
                self.kept.insert(told.device, told.what.clone());
            }
            self.comes_to(so_many, now);
        }
    }

    fn looks_after(&mut self, dam: &Dam, now: Moment) {
        let mut by_device: BTreeMap<u32, u64> = BTreeMap::new();
        for (device, kept) in &self.kept {
            by_device.insert(*device, kept.within(now, self.over));
        }
        for told in dam.tallies(&self.sign).into_iter().flat_map(|told| told.iter()) {
            *by_device.entry(told.device).or_default() += told.what.within(now, self.over);
        }
        if let Some(so_many) = by_device.into_values().max() {
            self.comes_to(so_many, now);
        }
    }
}

#[cfg(test)]
impl Behind {
    /// One whose count came to these numbers at these moments.
    pub(super) fn that_reached(over: Span, reached: &[(u64, Moment)]) -> Self {
        let counted = Counted {
            sign: "contraction".to_owned(),
            over,
            reached: reached.iter().copied().collect(),
            kept: BTreeMap::new(),
        };
        Self { counted: Some(counted), ..Self::default() }
    }
}
