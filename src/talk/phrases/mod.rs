//! What the watch says to people, in each language: one table a language, all with the same keys. A key without words does
//! not compile.
//!
//! Words of rules stand in `config/lessons`; what people write stands in `tongue`. What is said here nowhere is English for
//! everybody: why a sensor or a line is ill, cards and pages.

pub mod answers;
mod english;
mod french;
mod german;
mod irish;
pub mod shifts;
mod spanish;

use std::fmt::Display;

use crate::config::people::Language;
use crate::config::rules::Ill;
use crate::config::sensors::Horizon;
use crate::plain::moment::Span;
use crate::rules::priority::Priority;

macro_rules! phrases {
    ($name:ident; $($key:ident)*) => {
        /// A language's words by key. `{name}` is filled in; every language has the same names in the same key.
        #[derive(Debug)]
        pub struct $name {
            $(pub $key: &'static str,)*
        }

        #[cfg(test)]
        impl $name {
            /// Every key and its words.
            pub(crate) fn all(&self) -> Vec<(&'static str, &'static str)> {
                vec![$((stringify!($key), self.$key),)*]
            }
        }
    };
}
pub(super) use phrases;

phrases! {
    Phrases;
    // Small words.
    and day_unit one_day days more and_more somebody nobody with_animal on_animal until
    // Heads.
    mind no_dam herd rota drill drill_short unwatched_none unwatched_one unwatched one_dam dams calf_no n_in n_of
    never_heard day day_range by_days by_days_least no_word_of_one no_word_of no_backup
    ill_nonsense ill_jumps ill_flat ill_off ill_clock ill_not_understood ill_battery_low ill_battery_failing ill_offline
    ill_restarts
    // The call.
    go_and_look late_mail late_text look_for act unsure asked_of_vet look_of_vet unsure_of_vet any_owner any_helper any_vet
    helper_of_dam helper_of_gear vet_of_dam vet_of_gear look_at_dam look_at_gear unsure_short others_told
    with_her how_to_answer end_of_text not_alone always full aborted
    second_stage nothing_new stay pen_her says_move
    taken over
    // Why.
    clock_began clock_of_calf why_since last_heard listened ill_since ill_blind trouble gateway alone
    unwatched_mail uncovered_nobody uncovered_nobody_of uncovered_backup uncovered_backup_of uncovered_unproven
    uncovered_find drill_mail ahead ahead_short ahead_now ahead_hours ahead_day
    alert_line source priority_low priority_medium priority_high dam_line place_unknown cow heifer temper noted_of_her
    noted_short mind_short
    counted over_edge under_edge held changed_hour changed_over seen not_so due_past due_early due_lost_seen due_lost
    denies_one denies unheard_one unheard
    // Several at once.
    one_matter matters while_up more_of passed_unseen also and_n_more end_of_several how_to_answer_several
    // Answers.
    asks_you asked_you_have asked_goes_on no_line_to only_looks_on will_not will_not_you_have
    yours also_coming not_open passed passed_has passed_later none_open open has_it has_it_text not_understood which_one is_over waits
    goes_round not_so_long has_already noted_marks
    // A shift.
    on_duty nothing_open begun in_windows sensors_odd alone_behind behind
    // Whether calls reach them.
    welcome welcome_vet welcome_people ask_ready ask_again thanks not_this_way
    // In and out.
    are_you_out in_now else_sent else_none help_called help_none out_noted not_in
}

/// The table of a language.
pub fn of(language: Language) -> &'static Phrases {
    match language {
        Language::English => &english::PHRASES,
        Language::IrishEnglish => &irish::PHRASES,
        Language::Spanish => &spanish::PHRASES,
        Language::German => &german::PHRASES,
        Language::French => &french::PHRASES,
    }
}

/// For pages and everything that has no reader of its own.
pub fn english() -> &'static Phrases {
    &english::PHRASES
}

/// The words with what is filled in, once and in one pass: what is filled in may hold braces.
pub fn say(words: &str, filled: &[(&str, &dyn Display)]) -> String {
    let mut said = String::with_capacity(words.len() + 16);
    let mut rest = words;
    while let Some(start) = rest.find('{') {
        said.push_str(&rest[..start]);
        rest = &rest[start..];
        let end = rest.find('}').unwrap_or(rest.len() - 1);
        match filled.iter().find(|(name, _)| *name == &rest[1..end]) {
            Some((_, with)) => said.push_str(&with.to_string()),
            None => said.push_str(&rest[..=end]),
        }
        rest = &rest[end + 1..];
    }
    said.push_str(rest);
    said
}

impl Phrases {
    /// "Ana, Tom and Rosa".
    pub fn list<T: AsRef<str>>(&self, words: &[T]) -> String {
        match words {
            [] => String::new(),
            [one] => one.as_ref().to_owned(),
            [most @ .., end] => {
                let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
                format!("{} {} {}", most.join(", "), self.and, end.as_ref())
            }
        }
    }

    /// "1 dam", "3 dams".
    pub fn many(&self, n: usize, one: &str, more: &str) -> String {
        say(if n == 1 { one } else { more }, &[("n", &n)])
    }

    /// "2 h 05 min", "3 d 4 h": the day alone has a letter of its own in a language.
    pub fn span(&self, span: Span) -> String {
        crate::plain::english::span(span).replace(" d", &format!(" {}", self.day_unit))
    }

    pub(super) fn ill(&self, ill: Ill) -> &'static str {
        match ill {
            Ill::Nonsense => self.ill_nonsense,
            Ill::Jumps => self.ill_jumps,
            Ill::Flat => self.ill_flat,
            Ill::OffTheAnimal => self.ill_off,
            Ill::ClockWrong => self.ill_clock,
            Ill::NotUnderstood => self.ill_not_understood,
            Ill::BatteryLow => self.ill_battery_low,
            Ill::BatteryFailing => self.ill_battery_failing,
            Ill::Offline => self.ill_offline,
            Ill::Restarts => self.ill_restarts,
        }
    }

    pub(super) fn priority(&self, priority: Priority) -> &'static str {
        match priority {
            Priority::Low => self.priority_low,
            Priority::Medium => self.priority_medium,
            Priority::High => self.priority_high,
        }
    }

    pub(super) fn ahead(&self, ahead: Horizon) -> &'static str {
        match ahead {
            Horizon::Now => self.ahead_now,
            Horizon::Hours => self.ahead_hours,
            Horizon::Day => self.ahead_day,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::known::{Known, newborn_of};
    use super::super::reply::{Saying, understand};
    use super::super::swap::RotaSaid;
    use super::super::welcome::is_ready;
    use crate::herd::sign::Mark;
    use std::collections::BTreeSet;

    use super::*;

    fn names(words: &str) -> BTreeSet<&str> {
        words.split('{').skip(1).filter_map(|rest| rest.split('}').next()).collect()
    }

    /// Every key of every table, with its words.
    fn everything(language: Language) -> Vec<(&'static str, &'static str)> {
        [of(language).all(), answers::of(language).all(), shifts::of(language).all()].concat()
    }

    #[test]
    fn every_language_fills_in_the_same_and_leaves_nothing_empty() {
        // A language says the young with its article, without, or not at all.
        let young = ["young", "the", "many"];
        let names = |words: &'static str| {
            let mut names = names(words);
            names.retain(|name| !young.contains(name));
            names
        };
        for language in Language::ALL {
            let english = everything(Language::English);
            assert!(english.len() > 350, "a table was not read");
            for ((key, words), (_, english)) in everything(language).into_iter().zip(english) {
                // An ordinal is English alone.
                let same = key == "nth_young" || names(words) == names(english);
                assert!(same, "{} {key}: {words}", language.tag());
                assert!(!words.is_empty(), "{} {key}", language.tag());
            }
        }
    }

    /// A key that was copied and forgotten would go out in English.
    #[test]
    fn what_is_the_same_in_two_languages_is_known_to_be() {
        // Names, figures and words that two languages share.
        let same = [
            "day_unit",
            "n_of",
            "rota",
            "no_backup",
            "source",
            "why_since",
            "trouble",
            "on_animal",
            "and",
            "calf_no",
            "herd",
            "noted_short",
            "priority_medium",
            "n_in",
            "until",
            "more",
            "has_it_text",
            "see_colostrum",
            "over_sensed",
        ];
        for language in [Language::Spanish, Language::German, Language::French] {
            let english = everything(Language::English);
            for ((key, words), (_, english)) in everything(language).into_iter().zip(english) {
                let known = same.contains(&key);
                assert!(known || words != english, "{} {key}: {words}", language.tag());
            }
        }
    }

    #[test]
    fn what_is_filled_in_is_not_looked_at_again() {
        assert_eq!(say("{a} and {b}, {c}", &[("a", &"{b}"), ("b", &2)]), "{b} and 2, {c}");
        assert_eq!(say("broken {", &[]), "broken {");
    }

    #[test]
    fn lists_and_spans_are_said_as_the_language_says_them() {
        let german = of(Language::German);
        assert_eq!(german.list(&["Ana", "Tom", "Rosa"]), "Ana, Tom und Rosa");
        assert_eq!(german.span(Span::hours(76)), "3 Tg 4 h");
        assert_eq!(of(Language::French).span(Span::days(10)), "10 j");
    }

    /// All that a text says, of which nothing may be left over.
    fn whole(language: Language, text: &str) -> Vec<Saying> {
        let known = Known {
            code_open: &|code| code == "K4T7",
            animal: &|name| name == "114",
            person: &|_| false,
            device: &|_| false,
            row: &|_| None,
            newborn: newborn_of("cattle"),
        };
        let meaning = understand(text, &known, language);
        assert!(meaning.left.is_empty(), "{} {text}: {meaning:?}", language.tag());
        meaning.said
    }

    /// The words between quotes.
    fn quoted(words: &str) -> Vec<&str> {
        words.split('"').skip(1).step_by(2).collect()
    }

    /// The same of what is said of shifts and parts, and of what is said back of calves.
    #[test]
    fn what_an_answer_asks_for_is_understood_in_its_language() {
        for language in Language::ALL {
            let (said, seen) = (shifts::of(language), answers::of(language));
            let tag = language.tag();
            let asked = said.answer_swap.split_once(": ").expect("what to answer").1;
            let [yes, no] = asked.trim_end_matches('.').split(", ").collect::<Vec<_>>()[..] else {
                panic!("{tag} {asked}")
            };
            let no = no.split_once(' ').expect("or").1;
            let rota = |text: &str| {
                let said = whole(language, text);
                let [Saying::Rota(said)] = &said[..] else { panic!("{tag} {text}: {said:?}") };
                said.clone()
            };
            assert!(matches!(rota(yes), RotaSaid::Agree(_)), "{tag} {yes}");
            assert!(matches!(rota(no), RotaSaid::Refuse(_)), "{tag} {no}");
            let which = said.which_swap.rsplit_once(": ").expect("such as").1;
            for day in said.weekdays.split(' ').map(str::to_lowercase) {
                let text = say(which.trim_end_matches('.'), &[("day", &day)]);
                let RotaSaid::Agree(which) = rota(&text) else { panic!("{tag} {text}") };
                assert!(which.day.is_some(), "{tag} {text}");
            }
            for words in [said.say_well, said.until_you_say, said.until_they_say] {
                assert_eq!(rota(quoted(words)[0]), RotaSaid::Well, "{tag} {words}");
            }
            let marks = |text: &str| {
                let said = whole(language, text);
                let Some(Saying::Mark(last)) = said.last() else {
                    panic!("{tag} {text}: {said:?}")
                };
                last.mark
            };
            let young = crate::config::lessons::young(language, "cattle");
            let young = young.map_or("calf", |own| own.young.as_str());
            let of = |words: &str| format!("114 {}", say(words, &[("young", &young)]));
            for (words, expected) in quoted(seen.was_alive).iter().zip([Mark::CalfDead; 2]) {
                assert_eq!(marks(&of(words)), expected, "{tag} {words}");
            }
            assert_eq!(marks(&of(quoted(seen.no_such_young)[0])), Mark::SecondCalf, "{tag}");
            let alone = seen.strains_again.rsplit_once([' ', ':']).expect("a word").1;
            let alone = if language == Language::Spanish { "uno solo" } else { alone };
            assert_eq!(marks(&format!("114 {}", alone.trim_end_matches('.'))), Mark::Calf, "{tag}");
            let nothing = seen.stage_stays.rsplit_once("{animal}").expect("what to answer").1;
            assert_eq!(marks(&format!("114{nothing}")), Mark::FalseAlarm, "{tag}");
            assert_eq!(marks(&format!("114 {}", quoted(said.instead_see)[0])), Mark::Seen, "{tag}");
        }
    }

    /// What we ask for must be what we understand: whoever copies our words at night must be heard.
    #[test]
    fn every_word_that_we_ask_for_is_understood_in_its_language() {
        let whole = |language: Language, text: &str| {
            let said = whole(language, text);
            assert_eq!(said.len(), 1, "{text}: {said:?}");
            said[0].clone()
        };
        for language in Language::ALL {
            let said = of(language);
            let young = crate::config::lessons::young(language, "cattle");
            let young = young.map_or("calf", |own| own.young.as_str());
            let not_understood = say(said.not_understood, &[("young", &young)]);
            let (quoted, listed) = not_understood.split_once(" (").expect("a list of words");
            let example = quoted.split('"').nth(1).expect("an example");
            assert!(matches!(whole(language, example), Saying::Mark(_)), "{example}");
            let listed = listed.trim_end_matches([')', '.']);
            for word in listed.split(", ") {
                let text = format!("114 {word}");
                let is = whole(language, &text);
                assert!(matches!(is, Saying::Mark(_)), "{text}: {is:?}");
            }
            let asked = said.end_of_text.trim().trim_end_matches('.');
            let asked = asked.split_once(' ').expect("answer with what").1;
            let or = [" or ", " oder ", " ou ", " o "].into_iter().find(|or| asked.contains(or));
            let (going, pass) = asked.split_once(or.expect("one or the other")).expect("both");
            let (going, pass) = (whole(language, going), whole(language, pass));
            assert_eq!(going, Saying::Going { minutes: None }, "{}", language.tag());
            assert_eq!(pass, Saying::Pass, "{}", language.tag());
            let ready = said
                .ask_ready
                .split_whitespace()
                .find(|word| word.chars().filter(|c| c.is_uppercase()).count() > 2);
            assert!(is_ready(ready.expect("the word in capitals")), "{}", said.ask_ready);
        }
    }
}
