//! `lowbell alerts`: every alert with its beginning and end, the limit in force then and what was measured, from the
//! journal alone.

use std::ops::ControlFlow;

use super::{End, FarmOption, load};
use crate::journal::Store;
use crate::paper::alarm_log::{AlarmLog, Logged};
use crate::plain::masked;
use crate::plain::moment::{Moment, Span};
use crate::replay::Replay;

#[derive(clap::Args)]
pub struct Args {
    /// Only what was raised in the last span, such as 12h or 10d
    #[arg(long, value_name = "SPAN", value_parser = super::diary::span)]
    last: Option<Span>,
    /// A row an alert, for other programs
    #[arg(long)]
    csv: bool,
    #[command(flatten)]
    farm: FarmOption,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let store = Store::open_read_only(&loaded.data()).map_err(|why| why.to_string())?;
    let (mut replay, mut log) = (Replay::default(), AlarmLog::default());
    let damages = store
        .read(0, &mut |block| {
            for entry in &block.entries {
                // What the step did has been done.
                let _ = replay.take(entry.at, &entry.event);
                log.hears(&replay.watch);
            }
            ControlFlow::Continue(())
        })
        .map_err(|why| why.to_string())?;
    for damage in &damages {
        eprintln!("lowbell: row {} of the journal is damaged: {}", damage.row, damage.why);
    }
    let latest = store.last_moment().unwrap_or_default();
    let from = args.last.map_or(Moment::default(), |last| latest - last);
    let mut shown = log.all().filter(|one| one.raised >= from).peekable();
    let zone = &loaded.config.farm.zone;
    if args.csv {
        say!("{}", table(shown)?.trim_end());
    } else if shown.peek().is_none() {
        say!("No alert was raised.");
    } else {
        shown.flat_map(|one| one.lines(zone)).for_each(|line| say!("{}", masked::text(&line)));
    }
    Ok(if damages.is_empty() { End::Done } else { End::Failed })
}

const COLUMNS: [&str; 13] = [
    "alert",
    "code",
    "priority",
    "rule",
    "about",
    "began",
    "raised",
    "answered",
    "answered by",
    "ended",
    "because",
    "limit",
    "data",
];

/// Times in UTC (RFC 3339).
fn table<'l>(alerts: impl Iterator<Item = &'l Logged>) -> Result<String, String> {
    let mut table = csv::Writer::from_writer(Vec::new());
    let wrong = |why: csv::Error| why.to_string();
    table.write_record(COLUMNS).map_err(wrong)?;
    for one in alerts {
        let (by, answered) = one
            .answered
            .as_ref()
            .map_or_else(Default::default, |(who, at)| (who.to_string(), at.rfc3339()));
        let (ended, because) = one
            .ended
            .as_ref()
            .map_or_else(Default::default, |(at, because)| (at.rfc3339(), because.clone()));
        let row = [
            one.no.to_string(),
            one.code.clone(),
            one.priority.word().to_owned(),
            one.rule.to_string(),
            one.head.clone(),
            one.began.rfc3339(),
            one.raised.rfc3339(),
            answered,
            by,
            ended,
            because,
            one.limit.clone(),
            one.data.clone(),
        ];
        table.write_record(row.map(|cell| masked::text(&cell))).map_err(wrong)?;
    }
    let bytes = table.into_inner().map_err(|why| why.to_string())?;
    String::from_utf8(bytes).map_err(|why| why.to_string())
}
