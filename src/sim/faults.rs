//! When the world does not do its part: lines that fail, a broker that goes, a process that dies.
//!
//! All of it is drawn before the season begins, so that "faults stop" is a moment and not a hope.

use super::dice::Dice;
use super::yard::{ANSWERS, HOOK, MAIL, PEOPLE, TEXTS};
use crate::plain::moment::{Moment, Span};
use crate::watch::{BROKER, JOURNAL};

pub(super) struct Faults {
    pub(super) windows: Vec<Window>,
    /// When the process dies, and when it begins again.
    pub(super) deaths: Vec<(Moment, Moment)>,
    /// A person's mailbox that sends everything back.
    full: Vec<(usize, Moment, Moment)>,
}

/// One line is bad from then to then.
#[derive(Clone, Debug)]
pub(super) struct Window {
    pub(super) line: &'static str,
    pub(super) from: Moment,
    pub(super) until: Moment,
    pub(super) how: How,
    /// Whether the line notices and says so.
    pub(super) says: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum How {
    /// What it is given fails, sooner or later.
    Fails,
    /// It takes everything and brings nothing.
    Swallows,
    /// It brings everything, much later.
    Slow,
    /// It brings everything and never says so.
    Mute,
}

/// What becomes of one message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fate {
    Good,
    Bad(How),
    /// Taken, and sent back by a delivery report.
    SentBack,
}

impl Faults {
    pub(super) fn new(begin: Moment, end: Moment, dice: &mut Dice) -> Self {
        let mut windows = Vec::new();
        let lines = [(MAIL, 9), (TEXTS, 9), (HOOK, 3), (ANSWERS, 4), (BROKER, 7), (JOURNAL, 1)];
        for (line, times) in lines {
            let share = Span::from_millis(end.since(begin).millis() / times);
            for n in 0..times {
                let first = begin + Span::from_millis(share.millis() * n);
                let from =
                    first + dice.span(Span::minutes(10), Span::from_millis(share.millis() / 2));
                let length =
                    if dice.chance(600) { dice.minutes(1, 25) } else { dice.minutes(25, 240) };
                let how =
                    *dice.pick(&[How::Fails, How::Fails, How::Swallows, How::Slow, How::Mute]);
                let says = line == BROKER || line == JOURNAL || dice.chance(700);
                windows.push(Window { line, from, until: from + length, how, says });
            }
        }
        Self { windows, deaths: deaths(begin, end, dice), full: full(begin, end, dice) }
    }

    /// The window a line is in.
    pub(super) fn of(&self, line: &str, now: Moment) -> Option<&Window> {
        self.windows
            .iter()
            .find(|window| window.line == line && window.from <= now && now < window.until)
    }

    pub(super) fn fate(&self, line: &str, person: Option<usize>, now: Moment) -> Fate {
        if let Some(window) = self.of(line, now) {
            return Fate::Bad(window.how);
        }
        let full = |(who, from, until): &(usize, Moment, Moment)| {
            Some(*who) == person && *from <= now && now < *until
        };
        if line == MAIL && self.full.iter().any(full) {
            return Fate::SentBack;
        }
        Fate::Good
    }
}

fn deaths(begin: Moment, end: Moment, dice: &mut Dice) -> Vec<(Moment, Moment)> {
    let mut deaths = Vec::new();
    let mut at = begin;
    loop {
        at += dice.span(Span::hours(20), Span::hours(160));
        let down = if dice.chance(700) {
            dice.span(Span::seconds(2), Span::seconds(90))
        } else {
            dice.minutes(5, 150)
        };
        if at + down >= end {
            return deaths;
        }
        deaths.push((at, at + down));
        at += down;
        if dice.chance(200) {
            // And again, before it is well up.
            let again = at + dice.span(Span::seconds(1), Span::seconds(60));
            deaths.push((again, again + Span::seconds(20)));
            at = again + Span::seconds(20);
        }
    }
}

fn full(begin: Moment, end: Moment, dice: &mut Dice) -> Vec<(usize, Moment, Moment)> {
    let span = end.since(begin);
    (0..PEOPLE.len())
        .map(|who| {
            let from = begin + dice.span(Span::ZERO, span);
            (who, from, (from + Span::hours(30)).min(end))
        })
        .collect()
}
