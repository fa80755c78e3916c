//! The process that holds the watch: what is on disk, how it dies, and how it begins again.

use super::Sabotage;
use super::broken::Promise;
use super::facts::Evidence;
use super::lives::bare;
use super::tape::Tape;
use super::world::{Coming, GROUP, Happening, Uncommitted, World};
use super::yard::{ANSWERS, HOOK, MAIL, TEXTS};
use crate::config;
use crate::watch::event::{ClockState, Event};
use crate::watch::{BROKER, JOURNAL, Watch};

impl World {
    /// What was not committed is with the broker still; what was not handed over is with nobody.
    pub(super) fn dies(&mut self) {
        if self.down.is_some() {
            return;
        }
        self.down = Some(self.now);
        if let Some(lost) = self.uncommitted.take() {
            if let Some(watch) = Watch::restore(&lost.snapshot) {
                self.watch = watch;
                self.checks.facts = lost.facts;
                self.last_entry = lost.since;
                self.tally.rolled_back += 1;
                self.waiting.extend(lost.packets);
            }
        } else if let Some(watch) = Watch::restore(&self.watch.snapshot()) {
            self.watch = watch;
        }
        if self.sabotage == Some(Sabotage::RestartForgets)
            && let Some(watch) = self.tape.beginning()
        {
            self.watch = watch;
        }
        self.tape = Tape::begins(&self.watch);
        self.drop_from_outbox(|_| true);
        self.queue.retain(|_, happening| {
            !matches!(happening, Happening::Lands(_) | Happening::NoticeLands(_))
        });
    }

    pub(super) fn begins(&mut self) {
        let first = self.watch.ready().is_none();
        if self.down.take().is_none() && !first {
            return;
        }
        let last = (!first).then_some(self.last_entry);
        let event = Event::Started { seed: self.seed, last };
        self.feed(Coming { event, evidence: Evidence::Started, words: None });
        if first {
            let settings = self.settings.clone();
            self.feed(bare(Event::Settings(settings)));
            if self.watch.ready().is_none() {
                let faults: Vec<String> = config::parse(&self.settings)
                    .faults
                    .iter()
                    .map(|fault| fault.title.clone())
                    .collect();
                let what = format!("the farm's settings are refused: {}", faults.join("; "));
                self.checks.breaks(self.now, Promise::SettingsHold, &what);
                return;
            }
        }
        self.tape = Tape::begins(&self.watch);
        let about = !first && self.dice.chance(250);
        self.clock_says(if about { ClockState::About } else { ClockState::Trusted });
        if about {
            let set = self.now + self.dice.minutes(1, 40);
            self.happens(set, Happening::Clocks(ClockState::Trusted));
        }
        for line in [JOURNAL, BROKER, ANSWERS, MAIL, TEXTS, HOOK] {
            let news = self.state_of(line);
            self.news(news);
        }
        if self.faults.of(BROKER, self.now).is_none() {
            self.reconnects();
        }
        while let Some(coming) = self.waiting.pop_front() {
            self.feed(coming);
        }
    }

    /// Before an event is fed: what would be lost if the process died with it.
    pub(super) fn about_to_be_fed(&mut self, coming: &Coming) {
        let near = self
            .faults
            .deaths
            .iter()
            .any(|(dies, _)| self.now <= *dies && *dies <= self.now + GROUP);
        if near && self.uncommitted.is_none() && matches!(coming.event, Event::Packet(_)) {
            self.uncommitted = Some(Uncommitted {
                since: self.last_entry,
                snapshot: self.watch.snapshot(),
                facts: self.checks.facts.clone(),
                packets: Vec::new(),
            });
        }
    }

    /// After it: what moved anything is on disk at once, and with it all that came before.
    pub(super) fn was_fed(&mut self, coming: Coming, moved: bool) {
        self.last_entry = self.now;
        self.tape.keeps(self.now, &coming.event);
        if moved || !matches!(coming.event, Event::Packet(_)) {
            self.uncommitted = None;
        } else if let Some(uncommitted) = &mut self.uncommitted {
            uncommitted.packets.push(coming);
        }
    }

    pub(super) fn clock_says(&mut self, clock: ClockState) {
        if self.down.is_none() {
            let evidence = Evidence::Clock(clock);
            self.feed(Coming { event: Event::Clock(clock), evidence, words: None });
        }
    }
}
