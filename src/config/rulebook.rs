//! Gathers rules from the shipped file, the farm's own files and `farm.toml`: a later rule replaces
//! an earlier one of the same name.

use std::collections::BTreeSet;

use super::SettingsText;
use super::farm::FarmRead;
use super::faults::{Faults, Place, Placed};
use super::rule::{self, Known, Written};
use super::shipped::{self, WATCH_RULES};
use super::tree::{Table, Tree};

/// More rules than this cannot be kept in mind by anybody.
const RULES_MAX: usize = 200;

/// All rules in the order in which their names first came up.
#[derive(Default)]
pub(super) struct Rulebook {
    pub(super) rules: Vec<Written>,
    /// Where the farm names rules of a species that are its own, with nothing from us beside them.
    pub(super) own: Option<Place>,
}

impl Rulebook {
    /// The files that `[farm] rules` names, or the one of the farm's species. Rules of a species bring those of
    /// the watch itself with them.
    pub(super) fn add_files(
        &mut self,
        settings: &SettingsText,
        farm: &FarmRead,
        known: &Known<'_>,
        faults: &Faults,
    ) {
        let usual =
            || Placed { is: shipped::rules_of(&farm.farm.species).to_owned(), at: farm.at.clone() };
        let files = farm.rules.clone().unwrap_or_else(|| vec![usual()]);
        for (n, file) in files.iter().enumerate() {
            if files[..n].iter().any(|other| other.is == file.is) {
                let title = format!("{} is named twice", file.is);
                faults.refuse(&file.at, title, "take one of them out");
                continue;
            }
            self.add_named(&file.is, &file.at, settings, known, faults);
            let names_watch = files.iter().any(|file| file.is == WATCH_RULES);
            if shipped::is_of_a_species(&file.is) && !names_watch {
                self.add_watch(&file.at, settings, known, faults);
            }
        }
    }

    /// The rules of the watch itself, so far as no rule of theirs is there already.
    fn add_watch(
        &mut self,
        at: &Place,
        settings: &SettingsText,
        known: &Known<'_>,
        faults: &Faults,
    ) {
        let kept = settings.files.iter().skip(1).any(|text| text.name == WATCH_RULES);
        if !kept && shipped::stands_in(WATCH_RULES, &settings.files).is_none() {
            self.own.get_or_insert_with(|| at.clone());
            return;
        }
        let mut watch = Self::default();
        watch.add_named(WATCH_RULES, at, settings, known, faults);
        for written in watch.rules {
            if self.rules.iter().all(|other| other.rule.name != written.rule.name) {
                self.rules.push(written);
            }
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
        let is_shipped = shipped::shipped(name).is_some();
        let mut files = settings.files.iter().skip(1);
        if let Some(text) = files.find(|text| text.name == name) {
            let tree = Tree::read(&text.name, &text.text, faults);
            self.add_file(tree.root(faults), known, is_shipped);
        } else if let Some(text) = shipped::shipped(name) {
            let tree = Tree::read_shipped(name, text, at.clone(), faults);
            self.add_file(tree.root(faults), known, is_shipped);
        } else {
            let title = format!("the rules file {name} is not there");
            let help =
                "names are relative to farm.toml; rules/calving.toml and its like are always there";
            faults.refuse(at, title, help);
        }
    }

    fn add_file(&mut self, root: Table<'_>, known: &Known<'_>, is_shipped: bool) {
        self.add(&root, known, is_shipped);
        root.done();
    }
}
