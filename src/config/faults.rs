//! Gathers every fault while the settings are read: nothing stops at the first.

use std::cell::{Cell, RefCell};
use std::ops::Range;
use std::rc::Rc;

use super::fault::{Fault, Severity};

/// Somewhere in a settings file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) file: Rc<str>,
    pub(super) span: Option<Range<usize>>,
}

/// A thing and the place where it was written, for what can be said about it only later.
#[derive(Clone, Debug)]
pub(super) struct Placed<T> {
    pub(super) is: T,
    pub(super) at: Place,
}

#[derive(Debug, Default)]
pub(super) struct Faults {
    list: RefCell<Vec<Fault>>,
    left_out: Cell<usize>,
    refusals: Cell<usize>,
}

/// Nobody reads more, and a herd file in the wrong format makes one for every row.
const KEPT_MAX: usize = 1000;

impl Faults {
    pub(super) fn refuse(&self, at: &Place, title: impl Into<String>, help: impl Into<String>) {
        self.refusals.set(self.refusals.get() + 1);
        self.keep(Severity::Refuses, at, title.into(), help.into());
    }

    pub(super) fn warn(&self, at: &Place, title: impl Into<String>, help: impl Into<String>) {
        self.keep(Severity::Warns, at, title.into(), help.into());
    }

    /// Whether these settings cannot be taken.
    pub(super) fn refused(&self) -> bool {
        self.refusals.get() > 0
    }

    /// How many refuse so far: what was read between two equal counts can be relied on.
    pub(super) fn refusals(&self) -> usize {
        self.refusals.get()
    }

    /// Whether further faults are only counted.
    fn is_full(&self) -> bool {
        self.list.borrow().len() >= KEPT_MAX
    }

    /// All of them by the order of the files, then by place.
    pub(super) fn sorted(self, files: &[&str]) -> Vec<Fault> {
        let mut list = self.list.into_inner();
        let place = |fault: &Fault| {
            let file = files.iter().position(|name| *name == fault.file);
            let span = fault.span.clone().map_or((0, 0), |s| (s.start, s.end));
            (file.unwrap_or(files.len()), span)
        };
        list.sort_by_key(place);
        list.dedup();
        let left_out = self.left_out.get();
        if left_out > 0 {
            list.push(Fault {
                severity: if self.refusals.get() > 0 { Severity::Refuses } else { Severity::Warns },
                file: files.first().copied().unwrap_or_default().to_owned(),
                span: None,
                title: format!("and {left_out} more, which are not shown"),
                label: None,
                help: "mend the first of them; the rest may go by themselves".to_owned(),
            });
        }
        list
    }

    fn keep(&self, severity: Severity, at: &Place, title: String, help: String) {
        if self.is_full() {
            self.left_out.set(self.left_out.get() + 1);
            return;
        }
        self.list.borrow_mut().push(Fault {
            severity,
            file: at.file.to_string(),
            span: at.span.clone(),
            title,
            label: None,
            help,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(file: &str, start: usize) -> Place {
        Place { file: Rc::from(file), span: Some(start..start + 1) }
    }

    #[test]
    fn faults_come_by_file_then_by_place() {
        let faults = Faults::default();
        faults.warn(&place("herd.csv", 3), "fourth", "");
        faults.refuse(&place("farm.toml", 9), "second", "");
        faults.refuse(&place("rules.toml", 1), "third", "");
        faults.warn(&place("farm.toml", 2), "first", "");
        assert!(faults.refused());
        let titles: Vec<String> = faults
            .sorted(&["farm.toml", "rules.toml", "herd.csv"])
            .into_iter()
            .map(|fault| fault.title)
            .collect();
        assert_eq!(titles, ["first", "second", "third", "fourth"]);
    }

    #[test]
    fn past_the_cap_faults_are_counted_and_still_refuse() {
        let faults = Faults::default();
        for n in 0..KEPT_MAX {
            faults.warn(&place("farm.toml", n), "looks odd", "");
        }
        assert!(faults.is_full() && !faults.refused());
        faults.refuse(&place("farm.toml", 0), "is wrong", "");
        assert!(faults.refused());
        let list = faults.sorted(&["farm.toml"]);
        assert_eq!(list.len(), KEPT_MAX + 1);
        let last = list.last().unwrap();
        assert_eq!(last.title, "and 1 more, which are not shown");
        assert_eq!(last.severity, Severity::Refuses);
    }
}
