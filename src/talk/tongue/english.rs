//! The words of English.

use super::super::words::Going::{Ok as Okay, Plain, Yes};
use super::super::words::Phrase::{
    Bull, Calf, CalfOf, Dam, Dead, Down, Filler, Is, Looked, Never, Noted, Nothing, She, Up, Which,
};
use super::super::words::Words;
use super::super::{birth_words, dam_words, hand_on, inside, swap};
use crate::herd::sign::Mark;

pub(in crate::talk) const ENGLISH: Words = Words {
    going: &[
        (
            Plain,
            "going, going now, im going, i am going, we are going, weare going, goin, goign, \
            gonig, gong now, i go, ill go, i will go, will go, on my way, im on my way, i am \
            on my way, onmyway, on me way, on the way, on way, omw, coming, im coming, i am \
            coming, comming, comin, heading out, heading up, heading down, heading over, \
            heading there, leaving now, on it, im on it, i have it, ive got it, i got it, i \
            got this, be there, ill be there, will be there, i will be there, will look, \
            will have a look, ill look, ill have a look, ill check, will check, going to \
            look, going to check, going to have a look, going to see, going to see her, \
            going to her, going to check her, going out to look, going out to check, going \
            out to her, going up to look, going down to look, going over to look",
        ),
        (Okay, "ok, okay, okey, oky, okk, okie, k, kk, got it, got this, will do, ill do it, 👍"),
        (Yes, "yes, yep, yeah, yea, yup, aye"),
    ],
    going_filler: "now, right, just, straight, away, there, thanks, thx, sorry, x",
    going_where: "out, over, up, down, myself, quick, fast",
    toward: "to, for, to cow, to heifer, to the cow, to the heifer",
    pass: &[
        (
            false,
            "pass, i pass, cant, i cant, cannot, i cannot, can not, i can not, cant go, \
            cannot go, can not go, i cant go, i cannot go, i can not go, cant come, i cant \
            come, cannot come, cant make it, i cant make it, cant get there, cant do it, i \
            cant do it, not me, unable, unable to, unable to go, unable to come, not able, \
            im not able, not able to go, not going, im not going, i am not going, wont go, i \
            wont go, not coming, im not coming, wont make it, i wont make it",
        ),
        (true, "no, nope, nah"),
    ],
    pass_filler: "sorry, tonight, now, right, this, time, thanks, x",
    marks: &[
        (Is(Mark::WaterBag), birth_words::WATER_BAG),
        (Is(Mark::Feet), birth_words::FEET),
        (
            Never,
            "tag off, feet up, nose up, bag up, bag of, up to, cleaned up, cleaned out, i cleaned, ive \
            cleaned, i have cleaned, just seen, i have seen, ive seen, out of",
        ),
        (Is(Mark::Nose), "nose, calf nose, calfs nose"),
        (Is(Mark::Progress), "progress, progressing, making progress, good progress"),
        (Calf, "calf, live calf, calf alive"),
        (CalfOf("bull"), "bull calf, calf a bull, calf is a bull, male calf"),
        (CalfOf("heifer"), "heifer calf, calf a heifer, calf is a heifer, female calf"),
        (Bull, "bull"),
        (Noted(Mark::Sex, "bull"), "its a bull, it is a bull"),
        (Noted(Mark::Sex, "heifer"), "its a heifer, it is a heifer"),
        (Noted(Mark::Vigour, "weak"), "weak calf, calf weak, calf is weak, dull calf, calf dull"),
        (
            Noted(Mark::Vigour, "strong"),
            "strong calf, calf strong, calf is strong, lively calf, calf lively",
        ),
        (Noted(Mark::Vigour, "shivering"), "calf shivering, calf is shivering, shivering calf"),
        (
            Noted(Mark::Vigour, "cold mouth"),
            "cold mouth, calf cold mouth, mouth cold, mouth is cold, calfs mouth is cold",
        ),
        (
            Noted(Mark::Calf, "single"),
            "single, single calf, only one calf, one calf only, just one calf, just the one calf",
        ),
        (Which(0), "both, both calves, both twins, the twins, all calves"),
        (Which(1), "first calf, 1st calf, calf 1, calf one"),
        (Which(2), "second calf, 2nd calf, calf 2, calf two"),
        (Which(3), "third calf, 3rd calf, calf 3, calf three"),
        (Which(4), "fourth calf, 4th calf, calf 4, calf four"),
        (
            Is(Mark::Calf),
            "calved, born, calf born, calf is born, calf out, calf is out, calf on the \
            ground, calf on ground",
        ),
        (
            Is(Mark::SecondCalf),
            "second calf born, 2nd calf born, second calf is born, second calf out, 2nd calf out, \
            twin, twin calf, twin born, twin calf born",
        ),
        (Is(Mark::Calf), "first calf born, first calf out"),
        (Is(Mark::AllBorn), birth_words::ALL_BORN),
        (Up, "up"),
        (
            Is(Mark::Up),
            "calf up, calf is up, calf standing, calf is standing, calf on its feet, calf on \
            his feet, calf on her feet, calf is on its feet, calf up on its feet",
        ),
        (Is(Mark::Sucked), "sucked, suckled, sucking, suckling, had a suck"),
        (
            Is(Mark::Colostrum),
            "colostrum, had colostrum, given colostrum, beestings, biestings, tubed, tubed it, \
            bottle fed, tube fed",
        ),
        (Is(Mark::Placenta), dam_words::PLACENTA),
        (Is(Mark::Temperature), dam_words::TEMPERATURE),
        (Is(Mark::Treated), "treated, injected, dosed"),
        (Is(Mark::Helped), dam_words::HELPED),
        (
            Is(Mark::Vet),
            "vet, vet called, vet coming, vet is coming, vet on way, vet on the way, vet is \
            on the way, vet on his way, vet on her way, vet here, vet is here, called vet, \
            called the vet, rang vet, rang the vet, phoned vet, phoned the vet",
        ),
        (Dead, "dead, died"),
        (Is(Mark::CalfDead), dam_words::CALF_DEAD),
        (
            Noted(Mark::CalfDead, "born dead"),
            "stillborn, still born, calf stillborn, calf still born, calf was stillborn, born dead, \
            calf born dead, calf was born dead, stillborn calf",
        ),
        (Is(Mark::TailRaised), "tail, tail up, tail is up, tails up, tail raised, tail is raised"),
        (Is(Mark::Restless), "restless"),
        (Is(Mark::BaggedUp), birth_words::BAGGED_UP),
        (Is(Mark::Slack), "slack, ligaments slack, slack ligaments, ligaments gone"),
        (Is(Mark::Straining), "straining, pushing"),
        (Is(Mark::Backward), birth_words::BACKWARD),
        (Is(Mark::OneFoot), "one foot, 1 foot, one foot only, only one foot"),
        (
            Noted(Mark::OneFoot, "leg back"),
            "leg back, one leg back, a leg back, leg is back, knee back",
        ),
        (
            Noted(Mark::OneFoot, "head back"),
            "head back, head is back, head turned back, head turned, head round",
        ),
        (
            Noted(Mark::OneFoot, "head and no feet"),
            "head only, only a head, only the head, nose only",
        ),
        (Is(Mark::TailOnly), "tail only, only a tail, only the tail, breech"),
        (Is(Mark::Stained), birth_words::STAINED),
        (Is(Mark::Bleeding), "bleeding, blood, bleeding a lot"),
        (Is(Mark::Tongue), "swollen tongue, tongue swollen, blue tongue"),
        (Is(Mark::Aborted), "aborted, slipped calf, slipped her calf, lost it early"),
        (Is(Mark::Breathing), "breathing, calf breathing, calf is breathing, calf breathes"),
        (
            Is(Mark::Sternal),
            "sternal, sitting up, calf sitting up, calf is sitting up, calf on its breast, on its \
            breast, calf sternal",
        ),
        (
            Is(Mark::Trying),
            "trying to stand, calf trying to stand, calf is trying to stand, trying to rise, trying \
            to get up, calf trying to get up",
        ),
        (
            Is(Mark::Navel),
            "navel, navel done, navel dipped, dipped navel, iodine, navel iodine, navel sprayed, \
            navels done, did navel, did the navel",
        ),
        (Is(Mark::CalfTemperature), "calf temp, calf temperature"),
        (
            Is(Mark::Weight),
            "weight, weighs, weighed, calf weighs, calf weight, calf weighed, birth weight, weighed in at",
        ),
        (Is(Mark::Sex), "sex"),
        (Is(Mark::Vigour), "vigour, calf vigour"),
        (Is(Mark::Fostered), "fostered, calf fostered"),
        (
            Is(Mark::Tagged),
            "tagged, calf tagged, tag, tag no, tag number, ear tag, eartag, ear tagged, calf tag, \
            tagged as",
        ),
        (Is(Mark::Discharge), dam_words::DISCHARGE),
        (Is(Mark::Down), dam_words::DOWN),
        (Down, "down, down again, down now, still down"),
        (Never, "back up, back down, calf bed, i lost it, i have lost it, ive lost it"),
        (Is(Mark::Risen), dam_words::RISEN),
        (Is(Mark::OffFeed), dam_words::OFF_FEED),
        (Is(Mark::Eating), dam_words::EATING),
        (Is(Mark::Wobbly), dam_words::WOBBLY),
        (Is(Mark::Prolapse), dam_words::PROLAPSE),
        (Is(Mark::HasMilk), dam_words::HAS_MILK),
        (Is(Mark::NeedsMother), "needs a mother, needs mother, orphan"),
        (Is(Mark::DamDead), "lost cow, lost the cow, cow put down, had to put her down"),
        (Is(Mark::Collected), dam_words::COLLECTED),
        (Is(Mark::Registered), "registered, calf registered"),
        (
            Looked,
            "seen, looked, looked at, looked at her, seen her, checked, checked her, had a \
            look, have looked, ive looked",
        ),
        (
            Nothing,
            "nothing, nothing yet, nothing there, nothing to see, nothing doing, nothing \
            happening, nothing so far, nothing happening yet, still nothing, still nothing \
            yet, nothing there yet, nothing to see yet, nothing seen, seen nothing",
        ),
        (Is(Mark::FalseAlarm), "false, false alarm"),
        (Dam, "cow, heifer, dam"),
        (She, "she, shes"),
        (
            Filler,
            "has, is, the, a, now, just, just now, there, showing, visible, out, i see, i can \
            see, i have, ive, got, ive got, see, i, already, number, animal, thanks, thx, \
            well",
        ),
    ],
    calf_filler: "has, a, the, now, just, just now, got",
    finished_filler: "has, is, the, a, now, just, just now, i, already, number, animal, thanks, thx, well",
    done_filler: "i have, ive",
    out: "out",
    half_day: "am, pm",
    colostrum_words: "of, by, own, from, given, in, frozen",
    of_a_label: "withdrawal, withdrawals, withdraw, withhold, meat, milk",
    whose: dam_words::WHOSE,
    litres: "l, lt, ltr, ltrs, litre, litres, liter, liters",
    millilitres: "ml, mls",
    quarts: "qt, qts, quart, quarts",
    milk: "colostrum, beestings, biestings, tubed, tube, bottle",
    by_tube: "tube, tubed",
    by_bottle: "bottle, teat",
    powder: "powder",
    kilos: "kg, kgs, kilo, kilos",
    pounds: "lb, lbs, pound, pounds",
    by_tape: "tape, taped, by tape",
    by_eye: "estimated, est, by eye, guessed",
    by_scales: "scales, on scales, on the scales, scale",
    to_mother: "to, on, onto, on to, to cow, to heifer, on cow, on to cow",
    before_animal: "on, for, from, by, of",
    before_time: "at, about, around",
    alert: "alert, alarm",
    code: "code",
    within: "in, within, about, around, in about, in around, within about",
    minutes: "m, min, mins, mns, minute, minutes",
    hours: "h, hr, hrs, hour, hours",
    lengths: &[
        (30, "half an hour, half hour, thirty"),
        (60, "an hour, sixty"),
        (5, "five"),
        (10, "ten"),
        (15, "fifteen"),
        (20, "twenty"),
        (40, "forty"),
    ],
    and: "and, &, +, /",
    but: "but, then",
    opening: "good morning, morning, good evening, evening",
    greeting: "sorry, hi, hello, hey, hiya, dear, thanks, many thanks, thank you, thx, ty, ta, cheers, \
        regards, kind regards, best regards, best wishes, all the best, mate, lads, boss, \
        lowbell, hi lowbell, hello lowbell, thanks lowbell",
    to_somebody: "sorry, hi, hello, hey, hiya, dear, thanks, thx, cheers",
    negation: "no, not, nor, neither, never, none, nothing, without, nope, nah, cant, cannot, \
        cudnt, couldnt, isnt, arent, wasnt, werent, hasnt, havent, hadnt, didnt, doesnt, \
        dont, wont, wouldnt, shouldnt, aint, zero, 0, hardly, barely, unable, failed, lacks, \
        lacking, missing, 👎, ❌, ✖, ✗, ✘, 🚫, ⛔, 🙅",
    question: "is, has, did, does, do, are, was, were, can, could, should, would, who, what, when, \
        where, which, why, how, hows, whats, wheres, whos, any, anyone, anybody, anything, \
        shall, may",
    doubt: "maybe, might, may, perhaps, probably, possibly, think, thought, guess, reckon, \
        suppose, hope, hopefully, hoping, unsure, sure, seems, seem, looks, like, if, when, \
        unless, until, till, before, once, should, would, could, wondering, almost, nearly, \
        soon, supposed, waiting, wait, expect, expecting, try, trying, tried, wanted, \
        dreamt, dreamed, 🤷, 🤔, ❓, ❔",
    put_off: "later, hold, on hold, hold it, put it off, ask me again, remind me, call me again, \
        leave it, tell me again",
    later: "later, not now, morning, tomorrow, tmrw, tmr, tmw, tomoz, after, afterwards, afternoon, \
        evening, breakfast, dawn, daylight, first, bit, while, whenever, eventually, \
        sometime, snooze, next, monday, tuesday, wednesday, thursday, friday, saturday, \
        sunday, bed, sleep, busy, except, instead, 😴, \
        💤, 🛌, 🛏",
    others: "ask, tell, ring, call, phone, let, get, send, someone, somebody, else, you, your, \
        he, they, him, them",
    ours: "reply, replying",
    taken_back: "wrong, ignore, scratch, mistake, oops, joking, kidding, typo, disregard, cancel, \
        forget, undo, meant, test, testing",
    put: "put, fit, fitted, move, moved, strap, strapped, we put, i put, i have put, ive put, we moved, i moved, \
        ive moved, i have moved, i fitted",
    on: "on, onto, on to, to, is on, now on, is now on, on cow, on heifer, is on cow, to cow",
    take: "take, took, taken, remove, removed, i took, we took, ive taken, i have taken",
    off: "off, is off, came off, has come off, is taken off, taken off, fell off, has fallen off",
    swap: "swap, swapped, i swapped, ive swapped, exchange, exchanged",
    swap_with: "with, and, for, &, +",
    battery: "battery, batteries, new battery, new batteries",
    battery_filler: "in, for, of, to, changed, change, i changed, ive changed, replaced, new, has, a, got, put, is, was",
    please: "please, pls, now, ok, thanks",
    before_device: "the, sensor, device, the sensor, the device, collar, the collar",
    off_whom: "from, of, cow, heifer",
    inside: inside::ENGLISH,
    rota: swap::ENGLISH,
    hand: hand_on::ENGLISH,
    vet_card: "vet card, vet card for, vet card of, card for the vet, card, card for, the vet card",
    from: "from, from cow, from heifer, off",
    calf: "calf",
    sexes: ["bull, male, b, m", "heifer, female, h, f"],
    beasts: None,
    eased: ["unassisted, unaided", "easy pull, light pull", "hard pull", "caesarean, c section"],
};
