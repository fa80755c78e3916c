//! Mail addresses and telephone numbers made unreadable where they need not be read: a log, a report, a screen.
//!
//! Of an address the first letter and the domain stay, of a number its last three figures: enough to tell two of one farm
//! apart, too little to use (needs.md N91). Numbers of animals and devices stay: they do not begin with + or 0 and nine
//! figures.

/// A telephone number has at least so many figures behind its plus sign, or its first 0.
const FIGURES_MIN: usize = 7;
const FIGURES_MIN_OF_ZERO: usize = 9;
/// Figures that stay.
const KEPT: usize = 3;

/// The text with every address and number in it masked.
pub fn text(text: &str) -> String {
    if !text.contains(['@', '+', '0']) {
        return text.to_owned();
    }
    numbers(&addresses(text))
}

fn addresses(text: &str) -> String {
    let mut masked = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find('@') {
        let (before, after) = (&rest[..at], &rest[at + 1..]);
        let local = before
            .rfind(|letter: char| !is_local(letter))
            .map_or(0, |end| end + before[end..].chars().next().map_or(0, char::len_utf8));
        let domain = after.find(|letter: char| !is_domain(letter)).unwrap_or(after.len());
        let name = &before[local..];
        if name.is_empty() || !after[..domain].trim_end_matches('.').contains('.') {
            masked.push_str(&rest[..=at]);
        } else {
            masked.push_str(&before[..local]);
            masked.extend(name.chars().next());
            masked.push_str("…@");
        }
        rest = after;
    }
    masked.push_str(rest);
    masked
}

fn is_local(letter: char) -> bool {
    letter.is_alphanumeric() || "._%+-=…".contains(letter)
}

fn is_domain(letter: char) -> bool {
    letter.is_alphanumeric() || letter == '.' || letter == '-'
}

fn numbers(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let mut masked = String::with_capacity(text.len());
    let mut at = 0;
    while at < letters.len() {
        match number_at(&letters, at) {
            Some(end) => {
                let figures: Vec<char> =
                    letters[at..end].iter().copied().filter(char::is_ascii_digit).collect();
                masked.push('…');
                masked.extend(&figures[figures.len() - KEPT..]);
                at = end;
            }
            None => {
                masked.push(letters[at]);
                at += 1;
            }
        }
    }
    masked
}

/// Where the telephone number ends that begins here, if one does.
fn number_at(letters: &[char], at: usize) -> Option<usize> {
    let before = at.checked_sub(1).map(|before| letters[before]);
    if before.is_some_and(|letter| letter.is_alphanumeric() || ":.-+".contains(letter)) {
        return None;
    }
    let plus = letters[at] == '+';
    if !plus && letters[at] != '0' {
        return None;
    }
    let first = if plus { at + 1 } else { at };
    let (mut end, mut figures, mut next) = (first, 0, first);
    while let Some(letter) = letters.get(next) {
        if letter.is_ascii_digit() {
            figures += 1;
            end = next + 1;
        } else if !(plus && " -()".contains(*letter)) {
            break;
        }
        next += 1;
    }
    let least = if plus { FIGURES_MIN } else { FIGURES_MIN_OF_ZERO };
    let goes_on = letters.get(end).is_some_and(|letter| letter.is_alphanumeric() || *letter == ':');
    (figures >= least && !goes_on).then_some(end)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_and_numbers_cannot_be_read_and_everything_else_can() {
        for (whole, masked) in [
            ("words from ana@hollowbank.example", "words from a…@hollowbank.example"),
            ("550 <tom.b+x@hollowbank.example>: no", "550 <t…@hollowbank.example>: no"),
            ("+353860000001", "…001"),
            ("to +353 86 000 0002, twice", "to …002, twice"),
            ("from 0860000003.", "from …003."),
            ("a@b.example c@d.example", "a…@b.example c…@d.example"),
            ("dam 372123456789012 calf", "dam 372123456789012 calf"),
            ("0114 feet 0210", "0114 feet 0210"),
            ("2026-11-24 21:02:00 +00:00", "2026-11-24 21:02:00 +00:00"),
            ("70B3D57ED0001A2B", "70B3D57ED0001A2B"),
            ("user@host", "user@host"),
            ("é@x.example", "é…@x.example"),
            ("@", "@"),
        ] {
            assert_eq!(text(whole), masked);
            assert_eq!(text(masked), masked, "twice is once");
        }
    }
}
