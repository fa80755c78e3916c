//! Letters as keyboards, phones and mail programs mangle them, brought back to plain ones.
//!
//! It changes no meaning: it drops what cannot be seen and folds case and accents for comparing.

/// The text with line ends as `\n`, odd spaces as a space, and unseen characters gone.
pub(super) fn visible(text: &str, most: usize) -> String {
    let mut clean = String::with_capacity(text.len().min(most));
    let mut after_return = false;
    for letter in text.chars().take(most) {
        match letter {
            '\n' if after_return => {}
            '\n' | '\r' | '\u{b}' | '\u{c}' | '\u{85}' | '\u{2028}' | '\u{2029}' => {
                clean.push('\n');
            }
            '\t' => clean.push(' '),
            other if is_unseen(other) || other.is_control() => {}
            other if other.is_whitespace() || other == '\u{2800}' => clean.push(' '),
            other => clean.push(other),
        }
        after_return = letter == '\r';
    }
    clean
}

/// Soft hyphens, joiners, direction marks, byte order marks and variation selectors.
pub(super) fn is_unseen(letter: char) -> bool {
    matches!(letter,
        '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}'
        | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}'
        | '\u{feff}' | '\u{e0000}'..='\u{e007f}')
}

/// The words of a short text that states one thing, as typed and in their plain form; `None` if it asks or says more.
pub(super) fn statement(
    text: &str,
    most: usize,
    person: &dyn Fn(&str) -> bool,
) -> Option<(Vec<String>, Vec<String>)> {
    let text = text.trim().trim_end_matches(['.', '!']);
    let words = text.split(|c: char| c.is_whitespace() || c == ',').filter(|word| !word.is_empty());
    let words: Vec<&str> = words.take(most + 1).collect();
    if text.ends_with('?') || words.is_empty() || words.len() > most {
        return None;
    }
    let (mut said, mut plains) = (Vec::new(), Vec::new());
    let mut rest = &words[..];
    while let [word, behind @ ..] = rest {
        // The name of somebody is one word, however many it is made of.
        let longest = rest.len().min(NAME_WORDS_MAX);
        let name =
            (2..=longest).rev().map(|many| rest.split_at(many)).find_map(|(name, behind)| {
                let name = name.join(" ");
                person(&name.to_lowercase()).then_some((name, behind))
            });
        if let Some((name, behind)) = name {
            plains.push(name.to_lowercase());
            said.push(name);
            rest = behind;
        } else {
            plains.push(plain(word));
            said.push((*word).to_owned());
            rest = behind;
        }
    }
    Some((said, plains))
}

/// Names of more words are not looked for.
const NAME_WORDS_MAX: usize = 4;

/// A word without case, accents and apostrophes: "Can't" is "cant".
pub(super) fn plain(word: &str) -> String {
    folded(word).replace(['\'', '\u{2019}'], "")
}

/// One letter for one letter: lower case, without its accent.
pub(super) fn fold(letter: char) -> char {
    let lower = letter.to_lowercase().next().unwrap_or(letter);
    match lower {
        'à'..='å' | 'ā' | 'ă' | 'ą' => 'a',
        'ç' | 'ć' | 'č' => 'c',
        'è'..='ë' | 'ē' | 'ė' | 'ę' | 'ě' => 'e',
        'ì'..='ï' | 'ī' | 'į' | 'ı' => 'i',
        'ñ' | 'ń' | 'ň' => 'n',
        'ò'..='ö' | 'ø' | 'ō' | 'ő' => 'o',
        'ù'..='ü' | 'ū' | 'ů' | 'ű' => 'u',
        'ý' | 'ÿ' => 'y',
        'š' | 'ś' | 'ß' => 's',
        'œ' => 'o',
        'ž' | 'ź' | 'ż' => 'z',
        // Full-width forms, as some keyboards for Asian scripts type Latin.
        '\u{ff01}'..='\u{ff5e}' => wide(lower),
        other => other,
    }
}

pub(super) fn folded(text: &str) -> String {
    text.chars().map(fold).collect()
}

fn wide(letter: char) -> char {
    char::from_u32(letter as u32 - 0xfee0).map_or(letter, |plain| plain.to_ascii_lowercase())
}

/// A mark that hangs on the letter before it.
pub(super) fn is_accent(letter: char) -> bool {
    matches!(letter, '\u{300}'..='\u{36f}')
}

pub(super) fn is_apostrophe(letter: char) -> bool {
    matches!(letter, '\'' | '’' | '‘' | 'ʼ' | '`' | '´' | '′')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_seen_is_gone_and_line_ends_are_one_kind() {
        assert_eq!(
            visible("go\u{200b}ing\r\n\u{feff}20\u{a0}min\r\rk\u{7}", 100),
            "going\n20 min\n\nk"
        );
        assert_eq!(visible("abcdef", 3), "abc");
    }

    #[test]
    fn case_and_accents_fold_one_letter_for_one() {
        assert_eq!(folded("Écrit À ＯＫ２"), "ecrit a ok2");
    }
}
