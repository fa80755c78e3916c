//! What a message says. The first 70 letters always tell which animal, where, what and the code, because that is all that a
//! locked telephone shows; then what this reader is to do about it, by their part on the farm and in their language.

use super::background;
use super::birth::{self, Birth};
use super::head::{self, in_words, letters};
use super::lesson::{self, Told};
use super::letters::fold;
use super::phrases::{Phrases, say};
use super::reader::Reader;
use super::reason;
use super::speech::Speech;
use crate::alarm::alert::{Alert, Past};
use crate::config::Config;
use crate::config::lines::Letters;
use crate::config::people::{Language, Part};
use crate::config::rules::Ill;
use crate::plain::moment::Moment;
use crate::rules::verdict::{Figures, Subject};

pub use super::head::HEAD_MAX;

/// One text message of letters that count once (3GPP TS 23.038; standards.md SM-01).
pub const SMS_MAX: usize = 160;

/// One of several that belong together (3GPP TS 23.040; standards.md SM-03).
const SMS_PART: usize = 153;

/// Less of what has happened tells nobody.
const WHAT_MIN: usize = 8;

/// A short text and a long one about the same thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    pub subject: String,
    pub mail: String,
    pub sms: String,
}

/// What else is known when a call is made.
#[derive(Clone, Copy, Debug, Default)]
pub struct Beside<'a> {
    /// Who is with her, if that is somebody else.
    pub holder: Option<&'a str>,
    /// Who has asked this reader by name to take it.
    pub asked_by: Option<&'a str>,
    /// How the birth of the dam stands that it is about.
    pub birth: Option<&'a Birth>,
    /// What is still open of her calves: in the mail always, in a text where there is room.
    pub open: &'a [String],
    /// What a vet asks first, for a vet.
    pub card: Option<&'a str>,
}

/// The call to go and look.
pub fn alert(
    config: &Config,
    alert: &Alert,
    now: Moment,
    beside: Beside<'_>,
    reader: &Reader,
) -> Words {
    let said = reader.phrases();
    let told = lesson::told(config, alert, reader);
    let subject = head::head_for(config, alert, now, reader);
    let moving = birth::moving(config.farm.moving, &told.act, beside.birth, now, said);
    // Whether to move her is for whoever goes in to her.
    let moving = moving.filter(|_| reader.part != Part::Vet);
    let act = moving.map_or_else(|| told.act.clone(), |moving| format!("{} {moving}", told.act));
    let mut mail = format!("{subject}\n\n");
    if let Some(late) = head::late(alert, said.late_mail, reader) {
        mail.push_str(&format!("{late}\n\n"));
    }
    mail.push_str(&format!("{}\n", lesson_lines(config, &told, &act, reader)));
    if let Some(asks) = beside.asked_by.map(|who| say(said.asks_you, &[("who", &who)])) {
        mail.push_str(&format!("{asks}\n\n"));
    }
    if let Some(card) = beside.card {
        mail.push_str(&format!("{card}\n\n"));
    }
    if let Some(clocks) = beside.birth.and_then(|birth| birth.clocks(now, said)) {
        mail.push_str(&format!("{clocks}.\n"));
    }
    mail.push_str(&format!("{}\n", background::lines(config, alert, now, reader)));
    if let Some(holder) = beside.holder {
        mail.push_str(&format!("{}\n", say(said.with_her, &[("who", &holder)])));
    }
    if !beside.open.is_empty() {
        mail.push_str(&format!("{}\n", beside.open.join("\n")));
    }
    mail.push_str(&in_words(config, reader, said.how_to_answer));
    if alert.figures.says_lost() {
        mail.push_str(&in_words(config, reader, said.aborted));
    }
    let cautions = if sends_out(alert) { said.full } else { said.always };
    mail.push_str(&in_words(config, reader, cautions));
    let sms = sms(config, alert, (&act, &told), beside, now, &reader.by_text());
    Words { subject, mail, sms }
}

/// Look for, then do, and whom to call (needs.md N71): one line each, in every mail.
fn lesson_lines(config: &Config, told: &Told<'_>, act: &str, reader: &Reader) -> String {
    let said = reader.phrases();
    let vet = reader.part == Part::Vet;
    let call = lesson::with_number(told.call, reader);
    let (first, second, third) = if vet {
        (said.asked_of_vet, said.look_of_vet, said.unsure_of_vet)
    } else {
        (said.look_for, said.act, said.unsure)
    };
    let look = in_words(config, reader, &told.look);
    let filled = |words: &str| say(words, &[("look", &look), ("act", &act), ("who", &call)]);
    let mut lines = vec![filled(first), filled(second)];
    if let Some(others) = &told.others {
        lines.push(say(said.others_told, &[("act", others)]));
    }
    lines.push(filled(third));
    lines.join("\n") + "\n"
}

/// Whether it sends somebody to a dam who may be calving: so does whatever leaves her unwatched.
fn sends_out(alert: &Alert) -> bool {
    let waits_for_day =
        matches!(alert.figures, Figures::Ill { ill: Ill::BatteryLow | Ill::BatteryFailing, .. });
    match &alert.subject {
        Subject::Dam(_) | Subject::Gateway(_) | Subject::Herd | Subject::Person(_) => true,
        Subject::Device(_) => alert.on.is_some() && !waits_for_day,
        Subject::Line(_) | Subject::Rota | Subject::Drill => false,
    }
}

/// Somebody else has it now.
pub fn taken(
    config: &Config,
    alert: &Alert,
    now: Moment,
    holder: &str,
    birth: Option<&Birth>,
    reader: &Reader,
) -> Words {
    let said = reader.phrases();
    let clocks = birth.and_then(|birth| birth.clocks(now, said));
    let clocks = clocks.map_or(String::new(), |clocks| format!(" {clocks}."));
    let tail = format!("{}{clocks}", say(said.taken, &[("who", &holder)]));
    let head = |reader: &Reader| head::head_for(config, alert, now, reader);
    short(head, &tail, reader)
}

/// It is over, and why.
pub fn over(config: &Config, past: &Past, reader: &Reader) -> Words {
    let about = (&past.subject, past.on.as_ref());
    let name = head::rule_name(config, past.rule.as_str(), reader);
    let head = |reader: &Reader| head::head_of(config, about, &name, &past.code, reader);
    short(head, &say(reader.phrases().over, &[("because", &because(config, past, reader))]), reader)
}

/// Why it is over, in the words of whoever reads it.
pub fn because(config: &Config, past: &Past, reader: &Reader) -> String {
    let ending = past.ending.as_ref();
    ending.map_or_else(
        || past.because.clone(),
        |ending| Speech::new(config, reader.language).ending(ending),
    )
}

/// An answer to words that came in.
pub fn answer(text: &str, reader: &Reader) -> Words {
    answer_in_parts(text, 1, reader)
}

/// The same, where it may fill several text messages: what is more than one is asked for by name.
pub fn answer_in_parts(text: &str, parts: usize, reader: &Reader) -> Words {
    let first = text.lines().next().unwrap_or_default();
    let most = if parts > 1 { parts * SMS_PART } else { SMS_MAX };
    Words {
        subject: cut(&reader.fold(first), HEAD_MAX),
        mail: format!("{text}\n"),
        sms: cut(&reader.by_text().fold(text), most),
    }
}

fn sms(
    config: &Config,
    alert: &Alert,
    (act, told): (&str, &Told<'_>),
    beside: Beside<'_>,
    now: Moment,
    reader: &Reader,
) -> String {
    let said = reader.phrases();
    let lead = head::lead(config, alert, reader);
    let late = reader.fold(&head::late(alert, said.late_text, reader).unwrap_or_default());
    let late = if late.is_empty() { late } else { format!("{late}.") };
    let caution = if sends_out(alert) { said.not_alone } else { "" };
    let end = reader.fold(&format!("{caution}{}", said.end_of_text));
    let used = letters(&lead) + ": ".len() + letters(&late) + letters(&end);
    let room = SMS_MAX.saturating_sub(used);
    // What to do goes first, then what has happened and the clocks; the rest has what room is left.
    let mut text = cut(&reader.fold(act), room);
    let what = reader.fold(&sentence(&head::what(config, alert, now, reader)));
    let left = room.saturating_sub(letters(&text) + " .".len());
    if left >= WHAT_MIN {
        text.push_str(&format!(" {}.", cut(&what, left)));
    }
    text.push_str(&late);
    let room = room + letters(&late);
    let left = room.saturating_sub(letters(&text));
    text.push_str(&birth::clocks(alert, beside.birth, left, now, reader));
    for more in extras(config, alert, told, beside, now, said) {
        let more = reader.fold(&more);
        if letters(&text) + letters(&more) <= room {
            text.push_str(&more);
        }
    }
    format!("{lead}: {text}{end}")
}

/// With a capital, and without the sign that ends it.
fn sentence(words: &str) -> String {
    let mut letters = words.trim_end_matches('.').chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// What a text says where it still fits, in this order.
fn extras(
    config: &Config,
    alert: &Alert,
    told: &Told<'_>,
    beside: Beside<'_>,
    now: Moment,
    said: &Phrases,
) -> Vec<String> {
    let mut extras = Vec::new();
    let asks = beside.asked_by.map(|who| say(said.asks_you, &[("who", &who)]));
    extras.extend(asks.map(|asks| format!(" {asks}")));
    if !beside.open.is_empty() {
        extras.push(format!(" {}", beside.open.join(" ")));
    }
    let ahead = reason::ahead(&alert.figures, config);
    extras.extend(ahead.map(|ahead| say(said.ahead_short, &[("when", &said.ahead(ahead))])));
    extras.extend(reason::more(&alert.figures, now, said).map(|why| format!(" {why}.")));
    if let Some(call) = told.call.filter(|call| !told.act.contains(call.name.as_str())) {
        extras.push(say(said.unsure_short, &[("who", &call.name)]));
    }
    if told.others.is_none() {
        let look = say(said.look_for, &[("look", &told.look)]);
        extras.push(format!(" {}.", look.trim_end_matches(['.', '?', ' '])));
    }
    extras
}

fn short(head: impl Fn(&Reader) -> String, tail: &str, reader: &Reader) -> Words {
    let (subject, by_text) = (head(reader), reader.by_text());
    let sms = cut(&format!("{}. {}", head(&by_text), by_text.fold(tail)), SMS_MAX);
    Words { mail: format!("{subject}\n\n{tail}\n"), subject, sms }
}

pub(super) fn or<'a>(text: &'a str, instead: &'a str) -> &'a str {
    if text.is_empty() { instead } else { text }
}

/// At most `max` characters, cut at a word where there is one.
pub(super) fn cut(text: &str, max: usize) -> String {
    if text.chars().count() <= max {
        return text.to_owned();
    }
    let kept: String = text.chars().take(max).collect();
    match kept.rfind(' ') {
        Some(space) if space * 2 > kept.len() => kept[..space].to_owned(),
        Some(_) | None => kept,
    }
}

/// Only letters that every telephone and mail server carries: what has no nearest one becomes `?`.
pub fn plain(text: &str) -> String {
    fold(text, Some(Letters::Plain), Language::English).into_owned()
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};
    use std::sync::Arc;

    use proptest::prelude::*;

    use super::*;
    use crate::alarm::alert::{RungState, Standing};
    use crate::config::farm::Moving;
    use crate::config::sensors::Horizon;
    use crate::config::species_terms::Terms;
    use crate::config::{self, NamedText, SettingsText};
    use crate::herd::dam::Dam;
    use crate::herd::sign::Mark;
    use crate::plain::amount::Amount;
    use crate::plain::ids::{AlertNo, Animal, DeviceId, GatewayName, RuleName};
    use crate::plain::moment::Span;
    use crate::rules::priority::Priority;
    use crate::rules::verdict::Voices;
    use crate::talk::phrases::english;

    fn config(group: &str) -> Config {
        let farm = r#"
            [farm]
            name = "Hollow Bank"
            zone = "Europe/Dublin"
            herd = "herd.csv"
            [broker]
            url = "mqtt://127.0.0.1"
            [[person]]
            name = "Ana"
            mail = "ana@hollowbank.example"
            [[line]]
            name = "mail"
            kind = "smtp"
            url = "smtp://127.0.0.1"
            from = "lowbell@hollowbank.example"
        "#;
        let herd =
            format!("animal,name,calvings,group,notes\n114,Bramble,0,\"{group}\",turned on Tom\n");
        let file = |name: &str, text: &str| NamedText { name: name.into(), text: text.into() };
        let files = vec![file("farm.toml", farm), file("herd.csv", &herd)];
        config::parse(&SettingsText { files }).config.expect("the settings hold")
    }

    fn call(config: &Config, one: &Alert, now: Moment, holder: Option<&str>) -> Words {
        call_of(config, one, now, holder, None)
    }

    fn call_of(
        config: &Config,
        one: &Alert,
        now: Moment,
        holder: Option<&str>,
        birth: Option<&Birth>,
    ) -> Words {
        let beside = Beside { holder, birth, ..Beside::default() };
        alert(config, one, now, beside, &Reader::of_the_house())
    }

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn raised(rule: &str) -> Alert {
        Alert {
            no: AlertNo(1),
            code: "K4T7".into(),
            rule: RuleName::new(rule),
            subject: Subject::Dam(Animal::new("114")),
            on: None,
            priority: Priority::High,
            ladder: "calving".into(),
            since: minute(60),
            raised: minute(60),
            late: None,
            figures: Figures::Clock { began: minute(0), limit: Span::hours(1), calf: None },
            standing: Standing::Climbing { next: minute(60) },
            ask_first: None,
            told: BTreeMap::new(),
            reached: BTreeSet::new(),
            passed: BTreeSet::new(),
            also: BTreeSet::new(),
            rung: RungState::default(),
            answered: None,
            fine_since: None,
            asked: None,
        }
    }

    #[test]
    fn a_call_says_which_animal_where_what_and_the_code_first() {
        let words = call(&config("home field"), &raised("second stage too long"), minute(61), None);
        assert_eq!(words.subject, "114 home field: second stage too long 1 h 01 min K4T7");
        assert!(words.mail.starts_with(&words.subject));
        assert_eq!(
            words.sms,
            "114 home field K4T7: Examine her now, or call the vet. Second stage too long 1 h 01 min. \
             Not sure: Ana. Not alone. Reply going or pass."
        );
    }

    #[test]
    fn a_mail_that_sends_somebody_out_has_every_caution() {
        let words =
            call(&config("home field"), &raised("second stage too long"), minute(61), Some("Tom"));
        for caution in [
            "Never alone",
            "way out",
            "gloves",
            "Pregnant women",
            "Never a vehicle to pull",
            "does not replace your vet or your own eyes",
            "Follow local rules",
            "turned on Tom",
            "Tom is with her",
        ] {
            assert!(words.mail.contains(caution), "{caution}");
        }
        // Whatever sends somebody to look at her, not her own signs alone.
        let on_her = |figures| Alert {
            subject: Subject::Device(DeviceId::new("t-07")),
            on: Some(Animal::new("114")),
            figures,
            ..raised("sensor silent")
        };
        let silent = on_her(Figures::Silence { since: minute(0), never: false });
        let of_no_dam = Alert { on: None, ..silent.clone() };
        let ill = |ill| on_her(Figures::Ill { ill, since: minute(0), why: "why".into() });
        let animals = vec![Animal::new("114")];
        let gateway = Alert {
            subject: Subject::Gateway(GatewayName::new("mast")),
            figures: Figures::Gateway { since: minute(0), animals: animals.clone() },
            ..raised("gateway silent")
        };
        let herd = Alert {
            subject: Subject::Herd,
            figures: Figures::Unwatched { animals },
            ..raised("unwatched")
        };
        for out in [silent, ill(Ill::OffTheAnimal), gateway, herd] {
            let words = call(&config(""), &out, minute(61), None);
            assert!(words.mail.contains("Never alone"), "{}", words.mail);
            assert!(words.mail.contains("turned on Tom"), "{}", words.mail);
            assert!(words.sms.contains("Not alone."), "{}", words.sms);
        }
        for by_day in [of_no_dam, ill(Ill::BatteryLow)] {
            let words = call(&config(""), &by_day, minute(61), None);
            assert!(!words.mail.contains("Never alone") && !words.sms.contains("Not alone."));
            assert!(words.mail.contains("does not replace your vet"));
        }
        let placenta = call(&config(""), &raised("placenta not passed"), minute(61), None);
        assert!(placenta.mail.contains("Do not pull") && placenta.sms.contains("Do not pull"));
    }

    #[test]
    fn a_call_about_a_mare_speaks_of_mare_and_foal() {
        let mut stud = config("foaling box");
        stud.terms = Terms::of("horse");
        // Those of cattle, whose sources speak of cows.
        stud.rules.clear();
        let mail = call(&stud, &raised("second stage too long"), minute(61), None).mail;
        for words in [
            "Dam 114 Bramble, maiden mare, foaling box.",
            "feet, nose, foal, up",
            "A fresh mare can",
        ] {
            assert!(mail.contains(words), "{words}: {mail}");
        }
        for word in ["calf", "cow", "heifer"] {
            assert!(!mail.contains(word), "{word}: {mail}");
        }
        assert!(mail.contains("Noted of her: turned on Tom."), "a person's words stay: {mail}");
    }

    #[test]
    fn a_late_call_says_how_late() {
        let late = Alert { late: Some(Span::minutes(12)), ..raised("second stage too long") };
        let words = call(&config("home field"), &late, minute(73), None);
        assert!(words.mail.contains("Late by 12 min: we were down."));
        assert!(words.sms.contains("Late 12 min, we were down."));
    }

    fn voices(say: &[&str], deny: &[&str], unheard: &[&str]) -> Voices {
        let ids = |names: &[&str]| names.iter().map(|name| DeviceId::new(name)).collect();
        Voices { say: ids(say), deny: ids(deny), unheard: ids(unheard), kinds: Vec::new() }
    }

    fn fever(voices: Voices) -> Figures {
        Figures::Level {
            sign: "temperature".into(),
            value: Amount::thousandths(40_200),
            unit: "Cel".into(),
            above: true,
            edge: Amount::thousandths(39_500),
            began: minute(25),
            voices,
        }
    }

    /// needs.md N53: why, with the numbers; N51: who says so and who does not.
    #[test]
    fn a_call_says_why_with_its_numbers_and_who_says_so() {
        let one = Alert { figures: fever(voices(&["t-07"], &[], &[])), ..raised("fever") };
        let words = call(&config("home field"), &one, minute(60), None);
        assert_eq!(words.subject, "114 home field: fever 40.2 Cel K4T7");
        assert_eq!(
            words.sms,
            "114 home field K4T7: Go and look. Fever 40.2 Cel. \
             temperature 40.2 Cel, over 39.5 for 35 min (t-07). Not sure: Ana. Not alone. Reply going or pass."
        );
        assert!(words.mail.contains("\ntemperature 40.2 Cel, over 39.5 for 35 min (t-07). Since "));
        let seen = Figures::Seen {
            sign: "lying on side".into(),
            n: 4,
            of: 5,
            voices: voices(&["cam-1"], &["cam-2"], &["t-07", "c-12"]),
        };
        assert_eq!(
            reason::why(&seen, minute(60), english()),
            "lying on side seen in 4 of 5 pictures (cam-1; cam-2 does not say so, t-07 and c-12 are not heard)"
        );
        let counted = |voices| Figures::Counted {
            sign: "contraction".into(),
            n: 6,
            over: Span::minutes(10),
            limit: 4,
            voices,
        };
        assert_eq!(
            reason::why(&counted(voices(&["t-07"], &[], &[])), minute(60), english()),
            "contraction counted 6 in 10 min, limit 4 (t-07)"
        );
        assert_eq!(
            reason::more(&counted(voices(&["t-07"], &[], &[])), minute(60), english()),
            None
        );
        assert!(
            reason::more(&counted(voices(&["t-07"], &["c-12"], &[])), minute(60), english())
                .is_some()
        );
    }

    /// needs.md N52: the words follow the kind of sensor, and say nothing where one of them is unknown.
    #[test]
    fn a_call_says_how_far_ahead_such_sensors_tell() {
        let mut farm = config("home field");
        farm.horizons = vec![("tail".into(), Horizon::Hours), ("bolus".into(), Horizon::Day)];
        let sms = |kinds: &[&str]| {
            let kinds = kinds.iter().map(|kind| Arc::from(*kind)).collect();
            let figures = fever(Voices { kinds, ..voices(&["t-07"], &[], &[]) });
            let one = Alert { figures, ..raised("fever") };
            call(&farm, &one, minute(60), None).sms
        };
        assert!(sms(&["bolus"]).contains(" It may be within a day."));
        assert!(sms(&["bolus", "tail"]).contains(" It may be within hours."));
        assert!(!sms(&["bolus", "camera"]).contains("It may be"));
    }

    fn second_stage(marks: &[(Mark, i64)]) -> Birth {
        let mut dam = Dam::default();
        for (mark, at) in marks {
            let _ = dam.mark(*mark, minute(*at));
        }
        Birth::of(&dam)
    }

    /// needs.md N98: both clocks in every message about her.
    #[test]
    fn a_call_about_a_dam_in_second_stage_says_both_clocks() {
        let farm = config("home field");
        let birth = second_stage(&[(Mark::WaterBag, 0), (Mark::Feet, 24)]);
        let said = |one: &Alert| call_of(&farm, one, minute(42), None, Some(&birth));
        let words = said(&Alert { figures: fever(Voices::default()), ..raised("fever") });
        let clocks = "Second stage 42 min, nothing new for 18 min.";
        assert!(words.mail.contains(&format!("\n{clocks}\n")), "{}", words.mail);
        assert!(
            words.sms.contains(&format!("Go and look. Fever 40.2 Cel. {clocks}")),
            "{}",
            words.sms
        );
        // The head says how long already: the other clock is enough.
        let total = said(&raised("second stage too long"));
        assert!(total.mail.contains(clocks), "{}", total.mail);
        assert_eq!(
            total.sms,
            "114 home field K4T7: Examine her now, or call the vet. Second stage too long 42 min. \
             Nothing new for 18 min. Not sure: Ana. Not alone. Reply going or pass."
        );
        let held = taken(
            &farm,
            &raised("fever"),
            minute(42),
            "Ana",
            Some(&birth),
            &Reader::of_the_house(),
        );
        assert!(held.sms.contains("unless Ana asks. Second stage 42 min"), "{}", held.sms);
        assert!(!call(&farm, &raised("fever"), minute(42), None).mail.contains("Second stage"));
    }

    /// needs.md N109, by the farm's policy; what the rule says itself is not said twice.
    #[test]
    fn a_call_says_whether_to_move_her() {
        let mut farm = config("home field");
        farm.farm.moving = Moving::InSecondStage;
        let sms = |farm: &Config, marks: &[(Mark, i64)], rule: &str| {
            let birth = second_stage(marks);
            call_of(farm, &raised(rule), minute(20), None, Some(&birth)).sms
        };
        let (first, second) = ([(Mark::Restless, 0)], [(Mark::WaterBag, 0)]);
        assert!(sms(&farm, &first, "fever").contains("Go and look. Do not move her."));
        assert!(
            sms(&farm, &second, "fever").contains("Go and look. If you pen her, move her now.")
        );
        let building = sms(&farm, &first, "contractions building");
        assert_eq!(building.to_lowercase().matches("move her").count(), 1, "{building}");
        farm.farm.moving = Moving::AsYouLike;
        assert!(!sms(&farm, &second, "fever").contains("move"));
        farm.farm.moving = Moving::Never;
        assert!(sms(&farm, &second, "fever").contains("Go and look. Do not move her."));
    }

    proptest! {
        /// Sources: 160 septets are one text (3GPP TS 23.038; standards.md SM-01); 70 characters are what
        /// a locked screen shows (common practice, no source).
        #[test]
        fn no_name_makes_a_text_too_long_or_hides_the_code(
            group in "[a-zA-Z\u{e0}-\u{ff}\u{4e00}-\u{4e20} ]{0,120}",
            rule in "[a-z ]{1,120}",
            minutes in 0_i64..100_000,
            late in proptest::option::of(1_i64..10_000),
            sign in "[a-z\u{e0}-\u{ff} ]{1,60}",
            measured in 0_usize..3,
        ) {
            let many = voices(&[&sign, "t-1"], &["c-2", "c-3"], &["k-4", "k-5"]);
            let seen = Figures::Seen { sign: sign.clone(), n: 5, of: 100, voices: many.clone() };
            let figures = match measured {
                0 => raised(&rule).figures,
                1 => fever(many),
                _ => Figures::Several(vec![fever(many), seen, Figures::NotSo { what: sign }]),
            };
            let one = Alert { late: late.map(Span::minutes), figures, ..raised(&rule) };
            let birth = second_stage(&[(Mark::WaterBag, 0), (Mark::Feet, 24)]);
            let mut farm = config(&group);
            farm.farm.moving = Moving::InSecondStage;
            let words = call_of(&farm, &one, minute(25 + minutes), None, Some(&birth));
            prop_assert!(words.subject.len() <= HEAD_MAX, "{}", words.subject);
            prop_assert!(words.subject.starts_with("114") && words.subject.ends_with("K4T7"));
            for text in [&words.sms, &taken(&config(&group), &one, minute(60), "Ana", None, &Reader::of_the_house()).sms] {
                prop_assert!(text.len() <= SMS_MAX && text.bytes().all(|b| (b' '..=b'~').contains(&b)), "{text}");
            }
        }
    }
}
