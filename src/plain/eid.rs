//! An animal's electronic number (ISO 11784): three digits of country or maker, twelve of its own.
//!
//! It is a text: Brazil's 076 loses its zero as a whole number. There is no check digit in it.

/// Who gave the number out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Giver {
    /// A country's own herd book, by its ISO 3166 number.
    Country,
    Maker,
    /// Country 999: for trying readers out, on no real animal.
    Test,
}

/// Why a text is no electronic number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wrong {
    /// Not fifteen digits.
    Digits,
    /// The national number has 38 bits: twelve digits can write more than there are.
    TooHigh,
}

/// The highest national number: 2^38 - 1.
const NATIONAL_MAX: u64 = (1 << 38) - 1;

pub fn read(text: &str) -> Result<Giver, Wrong> {
    if text.len() != 15 || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(Wrong::Digits);
    }
    let (country, national) = text.split_at(3);
    if national.parse::<u64>().is_ok_and(|number| number > NATIONAL_MAX) {
        return Err(Wrong::TooHigh);
    }
    Ok(match country.parse::<u16>() {
        Ok(900..=998) => Giver::Maker,
        Ok(999) => Giver::Test,
        Ok(_) | Err(_) => Giver::Country,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_numbers_of_iso_11784_are_told_apart() {
        // standards.md ID-01 to ID-03 and ID-07, computed from the field widths of ISO 11784.
        for (text, expected) in [
            ("372000000004012", Ok(Giver::Country)),
            ("826274877906943", Ok(Giver::Country)),
            ("036000000000001", Ok(Giver::Country)),
            ("982000123456789", Ok(Giver::Maker)),
            ("900000000000000", Ok(Giver::Maker)),
            ("998000000000000", Ok(Giver::Maker)),
            ("999000000000000", Ok(Giver::Test)),
            ("826274877906944", Err(Wrong::TooHigh)),
            ("12345678901234", Err(Wrong::Digits)),
            ("37200000000401X", Err(Wrong::Digits)),
            ("1000000000000000", Err(Wrong::Digits)),
            ("", Err(Wrong::Digits)),
        ] {
            assert_eq!(read(text), expected, "{text}");
        }
    }
}
