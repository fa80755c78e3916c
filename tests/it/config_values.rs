//! Settings: what is written arrives where it belongs, and what is left out has its default.

use std::fs;
use std::path::Path;

use jiff::civil::{Weekday, date, time};

use lowbell::config::animals::Service;
use lowbell::config::built_in::{BuiltIn, Limits, Rights, Secure, User};
use lowbell::config::cameras::{Still, StillUrl};
use lowbell::config::farm::{BrokerWay, Discovery, Identity, Moving, MqttVersion, Voice};
use lowbell::config::lines::{Escape, Security, Server, Way};
use lowbell::config::people::{Call, Change, Part};
use lowbell::config::rules::{
    self, Condition, Devices, Edge, From, Harm, Level, Onset, Seen, Trouble, Turn,
};
use lowbell::config::sensors::{Form, ReadKind, TimeAt, TimeForm};
use lowbell::config::{Config, NamedText, SettingsText, parse};
use lowbell::plain::amount::Amount;
use lowbell::plain::ids::{Animal, PersonName};
use lowbell::plain::moment::{Moment, Span};
use lowbell::plain::quantity::Unit;

fn read(folder: &str, name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder).join(name);
    fs::read_to_string(path).unwrap()
}

fn config(farm_toml: String, herd_csv: String) -> Config {
    let file = |name: &str, text| NamedText { name: name.to_owned(), text };
    let parsed = parse(&SettingsText {
        files: vec![file("farm.toml", farm_toml), file("herd.csv", herd_csv)],
    });
    let faults = format!("{:#?}", parsed.faults);
    parsed.config.expect(&faults)
}

/// The least a farm can say, with this herd.
fn config_of(herd_csv: &str) -> Config {
    config(read("tests/configs", "least.toml"), herd_csv.to_owned())
}

/// The documented example.
fn example() -> Config {
    config(read("config", "farm.toml"), read("config", "herd.csv"))
}

/// The least a farm can say.
fn the_least() -> Config {
    least("", "")
}

/// The least a farm can say, with one text in place of another.
fn least(from: &str, to: &str) -> Config {
    let text = read("tests/configs", "least.toml");
    assert!(text.contains(from), "{from}");
    config(text.replace(from, to), read("tests/configs", "herd.csv"))
}

fn way(config: &Config, name: &str) -> Way {
    let mut lines = config.lines.iter();
    let line = lines.find(|line| line.name.as_str() == name).unwrap();
    line.way.clone()
}

fn server(config: &Config, name: &str) -> Server {
    match way(config, name) {
        Way::Smtp(smtp) => smtp.server,
        Way::Imap(imap) => imap.server,
        other @ (Way::SmsHttp(_) | Way::Webhook(_) | Way::Siren(_) | Way::NotYet { .. }) => {
            panic!("no server: {other:?}")
        }
    }
}

fn names(people: &[PersonName]) -> Vec<&str> {
    people.iter().map(PersonName::as_str).collect()
}

#[test]
fn a_camera_is_fetched_from_an_address_or_heard_on_one_topic() {
    let with = |camera: &str| {
        let farm = format!("[[camera]]\nid = \"cam-1\"\n{camera}\n\n[[person]]\nname = \"Ana\"");
        least("[[person]]\nname = \"Ana\"", &farm).cameras.remove(0)
    };
    let topic = with("still-topic = \"yard/cam/{device}/jpeg\"");
    assert_eq!(topic.still, Still::Topic("yard/cam/cam-1/jpeg".to_owned()));
    assert_eq!((topic.id.as_str(), topic.largest), ("cam-1", 2 * 1024 * 1024));
    let url = "https://192.168.1.60/still.jpg?size=2";
    let more = "user = \"u\"\npassword-file = \"p\"\nca = \"c\"\nallow-private = true";
    let camera = with(&format!("still = \"{url}\"\nlargest = 8388608\n{more}"));
    let expected = StillUrl {
        url: url.to_owned(),
        user: Some("u".to_owned()),
        password_file: Some("p".to_owned()),
        ca: Some("c".to_owned()),
        allow_private: true,
    };
    assert_eq!((camera.still, camera.largest), (Still::Url(expected), 8 * 1024 * 1024));
}

#[test]
fn a_look_covers_as_long_as_the_farm_says() {
    let looks = |config: &Config| {
        let look = config.farm.look;
        [look.carrying, look.first, look.second, look.third].map(Span::whole_minutes)
    };
    // Sources: facts.md S1-11 (every 3 h), S2-12 (every 1 to 2 h; in second stage more often), C-07 (2 h).
    assert_eq!(looks(&the_least()), [180, 60, 15, 120]);
    let config = least("[broker]", "look = { first = '30m', third = '4h' }\n[broker]");
    assert_eq!(looks(&config), [180, 30, 15, 240]);
}

#[test]
fn a_farm_says_whether_it_moves_her_and_how_soon_she_is_looked_at_again() {
    let said = |config: &Config| (config.farm.moving, config.farm.look_apart.whole_minutes());
    assert_eq!(said(&the_least()), (Moving::AsYouLike, 20));
    for (word, moving) in [("second", Moving::InSecondStage), ("never", Moving::Never)] {
        let more = format!("move = '{word}'\nlook-apart = '0s'\n[broker]");
        assert_eq!(said(&least("[broker]", &more)), (moving, 0));
    }
}

/// By definition a degree of Fahrenheit is five ninths of one of Celsius: 0.54 of them are 0.3.
#[test]
fn a_change_is_a_difference_and_keeps_no_zero_point() {
    let bolus = "[[sensor]]\nkind = 'bolus'\ntopic = 'yard/{device}/bolus'\nevery = '30m'\n\
                 read = { sign = 'temperature', at = '/t', unit = 'degF' }\n";
    let change = |change: &str| {
        let rule = format!("{bolus}[[rule]]\nname = 'x'\n{change}\n[[person]]");
        least("[[person]]", &rule).rules.last().unwrap().condition.clone()
    };
    let fall = rules::Change {
        sign: "temperature".into(),
        over: Span::hours(72),
        turn: Turn::Fall,
        least: Amount::thousandths(300),
        fresh: Span::minutes(90),
        unit: "Cel".into(),
        devices: Devices::Any,
    };
    let text = "{ of = 'temperature', over = '72h', fall = 0.54, unit = 'degF' }";
    assert_eq!(change(&format!("change = {text}")), Condition::Change(fall.clone()));
    assert_eq!(change(&format!("when = {{ change = {text} }}")), Condition::Change(fall));
    let told = change("change = { of = 'temp', over = '48h', rise = 0.8 }");
    let Condition::Change(told) = told else { panic!("a change") };
    assert_eq!((told.turn, told.least), (Turn::Rise, Amount::thousandths(800)));
    assert_eq!((told.unit.as_str(), told.fresh), ("Cel", Span::hours(1)));
}

#[test]
fn a_chain_says_what_hangs_on_what() {
    let chain = "[[chain]]\nname = 'barn'\non = 'yard'\ndevices = ['t-*', 'k-1']\nspeaks = 'gw-1'\n\
                 [[chain]]\nname = 'yard'\ntopic = 'yard/#'\n[[person]]";
    let config = least("[[person]]", chain);
    let [barn, yard] = config.chains.as_slice() else { panic!("two gateways") };
    assert_eq!((barn.name.as_str(), barn.on), ("barn", Some(1)));
    let hangs = ["t-07", "k-1", "k-12"].map(|id| barn.devices.iter().any(|one| one.matches(id)));
    assert_eq!(hangs, [true, true, false]);
    assert_eq!(barn.speaks.as_ref().map(ToString::to_string).as_deref(), Some("gw-1"));
    assert_eq!((yard.on, yard.topic.as_deref()), (None, Some("yard/#")));
    assert!(the_least().chains.is_empty());
}

#[test]
fn the_herd_file_says_when_she_was_served_and_is_due() {
    let config = example();
    let dates: Vec<_> =
        config.animals.iter().map(|row| (row.served, row.due, row.service)).collect();
    let day = |day| (day, day);
    assert_eq!(dates[0], (Some(day(date(2026, 2, 14))), None, Some(Service::Ai)));
    let bull = Some((date(2026, 2, 1), date(2026, 3, 15)));
    assert_eq!(dates[1], (bull, None, Some(Service::Bull)));
    assert_eq!(dates[2].1, Some(day(date(2026, 11, 29))));
    let ranged = config_of("animal,calvings,due\n114,0,2026-11-20/2026-12-01\n");
    assert_eq!(ranged.animals[0].due, Some((date(2026, 11, 20), date(2026, 12, 1))));
}

#[test]
fn a_rule_may_wait_for_a_gateway_or_for_the_unwatched() {
    let rule = |text: &str| {
        let rule =
            format!("[[rule]]\nname = 'x'\ndo = 'Look.'\ntell = 'calving'\n{text}\n[[person]]");
        least("[[person]]", &rule).rules.last().unwrap().condition.clone()
    };
    let gateway = rule("silent = 'gateway'\nlimit = '10m'");
    assert_eq!(gateway, Condition::Gateway { limit: Span::minutes(10) });
    assert_eq!(rule("unwatched = true"), Condition::Unwatched { limit: Span::ZERO });
    let unwatched = rule("unwatched = true\nlimit = '5m'");
    assert_eq!(unwatched, Condition::Unwatched { limit: Span::minutes(5) });
}

#[test]
fn a_brokers_address_gives_host_port_and_tls() {
    for (url, host, port, tls) in [
        ("mqtt://127.0.0.1", "127.0.0.1", 1883, false),
        ("mqtts://broker.hollowbank.example/", "broker.hollowbank.example", 8883, true),
        ("mqtt://[::1]:1884", "::1", 1884, false),
    ] {
        let config = least("mqtt://127.0.0.1", url);
        let expected = BrokerWay::Url { host: host.to_owned(), port, tls };
        assert_eq!(config.broker.way, expected, "{url}");
    }
    let config = least("url = \"mqtt://127.0.0.1\"", "built-in = \"127.0.0.2:1884\"");
    let BrokerWay::BuiltIn(built_in) = config.broker.way else { panic!("it is our own") };
    let everything = || vec!["#".to_owned()];
    let expected = BuiltIn {
        plain: Some("127.0.0.2:1884".parse().unwrap()),
        secure: None,
        users: Vec::new(),
        anonymous: Some(Rights { writes: everything(), reads: everything() }),
        limits: Limits {
            connections: 200,
            per_address: 100,
            packet: 1_048_576,
            messages: 1_000,
            bytes: 2_097_152,
            failed_logins: 5,
        },
    };
    assert_eq!(*built_in, expected);
}

#[test]
fn a_broker_of_our_own_has_users_tls_and_limits() {
    let config = least(
        "url = \"mqtt://127.0.0.1\"",
        r#"built-in = "0.0.0.0:1883"
built-in-tls = "[::]:8883"
certificate = "broker.pem"
key-file = "broker.key"
client-ca = "sensors.pem"
limits = { connections = 50, per-address = 7, packet = 8192, messages = 2, bytes = 65536, failed-logins = 3 }

[[broker.user]]
name = "t-07"
password-file = "t-07.secret"
writes = ["yard/tail/{user}/#", "yard/+/alive"]

[[broker.user]]
name = "board"
password-file = "board.secret"
reads = "lowbell/#""#,
    );
    let BrokerWay::BuiltIn(built_in) = config.broker.way else { panic!("it is our own") };
    assert!(built_in.asks_who());
    let texts = |texts: &[&str]| texts.iter().map(|text| (*text).to_owned()).collect();
    let expected = BuiltIn {
        plain: Some("0.0.0.0:1883".parse().unwrap()),
        secure: Some(Secure {
            address: "[::]:8883".parse().unwrap(),
            certificate: "broker.pem".to_owned(),
            key_file: "broker.key".to_owned(),
            client_ca: Some("sensors.pem".to_owned()),
        }),
        users: vec![
            User {
                name: "t-07".to_owned(),
                password_file: "t-07.secret".to_owned(),
                rights: Rights {
                    writes: texts(&["yard/tail/t-07/#", "yard/+/alive"]),
                    reads: Vec::new(),
                },
            },
            User {
                name: "board".to_owned(),
                password_file: "board.secret".to_owned(),
                rights: Rights { writes: Vec::new(), reads: texts(&["lowbell/#"]) },
            },
        ],
        anonymous: None,
        limits: Limits {
            connections: 50,
            per_address: 7,
            packet: 8192,
            messages: 2,
            bytes: 65_536,
            failed_logins: 3,
        },
    };
    assert_eq!(*built_in, expected);
}

#[test]
fn a_broker_has_its_defaults_and_its_own_values() {
    let broker = the_least().broker;
    assert_eq!(broker.version, MqttVersion::Five);
    assert_eq!((broker.user, broker.password_file, broker.ca), (None, None, None));
    assert_eq!(broker.client_id, "lowbell-hollowbank");
    assert_eq!(broker.keep_alive, Span::seconds(30));
    assert_eq!(broker.answers.as_deref(), Some("lowbell/answer/{person}"));
    assert_eq!(broker.group, Span::seconds(20));
    let more = "mqtts://127.0.0.1\"\nversion = \"3.1.1\"\nuser = \"u\"\npassword-file = \"p\"\nca = \"c\"\nclient-id = \"i\"\nkeep-alive = \"5s\"\nanswers = \"a/{person}/#\"\ngroup = \"0s";
    let broker = least("mqtt://127.0.0.1", more).broker;
    assert_eq!(broker.version, MqttVersion::ThreeOneOne);
    let texts = [broker.user, broker.password_file, broker.ca, broker.answers];
    assert_eq!(texts.map(Option::unwrap), ["u", "p", "c", "a/{person}/#"]);
    assert_eq!(broker.client_id, "i");
    assert_eq!((broker.keep_alive, broker.group), (Span::seconds(5), Span::ZERO));
}

#[test]
fn our_own_words_at_the_broker_have_their_defaults_and_their_own_values() {
    let broker = the_least().broker;
    assert_eq!(broker.voice, Voice::usual());
    assert_eq!(broker.voice.echo, Some(Span::seconds(30)));
    assert_eq!((broker.voice.publish.as_str(), broker.voice.show), ("lowbell", false));
    assert_eq!((broker.voice.discovery, broker.identity), (None, None));
    let more = "mqtts://127.0.0.1\"\ncertificate = \"c\"\nkey-file = \"k\"\necho = \"off\"\nshow = true\ndiscovery = \"homie\"\npublish = \"barn/watch";
    let broker = least("mqtt://127.0.0.1", more).broker;
    let (certificate, key_file) = ("c".to_owned(), "k".to_owned());
    assert_eq!(broker.identity, Some(Identity { certificate, key_file }));
    let publish = "barn/watch".to_owned();
    let discovery = Some(Discovery::Homie);
    assert_eq!(broker.voice, Voice { echo: None, publish, show: true, discovery });
    let longest = "mqtt://127.0.0.1\"\necho = \"5m";
    assert_eq!(least("mqtt://127.0.0.1", longest).broker.voice.echo, Some(Span::minutes(5)));
}

#[test]
fn a_mail_server_is_spoken_to_as_its_address_says() {
    for (url, port, security) in [
        ("smtp://127.0.0.1", 25, Security::Plain),
        ("smtp://localhost:2525", 2525, Security::Plain),
        ("smtp://mail.hollowbank.example:587", 587, Security::StartTls),
        ("smtp://192.168.1.4", 25, Security::StartTls),
        ("smtps://mail.hollowbank.example", 465, Security::Tls),
    ] {
        let server = server(&least("smtp://127.0.0.1", url), "mail");
        assert_eq!((server.port, server.security), (port, security), "{url}");
    }
    for (url, port, security) in [
        ("imaps://mail.hollowbank.example", 993, Security::Tls),
        ("imaps://mail.hollowbank.example:1993", 1993, Security::Tls),
        ("imap://127.0.0.1", 143, Security::Plain),
    ] {
        let server = server(&least("imaps://mail.hollowbank.example", url), "answers");
        assert_eq!((server.port, server.security), (port, security), "{url}");
    }
}

#[test]
fn mail_lines_have_their_defaults() {
    let config = the_least();
    let Way::Smtp(smtp) = way(&config, "mail") else {
        panic!("smtp");
    };
    assert_eq!(smtp.from, "lowbell@hollowbank.example");
    assert_eq!((smtp.reply_to, smtp.timeout), (None, Span::seconds(30)));
    let Way::Imap(imap) = way(&config, "answers") else {
        panic!("imap");
    };
    assert_eq!(imap.mailbox, "INBOX");
    assert_eq!((imap.poll, imap.idle), (Span::seconds(60), Span::minutes(5)));
    assert_eq!(imap.server.host, "mail.hollowbank.example");
    assert_eq!(imap.server.user.as_deref(), Some("lowbell"));
    assert_eq!(imap.server.password_file.as_deref(), Some("mail.secret"));
}

#[test]
fn web_lines_carry_what_is_written() {
    let config = example();
    let Way::SmsHttp(text) = way(&config, "text") else {
        panic!("sms-http");
    };
    assert_eq!(text.url, "https://sms.hollowbank.example/send");
    assert_eq!(text.method, "POST");
    let header = ("Authorization".to_owned(), "Bearer {secret}".to_owned());
    assert!(text.headers.contains(&header) && text.headers.len() == 2);
    assert_eq!(text.body, r#"{"to": "{to}", "text": "{text}", "reference": "{id}"}"#);
    assert_eq!(text.escape, Escape::Json);
    assert_eq!(text.secret_file.as_deref(), Some("sms.secret"));
    assert_eq!(text.success.status, [200, 201]);
    assert_eq!(text.success.contains.as_deref(), Some("queued"));
    assert_eq!((text.timeout, text.allow_private), (Span::seconds(15), false));
    let Way::Webhook(hook) = way(&config, "hook") else {
        panic!("webhook");
    };
    assert_eq!(hook.url, "http://127.0.0.1:9000/alerts");
    assert_eq!(hook.secret_file.as_deref(), Some("hook.secret"));
    assert_eq!((hook.timeout, hook.allow_private), (Span::seconds(20), true));
}

#[test]
fn a_sensor_reads_what_is_written() {
    let config = example();
    let [tail, gate] = config.sensors.as_slice() else {
        panic!("two sensors");
    };
    assert_eq!((tail.kind.as_str(), tail.form), ("tail", Form::Json));
    assert_eq!(tail.topic, "yard/tail/{device}/state");
    let kinds: Vec<(&str, ReadKind)> =
        tail.read.iter().map(|read| (read.sign.as_str(), read.kind)).collect();
    let expected = [
        ("contraction", ReadKind::Count),
        ("tail up", ReadKind::Level),
        ("battery", ReadKind::Level),
    ];
    assert_eq!(kinds, expected);
    assert_eq!(tail.read[2].at, ["/batt", "/status/batt"]);
    assert_eq!(tail.read[2].none, [-1.0, 255.0]);
    assert_eq!(tail.read[1].unit, Some(Unit::Second));
    let time = TimeAt { at: vec!["/t".to_owned()], form: TimeForm::UnixSeconds };
    assert_eq!((&tail.time, tail.every), (&Some(time), Some(Span::minutes(5))));
    assert_eq!((gate.form, gate.every, &gate.time), (Form::Text, None, &None));
    assert_eq!(gate.read[0].kind, ReadKind::Flag);
    assert_eq!(gate.read[0].at, [""; 0]);
}

#[test]
fn a_device_is_on_an_animal_from_a_moment_of_the_farms_own_time() {
    let config = example();
    let device = &config.devices[0];
    assert_eq!((device.id.as_str(), &device.on), ("t-07", &Animal::new("114")));
    assert_eq!(device.from, Moment::from_rfc3339("2026-11-20T08:00:00Z"));
    assert_eq!(device.until, None);
    let summer = least(
        "[[person]]",
        "[[device]]\nid = 't-1'\non = '372000000000207'\nuntil = 2026-07-01T08:00:00\n[[person]]",
    );
    let device = &summer.devices[0];
    assert_eq!(device.kind, None);
    assert_eq!(device.on, Animal::new("207"), "by her second name");
    assert_eq!(device.until, Moment::from_rfc3339("2026-07-01T07:00:00Z"));
}

#[test]
fn a_device_may_say_its_kind_before_it_was_ever_heard() {
    let tail = "[[sensor]]\nkind = 'tail'\ntopic = 'yard/{device}/tail'\n\
                read = { sign = 'contraction', as = 'count', at = '/n' }\n";
    let said = format!("{tail}[[device]]\nid = 't-1'\non = '114'\nkind = 'tail'\n[[person]]");
    let device = &least("[[person]]", &said).devices[0];
    assert_eq!(device.kind.as_deref(), Some("tail"));
}

#[test]
fn a_rota_has_its_shift_turn_and_swaps() {
    let config = example();
    let [night, day] = config.rotas.as_slice() else {
        panic!("two rotas");
    };
    assert_eq!((night.start, night.end), (time(22, 0, 0, 0), time(6, 0, 0, 0)));
    assert_eq!(night.days.len(), 7);
    assert_eq!(night.days[0], Weekday::Monday);
    assert_eq!(names(&night.turn), ["Ana", "Tom"]);
    assert_eq!(names(&night.backup), ["Rosa"]);
    assert_eq!((night.change.clone(), night.since), (Change::Week, date(2026, 11, 23)));
    let swap = &night.instead[0];
    assert_eq!(Some(swap.from), Moment::from_rfc3339("2026-12-24T22:00:00Z"));
    assert_eq!(Some(swap.until), Moment::from_rfc3339("2026-12-26T06:00:00Z"));
    assert_eq!(swap.person.as_str(), "Rosa");
    assert_eq!((day.change.clone(), day.since), (Change::Week, date(2000, 1, 3)));
}

#[test]
fn people_and_ladders_keep_their_order() {
    let config = example();
    let parts: Vec<Part> = config.people.iter().map(|person| person.part).collect();
    assert_eq!(parts, [Part::Stockman, Part::Owner, Part::Helper]);
    assert_eq!(config.people[0].mobile.as_deref(), Some("+353860000001"));
    let [calving, daytime] = config.ladders.as_slice() else {
        panic!("two ladders");
    };
    let waits: Vec<Span> = calving.rungs.iter().map(|rung| rung.wait).collect();
    assert_eq!(waits, [5, 5, 10].map(Span::minutes));
    assert_eq!(calving.rungs[0].by, ["mail", "text"]);
    assert_eq!(calving.rungs[2].by, ["mail", "text"], "all that can tell somebody");
    let calls = [Call::OnDuty, Call::Part(Part::Owner)];
    assert_eq!(daytime.rungs[0].call, calls);
    assert_eq!(daytime.again, Span::hours(4));
    let named = least(
        "[[person]]",
        "[[ladder]]\nname = 'calving'\nrung = { call = 'Ana', wait = '1m' }\n[[person]]",
    );
    let call = Call::Person(PersonName::new("Ana"));
    assert_eq!(named.ladders[0].rungs[0].call, [call]);
}

#[test]
fn the_shipped_rules_say_what_they_should() {
    let config = the_least();
    let rule = |name: &str| {
        let mut rules = config.rules.iter();
        rules.find(|rule| rule.name.as_str() == name).unwrap()
    };
    let limits = |name: &str| {
        let Condition::Clock { limit, .. } = &rule(name).condition else {
            panic!("{name} is no clock");
        };
        [limit.cow, limit.heifer].map(|limit| limit.unwrap().whole_minutes())
    };
    // Sources: the rows of facts.md named in each rule.
    assert_eq!(limits("second stage too long"), [30, 60]); // S2-02, S2-03
    assert_eq!(limits("second stage far too long"), [70, 70]); // S2-05
    assert_eq!(limits("second stage two hours"), [120, 120]); // S2-13, S2-34
    assert_eq!(limits("backward calf not out"), [4, 4]); // S2-25
    assert_eq!(limits("straining and nothing shows"), [30, 30]); // S2-14
    assert_eq!(limits("no progress in second stage"), [20, 20]); // S2-14 to S2-18
    assert_eq!(limits("first stage stalled"), [360, 480]); // S1-05
    assert_eq!(limits("placenta not passed"), [720, 720]); // S3-03
    assert_eq!(limits("calf not on its breast"), [15, 15]); // C-02, C-04
    assert_eq!(limits("calf not up"), [60, 60]); // C-05
    assert_eq!(limits("calf not sucked"), [120, 120]); // C-07
    assert_eq!(limits("calf late to suck"), [240, 240]); // I-11, I-14
    assert_eq!(limits("calf still not sucked"), [360, 360]); // I-10
    let Condition::Level(cold) = &rule("cold calf").condition else {
        panic!("a level");
    };
    assert_eq!(cold.edge, Edge::Below(Amount::thousandths(37_800))); // C-14
    assert_eq!(rule("second calf not seen").scanned, Some(2));
    assert_eq!(rule("navel not done").tell, None, "it calls nobody");
    assert!(rule("second stage far too long").loud);
    let Condition::Clock { since, from, .. } = &rule("no progress in second stage").condition
    else {
        panic!("a clock");
    };
    assert_eq!(since, &["second", "water bag", "feet", "nose", "progress"]);
    assert_eq!(*from, From::Last);
    let placenta = rule("placenta not passed");
    assert_eq!((placenta.harm, placenta.onset), (Harm::Lasting, Onset::Delayed));
    assert!(placenta.action.as_deref().unwrap().starts_with("Do not pull it."));
    let building = rule("contractions building");
    let count = Condition::Count {
        sign: "contraction".to_owned(),
        over: Span::hours(1),
        at_least: 8,
        devices: Devices::Any,
    };
    assert_eq!(building.condition, count);
    assert_eq!(building.while_stages, ["carrying", "first"]);
    assert_eq!(building.enters.as_deref(), Some("first"));
    let trouble = |with, minutes| Condition::Trouble { with, limit: Span::minutes(minutes) };
    assert_eq!(rule("line down").condition, trouble(Trouble::LineDown, 5));
    assert_eq!(rule("session lost").condition, trouble(Trouble::SessionLost, 0));
    assert_eq!(rule("journal stuck").condition, trouble(Trouble::JournalStuck, 1));
    let refused = trouble(Trouble::SubscriptionRefused, 0);
    assert_eq!(rule("subscription refused").condition, refused);
}

#[test]
fn a_rule_without_ladder_only_goes_into_the_diary() {
    let config = example();
    let rule = config.rules.last().unwrap();
    assert_eq!(rule.name.as_str(), "through the gate often");
    assert_eq!((&rule.tell, &rule.action, rule.loud), (&None, &None, false));
    assert_eq!((rule.harm, rule.onset), (Harm::Minor, Onset::Delayed));
    let silent = least(
        "[[person]]",
        "[[rule]]\nname = 'quiet'\nsilent = 'tail'\nlimit = '1h'\ndo = 'Look.'\ntell = 'calving'\n[[person]]",
    );
    let rule = silent.rules.last().unwrap();
    assert_eq!((rule.harm, rule.onset), (Harm::Lasting, Onset::Prompt));
}

/// A farm with a bolus and a camera, and these rules.
fn measuring(rules: &str) -> Config {
    let sensors = "
        [[sensor]]
        kind = 'bolus'
        topic = 'yard/{device}/bolus'
        read = { sign = 'temperature', at = '/t', unit = 'Cel' }
        every = '20m'
        [[sensor]]
        kind = 'camera'
        topic = 'yard/{device}/camera'
        read = { sign = 'lying on side', at = '/score' }
        [[sensor]]
        kind = 'collar'
        topic = 'yard/{device}/collar'
        read = { sign = 'temperature', at = '/t', unit = 'Cel' }
        every = '2m'
        ";
    least("[[person]]", &format!("{sensors}\n{rules}\n[[person]]"))
}

fn condition(rules: &str) -> Condition {
    measuring(rules).rules.pop().unwrap().condition
}

#[test]
fn a_level_takes_its_defaults_from_the_sensors_that_give_it() {
    let plain =
        condition("[[rule]]\nname = 'fever'\nwhen = { level = 'temperature', above = 39.5 }");
    let edge = Amount::thousandths(39_500);
    let level = Level {
        sign: "temperature".into(),
        edge: Edge::Above(edge),
        clear: edge,
        hold: Span::ZERO,
        times: 1,
        of: 1,
        // Three beats of the slower of the two.
        fresh: Span::minutes(60),
        unit: "Cel".into(),
        devices: Devices::Any,
    };
    assert_eq!(plain, Condition::Level(level.clone()));
    let whole = condition(
        "[[rule]]\nname = 'fever'\nwhen = { level = 'temperature', below = 37, clear = 37.5, \
         for = '30m', times = 2, fresh = '2h' }\ndevices = 'all'",
    );
    let below = Level {
        edge: Edge::Below(Amount::thousandths(37_000)),
        clear: Amount::thousandths(37_500),
        hold: Span::minutes(30),
        times: 2,
        of: 2,
        fresh: Span::hours(2),
        devices: Devices::All,
        ..level
    };
    assert_eq!(whole, Condition::Level(below));
}

#[test]
fn a_camera_needs_three_of_five_pictures_unless_the_rule_says_otherwise() {
    let rule = "[[rule]]\nname = 'down'\nwhen = { seen = 'lying on side', score = 0.7 }";
    let seen = Seen {
        sign: "lying on side".into(),
        score: Amount::thousandths(700),
        times: 3,
        of: 5,
        over: Span::minutes(5),
        region: None,
        devices: Devices::Any,
    };
    assert_eq!(condition(rule), Condition::Seen(seen));
}

/// The two rules that the documented example has in its comments are rules.
#[test]
fn what_the_example_shows_of_levels_and_scores_can_be_used() {
    let text = read("config", "farm.toml");
    let rules: String = text
        .split("\n# [[rule]]\n")
        .skip(1)
        .flat_map(|rule| {
            let lines = rule.lines().map_while(|line| line.strip_prefix("# "));
            std::iter::once("[[rule]]").chain(lines)
        })
        .map(|line| format!("{line}\n"))
        .collect();
    let config = measuring(&rules);
    let [fever, down] = &config.rules[config.rules.len() - 2..] else {
        panic!("two rules");
    };
    let Condition::Level(level) = &fever.condition else {
        panic!("a level: {fever:?}");
    };
    assert_eq!((level.times, level.of, level.hold), (2, 3, Span::minutes(30)));
    let weights = vec![("bolus".to_owned(), 2), ("collar".to_owned(), 1)];
    assert_eq!(level.devices, Devices::Weighted { weights, enough: 2 });
    let Condition::All(both) = &down.condition else {
        panic!("two at once: {down:?}");
    };
    assert!(matches!(&both[..], [Condition::Seen(_), Condition::Not(_)]), "{both:?}");
}
