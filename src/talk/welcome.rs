//! What a person reads who is to show that calls reach them, and the word with which they show it.

use std::fmt::Display;

use crate::config::Config;
use crate::config::people::{Part, Person};
use crate::plain::moment::Moment;

use super::phrases::{Phrases, say};
use super::reader::Reader;
use super::wording::{self, Words};

/// The word that is asked for, in every language in which it may come.
const READY: [&str; 14] = [
    "ready",
    "ok ready",
    "yes ready",
    "im ready",
    "i am ready",
    "all ready",
    "listo",
    "lista",
    "bereit",
    "prêt",
    "prête",
    "pret",
    "prete",
    "réidh",
];

/// What the watch says of itself, and what it asks for. `last`: when words of theirs last came in this way.
pub fn words(config: &Config, person: &Person, last: Option<Moment>, reader: &Reader) -> Words {
    let said = reader.phrases();
    let calls = match person.part {
        Part::Vet => said.welcome_vet,
        Part::Owner | Part::Stockman | Part::Helper | Part::Viewer => said.welcome_people,
    };
    let asks = match last {
        None => said.ask_ready.to_owned(),
        Some(last) => say(said.ask_again, &[("date", &config.farm.zone.wall(last).date())]),
    };
    let filled: [(&str, &dyn Display); 4] =
        [("farm", &config.farm.name), ("who", &person.name), ("calls", &calls), ("asks", &asks)];
    wording::answer(&say(said.welcome, &filled), reader)
}

/// What comes back to somebody who has shown it.
pub fn thanks(who: &str, said: &Phrases) -> String {
    say(said.thanks, &[("who", &who)])
}

/// What comes back to somebody who shows it by a way that no call takes.
pub fn not_this_way(who: &str, said: &Phrases) -> String {
    say(said.not_this_way, &[("who", &who)])
}

/// Whether these words are the word that is asked for, and nothing else above what they quote.
pub fn is_ready(text: &str) -> bool {
    let new = super::quoted::new_text(text);
    let said: String =
        new.chars().filter(|letter| letter.is_alphanumeric() || letter.is_whitespace()).collect();
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    READY.contains(&said.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_word_is_known_as_people_type_it_and_no_other_is() {
        for text in
            ["READY", "ready.", " Ready!\n", "I'm ready", "\n\nReady 👍\n> Night watch", "Prêt"]
        {
            assert!(is_ready(text), "{text}");
        }
        for text in
            ["", "not ready", "ready in 5", "ready to go to 412", "going", "> READY", "ok\n> READY"]
        {
            assert!(!is_ready(text), "{text}");
        }
    }
}
