//! One thing that is read from a message: where it stands, what it may be, and in which unit.

use std::sync::Arc;

use serde_json::Value;

use super::octets;
use super::pointer::{Pointer, PointerFault};
use super::reading::FieldPlace;
use super::value::{self, Wanted};
use crate::config::sensors::{ByteField, Form, Read};
use crate::plain::quantity::Unit;

#[derive(Clone, Debug)]
pub(super) struct Field {
    pub(super) sign: Arc<str>,
    pub(super) at: Vec<Pointer>,
    pub(super) wanted: Wanted,
    pub(super) bytes: Option<ByteField>,
    pub(super) unit_at: Vec<Pointer>,
    pub(super) labels: Vec<String>,
    pub(super) unit: Option<Unit>,
    /// Ends of SenML names.
    pub(super) ends: Vec<String>,
    pub(super) place: FieldPlace,
}

impl Field {
    pub(super) fn new(read: &Read, form: Form, place: FieldPlace) -> Result<Self, PointerFault> {
        let senml = matches!(form, Form::Senml | Form::SenmlCbor);
        let wanted = Wanted { kind: read.kind, none: read.none.clone(), decimal: read.decimal };
        Ok(Self {
            sign: Arc::from(read.sign.as_str()),
            at: if senml { Vec::new() } else { places(&read.at, form)? },
            wanted,
            bytes: read.bytes,
            unit_at: places(&read.unit_at, form)?,
            labels: read.label.clone(),
            unit: read.unit,
            ends: if senml { read.at.clone() } else { Vec::new() },
            place,
        })
    }

    /// Its value in raw bytes, if it has a place there.
    pub(super) fn in_bytes(&self, bytes: &[u8]) -> Option<Result<Option<f64>, String>> {
        let place = self.bytes.as_ref()?;
        Some(octets::number(bytes, place).and_then(|number| {
            if self.wanted.none.contains(&number) {
                return Ok(None);
            }
            value::sound(number * place.scale + place.shift, self.wanted.kind).map(Some)
        }))
    }

    /// The unit that a message says, which must be one of the quantity that the settings expect.
    pub(super) fn unit_said(&self, said: &str) -> Result<Option<Unit>, String> {
        let shown = value::sample(said);
        let Some(unit) = Unit::said(said, self.unit) else {
            // Without an expectation of ours, a unit we do not know is the sender's own affair.
            return match self.unit {
                None if self.unit_at.is_empty() => Ok(None),
                None | Some(_) => Err(format!("its unit {shown} is not known")),
            };
        };
        match self.unit {
            Some(expected) if expected.kept() != unit.kept() => {
                Err(format!("its unit {shown} does not measure what {} does", expected.name()))
            }
            Some(_) | None => Ok(Some(unit)),
        }
    }
}

pub(super) fn pointers(written: &[String]) -> Result<Vec<Pointer>, PointerFault> {
    written.iter().map(|text| Pointer::parse(text)).collect()
}

/// Pointers, or columns as pointers to them.
pub(super) fn places(written: &[String], form: Form) -> Result<Vec<Pointer>, PointerFault> {
    if form == Form::Csv {
        return Ok(written.iter().map(|column| Pointer::to_key(column)).collect());
    }
    pointers(written)
}

/// The first of these places that holds something; a null only if no other does.
pub(super) fn first<'v>(at: &[Pointer], document: &'v Value) -> Option<&'v Value> {
    let mut null = None;
    for pointer in at {
        match pointer.find(document) {
            Some(value) if value.is_null() => null = Some(value),
            Some(value) => return Some(value),
            None => {}
        }
    }
    null
}
