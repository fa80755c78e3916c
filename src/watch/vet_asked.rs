//! Somebody asks for what the vet on the telephone needs to know of a dam.

use super::Watch;
use super::answers::Speaker;
use super::ready::Ready;
use crate::plain::ids::Animal;
use crate::talk::speech::Speech;
use crate::talk::vet_card::{self, Facts};

/// A card is two text messages long (needs.md N112).
const PARTS: usize = 2;

impl Watch {
    pub(super) fn vet_card(
        &mut self,
        speaker: &Speaker<'_>,
        named: Option<&str>,
        ready: &Ready,
    ) -> (String, bool) {
        let speech = Speech::to(&ready.config, &speaker.who);
        let named = named.and_then(|name| ready.animal(name)).cloned();
        let Some(animal) = named.or_else(|| self.animal_meant(speaker)) else {
            return (speech.answers.card_of_whom.to_owned(), false);
        };
        let Some(text) = self.card(&animal, ready, vet_card::text) else {
            return (speech.say(speech.answers.no_dam, &[("animal", &animal)]), false);
        };
        self.moment.parts = PARTS;
        (text, true)
    }

    /// What is known and what is not, for a vet who is called to her by mail.
    pub(super) fn card_lines(&self, animal: &Animal, ready: &Ready) -> Option<String> {
        self.card(animal, ready, |facts| vet_card::card(facts).lines.join("\n"))
    }

    fn card(
        &self,
        animal: &Animal,
        ready: &Ready,
        words: impl Fn(&Facts<'_>) -> String,
    ) -> Option<String> {
        let dam = self.state.dams.get(animal.as_str())?;
        let due = self.due(self.state.now, ready);
        let window = due.iter().find(|row| row.animal == *animal);
        Some(words(&Facts {
            farm: &ready.config.farm,
            animal,
            row: ready.config.animals.iter().find(|row| row.animal == *animal),
            parity: dam.parity,
            stage: dam.stage,
            case: dam.case(),
            window: window.map(|row| (row.from.to_string(), row.until.to_string())),
            now: self.state.now,
        }))
    }
}
