//! Settings: a file in, the whole of what a person reads about it out.
//!
//! `tests/configs/NAME.toml` is read as `farm.toml`, with the files it names from the same folder,
//! and must give exactly `NAME.txt`.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use lowbell::config::fault::{Fault, Severity};
use lowbell::config::lines::Way;
use lowbell::config::people::Call;
use lowbell::config::rules::{Condition, Limit, Rule};
use lowbell::config::words::{MARKS, STAGES};
use lowbell::config::{Config, NamedText, Parsed, SettingsText, parse, shipped, wanted};
use lowbell::herd::sign::Mark;
use lowbell::herd::stage::Stage;
use lowbell::plain::moment::Span;

/// Where this crate lies.
fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// How many rules the shipped file writes out.
pub(crate) fn shipped_rules() -> usize {
    let files = [
        include_str!("../../config/rules/calving.toml"),
        include_str!("../../config/rules/watch.toml"),
    ];
    files.map(|text| text.matches("\n[[rule]]\n").count()).into_iter().sum()
}

/// Reads a `farm.toml` and what it names, as the daemon does.
fn settings(path: &Path) -> SettingsText {
    let text = fs::read_to_string(path).unwrap();
    let folder = path.parent().unwrap();
    let named = wanted(&text).into_iter().filter_map(|name| {
        let text = fs::read_to_string(folder.join(&name)).ok()?;
        Some(NamedText { name, text })
    });
    let farm = NamedText { name: "farm.toml".to_owned(), text: text.clone() };
    SettingsText { files: std::iter::once(farm).chain(named).collect() }
}

/// Every fault as a person reads it, and whether the settings are taken.
fn shown(settings: &SettingsText, parsed: &Parsed) -> String {
    let mut text = String::new();
    for fault in &parsed.faults {
        let source = settings.files.iter().find(|file| file.name == fault.file);
        text.push_str(&fault.render(source.map_or("", |file| &file.text)));
        text.push('\n');
    }
    text.push_str(match parsed.config {
        Some(_) => "taken\n",
        None => "refused\n",
    });
    text
}

fn files_with(ending: &str) -> BTreeSet<PathBuf> {
    fs::read_dir(root().join("tests/configs"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|found| found == ending))
        .map(|path| path.with_extension(""))
        .collect()
}

fn config_of(settings: &SettingsText) -> Config {
    let parsed = parse(settings);
    let text = shown(settings, &parsed);
    parsed.config.expect(&text)
}

/// The rules that a farm of a species has without naming any.
pub(crate) fn rules_of(species: &str) -> Vec<Rule> {
    let mut settings = settings(&root().join("tests/configs/least.toml"));
    let farm = format!("[farm]\nspecies = \"{species}\"\n");
    settings.files[0].text = settings.files[0].text.replacen("[farm]\n", &farm, 1);
    config_of(&settings).rules
}

/// With `LOWBELL_WRITE_CONFIGS=1` the texts are written anew, to be read before they are kept.
#[test]
fn every_settings_file_gives_exactly_the_text_written_beside_it() {
    let names = files_with("toml");
    assert_eq!(names, files_with("txt"), "each .toml has its .txt");
    assert!(!names.is_empty());
    let mut differences = String::new();
    let write = std::env::var("LOWBELL_WRITE_CONFIGS").is_ok();
    for name in names {
        let settings = settings(&name.with_extension("toml"));
        let actual = shown(&settings, &parse(&settings));
        if write {
            fs::write(name.with_extension("txt"), &actual).unwrap();
        }
        let expected = fs::read_to_string(name.with_extension("txt")).unwrap();
        if actual != expected {
            let name = name.file_name().unwrap().to_string_lossy();
            differences
                .push_str(&format!("==== {name}.txt says\n{expected}---- but it is\n{actual}"));
        }
    }
    assert!(differences.is_empty(), "\n{differences}");
}

#[test]
fn a_refusing_fault_and_a_config_never_come_together() {
    for name in files_with("toml") {
        let parsed = parse(&settings(&name.with_extension("toml")));
        let refuses = parsed.faults.iter().any(|fault| fault.severity == Severity::Refuses);
        assert_eq!(parsed.config.is_none(), refuses, "{}", name.display());
    }
}

#[test]
fn a_file_with_fifty_faults_gives_all_fifty() {
    let settings = settings(&root().join("tests/configs/fifty.toml"));
    let faults = parse(&settings).faults;
    assert_eq!(faults.len(), 50);
    assert!(faults.iter().all(|fault| fault.severity == Severity::Refuses));
}

#[test]
fn the_documented_example_loads_without_a_word() {
    let settings = settings(&root().join("config/farm.toml"));
    let names: Vec<&str> = settings.files.iter().map(|file| file.name.as_str()).collect();
    assert_eq!(
        names,
        ["farm.toml", "rules/calving.toml", "rules/watch.toml", "species/cattle.toml", "herd.csv"]
    );
    assert_eq!(shown(&settings, &parse(&settings)), "taken\n");
    let config = config_of(&settings);
    assert_eq!(config.farm.name, "Hollow Bank");
    assert_eq!(config.animals.len(), 3);
    assert_eq!(config.rules.len(), shipped_rules() + 2, "two more here");
}

#[test]
fn the_whole_vocabulary_of_the_settings_is_taken() {
    let settings = settings(&root().join("tests/configs/contract.toml"));
    let config = config_of(&settings);
    assert_eq!(config.broker.client_id, "lowbell-hollowbank");
    assert_eq!(config.sensors[0].read.len(), 3);
    let kinds: Vec<&str> = config
        .lines
        .iter()
        .map(|line| match &line.way {
            Way::Smtp(_) => "smtp",
            Way::Imap(_) => "imap",
            Way::SmsHttp(_) => "sms-http",
            Way::Webhook(_) => "webhook",
            Way::Siren(_) => "mqtt",
            Way::NotYet { kind } => kind,
        })
        .collect();
    assert_eq!(kinds, ["smtp", "imap", "sms-modem", "webhook", "mqtt"]);
    let rungs = &config.ladders[0].rungs;
    assert_eq!(rungs[1].by, ["mail"], "all its ways are still to come");
    assert_eq!(rungs[2].call, [Call::Everyone]);
    let rule = |name: &str| {
        let mut rules = config.rules.iter();
        rules.find(|rule| rule.name.as_str() == name).unwrap()
    };
    let Condition::Clock { limit, .. } = rule("second stage too long").condition else {
        panic!("a clock");
    };
    let expected = Limit::by_parity(Span::minutes(30), Span::minutes(60));
    assert_eq!(limit, expected);
    let silent = &rule("sensor silent").condition;
    let expected = Condition::Silent { kind: "tail".to_owned(), limit: Span::minutes(45) };
    assert_eq!(*silent, expected, "the farm's own in place of the shipped one");
}

/// The example names two people and a ladder that it does not write out, and that is all that is
/// wrong with it as it stands.
#[test]
fn the_example_alone_lacks_only_what_it_does_not_write_out() {
    let mut settings = settings(&root().join("tests/configs/contract.toml"));
    let text = &mut settings.files[0].text;
    let (example, _) = text.split_once("# What the example names and leaves out.").unwrap();
    *text = example.to_owned();
    let faults = parse(&settings).faults;
    let titles: Vec<&str> = faults
        .iter()
        .filter(|fault| fault.severity == Severity::Refuses)
        .map(|fault| fault.title.as_str())
        .collect();
    let expected = [
        "nobody is called Tom",
        "nobody is called Rosa",
        "nobody is called Rosa",
        "there is no ladder daytime",
    ];
    assert_eq!(titles, expected);
}

/// A shipped rule that only goes into the diary.
fn only_noted(rule: &str) -> bool {
    let noted =
        ["navel not done", "calf not on its breast", "calf late to suck", "placenta retained"];
    noted.contains(&rule)
}

#[test]
fn shipped_rules_tell_the_farms_own_first_ladder_if_it_has_none_of_theirs() {
    let settings = settings(&root().join("tests/configs/ladder_own.toml"));
    let config = config_of(&settings);
    let told = config.rules.iter().filter(|rule| !only_noted(rule.name.as_str()));
    let told = told.map(|rule| rule.tell.as_deref());
    assert_eq!(told.collect::<BTreeSet<_>>(), BTreeSet::from([Some("yard")]));
}

#[test]
fn the_shipped_rules_can_be_kept_with_the_settings() {
    let path = root().join("tests/configs/least.toml");
    let mut settings = settings(&path);
    let name = "rules/calving.toml";
    let mut text = shipped(name).unwrap().to_owned();
    assert_eq!(shipped("rules/other.toml"), None);
    let with_ours = config_of(&settings);
    settings.files.push(NamedText { name: name.to_owned(), text: text.clone() });
    assert_eq!(config_of(&settings), with_ours);
    text.truncate(text.find("[[rule]]").unwrap());
    settings.files.last_mut().unwrap().text = text;
    assert!(config_of(&settings).rules.is_empty(), "what was kept counts");
    let watch = NamedText { name: "rules/watch.toml".to_owned(), text: "# none\n".to_owned() };
    settings.files.push(watch);
    assert!(config_of(&settings).rules.is_empty(), "here too");
}

/// Cuts, and lines left out: whatever is left is read or refused, and every fault can be shown.
#[test]
fn a_damaged_file_gives_faults_and_no_panic() {
    let whole = settings(&root().join("config/farm.toml"));
    let mut read = 0;
    for (n, file) in whole.files.iter().enumerate() {
        let cuts = (0..file.text.len()).step_by(29);
        let cut = cuts.filter_map(|at| file.text.get(..at).map(str::to_owned));
        let lines: Vec<&str> = file.text.lines().collect();
        let left_out =
            (0..lines.len()).map(|gone| [&lines[..gone], &lines[gone + 1..]].concat().join("\n"));
        for text in cut.chain(left_out) {
            let mut damaged = whole.clone();
            damaged.files[n].text = text;
            let parsed = parse(&damaged);
            let refuses = |fault: &Fault| fault.severity == Severity::Refuses;
            assert_eq!(parsed.config.is_none(), parsed.faults.iter().any(refuses));
            // Each fault has a title, a place, a way out and a blank line at the least.
            let lines = shown(&damaged, &parsed).lines().count();
            assert!(lines > 4 * parsed.faults.len(), "{lines}");
            read += 1;
        }
    }
    assert!(read > 500, "{read}");
}

#[test]
fn a_farm_without_ladder_and_rules_has_the_standard_ones() {
    let settings = settings(&root().join("tests/configs/least.toml"));
    let config = config_of(&settings);
    assert_eq!(config.rules.len(), shipped_rules());
    for rule in &config.rules {
        let tells = (!only_noted(rule.name.as_str())).then_some("calving");
        assert_eq!(rule.tell.as_deref(), tells, "{}", rule.name);
    }
    let ladder = &config.ladders[0];
    let calls: Vec<&[Call]> = ladder.rungs.iter().map(|rung| &*rung.call).collect();
    assert_eq!(calls, [[Call::OnDuty], [Call::Backup], [Call::Everyone]].each_ref());
    assert_eq!(ladder.again, Span::minutes(15));
    assert_eq!(ladder.rungs[0].by, ["mail"]);
    assert!(config.rotas.is_empty());
    assert_eq!(config.farm.promise, Span::minutes(30));
}

#[test]
fn a_shipped_rule_says_what_to_do_in_few_plain_words_and_names_its_source() {
    for species in shipped::species() {
        for rule in rules_of(species) {
            assert!(!rule.source.is_empty(), "{species}: {}", rule.name);
            let name = rule.name.as_str();
            // A line in her record that asks nobody for anything.
            if rule.action.is_none() {
                assert_eq!(name, "placenta retained", "{species}");
            }
            let noted = only_noted(name) && rule.action.is_none()
                || species == "cattle" && only_noted(name);
            assert_eq!(rule.tell.is_none(), noted, "{species}: {name}");
            let action = rule.action.unwrap_or_default();
            assert!(action.is_ascii() && action.len() <= 60, "{species}: {action}");
        }
    }
}

/// Rules of a species of the farm's own are the whole of what they say, as they were before the rules of the
/// watch had a file of their own: what is kept in old journals means today what it meant then.
#[test]
fn rules_kept_from_a_version_that_had_them_in_one_file_stay_as_they_were() {
    let mut settings = settings(&root().join("tests/configs/least.toml"));
    let (calving, watch) =
        ["rules/calving.toml", "rules/watch.toml"].map(|name| shipped(name).unwrap()).into();
    let both = format!("{calving}\n{watch}");
    let ours = config_of(&settings);
    settings.files.push(NamedText { name: "rules/calving.toml".to_owned(), text: both });
    assert_eq!(config_of(&settings), ours, "the same rules in one file");
    let without = calving.to_owned() + "\n# without them on purpose\n";
    settings.files.last_mut().unwrap().text = without;
    let hears = |rule: &Rule| matches!(rule.condition, Condition::Silent { .. });
    assert!(ours.rules.iter().any(hears));
    assert!(!config_of(&settings).rules.iter().any(hears));
}

#[test]
fn rules_and_herd_know_the_same_words() {
    assert_eq!(MARKS, Mark::ALL.map(Mark::word));
    assert_eq!(STAGES, Stage::ALL.map(Stage::word));
}

#[test]
fn what_a_farm_toml_names_is_wanted_even_if_the_rest_is_broken() {
    let text = "[farm]\nname = Hollow\nrules = \"a.toml\"\nherd = \"herd.csv\"\n[broker\n";
    assert_eq!(wanted(text), ["a.toml", "species/cattle.toml", "herd.csv"]);
    assert_eq!(wanted("not toml at all ["), [""; 0]);
}

#[test]
fn no_settings_at_all_are_a_fault_and_no_panic() {
    let settings = SettingsText::default();
    assert_eq!(
        shown(&settings, &parse(&settings)),
        "\
error: there are no settings
  --> farm.toml
  = write a farm.toml

refused
"
    );
}
