//! A message that is a document: samples in it, their times and devices, raw bytes and pictures.
//!
//! What a sample does not say is looked for in the whole message.

use std::borrow::Cow;
use std::sync::Arc;

use serde_json::Value;

use super::decode::{Blank, Decoded, SAMPLES_MAX, checked};
use super::field::{Field, first, places, pointers};
use super::octets;
use super::picture::{Looked, Picture};
use super::pointer::{Pointer, PointerFault};
use super::stamp;
use super::value;
use crate::config::sensors::{CsvForm, Form, ReadKind, SensorKind, TimeForm, Wrap};
use crate::plain::english;
use crate::plain::ids::DeviceId;
use crate::plain::quantity::Unit;

/// Where a kind's documents have what.
#[derive(Clone, Debug)]
pub(super) struct Documents {
    pub(super) device: Vec<Pointer>,
    pub(super) csv: CsvForm,
    pub(super) picture: Option<Picture>,
    each: Vec<Pointer>,
    is_csv: bool,
    counter: Vec<Pointer>,
    time: Option<TimeField>,
    ago: Option<TimeField>,
    raw: Option<(Vec<Pointer>, Wrap)>,
}

#[derive(Clone, Debug)]
struct TimeField {
    at: Vec<Pointer>,
    form: TimeForm,
}

/// One sample, and the message it came in.
#[derive(Clone, Copy)]
struct Sample<'v> {
    own: &'v Value,
    whole: &'v Value,
}

impl<'v> Sample<'v> {
    fn first(self, at: &[Pointer]) -> Option<&'v Value> {
        first(at, self.own).or_else(|| first(at, self.whole))
    }
}

impl Documents {
    pub(super) fn new(kind: &SensorKind) -> Result<Self, PointerFault> {
        let time = |time: &Option<crate::config::sensors::TimeAt>| match time {
            None => Ok(None),
            Some(time) => {
                places(&time.at, kind.form).map(|at| Some(TimeField { at, form: time.form }))
            }
        };
        Ok(Self {
            device: places(&kind.device, kind.form)?,
            csv: kind.csv,
            picture: match &kind.seen {
                None => None,
                Some(seen) => Some(Picture::new(seen, &kind.regions)?),
            },
            each: pointers(&kind.each)?,
            is_csv: kind.form == Form::Csv,
            counter: places(&kind.counter, kind.form)?,
            time: time(&kind.time)?,
            ago: time(&kind.ago)?,
            raw: match &kind.raw {
                None => None,
                Some(raw) => Some((pointers(&raw.at)?, raw.wrap)),
            },
        })
    }

    /// The topic says which device speaks: the message is not asked.
    pub(super) fn of_the_topic(self) -> Self {
        Self { device: Vec::new(), ..self }
    }

    pub(super) fn read(
        &self,
        fields: &[Field],
        decoded: &mut Decoded,
        blank: &mut Blank<'_>,
        document: &Value,
    ) -> Result<(), String> {
        let samples = self.samples(document)?;
        let one = samples.first().copied().unwrap_or(document);
        decoded.counter = Sample { own: one, whole: document }
            .first(&self.counter)
            .and_then(|counter| counter.as_u64().or_else(|| counter.as_str()?.trim().parse().ok()));
        if samples.len() > SAMPLES_MAX {
            let many = samples.len();
            decoded.refuse(format!("it has {many} samples; the first {SAMPLES_MAX} are read"));
        }
        let samples = &samples[..samples.len().min(SAMPLES_MAX)];
        if let Some(picture) = &self.picture {
            let whole = Sample { own: document, whole: document };
            if self.name(decoded, blank, whole) {
                self.date(decoded, blank, whole);
                look(picture, fields, decoded, blank, samples);
                let plain = fields.iter().filter(|field| field.wanted.kind != ReadKind::Seen);
                for field in plain {
                    self.one(field, decoded, blank, whole, None);
                }
            }
            return Ok(());
        }
        let mut anything = fields.is_empty() || samples.is_empty();
        for own in samples {
            let sample = Sample { own, whole: document };
            if !self.name(decoded, blank, sample) {
                anything = true;
                continue;
            }
            self.date(decoded, blank, sample);
            let bytes = self.bytes(decoded, sample);
            let bytes = bytes.as_deref();
            for field in fields {
                anything |= self.one(field, decoded, blank, sample, bytes);
            }
        }
        if anything {
            return Ok(());
        }
        let raw = self.raw.iter().flat_map(|(at, _)| at);
        Err(format!(
            "there is nothing at {}",
            named(fields.iter().flat_map(|field| &field.at).chain(raw))
        ))
    }

    fn samples<'v>(&self, document: &'v Value) -> Result<Vec<&'v Value>, String> {
        let list = if self.is_csv {
            Some(document)
        } else if self.each.is_empty() {
            return Ok(vec![document]);
        } else {
            first(&self.each, document)
        };
        match list {
            Some(Value::Array(list)) => Ok(list.iter().collect()),
            Some(_) => Err(format!("what is at {} is no list", named(&self.each))),
            None => Err(format!("there is no list at {}", named(&self.each))),
        }
    }

    /// Which device a sample is of; false if that cannot be told.
    fn name(&self, decoded: &mut Decoded, blank: &mut Blank<'_>, sample: Sample<'_>) -> bool {
        if self.device.is_empty() {
            return true;
        }
        let name = match sample.first(&self.device) {
            Some(Value::String(name)) if !name.trim().is_empty() => checked(name.trim()),
            Some(Value::Number(name)) => Ok(DeviceId::new(&name.to_string())),
            Some(_) | None => Err(format!("no device's name at {}", named(&self.device))),
        };
        match name {
            Ok(name) => {
                decoded.device.get_or_insert_with(|| name.clone());
                blank.device = Some(name);
                true
            }
            Err(why) => {
                decoded.refuse(why);
                false
            }
        }
    }

    /// Puts the sample's own time on its readings, if there is one that makes sense.
    fn date(&self, decoded: &mut Decoded, blank: &mut Blank<'_>, sample: Sample<'_>) {
        blank.at = blank.heard;
        blank.timed = false;
        let read = |field: &TimeField, base| match sample.first(&field.at) {
            None | Some(Value::Null) => Err(format!("no time at {}", named(&field.at))),
            Some(value) => stamp::read(value, field.form, base),
        };
        if let Some(time) = &self.time {
            match read(time, blank.heard) {
                Ok(at) => {
                    blank.at = at;
                    blank.timed = true;
                    decoded.carried = decoded.carried.max(Some(at));
                }
                Err(why) => decoded.refuse(format!("{why}; the time it was heard stands instead")),
            }
        }
        if let Some(ago) = &self.ago {
            match read(ago, blank.at) {
                Ok(at) => blank.at = at,
                Err(why) => decoded.refuse(format!("{why}; it counts as just measured")),
            }
        }
    }

    /// A sample's raw bytes. That they are broken matters only to fields that need them.
    fn bytes<'v>(&self, decoded: &mut Decoded, sample: Sample<'v>) -> Option<Cow<'v, [u8]>> {
        let (at, wrap) = self.raw.as_ref()?;
        match sample.first(at)? {
            Value::String(text) => match octets::unwrap(text, *wrap) {
                Ok(bytes) => Some(Cow::Owned(bytes)),
                Err(why) => {
                    decoded.refuse(why);
                    None
                }
            },
            Value::Null => None,
            Value::Bool(_) | Value::Number(_) | Value::Array(_) | Value::Object(_) => {
                decoded.refuse(format!("what is at {} is no text", named(at)));
                None
            }
        }
    }

    /// One field of one sample: decoded if it is there, from the raw bytes else.
    fn one(
        &self,
        field: &Field,
        decoded: &mut Decoded,
        blank: &Blank<'_>,
        sample: Sample<'_>,
        bytes: Option<&[u8]>,
    ) -> bool {
        let read = match sample.first(&field.at) {
            Some(value) => value::from_json(value, &field.wanted),
            None => match bytes.and_then(|bytes| field.in_bytes(bytes)) {
                Some(read) => read,
                None => return false,
            },
        };
        decoded.take(blank, field, read, unit(field, sample));
        true
    }
}

/// The unit a field's figure is in: said beside it, or by the settings.
fn unit(field: &Field, sample: Sample<'_>) -> Result<Option<Unit>, String> {
    if field.unit_at.is_empty() {
        return Ok(field.unit);
    }
    match sample.first(&field.unit_at) {
        Some(Value::String(said)) => field.unit_said(said),
        Some(_) | None => Err(format!("no unit at {}", named(&field.unit_at))),
    }
}

fn look(
    picture: &Picture,
    fields: &[Field],
    decoded: &mut Decoded,
    blank: &Blank<'_>,
    detections: &[&Value],
) {
    let seen: Vec<&Field> =
        fields.iter().filter(|field| field.wanted.kind == ReadKind::Seen).collect();
    let signs: Vec<Looked<'_>> =
        seen.iter().map(|field| Looked { labels: &field.labels }).collect();
    let mut refusals = Vec::new();
    for best in picture.best(detections, &signs, &mut refusals) {
        let Some(field) = seen.get(best.sign) else { continue };
        let Some(mut reading) = blank.filled(field, best.score, Some(Unit::Ratio)) else {
            continue;
        };
        if let Some(region) = best.region {
            reading.device = DeviceId::new(&format!("{}/{region}", reading.device));
            reading.region = Some(Arc::clone(&region));
        }
        decoded.readings.push(reading);
    }
    refusals.into_iter().for_each(|why| decoded.refuse(why));
}

pub(super) fn named<'p>(at: impl IntoIterator<Item = &'p Pointer>) -> String {
    let at: Vec<String> = at.into_iter().map(Pointer::to_string).collect();
    english::choice(&at)
}
