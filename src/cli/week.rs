//! `lowbell week`: what the watch has asked of people, and what came of it, from the journal alone.
//!
//! It tells the journal to a watch of its own and listens to what that does: the same journal gives the same page.

use super::{End, FarmOption, load, told_again};
use crate::paper::load::Load;
use crate::paper::{html, text, week};
use crate::plain::moment::Moment;

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
    let mut heard = Load::default();
    let mut span: Option<(Moment, Moment)> = None;
    told_again(&loaded, &mut |at, step, watch| {
        heard.hears(at, step, watch);
        span = Some((span.map_or(at, |(from, _)| from), at));
    })?;
    let Some((from, now)) = span else {
        return Err("the journal is empty: nothing has been watched yet".to_owned());
    };
    let sheet = week::sheet(&heard, &loaded.config, from, now);
    let page = if args.html { html::render(&sheet) } else { text::render(&sheet) };
    say!("{}", page.trim_end());
    Ok(End::Done)
}
