//! One dam's calving: what was seen, when, and the stage that follows from it.
//!
//! A stage goes forward unless a person corrects it. Nothing here decides whom to tell.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::by_hand;
use super::calf::Calf;
use super::case::Case;
pub use super::marked::{Marked, Moved, NotTaken};
use super::misfiled::Misfiled;
use super::noted::Noted;
use super::proves::{AFTER_THE_CALF, reached_by};
use super::series::{Keep, Sample, Series};
use super::sign::Mark;
use super::stage::Stage;
use super::tally::{Count, Tally};
use super::told::Told;
use crate::config::animals::Parity;
use crate::config::species_terms::Spans;
use crate::plain::moment::{Moment, Span};

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dam {
    /// From the herd file: whether she stands in it, and whether she has calved before.
    pub listed: bool,
    pub parity: Parity,
    /// How many calves a scan has shown; none where nobody scanned.
    #[serde(default)]
    pub scanned: u8,
    pub stage: Stage,
    /// From the farm's species.
    #[serde(default, skip_serializing_if = "Spans::are_usual")]
    pub spans: Spans,
    /// When each stage was entered in this calving.
    entered: BTreeMap<Stage, Moment>,
    marks: BTreeMap<Mark, Track>,
    /// How often each device counted a sign.
    tallies: BTreeMap<String, Told<Tally>>,
    /// What each device measured of a sign.
    series: BTreeMap<String, Told<Series>>,
    /// A person said that it was a false alarm: what happened before does not count.
    cleared: Option<Moment>,
    /// The record of this calving.
    #[serde(default)]
    case: Case,
    /// The records of those before it, the oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    earlier: Vec<Case>,
}

/// When a mark was first and last made in this calving.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Track {
    pub first: Moment,
    pub last: Moment,
}

impl Default for Dam {
    fn default() -> Self {
        Self {
            // The shorter limits, until the herd file says otherwise.
            listed: false,
            parity: Parity::Cow,
            scanned: 0,
            stage: Stage::Carrying,
            spans: Spans::default(),
            entered: BTreeMap::new(),
            marks: BTreeMap::new(),
            tallies: BTreeMap::new(),
            series: BTreeMap::new(),
            cleared: None,
            case: Case::default(),
            earlier: Vec::new(),
        }
    }
}

impl Dam {
    /// Takes a mark made of her at a moment, with nothing more said of it.
    pub fn mark(&mut self, mark: Mark, at: Moment) -> Marked {
        self.note(Noted::bare(mark, at))
    }

    /// Takes what was noted of her or her calf.
    pub fn note(&mut self, noted: Noted) -> Marked {
        let (mark, at) = (noted.mark, noted.at);
        if mark == Mark::FalseAlarm {
            let cleared = self.clear(at);
            if matches!(cleared, Marked::Kept(_)) {
                self.case.note(noted);
            }
            return cleared;
        }
        if self.begins_anew(mark, at) {
            self.carries_again();
        }
        if self.is_cleared(at) {
            return Marked::Not(NotTaken::BeforeFalse);
        }
        if matches!(mark, Mark::Placenta | Mark::AllBorn) && !self.has_calved() {
            // A placenta before the calf is an emergency, not the end of one.
            return Marked::Not(NotTaken::NoYoung);
        }
        if let Some(why) = self.case.refuses(&noted) {
            return Marked::Not(why);
        }
        let of_another = mark.is_of_a_calf() && noted.calf.is_some_and(|calf| calf > 1);
        if mark.proves_a_calf() || mark == Mark::SecondCalf || of_another {
            self.keep(Mark::Calf, at, false);
        }
        if mark == Mark::SecondCalf && self.track(Mark::AllBorn).is_some_and(|all| all.last < at) {
            // So that was not the last one: the clock of the next runs on.
            self.marks.remove(&Mark::AllBorn);
        }
        if of_another {
            self.keep(Mark::SecondCalf, at, false);
        }
        self.keep(mark, at, true);
        let calf = self.case.note(noted);
        self.settle_what_a_birth_ends(mark, calf);
        Marked::Kept(reached_by(mark).and_then(|stage| self.enter(stage, at)))
    }

    /// Her next calving is waited for: what was noted so far is a record of the last one.
    pub fn carries_again(&mut self) {
        self.earlier.push(std::mem::take(&mut self.case));
        let earlier = std::mem::take(&mut self.earlier);
        *self = Self {
            listed: self.listed,
            parity: self.parity,
            spans: self.spans,
            scanned: self.scanned,
            earlier,
            ..Self::default()
        };
    }

    /// A birth ends what was before it, and a calf that lives after all is not dead.
    fn settle_what_a_birth_ends(&mut self, mark: Mark, calf: Option<u8>) {
        if matches!(mark, Mark::Straining | Mark::Aborted) || calf.is_some() {
            self.strains_anew();
        }
        if calf.is_some() && self.case.of(Mark::CalfDead).next().is_none() {
            self.marks.remove(&Mark::CalfDead);
        }
        if let (Mark::CalfDead, Some(calf)) = (mark, calf)
            && let Some(told) = self.series.get_mut(by_hand::CALF_TEMPERATURE)
        {
            // A dead calf's cold is no finding any more.
            let _ = told.take(by_hand::of_calf(calf), |_| true);
        }
    }

    /// What she strains before the calf is of its birth; after it, another may be coming.
    fn strains_anew(&mut self) {
        self.marks.remove(&Mark::Straining);
        let born = self.track(Mark::Calf).or_else(|| self.track(Mark::Aborted));
        let born = born.map(|born| born.first);
        self.case.strained(born).into_iter().for_each(|at| self.keep(Mark::Straining, at, true));
    }

    /// Whether there is a calf, or what was to be one.
    fn has_calved(&self) -> bool {
        self.marks.contains_key(&Mark::Calf) || self.marks.contains_key(&Mark::Aborted)
    }

    /// The record of this calving.
    pub fn case(&self) -> &Case {
        &self.case
    }

    /// The records of the calvings before this one, the oldest first.
    pub fn earlier(&self) -> &[Case] {
        &self.earlier
    }

    /// Her calves of this calving, in the order of birth.
    pub fn calves(&self) -> &[Calf] {
        self.case.calves()
    }

    /// She is in `stage` or past it since `at`; says whether that moved her.
    pub fn enter(&mut self, stage: Stage, at: Moment) -> Option<Moved> {
        if self.stage > stage {
            // Told late: history, unless it would put an early stage behind a later one.
            if self.entered.get(&self.stage).is_some_and(|now| at <= *now) {
                let entered = self.entered.entry(stage).or_insert(at);
                *entered = (*entered).min(at);
            }
            return None;
        }
        let entered = self.entered.entry(stage).or_insert(at);
        *entered = (*entered).min(at);
        let from = self.stage;
        self.stage = stage;
        (from != stage).then_some(Moved { from, to: stage })
    }

    /// Counts what a device tells of a sign; `false` if the very same message was counted before. A
    /// device that counts nothing is known from then on to count this sign.
    pub fn count(
        &mut self,
        sign: &str,
        by: (u32, &Arc<str>),
        count: Count,
        carries_its_time: bool,
        keep: Span,
    ) -> bool {
        if self.is_cleared(count.at) {
            return false;
        }
        of_sign(&mut self.tallies, sign, |told| {
            let tally = told.by(by.0, by.1);
            count.n > 0 && tally.add(count, carries_its_time, keep)
        })
    }

    /// Keeps what a device measured of a sign; `false` if that changes nothing.
    pub fn measure(&mut self, sign: &str, by: (u32, &Arc<str>), what: Sample, keep: Keep) -> bool {
        let put = |told: &mut Told<Series>| told.by(by.0, by.1).add(what, keep);
        !self.is_cleared(what.0) && of_sign(&mut self.series, sign, put)
    }

    /// Gives up what a device told at such times: it was on another dam then.
    pub fn gives_up(&mut self, device: u32, when: impl Fn(Moment) -> bool) -> Misfiled {
        let mut misfiled = Misfiled::default();
        for (sign, told) in &mut self.tallies {
            if let Some((kind, counts)) = told.take(device, &when) {
                misfiled.counts.push((sign.clone(), kind, counts));
            }
        }
        for (sign, told) in &mut self.series {
            if let Some((kind, samples)) = told.take(device, &when) {
                misfiled.samples.push((sign.clone(), kind, samples));
            }
        }
        misfiled
    }

    /// Takes over what a device told while it was thought to be on another dam. `keep`: counts so long,
    /// of each sign so many amounts.
    pub fn takes_over(
        &mut self,
        device: u32,
        misfiled: Misfiled,
        keep: (Span, &BTreeMap<String, Keep>),
    ) {
        for (sign, kind, counts) in misfiled.counts {
            let by = (device, &kind);
            of_sign(&mut self.tallies, &sign, |told| {
                let _ = told.by(by.0, by.1);
                false
            });
            for count in counts {
                // Each was known by its own time when it first came.
                let _ = self.count(&sign, by, count, false, keep.0);
            }
        }
        for (sign, kind, samples) in misfiled.samples {
            let Some(keep) = keep.1.get(&sign) else { continue };
            for sample in samples {
                let _ = self.measure(&sign, (device, &kind), sample, *keep);
            }
        }
    }

    /// How often each device counted a sign.
    pub fn tallies(&self, sign: &str) -> Option<&Told<Tally>> {
        self.tallies.get(sign)
    }

    /// What each device measured of a sign.
    pub fn series(&self, sign: &str) -> Option<&Told<Series>> {
        self.series.get(sign)
    }

    /// When a sign was first counted, by whatever device, as far back as is kept; and when last.
    pub fn counted(&self, sign: &str) -> Option<Track> {
        let tallies = || self.tallies.get(sign).into_iter().flat_map(Told::iter);
        let first = tallies().filter_map(|told| told.what.first()).min()?;
        let last = tallies().filter_map(|told| told.what.last()).max()?;
        Some(Track { first, last })
    }

    fn is_cleared(&self, at: Moment) -> bool {
        self.cleared.is_some_and(|cleared| at <= cleared)
    }

    pub fn track(&self, mark: Mark) -> Option<Track> {
        self.marks.get(&mark).copied()
    }

    pub fn entered(&self, stage: Stage) -> Option<Moment> {
        self.entered.get(&stage).copied()
    }

    /// When each stage of this calving was entered.
    pub fn stages(&self) -> &BTreeMap<Stage, Moment> {
        &self.entered
    }

    fn keep(&mut self, mark: Mark, at: Moment, again: bool) {
        let track = self.marks.entry(mark).or_insert(Track { first: at, last: at });
        if again {
            track.first = track.first.min(at);
            track.last = track.last.max(at);
        }
    }

    /// A person takes the latest stage back: from first or second stage she carries again and nothing
    /// before counts; a calf, placenta or death noted of the wrong dam is unsaid, and the clocks of
    /// the stage before run on.
    fn clear(&mut self, at: Moment) -> Marked {
        let later = |moment: &Moment| *moment > at;
        if self.marks.values().any(|track| later(&track.last)) || self.entered.values().any(later) {
            return Marked::Not(NotTaken::LaterNoted);
        }
        let from = self.stage;
        match from {
            Stage::Carrying | Stage::First | Stage::Second => {
                self.case.strike_all();
                let kept = Self {
                    listed: self.listed,
                    parity: self.parity,
                    spans: self.spans,
                    scanned: self.scanned,
                    case: std::mem::take(&mut self.case),
                    earlier: std::mem::take(&mut self.earlier),
                    ..Self::default()
                };
                *self = Self { cleared: Some(at), ..kept };
            }
            Stage::Third => self.unsay(&AFTER_THE_CALF),
            Stage::Recovering => self.unsay(&[Mark::Placenta]),
            Stage::Closed => self.unsay(&[Mark::DamDead]),
        }
        let to = self.stage;
        Marked::Kept((from != to).then_some(Moved { from, to }))
    }

    fn unsay(&mut self, marks: &[Mark]) {
        for mark in marks {
            self.marks.remove(mark);
        }
        self.case.strike(marks);
        if marks.contains(&Mark::Calf) {
            self.strains_anew();
        }
        self.entered.remove(&self.stage);
        self.stage = self.entered.keys().next_back().copied().unwrap_or(Stage::Carrying);
        // What was noted while she was thought to be further on counts now.
        let proven: Vec<(Stage, Moment)> = self
            .marks
            .iter()
            .filter_map(|(mark, track)| Some((reached_by(*mark)?, track.first)))
            .collect();
        for (stage, at) in proven {
            let _ = self.enter(stage, at);
        }
    }

    /// A dam let go long ago begins anew with the first sign of the next calving.
    fn begins_anew(&self, mark: Mark, at: Moment) -> bool {
        let closed = self.entered(Stage::Closed).filter(|_| self.stage == Stage::Closed);
        let dead = self.marks.contains_key(&Mark::DamDead);
        let sign = reached_by(mark).is_some_and(|stage| stage < Stage::Recovering);
        !dead && sign && closed.is_some_and(|closed| at >= closed + self.spans.between_births)
    }
}

/// Mostly the sign is there, and then its name need not be copied.
fn of_sign<T>(
    all: &mut BTreeMap<String, Told<T>>,
    sign: &str,
    put: impl FnOnce(&mut Told<T>) -> bool,
) -> bool {
    if let Some(told) = all.get_mut(sign) {
        return put(told);
    }
    put(all.entry(sign.to_owned()).or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn after(marks: &[(Mark, i64)]) -> Dam {
        let mut dam = Dam::default();
        for (mark, at) in marks {
            let _ = dam.mark(*mark, minute(*at));
        }
        dam
    }

    #[test]
    fn a_stage_goes_forward_only() {
        let dam = after(&[(Mark::Feet, 10), (Mark::TailRaised, 11), (Mark::WaterBag, 12)]);
        assert_eq!(dam.stage, Stage::Second);
        assert_eq!(dam.entered(Stage::Second), Some(minute(10)));
        assert_eq!(dam.entered(Stage::First), None);
    }

    #[test]
    fn a_mark_told_late_moves_the_clock_back_but_not_the_stage() {
        let mut dam = after(&[(Mark::Feet, 15)]);
        assert_eq!(dam.mark(Mark::WaterBag, minute(5)), Marked::Kept(None));
        assert_eq!(dam.entered(Stage::Second), Some(minute(5)));
    }

    #[test]
    fn a_mark_told_late_moves_the_clock_of_a_stage_she_has_left() {
        let mut dam = after(&[(Mark::Feet, 15), (Mark::Calf, 40)]);
        assert_eq!(dam.mark(Mark::WaterBag, minute(5)), Marked::Kept(None));
        assert_eq!(dam.entered(Stage::Second), Some(minute(5)));
        assert_eq!(dam.stage, Stage::Third);
    }

    #[test]
    fn a_false_alarm_takes_her_back_and_forgets_what_came_before() {
        let mut dam = after(&[(Mark::WaterBag, 5), (Mark::FalseAlarm, 9)]);
        assert_eq!((dam.stage, dam.track(Mark::WaterBag)), (Stage::Carrying, None));
        assert!(matches!(dam.mark(Mark::Feet, minute(8)), Marked::Not(_)));
        assert!(!dam.count(
            "contraction",
            (7, &Arc::from("tail")),
            Count::carried(minute(8), minute(8), 3),
            true,
            Span::hours(1)
        ));
    }

    #[test]
    fn a_calf_noted_of_the_wrong_dam_is_unsaid_and_her_clocks_run_on() {
        let mut dam = after(&[(Mark::WaterBag, 5), (Mark::Calf, 9), (Mark::Sucked, 10)]);
        assert!(matches!(dam.mark(Mark::FalseAlarm, minute(11)), Marked::Kept(Some(_))));
        assert_eq!((dam.stage, dam.track(Mark::Calf)), (Stage::Second, None));
        assert_eq!(dam.entered(Stage::Second), Some(minute(5)));
        let mut dead = after(&[(Mark::Feet, 5), (Mark::DamDead, 6), (Mark::FalseAlarm, 7)]);
        assert_eq!(dead.stage, Stage::Second);
        assert!(matches!(dead.mark(Mark::Calf, minute(8)), Marked::Kept(Some(_))));
    }

    #[test]
    fn what_was_noted_of_a_dam_thought_dead_counts_once_she_is_not() {
        let mut dam = after(&[(Mark::Feet, 5), (Mark::DamDead, 6), (Mark::Calf, 9)]);
        assert_eq!(dam.stage, Stage::Closed);
        let alive = dam.mark(Mark::FalseAlarm, minute(10));
        assert_eq!(alive, Marked::Kept(Some(Moved { from: Stage::Closed, to: Stage::Third })));
        assert_eq!(dam.entered(Stage::Third), Some(minute(9)));
    }

    #[test]
    fn a_false_alarm_of_an_earlier_hour_takes_nothing_later_back() {
        let mut dam = after(&[(Mark::WaterBag, 60)]);
        assert!(matches!(dam.mark(Mark::FalseAlarm, minute(30)), Marked::Not(_)));
        assert_eq!(dam.stage, Stage::Second);
    }

    #[test]
    fn the_next_calving_begins_anew() {
        let mut dam = after(&[(Mark::Calf, 0), (Mark::Placenta, 240)]);
        let _ = dam.enter(Stage::Closed, minute(10 * 24 * 60));
        let soon = dam.mark(Mark::WaterBag, minute(11 * 24 * 60));
        assert_eq!((soon, dam.stage), (Marked::Kept(None), Stage::Closed));
        let next = Moment::default() + Span::days(360);
        assert!(matches!(dam.mark(Mark::WaterBag, next), Marked::Kept(Some(_))));
        assert_eq!((dam.stage, dam.entered(Stage::Second)), (Stage::Second, Some(next)));
        assert_eq!(dam.track(Mark::Calf), None);
    }

    #[test]
    fn a_placenta_before_the_calf_ends_nothing() {
        let mut dam = after(&[(Mark::WaterBag, 5)]);
        assert!(matches!(dam.mark(Mark::Placenta, minute(6)), Marked::Not(_)));
        assert_eq!(dam.stage, Stage::Second);
    }

    #[test]
    fn a_calf_that_sucks_has_been_born() {
        let dam = after(&[(Mark::Sucked, 30)]);
        assert_eq!(dam.stage, Stage::Third);
        assert_eq!(dam.track(Mark::Calf).map(|track| track.first), Some(minute(30)));
    }

    #[test]
    fn she_is_watched_to_day_ten_after_the_calf() {
        let dam = after(&[(Mark::Calf, 0), (Mark::Placenta, 240)]);
        assert_eq!(dam.stage, Stage::Recovering);
        assert_eq!(dam.closes(), Some(minute(10 * 24 * 60)));
    }

    #[test]
    fn all_are_born_until_another_comes_and_none_before_the_first() {
        let mut sow = after(&[(Mark::WaterBag, 0)]);
        assert!(matches!(sow.mark(Mark::AllBorn, minute(5)), Marked::Not(_)));
        for (mark, at) in [(Mark::Calf, 10), (Mark::SecondCalf, 20), (Mark::AllBorn, 60)] {
            assert!(matches!(sow.mark(mark, minute(at)), Marked::Kept(_)));
        }
        assert_eq!(sow.mark(Mark::SecondCalf, minute(30)), Marked::Kept(None), "told late");
        assert!(sow.track(Mark::AllBorn).is_some());
        assert_eq!(sow.mark(Mark::SecondCalf, minute(70)), Marked::Kept(None));
        assert_eq!(sow.track(Mark::AllBorn), None, "so it was not the last");
    }

    #[test]
    fn a_dam_is_let_go_and_begins_anew_by_the_spans_of_her_species() {
        let day = |n: i64| Moment::default() + Span::days(n);
        let spans = Spans { after_birth: Span::days(7), between_births: Span::days(80) };
        let mut sow = Dam { spans, ..after(&[(Mark::Calf, 0), (Mark::Placenta, 60)]) };
        assert_eq!(sow.closes(), Some(day(7)));
        let _ = sow.enter(Stage::Closed, day(7));
        assert_eq!(sow.mark(Mark::Restless, day(86)), Marked::Kept(None), "too soon");
        assert!(matches!(sow.mark(Mark::Restless, day(87)), Marked::Kept(Some(_))));
        assert_eq!((sow.stage, sow.spans, sow.earlier().len()), (Stage::First, spans, 1));
        assert!(matches!(sow.mark(Mark::FalseAlarm, day(88)), Marked::Kept(Some(_))));
        assert_eq!(sow.spans, spans);
    }

    #[test]
    fn straining_before_the_calf_is_no_twin_and_comes_back_with_the_birth_unsaid() {
        let mut dam = after(&[(Mark::Straining, 5), (Mark::Calf, 30)]);
        assert_eq!(dam.track(Mark::Straining), None);
        let _ = dam.mark(Mark::Straining, minute(70));
        assert_eq!(dam.track(Mark::Straining).map(|track| track.first), Some(minute(70)));
        let _ = dam.mark(Mark::FalseAlarm, minute(80));
        assert_eq!(dam.stage, Stage::Second);
        assert_eq!(dam.track(Mark::Straining).map(|track| track.first), Some(minute(5)));
    }

    #[test]
    fn whoever_felt_a_single_calf_ends_the_asking_for_another() {
        let mut dam = after(&[(Mark::Calf, 30)]);
        dam.scanned = 2;
        assert_eq!(dam.expects(), 2);
        let _ = dam.note(Noted { note: "single".into(), ..Noted::bare(Mark::Calf, minute(90)) });
        assert_eq!((dam.expects(), dam.calves().len()), (1, 1));
        assert_eq!(dam.calves()[0].born.at, minute(30));
    }

    /// "Calf dead" before any calf is no birth: the clocks of second stage must run on.
    #[test]
    fn a_calf_dead_inside_is_not_born_and_a_calf_that_breathes_is_not_dead() {
        let mut dam = after(&[(Mark::WaterBag, 0), (Mark::CalfDead, 20)]);
        assert_eq!((dam.stage, dam.track(Mark::Calf)), (Stage::Second, None));
        let _ = dam.mark(Mark::Calf, minute(40));
        assert!(dam.calves()[0].is_dead() && dam.track(Mark::CalfDead).is_some());
        let _ = dam.mark(Mark::Breathing, minute(41));
        assert!(!dam.calves()[0].is_dead() && dam.track(Mark::CalfDead).is_none());
    }
}
