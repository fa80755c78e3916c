//! How much a finding matters, from what could come of it and how soon: never typed in.

use serde::{Deserialize, Serialize};

use crate::config::rules::{Harm, Onset};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Priority {
    Low,
    Medium,
    High,
}

impl Priority {
    /// The 3 × 3 table of IEC 60601-1-8, 6.1.2, Table 1 (standards.md MD-01): rows death or
    /// irreversible, reversible, minor; columns immediate, prompt, delayed.
    pub const fn of(harm: Harm, onset: Onset) -> Self {
        match (harm, onset) {
            (Harm::Death, Onset::Immediate | Onset::Prompt) | (Harm::Lasting, Onset::Immediate) => {
                Self::High
            }
            (Harm::Death, Onset::Delayed)
            | (Harm::Lasting, Onset::Prompt)
            | (Harm::Minor, Onset::Immediate) => Self::Medium,
            (Harm::Lasting, Onset::Delayed) | (Harm::Minor, Onset::Prompt | Onset::Delayed) => {
                Self::Low
            }
        }
    }

    pub const fn word(self) -> &'static str {
        match self {
            Self::Low => "low",
            Self::Medium => "medium",
            Self::High => "high",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: IEC 60601-1-8, 6.1.2, Table 1 (standards.md MD-01).
    #[test]
    fn the_nine_cells_are_the_published_table() {
        let table = [
            (Harm::Death, [Priority::High, Priority::High, Priority::Medium]),
            (Harm::Lasting, [Priority::High, Priority::Medium, Priority::Low]),
            (Harm::Minor, [Priority::Medium, Priority::Low, Priority::Low]),
        ];
        for (harm, row) in table {
            for (onset, priority) in
                [Onset::Immediate, Onset::Prompt, Onset::Delayed].into_iter().zip(row)
            {
                assert_eq!(Priority::of(harm, onset), priority, "{harm:?} {onset:?}");
            }
        }
    }
}
