//! Every text of every shipped rule that notifies, for every part and in every language: role-shaped (needs.md N71), in the
//! reader's own language (N93), and in one text message that says the most on a locked screen (N79).
//!
//! The texts stand in `tests/texts`, one file a language, with their figures. With `LOWBELL_WRITE_TEXTS=1` they are written
//! anew, to be read before they are kept.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use lowbell::alarm::alert::{Alert, Past, RungState, Standing};
use lowbell::alarm::ending::Ending;
use lowbell::alarm::message::MessageKind;
use lowbell::config::lessons::{self, Lesson};
use lowbell::config::people::{Language, Part};
use lowbell::config::rules::{Condition, Ill, Rule};
use lowbell::config::{Config, NamedText, SettingsText, parse};
use lowbell::herd::sign::Mark;
use lowbell::plain::amount::Amount;
use lowbell::plain::ids::{AlertNo, Animal, DeviceId, GatewayName, LineName, PersonName};
use lowbell::plain::moment::{Moment, Span};
use lowbell::plain::septet;
use lowbell::rules::priority::Priority;
use lowbell::rules::verdict::{Figures, Subject, Voices};
use lowbell::talk::gathered::{self, Why};
use lowbell::talk::phrases;
use lowbell::talk::reader::Reader;
use lowbell::talk::wording::{self, Beside, HEAD_MAX, Words};

use super::stories;
use super::storyteller::{Teller, extra, halves, settings};

const PARTS: [(&str, Part); 4] = [
    ("owner", Part::Owner),
    ("stockman", Part::Stockman),
    ("helper", Part::Helper),
    ("vet", Part::Vet),
];

const SPECIES: [&str; 7] = ["cattle", "sheep", "goat", "horse", "pig", "alpaca", "buffalo"];

/// One of each part; long names, as there are.
const PEOPLE: [&str; 4] = ["Bernadette", "Christopher", "Anne-Sophie", "Fitzwilliam"];

/// An ordinary dam, and the longest that a farm may have: a whole ear tag, a long place, and a temper.
const DAMS: [(&str, &str, &str); 2] =
    [("0312", "Kreuzfeld", "2"), ("IE141234567890", "Hinterer Stall am Bach", "6")];

/// A farm whose people all read one language. `letters` as in the settings of the gateway.
fn farm(language: Language, letters: &str, species: &str) -> Config {
    let mut farm = format!(
        "[farm]\nname = \"Hollow Bank\"\nzone = \"Europe/Dublin\"\nherd = \"herd.csv\"\nspecies = \"{species}\"\n\
         [broker]\nurl = \"mqtt://127.0.0.1\"\n\
         [[line]]\nname = \"sms\"\nkind = \"sms-http\"\nurl = \"http://127.0.0.1:9100/send\"\nallow-private = true\n\
         body = '{{\"to\":\"{{to}}\",\"text\":\"{{text}}\"}}'\nletters = \"{letters}\"\n"
    );
    for (at, (name, (part, _))) in PEOPLE.iter().zip(PARTS).enumerate() {
        farm.push_str(&format!(
            "[[person]]\nname = \"{name}\"\npart = \"{part}\"\nspeaks = \"{}\"\nmobile = \"+35386000000{at}\"\n",
            language.tag()
        ));
    }
    let mut herd = "animal,name,calvings,group,temper\n".to_owned();
    for (animal, place, temper) in DAMS {
        herd.push_str(&format!("{animal},Bramble,1,\"{place}\",{temper}\n"));
    }
    let file = |name: &str, text: String| NamedText { name: name.to_owned(), text };
    let files = vec![file("farm.toml", farm), file("herd.csv", herd)];
    let read = parse(&SettingsText { files });
    read.config.unwrap_or_else(|| panic!("{:?}", read.faults))
}

fn minute(n: i64) -> Moment {
    Moment::default() + Span::minutes(n)
}

/// An alert such as the rule raises, about one of the dams where it is about one.
fn raised(rule: &Rule, dam: &str) -> Alert {
    let animal = Animal::new(dam);
    let device = || Subject::Device(DeviceId::new("tail-0312"));
    let since = minute(0);
    let (subject, figures) = match &rule.condition {
        Condition::Silent { .. } => (device(), Figures::Silence { since, never: false }),
        Condition::Ill { with, .. } => {
            let ill = with.first().copied().unwrap_or(Ill::Nonsense);
            (device(), Figures::Ill { ill, since, why: "why".into() })
        }
        Condition::Gateway { .. } => {
            let animals = vec![animal.clone()];
            (Subject::Gateway(GatewayName::new("mast")), Figures::Gateway { since, animals })
        }
        Condition::Unwatched { .. } => {
            (Subject::Herd, Figures::Unwatched { animals: vec![animal.clone()] })
        }
        Condition::Trouble { .. } => {
            let figures = Figures::Trouble { since, why: "why".into(), momentary: false };
            (Subject::Line(LineName::new("broker")), figures)
        }
        Condition::Alone { .. } => {
            let with = Some(animal.clone());
            let figures = Figures::Alone { with, since, until: minute(30) };
            (Subject::Person(PersonName::new("Christopher")), figures)
        }
        Condition::Uncovered { .. } => {
            let hours = "Fri 27 Nov 20:00-08:00".into();
            let (rota, unproven) = ("night".into(), Vec::new());
            (Subject::Rota, Figures::Uncovered { rota, hours, nobody: true, unproven })
        }
        Condition::Drill { .. } => (Subject::Drill, Figures::Drill { until: minute(90) }),
        about_a_dam @ (Condition::Count { .. }
        | Condition::Level(_)
        | Condition::Seen(_)
        | Condition::All(_)
        | Condition::AnyOf(_)
        | Condition::Not(_)
        | Condition::Clock { .. }
        | Condition::Change(_)
        | Condition::Due(_)) => (Subject::Dam(animal.clone()), of_a_dam(about_a_dam)),
    };
    let on = matches!(subject, Subject::Device(_)).then_some(animal);
    Alert {
        no: AlertNo(1),
        code: "K4T7".into(),
        rule: rule.name.clone(),
        subject,
        on,
        priority: Priority::High,
        ladder: "calving".into(),
        since,
        raised: since,
        late: None,
        figures,
        standing: Standing::Climbing { next: since },
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

fn of_a_dam(condition: &Condition) -> Figures {
    let clock = Figures::Clock { began: minute(0), limit: Span::hours(1), calf: None };
    let voices = Voices::default();
    match condition {
        Condition::Count { sign, at_least, .. } => {
            let (sign, over, limit) = (sign.clone(), Span::hours(1), *at_least);
            Figures::Counted { sign, n: at_least + 2, over, limit, voices }
        }
        Condition::Level(level) => Figures::Level {
            sign: level.sign.clone(),
            value: Amount::thousandths(40_200),
            unit: "Cel".into(),
            above: true,
            edge: Amount::thousandths(39_500),
            began: minute(25),
            voices,
        },
        Condition::Due(due) => Figures::Due { when: due.when, day: Some((297, 297)), days: 4 },
        Condition::All(each) => Figures::Several(each.iter().map(of_a_dam).collect()),
        Condition::Not(_) => Figures::NotSo { what: "contraction".into() },
        Condition::Seen(_)
        | Condition::AnyOf(_)
        | Condition::Clock { .. }
        | Condition::Change(_)
        | Condition::Silent { .. }
        | Condition::Ill { .. }
        | Condition::Gateway { .. }
        | Condition::Unwatched { .. }
        | Condition::Trouble { .. }
        | Condition::Alone { .. }
        | Condition::Uncovered { .. }
        | Condition::Drill { .. } => clock,
    }
}

fn told(config: &Config, alert: &Alert, name: &str) -> (Words, Reader) {
    let reader = Reader::of(config, &PersonName::new(name), Some(&LineName::new("sms")));
    (wording::alert(config, alert, minute(65), Beside::default(), &reader), reader)
}

fn notifying(config: &Config) -> Vec<&Rule> {
    config.rules.iter().filter(|rule| rule.tell.is_some()).collect()
}

/// Letters that a text may lose or spell out in two are compared without what is lost.
fn bare(text: &str) -> String {
    let plain = wording::plain(&text.replace('ß', "ss").replace('œ', "oe"));
    let plain = plain.replace('?', "").to_lowercase();
    ["ae", "oe", "ue"].iter().fold(plain, |text, two| text.replace(two, &two[..1]))
}

fn act_of(lesson: &Lesson, part: Part, call: &str) -> String {
    match part {
        Part::Owner | Part::Stockman | Part::Viewer => lesson.action.clone(),
        Part::Helper => lesson.helper.replace("{call}", call),
        Part::Vet => lesson.vet.clone(),
    }
}

/// needs.md N79; standards.md SM-01, SM-06 (3GPP TS 23.038); 70 letters on a locked screen are common practice, no source.
#[test]
fn every_text_of_every_rule_part_and_language_is_one_message_and_begins_with_what_to_do() {
    for species in SPECIES {
        every_text_is_one_message(species);
    }
}

fn every_text_is_one_message(species: &str) {
    let mut seen = 0;
    for (language, letters) in
        Language::ALL.into_iter().flat_map(|language| [(language, "gsm"), (language, "plain")])
    {
        let config = farm(language, letters, species);
        for (rule, (dam, place, _)) in
            notifying(&config).into_iter().flat_map(|rule| DAMS.map(|dam| (rule, dam)))
        {
            let alert = raised(rule, dam);
            for (name, (_, part)) in PEOPLE.iter().zip(PARTS) {
                let (words, reader) = told(&config, &alert, name);
                let sms = &words.sms;
                let place_of = format!("{} {} {name} {dam}: {sms}", language.tag(), rule.name);
                let size = septet::size(sms);
                assert!(size.gsm && size.parts == 1, "{size:?} {place_of}");
                assert!(letters == "gsm" || sms.is_ascii(), "{place_of}");
                let call = reader.whom_to_call(&config).unwrap().name.to_string();
                let lesson = lessons::of(language, species, rule.name.as_str()).unwrap();
                let act = bare(&act_of(lesson, part, &call));
                let first: String = sms.chars().take(HEAD_MAX).collect();
                let first = bare(&first);
                let begin: String = act.chars().take(15).collect();
                assert!(
                    first.contains(&begin),
                    "what to do is not on the first screen: {place_of}"
                );
                assert!(first.contains("k4t7"), "{place_of}");
                if matches!(alert.subject, Subject::Dam(_) | Subject::Device(_)) {
                    assert!(first.contains(&dam.to_lowercase()), "{place_of}");
                    assert!(first.contains(&bare(place)[..4]), "{place_of}");
                }
                if dam == DAMS[0].0 {
                    assert!(bare(sms).contains(&act), "what to do is cut: {place_of}");
                    let what = bare(&lesson.name);
                    let what = what.split(' ').next().unwrap();
                    assert!(bare(sms).contains(what), "what has happened is cut: {place_of}");
                }
                seen += 1;
            }
        }
    }
    let rules = notifying(&farm(Language::English, "gsm", species)).len();
    assert_eq!(seen, rules * 2 * PARTS.len() * 2 * Language::ALL.len());
}

/// needs.md N71: look for, then do, and whom to call, in every mail; a vet reads what is asked first.
#[test]
fn every_mail_says_what_to_look_for_what_to_do_and_whom_to_call() {
    let each = SPECIES.into_iter().flat_map(|species| Language::ALL.map(|one| (species, one)));
    for (species, language) in each {
        let config = farm(language, "gsm", species);
        for rule in notifying(&config) {
            let alert = raised(rule, DAMS[0].0);
            for (name, (_, part)) in PEOPLE.iter().zip(PARTS) {
                let (words, reader) = told(&config, &alert, name);
                let call = reader.whom_to_call(&config).unwrap();
                assert_ne!(call.name.as_str(), *name);
                let lesson = lessons::of(language, species, rule.name.as_str()).unwrap();
                let act = act_of(lesson, part, call.name.as_str());
                let lines: Vec<&str> = words.mail.lines().skip(2).take(3).collect();
                let wanted = match part {
                    Part::Vet => [&act, &lesson.look],
                    Part::Owner | Part::Stockman | Part::Helper | Part::Viewer => {
                        [&lesson.look, &act]
                    }
                };
                let said = format!("{} {} {name}: {lines:?}", language.tag(), rule.name);
                assert!(lines[0].ends_with(wanted[0]) && lines[1].contains(wanted[1]), "{said}");
                let number = call.mobile.as_deref().unwrap();
                assert!(
                    lines[2].contains(call.name.as_str()) && lines[2].contains(number),
                    "{said}"
                );
            }
        }
    }
}

/// Whoever has not learned to examine is told to look and call, whatever the rule: here one that the farm has written.
#[test]
fn a_helper_is_told_to_look_and_call_by_a_rule_without_words() {
    for (species, language) in
        SPECIES.into_iter().flat_map(|species| Language::ALL.map(|one| (species, one)))
    {
        let mut config = farm(language, "gsm", species);
        let action = "Pull her up and reach in.";
        for rule in &mut config.rules {
            rule.action = Some(action.to_owned());
        }
        for rule in notifying(&config) {
            let alert = raised(rule, DAMS[0].0);
            for (name, (_, part)) in PEOPLE.iter().zip(PARTS) {
                let (words, reader) = told(&config, &alert, name);
                assert_eq!(septet::size(&words.sms).parts, 1, "{}", words.sms);
                let head = bare(&words.sms);
                match part {
                    Part::Helper => {
                        let call = &reader.whom_to_call(&config).unwrap().name;
                        assert!(head.contains(&bare(call.as_str())), "{}", words.sms);
                        assert!(!head.contains(&bare(action)), "{}", words.sms);
                        assert!(words.mail.contains(action), "the mail says it to the others");
                    }
                    Part::Vet => assert!(!head.contains(&bare(action))),
                    Part::Owner | Part::Stockman => {
                        assert!(head.contains(&bare(action)), "{}", words.sms);
                    }
                    Part::Viewer => {}
                }
            }
        }
    }
}

/// Of several matters in one text, of one that somebody has, and of one that is over.
fn other_texts(config: &Config, name: &str) -> Vec<String> {
    let reader = Reader::of(config, &PersonName::new(name), Some(&LineName::new("sms")));
    let rules = notifying(config);
    let alerts: Vec<Alert> = rules.iter().map(|rule| raised(rule, DAMS[1].0)).collect();
    let mut texts = Vec::new();
    for alert in &alerts {
        texts.push(wording::taken(config, alert, minute(65), "Fitzwilliam", None, &reader).sms);
        let Alert { no, code, rule, subject, on, .. } = alert.clone();
        let because = "calf temp at 02:10, said Christopher".to_owned();
        let (mark, who) = (Mark::CalfTemperature, PersonName::new("Christopher"));
        let ending = Ending::Told { mark, calf: Some(2), noted: false, at: minute(70), who };
        let ending = Some(ending);
        let past = Past { no, code, rule, subject, on, ended: minute(70), because, ending };
        texts.push(wording::over(config, &past, &reader).sms);
    }
    for why in [Why::Several, Why::Company] {
        for open in alerts.windows(5) {
            let open: Vec<&Alert> = open.iter().collect();
            texts.push(gathered::words(config, &open, &[], why, minute(65), &reader).sms);
        }
    }
    texts
}

#[test]
fn lists_and_news_of_an_alert_are_one_message_too() {
    for (species, language) in
        SPECIES.into_iter().flat_map(|species| Language::ALL.map(|one| (species, one)))
    {
        let config = farm(language, "gsm", species);
        for text in PEOPLE.iter().flat_map(|name| other_texts(&config, name)) {
            let size = septet::size(&text);
            assert!(size.gsm && size.parts == 1, "{} {size:?}: {text}", language.tag());
            assert!(text.contains("K4T7"), "{text}");
        }
    }
}

/// What only English says. A rule's own action in the farm's words, what a person typed and the names of signs stay as they
/// are written, so no word of these is here.
const ENGLISH: [&str; 16] = [
    " the ",
    " is ",
    " has ",
    " are ",
    "Noted",
    "Not taken",
    " until ",
    " since ",
    " said ",
    " you ",
    "Open",
    " asks ",
    "Answer ",
    " by ",
    "Reply",
    " and ",
];

/// Lines that are not ours to say in another language: a rule's source, what a farm's own rule tells, what a sensor or a line
/// is ill of, and questions about the rows of a printed sheet, which is English itself.
fn is_as_written(line: &str, language: Language) -> bool {
    let said = phrases::of(language);
    let begins = |words: &str| {
        let begin = words.split('{').next().unwrap_or_default();
        !begin.is_empty() && line.starts_with(begin)
    };
    [said.source, said.act, said.trouble, said.ill_since].into_iter().any(begins)
        || line.starts_with('"')
        || line.contains("restless in the night")
}

/// Every story once more, of people who all read another language (needs.md N93): what they say in English is understood,
/// and no line to them has English in it.
#[test]
fn nobody_who_reads_another_language_is_answered_in_english() {
    let (mut wrong, mut answers) = (BTreeSet::new(), 0);
    for language in [Language::Spanish, Language::German, Language::French] {
        for (path, text) in stories::all() {
            let (story, _) = halves(&text);
            let mut settings = settings(&extra(story));
            let farm = &mut settings.files[0].text;
            if farm.contains("speaks = ") {
                continue;
            }
            let speaks = format!("[[person]]\nspeaks = \"{}\"\n", language.tag());
            *farm = farm.replace("[[person]]\n", &speaks);
            for message in Teller::of(settings).tell(story).sent {
                answers += usize::from(message.kind == MessageKind::Answer);
                let lines = message.text.lines().filter(|line| !is_as_written(line, language));
                for line in lines {
                    if let Some(word) = ENGLISH.into_iter().find(|word| line.contains(word)) {
                        let name = path.file_name().unwrap().to_string_lossy();
                        wrong.insert(format!("{} {word:?} {line} [{name}]", language.tag()));
                    }
                }
            }
        }
    }
    let wrong: Vec<String> = wrong.into_iter().collect();
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(answers > 600, "the stories were not told: {answers}");
}

/// The figures and every text, to be read.
#[test]
fn the_texts_stand_in_their_files() {
    #[allow(clippy::disallowed_methods, reason = "a switch for whoever writes texts")]
    let write = std::env::var("LOWBELL_WRITE_TEXTS").is_ok();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/texts");
    let mut wrong = Vec::new();
    for language in Language::ALL {
        let (mut said, mut sizes) = (String::new(), Vec::new());
        for species in SPECIES {
            let config = farm(language, "gsm", species);
            said.push_str(&format!("\n--- {species}\n"));
            for rule in notifying(&config) {
                // What the watch says of itself is the same beside every species.
                let is_herds = matches!(raised(rule, DAMS[0].0).subject, Subject::Dam(_));
                if species != "cattle" && !is_herds {
                    continue;
                }
                said.push_str(&format!("\n{}\n", rule.name));
                for (dam, _, _) in DAMS {
                    let alert = raised(rule, dam);
                    for (name, (part, _)) in PEOPLE.iter().zip(PARTS) {
                        let sms = told(&config, &alert, name).0.sms;
                        sizes.push(septet::size(&sms));
                        if dam == DAMS[0].0 {
                            said.push_str(&format!("  {part:9}{sms}\n"));
                        }
                    }
                }
            }
        }
        let farms = SPECIES.map(|species| farm(language, "gsm", species));
        let others: Vec<septet::Size> = farms
            .iter()
            .flat_map(|farm| PEOPLE.map(|name| (farm, name)))
            .flat_map(|(farm, name)| other_texts(farm, name))
            .map(|text| septet::size(&text))
            .collect();
        let text = format!("{}{}{said}", figures("calls", &sizes), figures("others", &others));
        let path = folder.join(language.tag()).with_extension("txt");
        if write {
            fs::write(&path, &text).unwrap();
        } else if fs::read_to_string(&path).unwrap_or_default() != text {
            wrong.push(path.display().to_string());
        }
    }
    assert!(wrong.is_empty(), "other texts than in {wrong:?}; LOWBELL_WRITE_TEXTS=1 writes them");
}

fn figures(what: &str, sizes: &[septet::Size]) -> String {
    let longest = sizes.iter().map(|size| size.units).max().unwrap_or_default();
    let one = sizes.iter().filter(|size| size.parts == 1 && size.gsm).count();
    format!("{what}: {} texts, longest {longest} septets, {one} in one part\n", sizes.len())
}
