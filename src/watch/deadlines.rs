//! When each subject must be looked at again: an index over what the rules answered, and nothing
//! more. It may be thrown away at any time; a test compares it with the full computation.

use std::collections::{BTreeMap, BTreeSet};

use super::key::Key;
use crate::plain::ids::{LineName, PersonName};
use crate::plain::moment::Moment;

#[derive(Debug, Default)]
pub struct Deadlines {
    by_moment: BTreeSet<(Moment, Key)>,
    /// By place in the state's rosters.
    dams: Vec<Option<Moment>>,
    devices: Vec<Option<Moment>>,
    lines: BTreeMap<LineName, Moment>,
    gateways: Vec<Option<Moment>>,
    covers: Vec<Option<Moment>>,
    herd: Option<Moment>,
    rota: Option<Moment>,
    duty: Option<Moment>,
    contacts: Option<Moment>,
    drill: Option<Moment>,
    clocked: Vec<Option<Moment>>,
    inside: BTreeMap<PersonName, Moment>,
}

impl Deadlines {
    pub fn set(&mut self, key: &Key, at: Option<Moment>) {
        let old = match key {
            Key::Dam(place) => put(&mut self.dams, *place, at),
            Key::Device(place) => put(&mut self.devices, *place, at),
            Key::Gateway(place) => put(&mut self.gateways, *place, at),
            Key::Cover(place) => put(&mut self.covers, *place, at),
            Key::Herd => std::mem::replace(&mut self.herd, at),
            Key::Rota => std::mem::replace(&mut self.rota, at),
            Key::Duty => std::mem::replace(&mut self.duty, at),
            Key::Contacts => std::mem::replace(&mut self.contacts, at),
            Key::Clocked(place) => put(&mut self.clocked, u32::from(*place), at),
            Key::Drill => std::mem::replace(&mut self.drill, at),
            Key::Inside(person) => match at {
                Some(at) => self.inside.insert(person.clone(), at),
                None => self.inside.remove(person),
            },
            Key::Line(name) => match at {
                Some(at) => self.lines.insert(name.clone(), at),
                None => self.lines.remove(name),
            },
        };
        if old == at {
            return;
        }
        if let Some(old) = old {
            self.by_moment.remove(&(old, key.clone()));
        }
        if let Some(at) = at {
            self.by_moment.insert((at, key.clone()));
        }
    }

    pub fn first(&self) -> Option<(Moment, &Key)> {
        self.by_moment.first().map(|(at, key)| (*at, key))
    }

    /// Takes out every subject whose moment has come.
    pub fn take_due(&mut self, now: Moment) -> Vec<Key> {
        let mut due = Vec::new();
        while let Some((_, key)) = self.by_moment.first().filter(|(at, _)| *at <= now).cloned() {
            self.set(&key, None);
            due.push(key);
        }
        due
    }

    /// Takes out what the settings no longer ask about: gateways stand at other places now, and nobody may
    /// want to know who is watched.
    pub fn forget_gateways_and_covers(&mut self) {
        let gone = |key: &Key| match key {
            Key::Clocked(_)
            | Key::Gateway(_)
            | Key::Cover(_)
            | Key::Herd
            | Key::Rota
            | Key::Duty
            | Key::Contacts => true,
            Key::Dam(_) | Key::Device(_) | Key::Line(_) | Key::Inside(_) | Key::Drill => false,
        };
        let gone: Vec<Key> = self.iter().map(|(key, _)| key.clone()).filter(gone).collect();
        gone.iter().for_each(|key| self.set(key, None));
    }

    pub fn clear(&mut self) {
        *self = Self::default();
    }

    pub fn iter(&self) -> impl Iterator<Item = (&Key, Moment)> {
        self.by_moment.iter().map(|(at, key)| (key, *at))
    }
}

/// Puts a moment at a place and gives back the old one.
fn put(moments: &mut Vec<Option<Moment>>, place: u32, at: Option<Moment>) -> Option<Moment> {
    let place = place as usize;
    if place >= moments.len() {
        // Nothing was there and nothing is to be: no room need be made.
        at?;
        moments.resize(place + 1, None);
    }
    std::mem::replace(&mut moments[place], at)
}
