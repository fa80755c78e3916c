//! Irish English, as an example of a dialect: only what such a yard says otherwise. Common practice, no source.

use super::{Phrases, english};

pub(super) const PHRASES: Phrases = Phrases {
    go_and_look: "Go out and have a look.",
    mind: "Mind yourself! ",
    full: "
Before you go in
  Never on your own if it can be helped; say where you are.
  Know your way out first. A fresh cow can turn on anybody.
  Wear gloves, wash after. Pregnant women keep away from births and the cleaning.
  Never a vehicle to pull; two people at most, and only while she strains.
This program does not replace your vet or your own eyes. Follow local rules.
",
    not_alone: " Not on your own.",
    ..english::PHRASES
};
