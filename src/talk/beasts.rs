//! Every species' words for dam, young and birth, put into those of cattle before anything is understood:
//! so "foal up" is heard wherever "calf up" is, on every farm.
//!
//! One word for one word; what is shown to people is never taken from here.

use super::words::{self, Words};

/// "lambs" beside these is the lamb's: the apostrophe has gone by then.
const OF_ONE: [&str; 2] = ["feet", "nose"];

/// What is said of a goat's kid and not of a child: "kid up" is neither for sure.
const OF_A_KID: [&str; 6] = ["born", "sucked", "suckled", "sucking", "feet", "nose"];

/// What cattle people would say for a word, if it is another species'. `next` is the word behind it.
pub(super) fn of_cattle(word: &str, next: Option<&str>, table: &Words) -> Option<&'static str> {
    let Some(beasts) = table.beasts else { return english(word, next) };
    beasts.iter().find(|(_, others)| words::has(others, word)).map(|(cattle, _)| *cattle)
}

fn english(word: &str, next: Option<&str>) -> Option<&'static str> {
    let before_young = next.is_some_and(is_young);
    Some(match word {
        // "ewe lamb" is a lamb, not a ewe and a lamb.
        "ewe" | "doe" | "gilt" | "filly" if before_young => "heifer",
        "ram" | "tup" | "buck" | "billy" | "boar" | "colt" if before_young => "bull",
        "lambs" | "foals" | "kids" | "piglets" | "crias" => {
            if next.is_some_and(|next| OF_ONE.contains(&next)) { "calfs" } else { "calves" }
        }
        // On a farm without goats a kid is a child.
        "kid" if next.is_none_or(|next| !OF_A_KID.contains(&next)) => return None,
        young if is_young(young) => "calf",
        "colt" | "filly" => "calf",
        "alpaca" if next == Some("cria") => "the",
        "buffalo" if next == Some("calf") => "the",
        "mare" | "ewe" | "doe" | "nanny" | "sow" | "alpaca" | "buffalo" => "cow",
        "gilt" => "heifer",
        "foaled" | "lambed" | "kidded" | "farrowed" => "calved",
        // "kidding" is what people say who joke.
        "foaling" | "lambing" | "farrowing" => "calving",
        _ => return None,
    })
}

fn is_young(word: &str) -> bool {
    ["foal", "lamb", "kid", "piglet", "cria"].contains(&word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_every_species_are_those_of_cattle() {
        for (said, heard) in [
            (("foal", Some("up")), Some("calf")),
            (("ewe", Some("lamb")), Some("heifer")),
            (("ewe", Some("up")), Some("cow")),
            (("colt", Some("foal")), Some("bull")),
            (("colt", None), Some("calf")),
            (("lambs", Some("feet")), Some("calfs")),
            (("lambs", Some("sucked")), Some("calves")),
            (("farrowed", None), Some("calved")),
            (("kidding", None), None),
            (("feet", None), None),
        ] {
            assert_eq!(english(said.0, said.1), heard, "{said:?}");
        }
    }
}
