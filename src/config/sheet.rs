//! A CSV file that keeps its places: rows and cells, each with where it stands in the text.
//!
//! It knows columns by name and nothing of what they mean.

use std::ops::Range;
use std::rc::Rc;

use super::faults::{Faults, Place};

/// The rows of a CSV text under the names of its first line.
pub(super) struct Sheet {
    /// Lower case, in the order of the file.
    columns: Vec<String>,
    head: Row,
    pub(super) rows: Vec<Row>,
    /// Lines before the head that begin with `#`.
    pub(super) notes: Vec<Note>,
}

/// A line before the head: what it says behind its `#`.
pub(super) struct Note {
    pub(super) text: String,
    pub(super) at: Place,
}

/// One row; counted as the lines of the file are.
pub(super) struct Row {
    cells: Vec<String>,
    places: Vec<Range<usize>>,
    pub(super) at: Place,
}

/// More animals than any farm has, and as much as the benchmark asks for.
const ROWS_MAX: usize = 200_000;

const COLUMNS_MAX: usize = 200;

impl Sheet {
    /// `None` if there is no head to know the columns by; that is then said.
    pub(super) fn read(file: &str, text: &str, faults: &Faults) -> Option<Self> {
        let file: Rc<str> = Rc::from(file);
        let place = |span: Range<usize>| Place { file: Rc::clone(&file), span: Some(span) };
        let (notes, base) = notes(text, &place);
        let body = text.get(base..).unwrap_or_default();
        let mut rows = split(body, base, &file, faults);
        if rows.is_empty() {
            let title = "the file is empty";
            let help = "its first line names the columns: animal,name,born,calvings,…";
            faults.refuse(&place(0..0), title, help);
            return None;
        }
        let head = rows.remove(0);
        let columns = head.cells.iter().map(|name| name.to_lowercase()).collect();
        let sheet = Self { columns, head, rows, notes };
        sheet.check_head(faults);
        sheet.check_widths(faults);
        Some(sheet)
    }

    pub(super) fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|column| column == name)
    }

    /// Where the first line names that column.
    pub(super) fn column_place(&self, column: usize) -> Place {
        self.head.cell_place(column)
    }

    /// The first line.
    pub(super) fn head_place(&self) -> &Place {
        &self.head.at
    }

    pub(super) fn columns(&self) -> &[String] {
        &self.columns
    }

    fn check_head(&self, faults: &Faults) {
        for (n, name) in self.columns.iter().enumerate() {
            if !name.is_empty() && self.columns[..n].contains(name) {
                let title = format!("there are two columns {name}");
                faults.refuse(&self.column_place(n), title, "take one of them out");
            }
        }
        if self.columns.len() > COLUMNS_MAX {
            let title = format!("there are more than {COLUMNS_MAX} columns");
            faults.refuse(&self.head.at, title, "keep those that say something about her");
        }
    }

    fn check_widths(&self, faults: &Faults) {
        let wide = self.columns.len();
        for row in &self.rows {
            let beyond = row.cells.iter().skip(wide).position(|cell| !cell.is_empty());
            if let Some(beyond) = beyond {
                let title = "this row has more cells than the first line has columns";
                let help = "a comma within a cell needs quotes around the cell";
                faults.refuse(&row.cell_place(wide + beyond), title, help);
            }
        }
    }
}

impl Row {
    /// What a cell says; empty if the row is too short to have it.
    pub(super) fn cell(&self, column: Option<usize>) -> &str {
        column.and_then(|column| self.cells.get(column)).map_or("", String::as_str)
    }

    pub(super) fn place(&self, column: Option<usize>) -> Place {
        column.map_or_else(|| self.at.clone(), |column| self.cell_place(column))
    }

    fn cell_place(&self, column: usize) -> Place {
        match self.places.get(column) {
            Some(span) => Place { file: Rc::clone(&self.at.file), span: Some(span.clone()) },
            None => self.at.clone(),
        }
    }
}

/// The lines before the head that begin with `#`, and where the head begins.
fn notes(text: &str, place: &impl Fn(Range<usize>) -> Place) -> (Vec<Note>, usize) {
    // A byte order mark is what spreadsheets put first; it is no part of a name.
    let mut at = text.len() - text.trim_start_matches('\u{feff}').len();
    let mut notes = Vec::new();
    while let Some(line) = text[at..].split_inclusive('\n').next() {
        let Some(note) = line.strip_prefix('#') else {
            break;
        };
        let wide = line.trim_end().len();
        notes.push(Note { text: note.trim().to_owned(), at: place(at..at + wide) });
        at += line.len();
    }
    (notes, at)
}

fn split(body: &str, base: usize, file: &Rc<str>, faults: &Faults) -> Vec<Row> {
    let head = body.lines().next().unwrap_or_default();
    let delimiter = if head.contains(';') && !head.contains(',') { b';' } else { b',' };
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .delimiter(delimiter)
        .from_reader(body.as_bytes());
    let mut rows = Vec::new();
    let mut record = csv::StringRecord::new();
    loop {
        let from = offset(reader.position().byte());
        // A text that is UTF-8, read with rows of any width, has no errors left to give.
        if !reader.read_record(&mut record).unwrap_or(false) {
            break;
        }
        let raw = body.get(from..offset(reader.position().byte())).unwrap_or_default();
        let blank = raw.len() - raw.trim_start_matches(['\r', '\n']).len();
        let raw = raw.trim_matches(['\r', '\n']);
        let start = base + from + blank;
        let at = Place { file: Rc::clone(file), span: Some(start..start + raw.len()) };
        let (places, is_open) = cells(raw, start, char::from(delimiter));
        if is_open {
            let title = "a quote that opens in this row is never closed";
            let help =
                "everything behind it would be one cell; close it, or write \"\" for a quote";
            faults.refuse(&at, title, help);
        }
        if record.iter().all(str::is_empty) {
            continue;
        }
        if rows.len() > ROWS_MAX {
            let title = format!("there are more than {ROWS_MAX} rows");
            faults.refuse(&at, title, "keep the animals that are on the farm");
            break;
        }
        rows.push(Row { cells: record.iter().map(str::to_owned).collect(), places, at });
    }
    rows
}

fn offset(byte: u64) -> usize {
    usize::try_from(byte).unwrap_or(usize::MAX)
}

/// Where the cells of a row stand, without the blanks around them, and whether the last one opens
/// a quote that nothing closes.
fn cells(raw: &str, start: usize, delimiter: char) -> (Vec<Range<usize>>, bool) {
    let mut places = Vec::new();
    // A quote within a cell is a mere inch mark; one that begins a cell makes the rest quoted.
    let (mut began, mut quoted) = (false, false);
    let mut from = 0;
    let mut close = |from: usize, until: usize| {
        let cell = &raw[from..until];
        let blank = cell.len() - cell.trim_start().len();
        let wide = cell.trim().len();
        places.push(start + from + blank..start + from + blank + wide);
    };
    for (at, c) in raw.char_indices() {
        if c == '"' && (at == from || began) {
            began = true;
            quoted = !quoted;
        } else if c == delimiter && !quoted {
            close(from, at);
            from = at + 1;
            began = false;
        }
    }
    close(from, raw.len());
    (places, quoted)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (Option<Sheet>, Vec<String>) {
        let faults = Faults::default();
        let sheet = Sheet::read("herd.csv", text, &faults);
        let list = faults.sorted(&[]);
        (sheet, list.into_iter().map(|fault| fault.title).collect())
    }

    #[test]
    fn a_cell_is_found_by_its_column_and_keeps_its_place() {
        let text =
            "\u{feff}# date-form: d/m/y\r\nAnimal, notes\r\n\r\n0114,\"a, \"\"b\"\"\"\r\n207\r\n";
        let (sheet, faults) = read(text);
        let sheet = sheet.unwrap();
        assert_eq!(faults, [""; 0]);
        assert_eq!(sheet.columns(), ["animal", "notes"]);
        assert_eq!(sheet.notes[0].text, "date-form: d/m/y");
        let notes = sheet.column("notes");
        let row = &sheet.rows[0];
        assert_eq!(row.cell(sheet.column("animal")), "0114");
        assert_eq!(row.cell(notes), "a, \"b\"");
        let span = row.place(notes).span.unwrap();
        assert_eq!(&text[span], "\"a, \"\"b\"\"\"");
        assert_eq!(sheet.rows[1].cell(notes), "");
        let span = sheet.rows[1].place(notes).span.unwrap();
        assert_eq!(&text[span], "207", "a cell that is not there points at its row");
    }

    #[test]
    fn semicolons_part_cells_where_the_head_has_no_comma() {
        let (sheet, faults) = read("animal;notes\n114;a, b\n");
        let sheet = sheet.unwrap();
        assert_eq!(faults, [""; 0]);
        assert_eq!(sheet.rows[0].cell(sheet.column("notes")), "a, b");
    }

    #[test]
    fn a_sheet_out_of_shape_says_where() {
        let titles = |text| read(text).1;
        assert_eq!(titles(""), ["the file is empty"]);
        assert_eq!(titles("\n,,\n"), ["the file is empty"]);
        assert_eq!(titles("animal,Animal\n"), ["there are two columns animal"]);
        assert_eq!(
            titles("animal\n114,x\n"),
            ["this row has more cells than the first line has columns"]
        );
        assert_eq!(titles("animal,notes\n114,30\" tall\n"), [""; 0]);
        assert_eq!(
            titles("animal,notes\n114,\"open\n207,\n"),
            ["a quote that opens in this row is never closed"]
        );
    }
}
