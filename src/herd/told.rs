//! What each device has told of one sign of a dam: never averaged, never added up between devices.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::plain::moment::Moment;

/// A dam wears a few devices at a time; past this the one that has said nothing for longest goes.
const DEVICES_CAP: usize = 8;

/// By device, in the order of their places.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Told<T>(Vec<ByDevice<T>>);

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ByDevice<T> {
    /// Its place in the watch's roster.
    pub device: u32,
    /// The kind of sensor it spoke as.
    pub kind: Arc<str>,
    pub what: T,
}

/// Things that happened at times, the last of which is known.
pub trait Dated {
    type One;

    fn newest(&self) -> Option<Moment>;

    /// Takes out what happened at such times, oldest first.
    fn take(&mut self, when: impl Fn(Moment) -> bool) -> Vec<Self::One>;
}

impl<T> Default for Told<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T: Dated + Default> Told<T> {
    /// What this device has told, to add to.
    pub fn by(&mut self, device: u32, kind: &Arc<str>) -> &mut T {
        let at = match self.0.binary_search_by_key(&device, |told| told.device) {
            Ok(at) => at,
            Err(at) => {
                let at = if self.0.len() < DEVICES_CAP { at } else { self.make_room(device) };
                let what = T::default();
                self.0.insert(at, ByDevice { device, kind: kind.clone(), what });
                at
            }
        };
        let told = &mut self.0[at];
        if !Arc::ptr_eq(&told.kind, kind) {
            told.kind = kind.clone();
        }
        &mut told.what
    }

    /// Takes out what a device told of such times, and the kind it spoke as; `None` if it told nothing
    /// ever.
    pub fn take(
        &mut self,
        device: u32,
        when: impl Fn(Moment) -> bool,
    ) -> Option<(Arc<str>, Vec<T::One>)> {
        let at = self.0.binary_search_by_key(&device, |told| told.device).ok()?;
        let told = &mut self.0[at];
        Some((told.kind.clone(), told.what.take(when)))
    }

    pub fn iter(&self) -> impl Iterator<Item = &ByDevice<T>> {
        self.0.iter()
    }

    /// Takes the quietest device out; says where this one belongs now.
    fn make_room(&mut self, device: u32) -> usize {
        let quietest = self.0.iter().enumerate().min_by_key(|(_, told)| told.what.newest());
        if let Some(at) = quietest.map(|(at, _)| at) {
            self.0.remove(at);
        }
        self.0.partition_point(|told| told.device < device)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::herd::tally::{Count, Tally};
    use crate::plain::moment::Span;

    fn counted(told: &mut Told<Tally>, device: u32, minute: i64) -> bool {
        let at = Moment::default() + Span::minutes(minute);
        let tally = told.by(device, &Arc::from("tail"));
        tally.add(Count::carried(at, at, 1), true, Span::hours(2))
    }

    #[test]
    fn the_same_time_from_two_devices_counts_for_both() {
        let mut told = Told::default();
        assert!(counted(&mut told, 7, 5));
        assert!(counted(&mut told, 3, 5), "another device");
        assert!(!counted(&mut told, 7, 5), "the same message again");
        let devices: Vec<u32> = told.iter().map(|one| one.device).collect();
        assert_eq!(devices, [3, 7]);
    }

    #[test]
    fn past_the_cap_the_device_silent_longest_goes() {
        let mut told = Told::default();
        for device in 0..8 {
            assert!(counted(&mut told, device, 100 - i64::from(device)));
        }
        assert!(counted(&mut told, 5, 110) && counted(&mut told, 6, 110));
        assert!(counted(&mut told, 7, 110));
        assert!(counted(&mut told, 20, 120));
        let devices: Vec<u32> = told.iter().map(|one| one.device).collect();
        assert_eq!(devices, [0, 1, 2, 3, 5, 6, 7, 20], "device 4 was the quietest");
    }
}
