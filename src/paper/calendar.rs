//! Due windows and deadlines as a calendar (RFC 5545): a file that any calendar program can read.
//!
//! Days are dates without a clock and deadlines are instants in UTC, so that no clock change can shift
//! them. An entry keeps its name from one export to the next, so that it is replaced and not doubled. The
//! file holds no secret and no person's name.

use jiff::civil::Date;

use super::deadlines::deadlines;
use super::ical::{self, Lines, date, stamp, uid};
use crate::config::Config;
use crate::config::animals::AnimalRow;
use crate::herd::past::Own;
use crate::herd::stage::Stage;
use crate::herd::window::Window;
use crate::plain::moment::Moment;
use crate::watch::season::Season;

/// The calendar at this moment: the dams that carry, and what the law wants for the calves that are born.
pub fn calendar(season: &Season, config: &Config, now: Moment) -> String {
    let name = format!("{}: calving", config.farm.name);
    ical::whole(&name, |lines| entries(lines, season, config, now))
}

pub(super) fn entries(lines: &mut Lines, season: &Season, config: &Config, now: Moment) {
    let own = Own::of(&config.past);
    for row in &config.animals {
        let carries = season
            .dams
            .iter()
            .find(|dam| dam.animal == row.animal)
            .is_none_or(|dam| dam.stage == Stage::Carrying);
        if let (true, Some(window)) = (carries, window(row, config, &own)) {
            due(lines, row, window, now);
        }
    }
    for deadline in deadlines(season, config, now) {
        let owed = &deadline.owed;
        let what = owed.what.replace(' ', "-");
        lines.add("BEGIN", "VEVENT");
        let born = owed.until.seconds();
        lines.text("UID", &uid(&format!("{what}-{}-{}-{born}", deadline.animal, owed.calf)));
        lines.add("DTSTAMP", &stamp(now));
        lines.add("DTSTART", &stamp(owed.until));
        lines.text("SUMMARY", &format!("{}: calf of {}", owed.what, deadline.animal));
        let sure = if owed.guessed { "Of the earliest hour it may have been born. " } else { "" };
        let words =
            format!("{sure}A reminder, no legal advice: your own authority has the last word.");
        lines.text("DESCRIPTION", &words);
        lines.add("TRANSP", "TRANSPARENT");
        lines.add("END", "VEVENT");
    }
}

/// The first and the last day on which she may calve.
fn window(row: &AnimalRow, config: &Config, own: &Own) -> Option<(Date, Date)> {
    Window::of(row, &config.species, own).map(|window| (window.from, window.until))
}

fn due(lines: &mut Lines, row: &AnimalRow, (from, until): (Date, Date), now: Moment) {
    let called = if row.name.is_empty() { String::new() } else { format!(" {}", row.name) };
    lines.add("BEGIN", "VEVENT");
    // One calving has one service: the entry of a dam served again is another.
    let since = row.served.or(row.due).map_or(from, |(first, _)| first);
    lines.text("UID", &uid(&format!("due-{}-{since}", row.animal)));
    lines.add("DTSTAMP", &stamp(now));
    lines.add("DTSTART;VALUE=DATE", &date(from));
    // The end is the first day that is not in it any more (RFC 5545 section 3.6.1).
    lines.add("DTEND;VALUE=DATE", &date(until.tomorrow().unwrap_or(until)));
    lines.text("SUMMARY", &format!("{}{called} may calve", row.animal));
    if !row.group.is_empty() {
        lines.text("LOCATION", &row.group);
    }
    lines.add("TRANSP", "TRANSPARENT");
    lines.add("END", "VEVENT");
}
