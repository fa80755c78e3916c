//! The short codes on a printed sheet: which row was written on, so that no number need be copied at dawn.
//!
//! A code is two letters for the dam's place in the roster and one that checks them. Nineteen is a prime, and
//! every letter has a weight of its own, so no one letter misread and no two exchanged give the code of
//! another dam. There are no vowels and no Y or Z, so that a code is no word and none is read as 2.

/// In this order, a letter is its place.
const LETTERS: &[u8; 19] = b"BCDFGHJKLMNPQRSTVWX";
const BASE: u32 = 19;
/// Letters for the place of a dam; a herd beyond 361 dams has longer codes.
const SHORTEST: u32 = 2;
/// A herd of 130,000 dams and more has no codes beyond that.
const LONGEST: u32 = 4;

/// The code of the dam at that place; empty for a place beyond every herd.
pub fn code_of(place: u32) -> String {
    let mut rest = place;
    for long in SHORTEST..=LONGEST {
        let many = BASE.pow(long);
        if rest < many {
            let mut digits: Vec<u32> =
                (0..long).rev().map(|power| rest / BASE.pow(power) % BASE).collect();
            digits.push(check(&digits));
            return digits.into_iter().filter_map(letter).collect();
        }
        rest -= many;
    }
    String::new()
}

/// The place that a code stands for; `None` if it has a wrong check letter or is none at all.
pub fn place_of(code: &str) -> Option<u32> {
    let digits = digits(code)?;
    let (last, digits) = digits.split_last()?;
    if check(digits) != *last {
        return None;
    }
    let shorter: u32 = (SHORTEST..).take(digits.len().checked_sub(2)?).map(|l| BASE.pow(l)).sum();
    Some(digits.iter().fold(0, |sum, digit| sum * BASE + digit) + shorter)
}

/// Whether it is as long as a code and has only a code's letters.
pub fn looks_like_one(text: &str) -> bool {
    digits(text).is_some()
}

fn digits(code: &str) -> Option<Vec<u32>> {
    let long = u32::try_from(code.len()).ok()?;
    if !(SHORTEST + 1..=LONGEST + 1).contains(&long) {
        return None;
    }
    let place = |byte: u8| LETTERS.iter().position(|letter| *letter == byte.to_ascii_uppercase());
    code.bytes().map(|byte| place(byte).and_then(|at| u32::try_from(at).ok())).collect()
}

/// What makes the weighted sum a multiple of nineteen; the check letter itself weighs one.
fn check(digits: &[u32]) -> u32 {
    let sum: u32 = digits.iter().zip(2..).map(|(digit, weight)| digit * weight).sum();
    (BASE - sum % BASE) % BASE
}

fn letter(digit: u32) -> Option<char> {
    LETTERS.get(usize::try_from(digit).ok()?).map(|letter| char::from(*letter))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_has_a_code_of_its_own_and_comes_back() {
        assert_eq!((code_of(0).as_str(), code_of(360).len(), code_of(361).len()), ("BBB", 3, 4));
        for place in 0..8_000 {
            let code = code_of(place);
            assert_eq!(place_of(&code), Some(place), "{code}");
            assert_eq!(place_of(&code.to_lowercase()), Some(place), "case does not count");
        }
        assert_eq!(code_of(u32::MAX), "");
        for none in ["", "B", "BB", "BBBBBB", "BAB", "B2B", "ÉBB"] {
            assert_eq!(place_of(none), None, "{none}");
        }
    }

    /// Weights that differ modulo a prime catch all single errors and all exchanges (common arithmetic of
    /// check digits, as in ISO/IEC 7064, from memory). Here each is tried.
    #[test]
    fn one_letter_misread_or_two_exchanged_is_never_another_dam() {
        for place in (0..361).chain((361..7_220).step_by(7)) {
            let code = code_of(place).into_bytes();
            for at in 0..code.len() {
                for letter in LETTERS.iter().filter(|letter| **letter != code[at]) {
                    let mut wrong = code.clone();
                    wrong[at] = *letter;
                    assert_eq!(place_of(&String::from_utf8(wrong).unwrap()), None);
                }
                for other in at + 1..code.len() {
                    let mut wrong = code.clone();
                    wrong.swap(at, other);
                    let same = wrong == code;
                    assert_eq!(place_of(&String::from_utf8(wrong).unwrap()).is_some(), same);
                }
            }
        }
    }
}
