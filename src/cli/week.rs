//! `lowbell week`: what the watch has asked of people, and what came of it, from the journal alone.
//!
//! It tells the journal to a watch of its own and listens to what that does: the same journal gives the same page.

use std::ops::ControlFlow;

use super::{End, FarmOption, load};
use crate::journal::Store;
use crate::paper::load::Load;
use crate::paper::{html, text, week};
use crate::plain::moment::Moment;
use crate::replay::Replay;

#[derive(clap::Args)]
pub struct Args {
    /// As a page of HTML that prints
    #[arg(long)]
    html: bool,
    #[command(flatten)]
    farm: FarmOption,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let store = Store::open_read_only(&loaded.data()).map_err(|why| why.to_string())?;
    let (mut replay, mut heard) = (Replay::default(), Load::default());
    let mut span: Option<(Moment, Moment)> = None;
    let damages = store
        .read(0, &mut |block| {
            for entry in &block.entries {
                let (step, _) = replay.take(entry.at, &entry.event);
                heard.hears(entry.at, &step, &replay.watch);
                span = Some((span.map_or(entry.at, |(from, _)| from), entry.at));
            }
            ControlFlow::Continue(())
        })
        .map_err(|why| why.to_string())?;
    for damage in &damages {
        eprintln!("lowbell: row {} of the journal is damaged: {}", damage.row, damage.why);
    }
    let Some((from, now)) = span else {
        return Err("the journal is empty: nothing has been watched yet".to_owned());
    };
    let sheet = week::sheet(&heard, &loaded.config, from, now);
    let page = if args.html { html::render(&sheet) } else { text::render(&sheet) };
    say!("{}", page.trim_end());
    Ok(End::Done)
}
