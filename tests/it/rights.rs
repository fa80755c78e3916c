//! What each part of the farm may do by words, through the whole watch, against a table that was written beside it and not
//! taken from it (needs.md N92: some may look, few may change; it is enforced where words come to something).

use lowbell::alarm::message::MessageKind;

use super::storyteller::Teller;

/// The words, and who may say them so that they count: o(wner), s(tockman), h(elper), v(et), V(iewer).
const TABLE: [(&str, &str); 19] = [
    ("going 207", "oshv"),
    ("1 pass", "oshv"),
    ("207 feet", "oshv"),
    ("207 nothing yet", "oshv"),
    ("207 calf 2055", "oshv"),
    ("207 treated calcium 400 ml", "oshv"),
    ("207 false", "osv"),
    ("later 5 4", "osv"),
    ("4 hold", "osv"),
    ("put k-114 on 207", "oshv"),
    ("take k-207 off", "oshv"),
    ("in 207", "oshv"),
    ("Ana is out", "oshv"),
    ("help 207", "oshvV"),
    ("vet card 207", "oshvV"),
    ("ill until fri", "osh"),
    ("swap fri Tom", "osh"),
    ("well", "osh"),
    ("drill", "os"),
];

const PEOPLE: [(char, &str); 5] =
    [('o', "owner"), ('s', "stockman"), ('h', "helper"), ('v', "vet"), ('V', "viewer")];

#[test]
fn each_part_may_do_what_the_table_says_and_nothing_else() {
    let mut wrong = Vec::new();
    for (words, may) in TABLE {
        for (letter, part) in PEOPLE {
            let settings = format!(
                "[[person]]\nname = \"Kit\"\npart = \"{part}\"\nmail = \"kit@hollowbank.example\""
            );
            let urgent = "21:00  dam 207 contractions 9\n21:00  dam 207 water bag\n";
            // A real one that waits forbids a drill to everybody.
            let story = match words {
                "drill" => format!("21:05  Kit mails {words}\nuntil 21:06"),
                "later 5 4" | "4 hold" => {
                    format!("{urgent}until 21:31\n21:35  Kit mails {words}\nuntil 21:36")
                }
                _ => {
                    format!("21:00  dam 207 contractions 9\n21:05  Kit mails {words}\nuntil 21:06")
                }
            };
            let told = Teller::new(&settings).tell(&story);
            let answers = told.sent.iter().filter(|message| {
                message.kind == MessageKind::Answer && message.to.as_str() == "Kit"
            });
            let answers: Vec<&str> = answers.map(|message| message.text.as_str()).collect();
            let refused = answers.iter().any(|text| {
                text.contains(" may not ") && text.contains(": only ")
                    || text.contains("You take no shifts")
            });
            if answers.is_empty() || refused == may.contains(letter) {
                wrong.push(format!("{part}: {words:?}: {answers:?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
