//! What the other side said, made fit for one line of the diary.
//!
//! A server's answer is a stranger's text: it may hold line breaks, control characters, a whole web
//! page. It is quoted, never passed on as it came.

/// Enough to recognise a gateway's complaint; the rest is its web page.
pub(super) const QUOTE_CAP: usize = 200;

/// `text` on one line: control characters and runs of white space become one space, and what is
/// longer than [`QUOTE_CAP`] characters is cut.
pub(super) fn one_line(text: &str) -> String {
    let mut line = String::new();
    let words =
        text.split(|c: char| c.is_whitespace() || c.is_control()).filter(|word| !word.is_empty());
    for word in words {
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
        if line.len() > QUOTE_CAP * 4 {
            break;
        }
    }
    match line.char_indices().nth(QUOTE_CAP) {
        Some((end, _)) => {
            line.truncate(end);
            line.push('…');
            line
        }
        None => line,
    }
}

/// An error with everything it was caused by, on one line.
pub(super) fn causes(error: &(dyn std::error::Error + 'static)) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(deeper) = cause {
        let words = deeper.to_string();
        if !text.contains(&words) {
            text.push_str(": ");
            text.push_str(&words);
        }
        cause = deeper.source();
    }
    one_line(&text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strangers_text_stays_on_one_line() {
        assert_eq!(
            one_line("no credit\r\n\u{1b}[31m left\t\tfor  you\0"),
            "no credit [31m left for you"
        );
        assert_eq!(one_line(" \r\n"), "");
    }

    #[test]
    fn a_long_text_is_cut_at_whole_characters() {
        let long = "é".repeat(QUOTE_CAP + 1);
        let line = one_line(&long);
        assert_eq!(line.chars().count(), QUOTE_CAP + 1);
        assert!(line.ends_with("é…"));
        assert_eq!(one_line(&"é".repeat(QUOTE_CAP)), "é".repeat(QUOTE_CAP));
    }
}
