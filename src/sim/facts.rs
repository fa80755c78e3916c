//! What the watch was truly given to know, kept by a second, simpler hand: from it follows what must
//! be wrong at a moment. It shares no code with the herd, the rules or the decoders.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::dam_facts::DamFacts;
use super::limits::{self, CLOCKS};
use super::sensors::{Said, Sensor, Spoken};
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::ids::{Animal, DeviceId, LineName};
use crate::plain::moment::{Moment, Span};
use crate::watch::event::{ClockState, LineNews, LineState};
use crate::watch::{BROKER, JOURNAL};

/// Rule and whom it is about, in the words of the alerts.
pub(super) type Wrong = (&'static str, String);

/// One thing the watch was given, as far as it is evidence.
#[derive(Clone, Debug)]
pub(super) enum Evidence {
    Nothing,
    Spoken(Spoken),
    /// People's marks, with the time each is about.
    Marks(Vec<(Animal, Mark, Moment)>),
    Line(LineState),
    Clock(ClockState),
    /// Somebody knows that this line lost our session.
    Seen(LineName),
    Started,
}

#[derive(Clone, Default)]
pub(super) struct Facts {
    pub(super) dams: BTreeMap<Animal, DamFacts>,
    devices: BTreeMap<DeviceId, DeviceFacts>,
    lines: BTreeMap<LineName, LineFacts>,
    pub(super) started: Moment,
    clock: ClockState,
}

#[derive(Clone)]
struct DeviceFacts {
    on: Animal,
    from: Moment,
    until: Moment,
    every: Span,
    heard: Option<Moment>,
    /// Since when it has been too silent: only being heard ends that.
    silent: Option<Moment>,
    /// What it said lately under which time: the same again is the same message.
    said: VecDeque<(Moment, Vec<Said>)>,
}

#[derive(Clone, Default)]
struct LineFacts {
    down: Option<Moment>,
    up: Option<Moment>,
    was_up: Option<Moment>,
    lost: Option<Moment>,
    refused: BTreeMap<String, Moment>,
}

impl Facts {
    pub(super) fn new(cows: impl Iterator<Item = (Animal, bool)>, sensors: &[Sensor]) -> Self {
        let mut facts = Self::default();
        for (animal, heifer) in cows {
            facts.dams.insert(animal, DamFacts::carrying(heifer));
        }
        let animals: Vec<Animal> = facts.dams.keys().cloned().collect();
        for sensor in sensors {
            let on =
                animals.iter().find(|animal| sensor.id.as_str().ends_with(&format!("-{animal}")));
            let Some(on) = on.cloned() else { continue };
            let (from, until) = (sensor.from, sensor.until);
            let every = sensor.kind.every();
            let said = VecDeque::new();
            let device = DeviceFacts { on, from, until, every, heard: None, silent: None, said };
            facts.devices.insert(sensor.id.clone(), device);
        }
        facts
    }

    /// Takes one piece of evidence. Of people's marks it says which counted.
    pub(super) fn takes(&mut self, now: Moment, evidence: &Evidence) -> Vec<(Animal, Mark)> {
        match evidence {
            Evidence::Nothing => {}
            Evidence::Spoken(spoken) => self.spoken(now, spoken),
            Evidence::Marks(marks) => {
                let counted = marks.iter().filter(|(animal, mark, at)| {
                    self.dams.get_mut(animal).is_some_and(|dam| {
                        dam.poured = None;
                        dam.mark(*mark, *at, now)
                    })
                });
                return counted.map(|(animal, mark, _)| (animal.clone(), *mark)).collect();
            }
            Evidence::Line(news) => self.line(now, news),
            Evidence::Clock(clock) => self.clock = *clock,
            Evidence::Seen(line) => {
                if let Some(line) = self.lines.get_mut(line) {
                    line.lost = None;
                }
            }
            Evidence::Started => {
                self.started = now;
                for line in self.lines.values_mut() {
                    (line.up, line.was_up) = (None, None);
                }
            }
        }
        Vec::new()
    }

    fn spoken(&mut self, now: Moment, spoken: &Spoken) {
        let Some(device) = self.devices.get_mut(&spoken.device) else {
            return;
        };
        if !spoken.whole {
            return;
        }
        if let Some(at) = spoken.at {
            let message = (at, spoken.signs.clone());
            if device.said.contains(&message) {
                return;
            }
            device.said.push_back(message);
            if device.said.len() > limits::KNOWN_AGAIN {
                device.said.pop_front();
            }
        }
        device.heard = Some(now);
        device.silent = None;
        let at = spoken.at.unwrap_or(now);
        // Two minutes ahead is still now; more is a clock that is wrong, if ours is right.
        let ahead = at.since(now) > Span::minutes(2) && self.clock == ClockState::Trusted;
        let at_most_now = at.min(now);
        if ahead || at_most_now < device.from || at_most_now >= device.until {
            return;
        }
        let Some(dam) = self.dams.get_mut(&device.on) else {
            return;
        };
        let says = |sign: &Said| *sign != Said::Contractions(0);
        if now.since(at_most_now) > limits::BACKLOG_AFTER && spoken.signs.iter().any(says) {
            dam.pours(now);
        }
        for sign in &spoken.signs {
            match sign {
                Said::Contractions(0) => {}
                Said::Contractions(n) => dam.count(*n, at, now),
                Said::Flag(mark) => {
                    dam.mark(*mark, at.min(now), now);
                }
            }
        }
    }

    fn line(&mut self, now: Moment, news: &LineState) {
        let line = self.lines.entry(news.line.clone()).or_default();
        match &news.news {
            LineNews::Up => {
                let short = line.down.is_some_and(|down| now.since(down) < limits::FLAP);
                let before = line.up.or(line.was_up.filter(|_| short));
                line.up = before.or(Some(now));
                (line.down, line.was_up) = (None, None);
            }
            LineNews::Down { .. } => {
                line.was_up = line.up.take().or(line.was_up);
                line.down.get_or_insert(now);
            }
            LineNews::SessionLost => line.lost = Some(now),
            LineNews::SubscriptionRefused { filter, .. } => {
                line.refused.entry(filter.clone()).or_insert(now);
            }
            LineNews::SubscriptionTaken { filter } => {
                line.refused.remove(filter);
            }
            LineNews::TooLarge { .. } | LineNews::TurnedAway { .. } => {}
        }
    }

    /// What follows by itself as time passes: contractions that build put her into first stage, and a
    /// sensor that says nothing is silent.
    pub(super) fn settle(&mut self, now: Moment) {
        self.dams.values_mut().for_each(|dam| dam.settle(now));
        self.silences(now);
    }

    /// Everything that is wrong now, and since when.
    pub(super) fn wrong(&self, now: Moment) -> BTreeMap<Wrong, Moment> {
        let mut wrong = BTreeMap::new();
        for (animal, dam) in &self.dams {
            let about = || format!("dam {animal}");
            for clock in CLOCKS {
                if let Some(due) = dam.due(clock).filter(|due| *due <= now) {
                    wrong.insert((clock.rule, about()), due);
                }
            }
            if let Some(since) = dam.building(now) {
                wrong.insert((limits::BUILDING, about()), since);
            }
            if let Some(since) = dam.carries_a_dead_one() {
                wrong.insert((limits::DEAD_INSIDE, about()), since);
            }
            if let Some(since) = dam.lacks_a_nose(now) {
                wrong.insert((limits::NO_NOSE, about()), since);
            }
            if let Some(since) = dam.strains_on(now) {
                wrong.insert((limits::EFFORTS, about()), since);
            }
        }
        for (id, device) in &self.devices {
            if let Some(since) = device.silent {
                wrong.insert((limits::SILENT, format!("device {id}")), since);
            }
        }
        self.troubled(now, &mut wrong);
        wrong
    }

    fn silences(&mut self, now: Moment) {
        let broker = self.lines.get(BROKER);
        let deaf = broker.is_some_and(|broker| broker.down.is_some());
        let up = broker.and_then(|broker| broker.up);
        for device in self.devices.values_mut() {
            let closed = self.dams.get(&device.on).is_none_or(|dam| dam.stage == Stage::Closed);
            if now < device.from || now >= device.until || closed {
                device.silent = None;
                continue;
            }
            let all = [device.heard, up, Some(self.started), Some(device.from)];
            let since = all.into_iter().flatten().max().unwrap_or_default();
            let beats = device.heard.map_or(0, |_| device.every.millis() * limits::SILENT_BEATS);
            let due = since + limits::SILENT_AFTER.max(Span::from_millis(beats));
            if !deaf && due <= now {
                device.silent.get_or_insert(due);
            }
        }
    }

    fn troubled(&self, now: Moment, wrong: &mut BTreeMap<Wrong, Moment>) {
        for (name, line) in &self.lines {
            let mut add = |rule, since: Option<Moment>, after| {
                if let Some(due) =
                    since.map(|since: Moment| since + after).filter(|due| *due <= now)
                {
                    wrong.insert((rule, format!("line {name}")), due);
                }
            };
            if name.as_str() == JOURNAL {
                add(limits::JOURNAL_STUCK, line.down, limits::JOURNAL_STUCK_AFTER);
            } else {
                add(limits::LINE_DOWN, line.down, limits::LINE_DOWN_AFTER);
            }
            let lost = line.lost.filter(|at| now < *at + limits::SESSION_LOST_FOR);
            add(limits::SESSION_LOST, lost, Span::ZERO);
            add(limits::REFUSED, line.refused.values().min().copied(), Span::ZERO);
        }
    }

    /// Dams whose days are over, and about whom nothing is open.
    pub(super) fn to_let_go(&self, now: Moment, open: &BTreeSet<String>) -> Vec<Animal> {
        let over = self.dams.iter().filter(|(animal, dam)| {
            dam.her_days_are_over(now) && !open.contains(&format!("dam {animal}"))
        });
        over.map(|(animal, _)| animal.clone()).collect()
    }

    pub(super) fn let_go(&mut self, now: Moment, animal: &Animal) {
        if let Some(dam) = self.dams.get_mut(animal) {
            dam.enters(Stage::Closed, now);
        }
    }
}
