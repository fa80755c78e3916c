//! `lowbell device`: the ledger as it stands, and a person's words about a device from this machine, by
//! the same door as a reply to a mail.

use clap::Subcommand;

use super::{End, FarmOption, answer, board, load};
use crate::plain::zone::Zone;
use crate::talk::watched::columns;
use crate::watch::view::{Board, DeviceView, RowView};

#[derive(clap::Args)]
pub struct Args {
    #[command(subcommand)]
    deed: Option<Deed>,
    #[command(flatten)]
    farm: FarmOption,
}

#[derive(Subcommand)]
enum Deed {
    /// Note that a device is on a dam now
    Put {
        device: String,
        animal: String,
        #[command(flatten)]
        said: Said,
    },
    /// Note that a device is on nobody now
    Off {
        device: String,
        #[command(flatten)]
        said: Said,
    },
    /// Note that two devices have changed places
    Swap {
        one: String,
        other: String,
        #[command(flatten)]
        said: Said,
    },
    /// Note that a device has a new battery
    Battery {
        device: String,
        #[command(flatten)]
        said: Said,
    },
}

#[derive(clap::Args)]
struct Said {
    /// When, if not now: 14:00, the last time it was so
    #[arg(long, value_name = "TIME", value_parser = clock)]
    at: Option<String>,
    /// Who you are
    #[arg(long = "as", value_name = "PERSON")]
    name: String,
    #[command(flatten)]
    farm: FarmOption,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let (words, said) = match &args.deed {
        None => return list(&args.farm),
        Some(Deed::Put { device, animal, said }) => (format!("put {device} on {animal}"), said),
        Some(Deed::Off { device, said }) => (format!("take {device} off"), said),
        Some(Deed::Swap { one, other, said }) => (format!("swap {one} {other}"), said),
        Some(Deed::Battery { device, said }) => (format!("battery {device}"), said),
    };
    let at = said.at.as_ref().map_or(String::new(), |at| format!(" at {at}"));
    answer::say(&said.farm, &said.name, words + &at)
}

/// A time of day, "14:00" or "1400", as it was typed.
fn clock(text: &str) -> Result<String, String> {
    let figures = text.replacen(':', "", 1);
    let number: Option<u32> = Some(&figures)
        .filter(|figures| (3..=4).contains(&figures.len()))
        .filter(|figures| figures.bytes().all(|byte| byte.is_ascii_digit()))
        .and_then(|figures| figures.parse().ok());
    match number {
        Some(number) if number / 100 < 24 && number % 100 < 60 => Ok(text.to_owned()),
        Some(_) | None => Err("it is no time of day: write it 14:00".to_owned()),
    }
}

fn list(farm: &FarmOption) -> Result<End, String> {
    let loaded = match load(&farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let board = board(&loaded)?;
    say!("{}", page(&board, &loaded.config.farm.zone).trim_end());
    Ok(End::Done)
}

/// Every row of the ledger; the one that holds now is marked.
fn page(board: &Board, zone: &Zone) -> String {
    let mut table = vec![["", "device", "on", "from", "until", "says"].map(str::to_owned)];
    for device in &board.devices {
        if device.rows.is_empty() {
            table.push(
                ["", device.device.as_str(), "nobody", "", "", "heard only"].map(str::to_owned),
            );
        }
        for (n, row) in device.rows.iter().enumerate() {
            table.push(line(device, n, row, board, zone));
        }
    }
    if table.len() == 1 {
        return "No device has been heard, and the settings name none.".to_owned();
    }
    columns(&table)
}

fn line(device: &DeviceView, n: usize, row: &RowView, board: &Board, zone: &Zone) -> [String; 6] {
    let begun = |row: &RowView| row.from.is_none_or(|from| from <= board.now);
    let holds = begun(row) && !device.rows.iter().skip(n + 1).any(begun);
    let when = |at: Option<_>| at.map_or(String::new(), |at| zone.date_and_clock(at));
    [
        if holds { "*" } else { "" }.to_owned(),
        device.device.to_string(),
        row.on.as_ref().map_or("nobody".to_owned(), ToString::to_string),
        when(row.from),
        when(row.until),
        row.by.clone(),
    ]
}

#[cfg(test)]
mod tests {
    use super::clock;

    #[test]
    fn a_time_that_no_clock_shows_is_refused_before_it_is_sent() {
        for good in ["14:00", "1400", "0:05", "905", "23:59"] {
            assert_eq!(clock(good), Ok(good.to_owned()));
        }
        for bad in ["24:00", "12:60", "noon", "", "1", "12:00:00", "-100", "+100"] {
            assert!(clock(bad).is_err(), "{bad}");
        }
    }
}
