//! The night sheet typed back in the morning: lines such as "BKD 0210 F 0340 C", one row of the sheet each.
//!
//! One letter is a mark only behind a row's code, and only where the whole line is understood; a line that
//! is not is asked back, with its words, and nothing of it counts. What is no line of a sheet is left to the
//! usual grammar.

use super::figure::{self, ClockTime};
use super::known::Known;
use super::mark_said::MarkSaid;
use crate::herd::row_code;
use crate::herd::sign::Mark;

/// The letters of a look, what each says, and how the sheet's legend says it. `X` is apart: it has no mark.
pub const LOOKS: [(char, Mark, &str); 10] = [
    ('S', Mark::Seen, "seen, nothing yet"),
    ('T', Mark::TailRaised, "tail raised"),
    ('W', Mark::WaterBag, "water bag"),
    ('F', Mark::Feet, "feet"),
    ('N', Mark::Nose, "nose"),
    ('C', Mark::Calf, "calf born"),
    ('U', Mark::Up, "calf up"),
    ('K', Mark::Sucked, "calf has sucked"),
    ('P', Mark::Placenta, "placenta passed"),
    ('D', Mark::CalfDead, "calf dead"),
];
/// Something is wrong: the words behind it say what.
pub const WRONG: char = 'X';
pub const WRONG_LEGEND: &str = "something wrong: add what";

/// More lines than a night of the largest farm; the rest is told in a second message.
const LINES_MOST: usize = 120;
/// A look an hour from dusk to dawn, and some.
const LOOKS_MOST: usize = 20;

/// What a typed sheet comes to.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Sheet {
    pub(super) marks: Vec<MarkSaid>,
    /// A question for each line that was not understood.
    pub(super) asks: Vec<String>,
    /// All that was no line of the sheet, for the usual grammar.
    pub(super) rest: String,
}

pub(super) fn take(text: &str, known: &Known<'_>) -> Sheet {
    let mut sheet = Sheet::default();
    let mut rest: Vec<String> = Vec::new();
    let mut rows = 0;
    for line in text.lines() {
        if !is_row(line) {
            rest.push(line.to_owned());
            continue;
        }
        rows += 1;
        if rows > LINES_MOST {
            if rows == LINES_MOST + 1 {
                let shown = shown(line);
                sheet.asks.push(format!(
                    "That is a long sheet: send the lines from \"{shown}\" on again."
                ));
            }
            continue;
        }
        match row(line, known) {
            Row::Marks(marks) => sheet.marks.extend(marks),
            Row::Words { marks, words } => {
                sheet.marks.extend(marks);
                rest.push(words);
            }
            Row::Ask(question) => sheet.asks.push(question),
        }
    }
    sheet.rest = rest.join("\n");
    sheet
}

/// A row's code, and behind it a time or one letter of a look. Anything else may be words.
fn is_row(line: &str) -> bool {
    let line = joined_times(line);
    let mut words = words(&line);
    let code = words.next().is_some_and(row_code::looks_like_one);
    code && words.next().is_some_and(|word| clock(word).is_some() || letter(word).is_some())
}

fn words(line: &str) -> impl Iterator<Item = &str> {
    line.split([' ', '\t', ',', ';', ':', '='])
        .map(|word| word.trim_end_matches('.'))
        .filter(|word| !word.is_empty())
}

fn clock(word: &str) -> Option<ClockTime> {
    let begins = word.starts_with(|c: char| c.is_ascii_digit());
    begins.then(|| figure::clock_after_at(&word.to_ascii_lowercase())).flatten()
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Look {
    Is(Mark),
    Wrong,
}

fn letter(word: &str) -> Option<Look> {
    let mut letters = word.chars().map(|c| c.to_ascii_uppercase());
    let (only, None) = (letters.next()?, letters.next()) else { return None };
    if only == WRONG {
        return Some(Look::Wrong);
    }
    LOOKS.iter().find(|(letter, ..)| *letter == only).map(|(_, mark, _)| Look::Is(*mark))
}

enum Row {
    Marks(Vec<MarkSaid>),
    /// Marks, and words about what was wrong, as the usual grammar reads them.
    Words {
        marks: Vec<MarkSaid>,
        words: String,
    },
    Ask(String),
}

fn row(line: &str, known: &Known<'_>) -> Row {
    let line = joined_times(line);
    let mut all = words(&line);
    let code = all.next().unwrap_or_default().to_ascii_uppercase();
    let Some(animal) = (known.row)(&code) else {
        return Row::Ask(format!(
            "\"{}\": no row has the code {code}. Look at the sheet again, and send that line anew.",
            shown(&line)
        ));
    };
    let words: Vec<&str> = all.collect();
    let time_first = words.first().is_some_and(|word| clock(word).is_some());
    let mut looks: Vec<(Look, Option<ClockTime>)> = Vec::new();
    let mut now: Option<ClockTime> = None;
    // Letters that wait for the time behind them.
    let mut waiting = 0;
    let mut used = true;
    for (n, word) in words.iter().enumerate() {
        if let Some(at) = clock(word) {
            if time_first && !used {
                return not_a_look(&line, &animal, "two times and no letter between");
            }
            if !time_first {
                let from = looks.len() - waiting;
                looks[from..].iter_mut().for_each(|look| look.1 = Some(at));
                waiting = 0;
            }
            (now, used) = (Some(at), !time_first);
            continue;
        }
        let Some(look) = letter(word) else {
            return not_a_look(&line, &animal, &format!("{word} is no letter of a look"));
        };
        used = true;
        waiting += 1;
        looks.push((look, now.filter(|_| time_first)));
        let behind = words.get(n + 1..).unwrap_or_default();
        if look == Look::Wrong {
            return wrong(&line, &animal, &looks, behind);
        }
    }
    if !used {
        return not_a_look(&line, &animal, "a time has no letter behind it");
    }
    if looks.len() > LOOKS_MOST {
        return not_a_look(&line, &animal, "more looks than a night has");
    }
    Row::Marks(marks(&animal, &looks))
}

fn marks(animal: &str, looks: &[(Look, Option<ClockTime>)]) -> Vec<MarkSaid> {
    let mut calves = 0;
    let marks = looks.iter().filter_map(|(look, at)| match look {
        Look::Is(mark) => Some(MarkSaid {
            animal: Some(animal.to_owned()),
            // A second calf in one row is another calf.
            mark: if *mark == Mark::Calf {
                calves += 1;
                if calves > 1 { Mark::SecondCalf } else { Mark::Calf }
            } else {
                *mark
            },
            note: String::new(),
            calf: (*mark == Mark::Calf && calves > 2).then_some(calves),
            of_calf: mark.is_of_a_calf(),
            at: *at,
        }),
        Look::Wrong => None,
    });
    marks.collect()
}

/// The words behind an X are read as if they stood behind her number; a time among them is theirs.
fn wrong(line: &str, animal: &str, looks: &[(Look, Option<ClockTime>)], behind: &[&str]) -> Row {
    let marks = marks(animal, looks);
    let at = looks.last().and_then(|(_, at)| *at);
    let spoken = behind.iter().any(|word| clock(word).is_none());
    if !spoken {
        return Row::Ask(format!(
            "\"{}\": what is wrong with {animal}? Answer in words, such as \"{animal} down 0210\", or call \
             somebody now.",
            shown(line)
        ));
    }
    let timed = behind.iter().any(|word| clock(word).is_some());
    let clock = at.filter(|_| !timed).map(|(hour, minute)| format!(" {hour:02}{minute:02}"));
    let words = format!("{animal} {}{}", behind.join(" "), clock.unwrap_or_default());
    Row::Words { marks, words }
}

fn not_a_look(line: &str, animal: &str, why: &str) -> Row {
    Row::Ask(format!(
        "\"{}\" about {animal}: {why}. Nothing of that line is noted; write it as 0210 F.",
        shown(line)
    ))
}

/// "2:10" is one word, though a colon also parts words.
fn joined_times(line: &str) -> String {
    let letters: Vec<char> = line.chars().collect();
    let digit = |at: Option<usize>| {
        at.and_then(|at| letters.get(at)).is_some_and(|letter| letter.is_ascii_digit())
    };
    let kept = letters.iter().enumerate().map(|(at, letter)| {
        let inside = *letter == ':' && digit(at.checked_sub(1)) && digit(Some(at + 1));
        if inside { '.' } else { *letter }
    });
    kept.collect()
}

/// A line as it is shown to its writer.
fn shown(line: &str) -> String {
    const SHOWN: usize = 40;
    crate::plain::english::printable(line.trim(), SHOWN)
}

#[cfg(test)]
mod tests {
    use super::super::known::newborn_of;
    use super::*;

    fn read(text: &str) -> Sheet {
        let row = |code: &str| match row_code::place_of(code) {
            Some(0) => Some("114".to_owned()),
            Some(1) => Some("207".to_owned()),
            Some(_) | None => None,
        };
        take(
            text,
            &Known {
                code_open: &|_| false,
                animal: &|name| matches!(name, "114" | "207"),
                person: &|_| false,
                device: &|_| false,
                row: &row,
                newborn: newborn_of("cattle"),
            },
        )
    }

    fn marks(sheet: &Sheet) -> Vec<String> {
        let line = |said: &MarkSaid| {
            let at = said.at.map_or(String::new(), |(h, m)| format!(" {h:02}:{m:02}"));
            format!("{} {}{at}", said.animal.as_deref().unwrap_or("?"), said.mark.word())
        };
        sheet.marks.iter().map(line).collect()
    }

    #[test]
    fn a_row_is_read_with_its_times_before_or_behind_the_letters() {
        let (one, other) = (row_code::code_of(0), row_code::code_of(1));
        for (text, said) in [
            (format!("{one} 0210 F"), vec!["114 feet 02:10"]),
            (format!("{one} F 0210"), vec!["114 feet 02:10"]),
            (format!("{} 2:10 f", one.to_lowercase()), vec!["114 feet 02:10"]),
            (
                format!("{one}: 2310 S, 0155 W, 0210 F N"),
                vec!["114 seen 23:10", "114 water bag 01:55", "114 feet 02:10", "114 nose 02:10"],
            ),
            (format!("{one} S 2310 W 0155"), vec!["114 seen 23:10", "114 water bag 01:55"]),
            (format!("{other} C"), vec!["207 calf"]),
            (format!("{one} 0210 F\n{other} 0300 S"), vec!["114 feet 02:10", "207 seen 03:00"]),
        ] {
            let sheet = read(&text);
            assert_eq!(marks(&sheet), said, "{text}");
            assert_eq!((sheet.asks.len(), sheet.rest.as_str()), (0, ""), "{text}");
        }
    }

    #[test]
    fn a_line_that_is_not_understood_whole_is_asked_back_and_counts_for_nothing() {
        let one = row_code::code_of(0);
        for (text, part) in [
            ("BBD 0210 F".to_owned(), "no row has the code BBD"),
            (format!("{one} 0210"), "no letter behind"),
            (format!("{one} 0210 0300 F"), "two times"),
            (format!("{one} 0210 F lying down"), "lying is no letter"),
            (format!("{one} 0210 X"), "what is wrong with 114"),
            (format!("{} 0210 F", row_code::code_of(7)), "no row has the code"),
        ] {
            let sheet = read(&text);
            assert_eq!(marks(&sheet), [""; 0], "{text}");
            assert_eq!(sheet.asks.len(), 1, "{text}");
            assert!(sheet.asks[0].contains(part), "{text}: {}", sheet.asks[0]);
        }
    }

    #[test]
    fn words_behind_an_x_are_read_as_words_about_her() {
        let one = row_code::code_of(0);
        let sheet = read(&format!("{one} 2310 S 0210 X prolapse"));
        assert_eq!(marks(&sheet), ["114 seen 23:10"]);
        assert_eq!((sheet.rest.as_str(), sheet.asks.len()), ("114 prolapse 0210", 0));
    }

    #[test]
    fn what_is_no_row_is_left_as_it_was() {
        let one = row_code::code_of(0);
        for text in
            ["114 feet 0210", "going", "k", "Thx, on my way", "BRB 5 minutes", &one, "K4T7 going"]
        {
            let sheet = read(text);
            assert_eq!(sheet, Sheet { rest: text.to_owned(), ..Sheet::default() }, "{text}");
        }
    }

    #[test]
    fn a_letter_stands_for_one_look_only() {
        let letters: std::collections::BTreeSet<char> =
            LOOKS.iter().map(|(letter, ..)| *letter).chain([WRONG]).collect();
        assert_eq!(letters.len(), LOOKS.len() + 1);
    }
}
