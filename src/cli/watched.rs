//! `lowbell watched`: who or what watches each dam in her window, and when somebody must look next.

use super::{End, Farm, board, load};
use crate::talk::watched;

#[derive(clap::Args)]
pub struct Args {
    #[command(flatten)]
    farm: Farm,
    /// Print the list as JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let board = board(&loaded)?;
    if args.json {
        say!("{}", serde_json::to_string_pretty(&board.watched).map_err(|why| why.to_string())?);
    } else {
        let page = watched::page(&board.watched, board.now, &loaded.config.farm.zone);
        say!("{}", page.trim_end());
    }
    Ok(End::Done)
}
