//! Lists and lengths of time as an English sentence says them.

use super::moment::Span;

/// "Ana", "Ana and Tom", "Ana, Tom and Rosa"; empty for none.
pub fn list<T: AsRef<str>>(words: &[T]) -> String {
    joined(words, "and")
}

/// "Ana", "Ana or Tom", "Ana, Tom or Rosa"; empty for none.
pub fn choice<T: AsRef<str>>(words: &[T]) -> String {
    joined(words, "or")
}

fn joined<T: AsRef<str>>(words: &[T], last: &str) -> String {
    match words {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [most @ .., end] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} {last} {}", most.join(", "), end.as_ref())
        }
    }
}

/// "1 dam", "3 dams".
pub fn many(n: usize, one: &str, more: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {more}") }
}

/// "40 s", "31 min", "2 h", "2 h 05 min", "3 d 4 h": rounded down to what a person would say.
pub fn span(span: Span) -> String {
    let seconds = span.whole_seconds().max(0);
    let minutes = seconds / 60;
    let hours = minutes / 60;
    match (seconds, minutes, hours) {
        (s, 0, _) => format!("{s} s"),
        (_, m, 0) => format!("{m} min"),
        (_, m, h) if h < 48 => match m % 60 {
            0 => format!("{h} h"),
            rest => format!("{h} h {rest:02} min"),
        },
        (_, _, h) => match h % 24 {
            0 => format!("{} d", h / 24),
            rest => format!("{} d {rest} h", h / 24),
        },
    }
}

/// What somebody else wrote, as part of a line: at most so many letters, and nothing that moves a cursor or
/// begins a line of its own (ASVS 16.4.1).
pub fn printable(text: &str, most: usize) -> String {
    let clean = |c: char| if c.is_control() { '?' } else { c };
    let mut shown: String = text.chars().take(most).map(clean).collect();
    if text.chars().nth(most).is_some() {
        shown.push_str("...");
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_reads_as_a_sentence_says_it() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["Ana"]), "Ana");
        assert_eq!(list(&["Ana", "Tom", "Rosa"]), "Ana, Tom and Rosa");
        assert_eq!(choice(&["Ana", "Tom"]), "Ana or Tom");
        assert_eq!(
            (many(1, "dam", "dams"), many(0, "dam", "dams")),
            ("1 dam".into(), "0 dams".into())
        );
    }

    #[test]
    fn what_a_stranger_wrote_stays_in_its_line() {
        assert_eq!(
            printable("t-07\n00:00  all is well\u{1b}[2J", 40),
            "t-07?00:00  all is well?[2J"
        );
        assert_eq!((printable("abc", 3), printable("abcd", 3)), ("abc".into(), "abc...".into()));
    }

    #[test]
    fn a_length_of_time_reads_as_people_say_it() {
        for (length, words) in [
            (Span::seconds(40), "40 s"),
            (Span::minutes(31), "31 min"),
            (Span::seconds(31 * 60 + 59), "31 min"),
            (Span::hours(2), "2 h"),
            (Span::minutes(125), "2 h 05 min"),
            (Span::hours(76), "3 d 4 h"),
            (Span::days(10), "10 d"),
        ] {
            assert_eq!(span(length), words);
        }
    }
}
