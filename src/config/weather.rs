//! Reads `[weather]`: which device tells how cold the air is, and what counts as cold.

use super::sensor::Sensors;
use super::sensors::DeviceOn;
use super::suggest;
use super::tree::Table;
use crate::plain::amount::Amount;
use crate::plain::ids::DeviceId;

/// `[weather]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Weather {
    pub device: DeviceId,
    /// The sign under which it tells the air's temperature, in degrees Celsius.
    pub sign: String,
    /// Below this it is cold.
    pub cold: Amount,
}

/// facts.md C-21 (extension): a wet calf in the wind is in trouble below 50 °F, 10 °C.
const COLD: Amount = Amount::thousandths(10_000);
/// No farm calls less than this cold or more than this mild.
const COLDS: std::ops::RangeInclusive<f64> = -40.0..=30.0;

/// `None` where it cannot be used, which has then been said.
pub(super) fn read(table: Table<'_>, sensors: &Sensors, devices: &[DeviceOn]) -> Option<Weather> {
    let device = table.needed("device", "the device that tells it, such as \"mast\"");
    let sign = table.needed("sign", "what its [[sensor]] calls it, such as \"air temperature\"");
    let cold = table.value("cold").map_or(Some(COLD), |value| {
        let cold = value.finite()?;
        if !COLDS.contains(&cold) {
            let help = "write degrees Celsius, from -40 to 30; the usual is 10";
            value.refuse(format!("cold cannot be {cold}"), help);
            return None;
        }
        Amount::of(cold)
    });
    let faults = table.faults();
    if let Some(device) = &device
        && let Some(on) = devices.iter().find(|on| on.id.as_str() == device.is)
    {
        let title =
            format!("{} is on dam {}, so it does not tell the air's temperature", device.is, on.on);
        faults.refuse(&device.at, title, "name a device that no dam wears");
    }
    if let Some(sign) = &sign
        && !sensors.gives(&sign.is)
        && !sensors.mute_signs.contains(&sign.is)
    {
        let mut signs: Vec<&str> = Vec::new();
        for given in sensors.signs() {
            if !signs.contains(&given) {
                signs.push(given);
            }
        }
        let title = format!("no sensor gives {}, so nobody will know when it is cold", sign.is);
        let help = suggest::way_out("signs that sensors give", &sign.is, &signs);
        faults.warn(&sign.at, title, help);
    }
    table.done();
    Some(Weather { device: DeviceId::new(&device?.is), sign: sign?.is, cold: cold? })
}
