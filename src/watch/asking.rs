//! Asking the rules about one subject, and the deadlines that follow: from the answers each time, never
//! remembered but in the index, which may be thrown away.

use std::rc::Rc;

use super::alive::Worn;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::{Touched, earlier};
use super::{BROKER, Watch};
use crate::alarm::alert::Alert;
use crate::config::rules::Ill;
use crate::herd::recovery::{self, Closing};
use crate::plain::ids::{LineName, RuleName};
use crate::plain::moment::Moment;
use crate::rules::ask::Asking;
use crate::rules::ask_device::Listening;
use crate::rules::verdict::{Figures, Subject, Verdict, Wrong};

/// What each rule answered, and when to ask again for another reason.
pub(super) type Asked = (Vec<(RuleName, Verdict)>, Option<Moment>);

impl Watch {
    pub(super) fn ask_dam(&mut self, place: u32, ready: &Rc<Ready>, out: &mut Out) -> Asked {
        if !self.state.dams.at(place).1.listed {
            return (Vec::new(), None);
        }
        if let Some(until) = self.state.poured_until(place) {
            // What a backlog tells is asked about once it has all come in.
            return (Vec::new(), Some(until));
        }
        for rule in ready.book.dam.iter().filter(|rule| rule.enters.is_some()) {
            let worn = Worn { state: &self.state, ready, dam: place };
            let asked = rule.ask(self.state.dams.at(place).1, &self.asking(&worn));
            let asked = in_its_hours(&rule.name, asked, ready);
            if let (Some(stage), Verdict::Wrong(wrong)) = (rule.enters, asked)
                && let Some(moved) = self.state.dams.at_mut(place).enter(stage, wrong.since)
            {
                self.changed(place, moved, wrong.since, rule.name.as_str(), out);
            }
        }
        let worn = Worn { state: &self.state, ready, dam: place };
        let dam = self.state.dams.at(place).1;
        let rules = ready.book.dam.iter();
        let asking = self.asking(&worn);
        let asked = rules.map(|rule| {
            let verdict = rule.ask(dam, &asking);
            (rule.name.clone(), in_its_hours(&rule.name, verdict, ready))
        });
        (asked.collect(), self.cold_ends(place))
    }

    /// What the rules about a dam are told of the moment at which they are asked.
    pub(super) fn asking<'a>(&self, worn: &'a Worn<'a>) -> Asking<'a> {
        Asking { wearing: worn, cold: self.is_cold(self.state.now), now: self.state.now }
    }

    pub(super) fn ask_device(&self, place: u32, ready: &Ready) -> Asked {
        let now = self.state.now;
        let record = self.state.devices.at(place).1;
        let kind = record.kind.as_deref().or_else(|| ready.kind_said(place));
        // A camera that is only ever asked for a picture says nothing by itself, and is not silent.
        let speaks = kind.is_some() || !ready.only_gives_pictures(place);
        let on = self.state.ledger.wearing(place, now);
        let stage = on.map(|on| self.state.dams.at(on.dam).1.stage);
        let chained = !ready.config.chains.is_empty();
        let cut_off = self.is_cut_off(place, ready);
        let since = self.listening_since(on.and_then(|on| on.from));
        let concerned = |rule: &Option<String>| rule.is_none() || rule.as_deref() == kind;
        let babble_is_told = ready.book.ill.iter().any(|rule| {
            rule.with.contains(&Ill::NotUnderstood)
                && concerned(&rule.kind)
                && stage.is_some_and(|stage| rule.while_stages.contains(&stage))
                && ready.tells(&rule.name)
        });
        let listening = Listening {
            babble_is_told,
            since: since
                .map(|since| self.came_back(place, ready).map_or(since, |back| back.max(since))),
            every: kind.and_then(|kind| ready.every(kind)).or_else(|| record.habit()),
        };
        let asked = ready.book.silence.iter().map(|rule| {
            let concerns = if rule.kind.is_none() { speaks } else { concerned(&rule.kind) };
            let watched = stage.is_some_and(|stage| rule.while_stages.contains(&stage));
            let verdict = match self.still_silent(&rule.name, place, record.heard) {
                Some(wrong) if watched => Verdict::Wrong(wrong),
                // What it hangs on is silent: that is one finding, and not the device's.
                Some(_) | None if cut_off => Verdict::Fine,
                Some(_) | None if concerns && watched && chained => self
                    .not_before_its_gateway(rule, place, ready)
                    .ask(Some(record), listening, now),
                Some(_) | None if concerns && watched => rule.ask(Some(record), listening, now),
                Some(_) | None => Verdict::Fine,
            };
            (rule.name.clone(), verdict)
        });
        let mut asked: Vec<(RuleName, Verdict)> = asked.collect();
        for rule in &ready.book.ill {
            let watched = stage.is_some_and(|stage| rule.while_stages.contains(&stage));
            let asks = watched && concerned(&rule.kind) && !record.ills.is_empty();
            let verdict = if asks { rule.ask(record, now) } else { Verdict::Fine };
            asked.push((rule.name.clone(), verdict));
        }
        (asked, self.state.ledger.changes(place, now))
    }

    /// Once raised, silence ends by being heard and by nothing else: not by our own restart, nor by
    /// the broker going away.
    fn still_silent(&self, rule: &RuleName, place: u32, heard: Option<Moment>) -> Option<Wrong> {
        let open = &self.state.watchman.open;
        if open.is_empty() {
            return None;
        }
        let id = self.state.devices.at(place).0;
        let silent = |alert: &&Alert| {
            matches!(&alert.subject, Subject::Device(device) if device == id) && alert.rule == *rule
        };
        let alert = open.values().find(silent)?;
        let unheard = heard.is_none_or(|heard| heard < alert.raised);
        let figures = alert.figures.clone();
        unheard.then_some(Wrong { since: alert.since, figures, ends: None })
    }

    /// Since when we could have heard a device; `None` while the broker is down.
    pub(super) fn listening_since(&self, put_on: Option<Moment>) -> Option<Moment> {
        let broker = self.state.lines.get(BROKER);
        if broker.is_some_and(|broker| broker.down.is_some()) {
            return None;
        }
        let up = broker.and_then(|broker| broker.up);
        [self.state.started, up, put_on].into_iter().flatten().max().or(Some(self.state.now))
    }

    pub(super) fn ask_line(&self, name: &LineName, ready: &Ready) -> Asked {
        let Some(line) = self.state.lines.get(name) else {
            return (Vec::new(), None);
        };
        let now = self.state.now;
        let asked = ready
            .book
            .trouble
            .iter()
            .map(|rule| (rule.name.clone(), rule.ask(name.as_str(), line, now)));
        (asked.collect(), None)
    }

    /// Computes every deadline from the state: what the index caches, in full.
    pub fn deadlines_in_full(&mut self) -> Vec<(Subject, Moment)> {
        let Some(ready) = self.ready.clone() else {
            return Vec::new();
        };
        let mut touched = Touched::default();
        touched.everything();
        let mut full = Vec::new();
        for key in self.keys_of(&mut touched, &ready) {
            let next = self.next_in_full(&key, &ready);
            full.extend(next.map(|at| (key.subject(&self.state), at)));
        }
        full
    }

    fn next_in_full(&mut self, key: &Key, ready: &Rc<Ready>) -> Option<Moment> {
        let mut scratch = Out::default();
        let (mut verdicts, again) = match key {
            Key::Dam(place) => self.ask_dam(*place, ready, &mut scratch),
            Key::Device(place) => self.ask_device(*place, ready),
            Key::Line(line) => self.ask_line(line, ready),
            Key::Gateway(place) => self.ask_gateway(*place, ready),
            Key::Cover(dam) => (Vec::new(), self.ask_cover(*dam, ready).1),
            Key::Herd => self.ask_herd(ready),
            Key::Rota => self.ask_rota(ready),
            Key::Duty => self.ask_duty(ready),
            Key::Clocked(place) => self.ask_clocked(*place, ready),
            Key::Drill => self.ask_drill(ready),
            Key::Contacts => self.ask_contacts(ready),
            Key::Inside(person) => self.ask_inside(person, ready),
        };
        self.wait_for_morning(key, &mut verdicts, ready);
        self.wait_since_look(key, &mut verdicts, ready);
        let next = verdicts.iter().fold(again, |next, (_, verdict)| match verdict {
            Verdict::Fine => next,
            Verdict::FineUntil(at) => earlier(next, Some(*at)),
            Verdict::Wrong(wrong) => earlier(next, wrong.ends),
        });
        let next = earlier(next, self.rest_ends(&key.subject(&self.state), ready));
        let Key::Dam(place) = key else { return next };
        match recovery::closing(self.state.dams.at(*place).1, self.state.now) {
            Closing::NotBefore(at) => earlier(next, Some(at)),
            Closing::Never | Closing::Now(_) => next,
        }
    }

    /// Throws the index away and computes it anew.
    pub(super) fn recompute_deadlines(&mut self) {
        self.deadlines.clear();
        let Some(ready) = self.ready.clone() else { return };
        let mut touched = Touched::default();
        touched.everything();
        for key in self.keys_of(&mut touched, &ready) {
            let next = self.next_in_full(&key, &ready);
            self.deadlines.set(&key, next);
        }
    }

    /// The index as it stands, for the test that compares the two.
    pub fn deadlines_cached(&self) -> Vec<(Subject, Moment)> {
        self.deadlines.iter().map(|(key, at)| (key.subject(&self.state), at)).collect()
    }
}

/// A rule that asks at which hour its clock began is fine where it began at another.
pub(super) fn in_its_hours(rule: &RuleName, verdict: Verdict, ready: &Ready) -> Verdict {
    let Some(hours) = ready.rule(rule).and_then(|rule| rule.began) else { return verdict };
    let Verdict::Wrong(Wrong { figures: Figures::Clock { began, .. }, .. }) = &verdict else {
        return verdict;
    };
    let began = ready.config.farm.zone.wall(*began).time();
    if hours.hold(began) { verdict } else { Verdict::Fine }
}
