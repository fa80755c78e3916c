//! Reads `[[chain]]`: what hangs on what. A way that leads round, or nowhere, is a fault.

use std::collections::{BTreeMap, BTreeSet};

use super::chains::{Gateway, Pattern};
use super::faults::{Faults, Placed};
use super::sensors::DeviceOn;
use super::suggest;
use super::topic;
use super::tree::Table;
use crate::plain::ids::{DeviceId, GatewayName};

/// Each is asked at every packet of its own; no farm has so many.
const GATEWAYS_MAX: usize = 64;
/// A list of names longer than this is better written with a star.
const DEVICES_MAX: usize = 2_000;
/// A gateway's name stands in texts beside the animals.
const NAME_MAX: usize = 20;
/// What every way ends at.
const BROKER: &str = "broker";

struct Written {
    name: Placed<String>,
    on: Option<Placed<String>>,
    devices: Vec<Placed<String>>,
    topic: Option<Placed<String>>,
    speaks: Option<Placed<String>>,
}

pub(super) fn read(root: &Table<'_>, devices: &[DeviceOn]) -> Vec<Gateway> {
    let faults = root.faults();
    let tables = root.tables("chain", GATEWAYS_MAX).into_iter();
    let written: Vec<Written> = tables.filter_map(one).collect();
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    for (place, gateway) in written.iter().enumerate() {
        let name = &gateway.name;
        if name.is == BROKER {
            let title = "a gateway cannot be called broker";
            faults.refuse(&name.at, title, "that is what every way ends at");
            continue;
        }
        if places.contains_key(name.is.as_str()) {
            let title = format!("there are two gateways called {}", name.is);
            faults.refuse(&name.at, title, "give each a name of its own");
        }
        places.entry(&name.is).or_insert(place);
    }
    let on = ways(&written, &places, faults);
    refuse_circles(&written, &on, faults);
    let gateways: Vec<Gateway> =
        written.iter().zip(&on).map(|(gateway, on)| gateway.gateway(*on)).collect();
    check_devices(&written, &gateways, devices, faults);
    gateways
}

fn one(table: Table<'_>) -> Option<Written> {
    let name = table.needed("name", "what people call the gateway, such as \"barn gateway\"");
    let on = table.text("on");
    let devices = table.texts("devices");
    let topic = table.text("topic");
    let speaks = table.text("speaks");
    let (at, faults) = (table.place(), table.faults());
    table.done();
    if let Some(beyond) = devices.get(DEVICES_MAX) {
        let title = format!("a gateway names at most {DEVICES_MAX} devices");
        faults.refuse(&beyond.at, title, "write one name with a star, such as \"t-*\"");
    }
    if let Some(topic) = &topic
        && let Some(why) = topic::wrong(&topic.is)
    {
        let title = format!("{} is not a topic filter", topic.is);
        faults.refuse(&topic.at, title, why);
    }
    let name = name?;
    if name.is.chars().count() > NAME_MAX {
        let title = format!("a gateway's name has at most {NAME_MAX} letters");
        faults.refuse(&name.at, title, "it stands in texts beside the animals; shorten it");
    }
    if !devices.is_empty() && topic.is_some() {
        let title = "devices does not go with topic";
        faults.refuse(&at, title, "say what hangs on it in one way; make two of it if need be");
    }
    Some(Written { name, on, devices, topic, speaks })
}

impl Written {
    fn gateway(&self, on: Option<usize>) -> Gateway {
        Gateway {
            name: GatewayName::new(&self.name.is),
            on,
            devices: self.devices.iter().map(|name| Pattern::new(&name.is)).collect(),
            topic: self.topic.as_ref().map(|topic| topic.is.clone()),
            speaks: self.speaks.as_ref().map(|device| DeviceId::new(&device.is)),
        }
    }
}

/// What each hangs on, by place.
fn ways(
    written: &[Written],
    places: &BTreeMap<&str, usize>,
    faults: &Faults,
) -> Vec<Option<usize>> {
    let way = |gateway: &Written| {
        let on = gateway.on.as_ref().filter(|on| on.is != BROKER)?;
        let place = places.get(on.is.as_str()).copied();
        if place.is_none() {
            let names: Vec<&str> = places.keys().copied().chain([BROKER]).collect();
            let title = format!("there is no gateway {}", on.is);
            faults.refuse(&on.at, title, suggest::way_out("gateways", &on.is, &names));
        }
        place
    };
    written.iter().map(way).collect()
}

fn refuse_circles(written: &[Written], on: &[Option<usize>], faults: &Faults) {
    for (start, gateway) in written.iter().enumerate() {
        let mut at = on[start];
        for _ in 0..written.len() {
            let Some(next) = at else { break };
            if next == start {
                let title = format!("the way from {} leads back to it", gateway.name.is);
                let place = gateway.on.as_ref().map_or(&gateway.name.at, |on| &on.at);
                faults.refuse(place, title, "in the end every gateway hangs on the broker");
                return;
            }
            at = on[next];
        }
    }
}

/// A device hangs on one gateway, and on every gateway hangs something.
fn check_devices(written: &[Written], gateways: &[Gateway], devices: &[DeviceOn], faults: &Faults) {
    if gateways.is_empty() {
        return;
    }
    let named = gateways.iter().flat_map(|gateway| &gateway.devices).filter(|name| name.is_one());
    let mut names: BTreeSet<&str> = named.map(Pattern::as_str).collect();
    names.extend(devices.iter().map(|on| on.id.as_str()));
    let mut said: BTreeSet<usize> = BTreeSet::new();
    for name in names {
        let mut hangs = (0..gateways.len())
            .filter(|place| gateways[*place].devices.iter().any(|one| one.matches(name)));
        if let (Some(one), Some(other)) = (hangs.next(), hangs.next())
            && said.insert(other)
        {
            let (one, also) = (&gateways[one].name, &gateways[other].name);
            let title = format!("device {name} hangs on {one} and on {also}");
            let at = written[other].devices.first().map_or(&written[other].name.at, |one| &one.at);
            faults.refuse(at, title, "say of each device through which gateway it comes");
        }
    }
    for (place, gateway) in gateways.iter().enumerate() {
        let bare = gateway.devices.is_empty() && gateway.topic.is_none();
        let parent = gateways.iter().any(|other| other.on == Some(place));
        if bare && gateway.speaks.is_none() && !parent {
            let title = format!("nothing hangs on {}", gateway.name);
            let help = "name its devices = [\"t-*\"], its topic, or the device it speaks as";
            faults.warn(&written[place].name.at, title, help);
        }
    }
}
