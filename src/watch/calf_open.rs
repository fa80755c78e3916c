//! What is still open of a calf, by the farm's own rules, and what the answer to a word about a calf adds.
//!
//! It raises nothing: whom to call is the rules' affair. What it adds is what handbooks print, and the vet
//! decides.

use super::Watch;
use super::ready::Ready;
use crate::config::animals::Parity;
use crate::config::people::Language;
use crate::config::rules::{Condition, Limit, Rule};
use crate::config::shipped;
use crate::herd::calf::Calf;
use crate::herd::calf_figures::{self, Warmth};
use crate::herd::calf_outcome::BORN_DEAD;
use crate::herd::dam::Dam;
use crate::herd::noted::Noted;
use crate::herd::sign::Mark;
use crate::plain::ids::Animal;
use crate::plain::moment::{Moment, Span};
use crate::talk::phrases::answers::{self, Answers};
use crate::talk::speech::Speech;

/// Something that is to be seen of a calf by a time.
struct Open {
    what: Mark,
    due: Moment,
}

impl Watch {
    /// "Open: up by 03:40, suck by 04:40."; empty if nothing is. `calf` counts from 1.
    pub(super) fn open_of_calf(
        &self,
        animal: &Animal,
        calf: u8,
        speech: &Speech<'_>,
        ready: &Ready,
    ) -> String {
        let Some(dam) = self.state.dams.get(animal) else { return String::new() };
        let Some(one) = usize::from(calf).checked_sub(1).and_then(|at| dam.calves().get(at)) else {
            return String::new();
        };
        if one.is_dead() {
            return String::new();
        }
        let now = self.state.now;
        let zone = &ready.config.farm.zone;
        let (open, words) = (self.open(dam, one, ready), speech.answers);
        let each: Vec<String> = open
            .iter()
            .map(|open| {
                let due = zone.clock(open.due);
                let late = if open.due <= now { words.late } else { "" };
                let what = to_see(open.what, words).unwrap_or_default();
                speech.say(words.by, &[("what", &what), ("at", &due)]) + late
            })
            .collect();
        let many = dam.calves().len() > 1;
        let whose = if many { format!(", {} {calf}", speech.young()) } else { String::new() };
        if each.is_empty() {
            return String::new();
        }
        let list = each.join("; ");
        speech.say(words.open_young, &[("whose", &whose), ("list", &list)])
    }

    /// The same of every living calf of hers, for a call about one of them.
    pub(super) fn open_of_calves(
        &self,
        animal: &Animal,
        speech: &Speech<'_>,
        ready: &Ready,
    ) -> Vec<String> {
        let count = self.state.dams.get(animal).map_or(0, |dam| dam.calves().len());
        let count = u8::try_from(count).unwrap_or(u8::MAX);
        let each = (1..=count).map(|calf| self.open_of_calf(animal, calf, speech, ready));
        each.filter(|open| !open.is_empty()).collect()
    }

    /// Whether a rule's clock is about calves.
    pub(super) fn is_about_calves(rule: &Rule) -> bool {
        calf_clock(rule).is_some()
    }

    fn open(&self, dam: &Dam, calf: &Calf, ready: &Ready) -> Vec<Open> {
        let now = self.state.now;
        let (cold, english) = (self.is_cold(now), answers::of(Language::English));
        let mut open: Vec<Open> = Vec::new();
        for rule in &ready.config.rules {
            let Some((until, limit)) = calf_clock(rule) else { continue };
            let stages = &rule.while_stages;
            let speaks = stages.is_empty() || stages.iter().any(|word| word == dam.stage.word());
            let marks: Vec<Mark> = until.iter().filter_map(|word| Mark::of_word(word)).collect();
            let seen = |mark: &Mark| {
                let of_calf = calf.marked(*mark);
                let of_dam = dam.track(*mark).map(|track| track.first);
                if mark.is_of_a_calf() { of_calf.is_some() } else { of_dam.is_some() }
            };
            let Some(what) = marks.iter().find(|mark| to_see(**mark, english).is_some()).copied()
            else {
                continue;
            };
            if !speaks || marks.iter().any(seen) {
                continue;
            }
            let Some(limit) = limit_of(limit, dam.parity, cold) else { continue };
            let due = calf.born.at + limit;
            match open.iter_mut().find(|open| open.what == what) {
                // The next of its times; when all are past, the last.
                Some(known) if known.due <= now => known.due = known.due.max(due),
                Some(known) if due > now => known.due = known.due.min(due),
                Some(_) => {}
                None => open.push(Open { what, due }),
            }
        }
        open.sort_by_key(|open| open.due);
        open
    }

    /// What the answer to a word about a calf adds, each thing a sentence: what is open, and what handbooks say
    /// of the figure that was told.
    pub(super) fn said_of_calf(
        &self,
        animal: &Animal,
        speech: &Speech<'_>,
        ready: &Ready,
    ) -> Vec<String> {
        let words = speech.answers;
        let Some(dam) = self.state.dams.get(animal) else { return Vec::new() };
        let Some(noted) = dam.case().noted().last() else { return Vec::new() };
        let Some(calf) = noted.calf else { return straining(dam, noted, speech) };
        let mut said = Vec::new();
        // What the handbooks print here is of cattle.
        let cattle = ready.config.farm.species == shipped::CATTLE;
        said.extend(figures(noted, words).filter(|_| cattle).map(|said| speech.plain(said)));
        if noted.mark == Mark::Weight && cattle {
            said.extend(first_milk(dam, calf, &noted.note, self.purpose(animal, ready), speech));
        }
        if cattle && noted.mark == Mark::Sex && calf_figures::freemartin(dam.case()) {
            // facts.md X-08.
            said.push(words.freemartin.to_owned());
        }
        if noted.mark == Mark::Calf && dam.expects() > 1 && dam.calves().len() == 1 {
            said.push(words.another.to_owned());
        }
        if noted.note != BORN_DEAD {
            said.push(self.open_of_calf(animal, calf, speech, ready));
        }
        said.retain(|one| !one.is_empty());
        said
    }

    fn purpose<'r>(&self, animal: &Animal, ready: &'r Ready) -> &'r str {
        let row = ready.config.animals.iter().find(|row| row.animal == *animal);
        row.map_or("", |row| row.purpose.as_str())
    }

    /// Whose number a tag is already, in words; `None` if it is free. A calf may be told its own again.
    pub(super) fn bears(
        &self,
        tag: &str,
        animal: &Animal,
        calf: Option<u8>,
        speech: &Speech<'_>,
        ready: &Ready,
    ) -> Option<String> {
        let words = speech.answers;
        if tag.is_empty() {
            return None;
        }
        let of_herd = ready.config.animals.iter().find(|row| {
            let eid = row.eid.as_deref().unwrap_or_default();
            calf_figures::same_tag(row.animal.as_str(), tag) || calf_figures::same_tag(eid, tag)
        });
        if let Some(row) = of_herd {
            return Some(speech.say(words.dams_number, &[("animal", &row.animal)]));
        }
        for (name, dam) in self.state.dams.iter() {
            let cases = dam.earlier().iter().map(|case| (false, case));
            for (is_now, case) in cases.chain([(true, dam.case())]) {
                let tagged = case.of(Mark::Tagged).filter(|noted| {
                    let own = is_now
                        && name == animal
                        && calf.is_none_or(|calf| noted.calf == Some(calf));
                    !own && calf_figures::same_tag(&noted.note, tag)
                });
                if tagged.count() > 0 {
                    return Some(speech.say(words.calfs_number, &[("animal", name)]));
                }
            }
        }
        None
    }
}

/// The words that stop a clock which a birth starts and what is seen of a calf stops, and its limit.
fn calf_clock(rule: &Rule) -> Option<(&[String], &Limit)> {
    let Condition::Clock { since, until, limit, .. } = &rule.condition else { return None };
    let of_calf = |word: &String| Mark::of_word(word).is_some_and(Mark::is_of_a_calf);
    let starts = since.iter().any(|word| word == Mark::Calf.word());
    (starts && until.iter().any(of_calf)).then_some((until, limit))
}

/// How long is too long for such a dam's calf in such weather.
fn limit_of(limit: &Limit, parity: Parity, cold: bool) -> Option<Span> {
    limit.of(parity, cold)
}

/// How an answer names what is waited for.
fn to_see(mark: Mark, words: &Answers) -> Option<&'static str> {
    let steps = [
        (Mark::Breathing, words.see_breathing),
        (Mark::Sternal, words.see_sternal),
        (Mark::Trying, words.see_trying),
        (Mark::Up, words.see_up),
        (Mark::Sucked, words.see_suck),
        (Mark::Colostrum, words.see_colostrum),
        (Mark::Navel, words.see_navel),
        (Mark::Tagged, words.see_tag),
        (Mark::Weight, words.see_weight),
        (Mark::Sex, words.see_sex),
    ];
    steps.iter().find(|(step, _)| *step == mark).map(|(_, words)| *words)
}

/// Straining after the calf: the handbooks' first question is whether there is another.
fn straining(dam: &Dam, noted: &Noted, speech: &Speech<'_>) -> Vec<String> {
    let after = dam.track(Mark::Calf).is_some_and(|calf| noted.at > calf.first);
    if noted.mark != Mark::Straining || !after {
        return Vec::new();
    }
    vec![speech.plain(speech.answers.strains_again)]
}

/// What handbooks say of a figure that was told.
fn figures(noted: &Noted, words: &Answers) -> Option<&'static str> {
    if noted.mark == Mark::CalfTemperature {
        return warmth(Warmth::of(calf_figures::temperature_noted(&noted.note)?), words);
    }
    if noted.mark == Mark::Colostrum {
        let brix = calf_figures::feed(noted).brix?;
        // facts.md I-10.
        return (brix < calf_figures::BRIX_GOOD).then_some(words.brix_low);
    }
    match (noted.mark, noted.note.as_str()) {
        // facts.md X-17, and C-18 (two fingers in its mouth: warm and sucking).
        (Mark::Vigour, "cold mouth") => Some(words.cold_mouth),
        // facts.md C-16: it shivers under 100 °F.
        (Mark::Vigour, "shivering") => Some(words.shivering),
        (_, _) => None,
    }
}

/// The ladder of the cold calf. Sources: facts.md C-12 to C-17, X-17.
fn warmth(warmth: Warmth, words: &Answers) -> Option<&'static str> {
    match warmth {
        Warmth::Normal => None,
        Warmth::AboveNormal => Some(words.too_warm),
        Warmth::BelowNormal => Some(words.little_low),
        Warmth::Mild => Some(words.chilled),
        Warmth::Severe => Some(words.very_chilled),
        Warmth::LifelessLooking => Some(words.lifeless),
    }
}

/// How much first milk for its weight, as the two kinds of farm print it, while it has had none. Sources:
/// facts.md I-10 (dairy), I-11 (beef).
fn first_milk(
    dam: &Dam,
    calf: u8,
    note: &str,
    purpose: &str,
    speech: &Speech<'_>,
) -> Option<String> {
    let (grams, _) = calf_figures::weight_noted(note)?;
    if !calf_figures::feeds(dam.case(), calf).is_empty() {
        return None;
    }
    let litres = |percent| {
        let tenths = (calf_figures::share_of_weight(grams, percent) + 50) / 100;
        format!("{}.{}", tenths / 10, tenths % 10)
    };
    let words = speech.answers;
    let dairy = speech.say(words.dairy_dose, &[("litres", &litres(10))]);
    let beef = speech.say(words.beef_dose, &[("least", &litres(5)), ("most", &litres(6))]);
    Some(match purpose {
        "dairy" => speech.say(words.first_milk, &[("dose", &dairy)]),
        "beef" => speech.say(words.first_milk, &[("dose", &beef)]),
        _ => speech.say(words.first_milk_both, &[("dairy", &dairy), ("beef", &beef)]),
    })
}
