//! Who is due and what stands out about each, and what a birth before term comes to.
//!
//! What a mark weighs decides only the order of the list; it is the farm's own eyes that judge. The
//! weights are common practice, no source; why each counts at all is said beside it.

use jiff::civil::Date;

use super::Watch;
use super::out::Out;
use super::ready::Ready;
use crate::config::Config;
use crate::config::animals::{AnimalRow, Parity};
use crate::herd::case::Case;
use crate::herd::dam::Dam;
use crate::herd::past::Own;
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::herd::window::{Window, between};
use crate::plain::ids::Animal;
use crate::plain::moment::Moment;
use crate::talk::due::{self, DueView};
use crate::talk::reason;
use crate::talk::speech::Speech;

/// Signs that she is near: with slack ligaments and full teats the next hours count (facts.md S1-10).
const SIGN: u32 = 4;
/// Twins come early, and one is often turned (facts.md G-24, X-08).
const TWINS: u32 = 3;
/// Who had trouble may have it again (facts.md X-20).
const TROUBLE: u32 = 3;
/// A heifer has no calving behind her, and her limits differ (facts.md S2-02, S2-03).
const HEIFER: u32 = 2;
/// Younger than 22 months or older than 26 at her first calving (facts.md X-20).
const AGE: u32 = 1;
/// A sire whose calves come late: each day is weight (facts.md G-31).
const SIRE: u32 = 1;
/// Somebody thought it worth writing down.
const NOTE: u32 = 1;
/// A sire's calves are late from so many thousandths of a day on (common practice, no source).
const SIRE_LATE: i64 = 3_000;
/// The ages at which a heifer calves with least trouble, in days of months of 30.4 (facts.md X-20).
const AGES: std::ops::RangeInclusive<i64> = 669..=791;
/// From here on her temper is said (needs.md N104: 1 docile to 6 aggressive).
const TEMPER: u8 = 4;
/// Columns of the farm's own that say what stands out about her.
const OWN: [&str; 2] = ["risk", "trouble"];

/// Every dam with a date who has not calved, in the order of the list.
pub fn list<'d>(
    config: &Config,
    own: &Own,
    dam: impl Fn(&Animal) -> Option<&'d Dam>,
    today: Date,
) -> Vec<DueView> {
    let rows = config.animals.iter().filter_map(|row| {
        let dam = dam(&row.animal);
        let stage = dam.map_or(Stage::Carrying, |dam| dam.stage);
        if stage >= Stage::Third {
            return None;
        }
        let window = Window::of(row, &config.species, own)?;
        let mut risks = risks(row, &window, dam, own);
        risks.sort_by_key(|(weight, _)| std::cmp::Reverse(*weight));
        Some(DueView {
            animal: row.animal.clone(),
            name: row.name.clone(),
            group: row.group.clone(),
            stage,
            day: window.day(today),
            expected: window.expected,
            left: between(today, window.expected),
            likely_from: window.likely.0,
            likely_until: window.likely.1,
            from: window.from,
            until: window.until,
            given_up: window.given_up,
            flat: window.flat,
            phase: window.phase(today),
            weight: risks.iter().map(|(weight, _)| weight).sum(),
            risks: risks.into_iter().map(|(_, words)| words).collect(),
            source: window.source(),
            yours: window.carried.yours,
        })
    });
    let mut rows: Vec<DueView> = rows.collect();
    due::sort(&mut rows);
    rows
}

/// What stands out about her, and what it weighs.
fn risks(row: &AnimalRow, window: &Window, dam: Option<&Dam>, own: &Own) -> Vec<(u32, String)> {
    let mut risks = Vec::new();
    for mark in [Mark::Slack, Mark::BaggedUp] {
        if dam.is_some_and(|dam| dam.track(mark).is_some()) {
            risks.push((SIGN, mark.word().to_owned()));
        }
    }
    match row.scanned {
        Some(2) => risks.push((TWINS, "twins".to_owned())),
        Some(more @ 3..) => risks.push((TWINS, format!("{more} young"))),
        Some(0 | 1) | None => {}
    }
    for trouble in dam.map_or_else(Vec::new, |dam| troubles(dam.earlier())) {
        risks.push((TROUBLE, trouble));
    }
    if row.parity == Parity::Heifer {
        risks.push((HEIFER, "heifer".to_owned()));
        if let Some(born) = row.born {
            let age = between(born, window.expected);
            if !AGES.contains(&age) {
                risks.push((AGE, format!("{} months at calving", age * 10 / 304)));
            }
        }
    }
    let late = own.sire(&row.sire).0;
    if late >= SIRE_LATE {
        risks.push((SIRE, format!("calves of {} come {} days late", row.sire, late / 1000)));
    }
    for (_, said) in row.own.iter().filter(|(name, _)| OWN.contains(&name.as_str())) {
        risks.push((TROUBLE, said.clone()));
    }
    if let Some(temper) = row.temper.filter(|temper| *temper >= TEMPER) {
        risks.push((0, format!("temper {temper}")));
    }
    if !row.notes.is_empty() {
        risks.push((NOTE, row.notes.clone()));
    }
    risks
}

/// What went wrong at her last calving that the record has.
fn troubles(earlier: &[Case]) -> Vec<String> {
    let Some(last) = earlier.last() else { return Vec::new() };
    let marks = [
        (Mark::Helped, "helped last time"),
        (Mark::Vet, "vet last time"),
        (Mark::Backward, "backward last time"),
        (Mark::CalfDead, "lost a calf last time"),
        (Mark::Aborted, "aborted last time"),
        (Mark::Prolapse, "prolapse last time"),
        (Mark::Wobbly, "wobbly last time"),
        (Mark::Down, "went down last time"),
    ];
    let had = marks.into_iter().filter(|(mark, _)| last.of(*mark).next().is_some());
    had.map(|(_, words)| words.to_owned()).collect()
}

impl Watch {
    pub(super) fn due(&self, now: Moment, ready: &Ready) -> Vec<DueView> {
        let today = ready.config.farm.zone.wall(now).date();
        list(&ready.config, &ready.own, |animal| self.state().dams.get(animal), today)
    }

    /// What a birth comes to that was before term, for whoever told of it, and in the diary. Empty if it
    /// was at term, or nobody knows.
    pub(super) fn before_term(
        &self,
        animal: &Animal,
        mark: Mark,
        at: Moment,
        speech: &Speech<'_>,
        ready: &Ready,
        out: &mut Out,
    ) -> String {
        if !matches!(mark, Mark::Calf | Mark::SecondCalf | Mark::Aborted) {
            return String::new();
        }
        let Some(place) = self.state().dams.find(animal) else { return String::new() };
        let window = ready.due(place);
        let day = window.as_ref().and_then(|w| w.day(ready.config.farm.zone.wall(at).date()));
        let edges = ready.edges(place);
        let lost = edges.and_then(|edges| edges.term).is_some_and(|term| at < term);
        let early = edges.is_some_and(|edges| at < edges.opens);
        let lost = mark == Mark::Aborted || lost;
        if !lost && !early {
            return String::new();
        }
        let words = |speech: &Speech<'_>| {
            let day = day.map(|day| reason::day(day, speech.phrases()));
            let day = day.map_or(String::new(), |day| format!("{day}, "));
            let (lost_early, born_early) = (speech.answers.lost_early, speech.answers.born_early);
            format!("{animal}: {day}{}", if lost { lost_early } else { born_early })
        };
        out.note(format!("dam {}", words(&Speech::english(&ready.config))));
        let (what, words) = (words(speech), speech.answers);
        if lost {
            let full = speech.phrases().aborted.trim_start();
            return format!("\n{what}. {}\n{full}", words.aborted_short);
        }
        format!("\n{what}. {}", speech.plain(words.early_care))
    }
}
