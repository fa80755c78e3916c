//! A believed reading becomes evidence about the dam that wears the device: counted, measured, and kept
//! only as far as some rule asks for it.

use super::Watch;
use super::key::Key;
use super::settle::Touched;
use crate::config::sensors::ReadKind;
use crate::herd::series::Sample;
use crate::herd::tally::Count;
use crate::plain::amount::Amount;
use crate::sensor::reading::Reading;

impl Watch {
    pub(super) fn evidence(
        &mut self,
        on: u32,
        device: u32,
        reading: &Reading,
        touched: &mut Touched,
    ) {
        let now = self.state.now;
        let Some(ready) = self.ready.clone() else { return };
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
            let n = match reading.as_ {
                // Decoding has held it to whole numbers within u32.
                ReadKind::Count => reading.value as u32,
                ReadKind::Level | ReadKind::Flag => u32::from(reading.value != 0.0),
            };
            let count = Count::carried(reading.at, now, n);
            moved |= dam.count(sign, by, count, reading.timed, ready.book.keep);
        }
        if moved {
            touched.key(Key::Dam(on));
        }
    }
}
