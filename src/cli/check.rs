//! `lowbell check`: every fault and every warning at once.

use super::{End, Farm};
use crate::config::countries;
use crate::config::fault::Severity;
use crate::live::settings::{self, Place};
use crate::plain::english::many;

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
