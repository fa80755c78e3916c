//! The texts that come inside the program: the rules of each species, the rules of the watch itself, and
//! the words of each species.
//!
//! A farm's own file of the same name goes before a shipped one, and it is then the whole of what it says:
//! nothing is slipped in beside it.

use super::tree::Tree;
use super::{NamedText, faults::Faults};

/// The rules of sensors, lines and the journal, the same for every species.
pub const WATCH_RULES: &str = "rules/watch.toml";

const WATCH_TEXT: &str = include_str!("../../config/rules/watch.toml");

/// What comes with one species.
struct Species {
    name: &'static str,
    rules: &'static str,
    rules_text: &'static str,
    words_text: &'static str,
}

/// Species by the word of the settings.
macro_rules! species {
    ($name:literal, $rules:literal) => {
        Species {
            name: $name,
            rules: concat!("rules/", $rules, ".toml"),
            rules_text: include_str!(concat!("../../config/rules/", $rules, ".toml")),
            words_text: include_str!(concat!("../../config/species/words/", $name, ".toml")),
        }
    };
}

const ALL: [Species; 7] = [
    species!("cattle", "calving"),
    species!("sheep", "lambing"),
    species!("goat", "kidding"),
    species!("horse", "foaling"),
    species!("pig", "farrowing"),
    species!("alpaca", "birthing"),
    species!("buffalo", "buffalo"),
];

/// The species of a farm that names none.
pub const CATTLE: &str = "cattle";

/// Every species that a farm may name.
pub fn species() -> impl Iterator<Item = &'static str> {
    ALL.iter().map(|one| one.name)
}

fn of(species: &str) -> &'static Species {
    ALL.iter().find(|one| one.name == species).unwrap_or(&ALL[0])
}

/// The file of rules that a farm of this species has without naming any.
pub fn rules_of(species: &str) -> &'static str {
    of(species).rules
}

/// The words of a species, as TOML.
pub(super) fn words_of(species: &str) -> &'static str {
    of(species).words_text
}

/// Whether a file of that name is the rules of a species, which bring the rules of the watch with them.
pub(super) fn is_of_a_species(file: &str) -> bool {
    ALL.iter().any(|one| one.rules == file)
}

/// The text that stands in for a rules file of that name which a farm has not. Whoever keeps the settings
/// for a replay keeps it with them: another version may ship other rules.
pub fn shipped(name: &str) -> Option<&'static str> {
    if name == WATCH_RULES {
        return Some(WATCH_TEXT);
    }
    ALL.iter().find(|one| one.rules == name).map(|one| one.rules_text)
}

/// The same, given what has been read so far, `farm.toml` first. Beside rules of a species that are the
/// farm's own, or an older version's, the rules of the watch stand only if the farm names them: such a
/// file has had them inside, or its writer has left them out.
pub fn stands_in(name: &str, files: &[NamedText]) -> Option<&'static str> {
    let text = shipped(name)?;
    if name != WATCH_RULES {
        return Some(text);
    }
    let is_own = |file: &NamedText| {
        is_of_a_species(&file.name) && shipped(&file.name) != Some(file.text.as_str())
    };
    let named = || files.first().is_some_and(|farm| named(&farm.text).contains(&name.to_owned()));
    (!files.iter().skip(1).any(is_own) || named()).then_some(text)
}

/// The rule files that a `farm.toml` names itself, so far as it can be read.
fn named(farm_toml: &str) -> Vec<String> {
    let faults = Faults::default();
    let tree = Tree::read("farm.toml", farm_toml, &faults);
    let farm = tree.root(&faults).table("farm");
    farm.map_or_else(Vec::new, |farm| farm.texts("rules")).into_iter().map(|name| name.is).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(name: &str, text: &str) -> NamedText {
        NamedText { name: name.to_owned(), text: text.to_owned() }
    }

    #[test]
    fn every_species_brings_the_rules_of_the_watch_unless_its_rules_are_the_farms_own() {
        let farm = file("farm.toml", "[farm]\nname = \"Hollow Bank\"\n");
        for species in species() {
            let rules = rules_of(species);
            let same = file(rules, shipped(rules).unwrap());
            for files in [vec![farm.clone()], vec![farm.clone(), same]] {
                assert!(stands_in(WATCH_RULES, &files).is_some(), "{species}");
            }
            let own = vec![farm.clone(), file(rules, "# ours\n")];
            assert_eq!(stands_in(WATCH_RULES, &own), None, "{species}");
        }
        let names_it = file("farm.toml", "[farm]\nrules = [\"rules/watch.toml\"]\n");
        let own = vec![names_it, file("rules/calving.toml", "# ours\n")];
        assert!(stands_in(WATCH_RULES, &own).is_some());
        assert_eq!(stands_in("rules/ours.toml", &own), None);
    }
}
