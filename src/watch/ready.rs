//! The settings made ready for use: looked up by name instead of searched.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::state::State;
use crate::config::Config;
use crate::config::chains::Gateway;
use crate::config::rules::Rule;
use crate::config::sensors::{Clock, PICTURES, Read, ReadKind, SensorKind};
use crate::gear::gauge::Scale;
use crate::herd::past::Own;
use crate::herd::window::{Edges, Window};
use crate::plain::ids::{Animal, DeviceId, GatewayName, PersonName, RuleName};
use crate::plain::moment::{Moment, Span};
use crate::plain::quantity::Unit;
use crate::rota::swap;
use crate::rules::book::Book;
use crate::sensor::decoders::Decoders;
use crate::sensor::ledger::Set;
use crate::sensor::plausible::{self, Fits};
use crate::sensor::reading::FieldPlace;
use crate::sensor::topic::Filter;
use crate::talk::sender;

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
    /// How long the farm's own dams carried in past seasons.
    pub own: Own,
    /// By place in the state's roster of dams: the edges of her window, and her row in the herd file.
    windows: Vec<Option<(Edges, u32)>>,
    /// By place in the state's roster of devices: the gateway that names it.
    hangs: Vec<Option<u16>>,
    topics: Vec<(usize, Filter)>,
    /// By place in the state's roster of devices: what the settings say that each speaks as, and whether
    /// it need not speak. Empty where they say nothing of any.
    said: Vec<Said>,
    /// Devices of which the settings say otherwise than a person said later.
    pub overruled: Vec<u32>,
    rules: BTreeMap<RuleName, usize>,
    every: BTreeMap<String, Span>,
}

impl Ready {
    /// Gives every dam and device of the settings its place in the state's rosters.
    pub fn new(mut config: Config, state: &mut State) -> Self {
        swap::lay_over(&mut config, &state.swaps, &state.away);
        state.dams.values_mut().for_each(|dam| dam.listed = false);
        for row in &config.animals {
            let dam = state.dams.member(&row.animal);
            dam.listed = true;
            dam.parity = row.parity;
            dam.spans = config.terms.spans;
            dam.scanned = row.scanned.unwrap_or(0);
        }
        let sets: Vec<Set> = config
            .devices
            .iter()
            .map(|on| {
                let (device, dam) = (state.devices.place(&on.id), state.dams.place(&on.on));
                Set { device, dam, from: on.from, until: on.until }
            })
            .collect();
        let overruled = state.ledger.set(&sets, state.now);
        let kinds = readable(&config);
        let own = Own::of(&config.past);
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
            windows: windows(&config, &own, state),
            own,
            hangs: hangs(&config, state),
            topics: topics(&config),
            said: said(&config, state),
            overruled,
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

    /// When the herd file says that she may calve, and when nobody waits for it any more.
    pub fn window(&self, dam: u32) -> Option<(Moment, Moment)> {
        self.edges(dam).map(|edges| (edges.opens, edges.given_up))
    }

    /// The edges of her window as moments.
    pub fn edges(&self, dam: u32) -> Option<Edges> {
        self.windows.get(dam as usize)?.map(|(edges, _)| edges)
    }

    /// Her window in full, made anew each time: few ask, and a large herd's would take much room.
    pub fn due(&self, dam: u32) -> Option<Window> {
        let (_, row) = (*self.windows.get(dam as usize)?)?;
        Window::of(self.config.animals.get(row as usize)?, &self.config.species, &self.own)
    }

    /// Whether some rule wants to know who is unwatched.
    pub fn asks_for_cover(&self) -> bool {
        !self.book.unwatched.is_empty()
    }

    /// The gateway whose topic this is.
    pub fn gateway_of_topic(&self, topic: &str) -> Option<usize> {
        let mut filters = self.topics.iter();
        filters.find(|(_, filter)| filter.matches(topic).is_some()).map(|(place, _)| *place)
    }

    /// The gateway that a device hangs on: by its name, or by the topic it last spoke on.
    pub fn gateway_of(
        &self,
        device: u32,
        id: &str,
        through: Option<&GatewayName>,
    ) -> Option<usize> {
        let chains = &self.config.chains;
        let named = match self.hangs.get(device as usize) {
            Some(place) => place.map(usize::from),
            None => hangs_on(chains, id),
        };
        named.or_else(|| chains.iter().position(|gateway| Some(&gateway.name) == through))
    }

    /// A gateway and those above it, up to the broker.
    pub fn above(&self, gateway: usize) -> impl Iterator<Item = usize> + use<'_> {
        std::iter::successors(Some(gateway), |place| self.config.chains[*place].on)
    }

    pub fn rule(&self, name: &RuleName) -> Option<&Rule> {
        self.rules.get(name).map(|at| &self.config.rules[*at])
    }

    /// Whether a finding of this rule calls anybody.
    pub fn tells(&self, name: &RuleName) -> bool {
        self.rule(name).is_some_and(|rule| rule.tell.is_some())
    }

    /// Whether any kind of sensor still measures a sign.
    pub fn measures(&self, sign: &str) -> bool {
        let mut reads = self.config.sensors.iter().flat_map(|kind| &kind.read);
        reads
            .any(|read| read.sign == sign && matches!(read.kind, ReadKind::Level | ReadKind::Total))
    }

    pub fn every(&self, kind: &str) -> Option<Span> {
        self.every.get(kind).copied()
    }

    /// What a device speaks as, by the settings.
    pub fn kind_said(&self, device: u32) -> Option<&str> {
        self.said.get(device as usize)?.kind.as_deref()
    }

    /// Whether a device need not be heard: a camera that only gives pictures.
    pub fn only_gives_pictures(&self, device: u32) -> bool {
        self.said.get(device as usize).is_some_and(|said| said.pictures)
    }

    /// What the settings say of the field that a reading came from.
    pub fn scale(&self, place: FieldPlace) -> Option<&Scale> {
        self.fields.get(place.kind)?.scales.get(place.read)
    }

    /// What to do about a wrong clock of this kind.
    /// Whether no time of a device of this kind is taken once its clock is found wrong.
    pub fn refuses_times_of(&self, kind: &str) -> bool {
        let of_kind = self.kinds.iter().zip(&self.fields).filter(|(name, _)| &***name == kind);
        of_kind.into_iter().any(|(_, fields)| fields.clock == Clock::Refuse)
    }

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
        sender::by_mail(&self.config, address)
    }

    pub fn by_mobile(&self, number: &str) -> Option<&PersonName> {
        sender::by_mobile(&self.config, number)
    }

    pub fn by_name(&self, name: &str) -> Option<&PersonName> {
        sender::by_name(&self.config, name)
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

/// What the settings say of a device that nobody has heard yet.
#[derive(Debug)]
struct Said {
    kind: Option<Arc<str>>,
    pictures: bool,
}

/// A camera need not be heard if it is only asked for pictures. Where some kind of sensor tells what cameras
/// see, this one might too, unless the settings say what it is. Takes no room where nothing is said.
fn said(config: &Config, state: &State) -> Vec<Said> {
    let kinds = config.devices.iter().filter_map(|on| Some((on.id.as_str(), on.kind.as_deref()?)));
    let kinds: BTreeMap<&str, &str> = kinds.collect();
    if kinds.is_empty() && config.cameras.is_empty() {
        return Vec::new();
    }
    let one_might_see = config.sensors.iter().any(SensorKind::sees);
    let a_word = !config.sensors.iter().any(|kind| kind.kind == PICTURES);
    let of = |id: &DeviceId| {
        let kind = kinds.get(id.as_str()).copied();
        let pictures = match kind {
            Some(kind) => a_word && kind == PICTURES,
            None => config.gives_pictures(id.as_str()) && !one_might_see,
        };
        Said { kind: kind.filter(|_| !pictures).map(Arc::from), pictures }
    };
    state.devices.names().map(of).collect()
}

/// When each dam may calve, by her place.
fn windows(config: &Config, own: &Own, state: &State) -> Vec<Option<(Edges, u32)>> {
    let mut windows = vec![None; state.dams.len()];
    for (at, row) in (0..).zip(&config.animals) {
        let window = Window::of(row, &config.species, own);
        if let Some(place) = state.dams.find(&row.animal) {
            windows[place as usize] = window.map(|window| (window.edges(&config.farm.zone), at));
        }
    }
    windows
}

fn hangs(config: &Config, state: &State) -> Vec<Option<u16>> {
    if config.chains.is_empty() {
        return Vec::new();
    }
    let place = |device: &DeviceId| {
        let place = hangs_on(&config.chains, device.as_str())?;
        u16::try_from(place).ok()
    };
    state.devices.names().map(place).collect()
}

/// The gateway that names a device, as its own heartbeat or among its devices.
fn hangs_on(chains: &[Gateway], id: &str) -> Option<usize> {
    let speaks =
        |gateway: &Gateway| gateway.speaks.as_ref().is_some_and(|device| device.as_str() == id);
    let names = |gateway: &Gateway| gateway.devices.iter().any(|pattern| pattern.matches(id));
    chains.iter().position(speaks).or_else(|| chains.iter().position(names))
}

fn topics(config: &Config) -> Vec<(usize, Filter)> {
    let filter = |(place, gateway): (usize, &Gateway)| {
        let filter = Filter::parse(gateway.topic.as_deref()?).ok()?;
        Some((place, filter))
    };
    config.chains.iter().enumerate().filter_map(filter).collect()
}

/// A kind of sensor whose pointers cannot be read is left out; `lowbell check` has said so.
fn readable(config: &Config) -> Vec<SensorKind> {
    let mut kinds = config.sensors.clone();
    kinds.retain(|kind| Decoders::new(std::slice::from_ref(kind)).is_ok());
    kinds
}
