//! What a mark is called where it is said back, in each language but English, whose words the record itself has.
//!
//! Whoever answers with such a name is understood: a test asks it of each.

use crate::config::people::Language;
use crate::herd::sign::Mark;

/// `None` in English. `{young}` is the species' own word.
pub(super) fn name(language: Language, mark: Mark) -> Option<&'static str> {
    let [spanish, german, french] = others(mark);
    match language {
        Language::English | Language::IrishEnglish => None,
        Language::Spanish => Some(spanish),
        Language::German => Some(german),
        Language::French => Some(french),
    }
}

/// Trade words, the translator's own, from memory: no glossary was at hand.
fn others(mark: Mark) -> [&'static str; 3] {
    match mark {
        Mark::TailRaised => ["cola levantada", "Schwanz hoch", "queue levée"],
        Mark::Restless => ["inquieta", "unruhig", "agitée"],
        Mark::BaggedUp => ["ubre llena", "Euter voll", "pis plein"],
        Mark::Slack => ["ligamentos flojos", "Bänder weich", "ligaments relâchés"],
        Mark::Straining => ["empuja", "presst", "pousse"],
        Mark::WaterBag => ["bolsa de aguas", "Fruchtblase", "poche des eaux"],
        Mark::Feet => ["manos", "Füße", "pieds"],
        Mark::Nose => ["morro", "Nase", "museau"],
        Mark::Progress => ["avanza", "Fortschritt", "progrès"],
        Mark::Backward => ["de nalgas", "Hinterbeine", "pattes arrière"],
        Mark::OneFoot => ["una sola mano", "nur ein Fuß", "un seul pied"],
        Mark::TailOnly => ["solo la cola", "nur der Schwanz", "queue seule"],
        Mark::Stained => ["líquido amarillo", "gelbes Fruchtwasser", "eaux jaunes"],
        Mark::Bleeding => ["sangra", "blutet", "saigne"],
        Mark::Tongue => ["lengua hinchada", "Zunge geschwollen", "langue gonflée"],
        Mark::Aborted => ["ha abortado", "Abort", "avorté"],
        Mark::Calf => ["{young}", "{young}", "{young}"],
        Mark::SecondCalf => ["{young} 2", "zweites {young}", "deuxième {young}"],
        Mark::AllBorn => ["todos nacidos", "alle geboren", "tous nés"],
        Mark::Breathing => ["{young} respira", "{young} atmet", "{young} respire"],
        Mark::Sternal => {
            ["{young} sobre el pecho", "{young} in Brustlage", "{young} sur le sternum"]
        }
        Mark::Trying => {
            ["{young} intenta levantarse", "{young} will aufstehen", "{young} essaie de se lever"]
        }
        Mark::Up => ["{young} de pie", "{young} steht", "{young} debout"],
        Mark::Sucked => ["ha mamado", "gesaugt", "a tété"],
        Mark::Colostrum => ["calostro", "Biestmilch", "colostrum"],
        Mark::Navel => ["ombligo", "Nabel", "nombril"],
        Mark::CalfTemperature => ["temp {young}", "{young} Temperatur", "température {young}"],
        Mark::Weight => ["peso", "Gewicht", "poids"],
        Mark::Sex => ["sexo", "Geschlecht", "sexe"],
        Mark::Vigour => ["vigor", "Vitalität", "vigueur"],
        Mark::Tagged => ["crotal", "Ohrmarke", "boucle"],
        Mark::NeedsMother => ["huérfano", "Waise", "orphelin"],
        Mark::Fostered => ["ahijado", "angesetzt", "adopté"],
        Mark::CalfDead => ["{young} muerto", "{young} tot", "{young} mort"],
        Mark::Placenta => ["parias", "Nachgeburt", "délivrance"],
        Mark::Temperature => ["temperatura", "Temperatur", "température"],
        Mark::Discharge => ["flujo maloliente", "stinkender Ausfluss", "pertes malodorantes"],
        Mark::Down => ["no se levanta", "liegt fest", "ne se lève pas"],
        Mark::Risen => ["madre de pie", "Muttertier steht", "mère debout"],
        Mark::OffFeed => ["no come", "frisst nicht", "ne mange pas"],
        Mark::Eating => ["come", "frisst", "mange"],
        Mark::Wobbly => ["se tambalea", "schwankt", "titube"],
        Mark::Prolapse => ["prolapso", "Vorfall", "prolapsus"],
        Mark::Treated => ["tratada", "behandelt", "traitée"],
        Mark::Helped => ["ayuda", "geholfen", "aidée"],
        Mark::Vet => ["veterinario", "Tierarzt", "vétérinaire"],
        Mark::HasMilk => ["tiene leche", "hat Milch", "a du lait"],
        Mark::DamDead => ["madre muerta", "Muttertier tot", "mère morte"],
        Mark::Collected => ["recogida", "abgeholt", "enlevé"],
        Mark::Registered => ["registrado", "gemeldet", "déclaré"],
        Mark::Seen => ["visto", "gesehen", "vu"],
        Mark::FalseAlarm => ["falsa alarma", "Fehlalarm", "fausse alerte"],
    }
}

#[cfg(test)]
mod tests {
    use super::super::known::{Known, newborn_of};
    use super::super::reply::{Saying, understand};
    use super::*;
    use crate::config::{lessons, shipped};

    /// What these marks mean nothing without.
    fn note(mark: Mark, language: Language) -> &'static str {
        let sex = ["macho", "Bulle", "male"];
        let of = |words: [&'static str; 3]| match language {
            Language::English | Language::IrishEnglish => "",
            Language::Spanish => words[0],
            Language::German => words[1],
            Language::French => words[2],
        };
        let notes = [
            (Mark::Sex, of(sex)),
            (Mark::Vigour, "7"),
            (Mark::CalfTemperature, "38.9"),
            (Mark::Temperature, "38.9"),
            (Mark::Weight, "38 kg"),
            (Mark::Tagged, "4711"),
        ];
        notes.iter().find(|(of, _)| *of == mark).map_or("", |(_, note)| *note)
    }

    #[test]
    fn a_mark_is_called_by_a_name_that_is_understood() {
        let mut wrong = Vec::new();
        for species in shipped::species() {
            let known = Known {
                code_open: &|_| false,
                animal: &|name| name == "114",
                person: &|_| false,
                device: &|_| false,
                row: &|_| None,
                newborn: newborn_of("cattle"),
            };
            for language in [Language::Spanish, Language::German, Language::French] {
                let young = &lessons::young(language, species).expect("a word for the young").young;
                for mark in Mark::ALL {
                    let name = name(language, mark).expect("a name").replace("{young}", young);
                    let text = format!("114 {name} {}", note(mark, language));
                    let said = understand(&text, &known, language);
                    let is =
                        |saying: &Saying| matches!(saying, Saying::Mark(said) if said.mark == mark);
                    if !said.left.is_empty() || said.said.len() != 1 || !said.said.iter().all(is) {
                        wrong.push(format!(
                            "{} {species} {mark:?}: {text}: {said:?}",
                            language.tag()
                        ));
                    }
                }
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
