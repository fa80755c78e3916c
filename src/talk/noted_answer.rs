//! What is said back to somebody who has told of a dam: that it is noted and, where it matters, what follows.
//!
//! After a loss no word is cheerful and none is wasted. It never says what ails her, and it names no medicine.

use super::mark_said::MarkSaid;
use crate::herd::dam::Dam;
use crate::herd::dam_figures::{self, FEVER, MEASURED_AGAIN};
use crate::herd::recovery;
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::english;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// Two readings of fever further apart than this are two single ones (common practice, no source).
const READINGS_WITHIN: Span = Span::hours(48);

/// The whole answer. `head` says that it is noted; `dam` is as she stands with the mark noted.
pub fn noted(dam: &Dam, head: &str, said: &MarkSaid, at: Moment, zone: &Zone) -> String {
    let more = match said.mark {
        Mark::CalfDead => return format!("Sorry. {head} {}", after_a_dead_calf(dam)),
        Mark::Aborted => return format!("Sorry. {head} {}{}", CALF_OVER, placenta(dam)),
        Mark::DamDead => return format!("Sorry. {head} {}", after_a_dead_dam(dam)),
        Mark::Temperature => fever(dam, at),
        Mark::Treated => withdrawal(&said.note, at, zone),
        Mark::Wobbly | Mark::Down if recovery::may_have_milk_fever(dam, at) => {
            MILK_FEVER.to_owned()
        }
        Mark::Prolapse if recovery::began(dam).is_some() => PROLAPSE.to_owned(),
        Mark::HasMilk => "She is on the list of dams with milk.".to_owned(),
        Mark::NeedsMother => "It is on the list of calves that need a mother.".to_owned(),
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

const CALF_OVER: &str = "Nothing more will be asked about the calf.";
/// Facts.md H-01 and H-05.
const MILK_FEVER: &str = "Up to 3 days after calving this may be milk fever: call the vet now.";
/// Facts.md H-07 and X-18.
const PROLAPSE: &str = "An emergency: call the vet now. Do not move or walk her.";

fn after_a_dead_calf(dam: &Dam) -> String {
    if dam.stage < Stage::Third {
        return format!("{CALF_OVER} She still has to be delivered: her own clocks run on.");
    }
    if dam.calves().iter().any(|calf| !calf.is_dead()) {
        return "The other calf is watched on.".to_owned();
    }
    format!("{CALF_OVER}{}", placenta(dam))
}

fn after_a_dead_dam(dam: &Dam) -> String {
    let orphan = dam.calves().iter().any(|calf| !calf.is_dead());
    let calf = if orphan { " Her calf is on the list of those that need a mother." } else { "" };
    format!("Nothing more will be asked about her.{calf}")
}

fn placenta(dam: &Dam) -> &'static str {
    let waits = dam.track(Mark::Placenta).is_none() && dam.track(Mark::DamDead).is_none();
    if waits { " Her placenta is still waited for." } else { "" }
}

/// Nearly half of healthy cows have one high reading in their first ten days: two are news (facts.md M-07, X-11).
fn fever(dam: &Dam, at: Moment) -> String {
    let readings = dam_figures::temperatures(dam.case());
    let high = |amount| amount >= FEVER;
    let is_high = readings.iter().any(|(when, amount)| *when == at && high(*amount));
    if !is_high || recovery::began(dam).is_none() {
        return String::new();
    }
    let before = readings.iter().rev().find(|(when, _)| *when + MEASURED_AGAIN <= at);
    let twice =
        before.is_some_and(|(when, amount)| high(*amount) && at.since(*when) <= READINGS_WITHIN);
    if twice {
        "Two readings of 39.5 or more: show her to the vet by day.".to_owned()
    } else {
        "One high reading is common after calving: take it again tomorrow at this hour.".to_owned()
    }
}

fn withdrawal(note: &str, at: Moment, zone: &Zone) -> String {
    let typed: Vec<String> = dam_figures::withdrawals_in(note, at)
        .into_iter()
        .map(|(of, until)| format!("{} until {}", of.word(), zone.date_and_clock(until)))
        .collect();
    if typed.is_empty() && dam_figures::speaks_of_withdrawal(note) {
        return "No withdrawal time was understood: say it again like withdrawal meat 28d milk 7d."
            .to_owned();
    }
    if typed.is_empty() {
        return String::new();
    }
    format!("Withdrawal as you typed it: {}. Check the label.", english::list(&typed))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::herd::noted::Noted;

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
        noted(&dam, &head, &said, at, &Zone::utc())
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
