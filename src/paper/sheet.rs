//! A page before anybody has decided how it is shown: headings, lines and tables with blanks to write in.
//!
//! It knows no fonts and no paper. `text`, `html` and `pdf` each show the same sheet.

/// More rows than this are no paper but an export; the book of the largest farm stays far below.
pub const ROWS_MAX: usize = 20_000;

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sheet {
    pub title: String,
    /// When and of what it was made: "Hollow Bank, made 2026-11-25 17:30".
    pub made: String,
    /// Printed on its side, for wide tables.
    pub wide: bool,
    pub blocks: Vec<Block>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Block {
    Heading(String),
    /// Running words.
    Para(String),
    /// Each stands on a line of its own.
    Lines(Vec<String>),
    Table(Table),
    /// A box that must be seen.
    Caution(Vec<String>),
    /// A line across the page.
    Rule,
    /// Empty lines to write on.
    Blank(usize),
    PageBreak,
}

/// The head is repeated on every page and no row is cut by the end of one.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    pub columns: Vec<Column>,
    pub rows: Vec<Row>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    pub head: String,
    /// Its part of the width: columns of 1, 2 and 1 share the page as a quarter, a half, a quarter.
    pub share: u16,
    pub side: Side,
    /// To be written in by hand: it is empty, and the row is high enough for a pen.
    pub blank: bool,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Side {
    #[default]
    Left,
    Right,
    Middle,
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// One for each column; those that lack are empty.
    pub cells: Vec<String>,
    /// Printed bold: whom nobody watches, who turns on people.
    pub strong: bool,
}

impl Sheet {
    pub fn new(title: impl Into<String>, made: impl Into<String>) -> Self {
        Self { title: title.into(), made: made.into(), ..Self::default() }
    }

    pub fn wide(mut self) -> Self {
        self.wide = true;
        self
    }

    pub fn heading(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Heading(text.into()));
    }

    pub fn para(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Para(text.into()));
    }

    pub fn lines<S: Into<String>>(&mut self, lines: impl IntoIterator<Item = S>) {
        self.blocks.push(Block::Lines(lines.into_iter().map(Into::into).collect()));
    }

    pub fn caution<S: Into<String>>(&mut self, lines: impl IntoIterator<Item = S>) {
        self.blocks.push(Block::Caution(lines.into_iter().map(Into::into).collect()));
    }

    pub fn table(&mut self, table: Table) {
        self.blocks.push(Block::Table(table));
    }

    pub fn rule(&mut self) {
        self.blocks.push(Block::Rule);
    }

    pub fn blank(&mut self, lines: usize) {
        self.blocks.push(Block::Blank(lines));
    }

    pub fn page_break(&mut self) {
        self.blocks.push(Block::PageBreak);
    }
}

impl Table {
    pub fn new(columns: Vec<Column>) -> Self {
        Self { columns, rows: Vec::new() }
    }

    /// Takes a row, up to `ROWS_MAX` of them.
    pub fn row<S: Into<String>>(&mut self, cells: impl IntoIterator<Item = S>) {
        self.push(Row { cells: cells.into_iter().map(Into::into).collect(), strong: false });
    }

    pub fn strong_row<S: Into<String>>(&mut self, cells: impl IntoIterator<Item = S>) {
        self.push(Row { cells: cells.into_iter().map(Into::into).collect(), strong: true });
    }

    fn push(&mut self, row: Row) {
        if self.rows.len() < ROWS_MAX {
            self.rows.push(row);
        }
    }

    /// A row to be written in by hand is high enough for a pen.
    pub fn is_written_in(&self) -> bool {
        self.columns.iter().any(|column| column.blank)
    }

    /// The widths of the columns when the table is `whole` wide, in the same unit; they add up to it.
    pub fn widths(&self, whole: u32) -> Vec<u32> {
        let sum: u32 = self.columns.iter().map(|column| u32::from(column.share.max(1))).sum();
        let mut seen = 0;
        let mut from = 0;
        let edges = self.columns.iter().map(|column| {
            seen += u32::from(column.share.max(1));
            let edge = whole * seen / sum.max(1);
            let width = edge - from;
            from = edge;
            width
        });
        edges.collect()
    }
}

impl Column {
    pub fn left(head: impl Into<String>, share: u16) -> Self {
        Self { head: head.into(), share, side: Side::Left, blank: false }
    }

    pub fn right(head: impl Into<String>, share: u16) -> Self {
        Self { side: Side::Right, ..Self::left(head, share) }
    }

    pub fn middle(head: impl Into<String>, share: u16) -> Self {
        Self { side: Side::Middle, ..Self::left(head, share) }
    }

    /// A column to write in by hand.
    pub fn blank(head: impl Into<String>, share: u16) -> Self {
        Self { blank: true, ..Self::middle(head, share) }
    }
}

impl Row {
    pub fn cell(&self, place: usize) -> &str {
        self.cells.get(place).map_or("", String::as_str)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_widths_of_the_columns_add_up_to_the_page() {
        let mut table = Table::new(vec![
            Column::left("dam", 3),
            Column::right("day", 1),
            Column::blank("22:00", 3),
        ]);
        table.row(["114"]);
        for whole in [7, 80, 81, 1000, 1001] {
            assert_eq!(table.widths(whole).iter().sum::<u32>(), whole);
        }
        assert_eq!(table.widths(7), [3, 1, 3]);
        assert!(table.is_written_in());
        assert_eq!(table.rows[0].cell(2), "", "a cell that lacks is empty");
    }
}
