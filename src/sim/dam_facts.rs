//! One dam as the evidence has her, kept by a second, simpler hand than the herd's own.

use std::collections::{BTreeMap, BTreeSet};

use super::limits::{self, Began, Clock};
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::moment::{Moment, Span};

#[derive(Clone)]
pub(super) struct DamFacts {
    heifer: bool,
    pub(super) stage: Stage,
    entered: BTreeMap<Stage, Moment>,
    marks: BTreeMap<Mark, (Moment, Moment)>,
    /// By the time that the message carried: when it counts, and how many.
    counts: BTreeMap<Moment, (Moment, u32)>,
    cleared: Option<Moment>,
    /// What was said of each calf.
    calves: Vec<BTreeSet<Mark>>,
    /// When anything about her last came in: before that nobody could know.
    pub(super) told: Moment,
    /// A backlog about her comes in since then, and nobody is asked about her until then.
    pub(super) poured: Option<(Moment, Moment)>,
}

impl DamFacts {
    /// `false` if it cannot be so.
    pub(super) fn mark(&mut self, mark: Mark, at: Moment, now: Moment) -> bool {
        if mark == Mark::FalseAlarm {
            return self.taken_back(at, now);
        }
        let unborn = !self.marks.contains_key(&Mark::Calf);
        // Colostrum without a calf is what drips from her.
        let too_soon = unborn && matches!(mark, Mark::Placenta | Mark::Colostrum);
        if self.cleared.is_some_and(|cleared| at <= cleared) || too_soon {
            return false;
        }
        self.told = now;
        if matches!(mark, Mark::Sucked | Mark::SecondCalf) && unborn {
            self.marks.insert(Mark::Calf, (at, at));
        }
        let (first, last) = self.marks.entry(mark).or_insert((at, at));
        (*first, *last) = ((*first).min(at), (*last).max(at));
        self.proves(mark, at);
        self.of_a_calf(mark);
        true
    }

    /// What nobody said of which calf is of the first living one that lacks it, or of the last that lives.
    fn of_a_calf(&mut self, mark: Mark) {
        let born = usize::from(self.marks.contains_key(&Mark::Calf));
        let least = if mark == Mark::SecondCalf { 2 } else { born };
        while self.calves.len() < least {
            self.calves.push(BTreeSet::new());
        }
        let lives = |calf: &BTreeSet<Mark>| !calf.contains(&Mark::CalfDead);
        let lacks = |calf: &BTreeSet<Mark>| lives(calf) && !calf.contains(&mark);
        let place = self.calves.iter().position(lacks);
        let place = place.or(self.calves.iter().rposition(lives)).unwrap_or(0);
        let told = matches!(mark, Mark::Sucked | Mark::Colostrum | Mark::CalfDead | Mark::Up);
        if let Some(calf) = self.calves.get_mut(place).filter(|_| told) {
            calf.insert(mark);
        }
    }

    fn proves(&mut self, mark: Mark, at: Moment) {
        match mark {
            Mark::TailRaised | Mark::Restless => self.enters(Stage::First, at),
            Mark::WaterBag | Mark::Feet | Mark::Nose | Mark::Progress => {
                self.enters(Stage::Second, at)
            }
            Mark::Calf | Mark::SecondCalf | Mark::Sucked | Mark::Colostrum => {
                self.enters(Stage::Third, at)
            }
            Mark::Placenta => self.enters(Stage::Recovering, at),
            Mark::DamDead => self.enters(Stage::Closed, at),
            // The invented people say some of these, and none moves her; the others they never say.
            Mark::BaggedUp
            | Mark::Slack
            | Mark::Straining
            | Mark::Backward
            | Mark::OneFoot
            | Mark::TailOnly
            | Mark::Stained
            | Mark::Bleeding
            | Mark::Tongue
            | Mark::Aborted
            | Mark::Breathing
            | Mark::Sternal
            | Mark::Trying
            | Mark::Up
            | Mark::Navel
            | Mark::CalfTemperature
            | Mark::Weight
            | Mark::Sex
            | Mark::Vigour
            | Mark::Tagged
            | Mark::NeedsMother
            | Mark::Fostered
            | Mark::CalfDead
            | Mark::Temperature
            | Mark::Discharge
            | Mark::Down
            | Mark::Risen
            | Mark::OffFeed
            | Mark::Eating
            | Mark::Wobbly
            | Mark::Prolapse
            | Mark::Treated
            | Mark::Helped
            | Mark::Vet
            | Mark::HasMilk
            | Mark::Collected
            | Mark::Registered
            | Mark::Seen
            | Mark::AllBorn
            | Mark::FalseAlarm => {}
        }
    }

    pub(super) fn carrying(heifer: bool) -> Self {
        Self {
            heifer,
            stage: Stage::Carrying,
            entered: BTreeMap::new(),
            marks: BTreeMap::new(),
            counts: BTreeMap::new(),
            cleared: None,
            calves: Vec::new(),
            told: Moment::default(),
            poured: None,
        }
    }

    /// Something old about her came in; more of it may follow at once.
    pub(super) fn pours(&mut self, now: Moment) {
        let (from, until) = self.poured.filter(|(_, until)| *until >= now).unwrap_or((now, now));
        let ends = (now + limits::POUR_PAUSE).min(from + limits::POUR_MAX);
        (self.poured, self.told) = (Some((from, until.max(ends))), now);
    }

    pub(super) fn is_pouring(&self, now: Moment) -> bool {
        self.poured.is_some_and(|(_, until)| until > now)
    }

    pub(super) fn enters(&mut self, stage: Stage, at: Moment) {
        // Told late it is history, unless it would put an early stage behind a later one.
        let fits = self.entered.get(&self.stage).is_some_and(|now| at <= *now);
        if self.stage <= stage || fits {
            let since = self.entered.entry(stage).or_insert(at);
            *since = (*since).min(at);
        }
        self.stage = self.stage.max(stage);
    }

    /// A person takes the latest stage back; not what somebody has noted after that.
    fn taken_back(&mut self, at: Moment, now: Moment) -> bool {
        let noted = self.marks.values().map(|(_, last)| last).chain(self.entered.values());
        if noted.into_iter().any(|moment| *moment > at) {
            return false;
        }
        let unsaid: &[Mark] = match self.stage {
            Stage::Carrying | Stage::First | Stage::Second => {
                let poured = self.poured;
                *self =
                    Self { cleared: Some(at), told: now, poured, ..Self::carrying(self.heifer) };
                return true;
            }
            Stage::Third => &limits::OF_A_BIRTH,
            Stage::Recovering => &[Mark::Placenta],
            Stage::Closed => &[Mark::DamDead],
        };
        if unsaid.contains(&Mark::Calf) {
            self.calves.clear();
        }
        self.marks.retain(|mark, _| !unsaid.contains(mark));
        self.entered.remove(&self.stage);
        self.stage = self.entered.keys().next_back().copied().unwrap_or(Stage::Carrying);
        self.told = now;
        let noted: Vec<(Mark, Moment)> =
            self.marks.iter().map(|(mark, (first, _))| (*mark, *first)).collect();
        for (mark, at) in noted {
            self.proves(mark, at);
        }
        true
    }

    pub(super) fn count(&mut self, n: u32, at: Moment, now: Moment) {
        // Nothing has happened later than now, whatever the collar's clock says.
        let when = at.min(now);
        if self.cleared.is_some_and(|cleared| when <= cleared) {
            return;
        }
        // Every collar here sends its own time: the same time again is the same message again.
        self.counts.entry(at).or_insert((when, n));
        self.told = now;
        let old = now - Span::hours(26);
        while self.counts.first_key_value().is_some_and(|(at, _)| *at < old) {
            self.counts.pop_first();
        }
    }

    /// Since when the contractions of the last hour have been too many, if they are now.
    pub(super) fn building(&self, now: Moment) -> Option<Moment> {
        if !limits::BUILDING_IN.contains(&self.stage) {
            return None;
        }
        self.reached(now, limits::BUILDING_OVER, limits::BUILDING_AT)
    }

    /// Since when she strains on after a calf that no second has followed.
    pub(super) fn strains_on(&self, now: Moment) -> Option<Moment> {
        let over =
            [Mark::SecondCalf, Mark::Placenta].iter().any(|mark| self.marks.contains_key(mark));
        let (calf, _) = self.marks.get(&Mark::Calf)?;
        let from = *calf + limits::EFFORTS_FROM;
        if self.stage != Stage::Third || over || now < from {
            return None;
        }
        let reached = self.reached(now, limits::EFFORTS_OVER, limits::EFFORTS_AT);
        reached.map(|reached| reached.max(from))
    }

    /// Since when progress is told of her although her calf's nose is late; without such words another clock runs.
    pub(super) fn lacks_a_nose(&self, now: Moment) -> Option<Moment> {
        let first = |mark| self.marks.get(&mark).map(|(first, _)| *first);
        if self.stage != Stage::Second || first(Mark::Nose).or(first(Mark::Calf)).is_some() {
            return None;
        }
        let late = first(Mark::Feet)? + limits::NO_NOSE_AFTER_FEET;
        Some(late.max(first(Mark::Progress)?)).filter(|since| *since <= now)
    }

    /// Since when her calf is known to be dead inside her.
    pub(super) fn carries_a_dead_one(&self) -> Option<Moment> {
        let ended = [Mark::Calf, Mark::Aborted, Mark::Vet];
        if self.stage > Stage::Second || ended.iter().any(|mark| self.marks.contains_key(mark)) {
            return None;
        }
        self.marks.get(&Mark::CalfDead).map(|(first, _)| *first)
    }

    /// When the contractions of such a span became so many, if they are now.
    fn reached(&self, now: Moment, over: Span, least: u64) -> Option<Moment> {
        let last = self.counts.values().map(|(when, _)| *when).max();
        if last.is_none_or(|last| last <= now - over) || self.within(now, over) < least {
            return None;
        }
        let mut recent: Vec<Moment> = self
            .counts
            .values()
            .map(|(when, _)| *when)
            .filter(|when| *when > now - over && *when <= now)
            .collect();
        recent.sort();
        recent.into_iter().find(|when| self.within(*when, over) >= least)
    }

    pub(super) fn settle(&mut self, now: Moment) {
        if !self.is_pouring(now)
            && let Some(since) = self.building(now)
        {
            self.enters(Stage::First, since);
        }
    }

    pub(super) fn her_days_are_over(&self, now: Moment) -> bool {
        let calf = self.marks.get(&Mark::Calf);
        matches!(self.stage, Stage::Third | Stage::Recovering)
            && calf.is_some_and(|(first, _)| *first + limits::LET_GO_AFTER_CALF <= now)
    }

    /// Contractions of a span up to a moment.
    fn within(&self, at: Moment, over: Span) -> u64 {
        let of_it = |when: Moment| when > at - over && when <= at;
        self.counts.values().filter(|(when, _)| of_it(*when)).map(|(_, n)| u64::from(*n)).sum()
    }

    /// When this clock runs out, if it runs.
    pub(super) fn due(&self, clock: &Clock) -> Option<Moment> {
        let of_a_calf = clock.until.contains(&Mark::CalfDead);
        let lives = self.calves.iter().any(|calf| !calf.contains(&Mark::CalfDead));
        let orphan = of_a_calf && lives && self.marks.contains_key(&Mark::DamDead);
        if !orphan && !clock.stages.contains(&self.stage) {
            return None;
        }
        if of_a_calf && !self.calves.is_empty() {
            return self.due_of_a_calf(clock);
        }
        if clock.until.iter().any(|mark| self.marks.contains_key(mark)) {
            return None;
        }
        let of = |marks: &[Mark]| -> Vec<(Moment, Moment)> {
            marks.iter().filter_map(|mark| self.marks.get(mark)).copied().collect()
        };
        let began = match &clock.began {
            Began::Entered(stage) => self.entered.get(stage).copied(),
            Began::First(marks) => of(marks).into_iter().map(|(first, _)| first).min(),
            Began::Last(marks) => of(marks).into_iter().map(|(_, last)| last).max(),
        }?;
        Some(began + if self.heifer { clock.heifer } else { clock.cow })
    }

    /// When the first clock of a calf runs out: each living one that lacks it has its own.
    fn due_of_a_calf(&self, clock: &Clock) -> Option<Moment> {
        let limit = if self.heifer { clock.heifer } else { clock.cow };
        let runs = |calf: &BTreeSet<Mark>| !clock.until.iter().any(|mark| calf.contains(mark));
        let born = [Mark::Calf, Mark::SecondCalf].into_iter().zip(&self.calves);
        let running = born.filter(|(_, calf)| runs(calf));
        running.filter_map(|(mark, _)| Some(self.marks.get(&mark)?.0 + limit)).min()
    }
}
