//! Every example in the documents is true.

use lowbell::config::{self, NamedText, SettingsText};
use lowbell::live::settings::Place;
use lowbell::plain::moment::Moment;
use lowbell::sensor::decoders::Decoders;
use lowbell::sensor::reading::Reading;
use lowbell::sensor::topic::Filter;

use super::daemon::{Daemon, lowbell, text};

const README: &str = include_str!("../../README.md");
const DEVELOPERS: &str = include_str!("../../DEVELOPERS.md");

/// The fenced blocks of one language.
fn blocks(document: &str, language: &str) -> Vec<String> {
    document
        .split("```")
        .skip(1)
        .step_by(2)
        .filter_map(|block| block.strip_prefix(language)?.strip_prefix('\n'))
        .map(str::to_owned)
        .collect()
}

#[test]
fn the_readmes_farm_works_as_it_stands() {
    let (farm, herd) = (&blocks(README, "toml")[0], &blocks(README, "csv")[0]);
    let file = |name: &str, text: &String| NamedText { name: name.into(), text: text.clone() };
    let parsed = config::parse(&SettingsText {
        files: vec![file("farm.toml", farm), file("herd.csv", herd)],
    });
    assert!(parsed.faults.is_empty(), "{:?}", parsed.faults);
    let config = parsed.config.unwrap();
    let shipped = crate::configs::shipped_rules();
    assert_eq!((config.animals.len(), config.people.len(), config.rules.len()), (2, 1, shipped));
}

/// Only the port and the data folder are changed, because this machine's may be taken.
#[test]
fn the_readmes_farm_starts_and_hears() {
    let folder = tempfile::tempdir().unwrap();
    let port = super::mosquitto::free_port();
    let data = folder.path().join("data").display().to_string();
    let farm = blocks(README, "toml")[0]
        .replace("127.0.0.1:1883", &format!("127.0.0.1:{port}"))
        .replace("/var/lib/lowbell", &data);
    std::fs::write(folder.path().join("farm.toml"), farm).unwrap();
    std::fs::write(folder.path().join("herd.csv"), &blocks(README, "csv")[0]).unwrap();
    let mut daemon = Daemon::start(&folder.path().join("farm.toml"));
    daemon.says("broker is up");
    let publish = README.lines().find(|line| line.contains("mosquitto_pub")).unwrap();
    assert!(publish.contains("yard/tail/t-07/state"), "{publish}");
    let message = ["-q", "1", "-t", "yard/tail/t-07/state", "-m", "{\"efforts\": 9}"];
    super::mosquitto::publish(port, &message, "");
    daemon.says("to Ana by mail: 114 home field: contractions building 9");
    assert_eq!(daemon.stop(), 0);
}

#[test]
fn the_documented_example_and_the_demos_farm_have_no_fault() {
    for folder in ["config", "demo", "tests/stories"] {
        let path = format!("{}/{folder}/farm.toml", env!("CARGO_MANIFEST_DIR"));
        let settings = Place::new(path.as_ref()).read().unwrap();
        let parsed = config::parse(&settings);
        let refused = parsed.config.is_none();
        assert!(!refused, "{folder}: {:?}", parsed.faults);
    }
}

#[test]
fn every_command_in_the_readme_is_a_command() {
    let help = text(&lowbell(&["--help"]).stdout);
    let named: Vec<&str> = README
        .match_indices("`lowbell ")
        .filter_map(|(at, _)| README[at + "`lowbell ".len()..].split([' ', '`']).next())
        .collect();
    assert!(named.len() >= 9, "{named:?}");
    for command in named {
        assert!(help.contains(&format!("\n  {command} ")), "there is no lowbell {command}");
        assert!(lowbell(&[command, "--help"]).status.success());
    }
    for option in ["--last", "--as", "--farm"] {
        let somewhere = ["diary", "answer", "mark", "rota"]
            .iter()
            .any(|command| text(&lowbell(&[command, "--help"]).stdout).contains(option));
        assert!(somewhere, "{option}");
    }
}

/// The table of words: each phrase in its first column is understood to the last word.
#[test]
fn every_word_in_the_readme_is_understood() {
    let table = README.split("| what you say |").nth(1).unwrap().split("\n\n").next().unwrap();
    let phrases: Vec<&str> = table
        .lines()
        .skip(2)
        .filter_map(|row| row.split('|').nth(1))
        .flat_map(|said| said.split('`').skip(1).step_by(2))
        .collect();
    assert!(phrases.len() >= 20, "{phrases:?}");
    for phrase in phrases {
        let meaning = super::replies::meaning(phrase);
        assert!(!meaning.said.is_empty() && meaning.left.is_empty(), "{phrase}: {meaning:?}");
    }
}

#[test]
fn every_file_that_the_documents_name_is_there() {
    let architecture = include_str!("../../ARCHITECTURE.md");
    let endings = [".rs", ".toml", ".service", ".md", ".txt"];
    for document in [README, DEVELOPERS, architecture] {
        for word in document.split('`').skip(1).step_by(2) {
            let is_path = word.contains('/')
                && !word.contains([' ', '<', '*', '{'])
                && !word.starts_with('/');
            if !is_path || !endings.iter().any(|ending| word.ends_with(ending)) {
                continue;
            }
            let root = env!("CARGO_MANIFEST_DIR");
            let there = [format!("{root}/{word}"), format!("{root}/src/{word}")];
            assert!(
                there.iter().any(|path| std::path::Path::new(path).exists()),
                "{word} is not there"
            );
        }
    }
}

/// Above each table of config/sensors.toml stand a message and what comes of it.
#[test]
fn every_message_of_the_sensors_file_gives_what_is_written_beside_it() {
    let tables = include_str!("../../config/sensors.toml");
    let farm = format!(
        "[farm]\nname = \"Hollow Bank\"\nzone = \"Europe/Dublin\"\nherd = \"herd.csv\"\n\
         [broker]\nurl = \"mqtt://127.0.0.1:1883\"\n[[person]]\nname = \"Ana\"\n\
         mail = \"ana@hollowbank.example\"\n[[line]]\nname = \"mail\"\nkind = \"smtp\"\n\
         url = \"smtp://127.0.0.1:25\"\nfrom = \"lowbell@hollowbank.example\"\n{tables}"
    );
    let file = |name: &str, text: &str| NamedText { name: name.into(), text: text.into() };
    let files = vec![file("farm.toml", &farm), file("herd.csv", "animal\n114\n")];
    let parsed = config::parse(&SettingsText { files });
    let Some(config) = parsed.config else { panic!("{:?}", parsed.faults) };
    let decoders = Decoders::new(&config.sensors).unwrap();
    let heard_at = Moment::from_rfc3339("2026-11-25T20:00:00Z").unwrap();
    let comments = |table: &str| -> Vec<String> {
        let lines = table.lines().rev().skip_while(|line| line.is_empty());
        let mut lines: Vec<String> =
            lines.map_while(|line| line.strip_prefix("# ")).map(str::to_owned).collect();
        lines.reverse();
        lines
    };
    let before: Vec<&str> = tables.split("[[sensor]]").collect();
    for (table, kind) in before.iter().zip(&config.sensors) {
        let lines = comments(table);
        let topic = Filter::parse(&kind.topic).unwrap();
        let message = |line: &&String| {
            line.split_once(' ').is_some_and(|(words, _)| topic.matches(words).is_some())
        };
        let at = lines.iter().position(|line| message(&line)).expect("a message stands above");
        let (words, payload) = lines[at].split_once(' ').unwrap();
        let heard = decoders.read(words, payload.as_bytes(), heard_at, false);
        assert_eq!(heard.refusals, [""; 0], "{}", kind.kind);
        let unit = |reading: &Reading| {
            // A ratio is written bare.
            let unit = reading.unit.map(|unit| unit.name()).filter(|name| *name != "/");
            unit.map_or(String::new(), |name| format!(" {name}"))
        };
        let shown =
            |one: &Reading| format!("{} {} = {}{}", one.device, one.sign, one.value, unit(one));
        let given: Vec<String> = heard.readings.iter().map(shown).collect();
        assert_eq!(given, lines[at + 1..], "{}", kind.kind);
    }
    assert_eq!(config.sensors.len(), before.len() - 1);
}
