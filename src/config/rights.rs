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

    /// What it is, for whoever may not: "call it false".
    pub fn words(self) -> &'static str {
        match self {
            Self::Answer => "answer for an alert",
            Self::Mark => "note what is seen",
            Self::CallFalse => "call it false",
            Self::PutOffUrgent => "put off what is urgent",
            Self::PutOff => "put an alert off",
            Self::Rota => "change shifts",
            Self::Device => "move a device",
            Self::Whereabouts => "say who is in",
            Self::Help => "call for help",
            Self::VetCard => "ask for a vet card",
            Self::Drill => "begin a drill",
        }
    }

    /// What they can do instead.
    pub fn instead(self) -> &'static str {
        match self {
            Self::CallFalse => "Say what you see, such as \"nothing yet\".",
            Self::PutOffUrgent => "Answer going or pass.",
            Self::Answer | Self::Mark => "Ring somebody of the farm, or answer help.",
            Self::PutOff
            | Self::Rota
            | Self::Device
            | Self::Whereabouts
            | Self::Help
            | Self::VetCard
            | Self::Drill => "Ask one of them.",
        }
    }
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

/// What is said to whoever may not.
pub fn refusal(part: Part, deed: Deed) -> String {
    let may: Vec<&str> =
        Part::ALL.into_iter().filter(|part| part.may(deed)).map(Part::word).collect();
    let may = crate::plain::english::choice(&may);
    format!("A {} may not {}: only {may} may. {}", part.word(), deed.words(), deed.instead())
}
