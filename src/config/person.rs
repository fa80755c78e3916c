//! Reads `[[person]]`, and finds people by name for everything else that names them.

use super::address;
use super::faults::{Faults, Place, Placed};
use super::people::{Language, Part, Person};
use super::suggest;
use super::tree::Table;
use crate::plain::ids::PersonName;

/// The people of the farm, in the order of the settings.
#[derive(Debug, Default)]
pub(super) struct People {
    pub(super) list: Vec<Placed<Person>>,
}

pub(super) const PARTS: [(&str, Part); 5] = [
    ("owner", Part::Owner),
    ("stockman", Part::Stockman),
    ("helper", Part::Helper),
    ("vet", Part::Vet),
    ("viewer", Part::Viewer),
];

const SPEAKS: [(&str, Language); 5] = [
    ("en", Language::English),
    ("en-IE", Language::IrishEnglish),
    ("es", Language::Spanish),
    ("de", Language::German),
    ("fr", Language::French),
];

/// Words that a rung calls by; nobody can have one for a name.
pub(super) const CALLS: [&str; 3] = ["on duty", "backup", "everyone"];

/// A name stands in every text; it must leave room for the rest.
const NAME_MAX: usize = 40;

impl People {
    pub(super) fn add(&mut self, table: Table<'_>) {
        let faults = table.faults();
        let name = table.needed("name", "what the farm calls them");
        let part = table.word("part", &PARTS).map_or(Part::Stockman, |part| part.is);
        let mobile = table.text("mobile").map(|text| mobile(&text, faults));
        let mail = table.text("mail").map(|text| mail(&text, faults));
        let speaks = table.word("speaks", &SPEAKS).map_or(Language::English, |speaks| speaks.is);
        table.done();
        let Some(name) = name else {
            return;
        };
        self.check_name(&name, faults);
        if let Some(mail) = &mail {
            self.check_shared(&name, mail, faults);
        }
        self.list.push(Placed {
            is: Person { name: PersonName::new(&name.is), part, mobile, mail, speaks },
            at: name.at,
        });
    }

    /// The person of that name, who may be called; a fault if there is none.
    pub(super) fn find(&self, name: &Placed<String>, faults: &Faults) -> Option<PersonName> {
        let Some(person) = self.get(&name.is) else {
            let title = format!("nobody is called {}", name.is);
            faults.refuse(&name.at, title, self.way_out(&name.is));
            return None;
        };
        if person.part == Part::Viewer {
            let title = format!("{} is a viewer, who is never called", name.is);
            let help = "take the name out, or give them another part";
            faults.refuse(&name.at, title, help);
            return None;
        }
        Some(person.name.clone())
    }

    /// All those named by a key, one or a list.
    pub(super) fn find_all(&self, names: &[Placed<String>], faults: &Faults) -> Vec<PersonName> {
        names.iter().filter_map(|name| self.find(name, faults)).collect()
    }

    pub(super) fn way_out(&self, word: &str) -> String {
        let names: Vec<&str> = self.list.iter().map(|one| one.is.name.as_str()).collect();
        suggest::way_out("people on this farm", word, &names)
    }

    fn get(&self, name: &str) -> Option<&Person> {
        let mut people = self.list.iter().map(|one| &one.is);
        people.find(|person| person.name.as_str() == name)
    }

    fn check_name(&self, name: &Placed<String>, faults: &Faults) {
        let refuse = |title: String, help: &str| faults.refuse(&name.at, title, help);
        let lower = name.is.to_lowercase();
        if name.is.chars().count() > NAME_MAX {
            let title = format!("a name has at most {NAME_MAX} letters");
            refuse(title, "it stands in every text; shorten it");
        }
        let parts = PARTS.iter().map(|(word, _)| *word);
        if parts.chain(CALLS).any(|word| word == lower) {
            let title = format!("nobody can be called {}", name.is);
            refuse(title, "a rung calls by this word; take another name");
        }
        let same = |one: &&Placed<Person>| one.is.name.as_str().to_lowercase() == lower;
        if let Some(other) = self.list.iter().find(same) {
            let title = format!("{} is on this farm already", other.is.name);
            refuse(title, "two people need two names");
        }
    }

    /// An answer is known by its sender's address alone.
    fn check_shared(&self, name: &Placed<String>, mail: &str, faults: &Faults) {
        let same = |one: &&Placed<Person>| {
            let other = one.is.mail.as_deref();
            other.is_some_and(|other| other.eq_ignore_ascii_case(mail))
        };
        if let Some(other) = self.list.iter().find(same) {
            let title = format!("{} and {} share one mail address", other.is.name, name.is);
            let help =
                format!("an answer from it counts as {}'s; give each their own", other.is.name);
            faults.warn(&name.at, title, help);
        }
    }
}

fn mail(text: &Placed<String>, faults: &Faults) -> String {
    if let Some(why) = address::wrong_mail(&text.is) {
        let title = format!("{} is not a mail address", text.is);
        faults.refuse(&text.at, title, why);
    }
    text.is.clone()
}

fn mobile(text: &Placed<String>, faults: &Faults) -> String {
    match address::telephone(&text.is) {
        Some((number, true)) => number,
        Some((number, false)) => {
            let title = format!("{} has no country code", text.is);
            let help = "the gateway gets it as it is; write it like +353860000001";
            faults.warn(&text.at, title, help);
            number
        }
        None => {
            let title = format!("{} is not a telephone number", text.is);
            faults.refuse(&text.at, title, "write it like +353860000001");
            text.is.clone()
        }
    }
}

/// Where a person is named.
pub(super) fn place<'a>(people: &'a People, name: &PersonName) -> Option<&'a Place> {
    let mut list = people.list.iter();
    list.find(|one| one.is.name == *name).map(|one| &one.at)
}
