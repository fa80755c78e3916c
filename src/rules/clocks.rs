//! Which clocks run: when each began, and whether anything has stopped it. A clock that a birth starts and
//! a mark of a calf stops is each calf's own.
//!
//! It knows no limit; how long is too long is asked of the rule.

use super::ask::Asking;
use super::book::{DamAsk, DamRule, Start};
use crate::config::rules::From;
use crate::herd::calf::Calf;
use crate::herd::dam::Dam;
use crate::herd::sign::Mark;
use crate::plain::english;
use crate::plain::ids::RuleName;
use crate::plain::moment::{Moment, Span};

/// A clock of hers that runs, for whoever wants to see it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockOn {
    pub rule: RuleName,
    pub began: Moment,
    pub limit: Span,
    /// When it runs out, or ran out.
    pub due: Moment,
    /// Which calf's it is, where she has more than one.
    pub calf: Option<u8>,
    /// What would stop it.
    pub stops: String,
}

impl DamRule {
    /// The clocks of this rule that run for her now; a clock joined with other conditions too.
    pub fn clocks(&self, dam: &Dam, asking: &Asking<'_>) -> Vec<ClockOn> {
        let mut on = Vec::new();
        let expected = self.scanned.is_none_or(|scanned| dam.expects() >= scanned);
        if expected && self.while_stages.contains(&dam.stage) {
            self.gather(&self.ask, dam, asking, &mut on);
        }
        on
    }

    fn gather(&self, ask: &DamAsk, dam: &Dam, asking: &Asking<'_>, on: &mut Vec<ClockOn>) {
        match ask {
            DamAsk::Clock { since, from, until, limit, each_calf } => {
                let Some(limit) = limit.of(dam.parity, asking.cold) else { return };
                let running = if *each_calf {
                    of_calves(dam, since, until)
                } else {
                    let began = of_dam(dam, since, *from, until);
                    began.map(|began| Running { began, calf: None }).into_iter().collect()
                };
                let words: Vec<&str> = until.iter().map(Start::word).collect();
                on.extend(running.into_iter().map(|Running { began, calf }| ClockOn {
                    rule: self.name.clone(),
                    began,
                    limit,
                    due: began + limit,
                    calf,
                    stops: english::choice(&words),
                }));
            }
            // What waits for several things has no one moment at which it runs out.
            DamAsk::All(_)
            | DamAsk::Any(_)
            | DamAsk::Count { .. }
            | DamAsk::Level(_)
            | DamAsk::Seen(_)
            | DamAsk::Due { .. }
            | DamAsk::Change(_)
            | DamAsk::Not(..) => {}
        }
    }
}

/// A clock that nothing has stopped yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Running {
    pub(super) began: Moment,
    /// Which calf's it is, where she has more than one.
    pub(super) calf: Option<u8>,
}

/// When her clock began, if it runs. One foot alone at midnight is not answered for by two feet of the evening;
/// whatever else has stopped a clock has stopped it, whenever it was told.
pub(super) fn of_dam(dam: &Dam, since: &[Start], from: From, until: &[Start]) -> Option<Moment> {
    if since.iter().all(Start::may_come_again) {
        let stopped = until.iter().any(|stop| !stop.is_mark() && stopped(dam, stop));
        return lasts(dam, since, until).filter(|_| !stopped);
    }
    let began = began(dam, since, from)?;
    let again = since.iter().all(Start::undoes_what_was_seen);
    let stopped = until.iter().any(|stop| match stop {
        // What was lost before term is not born any more.
        Start::Mark(Mark::Calf) => stopped(dam, stop),
        Start::Mark(mark) => {
            let track = dam.track(*mark);
            track.is_some_and(|track| !again || track.last >= began || is_of_the_end(*mark))
        }
        Start::Stage(_) | Start::Sign(_) => stopped(dam, stop),
    });
    (!stopped).then_some(began)
}

/// When what may end and begin again began this time: "down", "cow up", "down". The newest word decides.
fn lasts(dam: &Dam, since: &[Start], until: &[Start]) -> Option<Moment> {
    let ends: Vec<Mark> = until.iter().filter_map(Start::mark).collect();
    let marks = since.iter().filter_map(Start::mark);
    marks.filter_map(|mark| dam.lasts_unless(mark, &ends)).min()
}

/// What is noted once there is a calf, or she is dead.
fn is_of_the_end(mark: Mark) -> bool {
    mark.is_of_a_calf()
        || matches!(
            mark,
            Mark::Calf | Mark::SecondCalf | Mark::Aborted | Mark::Placenta | Mark::DamDead
        )
}

/// The clocks of her living calves, in the order of birth. Where no calf is meant by what starts it but the
/// second, the first has none. "Up" said before the birth was the dam, and stops nothing of the calf's.
pub(super) fn of_calves(dam: &Dam, since: &[Start], until: &[Start]) -> Vec<Running> {
    let calves = dam.calves();
    if calves.is_empty() {
        let began = of_dam(dam, since, From::First, until);
        return began.map(|began| Running { began, calf: None }).into_iter().collect();
    }
    let several = calves.len() > 1;
    let every = since.contains(&Start::Mark(Mark::Calf));
    (1_u8..)
        .zip(calves)
        .filter(|(number, calf)| (every || *number > 1) && !calf.is_dead())
        .filter(|(_, calf)| !until.iter().any(|stop| stopped_for(dam, calf, stop)))
        .map(|(number, calf)| Running {
            began: born(dam, number, calf),
            calf: several.then_some(number),
        })
        .collect()
}

/// As early as anybody has said: told again later, with a time, it was born all the same.
fn born(dam: &Dam, number: u8, calf: &Calf) -> Moment {
    let mark = if number == 1 { Mark::Calf } else { Mark::SecondCalf };
    let told = dam.track(mark).filter(|_| number <= 2);
    told.map_or(calf.born.at, |told| told.first.min(calf.born.at))
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

fn stopped_for(dam: &Dam, calf: &Calf, stop: &Start) -> bool {
    match stop {
        Start::Mark(mark) if mark.is_of_a_calf() => calf.marked(*mark).is_some(),
        Start::Mark(_) | Start::Stage(_) | Start::Sign(_) => stopped(dam, stop),
    }
}

fn stopped(dam: &Dam, stop: &Start) -> bool {
    match stop {
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
    use crate::config::animals::Parity;
    use crate::config::{self, Config, NamedText, SettingsText};
    use crate::herd::dam::Dam;
    use crate::herd::noted::Noted;
    use crate::herd::tally::Count;
    use crate::plain::ids::DeviceId;
    use crate::rules::book::Book;
    use crate::rules::devices::{Nothing, Standing, Wearing};
    use crate::rules::verdict::{Figures, Verdict, Wrong};
    use std::sync::Arc;

    const FARM: &str = r#"
        [farm]
        name = "Hollow Bank"
        zone = "Europe/Dublin"
        [broker]
        url = "mqtt://127.0.0.1"
        [[sensor]]
        kind = "tail"
        topic = "yard/tail/{device}"
        read = { sign = "contraction", at = "/efforts", as = "count" }
        [[person]]
        name = "Ana"
        mail = "ana@hollowbank.example"
        [[line]]
        name = "mail"
        kind = "smtp"
        url = "smtp://127.0.0.1"
        from = "lowbell@hollowbank.example"
    "#;

    fn config(more: &str) -> Config {
        let file = NamedText { name: "farm.toml".into(), text: format!("{FARM}\n{more}") };
        let parsed = config::parse(&SettingsText { files: vec![file] });
        parsed.config.unwrap_or_else(|| panic!("{:?}", parsed.faults))
    }

    fn shipped() -> Book {
        Book::of(&config(""))
    }

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    /// Her one sensor is on her and heard.
    struct Worn;

    impl Wearing for Worn {
        fn standing(&self, _device: u32) -> Standing {
            Standing { on: true, heard: true, until: None }
        }

        fn id(&self, _device: u32) -> DeviceId {
            DeviceId::new("t-07")
        }
    }

    fn asking<'a>(wearing: &'a dyn Wearing, now: i64) -> Asking<'a> {
        Asking { wearing, cold: false, now: minute(now) }
    }

    fn dam(parity: Parity, marks: &[(Mark, i64)]) -> Dam {
        let mut dam = Dam::default();
        dam.parity = parity;
        for (mark, at) in marks {
            let _ = dam.mark(*mark, minute(*at));
        }
        dam
    }

    /// The minute at which a rule first speaks of a dam as she stands, within four hours.
    fn speaks(book: &Book, name: &str, dam: &Dam, wearing: &dyn Wearing) -> Option<i64> {
        let rule = book.dam.iter().find(|rule| rule.name.as_str() == name);
        let rule = rule.unwrap_or_else(|| panic!("no rule is called {name}"));
        (0..=24 * 60).find(|now| {
            matches!(rule.ask(dam, &asking(wearing, *now)), Verdict::Wrong(Wrong { since, .. }) if since <= minute(*now))
        })
    }

    /// facts.md S2-34, the conflict table (extension services in Oklahoma and Colorado, a vet in Iowa, a study in
    /// Ohio), counted from the bag showing, and what its last sentence recommends: notice at 30 for a cow and 60
    /// for a heifer, escalate at 70, vet at 120. A value that the table holds and no rule keeps is Iowa's alone.
    #[test]
    fn each_first_alarm_of_the_conflict_table_is_some_rules_minute_or_said_to_be_nobodys() {
        let book = shipped();
        let table = [
            ("Oklahoma", 30, 60, Some("second stage too long")),
            ("Iowa vet", 60, 120, None),
            ("Ohio", 70, 70, Some("second stage far too long")),
            ("Colorado, not trying", 120, 120, Some("second stage two hours")),
        ];
        let cow = dam(Parity::Cow, &[(Mark::WaterBag, 0)]);
        let heifer = dam(Parity::Heifer, &[(Mark::WaterBag, 0)]);
        for (who, of_a_cow, of_a_heifer, rule) in table {
            let Some(rule) = rule else {
                let names = book.dam.iter().map(|rule| rule.name.as_str());
                let same = names.filter(|name| name.starts_with("second stage")).find(|name| {
                    speaks(&book, name, &cow, &Nothing) == Some(of_a_cow)
                        && speaks(&book, name, &heifer, &Nothing) == Some(of_a_heifer)
                });
                assert_eq!(same, None, "{who}");
                continue;
            };
            assert_eq!(speaks(&book, rule, &cow, &Nothing), Some(of_a_cow), "{who}, cow");
            assert_eq!(speaks(&book, rule, &heifer, &Nothing), Some(of_a_heifer), "{who}, heifer");
        }
    }

    /// facts.md S1-05: Colorado 4 h, Iowa 6 to 8 h, South Dakota 8 h. The default lies within them: a cow at the
    /// lower end of Iowa's, a heifer (S1-03: up to 8 to 12 h) at the upper.
    #[test]
    fn first_stage_without_second_is_told_within_what_the_sources_say() {
        let book = shipped();
        let stalls = |parity| {
            speaks(&book, "first stage stalled", &dam(parity, &[(Mark::Restless, 0)]), &Nothing)
        };
        assert_eq!(stalls(Parity::Cow), Some(6 * 60));
        assert_eq!(stalls(Parity::Heifer), Some(8 * 60));
    }

    /// facts.md S2-25 (Montana figures): with the cord pinched for 4 min four of five lived, after 6 min none. So
    /// it is told at once, and again before the fifth minute.
    #[test]
    fn a_backward_calf_is_told_at_once_and_again_after_four_minutes() {
        let book = shipped();
        let backward = dam(Parity::Heifer, &[(Mark::WaterBag, 0), (Mark::Backward, 10)]);
        assert_eq!(speaks(&book, "calf comes backward", &backward, &Nothing), Some(10));
        assert_eq!(speaks(&book, "backward calf not out", &backward, &Nothing), Some(14));
        let born = dam(Parity::Heifer, &[(Mark::Backward, 10), (Mark::Calf, 13)]);
        assert_eq!(speaks(&book, "backward calf not out", &born, &Nothing), None);
    }

    /// facts.md S2-23 (Ohio study): one foot alone asks for an examination at once; S2-16 and X-02 (extension
    /// service): yellow staining, bleeding and a swollen tongue do, whatever the clock says.
    #[test]
    fn what_somebody_has_seen_is_told_in_the_same_minute_though_she_is_inside_her_time() {
        let book = shipped();
        for (mark, rule) in [
            (Mark::OneFoot, "one foot alone"),
            (Mark::TailOnly, "tail and no feet"),
            (Mark::Stained, "yellow fluid"),
            (Mark::Tongue, "swollen tongue"),
            (Mark::Bleeding, "bleeding before the calf"),
        ] {
            let dam = dam(Parity::Heifer, &[(Mark::WaterBag, 0), (mark, 5)]);
            assert_eq!(speaks(&book, rule, &dam, &Nothing), Some(5), "{rule}");
        }
    }

    #[test]
    fn what_was_seen_before_does_not_answer_for_one_foot_alone() {
        let book = shipped();
        let asked = |marks: &[(Mark, i64)]| {
            speaks(&book, "one foot alone", &dam(Parity::Cow, marks), &Nothing)
        };
        assert_eq!(asked(&[(Mark::Feet, 0), (Mark::OneFoot, 5)]), Some(5));
        assert_eq!(asked(&[(Mark::OneFoot, 5), (Mark::Feet, 12)]), None, "it has been put right");
        assert_eq!(asked(&[(Mark::OneFoot, 5), (Mark::Feet, 12), (Mark::OneFoot, 20)]), Some(20));
    }

    /// facts.md S2-18 (a veterinary practice): two feet and no nose for 20 min. Told "progress" starts the other
    /// clock again, not this one; without it the clock of no progress says so at the same minute, once.
    #[test]
    fn two_feet_without_a_nose_are_told_after_twenty_minutes_once() {
        let book = shipped();
        let marks = [(Mark::WaterBag, 0), (Mark::Feet, 10)];
        let feet = dam(Parity::Heifer, &marks);
        assert_eq!(speaks(&book, "no progress in second stage", &feet, &Nothing), Some(30));
        assert_eq!(speaks(&book, "two feet and no nose", &feet, &Nothing), None);
        let on = dam(Parity::Heifer, &[marks[0], marks[1], (Mark::Progress, 25)]);
        assert_eq!(speaks(&book, "no progress in second stage", &on, &Nothing), Some(45));
        assert_eq!(speaks(&book, "two feet and no nose", &on, &Nothing), Some(30));
        let nose =
            dam(Parity::Heifer, &[marks[0], marks[1], (Mark::Progress, 20), (Mark::Nose, 28)]);
        assert_eq!(speaks(&book, "two feet and no nose", &nose, &Nothing), None);
    }

    /// facts.md X-03 and S2-15 (extension service): a rest of 5 to 10 min is normal, a stop of 15 to 20 is not.
    #[test]
    fn a_rest_of_ten_minutes_is_normal_and_a_stop_of_twenty_is_not() {
        let book = shipped();
        let mut dam = dam(Parity::Heifer, &[(Mark::WaterBag, 0)]);
        let tail: Arc<str> = "tail".into();
        let effort = |dam: &mut Dam, at: i64| {
            let count = Count::carried(minute(at), minute(at), 2);
            assert!(dam.count("contraction", (7, &tail), count, true, book.keep));
        };
        for at in [2, 4, 6, 16, 18, 28] {
            effort(&mut dam, at);
        }
        let rule = book.dam.iter().find(|rule| rule.name.as_str() == "efforts stopped").unwrap();
        let wrong = |now| matches!(rule.ask(&dam, &asking(&Worn, now)), Verdict::Wrong(_));
        let first = (0..120).find(|now| wrong(*now));
        assert_eq!(first, Some(48), "twenty minutes after the last, and neither rest before");
        assert_eq!(speaks(&book, "efforts stopped", &dam, &Nothing), None, "nothing is heard");
        let mut again = dam.clone();
        effort(&mut again, 47);
        assert!(!matches!(rule.ask(&again, &asking(&Worn, 50)), Verdict::Wrong(_)));
    }

    /// facts.md S2-14 (extension service): more than 30 min of trying, and nothing shows.
    #[test]
    fn straining_without_anything_to_see_is_told_after_half_an_hour() {
        let book = shipped();
        let rule = "straining and nothing shows";
        let strains = dam(Parity::Heifer, &[(Mark::Straining, 0)]);
        assert_eq!(speaks(&book, rule, &strains, &Nothing), Some(30));
        assert_eq!(speaks(&book, "no progress in second stage", &strains, &Nothing), Some(20));
        let bag = dam(Parity::Heifer, &[(Mark::Straining, 0), (Mark::WaterBag, 29)]);
        assert_eq!(speaks(&book, rule, &bag, &Nothing), None);
    }

    /// facts.md C-21 is the reason for a limit of its own in the cold.
    #[test]
    fn the_shortest_limit_that_applies_holds() {
        let more = |limit: &str| {
            format!(
                "[[rule]]\nname = 'calf not sucked'\nsince = 'calf'\nuntil = 'sucked'\nlimit = {limit}"
            )
        };
        let at = |limit: &str, parity, cold| {
            let book = Book::of(&config(&more(limit)));
            let rule =
                book.dam.iter().find(|rule| rule.name.as_str() == "calf not sucked").unwrap();
            let dam = dam(parity, &[(Mark::Calf, 0)]);
            let asking = |now| Asking { wearing: &Nothing, cold, now: minute(now) };
            (0..400).find(|now| matches!(rule.ask(&dam, &asking(*now)), Verdict::Wrong(_)))
        };
        let all = "{ cow = '2h', heifer = '3h', cold = '1h' }";
        assert_eq!(at(all, Parity::Cow, false), Some(120));
        assert_eq!(at(all, Parity::Heifer, false), Some(180));
        assert_eq!(at(all, Parity::Heifer, true), Some(60));
        assert_eq!(
            at("{ cow = '2h', cold = '4h' }", Parity::Heifer, true),
            Some(120),
            "the shorter"
        );
        assert_eq!(at("{ cold = '1h' }", Parity::Cow, false), None, "in the cold only");
        assert_eq!(at("{ cold = '1h' }", Parity::Cow, true), Some(60));
    }

    fn calf(dam: &mut Dam, mark: Mark, number: u8, at: i64) {
        let _ = dam.note(Noted { calf: Some(number), ..Noted::bare(mark, minute(at)) });
    }

    #[test]
    fn each_living_calf_has_a_clock_of_its_own() {
        let book = shipped();
        let rule = book.dam.iter().find(|rule| rule.name.as_str() == "calf not sucked").unwrap();
        let asked = |dam: &Dam, now| rule.ask(dam, &asking(&Nothing, now));
        let of = |verdict: Verdict| match verdict {
            Verdict::Wrong(Wrong { figures: Figures::Clock { calf, .. }, ends, .. }) => {
                (calf, ends.map(|at| at.since(Moment::default()).whole_minutes()))
            }
            other @ (Verdict::Fine | Verdict::FineUntil(_) | Verdict::Wrong(_)) => {
                panic!("{other:?}")
            }
        };
        let mut dam = dam(Parity::Cow, &[(Mark::Calf, 0), (Mark::SecondCalf, 30)]);
        assert_eq!(asked(&dam, 60), Verdict::FineUntil(minute(120)));
        assert_eq!(of(asked(&dam, 121)), (Some(1), Some(150)), "the first; the other's is to come");
        calf(&mut dam, Mark::Sucked, 1, 125);
        assert_eq!(asked(&dam, 126), Verdict::FineUntil(minute(150)));
        assert_eq!(of(asked(&dam, 151)), (Some(2), None));
        let mut dead = dam.clone();
        calf(&mut dead, Mark::CalfDead, 2, 160);
        assert_eq!(asked(&dead, 161), Verdict::Fine);
        calf(&mut dam, Mark::Colostrum, 2, 170);
        assert_eq!(asked(&dam, 171), Verdict::Fine);
        let unborn =
            self::dam(Parity::Cow, &[(Mark::Feet, 0), (Mark::CalfDead, 5), (Mark::Calf, 9)]);
        assert_eq!(asked(&unborn, 200), Verdict::Fine, "it was found dead before it was out");
        let mut single = Dam::default();
        let _ = single.mark(Mark::Calf, minute(0));
        assert_eq!(of(asked(&single, 121)), (None, None), "a calf alone is not numbered");
        let clocks = rule.clocks(&single, &asking(&Nothing, 10));
        assert_eq!(clocks[0].due, minute(120));
        assert_eq!(clocks[0].stops, "sucked, colostrum or calf dead");
    }
}
