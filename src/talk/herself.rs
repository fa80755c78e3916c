//! What a mail says of the dam whom it is about, as the herd file has it.

use super::wording::{or, row};
use crate::alarm::alert::Alert;
use crate::config::Config;
use crate::config::animals::Parity;
use crate::rules::verdict::Subject;

/// The dam it is about, or who wears the device it is about, and what is noted of her.
pub(super) fn lines(config: &Config, alert: &Alert) -> Vec<String> {
    let mut lines = Vec::new();
    let animal = match &alert.subject {
        Subject::Dam(animal) => Some(animal),
        Subject::Device(_) => alert.on.as_ref(),
        Subject::Person(_) => alert.figures.gone_in_with(),
        Subject::Line(_) | Subject::Gateway(_) | Subject::Herd | Subject::Rota | Subject::Drill => {
            None
        }
    };
    if let Some(animal) = animal
        && let Some(row) = row(config, animal.as_str())
    {
        let kind = match row.parity {
            Parity::Cow => &config.terms.dam,
            Parity::Heifer => &config.terms.maiden,
        };
        let name = if row.name.is_empty() { String::new() } else { format!(" {}", row.name) };
        lines.push(format!("Dam {animal}{name}, {kind}, {}.", or(&row.group, "place not noted")));
        if let Some(temper) = row.temper.filter(|temper| *temper >= config.farm.mind_from) {
            lines.push(format!(
                "Her temper is {temper} of 6. Know your way out before you go in; not alone, never between her and the calf."
            ));
        }
        if !row.notes.is_empty() {
            lines.push(format!("Noted of her: {}.", row.notes.trim_end_matches('.')));
        }
    }
    lines
}
