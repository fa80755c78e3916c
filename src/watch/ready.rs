//! The settings made ready for use: looked up by name instead of searched.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::state::State;
use crate::config::Config;
use crate::config::rules::Rule;
use crate::config::sensors::{Clock, Read, SensorKind};
use crate::gear::gauge::Scale;
use crate::plain::ids::{Animal, PersonName, RuleName};
use crate::plain::moment::{Moment, Span};
use crate::plain::quantity::Unit;
use crate::rules::book::Book;
use crate::sensor::decoders::Decoders;
use crate::sensor::plausible::{self, Fits};
use crate::sensor::reading::FieldPlace;
use crate::sensor::topic::Filter;
use crate::talk::{address, telephone};

pub struct Ready {
    pub config: Config,
    pub book: Book,
    pub decoders: Decoders,
    /// The kinds that `decoders` knows, in its order.
    pub kinds: Vec<Arc<str>>,
    /// What is said of each field of each kind, in the same order.
    fields: Vec<FieldsOf>,
    pub answers: Option<Filter>,
    animals: BTreeSet<Animal>,
    by_eid: BTreeMap<String, Animal>,
    /// By place in the state's roster of devices.
    worn: Vec<WornBy>,
    rules: BTreeMap<RuleName, usize>,
    every: BTreeMap<String, Span>,
}

impl Ready {
    /// Gives every dam and device of the settings its place in the state's rosters.
    pub fn new(config: Config, state: &mut State) -> Self {
        state.dams.values_mut().for_each(|dam| dam.listed = false);
        for row in &config.animals {
            let dam = state.dams.member(&row.animal);
            dam.listed = true;
            dam.parity = row.parity;
        }
        let mut worn: Vec<WornBy> = Vec::new();
        for on in &config.devices {
            let (device, dam) = (state.devices.place(&on.id), state.dams.place(&on.on));
            if worn.len() <= device as usize {
                worn.resize_with(device as usize + 1, WornBy::default);
            }
            worn[device as usize].add(Worn { dam, from: on.from, until: on.until });
        }
        let kinds = readable(&config);
        Self {
            fields: kinds.iter().map(FieldsOf::new).collect(),
            book: Book::of(&config),
            decoders: Decoders::new(&kinds).unwrap_or_default(),
            kinds: kinds.into_iter().map(|kind| Arc::from(kind.kind)).collect(),
            answers: config.broker.answers.as_deref().and_then(|filter| Filter::parse(filter).ok()),
            animals: config.animals.iter().map(|row| row.animal.clone()).collect(),
            by_eid: config
                .animals
                .iter()
                .filter_map(|row| Some((row.eid.clone()?, row.animal.clone())))
                .collect(),
            worn,
            rules: config
                .rules
                .iter()
                .enumerate()
                .map(|(at, rule)| (rule.name.clone(), at))
                .collect(),
            every: config
                .sensors
                .iter()
                .filter_map(|sensor| Some((sensor.kind.clone(), sensor.every?)))
                .collect(),
            config,
        }
    }

    /// Her name in the herd file, whatever of her names is given and in whatever case.
    pub fn animal(&self, name: &str) -> Option<&Animal> {
        if let Some(animal) = self.animals.get(name) {
            return Some(animal);
        }
        self.by_eid.get(name).or_else(|| {
            self.animals.iter().find(|animal| animal.as_str().eq_ignore_ascii_case(name))
        })
    }

    /// Which dam wears a device at a moment. The row written last wins.
    pub fn wearing(&self, device: u32, at: Moment) -> Option<&Worn> {
        self.worn.get(device as usize)?.rows().rev().find(|on| {
            on.from.is_none_or(|from| from <= at) && on.until.is_none_or(|until| at < until)
        })
    }

    /// The next moment at which a device goes on or comes off.
    pub fn worn_changes(&self, device: u32, after: Moment) -> Option<Moment> {
        let rows = self.worn.get(device as usize)?.rows();
        rows.flat_map(|on| [on.from, on.until]).flatten().filter(|at| *at > after).min()
    }

    /// The places of all devices that the settings put on a dam at some time.
    pub fn devices(&self) -> impl Iterator<Item = u32> {
        (0..).zip(&self.worn).filter(|(_, worn)| worn.first.is_some()).map(|(place, _)| place)
    }

    pub fn rule(&self, name: &RuleName) -> Option<&Rule> {
        self.rules.get(name).map(|at| &self.config.rules[*at])
    }

    pub fn every(&self, kind: &str) -> Option<Span> {
        self.every.get(kind).copied()
    }

    /// What the settings say of the field that a reading came from.
    pub fn scale(&self, place: FieldPlace) -> Option<&Scale> {
        self.fields.get(place.kind)?.scales.get(place.read)
    }

    /// What to do about a wrong clock of this kind.
    pub fn clock(&self, kind: usize) -> Clock {
        self.fields.get(kind).map_or(Clock::Correct, |fields| fields.clock)
    }

    /// What counts as low of a battery of this kind.
    pub fn battery_low(&self, place: FieldPlace) -> Option<f64> {
        let fields = self.fields.get(place.kind)?;
        let percent = fields.scales.get(place.read)?.unit == Some(Unit::Charge);
        fields.battery_low.or(percent.then_some(BATTERY_LOW))
    }

    /// The person who writes from this mail address.
    pub fn by_mail(&self, address: &str) -> Option<&PersonName> {
        self.config
            .people
            .iter()
            .find(|person| {
                person.mail.as_deref().is_some_and(|mail| address::same_mail(mail, address))
            })
            .map(|person| &person.name)
    }

    pub fn by_mobile(&self, number: &str) -> Option<&PersonName> {
        let country = &self.config.farm.country;
        let number = telephone::normal_mobile(number, country)?;
        self.config
            .people
            .iter()
            .find(|person| {
                person
                    .mobile
                    .as_deref()
                    .and_then(|mobile| telephone::normal_mobile(mobile, country))
                    .is_some_and(|mobile| mobile == number)
            })
            .map(|person| &person.name)
    }

    pub fn by_name(&self, name: &str) -> Option<&PersonName> {
        self.config
            .people
            .iter()
            .map(|person| &person.name)
            .find(|person| person.as_str().eq_ignore_ascii_case(name.trim()))
    }
}

/// The sign under which every sensor tells what its battery has left.
const BATTERY: &str = "battery";

/// Percent left that count as low, unless the settings say: a night or two (common practice, no
/// source).
const BATTERY_LOW: f64 = 15.0;

/// What the settings say of one kind's fields.
struct FieldsOf {
    scales: Vec<Scale>,
    clock: Clock,
    battery_low: Option<f64>,
}

impl FieldsOf {
    fn new(kind: &SensorKind) -> Self {
        let scale = |read: &Read| {
            let unit = read.unit.map(Unit::kept);
            let own = read.fits.map(|(low, high)| Fits { low, high });
            let battery = read.sign == BATTERY;
            let fits = own.or_else(|| plausible::usual(&read.sign, unit));
            Scale { fits, jump: read.jump, unit, battery }
        };
        Self {
            scales: kind.read.iter().map(scale).collect(),
            clock: kind.clock,
            battery_low: kind.battery_low,
        }
    }
}

/// A device was on the dam at this place of the state's roster, from then to then.
#[derive(Clone, Copy, Debug)]
pub struct Worn {
    pub dam: u32,
    pub from: Option<Moment>,
    pub until: Option<Moment>,
}

/// Mostly a device is on one dam all season: that row lies here, the rest elsewhere.
#[derive(Clone, Debug, Default)]
struct WornBy {
    first: Option<Worn>,
    more: Vec<Worn>,
}

impl WornBy {
    fn add(&mut self, worn: Worn) {
        match self.first {
            None => self.first = Some(worn),
            Some(_) => self.more.push(worn),
        }
    }

    fn rows(&self) -> impl DoubleEndedIterator<Item = &Worn> {
        self.first.iter().chain(&self.more)
    }
}

/// A kind of sensor whose pointers cannot be read is left out; `lowbell check` has said so.
fn readable(config: &Config) -> Vec<SensorKind> {
    let mut kinds = config.sensors.clone();
    kinds.retain(|kind| Decoders::new(std::slice::from_ref(kind)).is_ok());
    kinds
}
