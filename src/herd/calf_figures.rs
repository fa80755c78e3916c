//! What was noted of a calf, as figures: read from the short texts of its marks.
//!
//! It says how a figure stands in a published table and no more: it prescribes nothing, and the vet decides.

use super::case::Case;
use super::noted::Noted;
use super::sign::Mark;
use crate::plain::amount::Amount;
use crate::plain::moment::Moment;

/// A pound in hundredths of a milligram: 0.45359237 kg by definition (the yard and pound agreement of 1959).
const POUND: i64 = 45_359_237;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CalfSex {
    Bull,
    Heifer,
}

/// How a weight was come by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weighed {
    Scales,
    Tape,
    Guess,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weight {
    pub grams: i64,
    pub by: Weighed,
    pub at: Moment,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Route {
    /// It sucked by itself.
    Sucked,
    Bottle,
    Tube,
}

/// One feed of first milk, as far as it was told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Feed {
    pub at: Moment,
    pub millilitres: Option<i64>,
    pub route: Option<Route>,
    /// Brix of the milk, in thousandths of a percent.
    pub brix: Option<Amount>,
    /// IgG of the milk, in grams a litre.
    pub igg: Option<Amount>,
}

/// How warm a calf is on its first day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Warmth {
    LifelessLooking,
    Severe,
    Mild,
    BelowNormal,
    Normal,
    AboveNormal,
}

/// How well a calf has taken up its dam's antibodies, by the IgG of its own blood at one to seven days.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Transfer {
    Poor,
    Fair,
    Good,
    Excellent,
}

/// facts.md C-15: under 86 °F it may look dead (extension).
const LIFELESS_BELOW: Amount = Amount::thousandths(30_000);
/// facts.md C-15: severe under 94 °F.
const SEVERE_BELOW: Amount = Amount::thousandths(34_400);
/// facts.md C-14: warm a calf under 100 °F (extension; teaching text).
pub const WARM_BELOW: Amount = Amount::thousandths(37_800);
/// facts.md C-13: normal on day 0 is 101.5 to 102.5 °F.
const NORMAL_FROM: Amount = Amount::thousandths(38_600);
/// facts.md C-12: 104 °F is the most that is given for a calf just born.
const NORMAL_TO: Amount = Amount::thousandths(40_000);

impl Warmth {
    pub fn of(temperature: Amount) -> Self {
        match temperature {
            t if t < LIFELESS_BELOW => Self::LifelessLooking,
            t if t < SEVERE_BELOW => Self::Severe,
            t if t < WARM_BELOW => Self::Mild,
            t if t < NORMAL_FROM => Self::BelowNormal,
            t if t <= NORMAL_TO => Self::Normal,
            _ => Self::AboveNormal,
        }
    }
}

impl Transfer {
    /// facts.md I-02 (consensus of 2020, dairy): excellent from 25.0 g/L, good from 18.0, fair from 10.0.
    pub fn of(igg: Amount) -> Self {
        match igg {
            igg if igg < Amount::thousandths(10_000) => Self::Poor,
            igg if igg < Amount::thousandths(18_000) => Self::Fair,
            igg if igg < Amount::thousandths(25_000) => Self::Good,
            _ => Self::Excellent,
        }
    }
}

/// facts.md I-10 (extension): milk of Brix 22 or more holds 50 g/L or more.
pub const BRIX_GOOD: Amount = Amount::thousandths(22_000);

/// Grams of IgG in a litre of the calf's serum, in thousandths, if so much of what it drank is taken up
/// (facts.md I-06).
pub fn igg_reached(grams: i64, percent: i64, serum_millilitres: i64) -> Option<Amount> {
    let thousandths = grams.checked_mul(percent)?.checked_mul(10_000)?;
    let reached = thousandths.checked_div(serum_millilitres)?;
    Some(Amount::thousandths(reached))
}

/// So much of its weight, with a kilogram taken as a litre.
pub fn share_of_weight(grams: i64, percent: i64) -> i64 {
    grams.saturating_mul(percent) / 100
}

/// All that stands of one mark of one calf, as it was told.
fn of_calf(case: &Case, calf: u8, mark: Mark) -> impl DoubleEndedIterator<Item = &Noted> {
    case.of(mark).filter(move |noted| noted.calf == Some(calf))
}

/// What was said last.
pub fn sex(case: &Case, calf: u8) -> Option<CalfSex> {
    of_calf(case, calf, Mark::Sex).next_back().and_then(|noted| match noted.note.as_str() {
        "bull" => Some(CalfSex::Bull),
        "heifer" => Some(CalfSex::Heifer),
        _ => None,
    })
}

/// The last that was weighed; failing that the last by tape, failing that the last guess.
pub fn weight(case: &Case, calf: u8) -> Option<Weight> {
    let all = || {
        of_calf(case, calf, Mark::Weight).rev().filter_map(|noted| {
            let (grams, by) = weight_noted(&noted.note)?;
            Some(Weight { grams, by, at: noted.at })
        })
    };
    [Weighed::Scales, Weighed::Tape, Weighed::Guess]
        .into_iter()
        .find_map(|by| all().find(|weight| weight.by == by))
}

/// "38 kg", "38 kg weighed", "84 lb tape", "40 kg guess".
pub fn weight_noted(note: &str) -> Option<(i64, Weighed)> {
    let mut words = note.split(' ');
    let thousandths = thousandths(words.next()?)?;
    let grams = match words.next()? {
        "kg" => thousandths,
        "lb" => (thousandths.checked_mul(POUND)? + 50_000_000) / 100_000_000,
        _ => return None,
    };
    let by = match words.next() {
        // Nobody said how: so plain a figure is taken for one of scales.
        None | Some("weighed") => Weighed::Scales,
        Some("tape") => Weighed::Tape,
        Some("guess") => Weighed::Guess,
        Some(_) => return None,
    };
    Some((grams, by))
}

/// Every feed of first milk, by hand or from a teat, in the order of telling.
pub fn feeds(case: &Case, calf: u8) -> Vec<Feed> {
    let of_it = |noted: &&Noted| {
        noted.calf == Some(calf) && matches!(noted.mark, Mark::Sucked | Mark::Colostrum)
    };
    case.standing().filter(of_it).map(feed).collect()
}

/// One feed by its note: "2l tube brix 24".
pub fn feed(noted: &Noted) -> Feed {
    let words: Vec<&str> = noted.note.split_whitespace().collect();
    let after = |name: &str| {
        let at = words.iter().position(|word| *word == name)?;
        Some(Amount::thousandths(thousandths(words.get(at + 1)?)?))
    };
    let route = if noted.mark == Mark::Sucked {
        Some(Route::Sucked)
    } else if words.contains(&"tube") {
        Some(Route::Tube)
    } else {
        words.contains(&"bottle").then_some(Route::Bottle)
    };
    Feed {
        at: noted.at,
        millilitres: words.iter().find_map(|word| millilitres(word)),
        route,
        brix: after("brix"),
        igg: after("igg"),
    }
}

/// "2l", "1500ml", "2qt"; a quart of the United States is 0.946352946 litre by definition.
fn millilitres(word: &str) -> Option<i64> {
    let split = word.find(|c: char| c.is_ascii_alphabetic())?;
    let (figures, unit) = word.split_at(split);
    let thousandths = thousandths(figures)?;
    match unit {
        "l" => Some(thousandths),
        "ml" => Some(thousandths / 1000),
        "qt" => Some(thousandths.checked_mul(946_353)? / 1_000_000),
        _ => None,
    }
}

/// Its temperatures in degrees Celsius, in the order of telling.
pub fn temperatures(case: &Case, calf: u8) -> Vec<(Moment, Amount)> {
    let read = |noted: &Noted| Some((noted.at, temperature_noted(&noted.note)?));
    of_calf(case, calf, Mark::CalfTemperature).filter_map(read).collect()
}

pub fn temperature_noted(note: &str) -> Option<Amount> {
    thousandths(note).map(Amount::thousandths)
}

/// Its numbers: an animal may have one in each ear.
pub fn tags(case: &Case, calf: u8) -> impl Iterator<Item = &str> {
    of_calf(case, calf, Mark::Tagged).map(|noted| noted.note.as_str()).filter(|tag| !tag.is_empty())
}

/// Whether two numbers are one, however they are spaced.
pub fn same_tag(one: &str, other: &str) -> bool {
    let bare = |tag: &str| -> String {
        tag.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect()
    };
    let bared = bare(one);
    !bared.is_empty() && bared == bare(other)
}

/// What was said last of how lively it is: a figure, or a word.
pub fn vigour(case: &Case, calf: u8) -> Option<&str> {
    of_calf(case, calf, Mark::Vigour).next_back().map(|noted| noted.note.as_str())
}

/// Whom it was given to last.
pub fn foster_mother(case: &Case, calf: u8) -> Option<&str> {
    of_calf(case, calf, Mark::Fostered).next_back().map(|noted| noted.note.as_str())
}

/// A bull and a heifer of one birth: the heifer is likely barren (facts.md X-08: 13 of 14 reared, a study of
/// 1934).
pub fn freemartin(case: &Case) -> bool {
    let count = u8::try_from(case.calves().len()).unwrap_or(u8::MAX);
    let of = |wanted: CalfSex| (1..=count).any(|calf| sex(case, calf) == Some(wanted));
    of(CalfSex::Bull) && of(CalfSex::Heifer)
}

/// "38", "38.5", "0.75": as thousandths.
fn thousandths(figures: &str) -> Option<i64> {
    let (whole, part) = figures.split_once('.').unwrap_or((figures, ""));
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    let shaped = (1..=5).contains(&whole.len()) && part.len() <= 3;
    if !shaped || !digits(whole) || !digits(part) {
        return None;
    }
    let part: i64 = format!("{part:0<3}").parse().ok()?;
    Some(whole.parse::<i64>().ok()? * 1000 + part)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Span;

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn case(marks: &[(Mark, Option<u8>, &str)]) -> Case {
        let mut case = Case::default();
        for (at, (mark, calf, note)) in (0..).zip(marks) {
            let noted =
                Noted { calf: *calf, note: (*note).into(), ..Noted::bare(*mark, minute(at)) };
            let _ = case.note(noted);
        }
        case
    }

    fn celsius(tenths: i64) -> Amount {
        Amount::thousandths(tenths * 100)
    }

    /// Sources: facts.md C-13 (extension: 101.5 to 102.5 °F on day 0), C-14 (extension: warm it below
    /// 100 °F), C-15 (extension: mild under 100, severe under 94, lifeless-looking under 86 °F), C-12
    /// (teaching text: up to 104 °F just after birth). Each edge belongs to the warmer side.
    #[test]
    fn a_cold_calf_is_graded_at_the_handbooks_edges() {
        for (tenths, warmth) in [
            (401, Warmth::AboveNormal),
            (400, Warmth::Normal),
            (392, Warmth::Normal),
            (386, Warmth::Normal),
            (385, Warmth::BelowNormal),
            (378, Warmth::BelowNormal),
            (377, Warmth::Mild),
            (344, Warmth::Mild),
            (343, Warmth::Severe),
            (300, Warmth::Severe),
            (299, Warmth::LifelessLooking),
            (250, Warmth::LifelessLooking),
        ] {
            assert_eq!(Warmth::of(celsius(tenths)), warmth, "{tenths}");
        }
        // C-16 (another extension service): organs cool near 95 °F (35.0 °C), a calf lives on in the upper
        // 80s °F (30 to 31.6 °C): our ladder calls the first cold and the second not yet lifeless-looking.
        assert_eq!(Warmth::of(celsius(350)), Warmth::Mild);
        assert_eq!(Warmth::of(celsius(311)), Warmth::Severe);
    }

    /// facts.md C-13, C-14, C-15 print both scales: C = (F - 32) * 5/9 by definition, to a tenth.
    #[test]
    fn the_edges_are_the_fahrenheit_ones_of_the_sources() {
        for (fahrenheit_tenths, celsius_tenths) in
            [(1015, 386), (1025, 392), (1000, 378), (940, 344), (860, 300), (1040, 400)]
        {
            let tenths = ((fahrenheit_tenths - 320) * 50 + 45) / 90;
            assert_eq!(tenths, celsius_tenths, "{fahrenheit_tenths}");
        }
    }

    /// Source: facts.md I-02 (the consensus paper of 2020 on dairy calves): excellent 25.0 and more, good
    /// 18.0 to 24.9, fair 10.0 to 17.9, poor under 10.0 g/L. I-01: failure under 10.
    #[test]
    fn antibodies_are_graded_by_the_table_of_2020() {
        for (tenths, transfer) in [
            (250, Transfer::Excellent),
            (249, Transfer::Good),
            (180, Transfer::Good),
            (179, Transfer::Fair),
            (100, Transfer::Fair),
            (99, Transfer::Poor),
            (0, Transfer::Poor),
        ] {
            assert_eq!(Transfer::of(celsius(tenths)), transfer, "{tenths}");
        }
    }

    /// Sources: facts.md I-06 (veterinary handbook's arithmetic: 100 g, 35 %, 3.5 L of serum in a calf of
    /// 88 lb make 10 g/L, the edge of failure), I-07 (a feeding trial: 52 % is taken up at 45 min, 36 % at
    /// 6 h, 35 % at 12 h; 52/36 = 1.44).
    #[test]
    fn a_hundred_grams_reach_ten_grams_a_litre() {
        let reached = igg_reached(100, 35, 3_500).unwrap();
        assert_eq!(reached, Amount::thousandths(10_000));
        assert_eq!(Transfer::of(reached), Transfer::Fair);
        assert_eq!(igg_reached(99, 35, 3_500).map(Transfer::of), Some(Transfer::Poor));
        assert_eq!(igg_reached(100, 35, 0), None);
        let early = igg_reached(200, 52, 3_500).unwrap();
        let late = igg_reached(200, 36, 3_500).unwrap();
        let early_over_late = |early: i64, late: i64| early * 100 / late;
        assert_eq!(early_over_late(52, 36), 144);
        assert_eq!((early, late), (Amount::thousandths(29_714), Amount::thousandths(20_571)));
        // Six hours later a good uptake is left of an excellent one.
        assert_eq!(
            (Transfer::of(early), Transfer::of(late)),
            (Transfer::Excellent, Transfer::Good)
        );
        assert_eq!(early_over_late(29_714, 20_571), 144, "the same share of the same milk");
    }

    /// Sources: facts.md I-10 (dairy extension: 10 % of its weight), I-11 (beef extension: 5 to 6 %, and for
    /// 80 lb about 2 quarts).
    #[test]
    fn a_share_of_the_weight_is_the_volume_that_is_printed() {
        let (eighty, _) = weight_noted("80 lb").unwrap();
        assert_eq!(eighty, 36_287);
        let two_quarts = millilitres("2qt").unwrap();
        assert_eq!(two_quarts, 1_892);
        let (least, most) = (share_of_weight(eighty, 5), share_of_weight(eighty, 6));
        assert!(least <= two_quarts && two_quarts <= most, "{least} {two_quarts} {most}");
        assert_eq!(share_of_weight(38_000, 10), 3_800);
        // I-12: 3 to 4 litres by tube; 10 % of a calf of 88 lb lies in it, at its upper end.
        let (grams, _) = weight_noted("88 lb").unwrap();
        assert_eq!((grams, share_of_weight(grams, 10)), (39_916, 3_991));
    }

    #[test]
    fn weights_are_kept_in_grams_with_how_they_were_come_by() {
        for (note, read) in [
            ("38 kg", Some((38_000, Weighed::Scales))),
            ("38 kg weighed", Some((38_000, Weighed::Scales))),
            ("41.5 kg tape", Some((41_500, Weighed::Tape))),
            ("84 lb", Some((38_102, Weighed::Scales))),
            ("40 kg guess", Some((40_000, Weighed::Guess))),
            ("40", None),
            ("40 stone", None),
            ("", None),
        ] {
            assert_eq!(weight_noted(note), read, "{note}");
        }
        let weighed = case(&[
            (Mark::Calf, None, ""),
            (Mark::Weight, None, "40 kg"),
            (Mark::Weight, None, "44 kg guess"),
        ]);
        let weight = weight(&weighed, 1).unwrap();
        assert_eq!((weight.grams, weight.at), (40_000, minute(1)), "scales before a guess");
    }

    #[test]
    fn a_feed_is_read_from_its_note() {
        let fed = case(&[
            (Mark::Calf, None, ""),
            (Mark::Colostrum, None, "2l tube brix 24"),
            (Mark::Sucked, None, ""),
            (Mark::Colostrum, None, "1500ml bottle powder igg 60"),
            (Mark::Colostrum, None, ""),
        ]);
        let feeds = feeds(&fed, 1);
        let short = |feed: &Feed| (feed.millilitres, feed.route);
        assert_eq!(
            feeds.iter().map(short).collect::<Vec<_>>(),
            [
                (Some(2_000), Some(Route::Tube)),
                (None, Some(Route::Sucked)),
                (Some(1_500), Some(Route::Bottle)),
                (None, None)
            ]
        );
        assert_eq!(feeds[0].brix, Some(Amount::thousandths(24_000)));
        assert_eq!(feeds[2].igg, Some(Amount::thousandths(60_000)));
    }

    /// Source: facts.md X-08 (a handbook on twins: the heifer born with a bull is mostly barren).
    #[test]
    fn a_heifer_born_with_a_bull_is_a_freemartin_and_no_other_pair_is() {
        let pair = |one: &str, other: &str| {
            freemartin(&case(&[
                (Mark::Calf, None, ""),
                (Mark::SecondCalf, None, ""),
                (Mark::Sex, Some(1), one),
                (Mark::Sex, Some(2), other),
            ]))
        };
        assert!(pair("bull", "heifer") && pair("heifer", "bull"));
        assert!(!pair("bull", "bull") && !pair("heifer", "heifer"));
        let one =
            case(&[(Mark::Calf, None, ""), (Mark::Sex, None, "bull"), (Mark::Sex, None, "heifer")]);
        assert!(!freemartin(&one), "what was said of one calf was put right");
        assert_eq!(sex(&one, 1), Some(CalfSex::Heifer));
    }

    #[test]
    fn a_number_is_the_same_however_it_is_spaced() {
        assert!(same_tag("IE 37212345670021", "ie372-1234567-0021"));
        assert!(!same_tag("0712", "712") && !same_tag("", "-"));
    }
}
