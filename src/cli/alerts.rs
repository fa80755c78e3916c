//! `lowbell alerts`: every alert with its beginning and end, the limit in force then and what was measured, from the
//! journal alone.

use super::{End, FarmOption, load, told_again};
use crate::paper::alarm_log::{AlarmLog, Logged};
use crate::plain::masked;
use crate::plain::moment::{Moment, Span};

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
    let (mut log, mut latest) = (AlarmLog::default(), Moment::default());
    let is_whole = told_again(&loaded, &mut |at, _, watch| {
        log.hears(watch);
        latest = at;
    })?;
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
    Ok(if is_whole { End::Done } else { End::Failed })
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
