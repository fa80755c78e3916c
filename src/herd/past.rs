//! How long the farm's own dams carried in past seasons, by breed and parity, and what each sire adds.
//!
//! Few calvings prove little: the farm's mean is drawn towards the breed's figure by the weight of
//! `PRIOR` calvings, and below `LEAST` calvings it is not used at all.

use std::collections::BTreeMap;

use crate::config::animals::Parity;
use crate::config::species::Days;

pub use crate::config::animals::Past;

/// Calvings of a breed and parity before the farm's own figure counts: the mean of so many is known to
/// about 1.2 days (5.5 days by the root of 20), and printed figures of one breed lie as far apart (facts.md
/// G-11, G-12).
const LEAST: i64 = 20;
/// What the breed's figure weighs, in calvings: herds of a breed differ by about as much as the mean of
/// twenty calvings is uncertain (from the same rows).
const PRIOR: i64 = 20;
/// What the breed's figure weighs against a sire's calves: (4 - h2) / h2 with a heritability of 0.40 for
/// the service sire (facts.md G-29: 33 to 47 %; the formula of selection indexes is from memory).
const PRIOR_SIRE: i64 = 9;
/// In ten-thousandths: 1.2533.
const ROOT_OF_HALF_PI: i64 = 12_533;
/// A calving further than this from the middle of its kind is of another service: a heat is 21 days
/// (common practice, no source).
const FAR: i64 = 20;
/// Spread of a breed, where no source has one: thousandths of a day (facts.md G-03).
const USUAL_SD: i64 = 5_500;

/// What the farm's own past says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Own {
    /// By breed, and whether it was a heifer.
    groups: BTreeMap<(String, bool), Group>,
    /// By how many thousandths of a day a sire's calves come later than others of their kind.
    sires: BTreeMap<String, i64>,
}

/// The calvings of one breed and parity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Group {
    n: i64,
    /// Thousandths of a day.
    mean: i64,
    /// The sum of the distances from it, in thousandths of a day.
    apart: i64,
}

impl Own {
    pub fn of(past: &[Past]) -> Self {
        let mut kinds: BTreeMap<(String, bool), Vec<&Past>> = BTreeMap::new();
        for one in past {
            kinds.entry((key(&one.breed), one.heifer)).or_default().push(one);
        }
        let mut own = Self::default();
        let mut sires: BTreeMap<String, (i64, i64)> = BTreeMap::new();
        for (kind, mut calvings) in kinds {
            calvings.sort_by_key(|one| one.days);
            let middle = calvings.get(calvings.len() / 2).map_or(0, |one| one.days);
            calvings.retain(|one| (one.days - middle).abs() <= FAR);
            let group = Group::of(&calvings);
            for one in calvings.iter().filter(|one| !one.sire.trim().is_empty()) {
                let (n, sum) = sires.entry(key(&one.sire)).or_default();
                *n += 1;
                *sum += one.days * 1000 - group.mean;
            }
            own.groups.insert(kind, group);
        }
        own.sires =
            sires.into_iter().map(|(sire, (n, sum))| (sire, sum / (n + PRIOR_SIRE))).collect();
        own
    }

    /// Mean and spread of a breed and parity: (n · mean + PRIOR · figure) / (n + PRIOR), and so the spread, which
    /// is the mean distance from the mean times the root of half pi: a wrong date or two, whose squares would
    /// widen every window, count for no more than they are (a property of the normal distribution).
    /// `None` where the past is too short.
    pub fn figure(
        &self,
        breed: &str,
        parity: Parity,
        figure: Days,
        sd: Option<Days>,
    ) -> Option<(Days, Days)> {
        let Group { n, mean, apart } = *self.groups.get(&(key(breed), parity == Parity::Heifer))?;
        if n < LEAST {
            return None;
        }
        let sd = sd.map_or(USUAL_SD, |sd| sd.0);
        let mean = (n * mean + PRIOR * figure.0) / (n + PRIOR);
        let spread = (apart * ROOT_OF_HALF_PI / 10_000 + PRIOR * sd) / (n + PRIOR);
        Some((Days(mean), Days(spread)))
    }

    /// How much later a sire's calves come than others: the sum of what they were late by, over n + 9.
    pub fn sire(&self, sire: &str) -> Days {
        Days(self.sires.get(&key(sire)).copied().unwrap_or(0))
    }

    pub fn is_empty(&self) -> bool {
        self.groups.is_empty()
    }
}

impl Group {
    fn of(calvings: &[&Past]) -> Self {
        let n = i64::try_from(calvings.len()).unwrap_or(i64::MAX);
        let sum: i64 = calvings.iter().map(|one| one.days * 1000).sum();
        let mean = if n == 0 { 0 } else { sum / n };
        let apart = calvings.iter().map(|one| (one.days * 1000 - mean).abs()).sum();
        Self { n, mean, apart }
    }
}

fn key(written: &str) -> String {
    written.trim().to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn past(days: i64, n: usize) -> Vec<Past> {
        vec![Past { breed: "Marl".into(), heifer: false, days, sire: "B1".into() }; n]
    }

    #[test]
    fn few_calvings_leave_the_breeds_figure_and_more_draw_it_towards_the_farms() {
        let figure = |n| {
            let own = Own::of(&past(290, n));
            own.figure(" marl", Parity::Cow, Days::whole(280), Some(Days(5_500)))
        };
        assert_eq!(figure(19), None);
        // (20 * 290 + 20 * 280) / 40 and (60 * 290 + 20 * 280) / 80.
        assert_eq!(figure(20).map(|(mean, _)| mean), Some(Days::whole(285)));
        assert_eq!(figure(60).map(|(mean, _)| mean), Some(Days(287_500)));
        // 20 / 80 of 5.5: nothing else varies.
        assert_eq!(figure(60).map(|(_, sd)| sd), Some(Days(1_375)));
        let own = Own::of(&past(290, 60));
        assert_eq!(own.figure("Marl", Parity::Heifer, Days::whole(280), None), None);
    }

    #[test]
    fn a_calving_of_another_service_is_left_out_and_a_sire_is_drawn_towards_none() {
        let mut calvings = past(280, 30);
        calvings.extend(past(259, 5));
        calvings.extend((0..9).map(|_| Past {
            breed: "Marl".into(),
            heifer: false,
            days: 286,
            sire: "B2".into(),
        }));
        let own = Own::of(&calvings);
        let mean = own.figure("Marl", Parity::Cow, Days::whole(280), None).unwrap().0;
        // 39 calvings: (30 * 280 + 9 * 286) / 39 = 281.384…, drawn to 280 by 20.
        assert_eq!(mean, Days(280_914));
        // Nine calves, each 4.616 days late, over 9 + 9.
        assert_eq!(own.sire("b2"), Days(2_308));
        assert_eq!(own.sire("B3"), Days(0));
    }
}
