//! One value of a settings file: read as what it should be, or a fault that says what was expected.

use std::ops::RangeInclusive;

use toml::Spanned;
use toml::de::DeValue;

use super::faults::{Place, Placed};
use super::tree::{Page, Table};
use crate::plain::moment::Span;

/// A text in the settings longer than this is a mistake.
const TEXT_MAX: usize = 4096;

pub(super) struct Value<'a> {
    page: Page<'a>,
    key: String,
    value: &'a Spanned<DeValue<'a>>,
}

impl<'a> Value<'a> {
    pub(super) fn new(page: Page<'a>, key: String, value: &'a Spanned<DeValue<'a>>) -> Self {
        Self { page, key, value }
    }

    pub(super) fn place(&self) -> Place {
        self.page.place(self.value.span())
    }

    pub(super) fn refuse(&self, title: impl Into<String>, help: impl Into<String>) {
        self.page.faults.refuse(&self.place(), title, help);
    }

    /// A text of one line that says something.
    pub(super) fn text(&self) -> Option<Placed<String>> {
        let text = self.any_text()?;
        if text.is.trim().is_empty() {
            self.refuse(format!("{} is empty", self.key), "write something, or take the key out");
            return None;
        }
        if text.is.chars().any(char::is_control) {
            self.refuse(
                format!("{} has a control character in it", self.key),
                "it must be one line of plain text",
            );
            return None;
        }
        Some(text)
    }

    /// Any text: it may be empty, and of several lines.
    pub(super) fn any_text(&self) -> Option<Placed<String>> {
        let DeValue::String(text) = self.value.get_ref() else {
            self.wrong_type("a text", &self.in_quotes());
            return None;
        };
        if text.len() > TEXT_MAX {
            self.refuse(
                format!("{} is longer than {TEXT_MAX} bytes", self.key),
                "say it in fewer words",
            );
            return None;
        }
        Some(self.placed(text.clone().into_owned()))
    }

    /// A date or a time, written as TOML has them or as a text.
    pub(super) fn date_text(&self) -> Option<Placed<String>> {
        match self.value.get_ref() {
            DeValue::Datetime(date) => Some(self.placed(date.to_string())),
            DeValue::String(_)
            | DeValue::Integer(_)
            | DeValue::Float(_)
            | DeValue::Boolean(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => self.text(),
        }
    }

    pub(super) fn flag(&self) -> Option<bool> {
        let DeValue::Boolean(flag) = self.value.get_ref() else {
            self.wrong_type("true or false", "write true or false, without quotes");
            return None;
        };
        Some(*flag)
    }

    /// A whole number within a range.
    pub(super) fn whole(&self, range: RangeInclusive<u64>) -> Option<u64> {
        let DeValue::Integer(number) = self.value.get_ref() else {
            self.wrong_type("a whole number", "write it without quotes");
            return None;
        };
        match u64::from_str_radix(number.as_str(), number.radix()) {
            Ok(number) if range.contains(&number) => Some(number),
            Ok(_) | Err(_) => {
                self.refuse(
                    format!("{} cannot be {number}", self.key),
                    format!("it may be {} to {}", range.start(), range.end()),
                );
                None
            }
        }
    }

    /// Any number.
    pub(super) fn number(&self) -> Option<f64> {
        let number = match self.value.get_ref() {
            DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix())
                .ok()
                // Values that mean "no reading" are small; past 2^53 one is as good as its neighbour.
                .map(|number| number as f64),
            DeValue::Float(number) => number.as_str().parse().ok(),
            DeValue::String(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => {
                self.wrong_type("a number", "write it without quotes");
                return None;
            }
        };
        if number.is_none() {
            self.refuse(format!("{} is too large a number", self.key), "write it smaller");
        }
        number
    }

    /// A number that is not infinite and not "not a number".
    pub(super) fn finite(&self) -> Option<f64> {
        let number = self.number()?;
        if !number.is_finite() {
            self.refuse(format!("{} cannot be {number}", self.key), "write a plain number");
            return None;
        }
        Some(number)
    }

    /// A list of so many plain numbers.
    pub(super) fn numbers(&self, count: usize, help: &str) -> Option<Vec<f64>> {
        let DeValue::Array(list) = self.value.get_ref() else {
            self.wrong_type(&format!("a list of {count} numbers"), help);
            return None;
        };
        if list.len() != count {
            self.refuse(format!("{} takes {count} numbers, not {}", self.key, list.len()), help);
            return None;
        }
        let each = |value| Self::new(self.page.clone(), self.key.clone(), value).finite();
        let numbers: Vec<f64> = list.iter().filter_map(each).collect();
        (numbers.len() == count).then_some(numbers)
    }

    pub(super) fn is_number(&self) -> bool {
        matches!(self.value.get_ref(), DeValue::Integer(_) | DeValue::Float(_))
    }

    /// A length of time within a range.
    pub(super) fn span(&self, range: RangeInclusive<Span>) -> Option<Placed<Span>> {
        let DeValue::String(text) = self.value.get_ref() else {
            let help =
                "write it in quotes with its unit, such as \"90s\", \"45m\", \"12h\" or \"10d\"";
            self.wrong_type("a length of time", help);
            return None;
        };
        let Some(span) = Span::parse(text) else {
            self.refuse(
                format!("{text:?} is not a length of time"),
                "write 90s, 45m, 12h or 10d: a whole number and its unit",
            );
            return None;
        };
        if !range.contains(&span) {
            self.refuse(
                format!("{} cannot be {span}", self.key),
                format!("it may be {} to {}", range.start(), range.end()),
            );
            return None;
        }
        Some(self.placed(span))
    }

    /// Whether it is exactly this text.
    pub(super) fn says(&self, text: &str) -> bool {
        matches!(self.value.get_ref(), DeValue::String(written) if written == text)
    }

    pub(super) fn is_table(&self) -> bool {
        self.value.get_ref().is_table()
    }

    pub(super) fn is_list(&self) -> bool {
        self.value.get_ref().is_array()
    }

    pub(super) fn table(&self, name: &str) -> Option<Table<'a>> {
        let DeValue::Table(table) = self.value.get_ref() else {
            self.wrong_type("a table", &format!("write {name}, or {{ key = value }}"));
            return None;
        };
        let span = self.value.span();
        Some(Table::new(self.page.clone(), table, span, name.to_owned()))
    }

    /// A list's values, or this one alone.
    pub(super) fn one_or_list(self) -> Vec<Self> {
        let DeValue::Array(list) = self.value.get_ref() else {
            return vec![self];
        };
        list.iter().map(|value| Self::new(self.page.clone(), self.key.clone(), value)).collect()
    }

    fn placed<T>(&self, is: T) -> Placed<T> {
        Placed { is, at: self.place() }
    }

    fn wrong_type(&self, wanted: &str, help: &str) {
        let got = match self.value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        self.refuse(format!("{} takes {wanted}, not {got}", self.key), help);
    }

    fn in_quotes(&self) -> String {
        match self.value.get_ref() {
            DeValue::Integer(number) if number.radix() == 10 => {
                format!("write it in quotes: {} = \"{}\"", self.key, number.as_str())
            }
            DeValue::Float(number) => {
                format!("write it in quotes: {} = \"{}\"", self.key, number.as_str())
            }
            DeValue::String(_)
            | DeValue::Integer(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => format!("write it in quotes: {} = \"…\"", self.key),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::faults::Faults;
    use crate::config::tree::Tree;

    /// The title and the help of the one fault that reading `v` gives.
    fn fault<T>(text: &str, ask: impl FnOnce(Value<'_>) -> Option<T>) -> (String, String) {
        let faults = Faults::default();
        let tree = Tree::read("farm.toml", text, &faults);
        assert!(ask(tree.root(&faults).value("v").unwrap()).is_none());
        drop(tree);
        let mut list = faults.sorted(&[]);
        assert_eq!(list.len(), 1);
        let fault = list.remove(0);
        (fault.title, fault.help)
    }

    #[test]
    fn a_value_of_the_wrong_kind_says_what_was_wanted() {
        for (text, got) in [
            ("v = true", "true or false"),
            ("v = 2026-11-23", "a date"),
            ("v = ['a']", "a list"),
            ("v = { a = 1 }", "a table"),
        ] {
            let title = format!("v takes a text, not {got}");
            assert_eq!(fault(text, |v| v.text()).0, title);
        }
        assert_eq!(fault("v = 'true'", |v| v.flag()).0, "v takes true or false, not a text");
    }

    #[test]
    fn a_number_where_a_text_belongs_is_shown_in_quotes() {
        assert_eq!(
            fault("v = 114", |v| v.text()),
            ("v takes a text, not a number".into(), "write it in quotes: v = \"114\"".into())
        );
    }

    #[test]
    fn a_length_of_time_needs_its_unit_and_its_range() {
        let all = Span::ZERO..=Span::days(90);
        assert_eq!(
            fault("v = 45", |v| v.span(all.clone())).0,
            "v takes a length of time, not a number"
        );
        assert_eq!(fault("v = '45min'", |v| v.span(all)).0, "\"45min\" is not a length of time");
        assert_eq!(
            fault("v = '4s'", |v| v.span(Span::seconds(5)..=Span::minutes(5))),
            ("v cannot be 4s".into(), "it may be 5s to 5m".into())
        );
    }

    #[test]
    fn a_whole_number_keeps_its_range() {
        for (text, title) in [
            ("v = -1", "v cannot be -1"),
            ("v = 0", "v cannot be 0"),
            ("v = 2.5", "v takes a whole number, not a number"),
        ] {
            assert_eq!(fault(text, |v| v.whole(1..=9)).0, title);
        }
    }

    #[test]
    fn a_text_is_one_line_that_says_something() {
        assert_eq!(fault("v = ' '", |v| v.text()).0, "v is empty");
        assert_eq!(fault("v = \"a\\nb\"", |v| v.text()).0, "v has a control character in it");
        let long = format!("v = '{}'", "a".repeat(TEXT_MAX + 1));
        assert_eq!(fault(&long, |v| v.text()).0, "v is longer than 4096 bytes");
    }
}
