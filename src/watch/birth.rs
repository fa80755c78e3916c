//! How a dam's birth stands, for whoever is written to about her.

use super::Watch;
use super::ready::Ready;
use crate::herd::dam::Moved;
use crate::plain::ids::Animal;
use crate::rules::verdict::Subject;
use crate::talk::birth::Birth;
use crate::talk::phrases::Phrases;

impl Watch {
    /// Of the dam that an alert is about, or who wears the device that it is about.
    pub(super) fn birth_of(&self, subject: &Subject, on: Option<&Animal>) -> Option<Birth> {
        let animal = match subject {
            Subject::Dam(animal) => Some(animal),
            Subject::Device(_) => on,
            Subject::Line(_)
            | Subject::Gateway(_)
            | Subject::Herd
            | Subject::Rota
            | Subject::Drill
            | Subject::Person(_) => None,
        }?;
        self.state.dams.get(animal.as_str()).map(Birth::of)
    }

    /// Whether to move her, for whoever has just noted that she is in another stage.
    pub(super) fn moving(
        &self,
        animal: &Animal,
        moved: Option<Moved>,
        said: &Phrases,
        ready: &Ready,
    ) -> String {
        let dam = self.state.dams.get(animal.as_str()).filter(|_| moved.is_some());
        let says = dam
            .and_then(|dam| Birth::of(dam).moving(ready.config.farm.moving, self.state.now, said));
        says.map_or(String::new(), |says| format!(" {says}"))
    }
}
