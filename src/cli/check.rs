//! `lowbell check`: every fault and every warning at once.

use super::{End, Farm};
use crate::config::Config;
use crate::config::countries;
use crate::config::fault::Severity;
use crate::herd::past::Own;
use crate::herd::window::Window;
use crate::live::settings::{self, Place};
use crate::plain::english::many;
use crate::plain::zone;
use crate::rota::cover::{Hole, Wanted};

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
    let (bare, unbacked) = open_hours(&config);
    if !bare.is_empty() {
        bare.iter().for_each(|why| eprintln!("error: {why}"));
        eprintln!(
            "{}: the rota leaves hours open that are to be covered",
            args.farm.farm.display()
        );
        return Ok(End::BadSettings);
    }
    unbacked.iter().for_each(|why| eprintln!("warning: {why}"));
    let warned = warned + unbacked.len();
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

/// So many are named; the rest is counted.
const NAMED: usize = 5;

/// The hours of this season in which, by the settings alone, nobody is on duty or nobody else behind them: its every
/// second, where the week's pattern says nothing of days on which somebody stands in.
fn open_hours(config: &Config) -> (Vec<String>, Vec<String>) {
    let zone = &config.farm.zone;
    let now = crate::live::clock::Clock::system(None).now().0;
    let own = Own::of(&config.past);
    let last = |row| Window::of(row, &config.species, &own).map(|due| due.edges(zone).given_up);
    let end = config.animals.iter().filter_map(last).max().unwrap_or(now);
    let wanted =
        Wanted { rotas: &config.rotas, zone, covered: config.calls.covered, counts: &|_, _| true };
    let (bare, unbacked): (Vec<Hole>, Vec<Hole>) =
        wanted.holes(now, end).into_iter().partition(|hole| hole.nobody);
    let said = |holes: &[Hole], what: &str| {
        let hours = holes.iter().take(NAMED);
        let mut said: Vec<String> = hours
            .map(|hole| {
                format!("{what} from {} to {}", zone.stamp(hole.from), zone.stamp(hole.until))
            })
            .collect();
        if holes.len() > NAMED {
            said.push(format!("{what}: {} times more", holes.len() - NAMED));
        }
        said
    };
    (said(&bare, "nobody is on duty"), said(&unbacked, "nobody else backs up whoever is on duty"))
}

/// Governments change their clocks at a few months' notice: older data may be an hour wrong (standards.md TZ-10).
const MONTHS_MAX: i32 = 12;

/// Where Debian says which data the machine has.
const OF_THE_MACHINE: &str = "/usr/share/zoneinfo/tzdata.zi";

/// What is to be said of zone data that are old, or older than the machine's.
pub(super) fn zones_are_old() -> Option<String> {
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

/// "2026f": the letter is taken for the month. Data come out less often, so that they are rather younger than that.
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
