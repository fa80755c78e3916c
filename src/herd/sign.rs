//! The marks a person or a sensor can make of a dam or her calf, in the yard's words.

use serde::{Deserialize, Serialize};

/// One thing seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    TailRaised,
    Restless,
    /// Her udder is full, some days or hours before.
    BaggedUp,
    /// The ligaments beside the tail head have gone soft.
    Slack,
    /// Visible abdominal efforts. After the calf: is there a twin?
    Straining,
    WaterBag,
    Feet,
    Nose,
    /// She moved on in second stage, in a way no other mark names.
    Progress,
    /// Hind feet, soles up: the calf comes backward.
    Backward,
    OneFoot,
    /// A breech: neither foot is in the canal.
    TailOnly,
    /// Meconium: the calf is under stress, whatever the clocks say.
    Stained,
    Bleeding,
    Tongue,
    /// She has lost it before term.
    Aborted,
    Calf,
    /// Another calf of the same birth; the note may say which: "3".
    SecondCalf,
    /// There is no further one to come: said where there may be many.
    AllBorn,
    Breathing,
    /// The calf lies on its breast.
    Sternal,
    Trying,
    Up,
    Sucked,
    /// Given by hand; the note says how much, how good and by which way.
    Colostrum,
    /// The navel has been treated.
    Navel,
    CalfTemperature,
    Weight,
    /// The note says bull or heifer.
    Sex,
    Vigour,
    Tagged,
    NeedsMother,
    /// The calf has another mother; the note says whom.
    Fostered,
    CalfDead,
    Placenta,
    Temperature,
    Discharge,
    /// She lies and does not rise.
    Down,
    /// She stands again.
    Risen,
    OffFeed,
    Eating,
    /// Unsteady, cold ears: as in early milk fever.
    Wobbly,
    Prolapse,
    Treated,
    /// The note is the ease score.
    Helped,
    Vet,
    /// She has milk and no calf.
    HasMilk,
    DamDead,
    /// The carcass has been taken away.
    Collected,
    Registered,
    /// Somebody looked and there was nothing yet.
    Seen,
    FalseAlarm,
}

impl Mark {
    pub const ALL: [Self; 52] = [
        Self::TailRaised,
        Self::Restless,
        Self::BaggedUp,
        Self::Slack,
        Self::Straining,
        Self::WaterBag,
        Self::Feet,
        Self::Nose,
        Self::Progress,
        Self::Backward,
        Self::OneFoot,
        Self::TailOnly,
        Self::Stained,
        Self::Bleeding,
        Self::Tongue,
        Self::Aborted,
        Self::Calf,
        Self::SecondCalf,
        Self::AllBorn,
        Self::Breathing,
        Self::Sternal,
        Self::Trying,
        Self::Up,
        Self::Sucked,
        Self::Colostrum,
        Self::Navel,
        Self::CalfTemperature,
        Self::Weight,
        Self::Sex,
        Self::Vigour,
        Self::Tagged,
        Self::NeedsMother,
        Self::Fostered,
        Self::CalfDead,
        Self::Placenta,
        Self::Temperature,
        Self::Discharge,
        Self::Down,
        Self::Risen,
        Self::OffFeed,
        Self::Eating,
        Self::Wobbly,
        Self::Prolapse,
        Self::Treated,
        Self::Helped,
        Self::Vet,
        Self::HasMilk,
        Self::DamDead,
        Self::Collected,
        Self::Registered,
        Self::Seen,
        Self::FalseAlarm,
    ];

    /// The word for it in settings and in the diary.
    pub const fn word(self) -> &'static str {
        match self {
            Self::TailRaised => "tail raised",
            Self::Restless => "restless",
            Self::BaggedUp => "bagged up",
            Self::Slack => "slack ligaments",
            Self::Straining => "straining",
            Self::WaterBag => "water bag",
            Self::Feet => "feet",
            Self::Nose => "nose",
            Self::Progress => "progress",
            Self::Backward => "backward",
            Self::OneFoot => "one foot",
            Self::TailOnly => "tail only",
            Self::Stained => "yellow fluid",
            Self::Bleeding => "bleeding",
            Self::Tongue => "swollen tongue",
            Self::Aborted => "aborted",
            Self::Calf => "calf",
            Self::SecondCalf => "second calf",
            Self::AllBorn => "all born",
            Self::Breathing => "breathing",
            Self::Sternal => "sternal",
            Self::Trying => "trying to stand",
            Self::Up => "up",
            Self::Sucked => "sucked",
            Self::Colostrum => "colostrum",
            Self::Navel => "navel",
            Self::CalfTemperature => "calf temp",
            Self::Weight => "weight",
            Self::Sex => "sex",
            Self::Vigour => "vigour",
            Self::Tagged => "tagged",
            Self::NeedsMother => "needs a mother",
            Self::Fostered => "fostered",
            Self::CalfDead => "calf dead",
            Self::Placenta => "placenta",
            Self::Temperature => "temp",
            Self::Discharge => "foul discharge",
            Self::Down => "down",
            Self::Risen => "cow up",
            Self::OffFeed => "off feed",
            Self::Eating => "eating",
            Self::Wobbly => "wobbly",
            Self::Prolapse => "prolapse",
            Self::Treated => "treated",
            Self::Helped => "helped",
            Self::Vet => "vet",
            Self::HasMilk => "has milk",
            Self::DamDead => "dam dead",
            Self::Collected => "collected",
            Self::Registered => "registered",
            Self::Seen => "seen",
            Self::FalseAlarm => "false",
        }
    }

    /// The mark of that word in the settings; short forms are for replies, not for rules.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|mark| mark.word() == word)
    }

    /// Whether it is said of one calf, and so of each of twins by itself.
    pub const fn is_of_a_calf(self) -> bool {
        match self {
            Self::Breathing
            | Self::Sternal
            | Self::Trying
            | Self::Up
            | Self::Sucked
            | Self::Colostrum
            | Self::Navel
            | Self::CalfTemperature
            | Self::Weight
            | Self::Sex
            | Self::Vigour
            | Self::Tagged
            | Self::NeedsMother
            | Self::Fostered
            | Self::CalfDead => true,
            Self::TailRaised
            | Self::Restless
            | Self::BaggedUp
            | Self::Slack
            | Self::Straining
            | Self::WaterBag
            | Self::Feet
            | Self::Nose
            | Self::Progress
            | Self::Backward
            | Self::OneFoot
            | Self::TailOnly
            | Self::Stained
            | Self::Bleeding
            | Self::Tongue
            | Self::Aborted
            | Self::Calf
            | Self::SecondCalf
            | Self::AllBorn
            | Self::Placenta
            | Self::Temperature
            | Self::Discharge
            | Self::Down
            | Self::Risen
            | Self::OffFeed
            | Self::Eating
            | Self::Wobbly
            | Self::Prolapse
            | Self::Treated
            | Self::Helped
            | Self::Vet
            | Self::HasMilk
            | Self::DamDead
            | Self::Collected
            | Self::Registered
            | Self::Seen
            | Self::FalseAlarm => false,
        }
    }

    /// Whether what is said of a calf shows that it is born. "Up" may be the dam that stands, and a calf may
    /// be found dead before it is out.
    pub fn proves_a_calf(self) -> bool {
        self.is_of_a_calf() && !matches!(self, Self::Up | Self::CalfDead)
    }
}
