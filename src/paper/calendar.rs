//! Due windows and deadlines as a calendar (RFC 5545): a file that any calendar program can read.
//!
//! Days are dates without a clock and deadlines are instants in UTC, so that no clock change can shift
//! them. An entry keeps its name from one export to the next, so that it is replaced and not doubled. The
//! file holds no secret and no person's name.

use jiff::civil::Date;

use super::deadlines::deadlines;
use crate::config::Config;
use crate::config::animals::AnimalRow;
use crate::herd::past::Own;
use crate::herd::stage::Stage;
use crate::herd::window::Window;
use crate::plain::moment::Moment;
use crate::watch::season::Season;

/// A line is folded before it is longer than this, in octets (RFC 5545 section 3.1).
const LINE_MAX: usize = 75;

/// The calendar at this moment: the dams that carry, and what the law wants for the calves that are born.
pub fn calendar(season: &Season, config: &Config, now: Moment) -> String {
    let mut lines = Lines::default();
    lines.add("BEGIN", "VCALENDAR");
    lines.add("VERSION", "2.0");
    lines.add("PRODID", "-//Lowbell//Calving book//EN");
    lines.add("CALSCALE", "GREGORIAN");
    lines.text("X-WR-CALNAME", &format!("{}: calving", config.farm.name));
    let own = Own::of(&config.past);
    for row in &config.animals {
        let carries = season
            .dams
            .iter()
            .find(|dam| dam.animal == row.animal)
            .is_none_or(|dam| dam.stage == Stage::Carrying);
        if let (true, Some(window)) = (carries, window(row, config, &own)) {
            due(&mut lines, row, window, now);
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
    lines.add("END", "VCALENDAR");
    lines.text
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

/// The same for the same thing, and no other program's.
fn uid(of: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '-' { c } else { '_' };
    // What is no plain letter is told apart by what it is.
    let tail: String = of
        .chars()
        .filter(|c| !c.is_ascii_alphanumeric() && *c != '-')
        .map(|c| format!("-{:x}", u32::from(c)))
        .collect();
    let name: String = of.chars().map(plain).collect();
    format!("{name}{tail}@lowbell.invalid")
}

fn date(day: Date) -> String {
    format!("{:04}{:02}{:02}", day.year(), day.month(), day.day())
}

/// An instant in UTC: "20260301T021000Z".
fn stamp(at: Moment) -> String {
    at.rfc3339().chars().filter(|c| !matches!(c, '-' | ':')).collect()
}

#[derive(Default)]
struct Lines {
    text: String,
}

impl Lines {
    /// A line of our own words, folded.
    fn add(&mut self, name: &str, value: &str) {
        let line = format!("{name}:{value}");
        let mut wide = 0;
        for c in line.chars() {
            if wide + c.len_utf8() > LINE_MAX {
                self.text.push_str("\r\n ");
                wide = 1;
            }
            self.text.push(c);
            wide += c.len_utf8();
        }
        self.text.push_str("\r\n");
    }

    /// A line with somebody's words in it (RFC 5545 section 3.3.11).
    fn text(&mut self, name: &str, value: &str) {
        let mut escaped = String::new();
        for c in value.chars() {
            match c {
                '\\' | ';' | ',' => {
                    escaped.push('\\');
                    escaped.push(c);
                }
                '\n' => escaped.push_str("\\n"),
                c if c.is_control() => escaped.push(' '),
                c => escaped.push(c),
            }
        }
        self.add(name, &escaped);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_are_folded_at_octets_and_never_within_a_letter() {
        let mut lines = Lines::default();
        lines.text("SUMMARY", &"Bó, ".repeat(60));
        for line in lines.text.split("\r\n") {
            assert!(line.len() <= LINE_MAX, "{} octets", line.len());
        }
        let unfolded = lines.text.replace("\r\n ", "");
        assert_eq!(unfolded, format!("SUMMARY:{}\r\n", "Bó\\, ".repeat(60)));
    }

    #[test]
    fn a_new_line_in_a_name_begins_no_line_of_its_own() {
        let mut lines = Lines::default();
        lines.text("SUMMARY", "114\r\nEND:VCALENDAR;\\");
        assert_eq!(lines.text, "SUMMARY:114 \\nEND:VCALENDAR\\;\\\\\r\n");
    }

    #[test]
    fn two_dams_never_share_an_entry() {
        assert_eq!(uid("due-114-2026-02-14"), "due-114-2026-02-14@lowbell.invalid");
        assert_ne!(uid("due-1/4"), uid("due-1 4"));
    }
}
