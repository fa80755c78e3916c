//! What a camera's detector saw in one picture: for every sign the best score, nothing seen being
//! 0, so that pictures can be counted.
//!
//! It knows no pictures, only what a detector wrote about one. What it cannot read calms nobody: a
//! sign that may have been in a broken detection gets no 0.

use std::sync::Arc;

use serde_json::Value;

use super::decode::REFUSALS_MAX;
use super::field::{first, pointers};
use super::pointer::{Pointer, PointerFault};
use super::value;
use crate::config::sensors::{BoxForm, Region, Seen};

#[derive(Clone, Debug)]
pub(super) struct Picture {
    label: Vec<Pointer>,
    score: Vec<Pointer>,
    boxed: Vec<Pointer>,
    form: BoxForm,
    size: Option<(f64, f64)>,
    regions: Vec<(Arc<str>, Region)>,
}

/// A sign and the labels that mean it.
pub(super) struct Looked<'f> {
    pub(super) labels: &'f [String],
}

/// The best score of one sign in one part of a picture; none where a detection could not be read.
#[derive(Debug, PartialEq)]
pub(super) struct Best {
    pub(super) sign: usize,
    pub(super) region: Option<Arc<str>>,
    pub(super) score: f64,
}

impl Picture {
    pub(super) fn new(seen: &Seen, regions: &[Region]) -> Result<Self, PointerFault> {
        Ok(Self {
            label: pointers(&seen.label)?,
            score: pointers(&seen.score)?,
            boxed: pointers(&seen.boxed)?,
            form: seen.box_form,
            size: seen.size,
            regions: regions
                .iter()
                .map(|region| (Arc::from(region.name.as_str()), region.clone()))
                .collect(),
        })
    }

    /// For every sign and every region, in this order.
    pub(super) fn best(
        &self,
        detections: &[&Value],
        signs: &[Looked<'_>],
        refusals: &mut Vec<String>,
    ) -> Vec<Best> {
        let wide = self.regions.len().max(1);
        let mut scores: Vec<Option<f64>> = vec![Some(0.0); signs.len() * wide];
        for detection in detections {
            let Some(label) = first(&self.label, detection).and_then(word) else {
                refuse(refusals, || "a detection has no label".to_owned());
                scores
                    .iter_mut()
                    .filter(|score| **score == Some(0.0))
                    .for_each(|score| *score = None);
                continue;
            };
            let meant = (0..signs.len()).filter(|n| signs[*n].labels.contains(&label));
            for sign in meant {
                let cells = &mut scores[sign * wide..(sign + 1) * wide];
                match self.one(detection) {
                    Ok((_, None)) => {}
                    Ok((score, Some(region))) => {
                        let cell = &mut cells[region];
                        *cell = Some(cell.unwrap_or(0.0).max(score));
                    }
                    Err(why) => {
                        refuse(refusals, || format!("{}: {why}", value::sample(&label)));
                        let empty = cells.iter_mut().filter(|score| **score == Some(0.0));
                        empty.for_each(|score| *score = None);
                    }
                }
            }
        }
        let of = |(place, score): (usize, Option<f64>)| {
            let region = self.regions.get(place % wide).map(|(name, _)| Arc::clone(name));
            score.map(|score| Best { sign: place / wide, region, score })
        };
        scores.into_iter().enumerate().filter_map(of).collect()
    }

    /// A detection's score, and the region it belongs to: the whole picture is region 0.
    fn one(&self, detection: &Value) -> Result<(f64, Option<usize>), String> {
        let score = first(&self.score, detection).ok_or("it has no score")?;
        let score = plain(score).ok_or("its score is not a number")?;
        if !(0.0..=1.0).contains(&score) {
            return Err(format!("a score of {score} is not between 0 and 1"));
        }
        if self.regions.is_empty() {
            return Ok((score, Some(0)));
        }
        let (x, y) = self.centre(detection)?;
        let within = |region: &Region| {
            (region.left..region.right).contains(&x) && (region.top..region.bottom).contains(&y)
        };
        Ok((score, self.regions.iter().position(|(_, region)| within(region))))
    }

    /// The middle of a detection's box, in shares of the picture.
    fn centre(&self, detection: &Value) -> Result<(f64, f64), String> {
        let sides: Option<Vec<f64>> = match &self.boxed[..] {
            [whole] => whole
                .find(detection)
                .and_then(Value::as_array)
                .and_then(|list| list.iter().map(plain).collect()),
            four => four.iter().map(|side| side.find(detection).and_then(plain)).collect(),
        };
        let Some([a, b, c, d]) =
            sides.as_deref().and_then(|sides| <[f64; 4]>::try_from(sides).ok())
        else {
            return Err("its box is not four numbers".to_owned());
        };
        let (x, y) = match self.form {
            BoxForm::Sized => (a + c / 2.0, b + d / 2.0),
            BoxForm::Corners => (f64::midpoint(a, c), f64::midpoint(b, d)),
        };
        let (wide, high) = self.size.unwrap_or((1.0, 1.0));
        let (x, y) = (x / wide, y / high);
        if (0.0..=1.0).contains(&x) && (0.0..=1.0).contains(&y) {
            // The right and the lower edge belong to the picture too.
            Ok((x.min(BELOW_ONE), y.min(BELOW_ONE)))
        } else {
            Err("its box lies outside the picture: look at in and size".to_owned())
        }
    }
}

/// A thousand broken detections say no more than a few do.
fn refuse(refusals: &mut Vec<String>, why: impl FnOnce() -> String) {
    if refusals.len() < REFUSALS_MAX {
        refusals.push(why());
    }
}

const BELOW_ONE: f64 = 1.0 - f64::EPSILON;

fn word(value: &Value) -> Option<String> {
    match value {
        Value::String(text) => Some(text.clone()),
        Value::Number(number) => Some(number.to_string()),
        Value::Null | Value::Bool(_) | Value::Array(_) | Value::Object(_) => None,
    }
}

fn plain(value: &Value) -> Option<f64> {
    match value {
        Value::String(text) => value::number(text.trim_ascii()),
        Value::Number(number) => number.as_f64(),
        Value::Null | Value::Bool(_) | Value::Array(_) | Value::Object(_) => None,
    }
}
