//! How long a text message is, as telephones count: septets of the default alphabet, or units of UCS-2 where one letter is not
//! in it, and how many parts that takes.
//!
//! Source: 3GPP TS 23.038, 6.2.1 and 6.2.1.1 (the alphabet and its extension), TS 23.040, 9.2.3.24.1 (parts); standards.md
//! SM-01 to SM-07. The tables are written here by hand from them.

/// How a text goes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Size {
    /// Every letter is in the default alphabet or its extension.
    pub gsm: bool,
    /// Septets, or units of sixteen bits.
    pub units: usize,
    pub parts: usize,
}

/// What one part holds alone, and each of several: their heads take six octets.
const GSM: (usize, usize) = (160, 153);
const UCS2: (usize, usize) = (70, 67);

/// The default alphabet in its order, 16 to a line; the escape in place 0x1B is left out.
const ALPHABET: &str = "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà";
const EXTENSION: &str = "\u{c}^{}\\[~]|€";

/// Septets of one letter; `None` where it is in neither table.
pub fn of(letter: char) -> Option<usize> {
    if ALPHABET.contains(letter) {
        Some(1)
    } else if EXTENSION.contains(letter) {
        Some(2)
    } else {
        None
    }
}

pub fn size(text: &str) -> Size {
    let septets: Option<Vec<usize>> = text.chars().map(of).collect();
    match septets {
        Some(letters) => size_of(true, &letters, GSM),
        None => {
            let letters: Vec<usize> = text.chars().map(char::len_utf16).collect();
            size_of(false, &letters, UCS2)
        }
    }
}

/// No letter is split between two parts: neither an escape from what it escapes, nor half of a pair.
fn size_of(gsm: bool, letters: &[usize], (alone, each): (usize, usize)) -> Size {
    let units: usize = letters.iter().sum();
    if units <= alone {
        return Size { gsm, units, parts: 1 };
    }
    let (mut parts, mut used) = (1, 0);
    for letter in letters {
        if used + letter > each {
            parts += 1;
            used = 0;
        }
        used += letter;
    }
    Size { gsm, units, parts }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of_text(text: &str) -> (bool, usize, usize) {
        let Size { gsm, units, parts } = size(text);
        (gsm, units, parts)
    }

    /// standards.md SP-01 to SP-08; they follow from SM-01, SM-02, SM-04, SM-05 and SM-06 (3GPP TS 23.038, 23.040).
    #[test]
    fn texts_are_counted_as_telephones_count_them() {
        let a = |n: usize| "a".repeat(n);
        // SP-01
        for (n, parts) in [(160, 1), (161, 2), (306, 2), (307, 3)] {
            assert_eq!(of_text(&a(n)), (true, n, parts));
        }
        // SP-02
        assert_eq!(of_text(&"€".repeat(80)), (true, 160, 1));
        assert_eq!(of_text(&"€".repeat(81)), (true, 162, 2));
        // SP-03
        assert_eq!(of_text(&format!("{}€", a(159))), (true, 161, 2));
        // SP-04
        assert_eq!(of_text(&format!("{}€{}", a(152), a(152))), (true, 306, 3));
        // SP-05
        for (n, parts) in [(70, 1), (71, 2), (134, 2), (135, 3)] {
            assert_eq!(of_text(&"ж".repeat(n)), (false, n, parts));
        }
        // SP-06
        assert_eq!(of_text(&"\u{1f404}".repeat(35)), (false, 70, 1));
        assert_eq!(of_text(&"\u{1f404}".repeat(36)), (false, 72, 2));
        // SP-07
        assert_eq!(of_text(&format!("{}\u{2019}", a(69))), (false, 70, 1));
        assert_eq!(of_text(&format!("{}\u{2019}", a(70))), (false, 71, 2));
        // SP-08, SM-06
        for letter in ["é", "Ç"] {
            assert!(size(letter).gsm, "{letter}");
        }
        for letter in ["á", "í", "ó", "ú", "ç", "`", "°", "\u{201c}"] {
            assert!(!size(letter).gsm, "{letter}");
        }
    }

    /// SM-01, SM-04, SM-07: 127 letters beside the escape, in the places that the table gives them.
    #[test]
    fn the_alphabet_is_whole_and_in_its_order() {
        let letters: Vec<char> = ALPHABET.chars().collect();
        assert_eq!(letters.len(), 127);
        let place = |letter| letters.iter().position(|one| *one == letter).unwrap();
        for (letter, at) in [('@', 0x00), ('$', 0x02), ('_', 0x11), ('\n', 0x0a)] {
            assert_eq!(place(letter), at, "{letter}");
        }
        // Behind the escape at 0x1B, one place further than here.
        for (letter, at) in [('A', 0x41), ('a', 0x61), ('Ä', 0x5b), ('à', 0x7f), ('¿', 0x60)] {
            assert_eq!(place(letter) + 1, at, "{letter}");
        }
        assert_eq!(EXTENSION.chars().count(), 10);
        assert!(EXTENSION.chars().all(|letter| of(letter) == Some(2)));
    }
}
