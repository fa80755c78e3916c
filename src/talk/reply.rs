//! What did they mean? From the words of a reply to answers and marks.
//!
//! Whoever answers is half asleep, and what we make of their words may silence an alarm. So only
//! what is understood whole counts; the rest is handed back as not understood, and gets a polite
//! answer. Nothing here knows which alert is meant, nor whether the writer may answer it.

use super::answer::{Answer, Kind};
use super::card_asked;
use super::clause::{self, Sentence};
use super::fitting::{self, Fitting};
use super::hand_on;
use super::hearing::{self, Heard, What};
use super::inside::{self, Whereabouts};
use super::known::Known;
pub use super::mark_said::MarkSaid;
use super::night_sheet;
use super::put_off;
use super::quoted;
use super::swap::{self, RotaSaid};
use super::target::Target;
use super::tongue;
use super::weighing::{lose, weigh};
use super::words::{self, Words};
use crate::config::people::Language;

/// Nobody types more than this at night; longer is something pasted.
const TEXT_MOST: usize = 2_000;
/// Longer than this is read in the writer's own language alone: whoever writes so much is at home in it.
const OTHERS_MOST: usize = 120;
/// A whole night sheet typed back: 120 rows with a few looks each.
const SHEET_MOST: usize = 8_000;
/// More than this from one reply is a list, and better told in pieces.
const SAYINGS_MOST: usize = 12;

/// All that a reply says. A code or a number of an alert with nothing said and nothing left is the
/// shortest answer there is; with something left it may be a question about that alert.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Meaning {
    /// The code of an open alert, in capitals.
    pub code: Option<String>,
    /// The number of an alert ("1", "alert 1", "#1"): whether there is such an alert is not known here.
    pub alert_no: Option<u64>,
    /// The animal beside an answer or alone ("going 207", "207"), where no mark took it. An answer
    /// counts only for an alert about that animal. A number alone that is an animal of the farm may
    /// be the animal or the alert: then this and `alert_no` are both set, and either may be meant.
    pub animal: Option<String>,
    pub said: Vec<Saying>,
    /// The clauses that were not understood, as typed; empty if all were.
    pub left: String,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Saying {
    /// "I go"; back or there within so many minutes, if they said so.
    Going {
        minutes: Option<u32>,
    },
    /// "Not me": the next may be asked at once.
    Pass,
    /// "later 30": seen, and nobody need be called for so many minutes; without a number, till the next list.
    PutOff {
        minutes: Option<u32>,
    },
    Mark(MarkSaid),
    /// Something was done to a device.
    Fitting(Fitting),
    /// Somebody is in with a dam, or out again.
    Is(Whereabouts),
    /// Somebody by name is to have it.
    GiveTo(String),
    /// "I take over": from whoever has it.
    TakeOver,
    /// Who takes which shift.
    Rota(RotaSaid),
    /// What the vet needs to know of a dam is asked for.
    VetCard(Option<String>),
    /// A line of the night sheet that was not understood: the question back.
    Ask(String),
}

/// Understands the whole text of a reply as it came, quoted lines and all: only its new words count.
///
/// A code that is not open, two codes or two alert numbers make it unclear what is answered; then
/// only marks that name their own animal count.
///
/// It is read in the writer's own language first. If nothing of it counts there, it counts where English understands it
/// whole, and else where every other language that understands it whole agrees. A dialect is for its own people alone.
pub fn understand(text: &str, known: &Known<'_>, speaks: Language) -> Meaning {
    let own = understand_in(tongue::of(speaks), text, known);
    let is_long = || quoted::new_text(text).len() > OTHERS_MOST;
    if own.is_whole() || !own.said.is_empty() || is_long() {
        return own;
    }
    let english = understand_in(tongue::of(Language::English), text, known);
    if english.is_whole() {
        return english;
    }
    let other = |language: Language| language != speaks && language != Language::IrishEnglish;
    let others = tongue::ALL.iter().filter(|(language, _)| other(*language));
    let mut others: Vec<Meaning> =
        others.map(|(_, table)| understand_in(table, text, known)).collect();
    others.retain(Meaning::is_whole);
    match others.split_first() {
        Some((first, rest)) if rest.iter().all(|other| other == first) => first.clone(),
        Some(_) | None => own,
    }
}

fn understand_in(table: &Words, text: &str, known: &Known<'_>) -> Meaning {
    let new = quoted::new_text(text);
    let (new, cut_sheet) = capped_at(&new, SHEET_MOST);
    let sheet = night_sheet::take(new, known);
    let (new, cut) = capped(&sheet.rest);
    let cut = cut || cut_sheet;
    let (fittings, new) = fitting::take(new, known, table);
    let (cards, new) = card_asked::take(&new, known, table);
    let (whereabouts, new) = inside::take(&new, known, table);
    let rota = || swap::read(&new, known, table).map(Meaning::of);
    let hand = || hand_on::alone(&new, known, table);
    if let Some(meaning) = put_off::alone(&new, known, table).or_else(rota).or_else(hand) {
        return meaning;
    }
    let mut sentences = clause::sentences(&new, table);
    drop_opening(&mut sentences, table);
    let target = Target::take(&mut sentences, known, table);
    let all: Vec<String> =
        sentences.iter().flat_map(Sentence::words).map(|word| word.plain.clone()).collect();
    let ours: Vec<usize> = sentences
        .iter()
        .filter(|sentence| sentence.words().any(|word| words::has(table.ours, &word.plain)))
        .map(|sentence| sentence.line)
        .collect();
    let mut heard = hearing::listen(sentences, known, table);
    lose(&mut heard, |heard| ours.contains(&heard.line));
    weigh(&mut heard, &all, table);
    if target.unclear {
        lose(&mut heard, |heard| match &heard.what {
            What::Mark(said) => said.animal.is_none(),
            What::Answer(_) | What::Named(_) | What::Lost => true,
        });
    }
    let doubt = is_doubtful(&all, table);
    let mut meaning = gather(heard, target, cut);
    for (fitting, said) in fittings {
        if doubt || !meaning.say(Saying::Fitting(fitting)) {
            meaning.left = [meaning.left.as_str(), said.trim()].join(" ").trim().to_owned();
        }
    }
    for (animal, said) in cards {
        if !meaning.say(Saying::VetCard(animal)) {
            meaning.left = [meaning.left.as_str(), &said].join(" ").trim().to_owned();
        }
    }
    let taken_back = is_taken_back(&all, table);
    for (whereabouts, said) in whereabouts {
        // Whoever says "in" is in, whatever they do not see there; "out" must be beyond doubt.
        let doubt = match &whereabouts {
            Whereabouts::In { .. } | Whereabouts::Help { .. } => taken_back,
            Whereabouts::Out { .. } => doubt,
        };
        if doubt || !meaning.say(Saying::Is(whereabouts)) {
            meaning.left = [meaning.left.as_str(), &said].join(" ").trim().to_owned();
        }
    }
    let sheet_stands = !is_taken_back(&all, table);
    let rows = sheet.marks.into_iter().filter(|_| sheet_stands).map(Saying::Mark);
    let asks = sheet.asks.into_iter().map(Saying::Ask);
    meaning.said.splice(0..0, rows.chain(asks));
    meaning
}

fn is_taken_back(all: &[String], table: &Words) -> bool {
    let all: Vec<&str> = all.iter().map(String::as_str).collect();
    (0..all.len()).any(|at| words::longest_of(table.taken_back, &all[at..]).is_some())
}

/// Whether the words beside what was done to a device deny it, doubt it, put it off or take it back.
fn is_doubtful(all: &[String], table: &Words) -> bool {
    let all: Vec<&str> = all.iter().map(String::as_str).collect();
    let any = |list: &str| (0..all.len()).any(|at| words::longest_of(list, &all[at..]).is_some());
    [table.taken_back, table.doubt, table.later, table.negation].into_iter().any(any)
}

/// The text up to its last whole line within the cap, and whether something was cut off.
fn capped(text: &str) -> (&str, bool) {
    capped_at(text, TEXT_MOST)
}

fn capped_at(text: &str, most: usize) -> (&str, bool) {
    let Some((end, _)) = text.char_indices().nth(most) else {
        return (text, false);
    };
    let whole = text[..end].rfind('\n').unwrap_or(0);
    (&text[..whole], true)
}

/// "Morning, going now" greets; "in the morning" does not.
pub(super) fn drop_opening(sentences: &mut [Sentence], table: &Words) {
    let clause = sentences.first_mut().and_then(|first| first.clauses.first_mut());
    if let Some(piece) = clause.and_then(|clause| clause.first_mut())
        && let Some(count) = words::longest_of(table.opening, &clause::plain(piece))
    {
        piece.drain(..count);
    }
}

fn gather(mut heard: Vec<Heard>, mut target: Target, cut: bool) -> Meaning {
    settle_named(&mut heard);
    let mut meaning = Meaning { animal: target.animal.take(), ..Meaning::default() };
    let mut left = std::mem::take(&mut target.stray);
    for one in &heard {
        let taken = match &one.what {
            What::Answer(answer) => meaning.answer(answer, &mut target),
            What::Mark(said) => meaning.say(Saying::Mark(said.clone())),
            What::Named(animal) => meaning.about(animal),
            What::Lost => false,
        };
        if !taken && left.last() != Some(&one.said) {
            left.push(one.said.clone());
        }
    }
    left.append(&mut target.stray);
    if target.unclear && left.is_empty() {
        left.extend(target.code.take());
        left.extend(target.alert_no.take().map(|number| number.to_string()));
    }
    if cut {
        left.push("…".to_owned());
    }
    if target.unclear {
        meaning.said.retain(|saying| match saying {
            Saying::Mark(said) => said.animal.is_some(),
            Saying::Going { .. }
            | Saying::Pass
            | Saying::Fitting(_)
            | Saying::Is(_)
            | Saying::PutOff { .. }
            | Saying::GiveTo(_)
            | Saying::TakeOver
            | Saying::Rota(_)
            | Saying::VetCard(_)
            | Saying::Ask(_) => false,
        });
    } else {
        meaning.code = target.code;
        meaning.alert_no = target.alert_no;
    }
    meaning.left = left.join(", ");
    meaning
}

/// "feet 0210, 114": an animal named last goes to the marks before it, if none of them has one.
fn settle_named(heard: &mut Vec<Heard>) {
    let named = heard.iter().enumerate().find_map(|(at, one)| match &one.what {
        What::Named(animal) => Some((at, animal.clone())),
        What::Answer(_) | What::Mark(_) | What::Lost => None,
    });
    let Some((at, animal)) = named else {
        return;
    };
    let mut marks: Vec<&mut MarkSaid> = heard
        .iter_mut()
        .filter_map(|one| match &mut one.what {
            What::Mark(said) => Some(said),
            What::Answer(_) | What::Named(_) | What::Lost => None,
        })
        .collect();
    if marks.is_empty() {
        return;
    }
    if marks.iter().all(|said| said.animal.is_none()) {
        for said in &mut marks {
            said.animal = Some(animal.clone());
        }
    }
    if marks.iter().any(|said| said.animal.as_ref() == Some(&animal)) {
        heard.remove(at);
    } else {
        heard[at].what = What::Lost;
    }
}

impl Meaning {
    /// All of it was understood, and it says something.
    fn is_whole(&self) -> bool {
        let asks = self.said.iter().any(|saying| matches!(saying, Saying::Ask(_)));
        self.left.is_empty() && !asks && *self != Self::default()
    }

    fn say(&mut self, saying: Saying) -> bool {
        if self.said.contains(&saying) {
            return true;
        }
        let room = self.said.len() < SAYINGS_MOST;
        if room {
            self.said.push(saying);
        }
        room
    }

    fn answer(&mut self, answer: &Answer, target: &mut Target) -> bool {
        if let Some(animal) = &answer.animal
            && !self.about(animal)
        {
            return false;
        }
        if let Some(number) = answer.alert {
            target.name_alert(number, &number.to_string());
        }
        let saying = match answer.kind {
            Kind::Going(_) => Saying::Going { minutes: answer.minutes },
            Kind::Pass { .. } => Saying::Pass,
        };
        // Said twice, the shorter promise holds: it runs out, and tells people, sooner.
        for old in &mut self.said {
            match (&saying, old) {
                (Saying::Going { minutes: new }, Saying::Going { minutes: old }) => {
                    *old = match (*old, *new) {
                        (Some(old), Some(new)) => Some(old.min(new)),
                        (old, new) => old.or(new),
                    };
                    return true;
                }
                (Saying::Pass, Saying::Pass) => return true,
                (
                    Saying::Going { .. }
                    | Saying::Pass
                    | Saying::Mark(_)
                    | Saying::Fitting(_)
                    | Saying::Is(_)
                    | Saying::PutOff { .. }
                    | Saying::GiveTo(_)
                    | Saying::TakeOver
                    | Saying::Rota(_)
                    | Saying::VetCard(_)
                    | Saying::Ask(_),
                    _,
                ) => {}
            }
        }
        self.say(saying)
    }

    /// Two animals beside answers: neither is meant for sure.
    fn about(&mut self, animal: &str) -> bool {
        let same = self.animal.as_deref().is_none_or(|old| old == animal);
        if same {
            self.animal = Some(animal.to_owned());
        }
        same
    }
}
