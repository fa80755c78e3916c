//! "Did you mean": the nearest name to a word that is none.

use crate::plain::english;

/// A longer list of names helps nobody.
const LISTED_MAX: usize = 24;

/// The nearest is looked for among so many names: more than any herd, but not than any file.
const SEARCHED_MAX: usize = 20_000;

/// The nearest of these names, if one is near enough to be meant; the first of equals.
pub fn nearest<'n>(word: &str, names: &[&'n str]) -> Option<&'n str> {
    let word = folded(word);
    // A third of the letters may be wrong, at least one, never all.
    let allowed = (word.len() / 3).max(1).min(word.len().saturating_sub(1)).min(4);
    names
        .iter()
        .take(SEARCHED_MAX)
        .filter(|name| name.chars().count().abs_diff(word.len()) <= allowed)
        .map(|name| (steps(&word, &folded(name)), *name))
        .filter(|(steps, _)| *steps <= allowed)
        .min_by_key(|(steps, _)| *steps)
        .map(|(_, name)| name)
}

/// The names that may have been meant, the nearest first: those near enough, and those that the word begins or
/// that begin with it.
pub fn near<'n>(word: &str, names: &[&'n str], max: usize) -> Vec<&'n str> {
    let said = folded(word);
    let mut near: Vec<(usize, &str)> = names
        .iter()
        .take(SEARCHED_MAX)
        .map(|name| (steps(&said, &folded(name)), *name))
        .filter(|(steps, name)| {
            let name = folded(name);
            *steps <= (said.len() / 2).max(1) || name.starts_with(&said) || said.starts_with(&name)
        })
        .collect();
    near.sort();
    near.into_iter().map(|(_, name)| name).take(max).collect()
}

/// "people on this farm: Ana and Tom; did you mean Tom?"
pub(super) fn way_out(what: &str, word: &str, names: &[&str]) -> String {
    let list = match names.len() {
        0 => format!("{what}: none yet"),
        1..=LISTED_MAX => format!("{what}: {}", english::list(names)),
        more => format!("{what}: {more} in all"),
    };
    match nearest(word, names) {
        Some(name) => format!("{list}; did you mean {name}?"),
        None => list,
    }
}

/// "it may be death, lasting or minor; did you mean lasting?"
pub(super) fn one_of(word: &str, names: &[&str]) -> String {
    let choice = format!("it may be {}", english::choice(names));
    match nearest(word, names) {
        Some(name) => format!("{choice}; did you mean {name}?"),
        None => choice,
    }
}

fn folded(word: &str) -> Vec<char> {
    word.chars()
        .flat_map(char::to_lowercase)
        .map(|c| if c == '_' || c == ' ' { '-' } else { c })
        .collect()
}

/// Letters put in, taken out, changed or swapped with their neighbour to make one word the other.
fn steps(one: &[char], other: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=other.len()).collect();
    for (i, a) in one.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, b) in other.iter().enumerate() {
            let change = last[j] + usize::from(a != b);
            let mut best = change.min(last[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && *a == other[j - 1] && one[i - 1] == *b {
                best = best.min(before[j - 1] + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut last, row);
    }
    last[other.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_finds_its_name() {
        let people = ["Ana", "Tom", "Rosa"];
        for (word, name) in [
            ("Tomm", Some("Tom")),
            ("tom", Some("Tom")),
            ("Rsoa", Some("Rosa")),
            ("Anna", Some("Ana")),
            ("Vera", None),
            ("", None),
            ("x", None),
        ] {
            assert_eq!(nearest(word, &people), name, "{word}");
        }
        assert_eq!(nearest("141", &["207", "114"]), Some("114"));
        assert_eq!(nearest("at_least", &["at-least"]), Some("at-least"));
    }

    #[test]
    fn steps_are_counted_with_swaps() {
        let count = |one: &str, other: &str| steps(&folded(one), &folded(other));
        assert_eq!(count("", "abc"), 3);
        assert_eq!(count("calf", "claf"), 1);
        assert_eq!(count("second", "secnod"), 1);
        assert_eq!(count("water bag", "waterbag"), 1);
        assert_eq!(count("feet", "nose"), 4);
    }

    #[test]
    fn the_way_out_lists_what_there_is() {
        assert_eq!(
            way_out("people on this farm", "Tomm", &["Ana", "Tom"]),
            "people on this farm: Ana and Tom; did you mean Tom?"
        );
        assert_eq!(
            one_of("deth", &["death", "lasting", "minor"]),
            "it may be death, lasting or minor; did you mean death?"
        );
        assert_eq!(way_out("ladders", "x", &[]), "ladders: none yet");
        let many = ["a"; 25];
        assert_eq!(way_out("animals", "zebra", &many), "animals: 25 in all");
    }
}
