//! TOML that keeps its places, and small readers that say what they expected and where.
//!
//! Every key a reader asks for counts as known; a key nobody asked for is a fault, so nothing that
//! a person writes is passed over in silence.

use std::cell::RefCell;
use std::ops::{Range, RangeInclusive};
use std::rc::Rc;

use toml::Spanned;
use toml::de::DeTable;

use super::faults::{Faults, Place, Placed};
use super::suggest;
use super::value::Value;
use crate::plain::moment::Span;

/// One settings file as a tree.
pub(super) struct Tree<'t> {
    file: Rc<str>,
    root: Spanned<DeTable<'t>>,
    /// Where its faults are said to be, for a text that is not in any of the farm's files.
    instead: Option<Place>,
    /// It could be read to the end: what is missing was not merely unreadable.
    whole: bool,
}

/// The file a value comes from, and where to complain.
#[derive(Clone)]
pub(super) struct Page<'a> {
    file: Rc<str>,
    instead: Option<&'a Place>,
    pub(super) faults: &'a Faults,
    whole: bool,
}

/// A table, and the keys it was asked for.
pub(super) struct Table<'a> {
    pub(super) page: Page<'a>,
    rows: &'a DeTable<'a>,
    span: Range<usize>,
    name: String,
    asked: RefCell<Vec<&'static str>>,
}

impl<'t> Tree<'t> {
    /// Reads as much of a text as can be read.
    pub(super) fn read(file: &str, text: &'t str, faults: &Faults) -> Self {
        let (root, errors) = DeTable::parse_recoverable(text);
        let tree = Self { file: Rc::from(file), root, instead: None, whole: errors.is_empty() };
        for error in errors {
            let place = Place { file: Rc::clone(&tree.file), span: error.span() };
            faults.refuse(
                &place,
                format!("this is not TOML: {}", error.message()),
                "texts stand in quotes, lists in [ ], tables in { }; look at the line above too",
            );
        }
        tree
    }

    /// Reads a text of our own, about which there is only one place to complain.
    pub(super) fn read_shipped(file: &str, text: &'t str, instead: Place, faults: &Faults) -> Self {
        Self { instead: Some(instead), ..Self::read(file, text, faults) }
    }

    pub(super) fn root<'a>(&'a self, faults: &'a Faults) -> Table<'a> {
        let page = Page {
            file: Rc::clone(&self.file),
            instead: self.instead.as_ref(),
            faults,
            whole: self.whole,
        };
        Table::new(page, self.root.get_ref(), 0..0, self.file.to_string())
    }
}

impl Page<'_> {
    pub(super) fn place(&self, span: Range<usize>) -> Place {
        self.instead
            .cloned()
            .unwrap_or_else(|| Place { file: Rc::clone(&self.file), span: Some(span) })
    }
}

impl<'a> Table<'a> {
    pub(super) fn new(
        page: Page<'a>,
        rows: &'a DeTable<'a>,
        span: Range<usize>,
        name: String,
    ) -> Self {
        Self { page, rows, span, name, asked: RefCell::default() }
    }

    /// Its header, or the whole of an inline one.
    pub(super) fn place(&self) -> Place {
        self.page.place(self.span.clone())
    }

    pub(super) fn faults(&self) -> &'a Faults {
        self.page.faults
    }

    /// Whether the key is there; asking so does not count as reading it.
    pub(super) fn has(&self, key: &str) -> bool {
        self.rows.get(key).is_some()
    }

    pub(super) fn value(&self, key: &'static str) -> Option<Value<'a>> {
        if !self.asked.borrow().contains(&key) {
            self.asked.borrow_mut().push(key);
        }
        let value = self.rows.get(key)?;
        Some(Value::new(self.page.clone(), key.to_owned(), value))
    }

    /// One value or a list of them; none if the key is not there.
    pub(super) fn values(&self, key: &'static str) -> Vec<Value<'a>> {
        self.value(key).map_or_else(Vec::new, |value| value.one_or_list())
    }

    pub(super) fn text(&self, key: &'static str) -> Option<Placed<String>> {
        self.value(key)?.text()
    }

    pub(super) fn texts(&self, key: &'static str) -> Vec<Placed<String>> {
        self.values(key).iter().filter_map(|value| value.text()).collect()
    }

    /// A text that must be there; `help` says what for.
    pub(super) fn needed(&self, key: &'static str, help: &str) -> Option<Placed<String>> {
        let value = self.value(key);
        if value.is_none() {
            self.missing(key, help);
        }
        value?.text()
    }

    pub(super) fn missing(&self, key: &str, help: &str) {
        if self.page.whole {
            self.faults().refuse(&self.place(), format!("{} has no {key}", self.name), help);
        }
    }

    pub(super) fn flag(&self, key: &'static str) -> Option<bool> {
        self.value(key)?.flag()
    }

    /// A length of time within a range, or the default.
    pub(super) fn span(
        &self,
        key: &'static str,
        default: Span,
        range: RangeInclusive<Span>,
    ) -> Span {
        self.value(key).and_then(|value| value.span(range)).map_or(default, |span| span.is)
    }

    /// One of a closed list of words.
    pub(super) fn word<T: Copy>(
        &self,
        key: &'static str,
        words: &[(&str, T)],
    ) -> Option<Placed<T>> {
        let text = self.text(key)?;
        let found = words.iter().find(|(word, _)| *word == text.is);
        if found.is_none() {
            let names: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            self.faults().refuse(
                &text.at,
                format!("{key} cannot be {}", text.is),
                suggest::one_of(&text.is, &names),
            );
        }
        found.map(|(_, meaning)| Placed { is: *meaning, at: text.at })
    }

    pub(super) fn table(&self, key: &'static str) -> Option<Table<'a>> {
        self.value(key)?.table(&format!("[{key}]"))
    }

    /// The tables of one kind, of which there may be so many.
    pub(super) fn tables(&self, key: &'static str, max: usize) -> Vec<Table<'a>> {
        let values = self.values(key);
        let name = match self.name.strip_suffix("]]") {
            Some(within) => format!("{within}.{key}]]"),
            None => match self.name.strip_prefix('[').and_then(|name| name.strip_suffix(']')) {
                Some(within) => format!("[[{within}.{key}]]"),
                None => format!("[[{key}]]"),
            },
        };
        if let Some(beyond) = values.get(max) {
            self.faults().refuse(
                &beyond.place(),
                format!("there are more than {max} {name}"),
                "no farm needs so many; put them together",
            );
        }
        values.iter().take(max).filter_map(|value| value.table(&name)).collect()
    }

    /// Every key of a table that may have any, with its text.
    pub(super) fn all_texts(&self) -> Vec<(String, Placed<String>)> {
        self.rows
            .iter()
            .filter_map(|(key, value)| {
                let key = key.get_ref().to_string();
                let value = Value::new(self.page.clone(), key.clone(), value);
                value.text().map(|text| (key, text))
            })
            .collect()
    }

    /// Every key of a table that may have any, with its value.
    pub(super) fn all_values(&self) -> Vec<(String, Value<'a>)> {
        self.rows
            .iter()
            .map(|(key, value)| {
                let key = key.get_ref().to_string();
                (key.clone(), Value::new(self.page.clone(), key, value))
            })
            .collect()
    }

    /// Warns that a key means nothing to this version.
    pub(super) fn not_yet(&self, key: &'static str, meanwhile: &str) {
        if let Some(value) = self.value(key) {
            self.faults().warn(
                &self.key_place(key).unwrap_or_else(|| value.place()),
                format!("this version does not use {key} yet"),
                meanwhile,
            );
        }
    }

    /// What else is written here belongs to something this version does not use.
    pub(super) fn ignore_rest(self) {}

    /// Every key that nobody asked for is a fault.
    pub(super) fn done(self) {
        self.done_but(&[], "");
    }

    /// The same, where keys are known that do not go with what else is written here.
    pub(super) fn done_but(self, other: &[&str], with: &str) {
        let asked = self.asked.take();
        for (key, value) in self.rows.iter() {
            let word: &str = key.get_ref();
            if asked.contains(&word) {
                continue;
            }
            let span = key.span();
            let span = if span.is_empty() { value.span() } else { span };
            let place = self.page.place(span);
            if other.contains(&word) {
                let title = format!("{word} does not go with {with}");
                self.faults().refuse(&place, title, "take one of the two out");
            } else if word == "password" || word == "secret" {
                self.faults().refuse(
                    &place,
                    format!("a {word} does not belong in the settings, which are kept and shown"),
                    format!("put it into a file of its own and write {word}-file = \"…\""),
                );
            } else {
                let what = format!("keys of {}", self.name);
                self.faults().refuse(
                    &place,
                    format!("unknown key {word} in {}", self.name),
                    suggest::way_out(&what, word, &asked),
                );
            }
        }
    }

    /// Where a key itself stands.
    pub(super) fn key_place(&self, key: &str) -> Option<Place> {
        let (key, value) = self.rows.get_key_value(key)?;
        let span = key.span();
        let span = if span.is_empty() { value.span() } else { span };
        Some(self.page.place(span))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::fault::Fault;

    fn read(text: &str, ask: impl FnOnce(Table<'_>)) -> Vec<Fault> {
        let faults = Faults::default();
        let tree = Tree::read("farm.toml", text, &faults);
        ask(tree.root(&faults));
        drop(tree);
        faults.sorted(&["farm.toml"])
    }

    fn titles(faults: &[Fault]) -> Vec<&str> {
        faults.iter().map(|fault| fault.title.as_str()).collect()
    }

    #[test]
    fn a_key_nobody_asked_for_is_a_fault_with_the_nearest_name() {
        let faults = read("mail = 'a'\nmobil = 'b'\n", |table| {
            assert_eq!(table.text("mail").map(|text| text.is), Some("a".to_owned()));
            assert!(table.text("mobile").is_none());
            table.done();
        });
        assert_eq!(titles(&faults), ["unknown key mobil in farm.toml"]);
        assert_eq!(faults[0].help, "keys of farm.toml: mail and mobile; did you mean mobile?");
        assert_eq!(faults[0].span, Some(11..16));
    }

    #[test]
    fn several_faults_of_form_come_at_once_and_hide_no_more_than_they_must() {
        let faults = read("a = ana\nb = 1\nb = 2\nc = 'x'\n", |table| {
            assert_eq!(table.text("c").map(|text| text.is), Some("x".to_owned()));
            assert!(table.needed("d", "it may only be unreadable").is_none());
        });
        assert_eq!(
            titles(&faults),
            [
                "this is not TOML: string values must be quoted, expected literal string",
                "this is not TOML: duplicate key"
            ]
        );
    }

    #[test]
    fn one_value_is_as_good_as_a_list_of_one() {
        let faults = read("a = 'x'\nb = ['x', 'y']\nc = []\n", |table| {
            let words = |key| {
                let texts = table.texts(key);
                texts.into_iter().map(|text| text.is).collect::<Vec<_>>()
            };
            assert_eq!(words("a"), ["x"]);
            assert_eq!(words("b"), ["x", "y"]);
            assert!(words("c").is_empty());
        });
        assert!(faults.is_empty());
    }

    #[test]
    fn there_is_a_limit_to_tables_of_one_kind() {
        let faults = read("[[a]]\n[[a]]\n[[a]]\n[[a]]\n", |table| {
            assert_eq!(table.tables("a", 2).len(), 2);
        });
        assert_eq!(titles(&faults), ["there are more than 2 [[a]]"]);
        assert_eq!(faults[0].span, Some(12..17));
    }

    #[test]
    fn a_secret_in_the_settings_is_told_to_leave() {
        let faults = read("password = 'x'\n", |table| table.done());
        assert_eq!(
            titles(&faults),
            ["a password does not belong in the settings, which are kept and shown"]
        );
    }
}
