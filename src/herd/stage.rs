//! The stages of a calving, as the textbooks name them, and the two at its ends.

use serde::{Deserialize, Serialize};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    Carrying,
    First,
    Second,
    Third,
    Recovering,
    Closed,
}

impl Stage {
    pub const ALL: [Self; 6] =
        [Self::Carrying, Self::First, Self::Second, Self::Third, Self::Recovering, Self::Closed];

    /// The word for it in settings.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Carrying => "carrying",
            Self::First => "first",
            Self::Second => "second",
            Self::Third => "third",
            Self::Recovering => "recovering",
            Self::Closed => "closed",
        }
    }

    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|stage| stage.word() == word)
    }

    /// How the diary says that she is in it.
    pub const fn phrase(self) -> &'static str {
        match self {
            Self::Carrying => "carrying",
            Self::First => "first stage",
            Self::Second => "second stage",
            Self::Third => "third stage",
            Self::Recovering => "recovering",
            Self::Closed => "closed",
        }
    }
}
