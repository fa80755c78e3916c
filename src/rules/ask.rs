//! Asking a rule about a dam or a line. Pure: the same dam at the same moment gets the same answer.
//! Devices are asked about in `ask_device`.

use super::answer::{Answer, Says};
use super::book::{DamAsk, DamRule, Start, TroubleRule};
use super::devices::{Asked, Wearing};
use super::measure;
use super::verdict::{Figures, Verdict, Wrong};
use crate::config::animals::Parity;
use crate::config::rules::{From, Limit, Trouble};
use crate::gear::line::{LineRecord, STRANGER_TIMES};
use crate::herd::dam::Dam;
use crate::herd::sign::Mark;
use crate::plain::moment::{Moment, Span};

/// How long the loss of the broker's memory stays news.
const SESSION_LOST_FOR: Span = Span::hours(1);

impl DamRule {
    pub fn ask(&self, dam: &Dam, wearing: &dyn Wearing, now: Moment) -> Verdict {
        let Answer { says, until } = self.answer(dam, wearing, now);
        match (says, until) {
            (Says::Yes(since, figures), ends) => Verdict::Wrong(Wrong { since, figures, ends }),
            (Says::No(_) | Says::Unknown, Some(until)) => Verdict::FineUntil(until),
            (Says::No(_) | Says::Unknown, None) => Verdict::Fine,
        }
    }

    /// Whether anything is known that could call its finding off: silence does not.
    pub fn is_denied(&self, dam: &Dam, wearing: &dyn Wearing, now: Moment) -> bool {
        matches!(self.answer(dam, wearing, now).says, Says::No(_))
    }

    fn answer(&self, dam: &Dam, wearing: &dyn Wearing, now: Moment) -> Answer {
        if !self.while_stages.contains(&dam.stage) {
            return Answer::no(None, None);
        }
        About { dam, wearing, lives: self.lives, now }.answer(&self.ask)
    }
}

/// Of whom it is asked, and when.
struct About<'a> {
    dam: &'a Dam,
    wearing: &'a dyn Wearing,
    lives: bool,
    now: Moment,
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
            DamAsk::Clock { since, from, until, limit } => self.clock(since, *from, until, limit),
            DamAsk::All(asks) => Answer::all(self.each(asks)),
            DamAsk::Any(asks) => Answer::any(self.each(asks)),
            DamAsk::Not(ask, words) => self.answer(ask).not(words, self.now),
        }
    }

    fn each(&self, asks: &[DamAsk]) -> Vec<Answer> {
        asks.iter().map(|ask| self.answer(ask)).collect()
    }

    fn clock(&self, since: &[Start], from: From, until: &[Start], limit: &Limit) -> Answer {
        let comes_again = since.iter().all(Start::may_come_again);
        if until.iter().any(|stop| !(comes_again && stop.is_mark()) && stopped(self.dam, stop)) {
            return Answer::no(None, None);
        }
        let limit = match self.dam.parity {
            Parity::Cow => limit.cow,
            Parity::Heifer => limit.heifer,
        };
        let began =
            if comes_again { lasts(self.dam, since, until) } else { began(self.dam, since, from) };
        let Some(began) = began else {
            return Answer::no(None, None);
        };
        let due = began + limit;
        if self.now < due {
            return Answer::no(None, Some(due));
        }
        Answer::yes(due, Figures::Clock { began, limit }, None)
    }
}

impl TroubleRule {
    pub fn ask(&self, name: &str, line: &LineRecord, now: Moment) -> Verdict {
        let (since, why, ends) = match self.with {
            Trouble::LineDown if name != "journal" => match &line.down {
                Some(down) => (down.since, down.why.clone(), None),
                None => return Verdict::Fine,
            },
            Trouble::JournalStuck if name == "journal" => match &line.down {
                Some(down) => (down.since, down.why.clone(), None),
                None => return Verdict::Fine,
            },
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
            Trouble::LineDown | Trouble::JournalStuck => return Verdict::Fine,
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

/// When the clock began: the earliest of its starts, or the latest.
fn began(dam: &Dam, starts: &[Start], from: From) -> Option<Moment> {
    let moments = starts.iter().filter_map(|start| match start {
        Start::Mark(mark) => dam.track(*mark).map(|track| match from {
            From::First => track.first,
            From::Last => track.last,
        }),
        Start::Stage(stage) => dam.entered(*stage),
        Start::Sign(sign) => dam.counted(sign).map(|track| match from {
            From::First => track.first,
            From::Last => track.last,
        }),
    });
    match from {
        From::First => moments.min(),
        From::Last => moments.max(),
    }
}

/// When what may end and begin again began this time: "down", "cow up", "down". The newest word decides.
fn lasts(dam: &Dam, since: &[Start], until: &[Start]) -> Option<Moment> {
    let ends: Vec<Mark> = until.iter().filter_map(Start::mark).collect();
    let marks = since.iter().filter_map(Start::mark);
    marks.filter_map(|mark| dam.lasts_unless(mark, &ends)).min()
}

fn stopped(dam: &Dam, stop: &Start) -> bool {
    match stop {
        // What was lost before term is not born any more.
        Start::Mark(Mark::Calf) => {
            [Mark::Calf, Mark::Aborted].into_iter().any(|mark| dam.track(mark).is_some())
        }
        Start::Mark(mark) => dam.track(*mark).is_some(),
        Start::Stage(stage) => dam.stage >= *stage,
        Start::Sign(sign) => dam.counted(sign).is_some(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::herd::stage::Stage;
    use crate::plain::ids::RuleName;
    use crate::rules::devices::Nothing;

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn rule(since: &[Start], from: From, limit: Limit) -> DamRule {
        DamRule {
            name: RuleName::new("second stage too long"),
            ask: DamAsk::Clock {
                since: since.to_vec(),
                from,
                until: vec![Start::Mark(Mark::Calf)],
                limit,
            },
            while_stages: vec![Stage::First, Stage::Second],
            enters: None,
            lives: false,
        }
    }

    const BOTH: Limit = Limit { cow: Span::minutes(30), heifer: Span::minutes(60) };

    /// Sources: facts.md S2-02 and S2-03 (Miles City figures in university extension pages):
    /// help a cow after 30 minutes and a heifer after 60, from the water bag.
    #[test]
    fn a_heifer_has_an_hour_and_a_cow_half() {
        let mut dam = Dam::default();
        let rule = rule(&[Start::Stage(Stage::Second)], From::First, BOTH);
        assert_eq!(rule.ask(&dam, &Nothing, minute(0)), Verdict::Fine);
        let _ = dam.mark(Mark::WaterBag, minute(0));
        let mut heifer = dam.clone();
        heifer.parity = Parity::Heifer;
        assert_eq!(rule.ask(&dam, &Nothing, minute(29)), Verdict::FineUntil(minute(30)));
        assert_eq!(rule.ask(&heifer, &Nothing, minute(30)), Verdict::FineUntil(minute(60)));
        let Verdict::Wrong(wrong) = rule.ask(&dam, &Nothing, minute(31)) else {
            panic!("a cow is past her limit after 31 minutes");
        };
        assert_eq!(wrong.since, minute(30));
        let _ = dam.mark(Mark::Calf, minute(32));
        assert_eq!(rule.ask(&dam, &Nothing, minute(33)), Verdict::Fine);
    }

    #[test]
    fn progress_restarts_its_own_clock_and_no_other() {
        let mut dam = Dam::default();
        let signs = [Start::Mark(Mark::WaterBag), Start::Mark(Mark::Feet)];
        let twenty = Limit { cow: Span::minutes(20), heifer: Span::minutes(20) };
        let (total, progress) = (rule(&signs, From::First, BOTH), rule(&signs, From::Last, twenty));
        let _ = dam.mark(Mark::WaterBag, minute(0));
        let _ = dam.mark(Mark::Feet, minute(15));
        assert_eq!(total.ask(&dam, &Nothing, minute(16)), Verdict::FineUntil(minute(30)));
        assert_eq!(progress.ask(&dam, &Nothing, minute(16)), Verdict::FineUntil(minute(35)));
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
        let limit = Limit { cow: Span::minutes(1), heifer: Span::minutes(1) };
        let ask = DamAsk::Clock { since, from: From::First, until, limit };
        let rule =
            DamRule { ask, while_stages: Stage::ALL.to_vec(), ..rule(&[], From::First, BOTH) };
        let mut dam = Dam::default();
        for (mark, at) in marks {
            let _ = dam.mark(*mark, minute(*at));
        }
        match rule.ask(&dam, &Nothing, minute(now)) {
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
        assert!(matches!(ask.ask(&dam, &Nothing, minute(40)), Verdict::Wrong(_)));
        let _ = dam.mark(Mark::Aborted, minute(41));
        assert_eq!(ask.ask(&dam, &Nothing, minute(42)), Verdict::Fine);
    }
}
