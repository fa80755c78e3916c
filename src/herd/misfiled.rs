//! What a device told while it was thought to be on another dam than it was: taken out of her history, to
//! be filed with the dam that wore it.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::series::Sample;
use super::tally::Count;
use crate::plain::moment::Moment;

/// By sign and the kind of sensor that told of it.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Misfiled {
    pub(super) counts: Vec<(String, Arc<str>, Vec<Count>)>,
    pub(super) samples: Vec<(String, Arc<str>, Vec<Sample>)>,
}

impl Misfiled {
    /// How many readings: one that was counted and measured too is one.
    pub fn readings(&self) -> usize {
        let mut readings: BTreeSet<(&str, Moment)> = BTreeSet::new();
        for (sign, _, counts) in &self.counts {
            readings.extend(counts.iter().map(|count| (sign.as_str(), count.at)));
        }
        for (sign, _, samples) in &self.samples {
            readings.extend(samples.iter().map(|sample| (sign.as_str(), sample.0)));
        }
        readings.len()
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::herd::dam::Dam;
    use crate::herd::series::Keep;
    use crate::plain::amount::Amount;
    use crate::plain::moment::Span;

    const DAY: Span = Span::days(1);
    const KEEP: Keep = Keep { back: DAY, spacing: Span::ZERO };

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn tell(dam: &mut Dam, device: u32, sign: &str, at: i64) {
        let (at, kind) = (minute(at), Arc::from("leg"));
        assert!(dam.count(sign, (device, &kind), Count::carried(at, at, 1), true, DAY));
        let sample = Sample(at, Amount::thousandths(at.seconds()));
        assert!(dam.measure(sign, (device, &kind), sample, KEEP));
    }

    fn minutes(dam: &Dam, sign: &str, device: u32) -> (u64, Vec<i64>) {
        let counted = dam.tallies(sign).into_iter().flat_map(|told| told.iter());
        let counted = counted.filter(|told| told.device == device);
        let measured = dam.series(sign).into_iter().flat_map(|told| told.iter());
        let measured = measured.filter(|told| told.device == device);
        let samples = measured.flat_map(|told| told.what.until(minute(900)));
        (
            counted.map(|told| told.what.within(minute(900), DAY)).sum(),
            samples.map(|sample| sample.0.seconds() / 60).collect(),
        )
    }

    #[test]
    fn what_a_device_told_while_on_another_goes_there_and_nothing_else_does() {
        let (mut old, mut new) = (Dam::default(), Dam::default());
        for at in [10, 20, 30, 40] {
            tell(&mut old, 7, "lying", at);
        }
        tell(&mut old, 8, "lying", 25);
        tell(&mut new, 7, "lying", 5);
        let misfiled = old.gives_up(7, |at| at >= minute(20) && at < minute(40));
        assert_eq!(misfiled.readings(), 2, "counted and measured, each is one");
        new.takes_over(7, misfiled, (DAY, &BTreeMap::from([("lying".to_owned(), KEEP)])));
        assert_eq!(minutes(&old, "lying", 7), (2, vec![10, 40]));
        assert_eq!(minutes(&old, "lying", 8), (1, vec![25]));
        assert_eq!(minutes(&new, "lying", 7), (3, vec![5, 20, 30]));
    }

    #[test]
    fn what_is_older_than_a_false_alarm_does_not_come_back_by_another_way() {
        let (mut old, mut new) = (Dam::default(), Dam::default());
        tell(&mut old, 7, "lying", 20);
        tell(&mut old, 7, "lying", 50);
        let _ = new.mark(crate::herd::sign::Mark::FalseAlarm, minute(30));
        let misfiled = old.gives_up(7, |at| at >= minute(10));
        new.takes_over(7, misfiled, (DAY, &BTreeMap::from([("lying".to_owned(), KEEP)])));
        assert_eq!(minutes(&new, "lying", 7), (1, vec![50]));
    }

    #[test]
    fn a_device_that_counted_nothing_is_known_to_count_where_it_is_now() {
        let (mut old, mut new) = (Dam::default(), Dam::default());
        let nothing = Count::carried(minute(20), minute(20), 0);
        assert!(!old.count("lying", (7, &Arc::from("leg")), nothing, true, DAY));
        let misfiled = old.gives_up(7, |at| at >= minute(10));
        assert_eq!(misfiled.readings(), 0);
        new.takes_over(7, misfiled, (DAY, &BTreeMap::new()));
        let known = new.tallies("lying").map(|told| told.iter().count());
        assert_eq!(known, Some(1));
    }
}
