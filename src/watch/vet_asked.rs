//! Somebody asks for what the vet on the telephone needs to know of a dam.

use super::Watch;
use super::answers::Speaker;
use super::ready::Ready;
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
        let named = named.and_then(|name| ready.animal(name)).cloned();
        let Some(animal) = named.or_else(|| self.animal_meant(speaker)) else {
            return ("Of which animal? Answer vet card and her number.".to_owned(), false);
        };
        let Some(dam) = self.state.dams.get(animal.as_str()) else {
            return (format!("There is no dam {animal} in the herd file."), false);
        };
        let due = self.due(self.state.now, ready);
        let window = due.iter().find(|row| row.animal == animal);
        let text = vet_card::text(&Facts {
            farm: &ready.config.farm,
            animal: &animal,
            row: ready.config.animals.iter().find(|row| row.animal == animal),
            parity: dam.parity,
            stage: dam.stage,
            case: dam.case(),
            window: window.map(|row| (row.from.to_string(), row.until.to_string())),
            now: self.state.now,
        });
        self.moment.parts = PARTS;
        (text, true)
    }
}
