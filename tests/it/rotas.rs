//! The rota against readings of it that share no code with it: Python's zoneinfo and dateutil over invented rotas, and
//! the machine's own zone data against those of this program.

use std::path::Path;
use std::process::Command;

use lowbell::config::{self, Config, NamedText, SettingsText};
use lowbell::plain::moment::Moment;
use lowbell::plain::zone::{Zone, data_version};
use lowbell::rota;
use serde_json::Value;

const SEED: &str = "5";
const COUNT: usize = 400;

/// A farm of five people and no rota yet.
pub(crate) fn people(zone: &str) -> String {
    let mut farm = format!(
        r#"
[farm]
name = "Hollow Bank"
zone = "{zone}"
[broker]
url = "mqtt://127.0.0.1:1883"
[[line]]
name = "mail"
kind = "smtp"
url = "smtp://127.0.0.1:25"
from = "lowbell@hollowbank.example"
"#
    );
    for name in ["Ana", "Tom", "Rosa", "Niall", "Orla"] {
        let mail = name.to_lowercase();
        farm.push_str(&format!(
            "[[person]]\nname = \"{name}\"\nmail = \"{mail}@hollowbank.example\"\n"
        ));
    }
    farm
}

fn farm(zone: &str, rotas: &Value) -> Config {
    let mut farm = people(zone);
    for rota in rotas.as_array().unwrap() {
        farm.push_str("[[rota]]\n");
        for key in ["name", "shift", "days", "turn", "change", "since", "backup", "over"] {
            if !rota[key].is_null() {
                farm.push_str(&format!("{key} = {}\n", rota[key]));
            }
        }
        for instead in rota["instead"].as_array().unwrap() {
            let (from, until, person) = (&instead[0], &instead[1], &instead[2]);
            farm.push_str(&format!(
                "[[rota.instead]]\nfrom = {from}\nuntil = {until}\nperson = {person}\n"
            ));
        }
    }
    let file = NamedText { name: "farm.toml".into(), text: farm };
    let parsed = config::parse(&SettingsText { files: vec![file] });
    parsed.config.unwrap_or_else(|| panic!("the settings hold: {:?}", parsed.faults))
}

/// What the script says: first of the machine's zone data, then a farm a line.
fn said(count: usize) -> Vec<Value> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/servers/rotas");
    let out = Command::new(&script).args([SEED, &count.to_string()]).output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let text = String::from_utf8(out.stdout).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// The script's head says what it is; Debian's python3-dateutil and Python's own zoneinfo are the outside reading: turns
/// by the day, week, fortnight and by cron lines, somebody instead, one rota over another, and who is behind.
#[test]
fn who_is_on_duty_is_whom_dateutil_and_zoneinfo_say() {
    let (mut rotas, mut asked, mut on_duty, mut layered, mut by_cron) = (0, 0, 0, 0, 0);
    for case in said(COUNT).into_iter().skip(1) {
        let config = farm(case["zone"].as_str().unwrap(), &case["rotas"]);
        for row in case["asked"].as_array().unwrap() {
            let at = Moment::from_seconds(row["at"].as_i64().unwrap());
            let duty = rota::on_duty(&config.rotas, &config.farm.zone, at);
            let people = duty.people.iter().map(|on| {
                serde_json::json!([on.person, on.rota, on.from.seconds(), on.until.seconds()])
            });
            assert_eq!(Value::from_iter(people), row["people"], "{} in {case}", row["at"]);
            assert_eq!(serde_json::json!(duty.backup), row["backup"], "{} in {case}", row["at"]);
            on_duty += duty.people.len();
            asked += 1;
        }
        rotas += config.rotas.len();
        layered += config.rotas.iter().filter(|rota| rota.over.is_some()).count();
        let cron =
            |rota: &&config::people::Rota| matches!(rota.change, config::people::Change::Cron(_));
        by_cron += config.rotas.iter().filter(cron).count();
    }
    assert_eq!(asked, 30 * COUNT);
    assert!(rotas > COUNT && layered > COUNT / 10 && by_cron > COUNT / 5);
    assert!((asked / 5..2 * asked).contains(&on_duty), "both answers are common: {on_duty}");
}

/// Row TZ-13 of the project's standards notes: the zones of zone1970.tab whose offsets in 2026 and 2027 differ between
/// the zone data 2025b and 2026f. Each version in between knows some of these laws, and one from 2026f on all of them.
const DIFFER: [&str; 8] = [
    "Africa/Casablanca",
    "Africa/El_Aaiun",
    "America/Edmonton",
    "America/Havana",
    "America/Inuvik",
    "America/Vancouver",
    "America/Winnipeg",
    "Europe/Chisinau",
];

#[test]
fn the_machines_zone_data_differ_from_ours_by_the_laws_of_2026_alone() {
    let machine = said(0).remove(0);
    let version = machine["version"].as_str().unwrap();
    let mut differ = Vec::new();
    let mut compared = 0;
    for (name, runs) in machine["offsets"].as_object().unwrap() {
        let zone = Zone::named(name).unwrap();
        let runs: Vec<(i64, i64)> = serde_json::from_value(runs.clone()).unwrap();
        let ours = |second| {
            let at = Moment::from_seconds(second);
            Zone::utc().instant(zone.wall(at)).since(at).whole_seconds()
        };
        // Every day, and the second of each change with the one before it.
        let daily = (0..730).map(|day| runs[0].0 + 86_400 * day);
        let changes = runs[1..].iter().flat_map(|(second, _)| [second - 1, *second]);
        let theirs = |second: i64| runs.iter().rev().find(|(from, _)| *from <= second).unwrap().1;
        compared += 730 + 2 * (runs.len() - 1);
        if daily.chain(changes).any(|second| ours(second) != theirs(second)) {
            differ.push(name.as_str());
        }
    }
    differ.sort_unstable();
    assert!(version.is_empty() || compared > 200_000, "{compared} offsets compared");
    match version {
        "" => assert!(differ.is_empty(), "a machine without zone data has no zones"),
        "2025b" => assert_eq!(differ, DIFFER),
        version if version < "2026f" => {
            assert!(differ.iter().all(|zone| DIFFER.contains(zone)), "{differ:?}")
        }
        // Laws that came later are the machine's alone; `lowbell check` then says that this program is behind.
        version => assert!(differ.is_empty() || version > data_version(), "{differ:?}"),
    }
}

/// Row TZ-02: Dublin's winter is its daylight saving time in the data, in some builds its summer is. So nobody may ask.
#[test]
fn nothing_asks_whether_it_is_summer_time() {
    fn files(folder: &Path, found: &mut Vec<String>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                files(&path, found);
            } else {
                found.push(std::fs::read_to_string(&path).unwrap());
            }
        }
    }
    let asks = |text: &str| {
        [".dst()", "is_dst", "tz::Dst", "to_offset_info"].iter().any(|word| text.contains(word))
    };
    assert!(asks("zone.to_offset_info(stamp).dst().is_dst()"));
    let mut found = Vec::new();
    files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut found);
    assert!(found.len() > 100);
    assert!(!found.iter().any(|text| asks(text)));
}
