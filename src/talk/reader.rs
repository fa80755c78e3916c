//! For whom words are made: which part they have on the farm, which language they read, and what their way carries.
//!
//! It finds whom they are to call when they are not sure; it makes no words.

use super::letters;
use super::phrases::{self, Phrases};
use crate::config::Config;
use crate::config::lines::{Letters, Way};
use crate::config::people::{Language, Part, Person};
use crate::plain::ids::{LineName, PersonName};

#[derive(Clone, Debug)]
pub struct Reader {
    pub part: Part,
    pub language: Language,
    who: Option<PersonName>,
    /// `None` where all letters are carried.
    pub(super) letters: Option<Letters>,
}

impl Reader {
    /// Whoever looks at a page of the farm: English, in letters that everything carries.
    pub const fn of_the_house() -> Self {
        let letters = Some(Letters::Plain);
        Self { part: Part::Stockman, language: Language::English, who: None, letters }
    }

    /// A person, and the line by which they are told.
    pub fn of(config: &Config, who: &PersonName, line: Option<&LineName>) -> Self {
        let person = config.people.iter().find(|person| person.name == *who);
        let way = line.and_then(|name| config.lines.iter().find(|line| line.name == *name));
        let letters = match way.map(|line| &line.way) {
            Some(Way::SmsHttp(gateway)) => Some(gateway.letters),
            Some(
                Way::Smtp(_) | Way::Imap(_) | Way::Webhook(_) | Way::Siren(_) | Way::NotYet { .. },
            )
            | None => None,
        };
        Self {
            part: person.map_or(Part::Stockman, |person| person.part),
            language: person.map_or(Language::English, |person| person.speaks),
            who: Some(who.clone()),
            letters,
        }
    }

    pub fn phrases(&self) -> &'static Phrases {
        phrases::of(self.language)
    }

    pub(super) fn is_english(&self) -> bool {
        matches!(self.language, Language::English | Language::IrishEnglish)
    }

    /// The same reader, for what goes into a text message whatever the line is.
    pub(super) fn by_text(&self) -> Self {
        Self { letters: Some(self.letters.unwrap_or_default()), ..self.clone() }
    }

    pub(super) fn fold(&self, text: &str) -> String {
        letters::fold(text, self.letters, self.language).into_owned()
    }

    /// Whom they call when they are not sure: a helper whoever has learned to examine, a stockman the owner, the owner the
    /// vet, the vet the farm. Never themselves, and nobody without a telephone while another has one.
    pub fn whom_to_call<'c>(&self, config: &'c Config) -> Option<&'c Person> {
        let order: &[Part] = match self.part {
            Part::Owner => &[Part::Vet, Part::Owner, Part::Stockman],
            Part::Stockman => &[Part::Owner, Part::Vet, Part::Stockman],
            Part::Helper | Part::Viewer => &[Part::Stockman, Part::Owner, Part::Vet],
            Part::Vet => &[Part::Owner, Part::Stockman, Part::Helper],
        };
        let others = |with_mobile: bool| {
            order.iter().find_map(|part| {
                config.people.iter().find(|person| {
                    let other = self.who.as_ref() != Some(&person.name);
                    person.part == *part && other && person.mobile.is_some() == with_mobile
                })
            })
        };
        others(true).or_else(|| others(false))
    }
}
