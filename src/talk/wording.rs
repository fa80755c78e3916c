//! What a message says. The first 70 characters always tell which animal, where, what and the code,
//! because that is all that a locked telephone shows.

use super::birth::{self, Birth};
use super::cautions;
use super::drill;
use super::herself;
use super::named::named;
use super::reason;
use crate::alarm::alert::{Alert, Past};
use crate::config::Config;
use crate::config::animals::AnimalRow;
use crate::config::rules::{Ill, Rule};
use crate::plain::english;
use crate::plain::ids::Animal;
use crate::plain::moment::Moment;
use crate::rules::verdict::{Figures, Subject};

/// What a locked screen shows of a message (common practice, no source).
pub const HEAD_MAX: usize = 70;
/// One text message of plain characters (3GPP TS 23.038; standards.md SM-01).
pub const SMS_MAX: usize = 160;

/// One of several that belong together (3GPP TS 23.040; standards.md SM-03).
const SMS_PART: usize = 153;

/// A short text and a long one about the same thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    pub subject: String,
    pub mail: String,
    pub sms: String,
}

impl Words {
    /// With what is still open of her calves: in the mail always, in a text where there is room.
    #[must_use]
    pub fn with_open(mut self, open: &[String]) -> Self {
        if open.is_empty() {
            return self;
        }
        if let Some(at) = self.mail.find(HOW_TO_ANSWER) {
            self.mail.insert_str(at, &format!("{}\n", open.join("\n")));
        }
        let short = format!(" {}", plain(&open.join(" ")));
        if let Some(at) = self.sms.find(cautions::SHORT)
            && self.sms.len() + short.len() <= SMS_MAX
        {
            self.sms.insert_str(at, &short);
        }
        self
    }
}

/// The call to go and look.
pub fn alert(config: &Config, alert: &Alert, now: Moment, holder_of_others: Option<&str>) -> Words {
    alert_of(config, alert, now, holder_of_others, None)
}

/// The same, with how the birth of the dam stands that it is about.
pub fn alert_of(
    config: &Config,
    alert: &Alert,
    now: Moment,
    holder_of_others: Option<&str>,
    birth: Option<&Birth>,
) -> Words {
    let head = head(config, alert, now);
    let rule = rule_of(config, alert);
    let action = rule.and_then(|rule| rule.action.as_deref()).unwrap_or("Go and look.");
    let mut mail = format!("{head}\n\n");
    if let Some(late) = alert.late {
        mail.push_str(&format!("Late by {}: we were down.\n\n", english::span(late)));
    }
    let moving = birth::moving(config.farm.moving, action, birth, now);
    let action = moving.map_or_else(|| action.to_owned(), |moving| format!("{action} {moving}"));
    mail.push_str(&format!("{action}\n\n"));
    if let Some(clocks) = birth.and_then(|birth| birth.clocks(now)) {
        mail.push_str(&format!("{clocks}.\n"));
    }
    mail.push_str(&format!("{}\n", background(config, alert, rule, now)));
    if let Some(holder) = holder_of_others {
        mail.push_str(&format!("{holder} is with her or on the way.\n"));
    }
    mail.push_str(&config.terms.in_words(HOW_TO_ANSWER));
    if alert.figures.says_lost() {
        mail.push_str(&config.terms.in_words(cautions::ABORTED));
    }
    let cautions = if sends_out(alert) { cautions::FULL } else { cautions::ALWAYS };
    mail.push_str(&config.terms.in_words(cautions));
    Words { subject: head.clone(), mail, sms: sms(config, &head, alert, (&action, birth), now) }
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
) -> Words {
    let head = head(config, alert, now);
    let clocks = birth.and_then(|birth| birth.clocks(now));
    let clocks = clocks.map_or(String::new(), |clocks| format!(" {clocks}."));
    let tail = format!("{holder} has it. You need not go unless {holder} asks.{clocks}");
    short(&head, &tail)
}

/// It is over, and why.
pub fn over(config: &Config, past: &Past, because: &str) -> Words {
    let about = (&past.subject, past.on.as_ref());
    let head = head_of(config, about, past.rule.as_str(), &past.code);
    short(&head, &format!("This alert is over: {because}."))
}

/// An answer to words that came in.
pub fn answer(text: &str) -> Words {
    answer_in_parts(text, 1)
}

/// The same, where it may fill several text messages: what is more than one is asked for by name.
pub fn answer_in_parts(text: &str, parts: usize) -> Words {
    let first = text.lines().next().unwrap_or_default();
    let most = if parts > 1 { parts * SMS_PART } else { SMS_MAX };
    Words {
        subject: cut(&plain(first), HEAD_MAX),
        mail: format!("{text}\n"),
        sms: cut(&plain(&text.replace('\n', " ")), most),
    }
}

/// Which animal, where, what, code: never more than `HEAD_MAX` characters, all of them plain.
pub fn head(config: &Config, alert: &Alert, now: Moment) -> String {
    let figures = config.terms.in_words(&reason::short(&alert.figures, now));
    let mut what = format!("{} {figures}", alert.rule);
    if let Figures::Ill { ill, .. } = &alert.figures
        && alert.rule.as_str().contains(ill.word())
    {
        // The rule's name says it already.
        what = alert.rule.to_string();
    }
    head_with(config, alert, what.trim_end())
}

/// The same with something else to say of its subject.
pub fn head_with(config: &Config, alert: &Alert, what: &str) -> String {
    let on = alert.on.as_ref().or(alert.figures.gone_in_with());
    head_of(config, (&alert.subject, on), what, &alert.code)
}

/// `about`: the subject, and the dam that wears it if it is a device.
fn head_of(config: &Config, about: (&Subject, Option<&Animal>), what: &str, code: &str) -> String {
    let (subject, on) = about;
    let place_of = |animal: &str| row(config, animal).map_or("", |row| row.group.as_str());
    let (who, place, what) = match subject {
        Subject::Dam(animal) => (animal.as_str(), place_of(animal.as_str()), what.to_owned()),
        Subject::Device(device) => {
            let animal = on.map(Animal::as_str);
            (animal.unwrap_or("no dam"), animal.map_or("", place_of), format!("{what} {device}"))
        }
        Subject::Line(line) => ("Lowbell", line.as_str(), what.to_owned()),
        Subject::Gateway(gateway) => (gateway.as_str(), "", what.to_owned()),
        Subject::Herd => ("Herd", "", what.to_owned()),
        Subject::Rota => ("Rota", "", what.to_owned()),
        Subject::Drill => ("DRILL", "", drill::what(what)),
        Subject::Person(person) => (person.as_str(), "", what.to_owned()),
    };
    let about_her = match subject {
        Subject::Dam(animal) => Some(animal),
        Subject::Device(_) => on,
        Subject::Person(_) => on,
        Subject::Line(_) | Subject::Gateway(_) | Subject::Herd | Subject::Rota | Subject::Drill => {
            None
        }
    };
    let mind = about_her.and_then(|animal| mind(config, animal.as_str())).unwrap_or_default();
    let who = format!("{mind}{}", cut(&plain(who), WHO_MAX));
    let what = plain(&what);
    let rest = who.len() + ": ".len() + what.len() + 1 + code.len();
    let room = HEAD_MAX.saturating_sub(rest + 1);
    let place = if place.is_empty() || room < PLACE_MIN {
        String::new()
    } else {
        format!(" {}", cut(&plain(place), room))
    };
    let room = HEAD_MAX.saturating_sub(who.len() + place.len() + ": ".len() + 1 + code.len());
    format!("{who}{place}: {} {code}", cut(&what, room))
}

/// What comes first in every message about a dam who turns on people (needs.md N104).
pub fn mind(config: &Config, animal: &str) -> Option<&'static str> {
    let temper = row(config, animal)?.temper?;
    (temper >= config.farm.mind_from).then_some("Mind her! ")
}

/// A dam's number of 15 digits and a little more.
const WHO_MAX: usize = 20;
/// Less of a place's name than this tells nobody where.
const PLACE_MIN: usize = 4;

fn background(config: &Config, alert: &Alert, rule: Option<&Rule>, now: Moment) -> String {
    let zone = &config.farm.zone;
    let mut lines = herself::lines(config, alert);
    lines.push(match &alert.figures {
        Figures::Clock { began, limit, calf } => format!(
            "The clock{} began at {} and its limit is {}.",
            calf.map_or(String::new(), |number| format!(" of calf {number}")),
            zone.clock(*began),
            english::span(*limit)
        ),
        Figures::Counted { .. }
        | Figures::Level { .. }
        | Figures::Changed { .. }
        | Figures::Seen { .. }
        | Figures::NotSo { .. }
        | Figures::Due { .. }
        | Figures::Several(_) => {
            let why = reason::why(&alert.figures, now);
            format!("{why}. Since {}.", zone.clock(alert.since))
        }
        Figures::Silence { since, never } => {
            let verb = if *never { "Listened for since" } else { "Last heard at" };
            format!("{verb} {}.", zone.date_and_clock(*since))
        }
        Figures::Ill { ill, since, why } => {
            let alone = if ill.blinds() {
                "\nWhat it says is no sign of her: until it is mended, look at her yourself."
            } else {
                ""
            };
            let began = zone.date_and_clock(*since);
            format!("Since {began} the sensor is ill ({}): {why}.{alone}", ill.word())
        }
        Figures::Trouble { since, why, .. } => format!("Since {}: {why}.", zone.clock(*since)),
        Figures::Gateway { since, animals } => format!(
            "Nothing has come through it since {}. Nothing else watches: {}.",
            zone.date_and_clock(*since),
            named(config, animals)
        ),
        Figures::Uncovered { .. } | Figures::Drill { .. } => reason::apart(&alert.figures, zone),
        Figures::Alone { with, since, until } => {
            let her = with.as_ref().map_or(String::new(), |animal| format!(" with {animal}"));
            format!(
                "Went in{her} at {}, was to be out by {}, and has not answered.\nWhoever sees them answers \"{} is out\".",
                zone.clock(*since),
                zone.clock(*until),
                alert.subject
            )
        }
        Figures::Unwatched { animals } => {
            // Her own number: whoever is tired sends the example as it stands.
            let one = animals.first().map_or("114", Animal::as_str);
            format!(
                "No device and nobody's last look covers: {}.\nAnswer with what you see of each, such as \"{one} seen\".",
                named(config, animals)
            )
        }
    });
    if let Some(ahead) = reason::ahead(&alert.figures, config) {
        lines.push(format!("It may be {}: so far ahead such a sensor tells.", ahead.words()));
    }
    lines.push(format!(
        "Alert {}, code {}, priority {}. Rule: {}.",
        alert.no,
        alert.code,
        alert.priority.word(),
        alert.rule
    ));
    if let Some(rule) = rule.filter(|rule| !rule.source.is_empty()) {
        lines.push(format!("Source: {}.", rule.source.trim_end_matches('.')));
    }
    lines.join("\n")
}

const HOW_TO_ANSWER: &str = "
Reply with a word or two:
  going       you go; the others are told that you have it
  pass        you cannot; the next person is called at once
  feet 0210   what you see, with its time if it is not now
              (water bag, feet, nose, calf, up, sucked, placenta, seen)
";

fn sms(
    config: &Config,
    head: &str,
    alert: &Alert,
    (action, birth): (&str, Option<&Birth>),
    now: Moment,
) -> String {
    let late = alert
        .late
        .map_or(String::new(), |late| format!(" Late {}, we were down.", english::span(late)));
    let end =
        format!("{} Reply going or pass.", if sends_out(alert) { cautions::SHORT } else { "" });
    let room = SMS_MAX.saturating_sub(head.len() + late.len() + end.len() + 2);
    let action = cut(&plain(action), room);
    // What to do goes first, then the clocks; why has what room is left.
    let clocks = birth::clocks(alert, birth, room.saturating_sub(action.len()), now);
    let action = format!("{action}{clocks}");
    let ahead = reason::ahead(&alert.figures, config);
    let ahead = ahead.map(|ahead| format!(" It may be {}.", ahead.words()));
    let ahead = ahead.filter(|ahead| action.len() + ahead.len() <= room).unwrap_or_default();
    let why = reason::more(&alert.figures, now).map(|why| format!(" {}.", plain(&why)));
    let fits = |why: &String| action.len() + ahead.len() + why.len() <= room;
    let why = why.filter(fits).unwrap_or_default();
    format!("{head}.{late} {action}{ahead}{why}{end}")
}

fn short(head: &str, tail: &str) -> Words {
    let sms = cut(&plain(&format!("{head}. {tail}")), SMS_MAX);
    Words { subject: head.to_owned(), mail: format!("{head}\n\n{tail}\n"), sms }
}

fn rule_of<'a>(config: &'a Config, alert: &Alert) -> Option<&'a Rule> {
    config.rules.iter().find(|rule| rule.name == alert.rule)
}

pub(super) fn row<'a>(config: &'a Config, animal: &str) -> Option<&'a AnimalRow> {
    config.animals.iter().find(|row| row.animal.as_str() == animal)
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

/// Only characters that every telephone and mail server carries: accents go, the rest becomes `?`.
pub fn plain(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            ' '..='~' => c,
            'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' => 'a',
            'À' | 'Á' | 'Â' | 'Ã' | 'Ä' | 'Å' => 'A',
            'è' | 'é' | 'ê' | 'ë' => 'e',
            'È' | 'É' | 'Ê' | 'Ë' => 'E',
            'ì' | 'í' | 'î' | 'ï' => 'i',
            'Ì' | 'Í' | 'Î' | 'Ï' => 'I',
            'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ø' => 'o',
            'Ò' | 'Ó' | 'Ô' | 'Õ' | 'Ö' | 'Ø' => 'O',
            'ù' | 'ú' | 'û' | 'ü' => 'u',
            'Ù' | 'Ú' | 'Û' | 'Ü' => 'U',
            'ñ' => 'n',
            'Ñ' => 'N',
            'ç' => 'c',
            'Ç' => 'C',
            '\u{2018}' | '\u{2019}' => '\'',
            '\u{201c}' | '\u{201d}' => '"',
            '\u{2013}' | '\u{2014}' => '-',
            c if c.is_whitespace() => ' ',
            _ => '?',
        })
        .collect()
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
    use crate::plain::ids::{AlertNo, DeviceId, GatewayName, RuleName};
    use crate::plain::moment::Span;
    use crate::rules::priority::Priority;
    use crate::rules::verdict::Voices;

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
        }
    }

    #[test]
    fn a_call_says_which_animal_where_what_and_the_code_first() {
        let words =
            alert(&config("home field"), &raised("second stage too long"), minute(61), None);
        assert_eq!(words.subject, "114 home field: second stage too long 1 h 01 min K4T7");
        assert!(words.mail.starts_with(&words.subject));
        assert_eq!(
            words.sms,
            "114 home field: second stage too long 1 h 01 min K4T7. Examine her now, or call the vet. \
             Not alone. Reply going or pass."
        );
    }

    #[test]
    fn a_mail_that_sends_somebody_out_has_every_caution() {
        let words =
            alert(&config("home field"), &raised("second stage too long"), minute(61), Some("Tom"));
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
            let words = alert(&config(""), &out, minute(61), None);
            assert!(words.mail.contains("Never alone"), "{}", words.mail);
            assert!(words.mail.contains("turned on Tom"), "{}", words.mail);
            assert!(words.sms.contains("Not alone."), "{}", words.sms);
        }
        for by_day in [of_no_dam, ill(Ill::BatteryLow)] {
            let words = alert(&config(""), &by_day, minute(61), None);
            assert!(!words.mail.contains("Never alone") && !words.sms.contains("Not alone."));
            assert!(words.mail.contains("does not replace your vet"));
        }
        let placenta = alert(&config(""), &raised("placenta not passed"), minute(61), None);
        assert!(placenta.mail.contains("Do not pull") && placenta.sms.contains("Do not pull"));
    }

    #[test]
    fn a_call_about_a_mare_speaks_of_mare_and_foal() {
        let mut stud = config("foaling box");
        stud.terms = Terms::of("horse");
        // Those of cattle, whose sources speak of cows.
        stud.rules.clear();
        let mail = alert(&stud, &raised("second stage too long"), minute(61), None).mail;
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
        let words = alert(&config("home field"), &late, minute(73), None);
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
        let words = alert(&config("home field"), &one, minute(60), None);
        assert_eq!(words.subject, "114 home field: fever 40.2 Cel K4T7");
        assert_eq!(
            words.sms,
            "114 home field: fever 40.2 Cel K4T7. Go and look. \
             temperature 40.2 Cel, over 39.5 for 35 min (t-07). Not alone. Reply going or pass."
        );
        assert!(words.mail.contains("\ntemperature 40.2 Cel, over 39.5 for 35 min (t-07). Since "));
        let seen = Figures::Seen {
            sign: "lying on side".into(),
            n: 4,
            of: 5,
            voices: voices(&["cam-1"], &["cam-2"], &["t-07", "c-12"]),
        };
        assert_eq!(
            reason::why(&seen, minute(60)),
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
            reason::why(&counted(voices(&["t-07"], &[], &[])), minute(60)),
            "contraction counted 6 in 10 min, limit 4 (t-07)"
        );
        assert_eq!(reason::more(&counted(voices(&["t-07"], &[], &[])), minute(60)), None);
        assert!(reason::more(&counted(voices(&["t-07"], &["c-12"], &[])), minute(60)).is_some());
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
            alert(&farm, &one, minute(60), None).sms
        };
        assert!(sms(&["bolus"]).contains("Go and look. It may be within a day."));
        assert!(sms(&["bolus", "tail"]).contains("Go and look. It may be within hours."));
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
        let said = |one: &Alert| alert_of(&farm, one, minute(42), None, Some(&birth));
        let words = said(&Alert { figures: fever(Voices::default()), ..raised("fever") });
        let clocks = "Second stage 42 min, nothing new for 18 min.";
        assert!(words.mail.contains(&format!("\n{clocks}\n")), "{}", words.mail);
        assert!(words.sms.contains(&format!("Go and look. {clocks}")), "{}", words.sms);
        // The head says how long already: the other clock is enough.
        let total = said(&raised("second stage too long"));
        assert!(total.mail.contains(clocks), "{}", total.mail);
        assert_eq!(
            total.sms,
            "114 home field: second stage too long 42 min K4T7. Examine her now, or call the vet. \
             Nothing new for 18 min. Not alone. Reply going or pass."
        );
        let held = taken(&farm, &raised("fever"), minute(42), "Ana", Some(&birth));
        assert!(held.sms.contains("unless Ana asks. Second stage 42 min"), "{}", held.sms);
        assert!(!alert(&farm, &raised("fever"), minute(42), None).mail.contains("Second stage"));
    }

    /// needs.md N109, by the farm's policy; what the rule says itself is not said twice.
    #[test]
    fn a_call_says_whether_to_move_her() {
        let mut farm = config("home field");
        farm.farm.moving = Moving::InSecondStage;
        let sms = |farm: &Config, marks: &[(Mark, i64)], rule: &str| {
            let birth = second_stage(marks);
            alert_of(farm, &raised(rule), minute(20), None, Some(&birth)).sms
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
            let words = alert_of(&farm, &one, minute(25 + minutes), None, Some(&birth));
            prop_assert!(words.subject.len() <= HEAD_MAX, "{}", words.subject);
            prop_assert!(words.subject.starts_with("114") && words.subject.ends_with("K4T7"));
            for text in [&words.sms, &taken(&config(&group), &one, minute(60), "Ana", None).sms] {
                prop_assert!(text.len() <= SMS_MAX && text.bytes().all(|b| (b' '..=b'~').contains(&b)), "{text}");
            }
        }
    }
}
