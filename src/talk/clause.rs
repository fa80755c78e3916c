//! A text taken apart: sentences, clauses between commas, pieces between "and"s, words.
//!
//! It knows punctuation and how people leave it out; of the words it asks only the few that join
//! or deny, because a denial must not be cut off from what it denies.

use super::beasts;
use super::spelling;
use super::words::{self, Phrase, Words};
use crate::herd::sign::Mark;

/// A line that runs this far was broken by a program, not by the writer.
const BROKEN_FROM: usize = 60;

/// Signs that say something; every other picture is decoration.
const SPEAKING_SIGNS: &str = "👍👎❌✖✗✘🚫⛔🙅🤷🤔❓❔😴💤🛌🛏";

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Word {
    /// Lower case, no accents, no apostrophes.
    pub(super) plain: String,
    pub(super) said: String,
    /// A `#` stood before it.
    pub(super) hash: bool,
}

/// Between commas: the pieces that an "and" joins.
pub(super) type Clause = Vec<Vec<Word>>;

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Sentence {
    pub(super) clauses: Vec<Clause>,
    /// It ends in a question mark, or breaks off ("ok but").
    pub(super) asks: bool,
    /// The line it begins on.
    pub(super) line: usize,
}

impl Sentence {
    pub(super) fn words(&self) -> impl Iterator<Item = &Word> {
        self.clauses.iter().flatten().flatten()
    }
}

pub(super) fn plain(words: &[Word]) -> Vec<&str> {
    words.iter().map(|word| word.plain.as_str()).collect()
}

pub(super) fn said<'a>(words: impl IntoIterator<Item = &'a Word>) -> String {
    let words: Vec<&str> = words.into_iter().map(|word| word.said.as_str()).collect();
    words.join(" ")
}

#[derive(Debug, PartialEq, Eq)]
enum Bit {
    Word(Word),
    Comma,
    Stop { asks: bool },
    Line { long: bool },
}

pub(super) fn sentences(text: &str, words: &Words) -> Vec<Sentence> {
    let mut bits = bits(text);
    hear_as_cattle(&mut bits, words);
    let mut done: Vec<Sentence> = Vec::new();
    let mut now = Sentence::default();
    let mut line = 0;
    // Whether what came last asks for a continuation: a denial, an "and", a comma.
    let mut open = false;
    let mut broken_off = false;
    let mut denial = Denial::default();
    for (at, bit) in bits.iter().enumerate() {
        if goes_on(&bits, at, &now, words) {
            continue;
        }
        let ends = match bit {
            Bit::Word(word) => {
                take(&mut now, word, words, line);
                denial.hear(word, words);
                broken_off = is(words.and, word) || is(words.but, word);
                open = is(words.negation, word) || broken_off;
                None
            }
            Bit::Comma => {
                now.clauses.push(vec![Vec::new()]);
                open = true;
                None
            }
            Bit::Line { long } => {
                line += 1;
                (!*long && !open && !denial.waits()).then_some(false)
            }
            // "no. 114" may be "number 114" or "no: 114"; it is kept together, as a denial.
            Bit::Stop { asks } => (*asks || !is_number_sign(&bits, at)).then_some(*asks),
        };
        if let Some(asks) = ends {
            now.asks = asks || broken_off;
            finish(&mut done, &mut now);
            broken_off = false;
            open = false;
            denial = Denial::default();
        }
    }
    now.asks = broken_off;
    finish(&mut done, &mut now);
    done
}

/// A denial that has named nothing yet looks for it on the next line: "not yet" and below it "feet".
#[derive(Default)]
struct Denial {
    denied: bool,
    named: bool,
}

impl Denial {
    fn hear(&mut self, word: &Word, words: &Words) {
        let phrase = words::longest(words.marks, &[word.plain.as_str()]);
        let names = phrase.is_some_and(|(phrase, _)| {
            !matches!(phrase, Phrase::Filler | Phrase::She | Phrase::Dam)
        });
        self.named |= self.denied && names;
        if is(words.negation, word) {
            self.denied = true;
            // "nothing" names what it denies.
            self.named = names;
        }
    }

    fn waits(&self) -> bool {
        self.denied && !self.named
    }
}

fn is(list: &str, word: &Word) -> bool {
    words::has(list, &word.plain)
}

fn take(now: &mut Sentence, word: &Word, words: &Words, line: usize) {
    if now.clauses.is_empty() {
        now.line = line;
    }
    let fresh = now.clauses.is_empty() || is(words.but, word);
    if fresh {
        now.clauses.push(vec![Vec::new()]);
    }
    let Some(clause) = now.clauses.last_mut() else {
        return;
    };
    if is(words.and, word) {
        clause.push(Vec::new());
    } else if !is(words.but, word)
        && let Some(piece) = clause.last_mut()
    {
        piece.push(word.clone());
    }
}

fn finish(done: &mut Vec<Sentence>, now: &mut Sentence) {
    let mut sentence = std::mem::take(now);
    for clause in &mut sentence.clauses {
        clause.retain(|piece| !piece.is_empty());
    }
    sentence.clauses.retain(|clause| !clause.is_empty());
    if !sentence.clauses.is_empty() {
        done.push(sentence);
    } else if let (true, Some(last)) = (sentence.asks, done.last_mut()) {
        // "feet .?" and a question mark on a line of its own belong to what stands before.
        last.asks = true;
    }
}

/// "treated oxytet 20ml, withdrawal meat 28d, milk 7d": one note, though it has commas in it.
fn goes_on(bits: &[Bit], at: usize, now: &Sentence, words: &Words) -> bool {
    let next = match (&bits[at], bits.get(at + 1)) {
        (Bit::Comma | Bit::Stop { asks: false } | Bit::Line { .. }, Some(Bit::Word(next))) => next,
        (Bit::Word(_) | Bit::Comma | Bit::Stop { .. } | Bit::Line { .. }, _) => return false,
    };
    let treated = |word: &Word| {
        let found = words::longest(words.marks, &[word.plain.as_str()]);
        found.is_some_and(|(phrase, _)| phrase == Phrase::Is(Mark::Treated))
    };
    is(words.of_a_label, next)
        && now.clauses.last().is_some_and(|clause| clause.iter().flatten().any(treated))
}

fn is_number_sign(bits: &[Bit], at: usize) -> bool {
    let before = at.checked_sub(1).and_then(|before| bits.get(before));
    match (before, bits.get(at + 1)) {
        (Some(Bit::Word(no)), Some(Bit::Word(number))) => {
            no.plain == "no" && number.plain.starts_with(|c: char| c.is_ascii_digit())
        }
        (Some(Bit::Word(_) | Bit::Comma | Bit::Stop { .. } | Bit::Line { .. }) | None, _) => false,
    }
}

fn bits(text: &str) -> Vec<Bit> {
    let letters: Vec<char> = text.chars().collect();
    let mut bits = Vec::new();
    let mut line_start = 0;
    let mut hash = false;
    let mut at = 0;
    while let Some(&letter) = letters.get(at) {
        if let Some(end) = word_end(&letters, at) {
            bits.push(Bit::Word(word(&letters[at..end], hash)));
            hash = false;
            at = end;
            continue;
        }
        hash = letter == '#' || (hash && letter == ' ');
        match letter {
            ',' | '，' | '、' => bits.push(Bit::Comma),
            '.' | '!' | ';' | '…' | '。' | '！' => bits.push(Bit::Stop { asks: false }),
            '?' | '？' | '؟' | '⁇' | '⁈' | '⁉' | '‽' | '¿' => {
                bits.push(Bit::Stop { asks: true })
            }
            '\n' => {
                let long = at - line_start >= BROKEN_FROM;
                bits.push(Bit::Line { long });
                line_start = at + 1;
            }
            '&' | '+' | '/' => bits.push(Bit::Word(word(&[letter], false))),
            sign if SPEAKING_SIGNS.contains(sign) => {
                bits.push(Bit::Word(word(&[sign], false)));
            }
            _ => {}
        }
        at += 1;
    }
    bits
}

/// The words of every species as those of cattle.
fn hear_as_cattle(bits: &mut [Bit], table: &Words) {
    let plain = |bit: Option<&Bit>| match bit {
        Some(Bit::Word(word)) => Some(word.plain.clone()),
        Some(Bit::Comma | Bit::Stop { .. } | Bit::Line { .. }) | None => None,
    };
    for at in 0..bits.len() {
        let next = plain(bits.get(at + 1));
        if let Bit::Word(word) = &mut bits[at]
            && let Some(heard) = beasts::of_cattle(&word.plain, next.as_deref(), table)
        {
            heard.clone_into(&mut word.plain);
        }
    }
}

/// Where the word that begins here ends; nothing if none does.
fn word_end(letters: &[char], start: usize) -> Option<usize> {
    if !letters.get(start)?.is_alphanumeric() {
        return None;
    }
    let mut at = start;
    while let Some(&letter) = letters.get(at) {
        let inside = letter.is_alphanumeric()
            || spelling::is_accent(letter)
            || (spelling::is_apostrophe(letter) && next_is(letters, at, char::is_alphabetic))
            || joins_figures(letters, start, at)
            || is_abbreviation(letters, start, at);
        if !inside {
            break;
        }
        at += 1;
    }
    Some(at)
}

fn next_is(letters: &[char], at: usize, what: impl Fn(char) -> bool) -> bool {
    letters.get(at + 1).is_some_and(|&next| what(next))
}

/// "39.8", "39,8", "02:10", "2.10": but not "0210,0215", and not "114.207".
fn joins_figures(letters: &[char], start: usize, at: usize) -> bool {
    let is_digit = |c: char| c.is_ascii_digit();
    let before = &letters[start..at];
    if !before.iter().all(|&c| is_digit(c)) || !next_is(letters, at, is_digit) {
        return false;
    }
    let after = letters[at + 1..].iter().take_while(|&&c| is_digit(c)).count();
    match letters[at] {
        '.' => before.len() <= 3 && after <= 2,
        ':' => before.len() <= 2 && after <= 2,
        ',' => before.len() <= 2 && after == 1,
        _ => false,
    }
}

/// "a.m.", "o.k."
fn is_abbreviation(letters: &[char], start: usize, at: usize) -> bool {
    letters[at] == '.'
        && at == start + 1
        && letters[start].is_alphabetic()
        && next_is(letters, at, char::is_alphabetic)
        && !letters.get(at + 2).is_some_and(|c| c.is_alphanumeric())
}

fn word(letters: &[char], hash: bool) -> Word {
    let abbreviated = letters.len() == 3 && letters[0].is_alphabetic();
    let plain: String = letters
        .iter()
        .filter(|&&c| !spelling::is_apostrophe(c) && !spelling::is_accent(c))
        .filter(|&&c| !(abbreviated && c == '.'))
        .map(|&c| spelling::fold(c))
        .collect();
    let apostrophe = letters.iter().any(|&c| spelling::is_apostrophe(c));
    // "we're going" and "were going" are two things.
    let plain = match plain.as_str() {
        "were" if apostrophe => "weare".to_owned(),
        _ => plain,
    };
    Word { plain, said: letters.iter().collect(), hash }
}

#[cfg(test)]
mod tests {
    use super::super::tongue::ENGLISH;
    use super::*;

    /// Sentences between ` | `, clauses between ` , `, pieces between ` & `; `?` where it asks.
    fn taken_apart(text: &str) -> String {
        let sentence = |s: &Sentence| {
            let clauses: Vec<String> = s
                .clauses
                .iter()
                .map(|clause| {
                    let pieces: Vec<String> =
                        clause.iter().map(|piece| plain(piece).join(" ")).collect();
                    pieces.join(" & ")
                })
                .collect();
            format!("{}{}", clauses.join(" , "), if s.asks { "?" } else { "" })
        };
        let all: Vec<String> = sentences(text, &ENGLISH).iter().map(sentence).collect();
        all.join(" | ")
    }

    #[test]
    fn a_text_falls_into_sentences_clauses_and_pieces() {
        for (text, apart) in [
            ("114 feet 0210, nose 02:20", "114 feet 0210 , nose 02:20"),
            ("calf up and sucked. Thanks!", "calf up & sucked | thanks"),
            ("feet but no nose", "feet , no nose"),
            ("temp 39,8, treated", "temp 39,8 , treated"),
            ("feet 0210,nose 0220", "feet 0210 , nose 0220"),
            ("Can’t. I'm ill", "cant | im ill"),
            ("we're going", "weare going"),
            ("2:10 a.m. feet", "2:10 am | feet"),
            ("O.K.", "ok"),
            ("feet ?", "feet?"),
            ("feet\n?", "feet?"),
            ("👍🏽🐄", "👍"),
            ("\"K4T7\" (going)", "k4t7 going"),
            ("", ""),
            (" ,.;\n", ""),
        ] {
            assert_eq!(taken_apart(text), apart, "{text}");
        }
    }

    #[test]
    fn a_denial_stays_with_what_it_denies() {
        for (text, apart) in [
            ("no\nfeet", "no feet"),
            ("feet\nnose", "feet | nose"),
            ("No. 114 feet", "no 114 feet"),
            ("no. feet", "no | feet"),
            ("sucked,\nno", "sucked , no"),
            (
                "she has been up and down for the last hour but there is still\nno calf",
                "she has been up & down for the last hour , there is still no calf",
            ),
        ] {
            assert_eq!(taken_apart(text), apart, "{text}");
        }
    }
}
