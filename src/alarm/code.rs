//! The short code of an alert: what a tired person types to say which one is meant.
//!
//! Consonant, digit, consonant, digit, such as `K4T7`: never a word, a time or an animal's number.
//! It tells alerts apart; it is no secret, for the sender must be a person of the farm anyway.

use crate::plain::ids::AlertNo;

const LETTERS: &[u8; 20] = b"BCDFGHJKMNPQRSTVWXYZ";
const DIGITS: &[u8; 8] = b"23456789";
/// How many codes there are; the code of alert n comes back at alert n + COUNT.
const COUNT: u64 = 20 * 8 * 20 * 8;
/// Shares no factor with COUNT, so that consecutive alerts get codes that look nothing alike.
const STRIDE: u64 = 9_973;

/// The code of an alert of the farm with this seed.
pub fn of(alert: AlertNo, seed: u64) -> String {
    let mut n = (alert.0 % COUNT * STRIDE + seed % COUNT) % COUNT;
    let mut code = [0; 4];
    for (at, alphabet) in [&LETTERS[..], &DIGITS[..], &LETTERS[..], &DIGITS[..]].iter().enumerate()
    {
        let size = alphabet.len() as u64;
        code[at] = alphabet[usize::try_from(n % size).unwrap_or(0)];
        n /= size;
    }
    code.iter().map(|byte| char::from(*byte)).collect()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn no_code_comes_twice_in_a_season() {
        let codes: BTreeSet<String> = (1..=COUNT).map(|n| of(AlertNo(n), 42)).collect();
        assert_eq!(codes.len() as u64, COUNT);
        let shape = |code: &String| {
            let bytes = code.as_bytes();
            bytes[0].is_ascii_uppercase()
                && bytes[1].is_ascii_digit()
                && bytes[2].is_ascii_uppercase()
                && bytes[3].is_ascii_digit()
        };
        assert!(codes.iter().all(shape));
    }
}
