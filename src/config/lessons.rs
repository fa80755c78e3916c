//! What each part of the farm's people reads of a shipped rule, in each language: what to look for, what to do if it is
//! so, and, of those who have not learned to examine, whom to call instead.
//!
//! The texts come inside the program (`config/lessons`). A farm's own words in a `[[rule]]` go before them; whom to call is
//! not theirs to say.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use super::people::Language;
use super::shipped::CATTLE;

/// What there is to say of one rule in one language.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lesson {
    /// The "what" of every message.
    pub name: String,
    /// For whoever has learned to examine: the rule's own action.
    pub action: String,
    /// What to look for, from outside.
    pub look: String,
    /// For a helper; `{call}` stands for whom to call.
    pub helper: String,
    /// For the vet: what is asked, and what nobody knows.
    pub vet: String,
}

/// One rule's table of a file: a dialect says only what it says otherwise.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    name: Option<String>,
    #[serde(rename = "do")]
    action: Option<String>,
    look: Option<String>,
    helper: Option<String>,
    vet: Option<String>,
}

/// The rules of the watch itself, and those of cattle.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    watch: BTreeMap<String, Written>,
    #[serde(default)]
    cattle: BTreeMap<String, Written>,
}

#[derive(Debug)]
struct Book {
    watch: BTreeMap<String, Lesson>,
    cattle: BTreeMap<String, Lesson>,
}

static ENGLISH: LazyLock<Book> =
    LazyLock::new(|| read(include_str!("../../config/lessons/en.toml"), None));
static IRISH: LazyLock<Book> =
    LazyLock::new(|| read(include_str!("../../config/lessons/en-IE.toml"), Some(&ENGLISH)));
static SPANISH: LazyLock<Book> =
    LazyLock::new(|| read(include_str!("../../config/lessons/es.toml"), None));
static GERMAN: LazyLock<Book> =
    LazyLock::new(|| read(include_str!("../../config/lessons/de.toml"), None));
static FRENCH: LazyLock<Book> =
    LazyLock::new(|| read(include_str!("../../config/lessons/fr.toml"), None));

fn book(language: Language) -> &'static Book {
    match language {
        Language::English => &ENGLISH,
        Language::IrishEnglish => &IRISH,
        Language::Spanish => &SPANISH,
        Language::German => &GERMAN,
        Language::French => &FRENCH,
    }
}

/// The lesson of a shipped rule; `None` of any other rule, and of the rules of other species than cattle.
pub fn of(language: Language, species: &str, rule: &str) -> Option<&'static Lesson> {
    let book = book(language);
    let cattle = || book.cattle.get(rule).filter(|_| species == CATTLE);
    book.watch.get(rule).or_else(cattle)
}

/// The same where it still fits: the rule's action is the shipped one, in whose words the lesson is written.
pub fn fitting(
    language: Language,
    species: &str,
    rule: &str,
    action: Option<&str>,
) -> Option<&'static Lesson> {
    let shipped = of(Language::English, species, rule)?;
    (action == Some(shipped.action.as_str())).then(|| of(language, species, rule)).flatten()
}

/// What a text of ours leaves out is empty, and `every_shipped_rule_has_all_its_words` finds it.
fn read(text: &str, dialect_of: Option<&Book>) -> Book {
    let file: File = toml::from_str(text).unwrap_or_default();
    let base = |of: fn(&Book) -> &BTreeMap<String, Lesson>| dialect_of.map(of).cloned();
    Book {
        watch: lessons(file.watch, base(|book| &book.watch).unwrap_or_default()),
        cattle: lessons(file.cattle, base(|book| &book.cattle).unwrap_or_default()),
    }
}

fn lessons(
    written: BTreeMap<String, Written>,
    mut lessons: BTreeMap<String, Lesson>,
) -> BTreeMap<String, Lesson> {
    for (rule, written) in written {
        let base = lessons.remove(&rule);
        let or = |word: Option<String>, base: Option<&String>| {
            word.or_else(|| base.cloned()).unwrap_or_default()
        };
        let lesson = Lesson {
            name: or(written.name, base.as_ref().map_or(Some(&rule), |base| Some(&base.name))),
            action: or(written.action, base.as_ref().map(|base| &base.action)),
            look: or(written.look, base.as_ref().map(|base| &base.look)),
            helper: or(written.helper, base.as_ref().map(|base| &base.helper)),
            vet: or(written.vet, base.as_ref().map(|base| &base.vet)),
        };
        lessons.insert(rule, lesson);
    }
    lessons
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::shipped::{WATCH_RULES, rules_of, shipped};

    /// Name, action and whether it notifies, of every rule of a shipped file.
    fn rules(file: &str) -> Vec<(String, String)> {
        let root: toml::Table = shipped(file).unwrap().parse().unwrap();
        let rules = root["rule"].as_array().unwrap();
        let told = rules.iter().filter(|rule| rule.get("tell").is_some());
        let word = |rule: &toml::Value, key: &str| rule[key].as_str().unwrap().to_owned();
        told.map(|rule| (word(rule, "name"), word(rule, "do"))).collect()
    }

    /// needs.md N71: a text for every part of every rule that notifies; here in every language.
    #[test]
    fn every_shipped_rule_has_all_its_words() {
        let shipped = [rules(rules_of(CATTLE)), rules(WATCH_RULES)].concat();
        assert!(shipped.len() > 45, "the files were not read");
        for language in Language::ALL {
            for (rule, action) in &shipped {
                let lesson = of(language, CATTLE, rule)
                    .unwrap_or_else(|| panic!("{rule} has no words in {}", language.tag()));
                let Lesson { name, action: told, look, helper, vet } = lesson;
                for word in [name, told, look, helper, vet] {
                    let fits = !word.trim().is_empty() && word.chars().count() <= 70;
                    assert!(fits, "{} {rule}: {word:?}", language.tag());
                    assert!(!word.contains(['\n', '{']) || word.contains("{call}"), "{word}");
                }
                let english = matches!(language, Language::English | Language::IrishEnglish);
                assert!(!english || told == action, "{rule}: do is not the rule's");
                assert!(english || (name != rule && told != action), "{rule} is not translated");
                assert!(fitting(language, CATTLE, rule, Some(action)).is_some());
                assert!(fitting(language, CATTLE, rule, Some("Ours.")).is_none());
            }
            let book = book(language);
            let named = book.watch.keys().chain(book.cattle.keys());
            for rule in named {
                assert!(shipped.iter().any(|(name, _)| name == rule), "no rule is called {rule}");
            }
        }
    }

    /// needs.md N71: whoever has not learned to examine sends no hand inside and pulls nothing, but calls.
    /// Which words say so is the translator's, no source.
    #[test]
    fn a_helper_is_told_to_call_and_never_to_examine() {
        for (language, forbidden, denied) in [
            (Language::English, ["examine", "feel", "help her"], "do not "),
            (Language::IrishEnglish, ["examine", "feel", "help her"], "do not "),
            (Language::Spanish, ["expl\u{f3}rela", "tacto", "ay\u{fa}dela"], "no "),
            (Language::German, ["untersuch", "f\u{fc}hl", "helfen"], "nicht "),
            (Language::French, ["fouillez", "aidez", "tirez"], "ne "),
        ] {
            let book = book(language);
            for (rule, lesson) in book.cattle.iter().chain(&book.watch) {
                let said = lesson.helper.to_lowercase();
                for word in forbidden {
                    let plain = said.replace(&format!("{denied}{word}"), "");
                    assert!(!plain.contains(word), "{} {rule}: {said}", language.tag());
                }
                let calls = said.contains("{call}")
                    || ["drill", "backward calf not out"].contains(&rule.as_str());
                assert!(calls, "{} {rule} calls nobody: {said}", language.tag());
            }
        }
    }

    #[test]
    fn the_rules_of_another_species_have_none_of_these_words() {
        assert!(of(Language::Spanish, "horse", "placenta not passed").is_none());
        assert!(of(Language::Spanish, "horse", "sensor silent").is_some());
    }
}
