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
        let expected = self.scanned.is_none_or(|scanned| dam.expects() >= scanned);
        if !expected || !self.while_stages.contains(&dam.stage) {
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
        if until.iter().any(|stop| stopped(self.dam, stop)) {
            return Answer::no(None, None);
        }
        let limit = match self.dam.parity {
            Parity::Cow => limit.cow,
            Parity::Heifer => limit.heifer,
        };
        let Some(began) = began(self.dam, since, from) else {
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

fn stopped(dam: &Dam, stop: &Start) -> bool {
    match stop {
        Start::Mark(mark) => dam.track(*mark).is_some(),
        Start::Stage(stage) => dam.stage >= *stage,
        Start::Sign(sign) => dam.counted(sign).is_some(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::herd::sign::Mark;
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
            scanned: None,
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
}
