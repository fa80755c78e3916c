//! A sheet as plain text, eighty characters wide: for a terminal, a mail, a printer that knows nothing else.

use super::sheet::{Block, Column, Row, Sheet, Side, Table};

/// As wide as a terminal and a page of typewriting.
pub const WIDE: usize = 80;
/// Between two columns.
const GAP: usize = 1;
/// No column is narrower than a word of two letters.
const COLUMN_MIN: usize = 2;

pub fn render(sheet: &Sheet) -> String {
    let mut page = String::new();
    line(&mut page, &sheet.title.to_uppercase());
    wrapped(&mut page, &sheet.made, "");
    for block in &sheet.blocks {
        match block {
            Block::Heading(text) => {
                page.push('\n');
                line(&mut page, text);
                line(&mut page, &"-".repeat(text.chars().count().min(WIDE)));
            }
            Block::Para(text) => {
                page.push('\n');
                wrapped(&mut page, text, "");
            }
            Block::Lines(lines) => lines.iter().for_each(|text| wrapped(&mut page, text, "  ")),
            Block::Table(table) => self::table(&mut page, table),
            Block::Caution(lines) => {
                page.push('\n');
                line(&mut page, &"*".repeat(WIDE));
                for text in lines {
                    for part in wrap(text, WIDE - 4) {
                        line(&mut page, &format!("* {part:<width$} *", width = WIDE - 4));
                    }
                }
                line(&mut page, &"*".repeat(WIDE));
            }
            Block::Rule => {
                page.push('\n');
                line(&mut page, &"-".repeat(WIDE));
            }
            Block::Blank(lines) => {
                (0..*lines).for_each(|_| line(&mut page, &format!("\n{}", "_".repeat(WIDE))));
            }
            // A form feed: printers begin a new page at it (ISO/IEC 6429, FF).
            Block::PageBreak => page.push_str("\n\u{c}"),
        }
    }
    page
}

fn line(page: &mut String, text: &str) {
    page.push_str(text.trim_end());
    page.push('\n');
}

fn wrapped(page: &mut String, text: &str, hang: &str) {
    let lines = wrap(text, WIDE - hang.len());
    for (n, part) in lines.iter().enumerate() {
        line(page, &if n == 0 { part.clone() } else { format!("{hang}{part}") });
    }
}

/// Words on lines of at most `width` characters; a longer word is cut. Nothing is lost.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines = vec![String::new()];
    let mut used = 0;
    for word in text.split_whitespace() {
        let mut letters: Vec<char> = word.chars().collect();
        if used > 0 && used + 1 + letters.len() > width {
            lines.push(String::new());
            used = 0;
        }
        while letters.len() > width {
            let rest = letters.split_off(width);
            lines.last_mut().into_iter().for_each(|last| last.extend(&letters));
            lines.push(String::new());
            letters = rest;
        }
        if let Some(last) = lines.last_mut() {
            if used > 0 {
                last.push(' ');
                used += 1;
            }
            last.extend(&letters);
            used += letters.len();
        }
    }
    lines
}

fn table(page: &mut String, table: &Table) {
    if table.columns.is_empty() {
        return;
    }
    page.push('\n');
    if !table.is_written_in() && needs(table) > WIDE {
        listed(page, table);
        return;
    }
    let widths = fitting(table);
    let head = Row {
        cells: table.columns.iter().map(|column| column.head.clone()).collect(),
        strong: false,
    };
    lay(page, &head, &table.columns, &widths, false);
    let dashes: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
    line(page, &dashes.join(" "));
    for row in &table.rows {
        lay(page, row, &table.columns, &widths, true);
    }
}

/// How wide a table is at the least if no word of it is cut: dates, tags and sires are names that must stay whole.
fn needs(table: &Table) -> usize {
    let words = (0..table.columns.len()).map(|place| longest_word(table, place, WIDE));
    words.sum::<usize>() + GAP * (table.columns.len() - 1)
}

/// A table that has no room side by side: each row by itself on as many lines as it takes, each cell behind its
/// head, and what is empty left out.
fn listed(page: &mut String, table: &Table) {
    const HANG: &str = "  ";
    let wide = WIDE - HANG.len();
    for row in &table.rows {
        let mut lines: Vec<String> = Vec::new();
        for (place, column) in table.columns.iter().enumerate() {
            let part = format!("{} {}", column.head, row.cell(place));
            let room = |line: &&mut String| line.chars().count() + part.chars().count() + 3 <= wide;
            if row.cell(place).is_empty() {
                continue;
            }
            match lines.last_mut().filter(room) {
                Some(line) => line.push_str(&format!("; {}", part.trim())),
                None => lines.push(part.trim().to_owned()),
            }
        }
        let last = lines.len().saturating_sub(1);
        let lines = lines.iter().enumerate();
        let ended = lines.map(|(n, text)| if n < last { format!("{text};") } else { text.clone() });
        let parts: Vec<String> = ended.flat_map(|text| wrap(&text, wide)).collect();
        for (n, part) in parts.iter().enumerate() {
            line(page, &if n == 0 { part.clone() } else { format!("{HANG}{part}") });
        }
    }
}

/// Each column gets its share of the line without the gaps, but no less than its longest word as long as
/// others have room to give. On a table with more columns than the line has room for, lines grow longer
/// rather than lose anything.
fn fitting(table: &Table) -> Vec<usize> {
    let gaps = GAP * (table.columns.len() - 1);
    let room = u32::try_from(WIDE.saturating_sub(gaps)).unwrap_or(0);
    let shares = table.widths(room).into_iter();
    let mut widths: Vec<usize> =
        shares.map(|width| usize::try_from(width).unwrap_or(0).max(COLUMN_MIN)).collect();
    let most = if table.is_written_in() { LONG } else { WIDE };
    let least: Vec<usize> =
        (0..widths.len()).map(|place| longest_word(table, place, most)).collect();
    let wants = |widths: &[usize]| (0..widths.len()).find(|at| widths[*at] < least[*at]);
    while let Some(poor) = wants(&widths) {
        let spare = |at: &usize| widths[*at].saturating_sub(least[*at]);
        let Some(rich) = (0..widths.len()).max_by_key(spare).filter(|at| spare(at) > 0) else {
            break;
        };
        widths[rich] -= 1;
        widths[poor] += 1;
    }
    widths
}

/// From this length on a word is cut rather than the other columns squeezed, in a table to write in.
const LONG: usize = 13;

fn longest_word(table: &Table, place: usize, most: usize) -> usize {
    let head = table.columns[place].head.as_str();
    let cells = table.rows.iter().map(|row| row.cell(place)).chain([head]);
    let words = cells.flat_map(str::split_whitespace).map(|word| word.chars().count());
    words.max().unwrap_or(0).clamp(COLUMN_MIN, most)
}

fn lay(page: &mut String, row: &Row, columns: &[Column], widths: &[usize], body: bool) {
    let cells: Vec<Vec<String>> = columns
        .iter()
        .zip(widths)
        .enumerate()
        .map(|(place, (column, width))| {
            let text = row.cell(place);
            if body && column.blank && text.is_empty() {
                return vec!["_".repeat(*width)];
            }
            wrap(text, *width)
        })
        .collect();
    let high = cells.iter().map(Vec::len).max().unwrap_or(1);
    for n in 0..high {
        let parts = columns.iter().zip(widths).zip(&cells).map(|((column, width), cell)| {
            let text = cell.get(n).map_or("", String::as_str);
            match column.side {
                Side::Left => format!("{text:<width$}"),
                Side::Right => format!("{text:>width$}"),
                Side::Middle => format!("{text:^width$}"),
            }
        });
        line(page, &parts.collect::<Vec<_>>().join(" "));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_wrapped_and_none_is_lost() {
        assert_eq!(wrap("a cow that stands late", 9), ["a cow", "that", "stands", "late"]);
        assert_eq!(wrap("372000000001234 ok", 6), ["372000", "000001", "234 ok"]);
        assert_eq!(wrap("", 5), [""]);
    }

    #[test]
    fn no_line_of_a_sheet_is_wider_than_the_page() {
        let mut sheet = Sheet::new("Night sheet", "Hollow Bank, made 2026-11-25 17:30");
        sheet.para("word ".repeat(40));
        sheet.caution(["Never alone if it can be helped; say where you are. ".repeat(3)]);
        let mut table = Table::new(vec![
            Column::left("code", 2),
            Column::left("dam", 8),
            Column::blank("22:00", 4),
        ]);
        table.row(["BBC", "114 Bramble, heifer, in the home field under the old oak"]);
        sheet.table(table);
        let text = render(&sheet);
        assert!(text.lines().all(|line| line.chars().count() <= WIDE), "{text}");
        assert!(text.starts_with("NIGHT SHEET\nHollow Bank"));
        assert!(text.contains("BBC"), "{text}");
        assert!(text.contains("____"), "{text}");
    }

    #[test]
    fn what_has_no_room_side_by_side_is_listed_and_no_name_is_cut() {
        let heads = ["born", "dam", "sire", "tag", "ease", "how", "fate", "who", "colostrum"];
        let (short, long) = ("372000000001234", "IE372000000001234-207-B");
        for (tag, sire) in [(short, "AX12LM40HEX"), (long, "AX12LM40HEXAX12LM40HEX")] {
            let mut table = Table::new(heads.map(|head| Column::left(head, 3)).to_vec());
            let row = ["2026-03-01 02:10", "0114 Bramble", sire, tag, "3", "forward", "", "Ana"];
            table.row(row);
            let mut sheet = Sheet::new("Calving book", "Hollow Bank");
            sheet.table(table);
            let text = render(&sheet);
            for name in ["2026-03-01", "Bramble", sire, tag, "Ana"] {
                assert!(text.contains(name), "{name}: {text}");
            }
            assert_eq!(text.contains("fate"), tag == short, "a list leaves out the empty: {text}");
            assert!(text.lines().all(|line| line.chars().count() <= WIDE), "{text}");
        }
    }
}
