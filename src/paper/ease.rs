//! The scales by which a birth's difficulty is scored, what their steps mean, and what may be carried over
//! from one to another.
//!
//! What nobody scored stays without a score: on one scale a blank counts as easy, on another it does not
//! (facts.md E-02, E-04), so the book asks (needs.md N107).

use crate::config::records::Scale;

/// What each step means, the first first.
pub const fn steps(scale: Scale) -> &'static [&'static str] {
    match scale {
        // facts.md E-01.
        Scale::Five => &[
            "no help",
            "minor: some help",
            "major: usually mechanical help",
            "caesarean or other surgery",
            "lay wrong",
        ],
        // facts.md E-04.
        Scale::Six => &[
            "no help",
            "easy pull by one person",
            "hard pull: one person and a machine, or two without",
            "surgery",
            "lay wrong",
            "surgery that was planned",
        ],
        // facts.md E-06 names the two ends; the steps between rise.
        Scale::Dairy => &["no problem", "between", "between", "between", "extreme difficulty"],
        // standards.md ID-09.
        Scale::Exchange => &[
            "easy, no help",
            "easy, with help",
            "difficult, extra help",
            "difficult, the vet was there",
            "caesarean or other surgery",
        ],
    }
}

/// The step as the data exchange names it (standards.md ID-09), in order.
pub const EXCHANGE: [&str; 5] = [
    "EasyUnassisted",
    "EasyAssisted",
    "DifficultExtraAssistance",
    "DifficultVeterinaryCare",
    "CaesareanOrSurgery",
];

/// Whether the scale has that step.
pub fn is_step(scale: Scale, score: u8) -> bool {
    (1..=steps(scale).len()).contains(&usize::from(score))
}

/// What to ask of a birth that nobody scored.
pub const fn question(scale: Scale) -> &'static str {
    match scale {
        // facts.md E-02: a birth unseen between daily looks, without trouble, is a 1 on this scale.
        Scale::Five => "helped 1 to 5? Nobody saw it and all was well: 1",
        // facts.md E-04: a blank is not "unassisted".
        Scale::Six => "helped 1 to 6? Nobody knows: leave it open",
        Scale::Dairy => "helped 1 to 5?",
        Scale::Exchange => "helped 1 to 5?",
    }
}

/// A score on another scale, or why it has none there. Only what both scales say in the same words is
/// carried over; the pairs are ours (common practice, no source).
pub fn carried(from: Scale, score: u8, to: Scale) -> Result<u8, &'static str> {
    const LAY_WRONG: &str = "that scale has no step for a calf that lay wrong";
    const PLANNED: &str = "was the surgery planned? that scale asks";
    const VET: &str = "that scale does not say whether the vet was there";
    const BETWEEN: &str = "the steps between are not said in words";
    if !is_step(from, score) {
        return Err("that is no step of the scale");
    }
    if from == to || score == 1 {
        return Ok(score);
    }
    match (from, to, score) {
        (Scale::Dairy, Scale::Five | Scale::Six | Scale::Exchange | Scale::Dairy, _)
        | (Scale::Five | Scale::Six | Scale::Exchange, Scale::Dairy, _) => Err(BETWEEN),
        (Scale::Five, Scale::Six, 4) | (Scale::Exchange, Scale::Six, 5) => Err(PLANNED),
        (Scale::Five | Scale::Six, Scale::Exchange, 5) => Err(LAY_WRONG),
        (Scale::Exchange, Scale::Five | Scale::Six, 4) => Err(VET),
        (Scale::Six, Scale::Five, 6) | (Scale::Exchange, Scale::Five, 5) => Ok(4),
        (Scale::Five | Scale::Six, Scale::Exchange, 4 | 6) => Ok(5),
        (Scale::Five | Scale::Six | Scale::Exchange, _, score) => Ok(score),
    }
}

/// Whether somebody helped, as that scale says it; `None` for a calf that lay wrong, where it does not say.
pub const fn was_helped(scale: Scale, score: u8) -> Option<bool> {
    match (scale, score) {
        (_, 1) => Some(false),
        (Scale::Five | Scale::Six, 5) => None,
        (Scale::Five | Scale::Six | Scale::Dairy | Scale::Exchange, _) => Some(true),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Scale; 4] = [Scale::Five, Scale::Six, Scale::Dairy, Scale::Exchange];

    #[test]
    fn each_scale_has_its_own_steps() {
        // facts.md E-01, E-04, E-06 and standards.md ID-09.
        assert_eq!(ALL.map(|scale| steps(scale).len()), [5, 6, 5, 5]);
        assert!(is_step(Scale::Six, 6) && !is_step(Scale::Five, 6) && !is_step(Scale::Five, 0));
        assert_eq!(steps(Scale::Five)[4], "lay wrong");
        assert_eq!(steps(Scale::Dairy)[4], "extreme difficulty", "E-06: not a calf that lay wrong");
    }

    #[test]
    fn a_score_is_carried_over_only_where_both_scales_say_the_same() {
        assert_eq!(carried(Scale::Five, 3, Scale::Six), Ok(3));
        assert!(carried(Scale::Five, 4, Scale::Six).is_err(), "planned or not?");
        assert_eq!(carried(Scale::Six, 6, Scale::Five), Ok(4));
        assert!(carried(Scale::Five, 5, Scale::Exchange).is_err());
        assert!(carried(Scale::Five, 5, Scale::Dairy).is_err(), "E-06");
        assert!(carried(Scale::Five, 6, Scale::Six).is_err());
        for from in ALL {
            for to in ALL {
                assert_eq!(carried(from, 1, to), Ok(1));
                for score in 1..=6 {
                    if let Ok(score) = carried(from, score, to) {
                        assert!(is_step(to, score), "{from:?} {to:?} {score}");
                    }
                }
            }
        }
    }
}
