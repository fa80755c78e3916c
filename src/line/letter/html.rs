//! The text of an HTML mail, with the lines it has on the screen and with quotation marked.
//!
//! The parser's own conversion drops the structure: it runs one block into the next, and a quoted
//! mail would read as new words, so that a code in the quotation would pass for an answer. Blocks
//! get a line of their own here, and what stands in a blockquote gets the "> " of a plain mail.

use mail_parser::decoders::html::html_to_text;

/// Elements that begin or end a line on the screen and that the parser does not break at.
const BLOCKS: [&str; 10] =
    ["div", "/div", "/li", "/tr", "hr", "/h1", "/h2", "/h3", "/pre", "/blockquote"];

/// What a person would see, as plain text.
pub(super) fn text_of(html: &str) -> String {
    let mut text = String::new();
    let mut block = String::new();
    let mut depth = 0_usize;
    let mut rest = html;
    while let Some(open) = rest.find('<') {
        let (before, tag) = rest.split_at(open);
        block.push_str(before);
        let name = name_of(tag);
        let end = tag.find('>').map_or(tag.len(), |end| end + 1);
        let (tag, after) = tag.split_at(end);
        let quotes = name.trim_start_matches('/') == "blockquote";
        if quotes {
            settle(&mut text, &mut block, depth);
            depth = if name.starts_with('/') { depth.saturating_sub(1) } else { depth + 1 };
        } else {
            block.push_str(tag);
            if BLOCKS.contains(&name.as_str()) {
                block.push_str("<br>");
            }
        }
        rest = after;
    }
    block.push_str(rest);
    settle(&mut text, &mut block, depth);
    text
}

/// The tag's name in lower case, with the slash of a closing tag; at most as long as one we know.
fn name_of(tag: &str) -> String {
    let mut name = String::new();
    for c in tag.chars().skip(1).take(12) {
        if c.is_ascii_alphanumeric() || (c == '/' && name.is_empty()) {
            name.push(c.to_ascii_lowercase());
        } else {
            break;
        }
    }
    name
}

/// Adds what stands between two marks of quotation, a line at a time, empty lines dropped.
fn settle(text: &mut String, block: &mut String, depth: usize) {
    for line in html_to_text(block).lines() {
        let line = line.trim();
        if line.is_empty() {
            continue;
        }
        if depth > 0 {
            text.push_str("> ");
        }
        text.push_str(line);
        text.push('\n');
    }
    block.clear();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_become_lines_and_quotation_is_marked() {
        let html = "<html><head><style>p > q {}</style></head><body><div>Going&nbsp;now</div>\
                    <div><br></div><div>On Tuesday the bell wrote:<br>\
                    <blockquote type=\"cite\"><div>Dam 114</div><p>answer 7Q2F</p>\
                    <BLOCKQUOTE>older</BLOCKQUOTE>still quoted</blockquote>Ana</div></body></html>";
        assert_eq!(
            text_of(html),
            "Going\u{a0}now\nOn Tuesday the bell wrote:\n> Dam 114\n> answer 7Q2F\n> older\n> still quoted\nAna\n"
        );
    }

    #[test]
    fn a_quotation_that_never_ends_stays_one() {
        assert_eq!(text_of("in<blockquote>one<div>two"), "in\n> one\n> two\n");
        assert_eq!(text_of("a </blockquote> b"), "a\nb\n");
    }
}
