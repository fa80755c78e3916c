//! What a mail says of the dam whom it is about, as the herd file has it.

use super::head::row;
use super::phrases::say;
use super::reader::Reader;
use super::wording::or;
use crate::alarm::alert::Alert;
use crate::config::Config;
use crate::config::animals::Parity;
use crate::config::shipped::CATTLE;
use crate::rules::verdict::Subject;

/// The dam it is about, or who wears the device it is about, and what is noted of her.
pub(super) fn lines(config: &Config, alert: &Alert, reader: &Reader) -> Vec<String> {
    let said = reader.phrases();
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
        // Species other than cattle are named in English.
        let spoken = !reader.is_english() && config.farm.species == CATTLE;
        let kind = match row.parity {
            Parity::Cow if spoken => said.cow,
            Parity::Heifer if spoken => said.heifer,
            Parity::Cow => &config.terms.dam,
            Parity::Heifer => &config.terms.maiden,
        };
        let name = format!("{animal} {}", row.name);
        let place = or(&row.group, said.place_unknown);
        lines.push(say(
            said.dam_line,
            &[("animal", &name.trim_end()), ("kind", &kind), ("place", &place)],
        ));
        if let Some(temper) = row.temper.filter(|temper| *temper >= config.farm.mind_from) {
            lines.push(say(said.temper, &[("n", &temper)]));
        }
        if !row.notes.is_empty() {
            lines.push(say(said.noted_of_her, &[("notes", &row.notes.trim_end_matches('.'))]));
        }
    }
    lines
}
