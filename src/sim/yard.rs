//! The settings of the invented farm, written as a farmer would write them: three rungs, because two
//! hide faults, three people and an owner, two shifts, and the shipped rules as they are.

use std::fmt::Write;

use super::farm::Farm;
use super::sensors::Sensor;
use crate::config::{NamedText, SettingsText};
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

pub(super) const ZONE: &str = "Europe/Dublin";
/// What the ladder below says: between two rungs, and between two rounds of the last one.
pub(super) const WAIT: Span = Span::minutes(10);
pub(super) const AGAIN: Span = Span::minutes(15);
/// What `[farm] promise` is when nothing is said of it.
pub(super) const PROMISE: Span = Span::minutes(30);

pub(super) const MAIL: &str = "mail";
pub(super) const TEXTS: &str = "sms";
pub(super) const HOOK: &str = "hook";
pub(super) const ANSWERS: &str = "answers";

/// Everybody, the sleepers of the early night first.
/// Name, part, mail, mobile if any, and the hours of sleep.
type PersonRow = (&'static str, &'static str, &'static str, Option<&'static str>, (i8, i8));

pub(super) const PEOPLE: [PersonRow; 5] = [
    ("Ana", "stockman", "ana@hollowbank.example", Some("+353860000001"), (9, 15)),
    ("Tom", "stockman", "tom@hollowbank.example", Some("+353860000002"), (1, 7)),
    ("Niall", "helper", "niall@hollowbank.example", Some("+353860000003"), (22, 6)),
    ("Orla", "helper", "orla@hollowbank.example", Some("+353860000005"), (0, 7)),
    ("Rosa", "owner", "rosa@hollowbank.example", None, (23, 6)),
];

/// Whether this row of `PEOPLE` can strike out what was said of a dam: a helper's "false" comes to nothing.
pub(super) fn may_call_false(who: usize) -> bool {
    PEOPLE[who].1 != "helper"
}

const FARM: &str = r#"
[farm]
name = "Hollow Bank"
zone = "Europe/Dublin"
country = "IE"
herd = "herd.csv"
look-apart = "0s"

[broker]
url = "mqtt://127.0.0.1:1883"
answers = "yard/words/{person}"

[[sensor]]
kind = "collar"
topic = "yard/collar/{device}"
read = [{ sign = "contraction", at = "/contractions", as = "count" }]
time = { at = "/t", as = "unix-s" }
every = "12m"
clock = "refuse"

[[sensor]]
kind = "tail"
topic = "yard/tail/{device}/state"
read = [
  { sign = "tail raised", at = "/raised", as = "flag" },
  { sign = "battery", at = "/battery" },
]
every = "20m"

[[sensor]]
kind = "camera"
topic = "yard/camera/{device}"
read = [
  { sign = "restless", at = "/restless", as = "flag" },
  { sign = "water bag", at = "/water bag", as = "flag" },
  { sign = "feet", at = "/feet", as = "flag" },
  { sign = "nose", at = "/nose", as = "flag" },
  { sign = "calf", at = "/calf", as = "flag" },
  { sign = "sucked", at = "/sucked", as = "flag" },
  { sign = "placenta", at = "/placenta", as = "flag" },
]
time = { at = "/at", as = "rfc3339" }
every = "10m"

# The facts of this farm do not follow whether a collar is heard at each moment, so this rule has no second hand
# to be compared with: it only logs here.
[[rule]]
name = "efforts stopped"
when = { not = { count = "contraction", over = "20m", at-least = 1 } }
while = "second"

# By day alone elsewhere; the facts of this farm know no hours.
[[rule]]
name = "placenta not passed"
since = ["calf", "aborted"]
until = "placenta"
limit = "12h"
harm = "lasting"
onset = "delayed"
do = "Do not pull it. Note her temperature; ask the vet by day."
tell = ["daytime", "calving"]
source = "S3-03 (retained if not shed by 12 h), S3-09 (no pulling by hand)"

[[rota]]
name = "night"
shift = "20:00-08:00"
turn = ["Ana", "Tom"]
change = "week"
since = "2026-09-07"
backup = ["Niall"]

[[rota]]
name = "day"
shift = "08:00-20:00"
turn = ["Niall", "Orla"]
change = "day"
since = "2026-09-07"
backup = ["Rosa"]

[[ladder]]
name = "calving"
rung = [
  { call = "on duty", by = ["mail"], wait = "10m" },
  { call = "backup", by = ["sms"], wait = "10m" },
  { call = "everyone", by = ["mail", "sms"], wait = "10m" },
]
again = "15m"

[[line]]
name = "mail"
kind = "smtp"
url = "smtp://127.0.0.1:25"
from = "lowbell@hollowbank.example"

[[line]]
name = "sms"
kind = "sms-http"
url = "http://127.0.0.1:9100/send"
body = '{"to":"{to}","text":"{text}"}'
allow-private = true

[[line]]
name = "answers"
kind = "imap"
url = "imap://127.0.0.1:143"
user = "lowbell"
password-file = "mail.secret"

[[line]]
name = "hook"
kind = "webhook"
url = "http://127.0.0.1:9000/alerts"
secret-file = "hook.secret"
allow-private = true
"#;

/// Those who check know nothing of a cap: it is asked for where people's load is measured.
const NO_CAP: &str = "\n[calls]\nat-most = 1000\nhandover = false\nwelcome = false\n";

/// `farm.toml` and `herd.csv` of this farm.
pub(super) fn settings(
    farm: &Farm,
    sensors: &[Sensor],
    zone: &Zone,
    measured: bool,
) -> SettingsText {
    let mut text = FARM.to_owned();
    if !measured {
        text.push_str(NO_CAP);
    }
    for (name, part, mail, mobile, _) in PEOPLE {
        let _ =
            write!(text, "\n[[person]]\nname = \"{name}\"\npart = \"{part}\"\nmail = \"{mail}\"\n");
        if let Some(mobile) = mobile {
            let _ = writeln!(text, "mobile = \"{mobile}\"");
        }
    }
    for sensor in sensors {
        let on = &farm.cows[sensor.cow].animal;
        let (from, until) = (local(zone, sensor.from), local(zone, sensor.until));
        let _ = write!(
            text,
            "\n[[device]]\nid = \"{}\"\non = \"{on}\"\nfrom = \"{from}\"\nuntil = \"{until}\"\n",
            sensor.id
        );
    }
    let mut herd = "animal,name,calvings,group\n".to_owned();
    for (at, cow) in farm.cows.iter().enumerate() {
        let calvings = if cow.heifer { 0 } else { 1 + at % 5 };
        let group = ["home field", "river field", "straw yard"][at % 3];
        let _ = writeln!(herd, "{},,{calvings},{group}", cow.animal);
    }
    let file = |name: &str, text: String| NamedText { name: name.to_owned(), text };
    SettingsText { files: vec![file("farm.toml", text), file("herd.csv", herd)] }
}

/// Noon of the day so many days from a moment: no clock change makes it ambiguous.
pub(super) fn noon(zone: &Zone, at: Moment, days: i64) -> Moment {
    let date = zone.wall(at + Span::days(days)).date();
    zone.instant(date.at(12, 0, 0, 0))
}

fn local(zone: &Zone, at: Moment) -> String {
    let wall = zone.wall(at);
    format!("{}T{:02}:{:02}", wall.date(), wall.hour(), wall.minute())
}
