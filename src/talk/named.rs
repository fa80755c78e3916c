//! Several animals in one message: how many, and which.

use super::head::{is_minded, row};
use super::phrases::{Phrases, say};
use super::reader::Reader;
use crate::config::Config;
use crate::plain::ids::Animal;
use crate::rules::verdict::Figures;

/// Animals named in a head: the mail has them all.
pub(super) const NAMED: usize = 4;

/// "25 dams unwatched".
pub(super) fn unwatched(count: usize, said: &Phrases) -> String {
    if count == 0 {
        said.unwatched_none.to_owned()
    } else {
        said.many(count, said.unwatched_one, said.unwatched)
    }
}

/// How many animals a finding is about and the first of them: "3 dams: 114, 207 and 031".
pub fn animals(figures: &Figures, named: usize, said: &Phrases) -> String {
    let (animals, count) = match figures {
        Figures::Gateway { animals, .. } => (animals, unwatched(animals.len(), said)),
        Figures::Unwatched { animals } => {
            (animals, said.many(animals.len(), said.one_dam, said.dams))
        }
        Figures::Clock { .. }
        | Figures::Changed { .. }
        | Figures::Counted { .. }
        | Figures::Level { .. }
        | Figures::Seen { .. }
        | Figures::NotSo { .. }
        | Figures::Due { .. }
        | Figures::Several(_)
        | Figures::Silence { .. }
        | Figures::Ill { .. }
        | Figures::Alone { .. }
        | Figures::Uncovered { .. }
        | Figures::Drill { .. }
        | Figures::Trouble { .. } => return String::new(),
    };
    let mut names: Vec<String> = animals.iter().take(named).map(Animal::to_string).collect();
    if animals.len() > named {
        names.push(say(said.more, &[("n", &(animals.len() - named))]));
    }
    if names.is_empty() { count } else { format!("{count}: {}", said.list(&names)) }
}

/// Every one with her name, her place and what is noted of her.
pub(super) fn named(config: &Config, animals: &[Animal], reader: &Reader) -> String {
    let said = reader.phrases();
    let one = |animal: &Animal| {
        let row = row(config, animal.as_str());
        let name = row.map_or("", |row| row.name.as_str());
        let group = row.map_or("", |row| row.group.as_str());
        // Whoever goes to her must know, also when she is one of many.
        let notes = row.map_or("", |row| row.notes.trim_end_matches('.'));
        let noted = say(said.noted_short, &[("notes", &notes)]);
        let noted = if notes.is_empty() { "" } else { &noted };
        let minded = is_minded(config, animal.as_str());
        let mind = if minded { said.mind_short } else { "" };
        let about: Vec<&str> =
            [mind, group, noted].into_iter().filter(|it| !it.is_empty()).collect();
        let place =
            if about.is_empty() { String::new() } else { format!(" ({})", about.join("; ")) };
        format!("{animal} {name}").trim_end().to_owned() + &place
    };
    let names: Vec<String> = animals.iter().map(one).collect();
    if names.is_empty() { said.nobody.to_owned() } else { said.list(&names) }
}
