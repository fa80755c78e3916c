//! The lines of a calendar (RFC 5545): folded, escaped, and named so that an entry is replaced and not doubled.

use jiff::civil::Date;

use crate::plain::moment::Moment;

/// A line is folded before it is longer than this, in octets (RFC 5545 section 3.1).
const LINE_MAX: usize = 75;

/// A whole calendar around what `write` puts into it.
pub(super) fn whole(name: &str, write: impl FnOnce(&mut Lines)) -> String {
    let mut lines = Lines::default();
    lines.add("BEGIN", "VCALENDAR");
    lines.add("VERSION", "2.0");
    lines.add("PRODID", "-//Lowbell//Calving book//EN");
    lines.add("CALSCALE", "GREGORIAN");
    lines.text("X-WR-CALNAME", name);
    write(&mut lines);
    lines.add("END", "VCALENDAR");
    lines.text
}

/// The same for the same thing, and no other program's.
pub(super) fn uid(of: &str) -> String {
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

pub(super) fn date(day: Date) -> String {
    format!("{:04}{:02}{:02}", day.year(), day.month(), day.day())
}

/// An instant in UTC: "20260301T021000Z".
pub(super) fn stamp(at: Moment) -> String {
    at.rfc3339().chars().filter(|c| !matches!(c, '-' | ':')).collect()
}

#[derive(Default)]
pub(super) struct Lines {
    pub(super) text: String,
}

impl Lines {
    /// A line of our own words, folded.
    pub(super) fn add(&mut self, name: &str, value: &str) {
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
    pub(super) fn text(&mut self, name: &str, value: &str) {
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
