//! What a person reads who is to show that calls reach them, and the word with which they show it.

use crate::config::Config;
use crate::config::people::{Part, Person};
use crate::plain::moment::Moment;

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
pub fn words(config: &Config, person: &Person, last: Option<Moment>) -> Words {
    let farm = &config.farm.name;
    let beasts = config.terms.in_words("a dam");
    let calls = match person.part {
        Part::Vet => format!("It may ask for you here when {beasts} needs a vet."),
        Part::Owner | Part::Stockman | Part::Helper | Part::Viewer => {
            format!("It calls you here when {beasts} needs somebody.")
        }
    };
    let asks = match last {
        None => "Answer READY, so that we know it reaches you.".to_owned(),
        Some(last) => format!(
            "Nothing came back from you since {}: answer READY.",
            config.farm.zone.wall(last).date()
        ),
    };
    wording::answer(&format!("Night watch of {farm}, for {}. {calls} {asks}", person.name))
}

/// What comes back to somebody who has shown it.
pub fn thanks(who: &str) -> String {
    format!("Thank you, {who}: calls reach you here.")
}

/// What comes back to somebody who shows it by a way that no call takes.
pub fn not_this_way(who: &str) -> String {
    format!("Thank you, {who}, but no call of ours goes this way: answer what asked you.")
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
