//! The words of a calving that rules may use, and what is known about their order.
//!
//! The herd's own types stand in a higher row, so the words are written here a second time; a test
//! holds the two together.

/// What a person can mark.
pub const MARKS: [&str; 20] = [
    "tail raised",
    "restless",
    "water bag",
    "feet",
    "nose",
    "progress",
    "calf",
    "second calf",
    "up",
    "sucked",
    "colostrum",
    "placenta",
    "temp",
    "treated",
    "helped",
    "vet",
    "calf dead",
    "dam dead",
    "seen",
    "false",
];

/// The stages in their order.
pub const STAGES: [&str; 6] = ["carrying", "first", "second", "third", "recovering", "closed"];

/// Where in `STAGES` a dam is at the earliest once this has been seen of her.
pub(super) fn stage_after(word: &str) -> Option<usize> {
    let stage = match word {
        "tail raised" | "restless" => "first",
        "water bag" | "feet" | "nose" | "progress" => "second",
        "calf" | "second calf" | "sucked" | "colostrum" => "third",
        "placenta" => "recovering",
        "dam dead" => "closed",
        stage => stage,
    };
    STAGES.iter().position(|word| *word == stage)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_of_second_stage_is_not_seen_before_it() {
        assert_eq!(stage_after("feet"), Some(2));
        assert_eq!(stage_after("second"), Some(2));
        assert_eq!(stage_after("temp"), None, "it says nothing about the stage");
        assert_eq!(stage_after("contraction"), None);
    }

    #[test]
    fn no_word_means_two_things() {
        assert!(MARKS.iter().all(|mark| !STAGES.contains(mark)));
    }
}
