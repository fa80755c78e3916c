//! The figures in what was noted of a dam: temperatures, the ease score, what she was given and for how long
//! nothing of her may be sold.
//!
//! A withdrawal time is only ever what somebody typed from the label: none is known here, none is guessed, and
//! nothing is advised.

use super::case::Case;
use super::sign::Mark;
use crate::plain::amount::Amount;
use crate::plain::moment::{Moment, Span};

/// 39.5 °C: from here on a reading counts as fever (facts.md M-01, M-06: Sheldon and others; the flag of the
/// open data set of 550 cows). 103 °F is 39.44 °C and below it (facts.md M-16).
pub const FEVER: Amount = Amount::thousandths(39_500);

/// Who measures again so soon doubts the first reading: the later one stands for both (common practice, no source).
pub const MEASURED_AGAIN: Span = Span::hours(1);

/// The scores that herd books use (facts.md E-01: 1 to 5; E-04: 1 to 6).
const EASE: std::ops::RangeInclusive<u8> = 1..=6;

/// No label's time is longer than this; more is a slip of the thumb (common practice, no source).
const WITHDRAWAL_MAX: Span = Span::days(200);

/// What a withdrawal time is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Product {
    Meat,
    Milk,
}

impl Product {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Meat => "meat",
            Self::Milk => "milk",
        }
    }

    /// As the label is read aloud in any language that people write to us.
    fn of_word(word: &str) -> Option<Self> {
        match word {
            "meat" | "fleisch" | "carne" | "viande" => Some(Self::Meat),
            "milk" | "milch" | "leche" | "lait" => Some(Self::Milk),
            _ => None,
        }
    }
}

/// Something she was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Treatment {
    pub at: Moment,
    pub by: String,
    /// As it was typed.
    pub text: String,
    /// Each withdrawal time in it, as typed, and when it ends.
    pub withdrawals: Vec<(Product, Moment)>,
}

/// Her own temperatures in degrees Celsius, as they were told.
pub fn temperatures(case: &Case) -> Vec<(Moment, Amount)> {
    let told = case.of(Mark::Temperature);
    let mut all: Vec<(Moment, Amount)> =
        told.filter_map(|noted| Some((noted.at, temperature(&noted.note)?))).collect();
    all.sort_by_key(|(at, _)| *at);
    all
}

/// The figure of a note such as "39.8". What was said in Fahrenheit has been turned where it was heard.
pub fn temperature(note: &str) -> Option<Amount> {
    Amount::of(note.trim().parse().ok()?)
}

/// The newest ease score; `None` if nobody gave one. That nothing was said is not "unassisted" (needs.md N107).
pub fn ease(case: &Case) -> Option<u8> {
    let score = |note: &str| note.trim().parse().ok().filter(|score| EASE.contains(score));
    case.of(Mark::Helped).rev().find_map(|noted| score(&noted.note))
}

/// Whether she was helped with the birth, by score or by word: a hard birth for the watch that follows.
pub fn was_helped(case: &Case) -> bool {
    match ease(case) {
        Some(score) => score >= 2,
        None => case.of(Mark::Helped).next().is_some(),
    }
}

/// What she was given, the oldest first.
pub fn treatments(case: &Case) -> Vec<Treatment> {
    let mut all: Vec<Treatment> = case
        .of(Mark::Treated)
        .map(|noted| Treatment {
            at: noted.at,
            by: noted.by.clone(),
            text: noted.note.clone(),
            withdrawals: withdrawals_in(&noted.note, noted.at),
        })
        .collect();
    all.sort_by_key(|treatment| treatment.at);
    all
}

/// Until when nothing of each kind may be sold, by what was typed; only what is not over yet.
pub fn withdrawals(case: &Case, now: Moment) -> Vec<(Product, Moment)> {
    let treatments = treatments(case);
    let all = treatments.iter().flat_map(|treatment| &treatment.withdrawals);
    let latest = |product: Product| {
        let ends = all.clone().filter(|(of, _)| *of == product).map(|(_, until)| *until);
        ends.max().filter(|until| *until > now).map(|until| (product, until))
    };
    [Product::Meat, Product::Milk].into_iter().filter_map(latest).collect()
}

/// "withdrawal meat 28d milk 7d", "milk withdrawal 4 days": a product with a length behind it, as somebody typed them.
pub fn withdrawals_in(note: &str, given: Moment) -> Vec<(Product, Moment)> {
    let plain = note.to_lowercase();
    let words: Vec<&str> = plain
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | ':' | '='))
        .filter(|word| !word.is_empty())
        .collect();
    let mut found: Vec<(Product, Moment)> = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let Some(product) = Product::of_word(word) else { continue };
        let between = words[at + 1..].iter().take_while(|word| is_withdrawal(word)).count();
        let Some(span) = length(&words[at + 1 + between..]) else { continue };
        // Typed twice, the longer one holds.
        match found.iter_mut().find(|(of, _)| *of == product) {
            Some((_, until)) => *until = (*until).max(given + span),
            None => found.push((product, given + span)),
        }
    }
    found
}

/// Whether a note speaks of a withdrawal time at all: then it must be understood, or asked about.
pub fn speaks_of_withdrawal(note: &str) -> bool {
    let plain = note.to_lowercase();
    let mut words = plain.split(|c: char| !c.is_alphabetic());
    words.any(|word| is_withdrawal(word) || Product::of_word(word).is_some())
}

fn is_withdrawal(word: &str) -> bool {
    let english = ["withdrawal", "withdrawals", "withdraw", "withhold"];
    let german = ["wartezeit", "wartefrist", "sperrfrist"];
    let spanish = ["supresión", "supresion", "retirada", "retiro"];
    let french = ["attente", "retrait"];
    [&english[..], &german, &spanish, &french].concat().contains(&word)
}

/// "28d", "28 d", "28 days", "72h", "72 hours", "28 Tage", "28 días", "28j".
fn length(words: &[&str]) -> Option<Span> {
    let first = words.first()?;
    let digits = first.find(|c: char| !c.is_ascii_digit()).unwrap_or(first.len());
    let (number, mut unit) = first.split_at(digits);
    if unit.is_empty() {
        unit = words.get(1)?;
    }
    let number: i64 = number.parse().ok().filter(|number| *number <= 10_000)?;
    let span = match unit {
        "d" | "day" | "days" | "tag" | "tage" | "tagen" | "tg" | "día" | "dia" | "días"
        | "dias" | "j" | "jour" | "jours" => Span::days(number),
        "h" | "hr" | "hrs" | "hour" | "hours" | "std" | "stunden" | "hora" | "horas" | "heure"
        | "heures" => Span::hours(number),
        _ => return None,
    };
    (span <= WITHDRAWAL_MAX).then_some(span)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::herd::noted::Noted;

    fn hour(n: i64) -> Moment {
        Moment::default() + Span::hours(n)
    }

    fn case(lines: &[(Mark, i64, &str)]) -> Case {
        let mut case = Case::default();
        for (mark, at, note) in lines {
            case.note(Noted { note: (*note).to_owned(), ..Noted::bare(*mark, hour(*at)) });
        }
        case
    }

    #[test]
    fn a_withdrawal_is_read_where_a_product_and_a_length_stand_together() {
        for (note, meat, milk) in [
            ("oxytet 20ml withdrawal meat 28d milk 7d", Some(28 * 24), Some(7 * 24)),
            ("oxytet 20ml Withdrawal: milk 72h, meat 28 days", Some(28 * 24), Some(72)),
            ("withdrawal meat 28 d", Some(28 * 24), None),
            ("withdrawal milk 84 hours", None, Some(84)),
            ("withdrawal meat 0d milk 0d", Some(0), Some(0)),
            ("withdrawal meat 14d meat 28d", Some(28 * 24), None),
            ("withdraw meat 5 days", Some(5 * 24), None),
            // Nothing of the kind is guessed.
            ("oxytet 20ml", None, None),
            ("oxytet 28d", None, None),
            ("meat 28d milk 7d", Some(28 * 24), Some(7 * 24)),
            ("calcium, milk withdrawal 4 days", None, Some(96)),
            ("penicillin milk 96h meat 28d", Some(28 * 24), Some(96)),
            ("withdrawal 28d", None, None),
            ("withdrawal meat 28", None, None),
            ("withdrawal meat 28ml", None, None),
            ("withdrawal meat", None, None),
            ("withdrawal meat -3d", None, None),
            ("withdrawal meat 9999d", None, None),
            ("withdrawal meat 99999999999999999999d", None, None),
            ("", None, None),
        ] {
            let found = withdrawals_in(note, hour(5));
            let of = |product| {
                let is = |(of, until): &(Product, Moment)| {
                    (*of == product).then(|| until.since(hour(5)).whole_minutes() / 60)
                };
                found.iter().find_map(is)
            };
            assert_eq!((of(Product::Meat), of(Product::Milk)), (meat, milk), "{note}");
        }
    }

    #[test]
    fn of_two_treatments_the_later_end_holds_and_what_is_over_is_gone() {
        let case = case(&[
            (Mark::Treated, 0, "first withdrawal meat 10d milk 2d"),
            (Mark::Treated, 24, "second withdrawal meat 3d milk 3d"),
        ]);
        let all = withdrawals(&case, hour(25));
        assert_eq!(all, [(Product::Meat, hour(240)), (Product::Milk, hour(96))]);
        assert_eq!(withdrawals(&case, hour(96)), [(Product::Meat, hour(240))]);
        assert!(withdrawals(&case, hour(240)).is_empty());
        assert_eq!(treatments(&case)[1].text, "second withdrawal meat 3d milk 3d");
    }

    #[test]
    fn an_ease_score_is_the_newest_that_is_one() {
        assert_eq!(ease(&case(&[])), None);
        let scored = case(&[(Mark::Helped, 0, "2"), (Mark::Helped, 1, "3"), (Mark::Helped, 2, "")]);
        assert_eq!((ease(&scored), was_helped(&scored)), (Some(3), true));
        let alone = case(&[(Mark::Helped, 0, "1")]);
        assert_eq!((ease(&alone), was_helped(&alone)), (Some(1), false));
        let unscored = case(&[(Mark::Helped, 0, "")]);
        assert_eq!((ease(&unscored), was_helped(&unscored)), (None, true));
        assert_eq!(ease(&case(&[(Mark::Helped, 0, "7")])), None);
    }

    #[test]
    fn temperatures_stand_in_the_order_in_which_they_were_so() {
        let told = case(&[
            (Mark::Temperature, 9, "39.5"),
            (Mark::Temperature, 2, "38.9"),
            (Mark::Temperature, 12, ""),
        ]);
        let figures: Vec<String> =
            temperatures(&told).iter().map(|(_, amount)| amount.to_string()).collect();
        assert_eq!(figures, ["38.9", "39.5"]);
        assert!(temperatures(&told)[1].1 >= FEVER);
    }

    /// Each language's own words for it, as they stand on its labels (common practice, no source).
    #[test]
    fn a_withdrawal_is_understood_in_every_language_that_is_answered() {
        let given = hour(0);
        let expected =
            [(Product::Meat, given + Span::days(28)), (Product::Milk, given + Span::days(7))];
        for note in [
            "oxytet 20ml withdrawal meat 28d milk 7d",
            "oxytet 20ml Wartezeit Fleisch 28 Tage, Milch 7 Tage",
            "oxytet 20ml Wartezeit Fleisch 28d Milch 7d",
            "oxitet 20ml supresión carne 28 días leche 7 días",
            "oxitet 20ml carne: 28d, leche: 7d",
            "oxytet 20ml attente viande 28j lait 7j",
            "oxytet 20ml viande 28 jours lait 168 heures",
        ] {
            assert_eq!(withdrawals_in(note, given), expected, "{note}");
        }
        for note in
            ["Wartezeit laut Etikett", "supresión larga", "délai d'attente : voir étiquette"]
        {
            assert!(withdrawals_in(note, given).is_empty() && speaks_of_withdrawal(note), "{note}");
        }
    }
}
