//! `lowbell rota WHEN`: who is on duty.

use super::{End, FarmOption, load};
use crate::alarm::ladder;
use crate::plain::english;
use crate::plain::ids::PersonName;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

#[derive(clap::Args)]
pub struct Args {
    /// "now", a local time such as 2026-12-24T23:00, or a time with its offset
    #[arg(default_value = "now")]
    when: String,
    #[command(flatten)]
    farm: FarmOption,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let zone = &loaded.config.farm.zone;
    let at = moment(&args.when, zone)?;
    let duty = ladder::duty(&loaded.config, at);
    say!("{} ({})", zone.stamp(at), zone.name());
    if duty.people.is_empty() {
        let everyone = loaded.config.rotas.is_empty();
        say!(
            "{}",
            if everyone {
                "There is no rota: everybody is on duty."
            } else {
                "Nobody is on duty: everybody would be called."
            }
        );
    }
    for shift in &duty.people {
        say!(
            "{} is on duty ({}), from {} until {}",
            shift.person,
            shift.rota,
            zone.stamp(shift.from),
            zone.stamp(shift.until)
        );
    }
    let backup: Vec<&str> = duty.backup.iter().map(PersonName::as_str).collect();
    say!(
        "Backup: {}",
        if backup.is_empty() { "nobody".to_owned() } else { english::list(&backup) }
    );
    Ok(End::Done)
}

fn moment(when: &str, zone: &Zone) -> Result<Moment, String> {
    if when == "now" {
        return Ok(crate::live::clock::Clock::system(None).now().0);
    }
    if let Some(at) = Moment::from_rfc3339(when) {
        return Ok(at);
    }
    let wall = when.replace(' ', "T").parse::<jiff::civil::DateTime>();
    wall.map(|wall| zone.instant(wall))
        .map_err(|_| format!("\"{when}\" is no time; write it as 2026-12-24T23:00"))
}
