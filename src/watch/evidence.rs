//! A believed reading becomes evidence about the dam that wears the device: counted, measured, and kept
//! only as far as some rule asks for it.

use std::sync::Arc;

use super::Watch;
use super::key::Key;
use super::ready::Ready;
use super::settle::Touched;
use crate::config::sensors::ReadKind;
use crate::herd::by_hand;
use crate::herd::dam_figures::MEASURED_AGAIN;
use crate::herd::series::Sample;
use crate::herd::tally::Count;
use crate::herd::told::Told;
use crate::plain::amount::Amount;
use crate::sensor::fresh;
use crate::sensor::reading::Reading;

impl Watch {
    /// `n`: how often its sign happened, as far as that can be counted.
    pub(super) fn counts_for(
        &mut self,
        on: u32,
        device: u32,
        reading: &Reading,
        n: u32,
        ready: &Ready,
        touched: &mut Touched,
    ) {
        let now = self.state.now;
        let (sign, by) = (reading.sign.as_ref(), (device, &reading.kind));
        let dam = self.state.dams.at_mut(on);
        let mut moved = false;
        if let Some(keep) = ready.book.series.get(sign)
            && let Some(amount) = Amount::of(reading.value)
        {
            // A device may be a little ahead of us; nothing was so later than now.
            moved |= dam.measure(sign, by, Sample(reading.at.min(now), amount), *keep);
        }
        if ready.book.signs.contains(sign) {
            let count = Count::carried(reading.at, now, n);
            // What a total has grown by is no double of what it grew by before.
            let by_its_time = reading.timed && reading.as_ != ReadKind::Total;
            moved |= dam.count(sign, by, count, by_its_time, ready.book.keep);
        }
        if moved {
            if now.since(reading.at) > fresh::BACKLOG_AFTER {
                self.state.pours(on);
            }
            touched.key(Key::Dam(on));
        }
    }

    /// What a person measured of her stands beside what sensors tell of the same sign, as told by a hand.
    pub(super) fn measured_by_hand(&mut self, on: u32, sign: &str, of: u32, what: Sample) {
        let ready = self.ready.clone();
        let keep = ready.as_ref().and_then(|ready| ready.book.series.get(sign));
        let Some(keep) = keep else { return };
        let dam = self.state.dams.at_mut(on);
        let own = dam.series(sign).into_iter().flat_map(Told::iter);
        let own = own.filter(|told| told.device == of);
        let before =
            own.filter_map(|told| told.what.until(what.0).next_back()).max_by_key(|last| last.0);
        let again = before.filter(|last| what.0.since(last.0) < MEASURED_AGAIN);
        let at = again.map_or(what.0, |last| last.0);
        let by = (of, &Arc::from(by_hand::KIND));
        let _ = dam.measure(sign, by, Sample(at, what.1), *keep);
    }
}
