//! What a vet on the telephone at half past two asks, in five lines that are read aloud in a minute, and how to
//! find the farm (needs.md N112).
//!
//! It says what is not known as plainly as what is, and gives no advice: the vet decides.

use crate::config::animals::{AnimalRow, Parity};
use crate::config::farm::Farm;
use crate::config::species_terms::Terms;
use crate::herd::case::Case;
use crate::herd::noted::Noted;
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::english;
use crate::plain::ids::Animal;
use crate::plain::moment::{Moment, Span};

use super::wording::{cut, plain};

/// Two text messages joined: 152 plain characters each by the longer way of joining (standards.md SM-03: 3GPP
/// TS 23.040, 9.2.3.24.8).
pub const TEXT_MAX: usize = 304;
/// Read aloud at an easy pace, 130 words take a minute (common practice, no source).
pub const WORDS_MAX: usize = 130;
/// How to find the farm keeps so much of a text, whatever there is to say of her.
const PLACE_MAX: usize = 150;
/// The latest of each kind are what the vet asks for; more would not be heard out.
const TIMES_MAX: usize = 5;
/// Of what was seen the worst is said, and the rest counted.
const SEEN_MAX: usize = 6;
const DONE_MAX: usize = 3;
const NOTE_MAX: usize = 32;

/// What is known of her, as the card needs it.
pub struct Facts<'a> {
    pub farm: &'a Farm,
    pub animal: &'a Animal,
    /// Her row of the herd file, if she has one.
    pub row: Option<&'a AnimalRow>,
    pub parity: Parity,
    pub stage: Stage,
    pub case: &'a Case,
    /// The first and last day of her window, as written.
    pub window: Option<(String, String)>,
    pub now: Moment,
}

/// The five lines and how to find the farm.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Card {
    pub lines: [String; 5],
    pub place: String,
}

pub fn card(facts: &Facts<'_>) -> Card {
    let terms = Terms::of(&facts.farm.species);
    Card {
        lines: [
            format!("Dam {}.", who(facts, &terms, true)),
            format!("Times: {}.", terms.in_words(&times(facts, true))),
            format!("Seen: {}.", terms.in_words(&seen(facts.case, true))),
            format!("Done: {}.", done(facts, true)),
            format!("Temperature: {}.", temperature(facts)),
        ],
        place: place(facts.farm),
    }
}

/// The same for two text messages, plain characters only. Where it is too long, what was done gives way
/// before the rest, and never how to find the farm.
pub fn text(facts: &Facts<'_>) -> String {
    let place = cut(&plain(&place(facts.farm)), PLACE_MAX);
    let room = TEXT_MAX.saturating_sub(place.len() + 1);
    let terms = Terms::of(&facts.farm.species);
    let long = [
        format!("{}.", who(facts, &terms, false)),
        format!("{}.", terms.in_words(&times(facts, false))),
        format!("Seen {}.", terms.in_words(&seen(facts.case, false))),
        format!("Temp {}.", temperature(facts)),
        format!("Done: {}.", done(facts, false)),
    ];
    let mut of_her = String::new();
    for sentence in long {
        let sentence = plain(&sentence);
        let left = room.saturating_sub(of_her.len() + 1);
        // A sentence without its end may say the opposite; only the first may be cut.
        if sentence.len() <= left {
            of_her.push_str(&sentence);
            of_her.push(' ');
        } else if of_her.is_empty() {
            of_her = cut(&sentence, left) + " ";
        }
    }
    format!("{of_her}{place}")
}

fn who(facts: &Facts<'_>, terms: &Terms, long: bool) -> String {
    let mut parts = Vec::new();
    let name = facts.row.map_or("", |row| row.name.as_str());
    parts.push(format!("{} {name}", facts.animal).trim_end().to_owned());
    parts.push(match (facts.parity, facts.row.and_then(|row| row.calvings)) {
        (Parity::Heifer, _) => terms.maiden.clone(),
        (Parity::Cow, Some(n)) if n > 0 => {
            let times = english::many(n.into(), "time", "times");
            terms.in_words(&format!("cow, calved {times} before"))
        }
        (Parity::Cow, _) => terms.dam.clone(),
    });
    if let Some(row) = facts.row {
        if long && !row.breed.is_empty() {
            parts.push(row.breed.clone());
        }
        if long && !row.sire.is_empty() {
            parts.push(format!("sire {}", row.sire));
        }
        if let Some(calves) = row.scanned.filter(|calves| *calves > 1) {
            parts.push(format!("{calves} {} scanned", terms.many));
        }
    }
    parts.push(due(facts));
    parts.push(facts.stage.phrase().to_owned());
    parts.join(", ")
}

/// Days since service where that is one day (facts.md D: day 0 is the day of service), and when she is due.
fn due(facts: &Facts<'_>) -> String {
    let today = facts.farm.zone.wall(facts.now).date();
    let served = facts.row.and_then(|row| row.served).filter(|(from, until)| from == until);
    let day = served.map(|(day, _)| today.duration_since(day).as_hours() / 24);
    match (day.filter(|day| *day >= 0), facts.row.and_then(|row| row.due), &facts.window) {
        (Some(day), _, _) => format!("day {day} after service"),
        (None, Some((from, until)), _) if from == until => format!("due {from}"),
        (None, _, Some((from, until))) => format!("due {from} to {until}"),
        (None, _, None) => "due date not known".to_owned(),
    }
}

/// The marks of a birth, each with its minutes; the first of a kind, and the last progress.
fn times(facts: &Facts<'_>, long: bool) -> String {
    const BIRTH: [Mark; 9] = [
        Mark::TailRaised,
        Mark::Straining,
        Mark::WaterBag,
        Mark::Feet,
        Mark::Nose,
        Mark::Progress,
        Mark::Calf,
        Mark::SecondCalf,
        Mark::Placenta,
    ];
    let mut told: Vec<&Noted> = BIRTH
        .into_iter()
        .filter_map(|mark| {
            let of = facts.case.of(mark);
            if mark == Mark::Progress {
                of.max_by_key(|noted| noted.at)
            } else {
                of.min_by_key(|noted| noted.at)
            }
        })
        .collect();
    told.sort_by_key(|noted| noted.at);
    let skip = told.len().saturating_sub(TIMES_MAX);
    let ago = if long { " ago" } else { "" };
    let mut words: Vec<String> = told
        .into_iter()
        .skip(skip)
        .map(|noted| {
            let clock = facts.farm.zone.clock_by(noted.at, facts.now);
            let about = if noted.timed { "" } else { "told " };
            let since = minutes(facts.now.since(noted.at));
            format!("{} {about}{clock}, {since}{ago}", noted.mark.word())
        })
        .collect();
    if words.is_empty() {
        return "no time of anything is known".to_owned();
    }
    let bag = facts.case.of(Mark::WaterBag).next().is_some();
    let born = facts.case.of(Mark::Calf).next().is_some();
    if !bag && !born {
        words.push("when the water bag went is not known".to_owned());
    }
    words.join("; ")
}

/// Whether she herself has shown since that it is not so any more: the newest of the two decides. That a vet was
/// called or something was given ends nothing here: it is the vet who asks.
fn is_over(case: &Case, mark: Mark) -> bool {
    const ENDS: [(Mark, Mark); 5] = [
        (Mark::Down, Mark::Risen),
        // How she lay in labour is no downer.
        (Mark::Down, Mark::Calf),
        (Mark::OffFeed, Mark::Eating),
        (Mark::Wobbly, Mark::Risen),
        (Mark::Wobbly, Mark::Eating),
    ];
    let last = |mark: Mark| case.of(mark).map(|noted| noted.at).max();
    let ends = ENDS.iter().filter(|(ill, _)| *ill == mark);
    ends.filter_map(|(_, end)| last(*end)).max() > last(mark)
}

/// Minutes as a vet counts them: whole ones up to three hours.
fn minutes(span: Span) -> String {
    let minutes = span.whole_seconds().max(0) / 60;
    if minutes < 180 { format!("{minutes} min") } else { english::span(span) }
}

fn seen(case: &Case, long: bool) -> String {
    // The worst first: what has no room is only counted.
    const LOOKED_FOR: [Mark; 13] = [
        Mark::Prolapse,
        Mark::Bleeding,
        Mark::Down,
        Mark::Stained,
        Mark::Backward,
        Mark::TailOnly,
        Mark::OneFoot,
        Mark::Tongue,
        Mark::Wobbly,
        Mark::Discharge,
        Mark::OffFeed,
        Mark::Feet,
        Mark::Nose,
    ];
    let has = |mark: Mark| case.of(mark).next().is_some() && !is_over(case, mark);
    let born = !case.calves().is_empty();
    let mut words: Vec<&str> = LOOKED_FOR
        .into_iter()
        .filter(|mark| has(*mark))
        .filter(|mark| !(born && matches!(mark, Mark::Feet | Mark::Nose)))
        .map(Mark::word)
        .collect();
    let more = words.len().saturating_sub(SEEN_MAX);
    words.truncate(SEEN_MAX);
    let mut said = match (words.is_empty(), more) {
        (true, _) => "nothing of the calf or of ill health".to_owned(),
        (false, 0) => english::list(&words),
        (false, more) => format!("{}, {more} more noted", words.join(", ")),
    };
    if born {
        let calves = case.calves().len();
        let dead = case.calves().iter().filter(|calf| calf.is_dead()).count();
        said = if words.is_empty() { String::new() } else { format!("{said}; ") };
        said.push_str(&format!("{} born", english::many(calves, "calf", "calves")));
        if dead > 0 {
            said.push_str(&format!(", {dead} dead"));
        }
        if !has(Mark::Placenta) {
            said.push_str("; placenta not seen");
        }
        return said;
    }
    let way = has(Mark::Backward) || has(Mark::OneFoot) || has(Mark::TailOnly);
    match (has(Mark::Feet), has(Mark::Nose), way) {
        (_, _, true) => {}
        (true, false, false) => {
            said.push_str("; nose not seen");
            if long {
                said.push_str(", which way it comes is not known");
            }
        }
        (false, true, false) => said.push_str("; feet not seen"),
        (false, false, false) => said.push_str("; how the calf lies is not known"),
        (true, true, false) => {}
    }
    said
}

fn done(facts: &Facts<'_>, long: bool) -> String {
    const DEEDS: [Mark; 4] = [Mark::Helped, Mark::Treated, Mark::Colostrum, Mark::Vet];
    let mut deeds: Vec<&Noted> = DEEDS.into_iter().flat_map(|mark| facts.case.of(mark)).collect();
    deeds.sort_by_key(|noted| noted.at);
    let skip = deeds.len().saturating_sub(DONE_MAX);
    if deeds.is_empty() {
        let none = if long { "nothing is noted, and no treatment" } else { "nothing noted" };
        return none.to_owned();
    }
    let words = deeds.into_iter().skip(skip).map(|noted| {
        let note = cut(&english::printable(&noted.note, NOTE_MAX), NOTE_MAX);
        let what = match (noted.mark, note.is_empty()) {
            (Mark::Helped, false) => format!("helped, ease {note}"),
            (mark, true) => mark.word().to_owned(),
            (mark, false) => format!("{} {note}", mark.word()),
        };
        format!("{what} at {}", facts.farm.zone.clock_by(noted.at, facts.now))
    });
    let mut said = words.collect::<Vec<_>>().join("; ");
    if facts.case.of(Mark::Treated).next().is_none() {
        said.push_str("; no treatment is noted");
    }
    said
}

fn temperature(facts: &Facts<'_>) -> String {
    let last = facts.case.of(Mark::Temperature).max_by_key(|noted| noted.at);
    match last.filter(|noted| !noted.note.is_empty()) {
        Some(noted) => {
            let clock = facts.farm.zone.clock_by(noted.at, facts.now);
            format!("{} C at {clock}", cut(&english::printable(&noted.note, NOTE_MAX), NOTE_MAX))
        }
        None => "not taken".to_owned(),
    }
}

fn place(farm: &Farm) -> String {
    let yard = &farm.yard;
    let mut words =
        vec![if yard.place.is_empty() { farm.name.clone() } else { yard.place.clone() }];
    for (what, said) in [("Gate", &yard.gate), ("Light", &yard.light), ("Barn", &yard.number)] {
        if !said.is_empty() {
            words.push(format!("{what}: {said}"));
        }
    }
    format!("{}.", words.join(". "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::farm::{Look, Moving, Stillborn, Yard};
    use crate::plain::zone::Zone;

    fn farm() -> Farm {
        let text = |text: &str| text.to_owned();
        Farm {
            name: text("Hollow Bank"),
            zone: Zone::utc(),
            country: text("IE"),
            species: text("cattle"),
            herd: None,
            data: text("data"),
            promise: Span::minutes(30),
            look: Look::default(),
            inside: Span::minutes(20),
            mind_from: 4,
            look_apart: Span::minutes(20),
            moving: Moving::AsYouLike,
            stillborn: Stillborn::default(),
            yard: Yard {
                place: text("Hollow Bank, second lane past the mill"),
                gate: text("blue gate, push hard"),
                light: text("switch left of the door"),
                number: text("+353860000009"),
            },
        }
    }

    fn facts<'a>(farm: &'a Farm, row: &'a AnimalRow, case: &'a Case, now: Moment) -> Facts<'a> {
        let (animal, stage) = (&row.animal, Stage::Second);
        Facts { farm, animal, row: Some(row), parity: row.parity, stage, case, window: None, now }
    }

    fn bramble() -> AnimalRow {
        AnimalRow {
            animal: Animal::new("114"),
            name: "Bramble".to_owned(),
            parity: Parity::Heifer,
            served: Some((jiff::civil::date(2026, 2, 14), jiff::civil::date(2026, 2, 14))),
            breed: "AA".to_owned(),
            ..AnimalRow::default()
        }
    }

    #[test]
    fn the_card_says_minutes_and_what_is_not_known() {
        let (farm, row) = (farm(), bramble());
        let now = Moment::from_rfc3339("2026-11-26T03:10:00Z").unwrap();
        let mut case = Case::default();
        for (mark, ago, note) in
            [(Mark::WaterBag, 75, ""), (Mark::Feet, 60, ""), (Mark::Helped, 20, "3")]
        {
            let noted = Noted {
                timed: true,
                note: note.to_owned(),
                ..Noted::bare(mark, now - Span::minutes(ago))
            };
            let _ = case.note(noted);
        }
        let card = card(&facts(&farm, &row, &case, now));
        assert_eq!(
            card.lines,
            [
                "Dam 114 Bramble, heifer, AA, day 285 after service, second stage.",
                "Times: water bag 01:55, 75 min ago; feet 02:10, 60 min ago.",
                "Seen: feet; nose not seen, which way it comes is not known.",
                "Done: helped, ease 3 at 02:50; no treatment is noted.",
                "Temperature: not taken.",
            ]
        );
        assert_eq!(
            card.place,
            "Hollow Bank, second lane past the mill. Gate: blue gate, push hard. Light: switch left of the door. \
             Barn: +353860000009."
        );
        let text = text(&facts(&farm, &row, &case, now));
        assert!(text.len() <= TEXT_MAX && text.ends_with("+353860000009."), "{text}");
    }

    #[test]
    fn nothing_known_is_said_as_that() {
        let (farm, case) = (farm(), Case::default());
        let row = AnimalRow { animal: Animal::new("207"), ..AnimalRow::default() };
        let card = card(&facts(&farm, &row, &case, Moment::default()));
        assert!(card.lines[0].contains("due date not known"), "{}", card.lines[0]);
        assert!(card.lines[1].contains("no time of anything is known"));
        assert!(card.lines[2].contains("how the calf lies is not known"));
        assert!(card.lines[3].contains("nothing is noted, and no treatment"));
        assert!(card.lines[4].contains("not taken"));
    }

    #[test]
    fn what_is_over_is_not_read_to_the_vet_and_what_is_worst_is_read_first() {
        let at = |n| Moment::from_seconds(60 * n);
        let case = |marks: &[(Mark, i64)]| {
            let mut case = Case::default();
            for (mark, n) in marks {
                let _ = case.note(Noted { timed: true, ..Noted::bare(*mark, at(*n)) });
            }
            case
        };
        let ill = [(Mark::Calf, 0), (Mark::Down, 10), (Mark::OffFeed, 11)];
        assert!(seen(&case(&ill), true).starts_with("down and off feed; 1 calf born"));
        let well = [&ill[..], &[(Mark::Risen, 20), (Mark::Eating, 21)]].concat();
        assert!(seen(&case(&well), true).starts_with("1 calf born"));
        let again = [&well[..], &[(Mark::Down, 30)]].concat();
        assert!(seen(&case(&again), true).starts_with("down; 1 calf born"));
        // She was seen on her feet, and that a vet was called mends nothing.
        let called = [(Mark::Prolapse, 5), (Mark::Vet, 6)];
        assert!(seen(&case(&called), true).starts_with("prolapse"));
        let all = [
            (Mark::Feet, 0),
            (Mark::Nose, 0),
            (Mark::OffFeed, 1),
            (Mark::Discharge, 1),
            (Mark::Wobbly, 1),
            (Mark::Tongue, 1),
            (Mark::Stained, 1),
            (Mark::Bleeding, 1),
            (Mark::Down, 1),
            (Mark::Prolapse, 1),
        ];
        let said = seen(&case(&all), true);
        assert!(said.starts_with("prolapse, bleeding, down, yellow fluid"), "{said}");
        assert!(said.contains("4 more noted"), "{said}");
    }

    #[test]
    fn the_card_of_a_mare_speaks_of_mares_and_foals() {
        let mut farm = farm();
        farm.species = "horse".to_owned();
        let row = AnimalRow { calvings: Some(2), parity: Parity::Cow, ..bramble() };
        let mut case = Case::default();
        let _ = case.note(Noted::bare(Mark::Calf, Moment::default()));
        let card = card(&facts(&farm, &row, &case, Moment::default()));
        let said = card.lines.join(" ");
        assert!(
            said.contains("mare, foaled 2 times before") && said.contains("1 foal born"),
            "{said}"
        );
        assert!(!said.contains("cow") && !said.contains("cal"), "{said}");
    }

    /// Source: 3GPP TS 23.040 9.2.3.24.8 (standards.md SM-03): two joined messages carry 2 x 152 septets.
    #[test]
    fn the_fullest_card_is_read_in_a_minute_and_fits_two_texts() {
        let (mut farm, mut row) = (farm(), bramble());
        farm.yard.place = "p".repeat(40);
        farm.yard.gate = "Gárda ".repeat(7)[..40].to_owned();
        row.name = "Bramble of the [Long] Meadow`".to_owned();
        (row.sire, row.scanned) = ("AX12".to_owned(), Some(2));
        let now = Moment::from_rfc3339("2026-11-26T03:10:00Z").unwrap();
        let mut case = Case::default();
        for (n, mark) in
            Mark::ALL.into_iter().filter(|m| !matches!(m, Mark::FalseAlarm)).enumerate()
        {
            let ago = Span::minutes(200 - 3 * i64::try_from(n).unwrap());
            let note = "word ".repeat(20);
            let _ = case.note(Noted { note, ..Noted::bare(mark, now - ago) });
        }
        for case in [case, Case::default()] {
            let card = card(&facts(&farm, &row, &case, now));
            let words =
                card.lines.iter().chain([&card.place]).flat_map(|line| line.split_whitespace());
            let words = words.count();
            assert!(words <= WORDS_MAX, "{words} words: {card:?}");
            let text = text(&facts(&farm, &row, &case, now));
            assert!(text.len() <= TEXT_MAX && text.is_ascii(), "{}: {text}", text.len());
            assert!(!text.contains(['[', ']', '`', '|', '~', '^', '{', '}', '\\']), "{text}");
        }
    }
}
