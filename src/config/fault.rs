//! A fault in the settings: what is wrong, where, and the way out; and how it prints.
//!
//! Plain text without colour, the same on every machine. It does not decide what is a fault.

use std::ops::Range;

/// Whether the farm can run with it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// These settings are not taken.
    Refuses,
    /// They are taken, but somebody should look.
    Warns,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    pub severity: Severity,
    /// The file's name as the settings write it.
    pub file: String,
    /// Bytes in that file's text; `None` if it is about the file as a whole.
    pub span: Option<Range<usize>>,
    pub title: String,
    /// A word behind the carets.
    pub label: Option<String>,
    /// The way out.
    pub help: String,
}

/// A line of a settings file longer than this is shown in part.
const SHOWN_MAX: usize = 120;

/// How much of a long line is shown before the place.
const SHOWN_BEFORE: usize = 40;

impl Fault {
    /// The fault as a person reads it, with the line it is about and carets under the place.
    pub fn render(&self, source: &str) -> String {
        let word = match self.severity {
            Severity::Refuses => "error",
            Severity::Warns => "warning",
        };
        let mut text = format!("{word}: {}\n", self.title);
        let found = self.span.clone().and_then(|span| find(source, span));
        let gutter = found.as_ref().map_or(1, |found| found.number.to_string().len());
        match &found {
            None => text.push_str(&format!("{:gutter$} --> {}\n", "", self.file)),
            Some(found) => {
                let label = self.label.as_deref().unwrap_or_default();
                let under =
                    format!("{}{} {label}", " ".repeat(found.before), "^".repeat(found.wide));
                text.push_str(&format!(
                    "{:gutter$} --> {}:{}:{}\n",
                    "", self.file, found.number, found.column
                ));
                text.push_str(&format!("{:gutter$} |\n", ""));
                text.push_str(&format!("{} | {}\n", found.number, found.shown));
                text.push_str(&format!("{:gutter$} | {}\n", "", under.trim_end()));
            }
        }
        for (n, line) in self.help.lines().enumerate() {
            let mark = if n == 0 { '=' } else { ' ' };
            text.push_str(&format!("{:gutter$} {mark} {line}\n", ""));
        }
        text
    }
}

/// One line of a file, and where in it the carets go, in characters.
struct Found {
    /// Counted from 1, as is the column.
    number: usize,
    column: usize,
    shown: String,
    before: usize,
    wide: usize,
}

fn find(source: &str, span: Range<usize>) -> Option<Found> {
    let ahead = source.get(..span.start)?;
    let number = ahead.matches('\n').count() + 1;
    let begins = ahead.rfind('\n').map_or(0, |at| at + 1);
    let line = source.get(begins..)?.lines().next().unwrap_or_default();
    let column = source.get(begins..span.start)?.chars().count();
    let ends = span.end.clamp(span.start, begins + line.len().max(column));
    let wide = source.get(span.start..ends).map_or(1, |under| under.chars().count().max(1));
    let (shown, cut) = window(line, column);
    let most = shown.chars().count() + 1;
    let before = column - cut;
    Some(Found {
        number,
        column: column + 1,
        wide: wide.min(most.saturating_sub(before)).max(1),
        before,
        shown,
    })
}

/// The part of a line that is shown, and how many characters further left than in the file it is.
fn window(line: &str, column: usize) -> (String, usize) {
    // A tab is one column, so that carets stand under what they mean.
    let characters: Vec<char> =
        line.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if characters.len() <= SHOWN_MAX {
        return (characters.into_iter().collect(), 0);
    }
    let from = column.saturating_sub(SHOWN_BEFORE);
    let until = (from + SHOWN_MAX).min(characters.len());
    let mut shown: String = characters[from.min(until)..until].iter().collect();
    if until < characters.len() {
        shown.push('…');
    }
    if from == 0 {
        return (shown, 0);
    }
    (format!("…{shown}"), from - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(file: &str, span: Option<Range<usize>>) -> Fault {
        Fault {
            severity: Severity::Refuses,
            file: file.to_owned(),
            span,
            title: "nobody is called Tomm".to_owned(),
            label: None,
            help: "people on this farm: Ana and Tom; did you mean Tom?".to_owned(),
        }
    }

    /// Source: the example of the house's design, section 8.
    #[test]
    fn a_fault_shows_its_line_and_the_way_out() {
        let source = format!("{}person = \"Tomm\"\n", "\n".repeat(13));
        let expected = "\
error: nobody is called Tomm
   --> farm.toml:14:10
   |
14 | person = \"Tomm\"
   |          ^^^^^^
   = people on this farm: Ana and Tom; did you mean Tom?
";
        assert_eq!(fault("farm.toml", Some(22..28)).render(&source), expected);
    }

    #[test]
    fn a_fault_without_a_place_names_the_file() {
        let expected = "\
warning: nobody is called Tomm
  --> herd.csv
  = people on this farm: Ana and Tom; did you mean Tom?
";
        let fault = Fault { severity: Severity::Warns, ..fault("herd.csv", None) };
        assert_eq!(fault.render("animal\n"), expected);
        let gone = Fault { span: Some(90..95), ..fault.clone() };
        assert_eq!(gone.render(""), expected, "a text that is not at hand");
    }

    #[test]
    fn carets_count_characters_and_stay_on_one_line() {
        let source = "a = \"é\tü\" # x\r\nb";
        let fault = Fault { label: Some("here".to_owned()), ..fault("f", Some(4..18)) };
        let expected = "\
error: nobody is called Tomm
  --> f:1:5
  |
1 | a = \"é ü\" # x
  |     ^^^^^^^^^ here
  = people on this farm: Ana and Tom; did you mean Tom?
";
        assert_eq!(fault.render(source), expected);
    }

    #[test]
    fn a_place_at_the_end_of_the_text_gets_one_caret() {
        let shown = fault("f", Some(8..8)).render("name = 1");
        assert_eq!(shown.lines().nth(4), Some("  |         ^"), "behind the last character");
    }

    #[test]
    fn a_long_line_is_shown_in_part() {
        let source = format!("{}HERE{}", "a".repeat(5000), "b".repeat(5000));
        let shown = fault("f", Some(5000..5004)).render(&source);
        let line = format!("1 | …{}HERE{}…", "a".repeat(40), "b".repeat(76));
        assert_eq!(shown.lines().nth(3), Some(line.as_str()));
        let carets = format!("  | {}^^^^", " ".repeat(41));
        assert_eq!(shown.lines().nth(4), Some(carets.as_str()));
        let whole = fault("f", Some(0..10_000)).render(&source);
        assert_eq!(whole.lines().nth(4).map(str::len), Some(4 + 122));
    }
}
