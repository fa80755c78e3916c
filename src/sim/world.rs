//! The world around one watch: a queue of what happens, a process that dies and begins again, and time
//! that jumps from one thing to the next.

use std::collections::{BTreeMap, VecDeque};

use super::broken::Promise;
use super::checks::Checks;
use super::dice::Dice;
use super::facts::{Evidence, Facts};
use super::farm::Farm;
use super::faults::Faults;
use super::ledger::Words;
use super::people::{Errand, Person, Scene};
use super::sensors::{Kind, Sensor};
use super::tape::{Tape, survives};
use super::yard::{self, PEOPLE, ZONE};
use super::{Sabotage, Season, Tally, Terms};
use crate::alarm::message::{Delivery, Message};
use crate::config::SettingsText;
use crate::paper::load::Load;
use crate::plain::ids::MessageNo;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::talk::letter::MailPlace;
use crate::watch::Watch;
use crate::watch::diary::{Diary, printed};
use crate::watch::effect::Effect;
use crate::watch::event::{ClockState, Event, LineState};

/// Lines of the diary that a broken season shows.
const TAIL: usize = 40;
/// Packets that moved nothing may wait this long for their commit: longer than by default, so that a
/// death often finds some.
pub(super) const GROUP: Span = Span::minutes(2);
/// Every so many steps the index of deadlines is compared with the full computation.
const COMPARE_EVERY: u64 = 101;
/// After so many steps a tape is told again (every third) and a new one begins.
const TAPE_LENGTH: usize = 700;

/// Something that happens by itself.
pub(super) enum Happening {
    Beats(usize),
    /// An event on its way to the watch.
    Comes(Box<Coming>),
    News(LineState),
    /// A line's bad time begins or ends.
    Line(&'static str),
    /// A message leaves the outbox.
    Leaves(Box<Message>),
    Lands(Delivery),
    NoticeLands(Delivery),
    Reaches(Box<Message>),
    Reads(usize, Box<Message>),
    Visits(usize, Errand),
    Walks,
    Stranger,
    Dies,
    Begins,
    Calms,
    /// Somebody saves the settings' file.
    Reloads,
    /// The clock is set.
    Clocks(ClockState),
}

/// An event, and what it is worth to those who check.
#[derive(Clone)]
pub(super) struct Coming {
    pub(super) event: Event,
    pub(super) evidence: Evidence,
    pub(super) words: Option<Words>,
}

/// What a death would lose.
pub(super) struct Uncommitted {
    pub(super) since: Moment,
    pub(super) snapshot: String,
    pub(super) facts: Facts,
    pub(super) packets: Vec<Coming>,
}

pub(super) struct World {
    pub(super) now: Moment,
    pub(super) end: Moment,
    pub(super) queue: BTreeMap<(Moment, u64), Happening>,
    queued: u64,
    pub(super) dice: Dice,
    pub(super) zone: Zone,
    pub(super) farm: Farm,
    pub(super) sensors: Vec<Sensor>,
    pub(super) people: Vec<Person>,
    pub(super) faults: Faults,
    pub(super) watch: Watch,
    /// Since when the process is not there.
    pub(super) down: Option<Moment>,
    /// What waits with the broker and in the mailbox while nobody is there to take it.
    pub(super) waiting: VecDeque<Coming>,
    pub(super) uncommitted: Option<Uncommitted>,
    pub(super) mailbox: MailPlace,
    wake: Option<Moment>,
    pub(super) last_entry: Moment,
    pub(super) checks: Checks,
    diary: Diary,
    tail: VecDeque<String>,
    pub(super) tally: Tally,
    pub(super) tape: Tape,
    /// The number of this season.
    number: u64,
    /// What the journal of this farm drew.
    pub(super) seed: u64,
    pub(super) settings: SettingsText,
    pub(super) sabotage: Option<Sabotage>,
    began: Moment,
    /// Where people's load is measured.
    load: Option<Load>,
}

impl World {
    pub(super) fn new(seed: u64, terms: &Terms) -> Self {
        let mut dice = Dice::new(seed);
        let zone = Zone::named(ZONE).unwrap_or_else(Zone::utc);
        // Both clock changes lie within a season of thirty nights.
        let noon =
            if seed.is_multiple_of(2) { "2027-03-01T12:00:00Z" } else { "2026-10-01T11:00:00Z" };
        let begin = Moment::from_rfc3339(noon).unwrap_or_default();
        let calm = begin + Span::days(i64::from(terms.nights));
        let farm = Farm::new(begin, terms.nights, terms.size, &mut dice.fork());
        let sensors = worn(&farm, &zone, &mut dice.fork());
        let faults = Faults::new(begin, calm, &mut dice.fork());
        let facts =
            Facts::new(farm.cows.iter().map(|cow| (cow.animal.clone(), cow.heifer)), &sensors);
        let settings = yard::settings(&farm, &sensors, &zone, terms.measured);
        let mut world = Self {
            now: begin,
            end: calm + terms.calm,
            queue: BTreeMap::new(),
            queued: 0,
            zone,
            farm,
            sensors,
            people: (0..PEOPLE.len()).map(Person::new).collect(),
            faults,
            watch: Watch::default(),
            down: None,
            waiting: VecDeque::new(),
            uncommitted: None,
            mailbox: MailPlace { mailbox: "INBOX".to_owned(), validity: 1, uid: 0 },
            wake: None,
            last_entry: begin,
            checks: Checks::new(facts),
            diary: Diary::default(),
            tail: VecDeque::new(),
            tally: Tally::default(),
            tape: Tape::default(),
            number: seed,
            seed: dice.roll(),
            settings,
            sabotage: terms.sabotage,
            began: begin,
            load: terms.measured.then(Load::default),
            dice,
        };
        world.plans(begin, calm, terms.nights);
        world
    }

    fn plans(&mut self, begin: Moment, calm: Moment, nights: u32) {
        self.happens(calm, Happening::Calms);
        for at in 0..self.sensors.len() {
            let first =
                self.sensors[at].from + self.dice.span(Span::ZERO, self.sensors[at].kind.every());
            self.happens(first.max(begin), Happening::Beats(at));
        }
        for window in self.faults.windows.clone() {
            self.happens(window.from, Happening::Line(window.line));
            self.happens(window.until, Happening::Line(window.line));
        }
        for (dies, begins) in self.faults.deaths.clone() {
            self.happens(dies, Happening::Dies);
            self.happens(begins, Happening::Begins);
        }
        for day in 1..=i64::from(nights) {
            let early = self.dice.minutes(210, 300);
            self.happens(yard::noon(&self.zone, begin, day) - early, Happening::Walks);
            if self.dice.chance(100) {
                let at = begin + Span::days(day - 1) + self.dice.minutes(0, 1_400);
                self.happens(at, Happening::Reloads);
            }
            if self.dice.chance(250) {
                let at = begin + Span::days(day - 1) + self.dice.minutes(0, 1_400);
                self.happens(at, Happening::Stranger);
            }
        }
    }

    pub(super) fn run(mut self) -> Season {
        self.begins();
        while self.checks.broken.is_empty() {
            let next = self.queue.first_key_value().map(|((at, _), _)| *at);
            let woken = self
                .wake
                .filter(|_| self.down.is_none() && self.sabotage != Some(Sabotage::NobodyWakes));
            match (woken, next) {
                (Some(wake), _) if wake <= self.end && next.is_none_or(|next| wake <= next) => {
                    self.now = self.now.max(wake);
                    self.feed(Coming {
                        event: Event::Woke,
                        evidence: Evidence::Nothing,
                        words: None,
                    });
                }
                (_, Some(next)) if next <= self.end => {
                    self.now = self.now.max(next);
                    if let Some((_, happening)) = self.queue.pop_first() {
                        self.live(happening);
                    }
                }
                (_, _) => break,
            }
        }
        let restless = self.checks.broken.is_empty() && self.down.is_some();
        if restless {
            self.checks.breaks(
                self.now,
                Promise::Recovers,
                "the process is down although faults have stopped",
            );
        }
        self.tally.rules = std::mem::take(&mut self.checks.ledger.raised);
        self.tally.births = self.farm.births_by(self.now);
        Season {
            seed: self.number,
            tail: self.tail.into(),
            tally: self.tally,
            broken: self.checks.broken,
            began: self.began,
            load: self.load.unwrap_or_default(),
        }
    }

    pub(super) fn happens(&mut self, at: Moment, what: Happening) {
        self.queued += 1;
        self.queue.insert((at, self.queued), what);
    }

    /// One event through the one door, and everything that follows.
    pub(super) fn feed(&mut self, coming: Coming) {
        if self.load.is_some() {
            self.feed_measured(&coming);
            return;
        }
        self.about_to_be_fed(&coming);
        let whole = coming.clone();
        let Coming { event, evidence, words } = coming;
        let mut step = if self.loses(&event) {
            self.watch.step(self.now, &Event::Woke)
        } else {
            self.watch.step(self.now, &event)
        };
        if let Some(sabotage) = self.sabotage {
            sabotage.on(&mut step);
        }
        for line in self.diary.write(&self.watch, &step.effects) {
            self.tail.push_back(printed(&self.zone, line.at, &line.text));
            if self.tail.len() > TAIL {
                self.tail.pop_front();
            }
        }
        self.checks.after(self.now, &event, &evidence, words.as_ref(), &step, &self.watch);
        self.counts(&event, words.as_ref(), &step.effects);
        self.was_fed(whole, step.moves_anything());
        self.wake = step.wake.map(|wake| wake.at + self.wakes_late());
        for effect in step.effects {
            self.carries(effect);
        }
        self.samples();
    }

    /// The same without those who check, who would look at every dam after every step.
    fn feed_measured(&mut self, coming: &Coming) {
        let step = self.watch.step(self.now, &coming.event);
        self.counts(&coming.event, coming.words.as_ref(), &step.effects);
        if let Some(load) = &mut self.load {
            load.hears(self.now, &step, &self.watch);
        }
        self.wake = step.wake.map(|wake| wake.at + self.wakes_late());
        for effect in step.effects {
            self.carries(effect);
        }
    }

    fn counts(&mut self, event: &Event, words: Option<&Words>, effects: &[Effect]) {
        self.tally.events += 1;
        if let Some(words) = words {
            self.tally.heard(&words.means);
        }
        for effect in effects {
            self.tally.effect(effect);
        }
        if matches!(event, Event::Started { .. }) {
            self.tally.restarts += 1;
        }
    }

    /// The loop is busy now and then.
    fn wakes_late(&mut self) -> Span {
        match self.dice.below(50) {
            0..4 => self.dice.span(Span::seconds(1), Span::seconds(55)),
            4..15 => Span::from_millis(i64::try_from(self.dice.below(900)).unwrap_or(0)),
            _ => Span::ZERO,
        }
    }

    fn samples(&mut self) {
        if self.tally.events.is_multiple_of(COMPARE_EVERY) {
            let (mut full, mut cached) =
                (self.watch.deadlines_in_full(), self.watch.deadlines_cached());
            full.sort();
            cached.sort();
            self.tally.compared += 1;
            if full != cached {
                full.retain(|one| !cached.contains(one));
                let what = format!("the rules say {full:?}, the index of deadlines does not");
                self.checks.breaks(self.now, Promise::TheIndexAgrees, &what);
            }
        }
        if self.tape.len() >= TAPE_LENGTH {
            if self.dice.chance(250) {
                self.tally.replayed += 1;
                if self.tape.told_again() != Some(self.watch.snapshot()) {
                    self.checks.breaks(
                        self.now,
                        Promise::SameAgain,
                        "the same events from the last snapshot give another state",
                    );
                }
            }
            if !survives(&self.watch) {
                self.checks.breaks(
                    self.now,
                    Promise::SameAgain,
                    "the state changes by being printed",
                );
            }
            self.tape = Tape::begins(&self.watch);
        }
    }

    pub(super) fn scene(&mut self, calm: bool) -> (Scene<'_>, &mut Vec<Person>) {
        let scene = Scene {
            now: self.now,
            zone: &self.zone,
            farm: &mut self.farm,
            sensors: &mut self.sensors,
            dice: &mut self.dice,
            calm,
        };
        (scene, &mut self.people)
    }

    /// Takes messages out of the outbox.
    pub(super) fn drop_from_outbox(&mut self, which: impl Fn(MessageNo) -> bool) -> usize {
        let before = self.queue.len();
        self.queue.retain(
            |_, happening| !matches!(happening, Happening::Leaves(message) if which(message.no)),
        );
        before - self.queue.len()
    }
}

/// Only dams near their time wear sensors, and not all of them all three.
fn worn(farm: &Farm, zone: &Zone, dice: &mut Dice) -> Vec<Sensor> {
    let mut sensors = Vec::new();
    for (at, cow) in farm.cows.iter().enumerate() {
        let (first, last) = match (&cow.calving, cow.bout) {
            (Some(calving), _) => (calving.restless, calving.calf),
            (None, Some((from, until))) => (from, until),
            (None, None) => continue,
        };
        let worn = (yard::noon(zone, first, -1), yard::noon(zone, last, 1));
        for kind in Kind::ALL {
            if dice.chance(700) {
                sensors.push(Sensor::new(at, cow, kind, worn, dice));
            }
        }
    }
    sensors
}
