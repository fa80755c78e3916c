//! The record of one calving: every mark in the order in which it was told, and its calves.
//!
//! Nothing is taken out of it: what a person takes back is struck through.

use serde::{Deserialize, Serialize};

use super::calf::{Born, Calf};
use super::noted::Noted;
use super::sign::Mark;
use crate::plain::moment::Moment;

/// A long case fills two pages of a vet's notes; past this the oldest looks go first, then the newest is
/// refused.
const NOTED_MAX: usize = 400;

/// More than any litter.
const CALVES_MAX: usize = 30;

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Case {
    noted: Vec<Noted>,
    calves: Vec<Calf>,
}

impl Case {
    /// What was noted, as it was told; struck lines too.
    pub fn noted(&self) -> &[Noted] {
        &self.noted
    }

    /// What was noted and stands.
    pub fn standing(&self) -> impl DoubleEndedIterator<Item = &Noted> {
        self.noted.iter().filter(|noted| !noted.struck)
    }

    /// All that stands of one mark, as it was told.
    pub fn of(&self, mark: Mark) -> impl DoubleEndedIterator<Item = &Noted> {
        self.standing().filter(move |noted| noted.mark == mark)
    }

    pub fn calves(&self) -> &[Calf] {
        &self.calves
    }

    pub fn is_empty(&self) -> bool {
        self.noted.is_empty()
    }

    /// Keeps a line, and gives what is said of a calf to the calf it is meant for. The line is kept with
    /// the calf's number.
    pub fn note(&mut self, mut noted: Noted) -> Option<u8> {
        if noted.mark == Mark::Calf {
            self.born(1, &noted);
            noted.calf = Some(1);
        } else if noted.mark == Mark::SecondCalf {
            let number = usize::from(noted.calf.unwrap_or(2)).max(2);
            self.born(number, &noted);
            noted.calf = u8::try_from(number).ok();
        } else if noted.mark.is_of_a_calf() {
            if self.calves.is_empty() && noted.mark.proves_a_calf() {
                self.born(1, &Noted { timed: false, ..noted.clone() });
            }
            let place = self.meant(&noted);
            if let Some(calf) = self.calves.get_mut(place) {
                calf.note(&noted);
                noted.calf = u8::try_from(place + 1).ok();
            }
        }
        let calf = noted.calf;
        self.keep(noted);
        calf
    }

    /// Strikes all that stands of these marks through, up to a moment of telling.
    pub fn strike(&mut self, marks: &[Mark]) {
        for noted in self.noted.iter_mut().filter(|noted| marks.contains(&noted.mark)) {
            noted.struck = true;
        }
        if marks.contains(&Mark::Calf) {
            self.calves.clear();
        } else if marks.contains(&Mark::SecondCalf) {
            self.calves.truncate(1);
        }
        for calf in &mut self.calves {
            marks.iter().for_each(|mark| calf.unsay(*mark));
        }
    }

    /// Everything up to now was a false alarm.
    pub fn strike_all(&mut self) {
        self.noted.iter_mut().for_each(|noted| noted.struck = true);
        self.calves.clear();
    }

    fn keep(&mut self, noted: Noted) {
        if self.noted.len() >= NOTED_MAX {
            let look = self.noted.iter().position(|old| old.mark == Mark::Seen || old.struck);
            let Some(look) = look else { return };
            self.noted.remove(look);
        }
        self.noted.push(noted);
    }

    /// The calf of that number is born, and those before it that nobody told of.
    fn born(&mut self, number: usize, noted: &Noted) {
        let not_before = self.not_before(noted.at);
        while self.calves.len() < number.min(CALVES_MAX) {
            let born = Born { at: noted.at, not_before, said: noted.timed };
            self.calves.push(Calf::new(born));
        }
        let Some(calf) = self.calves.get_mut(number - 1) else { return };
        if noted.timed && !calf.born.said {
            calf.born = Born { at: noted.at, not_before, said: true };
        } else if noted.at < calf.born.at {
            calf.born.at = noted.at;
        }
        calf.note(&Noted { at: calf.born.at, ..noted.clone() });
    }

    /// When she was last known not to have calved: the newest look or mark before it.
    fn not_before(&self, born: Moment) -> Option<Moment> {
        let before = self.standing().filter(|noted| {
            let of_birth = matches!(noted.mark, Mark::Calf | Mark::SecondCalf);
            noted.at < born && !of_birth && !noted.mark.is_of_a_calf()
        });
        before.map(|noted| noted.at).max()
    }

    /// Which calf an unnumbered mark is about: the first living one that lacks it. So of twins of whom only
    /// one was spoken of the other's clock runs on.
    fn meant(&self, noted: &Noted) -> usize {
        if let Some(number) = noted.calf {
            return usize::from(number).saturating_sub(1).min(self.calves.len().saturating_sub(1));
        }
        let lacks = |calf: &&Calf| !calf.is_dead() && calf.marked(noted.mark).is_none();
        let first = self.calves.iter().position(|calf| lacks(&calf));
        let living = self.calves.iter().rposition(|calf| !calf.is_dead());
        first.or(living).unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Span;

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn after(marks: &[(Mark, i64)]) -> Case {
        let mut case = Case::default();
        for (mark, at) in marks {
            let _ = case.note(Noted::bare(*mark, minute(*at)));
        }
        case
    }

    #[test]
    fn what_is_said_of_one_twin_is_not_said_of_the_other() {
        let mut case = after(&[(Mark::Calf, 0), (Mark::SecondCalf, 20), (Mark::Sucked, 60)]);
        assert_eq!(case.calves().len(), 2);
        assert_eq!(case.calves()[0].marked(Mark::Sucked), Some(minute(60)));
        assert_eq!(case.calves()[1].marked(Mark::Sucked), None);
        let second = case.note(Noted::bare(Mark::Sucked, minute(70)));
        assert_eq!(second, Some(2));
    }

    #[test]
    fn a_mark_goes_to_the_calf_that_it_names_and_never_to_a_dead_one() {
        let mut case = after(&[(Mark::Calf, 0), (Mark::SecondCalf, 20)]);
        let dead = Noted { calf: Some(1), ..Noted::bare(Mark::CalfDead, minute(30)) };
        assert_eq!(case.note(dead), Some(1));
        assert_eq!(case.note(Noted::bare(Mark::Up, minute(50))), Some(2));
        assert!(case.calves()[0].is_dead() && !case.calves()[1].is_dead());
    }

    #[test]
    fn a_birth_nobody_timed_lies_between_the_last_look_and_the_telling() {
        let mut case = after(&[(Mark::Seen, 0), (Mark::Calf, 50)]);
        let born = case.calves()[0].born;
        assert_eq!((born.at, born.not_before, born.said), (minute(50), Some(minute(0)), false));
        let timed = Noted { timed: true, told: minute(60), ..Noted::bare(Mark::Calf, minute(35)) };
        let _ = case.note(timed);
        let born = case.calves()[0].born;
        assert_eq!((born.at, born.said), (minute(35), true));
    }

    #[test]
    fn a_false_alarm_strikes_what_was_noted_through_and_forgets_none_of_it() {
        let mut case = after(&[(Mark::WaterBag, 0), (Mark::Calf, 10), (Mark::Sucked, 20)]);
        case.strike(&[Mark::Calf, Mark::Sucked]);
        assert_eq!((case.noted().len(), case.standing().count()), (3, 1));
        assert!(case.calves().is_empty());
    }
}
