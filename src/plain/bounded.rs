//! A queue with a cap: what comes in past the cap pushes the oldest out.

use std::collections::VecDeque;

use serde::{Deserialize, Serialize};

/// Keeps the newest `CAP` things, oldest first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Ring<T, const CAP: usize>(VecDeque<T>);

impl<T, const CAP: usize> Default for Ring<T, CAP> {
    fn default() -> Self {
        Self(VecDeque::new())
    }
}

impl<T, const CAP: usize> Ring<T, CAP> {
    /// Adds at the new end; returns what fell out at the old one.
    pub fn push(&mut self, thing: T) -> Option<T> {
        self.0.push_back(thing);
        if self.0.len() > CAP { self.0.pop_front() } else { None }
    }

    /// Adds where `index` says, counting from the oldest; a full ring drops its oldest.
    pub fn insert(&mut self, index: usize, thing: T) {
        self.0.insert(index.min(self.0.len()), thing);
        if self.0.len() > CAP {
            self.0.pop_front();
        }
    }

    /// Puts another thing in the place of the one at `index`; `false` if there is none.
    pub fn replace(&mut self, index: usize, thing: T) -> bool {
        self.0.get_mut(index).map(|old| *old = thing).is_some()
    }

    /// Takes out every thing of which this is so, oldest first.
    pub fn take(&mut self, which: impl Fn(&T) -> bool) -> Vec<T> {
        let (taken, kept) = std::mem::take(&mut self.0).into_iter().partition(which);
        self.0 = kept;
        Vec::from(taken)
    }

    pub fn pop_oldest(&mut self) -> Option<T> {
        self.0.pop_front()
    }

    pub fn oldest(&self) -> Option<&T> {
        self.0.front()
    }

    pub fn iter(&self) -> std::collections::vec_deque::Iter<'_, T> {
        self.0.iter()
    }

    pub fn len(&self) -> usize {
        self.0.len()
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub fn clear(&mut self) {
        self.0.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_falls_out_at_the_cap() {
        let mut ring: Ring<u32, 3> = Ring::default();
        assert_eq!((1..=3).filter_map(|n| ring.push(n)).count(), 0);
        assert_eq!(ring.push(4), Some(1));
        assert_eq!(ring.iter().copied().collect::<Vec<_>>(), [2, 3, 4]);
        ring.insert(1, 9);
        assert_eq!(ring.iter().copied().collect::<Vec<_>>(), [9, 3, 4]);
        assert_eq!(ring.take(|n| *n != 3), [9, 4]);
        assert_eq!(ring.iter().copied().collect::<Vec<_>>(), [3]);
    }
}
