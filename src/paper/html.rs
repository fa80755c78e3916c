//! A sheet as one HTML page that needs nothing else: no script, no picture, no address outside.
//!
//! It prints on A4 with the table's head on every page and no row cut in two, and reads on a telephone. HTML
//! (whatwg) `thead`; CSS Fragmentation `break-inside`, CSS Paged Media `@page`.

use std::fmt::Write as _;

use super::sheet::{Block, Sheet, Side, Table};

/// Black on white, wider than 7 to 1, whatever the telephone's own colours (needs.md N94).
const STYLE: &str = "\
:root{color-scheme:light}
body{font:16px/1.35 sans-serif;color:#000;background:#fff;margin:1rem auto;max-width:60rem;padding:0 .7rem}
h1{font-size:1.5rem;margin:0}
h2{font-size:1.15rem;margin:1.1rem 0 .3rem;break-after:avoid}
p{margin:.4rem 0}
.made{color:#333}
.box{border:3px solid #000;padding:.4rem .7rem;margin:.8rem 0;break-inside:avoid}
.wide{overflow-x:auto}
table{border-collapse:collapse;width:100%;margin:.5rem 0}
th,td{border:1px solid #000;padding:.2rem .35rem;vertical-align:top;text-align:left;overflow-wrap:anywhere}
th{background:#e4e4e4}
.r{text-align:right}
.m{text-align:center}
.pen td{height:2.1rem}
.strong td{font-weight:bold}
.write{border-bottom:1px solid #000;height:2rem}
.page{break-after:page}
thead{display:table-header-group}
tr{break-inside:avoid}
@page{size:A4;margin:14mm 12mm}
@media print{body{font-size:10pt;margin:0;max-width:none;padding:0}.wide{overflow:visible}
th{print-color-adjust:exact;-webkit-print-color-adjust:exact}}
@media(max-width:40rem){body{font-size:17px}th,td{padding:.15rem .25rem}}
";

pub fn render(sheet: &Sheet) -> String {
    let title = escaped(&sheet.title);
    let side = if sheet.wide { "@page{size:A4 landscape}\n" } else { "" };
    let mut page = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>\n{STYLE}{side}</style>\n</head>\n<body>\n<h1>{title}</h1>\n\
         <p class=\"made\">{}</p>\n",
        escaped(&sheet.made)
    );
    for block in &sheet.blocks {
        one(&mut page, block);
    }
    page.push_str("</body>\n</html>\n");
    page
}

fn one(page: &mut String, block: &Block) {
    // Writing into a string cannot fail.
    let _ = match block {
        Block::Heading(text) => writeln!(page, "<h2>{}</h2>", escaped(text)),
        Block::Para(text) => writeln!(page, "<p>{}</p>", escaped(text)),
        Block::Lines(lines) => writeln!(page, "<p>{}</p>", on_lines(lines)),
        Block::Table(table) => {
            self::table(page, table);
            Ok(())
        }
        Block::Caution(lines) => {
            writeln!(page, "<div class=\"box\" role=\"note\">{}</div>", on_lines(lines))
        }
        Block::Rule => writeln!(page, "<hr>"),
        Block::Blank(lines) => {
            writeln!(page, "{}", "<div class=\"write\"></div>".repeat(*lines))
        }
        Block::PageBreak => writeln!(page, "<div class=\"page\"></div>"),
    };
}

fn on_lines(lines: &[String]) -> String {
    lines.iter().map(|line| escaped(line)).collect::<Vec<_>>().join("<br>\n")
}

fn table(page: &mut String, table: &Table) {
    page.push_str("<div class=\"wide\"><table><colgroup>");
    for width in table.widths(1000) {
        let _ = write!(page, "<col style=\"width:{}.{}%\">", width / 10, width % 10);
    }
    page.push_str("</colgroup>\n<thead><tr>");
    for column in &table.columns {
        let _ =
            write!(page, "<th scope=\"col\"{}>{}</th>", class(column.side), escaped(&column.head));
    }
    page.push_str("</tr></thead>\n<tbody>\n");
    for row in &table.rows {
        let mut classes = Vec::new();
        if table.is_written_in() {
            classes.push("pen");
        }
        if row.strong {
            classes.push("strong");
        }
        let named = if classes.is_empty() {
            String::new()
        } else {
            format!(" class=\"{}\"", classes.join(" "))
        };
        let _ = write!(page, "<tr{named}>");
        for (place, column) in table.columns.iter().enumerate() {
            let _ = write!(page, "<td{}>{}</td>", class(column.side), escaped(row.cell(place)));
        }
        page.push_str("</tr>\n");
    }
    page.push_str("</tbody></table></div>\n");
}

fn class(side: Side) -> &'static str {
    match side {
        Side::Left => "",
        Side::Right => " class=\"r\"",
        Side::Middle => " class=\"m\"",
    }
}

/// The five characters that mean something in HTML.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            other => safe.push(other),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paper::sheet::Column;

    #[test]
    fn a_name_with_signs_of_html_in_it_stays_a_name() {
        let mut sheet = Sheet::new("Dusk <page>", "Ana & Tom's");
        let mut table = Table::new(vec![Column::right("day", 1), Column::blank("22:00", 1)]);
        table.strong_row(["<script>alert(1)</script>"]);
        sheet.table(table);
        let page = render(&sheet);
        assert!(!page.contains("<script") && page.contains("&lt;script&gt;"), "{page}");
        assert!(
            page.contains("<title>Dusk &lt;page&gt;</title>")
                && page.contains("Ana &amp; Tom&#39;s")
        );
        assert!(page.contains("<tr class=\"pen strong\">"), "{page}");
        for outside in ["http", "src=", "href", "@import", "url("] {
            assert!(!page.contains(outside), "{outside}");
        }
    }
}
