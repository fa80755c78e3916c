//! Asking a rule about a dam or a line. Pure: the same dam at the same moment gets the same answer.
//! Devices are asked about in `ask_device`.

use super::answer::{Answer, Says, soonest};
use super::book::{DamAsk, DamRule, Start, TroubleRule};
use super::change;
use super::clocks::{self, Running};
use super::devices::{Asked, Wearing};
use super::due;
use super::measure;
use super::verdict::{Figures, Verdict, Wrong};
use crate::config::line::CALENDAR_OF;
use crate::config::rules::{From, Limit, Trouble};
use crate::gear::line::{LineRecord, STRANGER_TIMES};
use crate::herd::dam::Dam;
use crate::herd::sign::Mark;
use crate::plain::moment::{Moment, Span};

/// How long the loss of the broker's memory stays news.
const SESSION_LOST_FOR: Span = Span::hours(1);

impl DamRule {
    pub fn ask(&self, dam: &Dam, asking: &Asking<'_>) -> Verdict {
        let Answer { says, until } = self.answer(dam, asking);
        match (says, until) {
            (Says::Yes(since, figures), ends) => Verdict::Wrong(Wrong { since, figures, ends }),
            (Says::No(_) | Says::Unknown, Some(until)) => Verdict::FineUntil(until),
            (Says::No(_) | Says::Unknown, None) => Verdict::Fine,
        }
    }

    /// Whether anything is known that could call its finding off: silence does not.
    pub fn is_denied(&self, dam: &Dam, asking: &Asking<'_>) -> bool {
        matches!(self.answer(dam, asking).says, Says::No(_))
    }

    /// Whoever has no purpose written is asked by all: a reminder too many is better than a fine.
    fn is_for(&self, wearing: &dyn Wearing) -> bool {
        self.purpose.as_deref().is_none_or(|purpose| {
            let kept_for = wearing.purpose();
            kept_for.is_empty() || kept_for == purpose
        })
    }

    fn answer(&self, dam: &Dam, asking: &Asking<'_>) -> Answer {
        if !self.is_for(asking.wearing) {
            return Answer::no(None, None);
        }
        let expected = self.scanned.is_none_or(|scanned| dam.expects() >= scanned);
        // Who is dead is asked nothing; her living calf has its own clocks.
        let orphan = self.is_of_a_calf() && dam.leaves_an_orphan();
        if !expected || !(orphan || self.while_stages.contains(&dam.stage)) {
            return Answer::no(None, None);
        }
        let Asking { wearing, cold, now } = *asking;
        About { dam, wearing, lives: self.lives, cold, now }.answer(&self.ask)
    }
}

/// What the moment of asking brings with it.
#[derive(Clone, Copy)]
pub struct Asking<'a> {
    pub wearing: &'a dyn Wearing,
    /// The farm's weather is cold: the clocks that have a limit for that keep it.
    pub cold: bool,
    pub now: Moment,
}

impl DamRule {
    /// Whether it asks about a calf, and not about its dam.
    fn is_of_a_calf(&self) -> bool {
        match &self.ask {
            DamAsk::Clock { each_calf, .. } => *each_calf,
            DamAsk::Level(level) => level.sign == Mark::CalfTemperature.word(),
            DamAsk::Count { .. }
            | DamAsk::Change(_)
            | DamAsk::Seen(_)
            | DamAsk::Due { .. }
            | DamAsk::All(_)
            | DamAsk::Any(_)
            | DamAsk::Not(..) => false,
        }
    }
}

/// Of whom it is asked, and when.
pub(super) struct About<'a> {
    pub(super) dam: &'a Dam,
    wearing: &'a dyn Wearing,
    lives: bool,
    pub(super) cold: bool,
    pub(super) now: Moment,
}

impl About<'_> {
    fn answer(&self, ask: &DamAsk) -> Answer {
        let asked = |devices| Asked { devices, lives: self.lives, wearing: self.wearing };
        match ask {
            DamAsk::Count { sign, over, at_least, devices } => {
                let count = measure::Count { sign, over: *over, at_least: *at_least };
                measure::count(self.dam, &count, asked(devices), self.now)
            }
            DamAsk::Level(level) => {
                measure::level(self.dam, level, asked(&level.devices), self.now)
            }
            DamAsk::Seen(seen) => measure::seen(self.dam, seen, asked(&seen.devices), self.now),
            DamAsk::Change(change) => {
                change::ask(self.dam, change, asked(&change.devices), self.now)
            }
            DamAsk::Clock { since, from: _, until, limit, each_calf: true } => {
                self.calf_clocks(since, until, *limit)
            }
            DamAsk::Clock { since, from, until, limit, each_calf: false } => {
                self.clock(since, *from, until, *limit)
            }
            DamAsk::Due { when, by, until } => {
                due::Asked { when: *when, by: *by, until }.of(self.dam, self.wearing, self.now)
            }
            DamAsk::All(asks) => Answer::all(self.each(asks)),
            DamAsk::Any(asks) => Answer::any(self.each(asks)),
            DamAsk::Not(ask, words) => self.answer(ask).not(words, self.now),
        }
    }

    fn each(&self, asks: &[DamAsk]) -> Vec<Answer> {
        asks.iter().map(|ask| self.answer(ask)).collect()
    }

    fn clock(&self, since: &[Start], from: From, until: &[Start], limit: Limit) -> Answer {
        clocks::of_dam(self.dam, since, from, until)
            .map_or(Answer::no(None, None), |began| self.runs(Running { began, calf: None }, limit))
    }

    /// The clock of each living calf: the one that ran out first speaks.
    fn calf_clocks(&self, since: &[Start], until: &[Start], limit: Limit) -> Answer {
        let running = clocks::of_calves(self.dam, since, until);
        let answers: Vec<Answer> =
            running.into_iter().map(|running| self.runs(running, limit)).collect();
        let until = soonest(answers.iter().map(|answer| answer.until));
        let wrong = answers.into_iter().filter_map(|answer| match answer.says {
            Says::Yes(since, figures) => Some((since, figures)),
            Says::No(_) | Says::Unknown => None,
        });
        match wrong.min_by_key(|(since, _)| *since) {
            Some((since, figures)) => Answer::yes(since, figures, until),
            None => Answer::no(None, until),
        }
    }

    fn runs(&self, running: Running, limit: Limit) -> Answer {
        let Some(limit) = limit.of(self.dam.parity, self.cold) else {
            return Answer::no(None, None);
        };
        let Running { began, calf } = running;
        let due = began + limit;
        if self.now < due {
            return Answer::no(None, Some(due));
        }
        Answer::yes(due, Figures::Clock { began, limit, calf }, None)
    }
}

/// What it is called that a line of that name is down.
fn when_down(name: &str) -> Trouble {
    match name {
        "journal" => Trouble::JournalStuck,
        name if name.starts_with(CALENDAR_OF) => Trouble::CalendarOld,
        _ => Trouble::LineDown,
    }
}

impl TroubleRule {
    pub fn ask(&self, name: &str, line: &LineRecord, now: Moment) -> Verdict {
        let (since, why, ends) = match self.with {
            Trouble::LineDown | Trouble::JournalStuck | Trouble::CalendarOld => {
                match line.down.as_ref().filter(|_| when_down(name) == self.with) {
                    Some(down) => (down.since, down.why.clone(), None),
                    None => return Verdict::Fine,
                }
            }
            Trouble::SessionLost => match line.session_lost {
                Some(at) if now < at + SESSION_LOST_FOR => {
                    let why = "messages sent while we were away may be gone".to_owned();
                    (at, why, Some(at + SESSION_LOST_FOR))
                }
                Some(_) | None => return Verdict::Fine,
            },
            Trouble::SubscriptionRefused => match line.refused.iter().next() {
                Some((filter, refused)) => {
                    (refused.since, format!("{filter}: {}", refused.why), None)
                }
                None => return Verdict::Fine,
            },
            Trouble::Strangers => match line.strangers(now) {
                Some((from, since, until)) => {
                    let why =
                        format!("{from} was refused {STRANGER_TIMES} times or more within an hour");
                    (since, why, Some(until))
                }
                None => return Verdict::Fine,
            },
        };
        let momentary = matches!(self.with, Trouble::SessionLost | Trouble::Strangers);
        match clock(since, self.limit, now, Figures::Trouble { since, why, momentary }) {
            Verdict::Wrong(wrong) => Verdict::Wrong(Wrong { ends, ..wrong }),
            fine @ (Verdict::Fine | Verdict::FineUntil(_)) => fine,
        }
    }
}

pub(super) fn clock(began: Moment, limit: Span, now: Moment, figures: Figures) -> Verdict {
    let due = began + limit;
    if now < due {
        return Verdict::FineUntil(due);
    }
    Verdict::Wrong(Wrong { since: due, figures, ends: None })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::animals::Parity;
    use crate::herd::sign::Mark;
    use crate::herd::stage::Stage;
    use crate::plain::ids::RuleName;
    use crate::rules::devices::Nothing;

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn at(minutes: i64) -> Asking<'static> {
        Asking { wearing: &Nothing, cold: false, now: minute(minutes) }
    }

    fn rule(since: &[Start], from: From, limit: Limit) -> DamRule {
        DamRule {
            name: RuleName::new("second stage too long"),
            ask: DamAsk::Clock {
                since: since.to_vec(),
                from,
                until: vec![Start::Mark(Mark::Calf)],
                limit,
                each_calf: false,
            },
            while_stages: vec![Stage::First, Stage::Second],
            enters: None,
            scanned: None,
            purpose: None,
            lives: false,
        }
    }

    const BOTH: Limit = Limit::by_parity(Span::minutes(30), Span::minutes(60));

    /// Sources: facts.md S2-02 and S2-03 (Miles City figures in university extension pages):
    /// help a cow after 30 minutes and a heifer after 60, from the water bag.
    #[test]
    fn a_heifer_has_an_hour_and_a_cow_half() {
        let mut dam = Dam::default();
        let rule = rule(&[Start::Stage(Stage::Second)], From::First, BOTH);
        assert_eq!(rule.ask(&dam, &at(0)), Verdict::Fine);
        let _ = dam.mark(Mark::WaterBag, minute(0));
        let mut heifer = dam.clone();
        heifer.parity = Parity::Heifer;
        assert_eq!(rule.ask(&dam, &at(29)), Verdict::FineUntil(minute(30)));
        assert_eq!(rule.ask(&heifer, &at(30)), Verdict::FineUntil(minute(60)));
        let Verdict::Wrong(wrong) = rule.ask(&dam, &at(31)) else {
            panic!("a cow is past her limit after 31 minutes");
        };
        assert_eq!(wrong.since, minute(30));
        let _ = dam.mark(Mark::Calf, minute(32));
        assert_eq!(rule.ask(&dam, &at(33)), Verdict::Fine);
    }

    #[test]
    fn progress_restarts_its_own_clock_and_no_other() {
        let mut dam = Dam::default();
        let signs = [Start::Mark(Mark::WaterBag), Start::Mark(Mark::Feet)];
        let twenty = Limit::both(Span::minutes(20));
        let (total, progress) = (rule(&signs, From::First, BOTH), rule(&signs, From::Last, twenty));
        let _ = dam.mark(Mark::WaterBag, minute(0));
        let _ = dam.mark(Mark::Feet, minute(15));
        assert_eq!(total.ask(&dam, &at(16)), Verdict::FineUntil(minute(30)));
        assert_eq!(progress.ask(&dam, &at(16)), Verdict::FineUntil(minute(35)));
    }

    #[test]
    fn strangers_are_news_from_the_tenth_refusal_until_the_hour_is_over() {
        let with = Trouble::Strangers;
        let rule = TroubleRule { name: RuleName::new("strangers"), with, limit: Span::ZERO };
        let mut line = LineRecord::default();
        line.turns_away("192.168.1.77", minute(0), 9);
        assert_eq!(rule.ask("broker", &line, minute(1)), Verdict::Fine);
        line.turns_away("192.168.1.77", minute(2), 1);
        let why = "192.168.1.77 was refused 10 times or more within an hour".to_owned();
        let figures = Figures::Trouble { since: minute(2), why, momentary: true };
        let wrong = Wrong { since: minute(2), figures, ends: Some(minute(60)) };
        assert_eq!(rule.ask("broker", &line, minute(3)), Verdict::Wrong(wrong));
        assert_eq!(rule.ask("broker", &line, minute(60)), Verdict::Fine);
    }

    fn minutes_down(marks: &[(Mark, i64)], now: i64) -> Option<i64> {
        let since = vec![Start::Mark(Mark::Down)];
        let until = vec![Start::Mark(Mark::Risen), Start::Stage(Stage::Closed)];
        let limit = Limit::both(Span::minutes(1));
        let ask = DamAsk::Clock { since, from: From::First, until, limit, each_calf: false };
        let rule =
            DamRule { ask, while_stages: Stage::ALL.to_vec(), ..rule(&[], From::First, BOTH) };
        let mut dam = Dam::default();
        for (mark, at) in marks {
            let _ = dam.mark(*mark, minute(*at));
        }
        match rule.ask(&dam, &at(now)) {
            Verdict::Wrong(wrong) => Some(minute(now).since(wrong.since).whole_minutes() + 1),
            Verdict::Fine | Verdict::FineUntil(_) => None,
        }
    }

    #[test]
    fn of_down_and_up_again_the_newest_word_decides() {
        use Mark::{Down, Risen};
        for (marks, minutes) in [
            (vec![(Down, 10)], Some(90)),
            (vec![(Down, 10), (Down, 40)], Some(90)),
            (vec![(Down, 10), (Risen, 20)], None),
            (vec![(Down, 10), (Risen, 20), (Down, 50)], Some(50)),
            (vec![(Down, 10), (Risen, 20), (Down, 50), (Down, 70)], Some(50)),
            (vec![(Down, 10), (Risen, 20), (Down, 50), (Risen, 60)], None),
            // Told late, out of order.
            (vec![(Down, 50), (Risen, 20)], Some(50)),
            (vec![(Down, 50), (Risen, 20), (Down, 10)], Some(50)),
            (vec![(Risen, 20), (Down, 10)], None),
            (vec![(Risen, 20), (Down, 20)], None),
            // Who is dead is not asked about.
            (vec![(Down, 10), (Mark::DamDead, 30)], None),
        ] {
            assert_eq!(minutes_down(&marks, 100), minutes, "{marks:?}");
        }
    }

    #[test]
    fn what_was_lost_before_term_is_not_waited_for() {
        let mut dam = Dam::default();
        let until_calf = rule(&[Start::Stage(Stage::Second)], From::First, BOTH);
        let ask = DamRule { while_stages: Stage::ALL.to_vec(), ..until_calf };
        let _ = dam.mark(Mark::Feet, minute(0));
        assert!(matches!(ask.ask(&dam, &at(40)), Verdict::Wrong(_)));
        let _ = dam.mark(Mark::Aborted, minute(41));
        assert_eq!(ask.ask(&dam, &at(42)), Verdict::Fine);
    }
}
