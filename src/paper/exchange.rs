//! The calving book in the open form in which herd programs exchange births: the parturition events of the
//! ICAR data exchange (standards.md ID-08 to ID-12).
//!
//! It leaves out what nobody knows. A birth whose hour nobody said carries the word "estimated" in its
//! remark (needs.md N106), because the form has no place for a doubt.

use serde_json::{Map, Value, json};

use super::ease;
use super::record::{Outcome, Record, Source, When};
use crate::config::Config;
use crate::config::history::Sex;
use crate::config::records::Scale;
use crate::plain::eid;
use crate::plain::moment::Moment;

/// Numbers of ISO 11784, and what a farm calls its own animals: schemes are reverse domains (ID-11).
const BY_EID: &str = "org.iso.11784";
const BY_FARM: &str = "example.lowbell.farm";

/// The species that the form can name, as it names them (ID-12); it has others too, which no farm of ours keeps.
const SPECIES: [(&str, &str); 6] = [
    ("cattle", "Cattle"),
    ("sheep", "Sheep"),
    ("goat", "Goat"),
    ("horse", "Horse"),
    ("pig", "Pig"),
    ("buffalo", "Buffalo"),
];

/// All births as a list of events; the calves of one birth stand in one of them. Refused for a species that
/// the form has no name for.
pub fn events(records: &[Record], config: &Config, now: Moment) -> Result<Value, String> {
    let farms = config.farm.species.as_str();
    let Some((_, species)) = SPECIES.iter().find(|(ours, _)| *ours == farms) else {
        return Err(format!(
            "the exchange has no name for the species {farms}: hand the book over as csv instead"
        ));
    };
    let mut events = Vec::new();
    for first in records.iter().filter(|record| record.calf <= 1) {
        let of_it = |record: &&Record| record.animal == first.animal && record.birth == first.birth;
        let calves: Vec<&Record> =
            records.iter().filter(|record| record.calf > 1).filter(of_it).collect();
        events.push(event(first, &calves, config, species, now));
    }
    Ok(json!({ "member": events }))
}

fn event(first: &Record, others: &[&Record], config: &Config, species: &str, now: Moment) -> Value {
    let mut event = Map::new();
    let calves: Vec<&Record> = std::iter::once(first).chain(others.iter().copied()).collect();
    let is_abortion = first.outcome == Outcome::Aborted;
    let live = calves.iter().filter(|calf| calf.outcome != Outcome::BornDead).count();
    event.insert("resourceType".into(), json!("icarReproParturitionEventResource"));
    event.insert("id".into(), json!(format!("{}-{}", first.animal, first.day)));
    event.insert("animal".into(), animal(&first.animal, &first.eid));
    event.insert("eventDateTime".into(), json!(first.born.moment().rfc3339()));
    let embryo = first.service == Some(crate::config::animals::Service::Embryo);
    if first.service.is_some() {
        event.insert("isEmbryoImplant".into(), json!(embryo));
    }
    if let Some(parity) = first.parity {
        event.insert("damParity".into(), json!(parity));
    }
    event.insert("liveProgeny".into(), json!(if is_abortion { 0 } else { live }));
    event.insert("totalProgeny".into(), json!(calves.len()));
    let scale = config.records.ease;
    let score = first.ease.and_then(|score| ease::carried(scale, score, Scale::Exchange).ok());
    if let Some(name) = score.and_then(|score| ease::EXCHANGE.get(usize::from(score) - 1)) {
        event.insert("calvingEase".into(), json!(name));
    }
    event.insert(
        "progenyDetails".into(),
        calves.iter().map(|calf| progeny(calf, species)).collect::<Vec<Value>>().into(),
    );
    if let Some(responsible) = first.attended.first() {
        event.insert("responsible".into(), json!(responsible));
    }
    let remark = remark(first, config);
    if !remark.is_empty() {
        event.insert("remark".into(), json!(remark));
    }
    let meta = json!({ "source": "urn:lowbell:calving-book", "modified": now.rfc3339() });
    event.insert("meta".into(), meta);
    Value::Object(event)
}

fn animal(name: &str, electronic: &str) -> Value {
    if eid::read(electronic).is_ok() {
        return json!({ "id": electronic, "scheme": BY_EID });
    }
    json!({ "id": name, "scheme": BY_FARM })
}

fn progeny(calf: &Record, species: &str) -> Value {
    let gender = match calf.sex {
        Some(Sex::Bull) => "Male",
        Some(Sex::Heifer) => "Female",
        None => "Unknown",
    };
    let status = match (calf.outcome, calf.tag.is_empty()) {
        (Outcome::Alive, _) => "Alive",
        (Outcome::BornDead, _) => "Stillborn",
        (Outcome::Aborted, _) => "Aborted",
        (Outcome::Died(_), true) => "DiedBeforeTaggingDate",
        (Outcome::Died(_), false) => "DiedAfterTaggingDate",
    };
    let mut progeny = Map::new();
    progeny.insert("specie".into(), json!(species));
    progeny.insert("gender".into(), json!(gender));
    progeny.insert("birthStatus".into(), json!(status));
    if !calf.tag.is_empty() {
        progeny.insert("identifier".into(), animal(&calf.tag, &calf.tag));
    }
    if let Some((weight, source)) = calf.weight {
        progeny.insert("birthWeight".into(), mass(weight.grams(), source));
    }
    Value::Object(progeny)
}

/// A mass with how it was found; units by UN/CEFACT, as the exchange has them.
fn mass(grams: i64, source: Source) -> Value {
    let mut mass = Map::new();
    let kilograms = Value::from(grams / 1000);
    let with_decimals = || serde_json::Number::from_f64(grams as f64 / 1000.0).map(Value::Number);
    let measurement = if grams % 1000 == 0 { Some(kilograms) } else { with_decimals() };
    mass.insert("measurement".into(), measurement.unwrap_or_default());
    mass.insert("units".into(), json!("KGM"));
    // Of what nobody told, the form's own default would claim a scale.
    let method = match source {
        Source::Weighed => "LoadCell",
        Source::Tape => "Girth",
        Source::Guess | Source::Told => "Assessed",
    };
    mass.insert("method".into(), json!(method));
    Value::Object(mass)
}

fn remark(first: &Record, config: &Config) -> String {
    let zone = &config.farm.zone;
    let mut remarks = Vec::new();
    match first.born {
        When::Said(_) => {}
        When::Between(from, until) => remarks.push(format!(
            "time estimated: between {} and {}",
            zone.date_and_clock(from),
            zone.date_and_clock(until)
        )),
        When::Estimated(_) => remarks.push("time estimated: of when it was told".to_owned()),
    }
    if let Some(score) = first.ease
        && let Err(why) = ease::carried(config.records.ease, score, Scale::Exchange)
    {
        remarks.push(format!("ease {score} of the scale {}: {why}", config.records.ease.word()));
    }
    remarks.join("; ")
}
