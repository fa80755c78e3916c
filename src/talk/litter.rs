//! Which of a litter is meant: "third lamb", "6th piglet born", "another", "had triplets".
//!
//! A bare "another" has no number of its own: only who knows how many there are can give it one.

/// The note of a young one whose number nobody said.
pub(super) const ANOTHER: &str = "another";

/// As many as a dam's record has room for.
const MOST: u8 = 30;

const ORDINALS: [&str; 8] =
    ["third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"];

const TOGETHER: [(&str, u8); 4] = [("twins", 2), ("triplets", 3), ("quads", 4), ("quins", 5)];

/// What the words begin with, and how many words it takes. The second calf has phrases of its own.
pub(super) fn read(rest: &[&str]) -> Option<(String, usize)> {
    ordinal(rest).or_else(|| another(rest)).or_else(|| together(rest))
}

/// "third calf", "6th calf born".
fn ordinal(rest: &[&str]) -> Option<(String, usize)> {
    let [first, "calf", after @ ..] = rest else { return None };
    let word = ORDINALS.iter().position(|word| word == first);
    let number = match word {
        Some(at) => u8::try_from(at).ok()? + 3,
        None => {
            let figures =
                ["st", "nd", "rd", "th"].iter().find_map(|end| first.strip_suffix(end))?;
            figures.parse().ok()?
        }
    };
    (3..=MOST).contains(&number).then(|| (number.to_string(), 2 + born(after)))
}

/// "another", "another calf", "one more born": of anything else it is not said.
fn another(rest: &[&str]) -> Option<(String, usize)> {
    let (begins, after) = match rest {
        ["another", after @ ..] => (1, after),
        ["one", "more", after @ ..] => (2, after),
        _ => return None,
    };
    let calf = usize::from(after.first() == Some(&"calf"));
    let used = begins + calf + born(&after[calf..]);
    let next = rest.get(used);
    let clear =
        next.is_none_or(|next| *next == "at" || next.starts_with(|c: char| c.is_ascii_digit()));
    clear.then(|| (ANOTHER.to_owned(), used))
}

/// "had triplets", "twins born": that they are out must be said, for they may be known long before.
fn together(rest: &[&str]) -> Option<(String, usize)> {
    let many = |word: &str| TOGETHER.iter().find(|(many, _)| *many == word).map(|(_, n)| *n);
    let (n, used) = match rest {
        ["had" | "calved", word, after @ ..] => (many(word)?, 2 + born(after)),
        [word, after @ ..] => {
            let (n, out) = (many(word)?, born(after));
            (out > 0).then_some((n, 1 + out))?
        }
        [] => return None,
    };
    Some((n.to_string(), used))
}

/// How many words say that it is out.
fn born(after: &[&str]) -> usize {
    match after {
        ["is" | "are", "born" | "out", ..] => 2,
        ["born" | "out", ..] => 1,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_of_a_litter_is_known_by_its_number_or_comes_after_the_rest() {
        let read = |text: &str| {
            let words: Vec<&str> = text.split(' ').collect();
            read(&words)
        };
        for (text, is) in [
            ("third calf", Some(("3", 2))),
            ("6th calf born 0210", Some(("6", 3))),
            ("30th calf", Some(("30", 2))),
            ("31st calf", None),
            ("2nd calf", None),
            ("third cow", None),
            ("another", Some(("another", 1))),
            ("another calf is out", Some(("another", 4))),
            ("one more 0210", Some(("another", 2))),
            ("another cow", None),
            ("another alert", None),
            ("had triplets", Some(("3", 2))),
            ("twins born", Some(("2", 2))),
            ("twins", None),
        ] {
            let is = is.map(|(note, used): (&str, usize)| (note.to_owned(), used));
            assert_eq!(read(text), is, "{text}");
        }
    }
}
