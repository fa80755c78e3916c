//! Reads a camera's `seen` and `regions`: how its detector writes what it saw, and where.

use super::places::{self, Pointing};
use super::sensors::{BoxForm, Region, Seen};
use super::tree::Table;

/// Pens that one picture can show.
const REGIONS_MAX: usize = 50;

pub(super) fn seen(table: Table<'_>) -> Option<Seen> {
    let label = places::needed(&table, "label", Pointing::Steps);
    let score = places::needed(&table, "score", Pointing::Steps);
    let boxed = places::read(&table, "box", Pointing::Steps);
    if !matches!(boxed.len(), 0 | 1 | 4) {
        let help = "write one pointer to a list of four numbers, or four pointers";
        table.faults().refuse(&table.place(), "box points at one place or at four", help);
    }
    let forms = [("xywh", BoxForm::Sized), ("xyxy", BoxForm::Corners)];
    let box_form = table.word("box-form", &forms).map(|form| form.is).unwrap_or_default();
    let pixels = table.word("in", &[("pixels", true), ("share", false)]);
    let size = table.value("size").and_then(|value| {
        let size = value.numbers(2, "the picture's width and height in pixels: [1920, 1080]")?;
        match size[..] {
            [wide, high] if wide >= 1.0 && high >= 1.0 => Some((wide, high)),
            _ => {
                value.refuse("a picture has at least one pixel", "write size = [1920, 1080]");
                None
            }
        }
    });
    match (pixels.as_ref().is_some_and(|pixels| pixels.is), size, table.has("size")) {
        (true, None, false) => {
            let help = "write size = [1920, 1080], the width and height of the picture it looks at";
            table.faults().refuse(&table.place(), "boxes in pixels need the picture's size", help);
        }
        (false, Some(_), _) if !boxed.is_empty() => {
            let help = "write in = \"pixels\", or take size out";
            table.faults().refuse(&table.place(), "size is for boxes in pixels", help);
        }
        _ => {}
    }
    table.done();
    (!label.is_empty() && !score.is_empty()).then_some(Seen { label, score, boxed, box_form, size })
}

pub(super) fn regions(table: &Table<'_>) -> Vec<Region> {
    let mut regions = Vec::new();
    for (name, value) in table.all_values() {
        if regions.len() == REGIONS_MAX {
            value.refuse(
                format!("there are more than {REGIONS_MAX} regions"),
                "leave out those where no dam lies",
            );
            break;
        }
        let good = |c: char| !c.is_control() && !matches!(c, '/' | '+' | '#');
        if name.trim().is_empty() || !name.chars().all(good) {
            value.refuse(
                format!("{name:?} is no name for a region"),
                "its device is called camera/region: leave out /, + and #",
            );
            continue;
        }
        let help = "left, top, right, bottom in shares of the picture: [0.0, 0.0, 0.5, 1.0]";
        let Some(sides) = value.numbers(4, help) else { continue };
        match sides[..] {
            [left, top, right, bottom]
                if 0.0 <= left
                    && left < right
                    && right <= 1.0
                    && 0.0 <= top
                    && top < bottom
                    && bottom <= 1.0 =>
            {
                regions.push(Region { name, left, top, right, bottom });
            }
            _ => value.refuse(format!("{name} is no part of the picture"), help),
        }
    }
    regions
}
