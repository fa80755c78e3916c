//! Reads `[[device]]`: which device was on which dam, from when to when.

use super::dates;
use super::faults::{Faults, Place};
use super::herd::Herd;
use super::sensors::{DeviceOn, PICTURES};
use super::suggest;
use super::tree::Table;
use super::{cameras::Camera, faults::Placed, sensor::Sensors};
use crate::plain::ids::DeviceId;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// One `[[device]]` and where it stands.
pub(super) struct Written {
    pub(super) on: DeviceOn,
    at: Place,
    kind: Option<Place>,
}

/// `None` if it lacks what makes it one.
pub(super) fn read(table: Table<'_>, herd: &Herd, zone: &Zone) -> Option<Written> {
    let id = table.needed("id", "what the sensor calls itself in its topic");
    let animal = table.needed("on", "the animal that wears it, as the herd file names her");
    let from = table.value("from").and_then(|value| dates::moment(&value, zone));
    let until = table.value("until").and_then(|value| dates::moment(&value, zone));
    let kind = table.text("kind");
    let at = table.place();
    let faults = table.faults();
    table.done();
    if let (Some(from), Some(until)) = (&from, &until)
        && from.is >= until.is
    {
        let title = "it came off before it went on";
        faults.refuse(&until.at, title, "until must be later than from");
    }
    let on = herd.find(&animal?, faults)?;
    Some(Written {
        on: DeviceOn {
            id: DeviceId::new(&id?.is),
            on,
            from: from.map(|from| from.is),
            until: until.map(|until| until.is),
            kind: kind.as_ref().map(|kind| kind.is.clone()),
        },
        at,
        kind: kind.map(|kind| kind.at),
    })
}

/// What kind a device is said to be must be one that some sensor is, and one only.
pub(super) fn check_kinds(
    devices: &[Written],
    sensors: &Sensors,
    cameras: &[Camera],
    faults: &Faults,
) {
    for (n, one) in devices.iter().enumerate() {
        let (Some(kind), Some(at)) = (&one.on.kind, &one.kind) else { continue };
        let kind = Placed { is: kind.as_str(), at: at.clone() };
        let id = one.on.id.as_str();
        let camera = cameras.iter().any(|camera| camera.is_meant_by(id));
        let known = sensors.has_kind(kind.is) || (camera && kind.is == PICTURES);
        if !known {
            let kinds = sensors.kinds.iter().map(|known| known.kind.as_str());
            let kinds: Vec<&str> = kinds.chain(camera.then_some(PICTURES)).collect();
            let help = if kinds.is_empty() {
                "add a [[sensor]] that reads it, or take kind out".to_owned()
            } else {
                suggest::one_of(kind.is, &kinds)
            };
            faults.refuse(&kind.at, format!("no sensor is of the kind {}", kind.is), help);
            continue;
        }
        let other = devices[..n].iter().filter(|other| other.on.id == one.on.id);
        let mut other = other.filter_map(|other| other.on.kind.as_deref());
        if let Some(other) = other.find(|other| *other != kind.is) {
            let title = format!("device {id} is a {other} and a {}", kind.is);
            faults.refuse(&kind.at, title, "it is of one kind, whoever wears it");
        }
    }
}

/// One device is on one animal at a time.
pub(super) fn check_overlaps(devices: &[Written], faults: &Faults) {
    let mut order: Vec<usize> = (0..devices.len()).collect();
    let span = |n: usize| {
        let on = &devices[n].on;
        (on.from, on.until.unwrap_or(Moment::from_millis(i64::MAX)))
    };
    // By device and then by start, whoever could overlap stands next to whom.
    order.sort_by_key(|n| (devices[*n].on.id.clone(), span(*n)));
    for pair in order.windows(2) {
        let (one, other) = (&devices[pair[0]], &devices[pair[1]]);
        let starts = other.on.from;
        let overlaps = one.on.id == other.on.id
            && one.on.until.is_none_or(|ends| starts.is_none_or(|starts| starts < ends));
        if overlaps {
            let (id, on, also) = (&one.on.id, &one.on.on, &other.on.on);
            let title = if on == also {
                format!("device {id} is on {on} twice at the same time")
            } else {
                format!("device {id} is on {on} and on {also} at the same time")
            };
            let later = one.at.span.as_ref().map(|span| span.start)
                < other.at.span.as_ref().map(|span| span.start);
            let at = if later { &other.at } else { &one.at };
            let help = "say when it moved: until on the first, from on the second";
            faults.refuse(at, title, help);
        }
    }
}
