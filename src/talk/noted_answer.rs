//! What is said back to somebody who has told of a dam: that it is noted and, where it matters, what follows.
//!
//! After a loss no word is cheerful and none is wasted. It never says what ails her, and it names no medicine.

use super::mark_said::MarkSaid;
use super::phrases::{self, answers};
use super::speech::Speech;
use crate::config::people::Language;
use crate::herd::dam::Dam;
use crate::herd::dam_figures::{self, FEVER, MEASURED_AGAIN, Product};
use crate::herd::recovery;
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// Two readings of fever further apart than this are two single ones (common practice, no source).
const READINGS_WITHIN: Span = Span::hours(48);

/// The whole answer. `head` says that it is noted; `dam` is as she stands with the mark noted.
pub fn noted(
    dam: &Dam,
    head: &str,
    said: &MarkSaid,
    at: Moment,
    zone: &Zone,
    speech: &Speech<'_>,
) -> String {
    let words = speech.answers;
    let sorry = |more: &str| format!("{} {head} {more}", words.sorry).trim_end().to_owned();
    let more = match said.mark {
        Mark::CalfDead => return sorry(&after_a_dead_calf(dam, speech)),
        Mark::Aborted => {
            let over = speech.plain(words.young_over);
            return sorry(&format!("{over}{}", placenta(dam, speech)));
        }
        Mark::DamDead => return sorry(&after_a_dead_dam(dam, speech)),
        Mark::Temperature => fever(dam, at, speech).to_owned(),
        Mark::Treated => withdrawal(&said.note, at, zone, speech),
        Mark::Wobbly | Mark::Down if recovery::may_have_milk_fever(dam, at) => {
            words.milk_fever.to_owned()
        }
        Mark::Prolapse if recovery::began(dam).is_some() => words.prolapse.to_owned(),
        Mark::HasMilk => words.milk_listed.to_owned(),
        Mark::NeedsMother => speech.plain(words.mother_listed),
        Mark::TailRaised
        | Mark::Restless
        | Mark::BaggedUp
        | Mark::Slack
        | Mark::Straining
        | Mark::WaterBag
        | Mark::Feet
        | Mark::Nose
        | Mark::Progress
        | Mark::Backward
        | Mark::OneFoot
        | Mark::TailOnly
        | Mark::Stained
        | Mark::Bleeding
        | Mark::Tongue
        | Mark::Calf
        | Mark::SecondCalf
        | Mark::AllBorn
        | Mark::Breathing
        | Mark::Sternal
        | Mark::Trying
        | Mark::Up
        | Mark::Sucked
        | Mark::Colostrum
        | Mark::Navel
        | Mark::CalfTemperature
        | Mark::Weight
        | Mark::Sex
        | Mark::Vigour
        | Mark::Tagged
        | Mark::Fostered
        | Mark::Placenta
        | Mark::Discharge
        | Mark::Down
        | Mark::Risen
        | Mark::OffFeed
        | Mark::Eating
        | Mark::Wobbly
        | Mark::Prolapse
        | Mark::Helped
        | Mark::Vet
        | Mark::Collected
        | Mark::Registered
        | Mark::Seen
        | Mark::FalseAlarm => String::new(),
    };
    if more.is_empty() { head.to_owned() } else { format!("{head} {more}") }
}

/// Whether an answer says what must be read, also by whoever wrote a text and waits for none.
pub fn must_be_read(answer: &str) -> bool {
    Language::ALL.into_iter().any(|language| {
        let words = answers::of(language);
        let grave = [
            phrases::of(language).goes_round,
            words.aborted_short,
            words.milk_fever,
            words.prolapse,
            words.chilled,
            words.very_chilled,
            words.lifeless,
        ];
        grave.iter().any(|grave| answer.contains(grave))
    })
}

fn after_a_dead_calf(dam: &Dam, speech: &Speech<'_>) -> String {
    let words = speech.answers;
    let over = speech.plain(words.young_over);
    if dam.stage < Stage::Third {
        return format!("{over} {}", words.still_inside);
    }
    if dam.calves().iter().any(|calf| !calf.is_dead()) {
        return speech.plain(words.other_young);
    }
    format!("{over}{}", placenta(dam, speech))
}

fn after_a_dead_dam(dam: &Dam, speech: &Speech<'_>) -> String {
    let words = speech.answers;
    let orphan = dam.calves().iter().any(|calf| !calf.is_dead());
    let young = if orphan { format!(" {}", speech.plain(words.orphan)) } else { String::new() };
    format!("{}{young}", words.her_over)
}

fn placenta(dam: &Dam, speech: &Speech<'_>) -> String {
    let waits = dam.track(Mark::Placenta).is_none() && dam.track(Mark::DamDead).is_none();
    if waits { format!(" {}", speech.answers.placenta_waits) } else { String::new() }
}

/// Nearly half of healthy cows have one high reading in their first ten days: two are news (facts.md M-07, X-11).
fn fever(dam: &Dam, at: Moment, speech: &Speech<'_>) -> &'static str {
    let readings = dam_figures::temperatures(dam.case());
    let high = |amount| amount >= FEVER;
    let is_high = readings.iter().any(|(when, amount)| *when == at && high(*amount));
    if !is_high || recovery::began(dam).is_none() {
        return "";
    }
    let before = readings.iter().rev().find(|(when, _)| *when + MEASURED_AGAIN <= at);
    let twice =
        before.is_some_and(|(when, amount)| high(*amount) && at.since(*when) <= READINGS_WITHIN);
    if twice { speech.answers.fever_twice } else { speech.answers.fever_once }
}

fn withdrawal(note: &str, at: Moment, zone: &Zone, speech: &Speech<'_>) -> String {
    let words = speech.answers;
    let typed: Vec<String> = dam_figures::withdrawals_in(note, at)
        .into_iter()
        .map(|(of, until)| {
            let product = match of {
                Product::Meat => words.meat,
                Product::Milk => words.milk,
            };
            let until = zone.date_and_clock(until);
            speech.say(words.product_until, &[("product", &product), ("at", &until)])
        })
        .collect();
    if typed.is_empty() && dam_figures::speaks_of_withdrawal(note) {
        return words.withdrawal_unclear.to_owned();
    }
    if typed.is_empty() {
        return String::new();
    }
    let list = speech.phrases().list(&typed);
    speech.say(words.withdrawal, &[("list", &list)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{self, Config, NamedText, SettingsText};
    use crate::herd::noted::Noted;

    fn config() -> Config {
        let farm = "[farm]\nname = \"Hollow Bank\"\nzone = \"UTC\"\n[broker]\nurl = \"mqtt://127.0.0.1\"\n[[person]]\n\
                    name = \"Ana\"\nmail = \"ana@hollowbank.example\"\n[[line]]\nname = \"mail\"\nkind = \"smtp\"\n\
                    url = \"smtp://127.0.0.1\"\nfrom = \"lowbell@hollowbank.example\"\n";
        let files = vec![NamedText { name: "farm.toml".into(), text: farm.into() }];
        let read = config::parse(&SettingsText { files });
        read.config.unwrap_or_else(|| panic!("{:?}", read.faults))
    }

    /// What is answered to the last of these, an hour apart.
    fn answers(marks: &[(Mark, &str)]) -> String {
        let mut dam = Dam::default();
        let mut at = Moment::default();
        for (mark, note) in marks {
            at += Span::hours(1);
            let _ = dam.note(Noted { note: (*note).to_owned(), ..Noted::bare(*mark, at) });
        }
        let (mark, note) = marks[marks.len() - 1];
        let said = MarkSaid {
            animal: None,
            mark,
            note: note.to_owned(),
            calf: None,
            of_calf: false,
            at: None,
        };
        let note = if note.is_empty() { String::new() } else { format!(" {note}") };
        let head = format!("Noted: 207 {}{note} {}.", mark.word(), Zone::utc().clock(at));
        noted(&dam, &head, &said, at, &Zone::utc(), &Speech::english(&config()))
    }

    #[test]
    fn after_a_loss_the_words_are_few_and_say_what_remains() {
        use Mark::{Aborted, Calf, CalfDead, DamDead, Feet, Placenta, SecondCalf};
        for (marks, answer) in [
            (
                vec![(Calf, ""), (CalfDead, "")],
                "Sorry. Noted: 207 calf dead 02:00. Nothing more will be asked about the calf. Her \
                 placenta is still waited for.",
            ),
            (
                vec![(Calf, ""), (Placenta, ""), (CalfDead, "")],
                "Sorry. Noted: 207 calf dead 03:00. Nothing more will be asked about the calf.",
            ),
            (
                vec![(Calf, ""), (SecondCalf, ""), (CalfDead, "")],
                "Sorry. Noted: 207 calf dead 03:00. The other calf is watched on.",
            ),
            (
                vec![(Feet, ""), (CalfDead, "")],
                "Sorry. Noted: 207 calf dead 02:00. Nothing more will be asked about the calf. She \
                 still has to be delivered: her own clocks run on.",
            ),
            (
                vec![(Calf, ""), (DamDead, "")],
                "Sorry. Noted: 207 dam dead 02:00. Nothing more will be asked about her. Her calf is on \
                 the list of those that need a mother.",
            ),
            (
                vec![(Aborted, "")],
                "Sorry. Noted: 207 aborted 01:00. Nothing more will be asked about the calf. Her \
                 placenta is still waited for.",
            ),
        ] {
            assert_eq!(answers(&marks), answer, "{marks:?}");
        }
    }

    /// Facts.md M-07 and X-11: nearly half of healthy cows are once above the line, so one reading is not news.
    #[test]
    fn one_high_reading_is_to_be_taken_again_and_two_are_for_the_vet() {
        use Mark::{Calf, Temperature};
        let hot = answers(&[(Calf, ""), (Temperature, "39.8")]);
        assert!(hot.ends_with("take it again tomorrow at this hour."), "{hot}");
        let twice = answers(&[(Calf, ""), (Temperature, "39.8"), (Temperature, "39.5")]);
        assert!(twice.ends_with("show her to the vet by day."), "{twice}");
        assert_eq!(answers(&[(Calf, ""), (Temperature, "39.4")]), "Noted: 207 temp 39.4 02:00.");
        assert_eq!(
            answers(&[(Temperature, "39.8")]),
            "Noted: 207 temp 39.8 01:00.",
            "before the calf"
        );
    }

    #[test]
    fn a_withdrawal_is_given_back_as_it_was_typed_and_never_made_up() {
        use Mark::{Calf, Treated};
        assert_eq!(
            answers(&[(Calf, ""), (Treated, "oxytet 20ml withdrawal meat 28d milk 7d")]),
            "Noted: 207 treated oxytet 20ml withdrawal meat 28d milk 7d 02:00. Withdrawal as you typed it: \
             meat until 1970-01-29 02:00 and milk until 1970-01-08 02:00. Check the label."
        );
        assert_eq!(
            answers(&[(Calf, ""), (Treated, "oxytet 20ml")]),
            "Noted: 207 treated oxytet 20ml 02:00."
        );
    }
}
