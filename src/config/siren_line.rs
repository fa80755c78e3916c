//! Reads lines of the kind mqtt: a light or a siren on the farm's own broker.

use super::lines::{Siren, Stands, Way};
use super::tree::Table;

/// A siren's command is a word or a small piece of JSON.
const SAY_MAX: usize = 200;

/// Longer is no topic of a yard.
const TOPIC_MAX: usize = 200;

pub(super) fn siren(table: Table<'_>) -> Option<Way> {
    let faults = table.faults();
    let topic = table.needed("topic", "where the siren listens, such as \"yard/siren/set\"");
    if let Some(topic) = &topic
        && !can_be_published_on(&topic.is)
    {
        let help = "write one topic without + and #, such as \"yard/siren/set\"";
        faults.refuse(&topic.at, format!("nothing can be published on {}", topic.is), help);
    }
    let words = table.table("say").map(words);
    table.done();
    Some(Way::Siren(Siren { topic: topic?.is, say: words.unwrap_or_else(plain) }))
}

/// MQTT 5, sections 4.7.1 and 4.7.2; a level left empty is a slip.
fn can_be_published_on(topic: &str) -> bool {
    !topic.contains(['+', '#', '\0'])
        && !topic.starts_with('$')
        && topic.len() <= TOPIC_MAX
        && topic.split('/').all(|level| !level.is_empty())
}

/// Each by its own word.
fn plain() -> [String; 5] {
    Stands::ALL.map(|stands| stands.word().to_owned())
}

/// What is left out says what the next quieter one says.
fn words(table: Table<'_>) -> [String; 5] {
    let faults = table.faults();
    if !table.has(Stands::Quiet.word()) {
        let help = "a siren must be told when to be still: quiet = \"OFF\"";
        table.missing(Stands::Quiet.word(), help);
    }
    let mut last = String::new();
    let said = Stands::ALL.map(|stands| {
        if let Some(text) = table.text(stands.word()) {
            if text.is.is_empty() || text.is.len() > SAY_MAX {
                let title = format!("what a siren is told has 1 to {SAY_MAX} letters");
                faults.refuse(&text.at, title, "an empty one would take the topic away");
            }
            last = text.is;
        }
        last.clone()
    });
    table.done();
    said
}
