//! What is said back to one person: in their language, and in the words of the farm's species.

use std::fmt::Display;

use super::mark_names;
use super::phrases::answers::{self, Answers};
use super::phrases::shifts::{self, Shifts};
use super::phrases::{self, Phrases, say};
use super::spoken;
use crate::alarm::ending::Ending;
use crate::config::Config;
use crate::config::lessons;
use crate::config::people::Language;
use crate::config::species_terms::Terms;
use crate::herd::marked::NotTaken;
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// One person's language, and the farm's species.
pub struct Speech<'c> {
    language: Language,
    terms: &'c Terms,
    zone: &'c Zone,
    young: &'c str,
    the: String,
    pub answers: &'static Answers,
    pub shifts: &'static Shifts,
}

impl<'c> Speech<'c> {
    pub fn to(config: &'c Config, who: &PersonName) -> Self {
        let person = config.people.iter().find(|person| person.name == *who);
        Self::new(config, person.map_or(Language::English, |person| person.speaks))
    }

    /// For the diary, and for everything that has no reader of its own.
    pub fn english(config: &'c Config) -> Self {
        Self::new(config, Language::English)
    }

    pub fn new(config: &'c Config, language: Language) -> Self {
        let (terms, zone) = (&config.terms, &config.farm.zone);
        let own = lessons::young(language, &config.farm.species);
        Self {
            language,
            terms,
            zone,
            young: own.map_or(terms.young.as_str(), |own| own.young.as_str()),
            the: own.map_or_else(|| format!("the {}", terms.young), |own| own.the.clone()),
            answers: answers::of(language),
            shifts: shifts::of(language),
        }
    }

    pub fn phrases(&self) -> &'static Phrases {
        phrases::of(self.language)
    }

    pub fn zone(&self) -> &'c Zone {
        self.zone
    }

    pub fn young(&self) -> &str {
        self.young
    }

    /// Fills words in, with what the species' young are called.
    pub fn say(&self, words: &str, filled: &[(&str, &dyn Display)]) -> String {
        let mut all: Vec<(&str, &dyn Display)> =
            vec![("young", &self.young), ("the", &self.the), ("many", &self.terms.many)];
        all.extend_from_slice(filled);
        say(words, &all)
    }

    /// Words with nothing to fill in but those of the species.
    pub fn plain(&self, words: &str) -> String {
        self.say(words, &[])
    }

    /// "foal", "6th piglet", "zweites Kalb".
    pub fn mark(&self, mark: Mark, calf: Option<u8>) -> String {
        let Some(name) = mark_names::name(self.language, mark) else {
            return spoken::mark(self.terms, mark, calf);
        };
        match calf.filter(|number| mark == Mark::SecondCalf && *number > 2) {
            Some(number) => self.say(self.answers.nth_young, &[("n", &number)]),
            None => self.plain(name),
        }
    }

    /// The same, and of which of her young.
    pub fn mark_of(&self, mark: Mark, calf: Option<u8>) -> String {
        let what = self.mark(mark, calf);
        match calf.filter(|_| mark.is_of_a_calf()) {
            Some(n) => self.say(self.answers.of_young, &[("what", &what), ("n", &n)]),
            None => what,
        }
    }

    /// A note is its writer's own words, but that of a sex is a word of the record.
    pub fn note<'w>(&'w self, mark: Mark, note: &'w str) -> &'w str {
        let is_english = mark_names::name(self.language, mark).is_none();
        match note {
            _ if is_english => spoken::note(self.terms, mark, note),
            "bull" if mark == Mark::Sex => self.answers.male,
            "heifer" if mark == Mark::Sex => self.answers.female,
            note => note,
        }
    }

    pub fn stage(&self, stage: Stage) -> &'static str {
        let said = self.answers;
        match stage {
            Stage::Carrying => said.carrying,
            Stage::First => said.first_stage,
            Stage::Second => said.second_stage,
            Stage::Third => said.third_stage,
            Stage::Recovering => said.recovering,
            Stage::Closed => said.closed,
        }
    }

    /// Why a mark was not kept.
    pub fn not_taken(&self, why: NotTaken) -> String {
        let said = self.answers;
        self.plain(match why {
            NotTaken::NotInHerd => said.not_in_herd,
            NotTaken::BeforeFalse => said.before_false,
            NotTaken::NoYoung => said.no_young_of_her,
            NotTaken::WasAlive => said.was_alive,
            NotTaken::NoSuchYoung => said.no_such_young,
            NotTaken::LaterNoted => said.later_noted,
        })
    }

    /// "Wed 25 Nov".
    pub fn day(&self, at: Moment) -> String {
        let wall = self.zone.wall(at);
        let name = |names: &'static str, at: i8| {
            usize::try_from(at).ok().and_then(|at| names.split(' ').nth(at)).unwrap_or_default()
        };
        let weekday = name(self.shifts.weekdays, wall.weekday().to_monday_zero_offset());
        format!("{weekday} {} {}", wall.day(), name(self.shifts.months, wall.month() - 1))
    }

    /// "Wed 25 Nov 02:05".
    pub fn day_and_clock(&self, at: Moment) -> String {
        format!("{} {}", self.day(at), self.zone.clock(at))
    }

    /// Seconds while they are few enough to be read: "42 s", else "4 min".
    pub fn seconds(&self, span: Span) -> String {
        let whole = span.whole_seconds();
        if whole < 120 { format!("{whole} s") } else { self.phrases().span(span) }
    }

    /// Why an alert is over.
    pub fn ending(&self, ending: &Ending) -> String {
        let said = self.shifts;
        let words = match ending {
            Ending::Told { mark, calf, noted, at, who } => {
                let what = if *noted { String::new() } else { self.mark_of(*mark, *calf) };
                let at = self.zone.clock(*at);
                return self.say(said.over_told, &[("what", &what), ("at", &at), ("who", who)]);
            }
            Ending::Sensed { mark, device } => {
                let what = self.mark(*mark, None);
                return self.say(said.over_sensed, &[("what", &what), ("device", device)]);
            }
            Ending::Out { who } => return self.say(said.over_out, &[("who", who)]),
            Ending::Answered { who } => return self.say(said.over_answered, &[("who", who)]),
            Ending::DrillAnswered { who, after } => {
                let after = self.seconds(*after);
                return self.say(said.drill_answered, &[("who", who), ("after", &after)]);
            }
            Ending::DrillUnanswered { lasted } => {
                let span = self.phrases().span(*lasted);
                return self.say(said.drill_unanswered, &[("span", &span)]);
            }
            Ending::Faded => said.over_faded,
            Ending::Unheard => said.over_unheard,
            Ending::Within => said.over_within,
            Ending::AsBefore => said.over_as_before,
            Ending::Unseen => said.over_unseen,
            Ending::NotSo => said.over_not_so,
            Ending::Well => said.over_well,
            Ending::HeardOrOff => said.over_heard_or_off,
            Ending::Heard => said.over_heard,
            Ending::AboveSilent => said.over_above,
            Ending::Taken => said.over_rota,
            Ending::DrillOver => said.over_drill,
            Ending::Watched => said.over_watched,
            Ending::SeenTo => said.over_seen_to,
            Ending::Works => said.over_works,
            Ending::TakenOut => said.over_taken_out,
            Ending::Grown => said.over_grown,
        };
        words.to_owned()
    }
}
