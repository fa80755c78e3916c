//! A sheet as PDF pages: A4, the head of a table on every page, no row cut, "3 of 12" at the foot.
//!
//! It carries no font and no date, so the same sheet gives the same bytes. ISO 32000-1 by the library; the
//! breaking of pages is done here.

use pdf_writer::types::LineCapStyle;
use pdf_writer::{Content, Str};

use super::binding::{self, FACE, FACE_BOLD};
use super::letters::Letters;
use super::sheet::{Block, Column, Row, Sheet, Side, Table};

/// A4 in points (ISO 216: 210 by 297 mm).
const SHORT: f32 = 595.0;
const LONG: f32 = 842.0;
/// White around, wider than any printer needs.
const MARGIN: f32 = 36.0;
/// Room for the number of the page.
const FOOT: f32 = 20.0;
const TITLE: f32 = 17.0;
const HEADING: f32 = 12.0;
const BODY: f32 = 10.0;
const CELL: f32 = 8.5;
const SMALL: f32 = 8.0;
/// From line to line, as a part of the size.
const LEAD: f32 = 1.22;
/// Between a line and what stands in a cell.
const PAD: f32 = 2.5;
/// A row for a pen: 8 mm.
const PEN: f32 = 23.0;

pub fn render(sheet: &Sheet) -> Vec<u8> {
    let mut press = Press::new(sheet);
    press.line(&sheet.title, TITLE, true);
    press.wrapped(&sheet.made, SMALL, 0.0);
    press.space(4.0);
    for block in &sheet.blocks {
        press.block(block);
    }
    press.finish(sheet)
}

/// The pages so far, and how far down the last one is written.
struct Press {
    letters: Letters,
    wide: f32,
    high: f32,
    pages: Vec<Content>,
    /// Where the next line's top is, from the bottom of the page.
    y: f32,
}

impl Press {
    fn new(sheet: &Sheet) -> Self {
        let (wide, high) = if sheet.wide { (LONG, SHORT) } else { (SHORT, LONG) };
        let mut press = Self { letters: Letters::default(), wide, high, pages: Vec::new(), y: 0.0 };
        press.turn();
        press
    }

    /// A new page.
    fn turn(&mut self) {
        let mut page = Content::new();
        page.set_line_width(0.5).set_line_cap(LineCapStyle::ProjectingSquareCap);
        self.pages.push(page);
        self.y = self.high - MARGIN;
    }

    fn room(&self) -> f32 {
        self.y - MARGIN - FOOT
    }

    /// The most that fits on a page.
    fn whole(&self) -> f32 {
        self.high - 2.0 * MARGIN - FOOT
    }

    fn across(&self) -> f32 {
        self.wide - 2.0 * MARGIN
    }

    fn need(&mut self, high: f32) {
        if self.room() < high {
            self.turn();
        }
    }

    fn space(&mut self, high: f32) {
        self.y -= high;
    }

    fn page(&mut self) -> Option<&mut Content> {
        self.pages.last_mut()
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading(text) => {
                // Not alone at the foot of a page.
                self.need(HEADING * 5.0);
                self.space(7.0);
                self.line(text, HEADING, true);
                self.space(1.5);
            }
            Block::Para(text) => {
                self.wrapped(text, BODY, 0.0);
                self.space(4.0);
            }
            Block::Lines(lines) => {
                lines.iter().for_each(|line| self.wrapped(line, BODY, 9.0));
                self.space(4.0);
            }
            Block::Table(table) => self.table(table),
            Block::Caution(lines) => self.caution(lines),
            Block::Rule => {
                self.need(10.0);
                let (y, right) = (self.y - 4.0, self.wide - MARGIN);
                self.stroke((MARGIN, y), (right, y));
                self.space(9.0);
            }
            Block::Blank(lines) => {
                for _ in 0..*lines {
                    self.need(PEN);
                    self.space(PEN);
                    let (y, right) = (self.y + 2.0, self.wide - MARGIN);
                    self.stroke((MARGIN, y), (right, y));
                }
                self.space(3.0);
            }
            Block::PageBreak => self.turn(),
        }
    }

    fn line(&mut self, text: &str, size: f32, bold: bool) {
        for part in wrap(&self.letters, text, size, bold, self.across()) {
            self.need(size * LEAD);
            self.put(&part, (MARGIN, self.y - size), size, bold);
            self.space(size * LEAD);
        }
    }

    /// Lines after the first stand in by `hang`.
    fn wrapped(&mut self, text: &str, size: f32, hang: f32) {
        let parts = wrap(&self.letters, text, size, false, self.across() - hang);
        for (n, part) in parts.iter().enumerate() {
            self.need(size * LEAD);
            let x = if n == 0 { MARGIN } else { MARGIN + hang };
            self.put(part, (x, self.y - size), size, false);
            self.space(size * LEAD);
        }
    }

    fn put(&mut self, text: &str, (x, y): (f32, f32), size: f32, bold: bool) {
        let codes = self.letters.codes(text);
        if let Some(page) = self.page() {
            page.begin_text();
            page.set_font(if bold { FACE_BOLD } else { FACE }, size);
            page.next_line(x, y).show(Str(&codes));
            page.end_text();
        }
    }

    fn stroke(&mut self, from: (f32, f32), to: (f32, f32)) {
        if let Some(page) = self.page() {
            page.move_to(from.0, from.1).line_to(to.0, to.1).stroke();
        }
    }

    /// A box with a thick border, whole on one page wherever one page can hold it.
    fn caution(&mut self, lines: &[String]) {
        let across = self.across() - 12.0;
        let parts: Vec<String> =
            lines.iter().flat_map(|line| wrap(&self.letters, line, BODY, true, across)).collect();
        let lead = BODY * LEAD;
        let most = fits(self.whole() - 14.0, lead);
        for chunk in parts.chunks(most) {
            let high = lead * count(chunk.len()) + 8.0;
            self.need(high + 6.0);
            self.space(3.0);
            let (y, wide) = (self.y - high, self.across());
            if let Some(page) = self.page() {
                page.save_state().set_line_width(1.6).rect(MARGIN, y, wide, high);
                page.stroke().restore_state();
            }
            for (n, part) in chunk.iter().enumerate() {
                let down = self.y - 4.0 - BODY - lead * count(n);
                self.put(part, (MARGIN + 6.0, down), BODY, true);
            }
            self.space(high + 5.0);
        }
    }

    fn table(&mut self, table: &Table) {
        if table.columns.is_empty() {
            return;
        }
        let widths: Vec<f32> = table
            .widths(10_000)
            .into_iter()
            .map(|w| self.across() * thousandths(w) / 10.0)
            .collect();
        let cells = table.columns.iter().map(|column| column.head.clone());
        let head = Row { cells: cells.collect(), strong: true };
        let head = self.laid(&head, table, &widths, 0.0);
        let least = if table.is_written_in() { PEN } else { 0.0 };
        let mut headed = false;
        for row in &table.rows {
            let laid = self.laid(row, table, &widths, least);
            // A row that no page can hold goes on in further rows; any other stays whole.
            for laid in laid.parts(self.whole() - head.high) {
                if !headed || self.room() < laid.high {
                    if self.room() < head.high + laid.high {
                        self.turn();
                    }
                    self.lay(&head, table, &widths, true);
                    headed = true;
                }
                self.lay(&laid, table, &widths, false);
            }
        }
        if table.rows.is_empty() {
            self.need(head.high);
            self.lay(&head, table, &widths, true);
        }
        self.space(6.0);
    }

    fn laid(&self, row: &Row, table: &Table, widths: &[f32], least: f32) -> Laid {
        let cells: Vec<Vec<String>> = (0..table.columns.len())
            .zip(widths)
            .map(|(place, width)| {
                wrap(&self.letters, row.cell(place), CELL, row.strong, width - 2.0 * PAD)
            })
            .collect();
        let lines = cells.iter().map(Vec::len).max().unwrap_or(1);
        let high = (count(lines) * CELL * LEAD + 2.0 * PAD).max(least);
        Laid { cells, strong: row.strong, high }
    }

    fn lay(&mut self, laid: &Laid, table: &Table, widths: &[f32], head: bool) {
        let (bottom, across) = (self.y - laid.high, self.across());
        if head && let Some(page) = self.page() {
            page.save_state().set_fill_gray(0.88).rect(MARGIN, bottom, across, laid.high);
            page.fill_nonzero().restore_state();
        }
        if let Some(page) = self.page() {
            page.rect(MARGIN, bottom, across, laid.high).stroke();
        }
        let mut x = MARGIN;
        for ((column, width), lines) in table.columns.iter().zip(widths).zip(&laid.cells) {
            if x > MARGIN {
                self.stroke((x, bottom), (x, bottom + laid.high));
            }
            for (n, line) in lines.iter().enumerate().filter(|(_, line)| !line.is_empty()) {
                let y = self.y - PAD - CELL - count(n) * CELL * LEAD;
                let at = x + self.indent(line, column, *width, laid.strong);
                self.put(line, (at, y), CELL, laid.strong);
            }
            x += width;
        }
        self.space(laid.high);
    }

    fn indent(&self, line: &str, column: &Column, width: f32, bold: bool) -> f32 {
        let free = width - CELL * thousandths(self.letters.width(line, bold));
        match column.side {
            Side::Left => PAD,
            Side::Right => free - PAD,
            Side::Middle => free / 2.0,
        }
    }

    fn finish(mut self, sheet: &Sheet) -> Vec<u8> {
        let many = self.pages.len();
        for n in 0..many {
            let number = format!("{} of {many}", n + 1);
            let right =
                self.wide - MARGIN - SMALL * thousandths(self.letters.width(&number, false));
            let feet = [(sheet.title.as_str(), MARGIN), (&number, right)];
            for (text, x) in feet {
                let codes = self.letters.codes(text);
                self.pages[n].begin_text().set_font(FACE, SMALL);
                self.pages[n].next_line(x, MARGIN - 6.0).show(Str(&codes)).end_text();
            }
        }
        binding::bound(self.letters, self.pages, (self.wide, self.high), &sheet.title)
    }
}

/// A row as it will stand: its lines, and how high it is.
struct Laid {
    cells: Vec<Vec<String>>,
    strong: bool,
    high: f32,
}

impl Laid {
    fn parts(self, most: f32) -> Vec<Self> {
        if self.high <= most {
            return vec![self];
        }
        let lines = fits(most - 2.0 * PAD, CELL * LEAD);
        let long = self.cells.iter().map(Vec::len).max().unwrap_or(0);
        let parts = (0..long.div_ceil(lines)).map(|n| {
            let cells: Vec<Vec<String>> = self
                .cells
                .iter()
                .map(|cell| cell.iter().skip(n * lines).take(lines).cloned().collect())
                .collect();
            let lines = cells.iter().map(Vec::len).max().unwrap_or(1);
            let high = count(lines) * CELL * LEAD + 2.0 * PAD;
            Self { cells, strong: self.strong, high }
        });
        parts.collect()
    }
}

/// Words on lines of at most `width` points; a longer word is cut. Nothing is lost.
fn wrap(letters: &Letters, text: &str, size: f32, bold: bool, width: f32) -> Vec<String> {
    let long = |text: &str| size * thousandths(letters.width(text, bold));
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let Some(last) = lines.last_mut() else { break };
        let tried = if last.is_empty() { word.to_owned() } else { format!("{last} {word}") };
        if long(&tried) <= width {
            *last = tried;
            continue;
        }
        if !last.is_empty() {
            lines.push(String::new());
        }
        for letter in word.chars() {
            let Some(last) = lines.last_mut() else { break };
            let tried = format!("{last}{letter}");
            if last.is_empty() || long(&tried) <= width {
                *last = tried;
            } else {
                lines.push(letter.to_string());
            }
        }
    }
    lines
}

/// How many lines of that height fit; at least one.
fn fits(high: f32, lead: f32) -> usize {
    let mut n = 1;
    while count(n + 1) * lead <= high {
        n += 1;
    }
    n
}

fn thousandths(width: u32) -> f32 {
    width as f32 / 1000.0
}

fn count(n: usize) -> f32 {
    n as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_sheet_gives_the_same_bytes_and_a_row_that_no_page_holds_goes_on() {
        let mut sheet = Sheet::new("Book", "made 2026-11-25");
        let mut table = Table::new(vec![Column::left("dam", 1), Column::left("notes", 3)]);
        table.row(["114".to_owned(), "turned on Tom ".repeat(900)]);
        sheet.table(table);
        let first = render(&sheet);
        assert_eq!(first, render(&sheet));
        assert!(first.starts_with(b"%PDF-"));
    }

    #[test]
    fn words_are_wrapped_by_their_width_and_none_is_lost() {
        let letters = Letters::default();
        let text = "Go and look. Quiet lights; do not move her.";
        for width in [5.0, 30.0, 80.0, 500.0] {
            let lines = wrap(&letters, text, 10.0, false, width);
            let again: String = lines.concat().split_whitespace().collect();
            assert_eq!(again, text.split_whitespace().collect::<String>(), "{width}");
            for line in lines.iter().filter(|line| line.chars().count() > 1) {
                assert!(10.0 * thousandths(letters.width(line, false)) <= width, "{line}");
            }
        }
    }
}
