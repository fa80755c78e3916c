//! Which part may do what by words: one table, asked wherever words come to something.
//!
//! Whoever can see a dam may say what they see, and call for help: nothing that raises an alarm is forbidden. What silences
//! one for others, or changes who is called, is for those who answer for the herd.

use super::people::Part;

/// What words come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Deed {
    /// "going", "pass".
    Answer,
    /// What was seen of a dam or her calf, or done to them.
    Mark,
    /// "false": what was said of a dam is struck through.
    CallFalse,
    /// An urgent alert is put off.
    PutOffUrgent,
    /// Any other alert is put off.
    PutOff,
    /// A swap, "ill", "well": one's own shifts.
    Rota,
    /// A device is put on, taken off, swapped.
    Device,
    /// "in", "out", for oneself or another.
    Whereabouts,
    /// "help": the others are called.
    Help,
    /// What the vet needs to know is asked for.
    VetCard,
    /// A drill is begun.
    Drill,
}

impl Deed {
    pub const ALL: [Self; 11] = [
        Self::Answer,
        Self::Mark,
        Self::CallFalse,
        Self::PutOffUrgent,
        Self::PutOff,
        Self::Rota,
        Self::Device,
        Self::Whereabouts,
        Self::Help,
        Self::VetCard,
        Self::Drill,
    ];
}

impl Part {
    pub const ALL: [Self; 5] = [Self::Owner, Self::Stockman, Self::Helper, Self::Vet, Self::Viewer];

    pub fn may(self, deed: Deed) -> bool {
        match self {
            Self::Owner | Self::Stockman => true,
            Self::Helper => match deed {
                Deed::Answer
                | Deed::Mark
                | Deed::PutOff
                | Deed::Rota
                | Deed::Device
                | Deed::Whereabouts
                | Deed::Help
                | Deed::VetCard => true,
                Deed::CallFalse | Deed::PutOffUrgent | Deed::Drill => false,
            },
            Self::Vet => match deed {
                Deed::Answer
                | Deed::Mark
                | Deed::CallFalse
                | Deed::PutOffUrgent
                | Deed::PutOff
                | Deed::Device
                | Deed::Whereabouts
                | Deed::Help
                | Deed::VetCard => true,
                Deed::Rota | Deed::Drill => false,
            },
            Self::Viewer => match deed {
                Deed::Help | Deed::VetCard => true,
                Deed::Answer
                | Deed::Mark
                | Deed::CallFalse
                | Deed::PutOffUrgent
                | Deed::PutOff
                | Deed::Rota
                | Deed::Device
                | Deed::Whereabouts
                | Deed::Drill => false,
            },
        }
    }

    /// The word of the settings for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Owner => "owner",
            Self::Stockman => "stockman",
            Self::Helper => "helper",
            Self::Vet => "vet",
            Self::Viewer => "viewer",
        }
    }
}
