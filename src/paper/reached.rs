//! Whom calls are known to reach: one line a person, with each way to them and when words last came back by it.

use crate::plain::ids::PersonName;
use crate::plain::zone::Zone;
use crate::watch::contacts::ContactView;
use crate::watch::view::Board;

/// What is known of the ways to a person: "mail 2026-11-24 12:30, text never"; empty if there are none.
pub fn ways(board: &Board, zone: &Zone, who: &PersonName) -> String {
    let own = board.contacts.iter().filter(|view| view.person == *who);
    let each: Vec<String> = own.map(|view| way(view, zone)).collect();
    each.join(", ")
}

/// Everybody in the order of the settings: when each way was last proven, and who is no cover.
pub fn lines(board: &Board, zone: &Zone) -> Vec<String> {
    let mut people: Vec<&PersonName> = Vec::new();
    for view in &board.contacts {
        if !people.contains(&&view.person) {
            people.push(&view.person);
        }
    }
    let line = |who: &&PersonName| {
        let counts = board.contacts.iter().all(|view| view.person != **who || view.counts);
        let cover = if counts { "" } else { "; no cover until a word comes back" };
        format!("{who} last answered: {}{cover}.", ways(board, zone, who))
    };
    people.iter().map(line).collect()
}

fn way(view: &ContactView, zone: &Zone) -> String {
    let proven = view.proven.map_or("never".to_owned(), |at| zone.date_and_clock(at));
    format!("{} {proven}", view.line)
}
