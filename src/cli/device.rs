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
    /// When, if not now: 14:00
    #[arg(long, value_name = "TIME")]
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
