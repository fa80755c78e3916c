//! Several animals in one message: how many, and which.

use super::wording::{mind, row};
use crate::config::Config;
use crate::plain::english;
use crate::plain::ids::Animal;
use crate::rules::verdict::Figures;

/// Animals named in a head: the mail has them all.
pub(super) const NAMED: usize = 4;

/// "25 dams unwatched".
pub(super) fn unwatched(count: usize) -> String {
    if count == 0 {
        "no dam unwatched".to_owned()
    } else {
        format!("{} unwatched", english::many(count, "dam", "dams"))
    }
}

/// How many animals a finding is about and the first of them: "3 dams: 114, 207 and 031".
pub fn animals(figures: &Figures, named: usize) -> String {
    let (animals, count) = match figures {
        Figures::Gateway { animals, .. } => (animals, unwatched(animals.len())),
        Figures::Unwatched { animals } => (animals, english::many(animals.len(), "dam", "dams")),
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
        names.push(format!("{} more", animals.len() - named));
    }
    if names.is_empty() { count } else { format!("{count}: {}", english::list(&names)) }
}

/// Every one with her name, her place and what is noted of her.
pub(super) fn named(config: &Config, animals: &[Animal]) -> String {
    let one = |animal: &Animal| {
        let row = row(config, animal.as_str());
        let name = row.map_or("", |row| row.name.as_str());
        let group = row.map_or("", |row| row.group.as_str());
        // Whoever goes to her must know, also when she is one of many.
        let notes = row.map_or("", |row| row.notes.trim_end_matches('.'));
        let noted = if notes.is_empty() { String::new() } else { format!("noted: {notes}") };
        let mind = mind(config, animal.as_str()).map_or("", |_| "mind her");
        let about: Vec<&str> =
            [mind, group, &noted].into_iter().filter(|it| !it.is_empty()).collect();
        let place =
            if about.is_empty() { String::new() } else { format!(" ({})", about.join("; ")) };
        format!("{animal} {name}").trim_end().to_owned() + &place
    };
    let names: Vec<String> = animals.iter().map(one).collect();
    if names.is_empty() { "nobody".to_owned() } else { english::list(&names) }
}
