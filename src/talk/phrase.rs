//! What a phrase of a language's table can mean, and finding the longest one that words begin with.
//!
//! It holds no words: those stand in `words`.

use crate::herd::sign::Mark;

/// What a phrase about a dam or her calf says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Phrase {
    /// It is this mark, whatever stands beside it.
    Is(Mark),
    /// It is this mark, and says this of it.
    Noted(Mark, &'static str),
    /// Which of her calves, from 1; 0 for every one. Alone, the birth of that calf.
    Which(u8),
    /// The calf, and of which sex it is.
    CalfOf(&'static str),
    /// "bull": a sex beside a numbered calf, and nothing elsewhere.
    Bull,
    /// The calf: a birth if nothing else is said of it.
    Calf,
    /// The dam herself.
    Dam,
    /// Either of the two.
    She,
    /// Standing; whether it is the calf must be told by the words beside it.
    Up,
    /// Dead; whose death must be told by the words beside it.
    Dead,
    /// Lying; only of a dam who is named beside it.
    Down,
    /// Somebody looked; other marks beside it say more.
    Looked,
    /// Looked, and there was nothing: nothing else can be beside it.
    Nothing,
    /// Means nothing by itself.
    Filler,
    /// Looks like marks and is none.
    Never,
}

/// How firmly a phrase says "I go".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Going {
    /// It can mean nothing else.
    Plain,
    /// "ok": an answer only if nothing on its line is in doubt.
    Ok,
    /// "yes": beside a mark it affirms the mark.
    Yes,
}

/// Is the word one of a list?
pub(super) fn has(list: &str, word: &str) -> bool {
    list.split(", ").any(|one| one == word)
}

/// The longest phrase of a list that the words begin with: its meaning, and how many words it takes.
pub(super) fn longest<T: Copy>(list: &[(T, &str)], words: &[&str]) -> Option<(T, usize)> {
    list.iter()
        .filter_map(|(meaning, phrases)| Some((*meaning, longest_of(phrases, words)?)))
        .max_by_key(|(_, count)| *count)
}

/// How many words the longest phrase takes that the words begin with.
pub(super) fn longest_of(phrases: &str, words: &[&str]) -> Option<usize> {
    let begins = |phrase: &str| {
        let mut count = 0;
        for part in phrase.split(' ') {
            if words.get(count) != Some(&part) {
                return None;
            }
            count += 1;
        }
        Some(count)
    };
    phrases.split(", ").filter_map(begins).max()
}
