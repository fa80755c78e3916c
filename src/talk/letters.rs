//! The letters of what goes out: whatever a mail carries, or what a text message can carry at one septet each.
//!
//! A letter that it cannot carry becomes the nearest that it can. None becomes two places of a message by being escaped, and
//! none turns a whole message into one of half the length (standards.md SM-04, SM-06: 3GPP TS 23.038).

use std::borrow::Cow;

use crate::config::lines::Letters;
use crate::config::people::Language;
use crate::plain::septet;

/// The text in letters that its way carries; `None` is a mail, which carries all.
pub(super) fn fold<'t>(
    text: &'t str,
    letters: Option<Letters>,
    language: Language,
) -> Cow<'t, str> {
    let stays = |letter: char| match letters {
        None => !letter.is_whitespace() && !letter.is_control(),
        Some(Letters::Gsm) => !letter.is_control() && septet::of(letter) == Some(1),
        Some(Letters::Plain) => letter.is_ascii() && septet::of(letter) == Some(1) && letter >= ' ',
    };
    if text.chars().all(|letter| letter == ' ' || stays(letter)) {
        return Cow::Borrowed(text);
    }
    let mut said = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter == ' ' || stays(letter) {
            said.push(letter);
        } else if letters.is_none() {
            said.push(' ');
        } else {
            said.push_str(nearest(letter, language));
        }
    }
    Cow::Owned(said)
}

/// What stands for a letter where there is no such letter.
fn nearest(letter: char, language: Language) -> &'static str {
    let german = language == Language::German;
    match letter {
        'ä' if german => "ae",
        'ö' if german => "oe",
        'ü' if german => "ue",
        'Ä' if german => "Ae",
        'Ö' if german => "Oe",
        'Ü' if german => "Ue",
        'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' => "a",
        'À' | 'Á' | 'Â' | 'Ã' | 'Ä' | 'Å' => "A",
        'è' | 'é' | 'ê' | 'ë' => "e",
        'È' | 'É' | 'Ê' | 'Ë' => "E",
        'ì' | 'í' | 'î' | 'ï' => "i",
        'Ì' | 'Í' | 'Î' | 'Ï' => "I",
        'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ø' => "o",
        'Ò' | 'Ó' | 'Ô' | 'Õ' | 'Ö' | 'Ø' => "O",
        'ù' | 'ú' | 'û' | 'ü' => "u",
        'Ù' | 'Ú' | 'Û' | 'Ü' => "U",
        'ñ' => "n",
        'Ñ' => "N",
        'ç' => "c",
        'Ç' => "C",
        'ß' => "ss",
        'æ' => "ae",
        'Æ' => "AE",
        'œ' => "oe",
        'Œ' => "OE",
        '¿' | '¡' => "",
        '\u{2018}' | '\u{2019}' | '`' | '´' => "'",
        '\u{201c}' | '\u{201d}' | '«' | '»' => "\"",
        '\u{2013}' | '\u{2014}' | '~' | '^' => "-",
        '[' | '{' => "(",
        ']' | '}' => ")",
        '\\' | '|' => "/",
        other if other.is_whitespace() => " ",
        _ => "?",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_that_a_text_cannot_carry_become_the_nearest() {
        let gsm = |text: &'static str| fold(text, Some(Letters::Gsm), Language::Spanish);
        let plain = |text: &'static str| fold(text, Some(Letters::Plain), Language::German);
        assert_eq!(gsm("expulsión: ¿mañana? número é"), "expulsion: ¿mañana? numero é");
        assert_eq!(gsm("[a] {b} `c` 39.5\u{b0} €"), "(a) (b) 'c' 39.5? ?");
        assert_eq!(plain("Färse, groß, ¿año? Öl"), "Faerse, gross, ano? Oel");
        assert_eq!(fold("génisse", Some(Letters::Plain), Language::French), "genisse");
        assert_eq!(fold("vêlage\nà", None, Language::French), "vêlage à");
    }

    /// standards.md SM-04, SM-06: whatever comes in, one letter is one septet and the alphabet stays the same.
    #[test]
    fn what_is_folded_counts_once_a_letter() {
        let all: String = (0x20_u32..0x3000).filter_map(char::from_u32).collect();
        for letters in [Letters::Gsm, Letters::Plain] {
            let said = fold(&all, Some(letters), Language::English);
            let size = septet::size(&said);
            assert!(size.gsm && size.units == said.chars().count());
            assert!(letters == Letters::Gsm || said.is_ascii());
        }
    }
}
