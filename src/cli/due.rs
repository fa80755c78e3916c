//! `lowbell due`: who is due, in the order in which to watch them, and why.
//!
//! Without a watch that runs it answers from the settings alone, and says so.

use jiff::civil::Date;

use super::{End, Farm, Loaded, board, load};
use crate::herd::past::Own;
use crate::herd::stage::Stage;
use crate::talk::due::{self, DueView};
use crate::watch;

#[derive(clap::Args)]
pub struct Args {
    #[command(flatten)]
    farm: Farm,
    /// As of another day, such as 2026-12-01
    #[arg(long, value_name = "DATE")]
    on: Option<Date>,
    /// Print the list as JSON
    #[arg(long)]
    json: bool,
}

/// The list, how many carry without a date, and the day it is of.
struct List {
    rows: Vec<DueView>,
    undated: usize,
    today: Date,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let list = match board(&loaded) {
        Ok(board) => {
            let carrying = board.dams.iter().filter(|dam| dam.stage == Stage::Carrying).count();
            let dated = board.due.iter().filter(|row| row.stage == Stage::Carrying).count();
            let today = loaded.config.farm.zone.wall(board.now).date();
            List { rows: board.due, undated: carrying.saturating_sub(dated), today }
        }
        Err(why) => {
            eprintln!("lowbell: {why}\nlowbell: so this is by the herd file alone");
            by_the_herd_file(&loaded, args.on)
        }
    };
    let day = args.on.unwrap_or(list.today);
    let mut rows: Vec<DueView> = list.rows.into_iter().map(|row| row.on(list.today, day)).collect();
    due::sort(&mut rows);
    if args.json {
        say!("{}", serde_json::to_string_pretty(&rows).map_err(|why| why.to_string())?);
    } else {
        say!("{}", due::page(&rows, list.undated, day).trim_end());
    }
    Ok(End::Done)
}

fn by_the_herd_file(loaded: &Loaded, on: Option<Date>) -> List {
    let config = &loaded.config;
    let now = crate::live::clock::Clock::system(None).now().0;
    let today = on.unwrap_or_else(|| config.farm.zone.wall(now).date());
    let rows = watch::due::list(config, &Own::of(&config.past), |_| None, today);
    let undated = config.animals.len().saturating_sub(rows.len());
    List { rows, undated, today }
}
