//! What a message says. The first 70 characters always tell which animal, where, what and the code,
//! because that is all that a locked telephone shows.

use super::cautions;
use crate::alarm::alert::{Alert, Past};
use crate::config::Config;
use crate::config::animals::{AnimalRow, Parity};
use crate::config::rules::Rule;
use crate::plain::english;
use crate::plain::ids::Animal;
use crate::plain::moment::{Moment, Span};
use crate::rules::verdict::{Figures, Subject};

/// What a locked screen shows of a message (common practice, no source).
pub const HEAD_MAX: usize = 70;
/// One text message of plain characters (3GPP TS 23.038; standards.md SM-01).
pub const SMS_MAX: usize = 160;

/// A short text and a long one about the same thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    pub subject: String,
    pub mail: String,
    pub sms: String,
}

/// The call to go and look.
pub fn alert(config: &Config, alert: &Alert, now: Moment, holder_of_others: Option<&str>) -> Words {
    let head = head(config, alert, now);
    let rule = rule_of(config, alert);
    let action = rule.and_then(|rule| rule.action.as_deref()).unwrap_or("Go and look.");
    // Whoever looks for the unwatched goes to dams that may be calving.
    let calving = matches!(alert.subject, Subject::Dam(_) | Subject::Herd);
    let mut mail = format!("{head}\n\n");
    if let Some(late) = alert.late {
        mail.push_str(&format!("Late by {}: we were down.\n\n", english::span(late)));
    }
    mail.push_str(&format!("{action}\n\n{}\n", background(config, alert, rule)));
    if let Some(holder) = holder_of_others {
        mail.push_str(&format!("{holder} is with her or on the way.\n"));
    }
    mail.push_str(HOW_TO_ANSWER);
    mail.push_str(if calving { cautions::FULL } else { cautions::ALWAYS });
    Words { subject: head.clone(), mail, sms: sms(&head, alert.late, action, calving) }
}

/// Somebody else has it now.
pub fn taken(config: &Config, alert: &Alert, now: Moment, holder: &str) -> Words {
    let head = head(config, alert, now);
    let tail = format!("{holder} has it. You need not go unless {holder} asks.");
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
    let first = text.lines().next().unwrap_or_default();
    Words {
        subject: cut(&plain(first), HEAD_MAX),
        mail: format!("{text}\n"),
        sms: cut(&plain(&text.replace('\n', " ")), SMS_MAX),
    }
}

/// Which animal, where, what, code: never more than `HEAD_MAX` characters, all of them plain.
pub fn head(config: &Config, alert: &Alert, now: Moment) -> String {
    let what = format!("{} {}", alert.rule, figure(&alert.figures, now));
    let about = (&alert.subject, alert.on.as_ref());
    head_of(config, about, what.trim_end(), &alert.code)
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
    };
    let who = cut(&plain(who), WHO_MAX);
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

/// A dam's number of 15 digits and a little more.
const WHO_MAX: usize = 20;
/// Less of a place's name than this tells nobody where.
const PLACE_MIN: usize = 4;

fn figure(figures: &Figures, now: Moment) -> String {
    match figures {
        Figures::Clock { began, .. } => english::span(now.since(*began)),
        Figures::Counted { n, over } => format!("{n} in {}", english::span(*over)),
        Figures::Silence { since, never: false } => english::span(now.since(*since)),
        Figures::Silence { never: true, .. } => "never heard".to_owned(),
        Figures::Trouble { .. } => String::new(),
        Figures::Gateway { since, animals } => {
            format!("{}, {}", english::span(now.since(*since)), unwatched(animals.len()))
        }
        Figures::Unwatched { .. } => animals(figures, NAMED),
    }
}

fn background(config: &Config, alert: &Alert, rule: Option<&Rule>) -> String {
    let zone = &config.farm.zone;
    let mut lines = Vec::new();
    if let Subject::Dam(animal) = &alert.subject
        && let Some(row) = row(config, animal.as_str())
    {
        let kind = match row.parity {
            Parity::Cow => "cow",
            Parity::Heifer => "heifer",
        };
        let name = if row.name.is_empty() { String::new() } else { format!(" {}", row.name) };
        lines.push(format!("Dam {animal}{name}, {kind}, {}.", or(&row.group, "place not noted")));
        if !row.notes.is_empty() {
            lines.push(format!("Noted of her: {}.", row.notes.trim_end_matches('.')));
        }
    }
    lines.push(match &alert.figures {
        Figures::Clock { began, limit } => format!(
            "The clock began at {} and its limit is {}.",
            zone.clock(*began),
            english::span(*limit)
        ),
        Figures::Counted { n, over } => {
            format!(
                "Counted {n} within {}, up to {}.",
                english::span(*over),
                zone.clock(alert.since)
            )
        }
        Figures::Silence { since, never } => {
            let verb = if *never { "Listened for since" } else { "Last heard at" };
            format!("{verb} {}.", zone.date_and_clock(*since))
        }
        Figures::Trouble { since, why, .. } => format!("Since {}: {why}.", zone.clock(*since)),
        Figures::Gateway { since, animals } => format!(
            "Nothing has come through it since {}. Nothing else watches: {}.",
            zone.date_and_clock(*since),
            named(config, animals)
        ),
        Figures::Unwatched { animals } => format!(
            "No device and nobody's last look covers: {}.\nAnswer with what you see of each, such as \"114 seen\".",
            named(config, animals)
        ),
    });
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

/// Animals named in a head: the mail has them all.
const NAMED: usize = 4;

/// "25 dams unwatched".
fn unwatched(count: usize) -> String {
    if count == 0 {
        "no dam unwatched".to_owned()
    } else {
        format!("{} unwatched", english::many(count, "dam", "dams"))
    }
}

/// How many animals a finding is about and the first of them: "3 dams: 114, 207 and 031".
pub fn animals(figures: &Figures, named: usize) -> String {
    let (animals, count) = match figures {
        Figures::Gateway { animals, .. } => (animals, unwatched(animals.len())),
        Figures::Unwatched { animals } => (animals, english::many(animals.len(), "dam", "dams")),
        Figures::Clock { .. }
        | Figures::Counted { .. }
        | Figures::Silence { .. }
        | Figures::Trouble { .. } => return String::new(),
    };
    let mut names: Vec<String> = animals.iter().take(named).map(Animal::to_string).collect();
    if animals.len() > named {
        names.push(format!("{} more", animals.len() - named));
    }
    if names.is_empty() { count } else { format!("{count}: {}", english::list(&names)) }
}

/// Every one with her name and place.
fn named(config: &Config, animals: &[Animal]) -> String {
    let one = |animal: &Animal| {
        let row = row(config, animal.as_str());
        let name = row.map_or("", |row| row.name.as_str());
        let group = row.map_or("", |row| row.group.as_str());
        let place = if group.is_empty() { String::new() } else { format!(" ({group})") };
        format!("{animal} {name}").trim_end().to_owned() + &place
    };
    let names: Vec<String> = animals.iter().map(one).collect();
    if names.is_empty() { "nobody".to_owned() } else { english::list(&names) }
}

const HOW_TO_ANSWER: &str = "
Reply with a word or two:
  going       you go; the others are told that you have it
  pass        you cannot; the next person is called at once
  feet 0210   what you see, with its time if it is not now
              (water bag, feet, nose, calf, up, sucked, placenta, seen)
";

fn sms(head: &str, late: Option<Span>, action: &str, calving: bool) -> String {
    let late =
        late.map_or(String::new(), |late| format!(" Late {}, we were down.", english::span(late)));
    let end = format!("{} Reply going or pass.", if calving { cautions::SHORT } else { "" });
    let room = SMS_MAX.saturating_sub(head.len() + late.len() + end.len() + 2);
    format!("{head}.{late} {}{end}", cut(&plain(action), room))
}

fn short(head: &str, tail: &str) -> Words {
    let sms = cut(&plain(&format!("{head}. {tail}")), SMS_MAX);
    Words { subject: head.to_owned(), mail: format!("{head}\n\n{tail}\n"), sms }
}

fn rule_of<'a>(config: &'a Config, alert: &Alert) -> Option<&'a Rule> {
    config.rules.iter().find(|rule| rule.name == alert.rule)
}

fn row<'a>(config: &'a Config, animal: &str) -> Option<&'a AnimalRow> {
    config.animals.iter().find(|row| row.animal.as_str() == animal)
}

fn or<'a>(text: &'a str, instead: &'a str) -> &'a str {
    if text.is_empty() { instead } else { text }
}

/// At most `max` characters, cut at a word where there is one.
fn cut(text: &str, max: usize) -> String {
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
fn plain(text: &str) -> String {
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

    use proptest::prelude::*;

    use super::*;
    use crate::alarm::alert::{RungState, Standing};
    use crate::config::{self, NamedText, SettingsText};
    use crate::plain::ids::{AlertNo, RuleName};
    use crate::rules::priority::Priority;

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
            figures: Figures::Clock { began: minute(0), limit: Span::hours(1) },
            standing: Standing::Climbing { next: minute(60) },
            ask_first: None,
            told: BTreeMap::new(),
            reached: BTreeSet::new(),
            passed: BTreeSet::new(),
            also: BTreeSet::new(),
            rung: RungState::default(),
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
        let placenta = alert(&config(""), &raised("placenta not passed"), minute(61), None);
        assert!(placenta.mail.contains("Do not pull") && placenta.sms.contains("Do not pull"));
    }

    #[test]
    fn a_late_call_says_how_late() {
        let late = Alert { late: Some(Span::minutes(12)), ..raised("second stage too long") };
        let words = alert(&config("home field"), &late, minute(73), None);
        assert!(words.mail.contains("Late by 12 min: we were down."));
        assert!(words.sms.contains("Late 12 min, we were down."));
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
        ) {
            let one = Alert { late: late.map(Span::minutes), ..raised(&rule) };
            let words = alert(&config(&group), &one, minute(60 + minutes), None);
            prop_assert!(words.subject.len() <= HEAD_MAX, "{}", words.subject);
            prop_assert!(words.subject.starts_with("114") && words.subject.ends_with("K4T7"));
            for text in [&words.sms, &taken(&config(&group), &one, minute(60), "Ana").sms] {
                prop_assert!(text.len() <= SMS_MAX && text.bytes().all(|b| (b' '..=b'~').contains(&b)), "{text}");
            }
        }
    }
}
