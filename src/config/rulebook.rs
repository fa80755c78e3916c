//! Gathers rules from the shipped file, the farm's own files and `farm.toml`: a later rule replaces
//! an earlier one of the same name.

use std::collections::BTreeSet;

use super::SettingsText;
use super::farm::FarmRead;
use super::faults::{Faults, Place};
use super::rule::{self, Known, Written};
use super::tree::{Table, Tree};

/// The name under which the shipped rules are known, in the settings as well.
const SHIPPED: &str = "rules/calving.toml";

const SHIPPED_TEXT: &str = include_str!("../../config/rules/calving.toml");

/// More rules than this cannot be kept in mind by anybody.
const RULES_MAX: usize = 200;

/// The text that stands in for a file of that name which a farm has not. Whoever keeps the settings
/// for a replay keeps it with them: another version may ship other rules.
pub fn shipped(name: &str) -> Option<&'static str> {
    (name == SHIPPED).then_some(SHIPPED_TEXT)
}

/// All rules in the order in which their names first came up.
#[derive(Default)]
pub(super) struct Rulebook {
    pub(super) rules: Vec<Written>,
}

impl Rulebook {
    /// The files that `[farm] rules` names, or the shipped one.
    pub(super) fn add_files(
        &mut self,
        settings: &SettingsText,
        farm: &FarmRead,
        known: &Known<'_>,
        faults: &Faults,
    ) {
        let Some(files) = &farm.rules else {
            return self.add_named(SHIPPED, &farm.at, settings, known, faults);
        };
        for (n, file) in files.iter().enumerate() {
            if files[..n].iter().any(|other| other.is == file.is) {
                let title = format!("{} is named twice", file.is);
                faults.refuse(&file.at, title, "take one of them out");
                continue;
            }
            self.add_named(&file.is, &file.at, settings, known, faults);
        }
    }

    /// Rules that follow from other settings; what is wrong with them is said at that place.
    pub(super) fn add_made(&mut self, text: &str, at: &Place, known: &Known<'_>, faults: &Faults) {
        let tree = Tree::read_shipped("the rules made of [records]", text, at.clone(), faults);
        self.add_file(tree.root(faults), known, true);
    }

    /// The `[[rule]]` tables of one file.
    pub(super) fn add(&mut self, root: &Table<'_>, known: &Known<'_>, is_shipped: bool) {
        let faults = root.faults();
        let mut seen: BTreeSet<String> = BTreeSet::new();
        for table in root.tables("rule", RULES_MAX) {
            let Some(written) = rule::read(table, known, is_shipped, &self.rules) else {
                continue;
            };
            let name = written.rule.name.to_string();
            if !seen.insert(name.clone()) {
                let title = format!("there are two rules called {name} in this file");
                let help =
                    "a rule replaces one of another file; within a file each has its own name";
                faults.refuse(&written.at, title, help);
            }
            let mut rules = self.rules.iter_mut();
            match rules.find(|other| other.rule.name == written.rule.name) {
                Some(other) => *other = written,
                None => self.rules.push(written),
            }
        }
    }

    /// A file among the settings' texts; the shipped one is there even if it is not among them.
    fn add_named(
        &mut self,
        name: &str,
        at: &Place,
        settings: &SettingsText,
        known: &Known<'_>,
        faults: &Faults,
    ) {
        let is_shipped = name == SHIPPED;
        let mut files = settings.files.iter().skip(1);
        if let Some(text) = files.find(|text| text.name == name) {
            let tree = Tree::read(&text.name, &text.text, faults);
            self.add_file(tree.root(faults), known, is_shipped);
        } else if let Some(text) = shipped(name) {
            let tree = Tree::read_shipped(name, text, at.clone(), faults);
            self.add_file(tree.root(faults), known, is_shipped);
        } else {
            let title = format!("the rules file {name} is not there");
            let help = format!("names are relative to farm.toml; {SHIPPED} is always there");
            faults.refuse(at, title, help);
        }
    }

    fn add_file(&mut self, root: Table<'_>, known: &Known<'_>, is_shipped: bool) {
        self.add(&root, known, is_shipped);
        root.done();
    }
}
