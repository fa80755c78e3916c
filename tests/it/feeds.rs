//! Calendars that people subscribe to: as another reader of calendars has them, and over HTTP from the real program.

use std::path::Path;
use std::process::{Command, Stdio};

use lowbell::config::feeds::Feed;
use lowbell::config::{self, Config, NamedText, SettingsText};
use lowbell::paper::feed;
use lowbell::plain::moment::{Moment, Span};
use lowbell::rota;

use super::daemon::{Daemon, PROGRAM, lowbell, text};
use super::mosquitto::{Mosquitto, free_port};
use super::rotas;
use super::storyteller::Teller;

fn at(text: &str) -> Moment {
    Moment::from_rfc3339(text).unwrap()
}

/// Two rotas in turn, a layer over one, and somebody who stands in for half a night.
const ROTAS: &str = r#"
[[rota]]
name = "nights"
shift = "20:00-08:00"
turn = ["Ana", "Tom", "Rosa"]
change = "day"
since = "2026-01-01"
backup = ["Niall", "Orla"]
[[rota.instead]]
from = "2026-10-24T23:00"
until = "2026-10-25T04:00"
person = "Orla"
[[rota]]
name = "days"
shift = "08:00-20:00"
turn = ["Niall"]
change = "week"
since = "2026-01-05"
[[rota]]
name = "weekend"
over = "days"
shift = "10:00-18:00"
days = ["sat", "sun"]
turn = ["Orla", "Ana"]
change = "week"
since = "2026-01-05"
"#;

fn farm(zone: &str) -> Config {
    let text = rotas::people(zone) + ROTAS;
    let files = vec![NamedText { name: "farm.toml".into(), text }];
    let parsed = config::parse(&SettingsText { files });
    parsed.config.unwrap_or_else(|| panic!("{:?}", parsed.faults))
}

/// Events as Debian's python3-icalendar reads them; times are put on the time line by the calendar's own VTIMEZONE, read by
/// dateutil's tzical: nothing of this machine's zone data takes part.
const READ: &str = r#"
import io, sys
from datetime import timezone
from dateutil.tz import tzical
import icalendar
text = sys.stdin.read()
zones = tzical(io.StringIO(text.replace("\r\n", "\n")))
for event in icalendar.Calendar.from_ical(text).walk("VEVENT"):
    row = []
    for name in ("DTSTART", "DTEND"):
        stamp = event[name]
        zone = stamp.params.get("TZID")
        at = stamp.dt if zone is None else stamp.dt.replace(tzinfo=zones.get(zone))
        row.append(at.astimezone(timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ"))
    print("\t".join(row + [str(event["SUMMARY"])]))
"#;

fn read(ics: &str) -> Vec<(Moment, Moment, String)> {
    use std::io::Write as _;
    let mut child = Command::new("/usr/bin/python3")
        .args(["-c", READ])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(ics.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{ics}");
    let rows = String::from_utf8(output.stdout).unwrap();
    let row = |row: &str| {
        let parts: Vec<&str> = row.split('\t').collect();
        (at(parts[0]), at(parts[1]), parts[2].to_owned())
    };
    rows.lines().map(row).collect()
}

/// Farms whose clocks change by an hour, by half an hour, at midnight, never, and by night into the day before.
const ZONES: [&str; 6] = [
    "Europe/Dublin",
    "America/New_York",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
    "Asia/Kathmandu",
    "UTC",
];

/// needs.md N97: the hours of a feed do not shift where the clocks change.
#[test]
fn another_reader_finds_whoever_is_on_at_every_quarter_of_an_hour() {
    let mut quarters = 0;
    for zone in ZONES {
        let config = farm(zone);
        for now in ["2026-03-20T12:00:00Z", "2026-09-20T12:00:00Z"].map(at) {
            let ics = feed::rota(&config, now);
            assert!(ics.contains("BEGIN:VTIMEZONE\r\n"), "the zone stands in it");
            let events = read(&ics);
            let mut moment = now - Span::hours(24);
            while moment < now + Span::hours(90 * 24) {
                let duty = rota::on_duty(&config.rotas, &config.farm.zone, moment);
                let mut expected: Vec<String> =
                    duty.people.iter().map(|on| format!("{}: {}", on.person, on.rota)).collect();
                let on =
                    events.iter().filter(|(from, until, _)| *from <= moment && moment < *until);
                let mut found: Vec<String> = on.map(|(_, _, title)| title.clone()).collect();
                expected.sort();
                found.sort();
                assert_eq!(found, expected, "{zone}, {}", moment.rfc3339());
                (moment, quarters) = (moment + Span::minutes(15), quarters + 1);
            }
        }
    }
    assert_eq!(quarters, 6 * 2 * 91 * 96);
}

/// What one farm gives out another may be set up from.
#[test]
fn what_is_given_out_can_be_read_as_a_rota_again() {
    let config = farm("Australia/Lord_Howe");
    let now = at("2026-03-20T12:00:00Z");
    let nights = feed::rota(&config, now);
    let text = rotas::people("Australia/Lord_Howe")
        + "[[rota]]\nname = \"again\"\ncalendar = \"again.ics\"\n";
    let file = |name: &str, text: &str| NamedText { name: name.into(), text: text.into() };
    let files = vec![file("farm.toml", &text), file("again.ics", &nights)];
    let again = config::parse(&SettingsText { files }).config.unwrap();
    let mut found: Vec<(Moment, Moment, String)> = again.rotas[0]
        .instead
        .iter()
        .map(|one| (one.from, one.until, one.person.to_string()))
        .collect();
    let mut expected: Vec<(Moment, Moment, String)> = read(&nights)
        .into_iter()
        .map(|(from, until, title)| (from, until, title.split(':').next().unwrap().to_owned()))
        .collect();
    found.sort();
    expected.sort();
    assert!(found.len() > 200, "{}", found.len());
    assert_eq!(found, expected);
}

/// One's own shifts are those of the whole rota; an entry keeps its name whoever takes it; and no number stands in it.
#[test]
fn a_persons_own_calendar_has_their_shifts_alone() {
    let teller = Teller::new("");
    let config = farm("Europe/Dublin");
    let season = teller.watch.season(teller.watch.state().now).unwrap();
    let now = at("2026-10-20T12:00:00Z");
    let mine =
        Feed { name: "Orla's telephone".into(), rota: true, due: false, only: Some("Orla".into()) };
    let own = read(&feed::feed(&mine, &season, &config, now));
    let whole = read(&feed::rota(&config, now));
    let expected: Vec<_> =
        whole.iter().filter(|(_, _, title)| title.starts_with("Orla:")).cloned().collect();
    assert!(own.len() > 5);
    assert_eq!(own, expected);
    let names = |ics: &str| -> Vec<String> {
        ics.split("\r\n").filter(|line| line.starts_with("UID:")).map(str::to_owned).collect()
    };
    let ics = feed::rota(&config, now);
    let mut other = farm("Europe/Dublin");
    other.rotas[0].turn.rotate_left(1);
    assert_eq!(names(&feed::rota(&other, now)), names(&ics));
    let mut unique = names(&ics);
    unique.sort();
    unique.dedup();
    assert_eq!(unique.len(), names(&ics).len());
    assert!(!ics.contains("@hollowbank"), "{ics}");
}

/// A watch that gives calendars out, and its port.
fn served(folder: &Path, mqtt: u16) -> (String, u16) {
    let port = free_port();
    let text = rotas::people("Europe/Dublin").replace(":1883", &format!(":{mqtt}"))
        + ROTAS
        + &format!(
            "[calls]\nwelcome = false\n[feeds]\nlisten = \"127.0.0.1:{port}\"\nfeed = [\n  {{ name = \"yard\", shows = \
             [\"rota\", \"due\"] }},\n  {{ name = \"Orla's telephone\", shows = \
             [\"rota\"], only = \"Orla\" }},\n]\n"
        );
    std::fs::write(folder.join("farm.toml"), text).unwrap();
    (folder.join("farm.toml").display().to_string(), port)
}

/// From the farm's own folder, where its settings and its data lie at names that lead from there.
fn renewed(farm: &str, name: &str) -> String {
    let farm = Path::new(farm);
    let out = Command::new(PROGRAM)
        .args(["feed", name, "--renew"])
        .current_dir(farm.parent().unwrap())
        .output()
        .unwrap();
    assert!(out.status.success(), "{}", text(&out.stderr));
    let again = Command::new(PROGRAM)
        .args(["feed", name])
        .current_dir(farm.parent().unwrap())
        .output()
        .unwrap();
    assert_eq!(text(&again.stdout).lines().next(), text(&out.stdout).lines().next());
    text(&out.stdout).lines().next().unwrap().to_owned()
}

#[tokio::test]
async fn an_address_gives_its_calendar_until_it_is_ended() {
    use reqwest::{Method, StatusCode};
    let _ = rustls::crypto::ring::default_provider().install_default();
    let folder = tempfile::tempdir().unwrap();
    let broker = Mosquitto::start("").await;
    let (farm, port) = served(folder.path(), broker.port);
    let listed = text(&lowbell(&["feed", "--farm", &farm]).stdout);
    let none = "Orla's telephone: the shifts of Orla; has no address yet: lowbell feed \"Orla's telephone\" --renew";
    assert!(listed.lines().any(|line| line == none), "{listed}");
    let address = renewed(&farm, "Orla's telephone");
    let yard = renewed(&farm, "yard");
    assert!(address.starts_with(&format!("http://127.0.0.1:{port}/calendar/")), "{address}");
    let secrets: Vec<_> = std::fs::read_dir(folder.path().join("data"))
        .unwrap()
        .map(|file| file.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "secret"))
        .collect();
    let holds = |path: &Path| address.contains(std::fs::read_to_string(path).unwrap().trim());
    let orlas = secrets.iter().find(|path| holds(path)).unwrap().clone();
    assert_eq!(secrets.len(), 2);
    let mode = std::fs::metadata(&orlas).unwrap();
    assert_eq!(std::os::unix::fs::PermissionsExt::mode(&mode.permissions()) & 0o777, 0o600);
    let mut watch = Daemon::start(Path::new(&farm));
    let open = "calendars are given out at 127.0.0.1";
    watch.says("the watch begins");
    if !watch.seen.iter().any(|line| line.contains(open)) {
        watch.says(open);
    }
    let client = reqwest::Client::new();
    let get = async |url: &str| client.get(url).send().await.unwrap();
    let answer = get(&address).await;
    assert_eq!(answer.status(), StatusCode::OK);
    let headers = answer.headers().clone();
    assert_eq!(headers["content-type"], "text/calendar; charset=utf-8");
    assert_eq!(headers["cache-control"], "private, no-cache");
    let ics = answer.text().await.unwrap();
    let events = read(&ics);
    assert!(!events.is_empty() && events.iter().all(|(_, _, title)| title.starts_with("Orla:")));
    let whole = get(&yard).await.text().await.unwrap();
    assert!(read(&whole).len() > events.len());
    // The same to whoever has it already (RFC 9110 section 13.1.2), and its head alone.
    let same = client.get(&address).header("if-none-match", &headers["etag"]).send().await.unwrap();
    assert_eq!((same.status(), same.text().await.unwrap().len()), (StatusCode::NOT_MODIFIED, 0));
    let head = client.head(&address).send().await.unwrap();
    assert_eq!((head.status(), head.text().await.unwrap().len()), (StatusCode::OK, 0));
    let posted = client.request(Method::POST, &address).send().await.unwrap();
    assert_eq!(posted.status(), StatusCode::METHOD_NOT_ALLOWED);
    // A stranger learns nothing from what is answered.
    let root = format!("http://127.0.0.1:{port}");
    let short = address.trim_end_matches(".ics");
    let wrong = [
        root.clone(),
        format!("{root}/calendar/.ics"),
        format!("{root}/calendar/{}.ics", "x".repeat(43)),
    ];
    for url in wrong.iter().map(String::as_str).chain([short]) {
        let answer = get(url).await;
        assert_eq!(answer.status(), StatusCode::NOT_FOUND, "{url}");
        assert_eq!(answer.text().await.unwrap(), "There is nothing here.\n");
    }
    let next = renewed(&farm, "Orla's telephone");
    assert_ne!(next, address);
    assert_eq!(get(&address).await.status(), StatusCode::NOT_FOUND, "it has ended");
    assert_eq!(get(&next).await.status(), StatusCode::OK);
    std::fs::write(&orlas, "short\n").unwrap();
    assert_eq!(get(&format!("{root}/calendar/short.ics")).await.status(), StatusCode::NOT_FOUND);
    assert_eq!(get(&yard).await.status(), StatusCode::OK);
    assert_eq!(watch.stop(), 0);
    let secret = next.rsplit('/').next().unwrap().trim_end_matches(".ics").to_owned();
    assert!(watch.seen.iter().all(|line| !line.contains(&secret)), "no address is in the log");
}
