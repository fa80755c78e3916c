//! What is still open of a calf, by the farm's own rules, and what the answer to a word about a calf adds.
//!
//! It raises nothing: whom to call is the rules' affair. What it adds is what handbooks print, and the vet
//! decides.

use super::Watch;
use super::ready::Ready;
use crate::config::animals::Parity;
use crate::config::rules::{Condition, Limit, Rule};
use crate::config::shipped;
use crate::herd::calf::Calf;
use crate::herd::calf_figures::{self, Warmth};
use crate::herd::calf_outcome::BORN_DEAD;
use crate::herd::dam::Dam;
use crate::herd::noted::Noted;
use crate::herd::sign::Mark;
use crate::plain::english;
use crate::plain::ids::Animal;
use crate::plain::moment::{Moment, Span};

/// Something that is to be seen of a calf by a time.
struct Open {
    what: &'static str,
    due: Moment,
}

impl Watch {
    /// "Open: up by 03:40, suck by 04:40."; empty if nothing is. `calf` counts from 1.
    pub(super) fn open_of_calf(&self, animal: &Animal, calf: u8, ready: &Ready) -> String {
        let Some(dam) = self.state.dams.get(animal) else { return String::new() };
        let Some(one) = usize::from(calf).checked_sub(1).and_then(|at| dam.calves().get(at)) else {
            return String::new();
        };
        if one.is_dead() {
            return String::new();
        }
        let now = self.state.now;
        let zone = &ready.config.farm.zone;
        let open = self.open(dam, one, ready);
        let each: Vec<String> = open
            .iter()
            .map(|open| {
                let due = zone.clock(open.due);
                let late = if open.due <= now { ", late" } else { "" };
                format!("{} by {due}{late}", open.what)
            })
            .collect();
        let whose = if dam.calves().len() > 1 { format!(", calf {calf}") } else { String::new() };
        if each.is_empty() { String::new() } else { format!("Open{whose}: {}.", each.join("; ")) }
    }

    /// The same of every living calf of hers, for a call about one of them.
    pub(super) fn open_of_calves(&self, animal: &Animal, ready: &Ready) -> Vec<String> {
        let count = self.state.dams.get(animal).map_or(0, |dam| dam.calves().len());
        let count = u8::try_from(count).unwrap_or(u8::MAX);
        let each = (1..=count).map(|calf| self.open_of_calf(animal, calf, ready));
        each.filter(|open| !open.is_empty()).collect()
    }

    /// Whether a rule's clock is about calves.
    pub(super) fn is_about_calves(rule: &Rule) -> bool {
        calf_clock(rule).is_some()
    }

    fn open(&self, dam: &Dam, calf: &Calf, ready: &Ready) -> Vec<Open> {
        let now = self.state.now;
        let cold = self.is_cold(now);
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
            let Some(what) = marks.iter().find_map(|mark| to_see(*mark)) else { continue };
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
    pub(super) fn said_of_calf(&self, animal: &Animal, ready: &Ready) -> Vec<String> {
        let Some(dam) = self.state.dams.get(animal) else { return Vec::new() };
        let Some(noted) = dam.case().noted().last() else { return Vec::new() };
        let Some(calf) = noted.calf else { return straining(dam, noted) };
        let mut said = Vec::new();
        // What the handbooks print here is of cattle.
        let cattle = ready.config.farm.species == shipped::CATTLE;
        said.extend(figures(noted).filter(|_| cattle));
        if noted.mark == Mark::Weight && cattle {
            said.extend(first_milk(dam, calf, &noted.note, self.purpose(animal, ready)));
        }
        if cattle && noted.mark == Mark::Sex && calf_figures::freemartin(dam.case()) {
            // facts.md X-08.
            said.push(
                "Bull and heifer twins: the heifer is likely barren (13 of 14 in a study of 1934)."
                    .to_owned(),
            );
        }
        if noted.mark == Mark::Calf && dam.expects() > 1 && dam.calves().len() == 1 {
            said.push("A scan showed more than one: look for another.".to_owned());
        }
        if noted.note != BORN_DEAD {
            said.push(self.open_of_calf(animal, calf, ready));
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
        ready: &Ready,
    ) -> Option<String> {
        if tag.is_empty() {
            return None;
        }
        let of_herd = ready.config.animals.iter().find(|row| {
            let eid = row.eid.as_deref().unwrap_or_default();
            calf_figures::same_tag(row.animal.as_str(), tag) || calf_figures::same_tag(eid, tag)
        });
        if let Some(row) = of_herd {
            return Some(format!("dam {} has that number", row.animal));
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
                    return Some(format!("a calf of {name} has that number"));
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
fn to_see(mark: Mark) -> Option<&'static str> {
    let steps = [
        (Mark::Breathing, "breathing"),
        (Mark::Sternal, "on its breast"),
        (Mark::Trying, "trying to stand"),
        (Mark::Up, "up"),
        (Mark::Sucked, "suck"),
        (Mark::Colostrum, "colostrum"),
        (Mark::Navel, "navel"),
        (Mark::Tagged, "tag"),
        (Mark::Weight, "weight"),
        (Mark::Sex, "sex"),
    ];
    steps.iter().find(|(step, _)| *step == mark).map(|(_, words)| *words)
}

/// Straining after the calf: the handbooks' first question is whether there is another.
fn straining(dam: &Dam, noted: &Noted) -> Vec<String> {
    let after = dam.track(Mark::Calf).is_some_and(|calf| noted.at > calf.first);
    if noted.mark != Mark::Straining || !after {
        return Vec::new();
    }
    vec![
        "Is there another calf? Feel with clean gloves, or ask the vet; if none, answer single."
            .to_owned(),
    ]
}

/// What handbooks say of a figure that was told.
fn figures(noted: &Noted) -> Option<String> {
    let words = if noted.mark == Mark::CalfTemperature {
        warmth(Warmth::of(calf_figures::temperature_noted(&noted.note)?))?
    } else if noted.mark == Mark::Colostrum {
        let brix = calf_figures::feed(noted).brix?;
        if brix >= calf_figures::BRIX_GOOD {
            return None;
        }
        // facts.md I-10.
        "Under Brix 22 it holds less than 50 g of antibodies a litre: use better if you have it."
    } else if noted.mark == Mark::Vigour && noted.note == "cold mouth" {
        // facts.md X-17, and C-18 (two fingers in its mouth: warm and sucking).
        "A calf with a cold mouth cannot suck: take its temperature, warm it, ask the vet."
    } else if noted.mark == Mark::Vigour && noted.note == "shivering" {
        // facts.md C-16: it shivers under 100 °F.
        "It may be chilled: take its temperature."
    } else {
        return None;
    };
    Some(words.to_owned())
}

/// The ladder of the cold calf. Sources: facts.md C-12 to C-17, X-17.
fn warmth(warmth: Warmth) -> Option<&'static str> {
    match warmth {
        Warmth::Normal => None,
        Warmth::AboveNormal => Some("Over 40.0 C: too warm for a newborn. Ask the vet."),
        Warmth::BelowNormal => {
            Some("A little low (normal is 38.6 to 39.2 C): dry it and take it again soon.")
        }
        Warmth::Mild => Some(
            "Chilled (under 37.8 C): dry it and warm it now. First milk only if it can swallow; \
             if it cannot, ask the vet. Take it again.",
        ),
        Warmth::Severe => Some(
            "Severely chilled (under 34.4 C): call the vet, warm it now. A bath of 38 C is quickest: \
             hold its head up. Nothing by mouth unless it can swallow.",
        ),
        Warmth::LifelessLooking => Some(
            "Under 30 C it may look dead and live: call the vet now and warm it. A bath of 38 C is \
             quickest: hold its head up. Nothing by mouth.",
        ),
    }
}

/// How much first milk for its weight, as the two kinds of farm print it, while it has had none. Sources:
/// facts.md I-10 (dairy), I-11 (beef).
fn first_milk(dam: &Dam, calf: u8, note: &str, purpose: &str) -> Option<String> {
    let (grams, _) = calf_figures::weight_noted(note)?;
    if !calf_figures::feeds(dam.case(), calf).is_empty() {
        return None;
    }
    let litres = |percent| {
        let tenths = (calf_figures::share_of_weight(grams, percent) + 50) / 100;
        format!("{}.{}", tenths / 10, tenths % 10)
    };
    let dairy = format!("10 % of its weight is {} l, within 6 h", litres(10));
    let beef = format!("5 to 6 % is {} to {} l, within 4 h", litres(5), litres(6));
    let both = [format!("dairy books: {dairy}"), format!("beef books: {beef}")];
    Some(match purpose {
        "dairy" => format!("First milk: {dairy}."),
        "beef" => format!("First milk: {beef}."),
        _ => format!("First milk, {}.", english::list(&both)),
    })
}
