//! The truth of an invented farm: what really happens to each dam, whoever sees it or not.
//!
//! The watch never reads this. Sensors look at it and lie a little; people look at it and do not.

use super::dice::Dice;
use crate::herd::sign::Mark;
use crate::plain::ids::Animal;
use crate::plain::moment::{Moment, Span};

pub(super) struct Farm {
    pub(super) cows: Vec<Cow>,
}

pub(super) struct Cow {
    pub(super) animal: Animal,
    pub(super) heifer: bool,
    pub(super) calving: Option<Calving>,
    /// Hours in which she strains for nothing.
    pub(super) bout: Option<(Moment, Moment)>,
}

/// When each thing truly happens.
pub(super) struct Calving {
    pub(super) restless: Moment,
    pub(super) bag: Moment,
    pub(super) feet: Moment,
    pub(super) nose: Moment,
    pub(super) calf: Moment,
    pub(super) up: Moment,
    /// Some calves never suck until somebody helps.
    pub(super) sucked: Option<Moment>,
    pub(super) placenta: Moment,
}

/// How many dams there are, and how many of them calve.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    pub dams: u32,
    pub calvings: u32,
}

impl Farm {
    pub(super) fn new(begin: Moment, nights: u32, size: Size, dice: &mut Dice) -> Self {
        let mut cows: Vec<Cow> = (0..size.dams)
            .map(|n| Cow {
                animal: Animal::new(&format!("{}", 101 + 7 * n)),
                heifer: dice.chance(400),
                calving: None,
                bout: None,
            })
            .collect();
        let nights = i64::from(nights.max(3));
        for cow in cows.iter_mut().take(size.calvings as usize) {
            let restless = begin + dice.span(Span::hours(12), Span::hours(24 * (nights - 1)));
            cow.calving = Some(Calving::new(restless, cow.heifer, dice));
        }
        for cow in &mut cows {
            if dice.chance(250) {
                let from = match &cow.calving {
                    Some(calving) => calving.restless - dice.span(Span::hours(14), Span::hours(30)),
                    None => begin + dice.span(Span::hours(12), Span::hours(24 * (nights - 1))),
                };
                cow.bout = Some((from, from + dice.minutes(50, 150)));
            }
        }
        Self { cows }
    }

    pub(super) fn births_by(&self, now: Moment) -> u64 {
        let born = |cow: &&Cow| cow.calving.as_ref().is_some_and(|calving| calving.calf <= now);
        self.cows.iter().filter(born).count() as u64
    }
}

impl Calving {
    fn new(restless: Moment, heifer: bool, dice: &mut Dice) -> Self {
        // Sources for the usual ranges: facts.md S1-01, S2-02, S2-07, S3-03, C-07; the tails are
        // made longer on purpose, so that every rule has something to find.
        let first = if dice.chance(200) { dice.minutes(480, 840) } else { dice.minutes(60, 420) };
        let bag = restless + first;
        let hard = dice.chance(350);
        let most = match (heifer, hard) {
            (true, true) => 190,
            (true, false) => 58,
            (false, true) => 140,
            (false, false) => 29,
        };
        let calf = bag + dice.minutes(16, most);
        let length = calf.since(bag).whole_minutes();
        let feet = bag + dice.minutes(2, length * 4 / 10);
        let nose = feet + dice.minutes(2, length * 4 / 10);
        let sucked = if dice.chance(350) { None } else { Some(calf + dice.minutes(25, 170)) };
        let late = dice.chance(200);
        let placenta = calf + if late { dice.minutes(725, 1_900) } else { dice.minutes(60, 600) };
        Self { restless, bag, feet, nose, calf, up: calf + dice.minutes(15, 90), sucked, placenta }
    }

    /// What has happened by now, with its time, in order.
    pub(super) fn by(&self, now: Moment) -> Vec<(Mark, Moment)> {
        let all = [
            (Mark::Restless, Some(self.restless)),
            (Mark::WaterBag, Some(self.bag)),
            (Mark::Feet, Some(self.feet)),
            (Mark::Nose, Some(self.nose)),
            (Mark::Calf, Some(self.calf)),
            (Mark::Up, Some(self.up)),
            (Mark::Sucked, self.sucked),
            (Mark::Placenta, Some(self.placenta)),
        ];
        let happened = all.into_iter().filter_map(|(mark, at)| Some((mark, at?)));
        let mut happened: Vec<(Mark, Moment)> = happened.filter(|(_, at)| *at <= now).collect();
        happened.sort_by_key(|(_, at)| *at);
        happened
    }

    pub(super) fn strains(&self, now: Moment) -> bool {
        self.bag <= now && now < self.calf
    }

    /// Somebody pulls: the calf comes within minutes, and what follows comes sooner with it.
    pub(super) fn helped(&mut self, now: Moment, dice: &mut Dice) {
        let soon = now + dice.minutes(8, 20);
        if self.bag > now || self.calf <= soon {
            return;
        }
        let sooner = self.calf.since(soon);
        self.feet = self.feet.min(soon);
        self.nose = self.nose.min(soon);
        for at in [&mut self.calf, &mut self.up, &mut self.placenta] {
            *at = *at - sooner;
        }
        self.sucked = self.sucked.map(|at| at - sooner);
    }

    /// Somebody brings the calf to the teat.
    pub(super) fn fed(&mut self, now: Moment) {
        let at = now.max(self.calf);
        self.sucked = Some(self.sucked.map_or(at, |sucked| sucked.min(at)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_calving_goes_in_order_even_when_helped() {
        let mut dice = Dice::new(1);
        let begin = Moment::from_seconds(1_795_572_300);
        let size = Size { dams: 200, calvings: 200 };
        for mut cow in Farm::new(begin, 30, size, &mut dice).cows {
            let calving = cow.calving.as_mut().unwrap();
            for help in [false, true] {
                if help {
                    calving.helped(calving.bag + Span::minutes(5), &mut dice);
                    calving.fed(calving.calf + Span::minutes(5));
                }
                assert!(calving.restless < calving.bag);
                assert!(calving.bag < calving.feet);
                assert!(calving.feet <= calving.nose);
                assert!(calving.nose <= calving.calf);
                assert!(calving.calf < calving.placenta);
                assert!(calving.sucked.is_none_or(|sucked| sucked > calving.calf));
            }
        }
    }
}
