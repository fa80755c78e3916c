//! `lowbell check`: every fault and every warning at once.

use super::{End, Farm};
use crate::config::countries;
use crate::config::fault::Severity;
use crate::live::settings::{self, Place};
use crate::plain::english::many;
use crate::plain::zone;

#[derive(clap::Args)]
pub struct Args {
    #[command(flatten)]
    farm: Farm,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let place = Place::new(&args.farm.farm);
    let text = match place.read() {
        Ok(text) => text,
        Err(why) => {
            eprintln!("lowbell: {why}");
            return Ok(End::BadSettings);
        }
    };
    let parsed = crate::config::parse(&text);
    if !parsed.faults.is_empty() {
        eprintln!("{}", settings::faults(&text, &parsed.faults));
    }
    let refused = parsed.faults.iter().filter(|fault| fault.severity == Severity::Refuses).count();
    let warned = parsed.faults.len() - refused;
    let Some(config) = parsed.config else {
        eprintln!(
            "{}: {} and {}",
            args.farm.farm.display(),
            many(refused, "error", "errors"),
            many(warned, "warning", "warnings")
        );
        return Ok(End::BadSettings);
    };
    say!(
        "{}: {}, {}, {}, {}; {}",
        config.farm.name,
        many(config.animals.len(), "dam", "dams"),
        many(config.people.len(), "person", "people"),
        many(config.sensors.len(), "kind of sensor", "kinds of sensor"),
        many(config.rules.len(), "rule", "rules"),
        if warned == 0 {
            "nothing is wrong".to_owned()
        } else {
            many(warned, "warning", "warnings")
        }
    );
    say!("Time zone data {} ({}).", zone::data_version(), config.farm.zone.name());
    if let Some(warning) = zones_are_old() {
        eprintln!("warning: {warning}");
    }
    let country = &config.farm.country;
    if config.records.keeper.is_some()
        && countries::duties_of(country, &config.farm.species).is_empty()
    {
        let country =
            if country.is_empty() { "a farm without a country" } else { country.as_str() };
        say!("The calving book knows no legal deadline of {country}: ask your own authority.");
    }
    Ok(End::Done)
}

/// Governments change their clocks at a few months' notice: older data may be an hour wrong (standards.md TZ-10).
const MONTHS_MAX: i32 = 12;

/// Where Debian says which data the machine has.
const OF_THE_MACHINE: &str = "/usr/share/zoneinfo/tzdata.zi";

fn zones_are_old() -> Option<String> {
    let own = zone::data_version();
    let machine = std::fs::read_to_string(OF_THE_MACHINE).ok();
    let machine =
        machine.as_deref().and_then(|text| text.lines().next()?.strip_prefix("# version "));
    if let Some(newer) = machine.filter(|machine| *machine > own) {
        return Some(format!(
            "this machine has newer time zone data ({newer}) than this program ({own}): bring it up to date"
        ));
    }
    let now = crate::live::clock::Clock::system(None).now().0;
    is_old(own, zone::Zone::utc().wall(now).date()).then(|| {
        format!("the time zone data {own} are over a year old: bring this program up to date")
    })
}

/// "2026f": the letter is about the month's half.
fn is_old(version: &str, today: jiff::civil::Date) -> bool {
    let (Some(year), letter) = (version.get(..4), version.get(4..5).unwrap_or("a")) else {
        return false;
    };
    let Ok(year) = year.parse::<i32>() else { return false };
    let month =
        letter.bytes().next().map_or(1, |letter| i32::from(letter.saturating_sub(b'a')) + 1);
    let age = (i32::from(today.year()) - year) * 12 + i32::from(today.month()) - month.min(12);
    age > MONTHS_MAX
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zone_data_of_last_year_are_old_after_a_year() {
        let day = |text: &str| text.parse().unwrap();
        assert!(!is_old("2026f", day("2026-11-26")));
        assert!(!is_old("2026f", day("2027-06-30")));
        assert!(is_old("2026f", day("2027-07-01")));
        assert!(is_old("2025b", day("2026-11-26")));
    }
}
