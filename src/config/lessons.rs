//! What each part of the farm's people reads of a shipped rule, in each language: what to look for, what to do if it is
//! so, and, of those who have not learned to examine, whom to call instead.
//!
//! The texts come inside the program (`config/lessons`; of species other than cattle in `config/lessons/species`). A farm's own words in a `[[rule]]` go before them; whom to call is
//! not theirs to say.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use super::people::Language;
use super::shipped::{self, CATTLE};
use super::species_terms::Terms;

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

/// The other species: what is said of each of them, and what of one.
#[derive(Clone, Debug, Default, Deserialize)]
struct Others {
    /// The young in this language: `young`, and with its article `the`, where the language needs one.
    #[serde(default)]
    words: BTreeMap<String, BTreeMap<String, String>>,
    #[serde(default)]
    every: BTreeMap<String, Written>,
    #[serde(flatten)]
    own: BTreeMap<String, BTreeMap<String, Written>>,
}

/// What the young of a species are called in a language other than English.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Young {
    pub young: String,
    /// With its article.
    pub the: String,
}

/// By rule.
type Lessons = BTreeMap<String, Lesson>;

#[derive(Debug)]
struct Book {
    watch: Lessons,
    /// By species.
    species: BTreeMap<&'static str, Lessons>,
    young: BTreeMap<&'static str, Young>,
}

/// A language's two texts.
macro_rules! texts {
    ($tag:literal) => {
        [
            include_str!(concat!("../../config/lessons/", $tag, ".toml")),
            include_str!(concat!("../../config/lessons/species/", $tag, ".toml")),
        ]
    };
}

static ENGLISH: LazyLock<Book> = LazyLock::new(|| read(texts!("en"), None));
static IRISH: LazyLock<Book> = LazyLock::new(|| read(texts!("en-IE"), Some(&ENGLISH)));
static SPANISH: LazyLock<Book> = LazyLock::new(|| read(texts!("es"), None));
static GERMAN: LazyLock<Book> = LazyLock::new(|| read(texts!("de"), None));
static FRENCH: LazyLock<Book> = LazyLock::new(|| read(texts!("fr"), None));

fn book(language: Language) -> &'static Book {
    match language {
        Language::English => &ENGLISH,
        Language::IrishEnglish => &IRISH,
        Language::Spanish => &SPANISH,
        Language::German => &GERMAN,
        Language::French => &FRENCH,
    }
}

/// What the young are called; `None` in English, where the species' own file says it.
pub fn young(language: Language, species: &str) -> Option<&'static Young> {
    book(language).young.get(species)
}

/// The lesson of a shipped rule of that species or of the watch itself; `None` of any other rule.
pub fn of(language: Language, species: &str, rule: &str) -> Option<&'static Lesson> {
    let book = book(language);
    book.watch.get(rule).or_else(|| book.species.get(species)?.get(rule))
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
fn read([texts, others]: [&str; 2], dialect_of: Option<&Book>) -> Book {
    let file: File = toml::from_str(texts).unwrap_or_default();
    let others: Others = toml::from_str(others).unwrap_or_default();
    let base = |species: &str| {
        dialect_of.and_then(|book| book.species.get(species)).cloned().unwrap_or_default()
    };
    let mut species = BTreeMap::new();
    for one in shipped::species() {
        let mut said = base(one);
        if one == CATTLE {
            lessons(&file.cattle, &mut said, str::to_owned);
        } else {
            // Rules are called by the English word of the young in every language.
            let young = Terms::of(one).young;
            let words = others.words.get(one).cloned().unwrap_or_default();
            let fill = |text: &str| filled(text, &words, &young);
            // What one species says goes before what is said of each.
            for texts in [Some(&others.every), others.own.get(one)].into_iter().flatten() {
                let of_rule = texts.iter();
                let of_rule = of_rule
                    .map(|(rule, written)| (rule.replace("{young}", &young), written.clone()));
                lessons(&of_rule.collect(), &mut said, fill);
            }
        }
        species.insert(one, said);
    }
    let mut watch = dialect_of.map(|book| book.watch.clone()).unwrap_or_default();
    lessons(&file.watch, &mut watch, str::to_owned);
    let young = shipped::species().filter_map(|one| {
        let words = others.words.get(one)?;
        let word = |key: &str| words.get(key).cloned().unwrap_or_default();
        Some((one, Young { young: word("young"), the: word("the") }))
    });
    Book { young: young.collect(), watch, species }
}

/// `{young}`, `{the}` and `{The}` become the species' own.
fn filled(text: &str, words: &BTreeMap<String, String>, young: &str) -> String {
    let mut text = text.to_owned();
    for (key, word) in words {
        let begin: String = word.chars().take(1).flat_map(char::to_uppercase).collect();
        let rest: String = word.chars().skip(1).collect();
        let begun: String = key.chars().take(1).flat_map(char::to_uppercase).collect();
        let begun = format!("{{{begun}{}}}", key.chars().skip(1).collect::<String>());
        text = text.replace(&format!("{{{key}}}"), word).replace(&begun, &(begin + &rest));
    }
    text.replace("{young}", young)
}

/// What is written goes before what is there.
fn lessons(
    written: &BTreeMap<String, Written>,
    lessons: &mut Lessons,
    fill: impl Fn(&str) -> String,
) {
    for (rule, written) in written {
        let base = lessons.remove(rule);
        let or = |word: &Option<String>, base: Option<&String>| {
            word.as_deref().map(&fill).or_else(|| base.cloned()).unwrap_or_default()
        };
        let base = base.as_ref();
        let lesson = Lesson {
            name: or(&written.name, base.map(|base| &base.name).or(Some(rule))),
            action: or(&written.action, base.map(|base| &base.action)),
            look: or(&written.look, base.map(|base| &base.look)),
            helper: or(&written.helper, base.map(|base| &base.helper)),
            vet: or(&written.vet, base.map(|base| &base.vet)),
        };
        lessons.insert(rule.clone(), lesson);
    }
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

    fn every_rule_has_all_its_words(species: &'static str) {
        let shipped = [rules(rules_of(species)), rules(WATCH_RULES)].concat();
        for language in Language::ALL {
            for (rule, action) in &shipped {
                let lesson = of(language, species, rule)
                    .unwrap_or_else(|| panic!("{rule} has no words in {}", language.tag()));
                let Lesson { name, action: told, look, helper, vet } = lesson;
                let said = format!("{} {species} {rule}", language.tag());
                for word in [name, told, look, helper, vet] {
                    let fits = !word.trim().is_empty() && word.chars().count() <= 70;
                    assert!(fits, "{said}: {word:?}");
                    assert!(!word.replace("{call}", "").contains(['\n', '{']), "{said}: {word}");
                }
                let english = matches!(language, Language::English | Language::IrishEnglish);
                assert!(!english || told == action, "{said}: do is not the rule's");
                assert!(english || (name != rule && told != action), "{said} is not translated");
                assert!(fitting(language, species, rule, Some(action)).is_some());
                assert!(fitting(language, species, rule, Some("Ours.")).is_none());
            }
            let book = book(language);
            for rule in book.watch.keys() {
                assert!(shipped.iter().any(|(name, _)| name == rule), "no rule is called {rule}");
            }
        }
    }

    /// needs.md N71: a text for every part of every rule that notifies; here in every language.
    #[test]
    fn every_shipped_rule_has_all_its_words() {
        for species in shipped::species() {
            every_rule_has_all_its_words(species);
        }
    }

    /// A rule that was renamed would leave its words behind.
    #[test]
    fn no_words_are_of_a_rule_that_is_not() {
        let names = |species: &str| -> Vec<String> {
            rules(rules_of(species)).into_iter().map(|(name, _)| name).collect()
        };
        let all: usize = shipped::species().map(|species| names(species).len()).sum();
        assert!(all > 90, "the files were not read");
        for language in Language::ALL {
            let cattle = names(CATTLE);
            let text = match language {
                Language::English => texts!("en"),
                Language::IrishEnglish => texts!("en-IE"),
                Language::Spanish => texts!("es"),
                Language::German => texts!("de"),
                Language::French => texts!("fr"),
            };
            let file: File = toml::from_str(text[0]).unwrap();
            assert!(file.cattle.keys().all(|rule| cattle.contains(rule)), "{}", language.tag());
            let others: Others = toml::from_str(text[1]).unwrap();
            for (species, own) in &others.own {
                let names = names(shipped::species().find(|one| one == species).unwrap());
                let young = Terms::of(species).young;
                for rule in own.keys() {
                    let rule = rule.replace("{young}", &young);
                    assert!(names.contains(&rule), "no rule of {species} is called {rule}");
                }
            }
            for rule in others.every.keys() {
                let is_in = |species: &&str| {
                    let rule = rule.replace("{young}", &Terms::of(species).young);
                    *species != CATTLE && names(species).contains(&rule)
                };
                assert!(shipped::species().filter(is_in).count() > 1, "{rule} is of one alone");
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
            for (rule, lesson) in book.species.values().flatten().chain(&book.watch) {
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
    fn a_species_words_are_its_own() {
        let lesson = |language, species| of(language, species, "placenta not passed").unwrap();
        assert_eq!(lesson(Language::Spanish, "horse").name, "placenta retenida");
        assert_eq!(lesson(Language::Spanish, "sheep").name, "parias retenidas");
        let sucked = of(Language::French, "sheep", "lamb not sucked").unwrap();
        assert_eq!(sucked.name, "agneau n'a pas tété");
        assert_eq!(sucked.vet, "L'agneau n'a pas encore tété.");
        assert!(of(Language::Spanish, "horse", "lamb not sucked").is_none());
        assert!(of(Language::Spanish, "horse", "sensor silent").is_some());
        let irish = of(Language::IrishEnglish, "sheep", "placenta not passed").unwrap();
        assert_eq!(irish.name, "cleaning not passed");
        assert_eq!(irish.action, "Do not pull it. Look at her by day and ask the vet.");
    }
}
