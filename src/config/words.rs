//! The words of a calving that rules may use, and what is known about their order.
//!
//! The herd's own types stand in a higher row, so the words are written here a second time; a test
//! holds the two together.

/// What a person can mark.
pub const MARKS: [&str; 52] = [
    "tail raised",
    "restless",
    "bagged up",
    "slack ligaments",
    "straining",
    "water bag",
    "feet",
    "nose",
    "progress",
    "backward",
    "one foot",
    "tail only",
    "yellow fluid",
    "bleeding",
    "swollen tongue",
    "aborted",
    "calf",
    "second calf",
    "all born",
    "breathing",
    "sternal",
    "trying to stand",
    "up",
    "sucked",
    "colostrum",
    "navel",
    "calf temp",
    "weight",
    "sex",
    "vigour",
    "tagged",
    "needs a mother",
    "fostered",
    "calf dead",
    "placenta",
    "temp",
    "foul discharge",
    "down",
    "cow up",
    "off feed",
    "eating",
    "wobbly",
    "prolapse",
    "treated",
    "helped",
    "vet",
    "has milk",
    "dam dead",
    "collected",
    "registered",
    "seen",
    "false",
];

/// The stages in their order.
pub const STAGES: [&str; 6] = ["carrying", "first", "second", "third", "recovering", "closed"];

/// Where in `STAGES` a dam is at the earliest once this has been seen of her.
pub(super) fn stage_after(word: &str) -> Option<usize> {
    let stage = match word {
        "tail raised" | "restless" => "first",
        "straining" | "water bag" | "feet" | "nose" | "progress" | "backward" | "one foot"
        | "tail only" | "yellow fluid" | "swollen tongue" => "second",
        "aborted" | "calf" | "second calf" | "breathing" | "sternal" | "trying to stand"
        | "sucked" | "colostrum" | "navel" | "calf temp" | "weight" | "sex" | "vigour"
        | "tagged" | "needs a mother" | "fostered" => "third",
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
