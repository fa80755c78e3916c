//! The record of one calving: every mark in the order in which it was told, and its calves.
//!
//! Nothing is taken out of it: what a person takes back is struck through.

use serde::{Deserialize, Serialize};

use super::calf::{Born, Calf, LIFE};
use super::calf_outcome::BORN_DEAD;
use super::marked::NotTaken;
use super::noted::Noted;
use super::sign::Mark;
use crate::plain::moment::Moment;

/// A long case fills two pages of a vet's notes; past this what sensors said, looks and struck lines go first.
const NOTED_MAX: usize = 400;

/// More than any litter.
const CALVES_MAX: usize = 30;

/// The note of a birth after which no other is to come: somebody has felt.
pub const SINGLE: &str = "single";

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
            self.born_unsaid(&noted);
            let place = self.meant(&noted);
            if self.calves.get(place).is_some() {
                noted.calf = u8::try_from(place + 1).ok();
                self.lives_after_all(place, &noted);
                self.calves[place].note(&noted);
            }
        }
        let calf = noted.calf;
        self.keep(noted);
        calf
    }

    /// When somebody last felt that no other calf is to come.
    pub fn felt_single(&self) -> Option<Moment> {
        self.of(Mark::Calf).filter(|noted| noted.note == SINGLE).map(|noted| noted.at).max()
    }

    /// When she strained: after the calf only, if it is born, and after somebody felt that no other is to come.
    pub fn strained(&self, born: Option<Moment>) -> Vec<Moment> {
        let from = born.max(born.and(self.felt_single()));
        let at = self.of(Mark::Straining).map(|noted| noted.at);
        at.filter(|at| from.is_none_or(|from| *at > from)).collect()
    }

    /// Why a line cannot be true of these calves, if so.
    pub fn refuses(&self, noted: &Noted) -> Option<NotTaken> {
        let count = self.calves.len();
        let number = noted.calf.map_or(0, usize::from);
        let place = if noted.mark == Mark::Calf {
            0
        } else if noted.mark == Mark::SecondCalf {
            number.max(2) - 1
        } else if noted.mark.is_of_a_calf() {
            self.meant(noted)
        } else {
            return None;
        };
        let alive = self.calves.get(place).filter(|calf| !calf.is_dead());
        if noted.note == BORN_DEAD && alive.is_some_and(|calf| calf.last_alive().is_some()) {
            return Some(NotTaken::WasAlive);
        }
        // A second calf is born by whatever is said of it; a third is more likely a slip of the thumb.
        let is_next = number == 2 && noted.mark != Mark::CalfDead;
        if noted.mark.is_of_a_calf() && number > count.max(1) && !is_next {
            return Some(NotTaken::NoSuchYoung);
        }
        None
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
        if noted.sensed {
            // What a sensor says again is one line: the first time, and the last.
            let same = |old: &Noted| {
                old.sensed && !old.struck && old.mark == noted.mark && old.by == noted.by
            };
            let mut lines = (0..self.noted.len()).filter(|line| same(&self.noted[*line]));
            if let (Some(_), Some(last)) = (lines.next(), lines.next_back()) {
                self.noted.remove(last);
            }
        }
        if self.noted.len() >= NOTED_MAX {
            // What somebody has seen and told goes last.
            let mute = |old: &Noted| old.sensed || old.mark == Mark::Seen || old.struck;
            let oldest = self.noted.iter().position(mute).unwrap_or(0);
            self.noted.remove(oldest);
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
        if noted.note == SINGLE {
            // Somebody has felt that there is no other: no word about when it was born.
            return;
        }
        if noted.timed && !calf.born.said {
            calf.born = Born { at: noted.at, not_before, said: true };
        } else if noted.at < calf.born.at {
            calf.born.at = noted.at;
        }
        let at = calf.born.at;
        calf.note(&Noted {
            mark: if number == 1 { Mark::Calf } else { Mark::SecondCalf },
            at,
            ..noted.clone()
        });
        self.was_dead_inside();
    }

    /// What is said of a calf that nobody told the birth of: it is born, at a time that nobody saw. The first
    /// only by what shows that it is; a numbered one by whatever is said of it.
    fn born_unsaid(&mut self, noted: &Noted) {
        let number = match noted.calf.map(usize::from) {
            Some(number) if number > 1 && number > self.calves.len() => number,
            _ if self.calves.is_empty() && noted.mark.proves_a_calf() => 1,
            _ => return,
        };
        self.born(number, &Noted { timed: false, ..noted.clone() });
    }

    /// A calf that was thought dead and does what only a living one does is alive: then its clocks run on.
    fn lives_after_all(&mut self, place: usize, noted: &Noted) {
        let Some(calf) = self.calves.get_mut(place) else { return };
        let died = calf.marked(Mark::CalfDead);
        if !LIFE.contains(&noted.mark) || died.is_none_or(|died| noted.at <= died) {
            return;
        }
        calf.unsay(Mark::CalfDead);
        let of_it = |old: &&mut Noted| old.mark == Mark::CalfDead && old.calf == noted.calf;
        self.noted.iter_mut().filter(of_it).for_each(|old| old.struck = true);
    }

    /// What was found dead before it was out is the first that is born.
    fn was_dead_inside(&mut self) {
        let Some(first) = self.calves.first_mut() else { return };
        let unborn =
            |old: &&mut Noted| old.mark == Mark::CalfDead && old.calf.is_none() && !old.struck;
        for old in self.noted.iter_mut().filter(unborn) {
            old.calf = Some(1);
            first.note(old);
        }
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

    fn of_calf(calf: u8, mark: Mark, at: i64) -> Noted {
        Noted { calf: Some(calf), ..Noted::bare(mark, minute(at)) }
    }

    #[test]
    fn what_is_said_of_a_numbered_calf_shows_that_it_is_born() {
        let mut case = after(&[(Mark::Calf, 0)]);
        assert_eq!(case.note(of_calf(2, Mark::Up, 30)), Some(2));
        let second = case.calves()[1].born;
        assert_eq!((case.calves().len(), second.at, second.said), (2, minute(30), false));
        // It was born at some time before; the first is not the one that is up.
        assert_eq!(case.calves()[0].marked(Mark::Up), None);
        assert_eq!(case.calves()[1].marked(Mark::SecondCalf), Some(minute(30)));
    }

    #[test]
    fn what_is_said_of_a_calf_that_cannot_be_is_refused() {
        let case = after(&[(Mark::Calf, 0), (Mark::Sucked, 30)]);
        assert!(case.refuses(&of_calf(3, Mark::Up, 40)).is_some(), "there is no second yet");
        assert!(case.refuses(&of_calf(2, Mark::CalfDead, 40)).is_some(), "it may be inside");
        assert!(case.refuses(&of_calf(2, Mark::Sucked, 40)).is_none());
        let born_dead = Noted { note: BORN_DEAD.into(), ..Noted::bare(Mark::CalfDead, minute(40)) };
        assert!(case.refuses(&born_dead).is_some(), "it has sucked");
        assert!(case.refuses(&Noted::bare(Mark::CalfDead, minute(40))).is_none());
    }

    #[test]
    fn a_calf_found_dead_inside_is_dead_when_it_is_born_and_the_next_is_not() {
        let case = after(&[(Mark::CalfDead, 0), (Mark::Calf, 20), (Mark::SecondCalf, 40)]);
        assert!(case.calves()[0].is_dead() && !case.calves()[1].is_dead());
    }

    #[test]
    fn a_calf_that_sucks_after_it_was_thought_dead_is_alive() {
        let mut case = after(&[(Mark::Calf, 0), (Mark::CalfDead, 5)]);
        let _ = case.note(Noted::bare(Mark::Breathing, minute(3)));
        assert!(case.calves()[0].is_dead(), "told late: that was before it died");
        let _ = case.note(Noted::bare(Mark::Up, minute(9)));
        assert!(case.calves()[0].is_dead(), "that may be the dam");
        let _ = case.note(Noted::bare(Mark::Sucked, minute(30)));
        assert!(!case.calves()[0].is_dead());
        assert_eq!((case.of(Mark::CalfDead).count(), case.noted().len()), (0, 5));
    }

    #[test]
    fn straining_counts_from_the_calf_on_and_from_whoever_felt_none() {
        let mut case = after(&[(Mark::Straining, 0), (Mark::Calf, 20), (Mark::Straining, 50)]);
        assert_eq!(case.strained(None), [minute(0), minute(50)]);
        assert_eq!(case.strained(Some(minute(20))), [minute(50)]);
        let felt = Noted { note: SINGLE.into(), ..Noted::bare(Mark::Calf, minute(60)) };
        let _ = case.note(felt);
        assert!(case.strained(Some(minute(20))).is_empty());
        assert_eq!(case.calves()[0].born.at, minute(20));
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
