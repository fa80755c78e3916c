//! English as it is spoken in Irish yards: the same table with words of its own before the others (the trade's words:
//! common practice, no source). A dialect is no more than this.

use super::super::words::Going::{Ok as Okay, Plain, Yes};
use super::super::words::Phrase::{Filler, Is, Looked, Nothing};
use super::super::words::{Going, Phrase, Words};
use super::english::ENGLISH;
use crate::herd::sign::Mark;

const GOING: [(Going, &str); 3] = [
    (
        Plain,
        "on me way now, im on me way, ill head up, ill head down, ill head out, heading up now, heading down now, ill go up, \
        ill go down, ill go out to her, ill throw an eye, ill throw an eye on her, throwing an eye, ill run up, ill run down, \
        ill pop down, ill pop up, im away to her, away to her now, im heading out",
    ),
    (
        Okay,
        "grand, sound, grand job, grand so, right so, right you are, no bother, perfect, good stuff",
    ),
    (Yes, "yera yes, yeah sure"),
];

const MARKS: [(Phrase, &str); 12] = [
    (Is(Mark::Feet), "crubs, crubs out, crubs showing, crubeens, two crubs, 2 crubs, both crubs"),
    (Is(Mark::WaterBag), "waterbag burst, bag broke, waters came, the bag is out, bag out"),
    (
        Is(Mark::Calf),
        "after calving, shes after calving, she is after calving, after having the calf, dropped the calf",
    ),
    (
        Is(Mark::Placenta),
        "cleanings, cleanings gone, cleanings out, cleanings away, cleaning gone, cleanings passed, she cleaned, dropped the \
        cleanings, the cleanings are gone",
    ),
    (
        Is(Mark::Colostrum),
        "beestings given, biestings given, got the beestings, had the beestings, beastings, beastings given",
    ),
    (Is(Mark::BaggedUp), "springing, springing down, sprung, well sprung, springing well"),
    (
        Is(Mark::Slack),
        "pins gone, pins are gone, pin bones gone, pins down, pins dropped, bones gone",
    ),
    (
        Is(Mark::Restless),
        "sick to calve, sickening, sickening to calve, making a start, started sickening",
    ),
    (Is(Mark::OneFoot), "one crub, 1 crub, only one crub"),
    (Looked, "had a look at her, threw an eye, threw an eye on her, was out with her"),
    (
        Nothing,
        "nothing stirring, no stir, no stir yet, not a stir, not a bother on her, not a bother, no bother on her, no sign yet, \
        divil a bit",
    ),
    (Filler, "sure, so, lad, like, herself"),
];

/// English with the words of the dialect before it.
const fn with<T: Copy, const N: usize, const M: usize, const S: usize>(
    own: [(T, &'static str); N],
    common: &[(T, &'static str)],
    seed: (T, &'static str),
) -> [(T, &'static str); S] {
    assert!(N + M == S && common.len() == M);
    let mut all = [seed; S];
    let mut at = 0;
    while at < S {
        all[at] = if at < N { own[at] } else { common[at - N] };
        at += 1;
    }
    all
}

const GOING_ALL: [(Going, &str); 6] = with::<Going, 3, 3, 6>(GOING, ENGLISH.going, (Plain, ""));
const MARKS_COUNT: usize = ENGLISH.marks.len();
const MARKS_ALL: [(Phrase, &str); MARKS_COUNT + 12] =
    with::<Phrase, 12, MARKS_COUNT, { MARKS_COUNT + 12 }>(MARKS, ENGLISH.marks, (Filler, ""));

pub(super) const IRISH: Words = Words {
    going: &GOING_ALL,
    marks: &MARKS_ALL,
    greeting: "sorry, hi, hello, hey, hiya, dear, thanks, many thanks, thank you, thx, ty, ta, cheers, regards, kind regards, best \
        regards, best wishes, all the best, mate, lads, lad, boss, lowbell, hi lowbell, hello lowbell, thanks lowbell, well \
        lads, how are ye, go raibh maith agat, slan, god bless",
    ..ENGLISH
};
