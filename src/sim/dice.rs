//! Dice that fall the same way for the same seed. Nothing outside the simulation may roll them.

use crate::plain::moment::Span;

/// The generator that Java and others call SplitMix64: one addition and three mixings a roll.
/// (Constants from memory of Steele, Lea and Flood, 2014; any others would do as well here.)
#[derive(Clone, Debug)]
pub(super) struct Dice(u64);

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// Dice of their own for one part of the farm, so that a roll more here changes nothing there.
    pub(super) fn fork(&mut self) -> Self {
        Self(self.roll())
    }

    pub(super) fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// 0 up to and without `n`; 0 for nothing.
    pub(super) fn below(&mut self, n: u64) -> u64 {
        self.roll().checked_rem(n).unwrap_or(0)
    }

    /// True `permille` times in a thousand.
    pub(super) fn chance(&mut self, permille: u64) -> bool {
        self.below(1_000) < permille
    }

    /// Both ends included, in whole seconds.
    pub(super) fn span(&mut self, from: Span, to: Span) -> Span {
        let seconds = to.whole_seconds() - from.whole_seconds();
        let more = self.below(u64::try_from(seconds).unwrap_or(0) + 1);
        from + Span::seconds(i64::try_from(more).unwrap_or(0))
    }

    pub(super) fn minutes(&mut self, from: i64, to: i64) -> Span {
        self.span(Span::minutes(from), Span::minutes(to))
    }

    pub(super) fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        let at = usize::try_from(self.below(from.len() as u64)).unwrap_or(0);
        &from[at]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_falls_the_same_way_and_another_does_not() {
        let rolls = |seed| {
            let mut dice = Dice::new(seed);
            (0..100).map(|_| dice.below(6)).collect::<Vec<_>>()
        };
        assert_eq!(rolls(7), rolls(7));
        assert_ne!(rolls(7), rolls(8));
    }

    #[test]
    fn every_side_comes_up_and_no_other() {
        let mut dice = Dice::new(3);
        let mut sides = [0; 6];
        for _ in 0..6_000 {
            sides[usize::try_from(dice.below(6)).unwrap()] += 1;
        }
        assert!(sides.iter().all(|times| (800..1_200).contains(times)), "{sides:?}");
        assert_eq!(dice.span(Span::minutes(3), Span::minutes(3)), Span::minutes(3));
    }
}
