//! `lowbell diary`: what happened, one line each, from the journal on disk.

use super::{End, Farm, load, told};
use crate::journal::{JournalError, Store};
use crate::plain::moment::{Moment, Span};
use crate::watch::diary;

#[derive(clap::Args)]
pub struct Args {
    #[command(flatten)]
    farm: Farm,
    /// Only the last span, such as 12h or 10d
    #[arg(long, value_name = "SPAN", value_parser = span)]
    last: Option<Span>,
    /// Only what this person did and was told, with how each word of theirs came in
    #[arg(long, value_name = "PERSON")]
    who: Option<String>,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let store = Store::open_read_only(&loaded.data()).map_err(|why| why.to_string())?;
    let latest = store.last_moment().unwrap_or_default();
    let from = args.last.map_or(Moment::default(), |last| latest - last);
    if let Some(who) = &args.who {
        told::lines(&store, &loaded, who, from)?.iter().for_each(|line| say!("{line}"));
        return Ok(End::Done);
    }
    let zone = &loaded.config.farm.zone;
    let mut end = End::Done;
    for line in store.diary(from) {
        match line {
            Ok(line) => say!("{}", diary::printed(zone, line.at, &line.text)),
            Err(JournalError::Damaged(damage)) => {
                eprintln!("lowbell: row {} of the journal is damaged: {}", damage.row, damage.why);
                end = End::Failed;
            }
            Err(why) => return Err(why.to_string()),
        }
    }
    Ok(end)
}

pub(super) fn span(text: &str) -> Result<Span, String> {
    Span::parse(text)
        .ok_or_else(|| format!("\"{text}\" is not a span such as 90s, 45m, 12h or 10d"))
}
