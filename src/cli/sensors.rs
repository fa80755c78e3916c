//! `lowbell sensors`: every device, when it was last heard, how often it speaks, what is wrong with it,
//! and its last values, each with its age.

use std::io::IsTerminal as _;
use std::time::Duration;

use super::{End, Farm, Loaded, board, board_of, load, runtime};
use crate::plain::english;
use crate::plain::moment::Moment;
use crate::talk::watched::columns;
use crate::watch::view::{Board, DeviceView, ValueView};

/// How often the table is drawn anew.
const REDRAW: Duration = Duration::from_secs(2);

#[derive(clap::Args)]
pub struct Args {
    #[command(flatten)]
    farm: Farm,
    /// Go on, every two seconds, until interrupted; into a file or pipe only when something was heard
    #[arg(long)]
    watch: bool,
    /// Print the devices as JSON
    #[arg(long, conflicts_with = "watch")]
    json: bool,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    if args.watch {
        return runtime()?.block_on(watch(&loaded));
    }
    let board = board(&loaded)?;
    if args.json {
        say!("{}", serde_json::to_string_pretty(&board.devices).map_err(|why| why.to_string())?);
    } else {
        say!("{}", page(&board).trim_end());
    }
    Ok(End::Done)
}

async fn watch(loaded: &Loaded) -> Result<End, String> {
    let screen = std::io::stdout().is_terminal();
    let mut last: Option<Vec<DeviceView>> = None;
    loop {
        let board = board_of(loaded).await?;
        if screen {
            // Home, and clear what is below: the table before stood there.
            say!("\x1b[H\x1b[J{}", page(&board).trim_end());
        } else if last.as_ref() != Some(&board.devices) {
            say!("{}\n", page(&board).trim_end());
            last = Some(board.devices);
        }
        tokio::time::sleep(REDRAW).await;
    }
}

fn page(board: &Board) -> String {
    if board.devices.is_empty() {
        return "No device has been heard, and the settings name none.".to_owned();
    }
    let head =
        ["device", "kind", "on", "heard", "in the last hour", "battery", "last values", "wrong"];
    let mut table = vec![head.map(str::to_owned)];
    table.extend(board.devices.iter().map(|device| row(device, board.now)));
    columns(&table)
}

fn row(device: &DeviceView, now: Moment) -> [String; 8] {
    let heard = match device.heard {
        Some(heard) => format!("{} ago", english::span(now.since(heard))),
        None => "never".to_owned(),
    };
    let battery = device.values.iter().find(|value| value.sign == BATTERY);
    let changed = device.battery.map(|at| format!("new {} ago", english::span(now.since(at))));
    let battery: Vec<String> =
        battery.map(|value| with_age(value, now)).into_iter().chain(changed).collect();
    let values = device.values.iter().filter(|value| value.sign != BATTERY);
    let values: Vec<String> =
        values.map(|value| format!("{} {}", value.sign, with_age(value, now))).collect();
    let mut wrong = device.ills.clone();
    wrong.extend(device.refused.iter().map(|(why, times)| format!("{} {times}x", in_words(why))));
    let or_none = |text: String| if text.is_empty() { "-".to_owned() } else { text };
    [
        device.device.to_string(),
        or_none(device.kind.clone().unwrap_or_default()),
        or_none(device.on.as_ref().map_or(String::new(), ToString::to_string)),
        heard,
        device.an_hour.to_string(),
        or_none(battery.join(", ")),
        or_none(values.join(", ")),
        or_none(wrong.join(", ")),
    ]
}

/// What the watch counts under one word, in the yard's words.
fn in_words(refused: &str) -> &str {
    match refused {
        "undecodable" => "not understood",
        "unworn" => "heard while on no dam",
        "untimely" => "its time not believed",
        other => other,
    }
}

/// The sign by which a device tells its battery.
const BATTERY: &str = "battery";

/// No value without its age; of one that only the broker kept it may be unknown.
fn with_age(value: &ValueView, now: Moment) -> String {
    let kept = if value.kept { ", kept" } else { "" };
    match value.at {
        Some(at) => format!("{} ({} ago{kept})", value.value, english::span(now.since(at))),
        None => format!("{} (of unknown age{kept})", value.value),
    }
}
