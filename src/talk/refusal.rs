//! What is said to whoever says what their part may not, and what they can do instead.

use std::fmt::Display;

use super::phrases::shifts::Shifts;
use super::speech::Speech;
use crate::config::people::Part;
use crate::config::rights::Deed;

pub fn words(part: Part, deed: Deed, speech: &Speech<'_>) -> String {
    let said = speech.shifts;
    let may: Vec<&str> = Part::ALL
        .into_iter()
        .filter(|part| part.may(deed))
        .map(|part| called(part, said))
        .collect();
    let may = match may.as_slice() {
        [most @ .., last] if !most.is_empty() => {
            format!("{} {} {last}", most.join(", "), said.or)
        }
        few => few.concat(),
    };
    let filled: [(&str, &dyn Display); 4] = [
        ("part", &called(part, said)),
        ("deed", &of(deed, said)),
        ("may", &may),
        ("instead", &instead(deed, said)),
    ];
    speech.say(said.may_not, &filled)
}

fn called(part: Part, said: &Shifts) -> &'static str {
    match part {
        Part::Owner => said.owner,
        Part::Stockman => said.stockman,
        Part::Helper => said.helper,
        Part::Vet => said.vet,
        Part::Viewer => said.viewer,
    }
}

/// "call it false".
fn of(deed: Deed, said: &Shifts) -> &'static str {
    match deed {
        Deed::Answer => said.deed_answer,
        Deed::Mark => said.deed_mark,
        Deed::CallFalse => said.deed_false,
        Deed::PutOffUrgent => said.deed_urgent,
        Deed::PutOff => said.deed_later,
        Deed::Rota => said.deed_rota,
        Deed::Device => said.deed_device,
        Deed::Whereabouts => said.deed_inside,
        Deed::Help => said.deed_help,
        Deed::VetCard => said.deed_card,
        Deed::Drill => said.deed_drill,
    }
}

fn instead(deed: Deed, said: &Shifts) -> &'static str {
    match deed {
        Deed::CallFalse => said.instead_see,
        Deed::PutOffUrgent => said.instead_go,
        Deed::Answer | Deed::Mark => said.instead_ring,
        Deed::PutOff
        | Deed::Rota
        | Deed::Device
        | Deed::Whereabouts
        | Deed::Help
        | Deed::VetCard
        | Deed::Drill => said.instead_ask,
    }
}
