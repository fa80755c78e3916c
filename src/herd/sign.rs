//! The marks a person or a sensor can make of a dam, in the yard's words.

use serde::{Deserialize, Serialize};

/// One thing seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    TailRaised,
    Restless,
    WaterBag,
    Feet,
    Nose,
    /// She moved on in second stage, in a way no other mark names.
    Progress,
    Calf,
    SecondCalf,
    Up,
    Sucked,
    Colostrum,
    Placenta,
    Temperature,
    Treated,
    Helped,
    Vet,
    CalfDead,
    DamDead,
    /// Somebody looked and there was nothing yet.
    Seen,
    FalseAlarm,
}

impl Mark {
    pub const ALL: [Self; 20] = [
        Self::TailRaised,
        Self::Restless,
        Self::WaterBag,
        Self::Feet,
        Self::Nose,
        Self::Progress,
        Self::Calf,
        Self::SecondCalf,
        Self::Up,
        Self::Sucked,
        Self::Colostrum,
        Self::Placenta,
        Self::Temperature,
        Self::Treated,
        Self::Helped,
        Self::Vet,
        Self::CalfDead,
        Self::DamDead,
        Self::Seen,
        Self::FalseAlarm,
    ];

    /// The word for it in settings and in the diary.
    pub const fn word(self) -> &'static str {
        match self {
            Self::TailRaised => "tail raised",
            Self::Restless => "restless",
            Self::WaterBag => "water bag",
            Self::Feet => "feet",
            Self::Nose => "nose",
            Self::Progress => "progress",
            Self::Calf => "calf",
            Self::SecondCalf => "second calf",
            Self::Up => "up",
            Self::Sucked => "sucked",
            Self::Colostrum => "colostrum",
            Self::Placenta => "placenta",
            Self::Temperature => "temp",
            Self::Treated => "treated",
            Self::Helped => "helped",
            Self::Vet => "vet",
            Self::CalfDead => "calf dead",
            Self::DamDead => "dam dead",
            Self::Seen => "seen",
            Self::FalseAlarm => "false",
        }
    }

    /// The mark of that word in the settings; short forms are for replies, not for rules.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|mark| mark.word() == word)
    }
}
