//! Whom calls are known to reach: each line to each person is proven by words that come back over it, asked for by day
//! when they have not come lately, and doubted again when a message comes back.
//!
//! It asks and remembers. Nobody is called less for it: who does not count is a hole in the rota (`watch/open_hours.rs`).

use std::collections::BTreeMap;
use std::rc::Rc;

use serde::{Deserialize, Serialize};

use super::Watch;
use super::asking::Asked;
use super::by_day;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::{Touched, earlier};
use crate::alarm::ladder;
use crate::alarm::message::MessageKind;
use crate::config::lines::Way;
use crate::config::people::{Part, Person};
use crate::plain::ids::{LineName, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::talk::letter::{Reply, Sender};
use crate::talk::reader::Reader;
use crate::talk::welcome;

/// So long after the first question a person still counts: they sleep, or are in the fields (common practice, no source).
const GRACE: Span = Span::hours(24);
/// Whoever has not answered is asked again after so long (common practice, no source).
const ASK_AGAIN: Span = Span::days(7);

/// What is known of the ways to one person.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Contact {
    pub lines: BTreeMap<LineName, Reached>,
    /// Since when they have owed an answer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owes: Option<Moment>,
}

/// What is known of one way to one person.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reached {
    /// Of another address nothing is known.
    pub address: String,
    /// When words of theirs last came in this way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proven: Option<Moment>,
    /// When they were last asked to show it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub asked: Option<Moment>,
}

impl Watch {
    /// Words came in from somebody: the way they came is proven. `false` if no call takes it.
    pub(super) fn proves(
        &mut self,
        who: &PersonName,
        reply: &Reply,
        ready: &Ready,
        touched: &mut Touched,
        out: &mut Out,
    ) -> bool {
        let now = self.state.now;
        let ways: Vec<(LineName, String)> = ready
            .config
            .lines
            .iter()
            .filter(|line| came_by(&line.way, &reply.from))
            .filter_map(|line| {
                let address = ladder::address(&ready.config, who, &line.name)?;
                Some((line.name.clone(), address))
            })
            .collect();
        if ways.is_empty() {
            return false;
        }
        let contact = self.state.contacts.entry(who.clone()).or_default();
        let owed = contact.owes.take().is_some();
        for (line, address) in ways {
            contact.lines.insert(line, Reached { address, proven: Some(now), asked: None });
        }
        if owed {
            out.note(format!("{who} has shown that calls come through"));
            self.holes_again(ready);
        }
        if ready.config.calls.welcome {
            touched.key(Key::Contacts);
        }
        true
    }

    /// A message could not be brought to somebody: what was proven of that way is so no longer.
    pub(super) fn is_not_reached(&mut self, who: &PersonName, line: &LineName, address: &str) {
        // While the line itself is down nobody is to blame.
        if self.state.lines.get(line).is_some_and(|line| line.down.is_some()) {
            return;
        }
        let Some(contact) = self.state.contacts.get_mut(who) else { return };
        let Some(reached) = contact.lines.get_mut(line) else { return };
        if reached.address == address && reached.proven.take().is_some() {
            reached.asked = None;
            self.deadlines.set(&Key::Contacts, Some(self.state.now));
        }
    }

    /// Asks, by day, everybody of whom nothing has come in lately, each way by itself.
    pub(super) fn asks_for_words(&mut self, ready: &Rc<Ready>, out: &mut Out) {
        let now = self.state.now;
        if !by_day::is_day(&ready.config.farm.zone, now) {
            return;
        }
        for (who, line, address) in self.to_ask(ready, now) {
            let Some(person) = ladder::find(&ready.config, &who) else { continue };
            let known = self.reached(&who, &line, &address).and_then(|reached| reached.proven);
            let reader = Reader::of(&ready.config, &person.name, Some(&line));
            let words = welcome::words(&ready.config, person, known, &reader);
            let kind = MessageKind::Welcome;
            if self.send(&who, &line, None, kind, &words, None, ready, out).is_none() {
                continue;
            }
            let counted = self.newest(ready, person).is_some_and(|at| at + proven_for(ready) > now);
            let contact = self.state.contacts.entry(who).or_default();
            let reached = contact.lines.entry(line).or_default();
            *reached = Reached { address, proven: known, asked: Some(now) };
            if !counted && contact.owes.is_none() {
                contact.owes = Some(now);
                self.holes_again(ready);
            }
        }
    }

    fn holes_again(&mut self, ready: &Ready) {
        if !ready.book.uncovered.is_empty() {
            self.deadlines.set(&Key::Rota, Some(self.state.now));
        }
    }

    /// When somebody is to be asked next.
    pub(super) fn ask_contacts(&self, ready: &Ready) -> Asked {
        let now = self.state.now;
        let next = ways(ready)
            .filter_map(|(person, line, address)| self.asked_next(ready, person, &line, &address));
        let next = next.min().map(|at| {
            let at = at.max(now);
            by_day::morning(&ready.config.farm.zone, at).unwrap_or(at)
        });
        (Vec::new(), next)
    }

    fn to_ask(&self, ready: &Ready, now: Moment) -> Vec<(PersonName, LineName, String)> {
        let due = |person: &Person, line: &LineName, address: &str| {
            self.asked_next(ready, person, line, address).is_some_and(|at| at <= now)
        };
        ways(ready)
            .filter(|(person, line, address)| due(person, line, address))
            .map(|(person, line, address)| (person.name.clone(), line, address))
            .collect()
    }

    fn asked_next(
        &self,
        ready: &Ready,
        person: &Person,
        line: &LineName,
        address: &str,
    ) -> Option<Moment> {
        if !ready.config.calls.welcome {
            return None;
        }
        let lasts = proven_for(ready);
        let Some(reached) = self.reached(&person.name, line, address) else {
            return Some(self.state.now);
        };
        let stale = reached.proven.map_or(self.state.now, |at| at + lasts);
        let Some(asked) = reached.asked else { return Some(stale) };
        // Of somebody whom another way reaches, this one is asked about as seldom as it would be if it were proven.
        let counted = self.newest(ready, person).is_some_and(|at| at + lasts > self.state.now);
        Some(stale.max(asked + if counted { lasts } else { ASK_AGAIN }))
    }

    fn reached(&self, who: &PersonName, line: &LineName, address: &str) -> Option<&Reached> {
        let reached = self.state.contacts.get(who)?.lines.get(line)?;
        (reached.address == address).then_some(reached)
    }

    /// When words of a person last came in by any way that is still theirs.
    fn newest(&self, ready: &Ready, person: &Person) -> Option<Moment> {
        let own = ways(ready).filter(|(one, _, _)| one.name == person.name);
        own.filter_map(|(_, line, address)| self.reached(&person.name, &line, &address)?.proven)
            .max()
    }

    /// Until when a person is counted on; `None` for ever, or until they are asked.
    pub(super) fn counts_until(&self, ready: &Ready, who: &PersonName) -> Option<Moment> {
        if !ready.config.calls.welcome {
            return None;
        }
        let owes = self.state.contacts.get(who)?.owes?;
        Some(owes + GRACE)
    }

    /// Whoever has owed an answer for longer than a day is no cover.
    pub(super) fn counts(&self, ready: &Ready, who: &PersonName) -> bool {
        self.counts_until(ready, who).is_none_or(|until| self.state.now < until)
    }

    /// People, lines and addresses that the settings no longer name.
    pub(super) fn forget_contacts_that_are_gone(&mut self, ready: &Ready) {
        let named = |who: &PersonName| ready.config.people.iter().any(|one| one.name == *who);
        self.state.contacts.retain(|who, _| named(who));
        for (who, contact) in &mut self.state.contacts {
            contact.lines.retain(|line, reached| {
                ladder::address(&ready.config, who, line).is_some_and(|is| is == reached.address)
            });
        }
    }

    /// What is known of each way to each person, for readers.
    pub(super) fn contact_views(&self, ready: &Ready) -> Vec<ContactView> {
        let views = ways(ready).map(|(person, line, address)| {
            let reached = self.reached(&person.name, &line, &address);
            ContactView {
                proven: reached.and_then(|reached| reached.proven),
                asked: reached.and_then(|reached| reached.asked),
                counts: self.counts(ready, &person.name),
                person: person.name.clone(),
                line,
            }
        });
        views.collect()
    }
}

/// One way to one person, and when it was last proven.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ContactView {
    pub person: PersonName,
    pub line: LineName,
    pub proven: Option<Moment>,
    /// When they were last asked to show it and have not since.
    pub asked: Option<Moment>,
    /// The person is counted on as cover.
    pub counts: bool,
}

fn proven_for(ready: &Ready) -> Span {
    ready.config.calls.proven_for
}

/// Every line to everybody who may be called.
fn ways(ready: &Ready) -> impl Iterator<Item = (&Person, LineName, String)> {
    let config = &ready.config;
    let people = config.people.iter().filter(|person| person.part != Part::Viewer);
    people.flat_map(move |person| {
        config.lines.iter().filter_map(move |line| {
            let address = ladder::address(config, &person.name, &line.name)?;
            Some((person, line.name.clone(), address))
        })
    })
}

/// Whether an answer that came in from there shows that this line reaches its sender.
fn came_by(way: &Way, from: &Sender) -> bool {
    match way {
        Way::Smtp(_) => matches!(from, Sender::Mail(_)),
        Way::SmsHttp(_) => matches!(from, Sender::Mobile(_)),
        Way::Imap(_) | Way::Webhook(_) | Way::Siren(_) | Way::NotYet { .. } => false,
    }
}

/// When the next of them stops counting.
pub(super) fn next_to_lapse(watch: &Watch, ready: &Ready) -> Option<Moment> {
    let now = watch.state().now;
    let lapses = ready.config.people.iter().filter_map(|one| watch.counts_until(ready, &one.name));
    lapses.filter(|at| *at > now).fold(None, |first, at| earlier(first, Some(at)))
}
