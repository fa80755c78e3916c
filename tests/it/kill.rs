//! The plug is pulled a hundred times through one scripted night: the real program, a real broker,
//! a mail server that counts. Nothing that was due is lost, and nothing comes twice but what was in
//! flight when the plug was pulled.

use std::collections::BTreeMap;
use std::time::Duration;

use super::daemon::{Daemon, lowbell, text};
use super::mosquitto::Mosquitto;
use super::post_office::{Mail, PostOffice};

const KILLS: usize = 100;
const DAMS: usize = 60;

/// Limits of seconds instead of minutes, so that a night takes a minute or two.
fn farm(mqtt: u16, smtp: u16) -> String {
    let mut farm = format!(
        r#"
[farm]
name = "Hollow Bank"
zone = "Europe/Dublin"
herd = "herd.csv"
rules = []
promise = "60s"
[calls]
welcome = false
[broker]
url = "mqtt://127.0.0.1:{mqtt}"
client-id = "night-of-kills"
keep-alive = "5s"
group = "2s"
[[sensor]]
kind = "camera"
topic = "yard/camera/{{device}}"
read = [
  {{ sign = "water bag", at = "/water bag", as = "flag" }},
  {{ sign = "calf", at = "/calf", as = "flag" }},
]
[[person]]
name = "Ana"
mail = "ana@hollowbank.example"
[[person]]
name = "Tom"
mail = "tom@hollowbank.example"
[[ladder]]
name = "calving"
rung = [
  {{ call = "Ana", by = ["mail"], wait = "2s" }},
  {{ call = "Tom", by = ["mail"], wait = "2s" }},
]
again = "3s"
[[line]]
name = "mail"
kind = "smtp"
url = "smtp://127.0.0.1:{smtp}"
from = "lowbell@hollowbank.example"
timeout = "5s"
[[rule]]
name = "second stage too long"
since = "second"
until = "calf"
limit = "2s"
harm = "death"
onset = "immediate"
do = "Examine her now, or call the vet."
tell = "calving"
source = "common practice, no source"
"#
    );
    for dam in 0..DAMS {
        farm.push_str(&format!("[[device]]\nid = \"c-{dam}\"\non = \"{dam}\"\n"));
    }
    farm
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_hundred_pulled_plugs_lose_nothing_and_double_nothing() {
    let broker = Mosquitto::start("max_queued_messages 0\nmax_inflight_messages 0").await;
    let post = PostOffice::start().await;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.toml");
    std::fs::write(&path, farm(broker.port, post.port())).unwrap();
    let herd: String = (0..DAMS).map(|dam| format!("{dam},3,home field\n")).collect();
    std::fs::write(folder.path().join("herd.csv"), format!("animal,calvings,group\n{herd}"))
        .unwrap();

    // The session must exist before anything is published, or the broker keeps nothing for us.
    let mut daemon = Daemon::start(&path);
    daemon.says("broker is up");
    let mut dice = 0x5eed_u64;
    for kill in 0..KILLS {
        // Something of the night happens in every interval: dams begin, and later calve.
        if kill < DAMS {
            publish(&broker, kill, "water bag");
        }
        if (20..20 + DAMS).contains(&kill) {
            publish(&broker, kill - 20, "calf");
        }
        let pause = 30 + roll(&mut dice) % 700;
        tokio::time::sleep(Duration::from_millis(pause)).await;
        daemon.kill();
        daemon = Daemon::start(&path);
    }
    publish(&broker, DAMS - 1, "calf");
    // The last dam calves: once it is over, everything before it is too.
    tokio::task::block_in_place(|| while_open(&path));
    assert_eq!(daemon.stop(), 0);
    judge(&path, &post.mails());
}

fn publish(broker: &Mosquitto, dam: usize, sign: &str) {
    let topic = format!("yard/camera/c-{dam}");
    broker.publish(&["-q", "1", "-t", &topic, "-m", &format!("{{\"{sign}\":true}}")]);
}

/// Waits until every dam is past second stage and nothing is in flight.
fn while_open(farm: &std::path::Path) {
    for _ in 0..600 {
        let asked = lowbell(&["status", "--json", farm.to_str().unwrap()]);
        if let Ok(board) = serde_json::from_slice::<serde_json::Value>(&asked.stdout) {
            let third = board["dams"]
                .as_array()
                .unwrap()
                .iter()
                .filter(|dam| dam["stage"] == "third")
                .count();
            let quiet = board["alerts"].as_array().unwrap().is_empty() && board["in_flight"] == 0;
            if quiet && third == DAMS {
                return;
            }
        }
        std::thread::park_timeout(Duration::from_millis(100));
    }
    let asked = lowbell(&["status", farm.to_str().unwrap()]);
    panic!("the night does not end:\n{}{}", text(&asked.stdout), text(&asked.stderr));
}

/// Holds what came by mail against what the diary says was sent.
fn judge(farm: &std::path::Path, mails: &[Mail]) {
    let diary = lowbell(&["diary", farm.to_str().unwrap()]);
    let diary = text(&diary.stdout);
    let began = diary.lines().filter(|line| line.contains("enters second stage")).count();
    assert_eq!(began, DAMS, "every dam began once:\n{diary}");
    assert_eq!(diary.lines().filter(|line| line.contains("enters third stage")).count(), DAMS);
    let raised = diary
        .lines()
        .filter(|line| line.contains(": dam ") || line.contains(" dam "))
        .filter(|line| {
            line.split("  ").nth(1).is_some_and(|text| {
                text.starts_with("alert ")
                    && text.contains("second stage too long")
                    && !text.contains(" to ")
            })
        });
    assert!(
        raised.count() >= DAMS / 2,
        "too few alerts for this night to prove anything:\n{diary}"
    );

    // Each line about a message names its subject, and the subject holds the alert's code.
    let mut sent: BTreeMap<String, usize> = BTreeMap::new();
    let mut again: BTreeMap<String, usize> = BTreeMap::new();
    let mut withdrawn = 0;
    for line in diary.lines() {
        let Some((_, words)) = line.split_once("  ") else {
            continue;
        };
        if words.contains("need not leave any more") {
            withdrawn += 1;
        }
        let (words, counts) = match words.strip_prefix("again: ") {
            Some(words) => (words, &mut again),
            None => (words, &mut sent),
        };
        if words.contains(" by mail: ") {
            *counts.entry(words.to_owned()).or_default() += 1;
        }
    }
    let mut copies: BTreeMap<String, usize> = BTreeMap::new();
    for mail in mails {
        let id = header(&mail.raw, "Message-ID").expect("every mail has an id");
        *copies.entry(id).or_default() += 1;
    }
    let all_sent: usize = sent.values().sum();
    let all_again: usize = again.values().sum();
    let all_copies: usize = copies.values().sum();
    assert!(
        copies.len() + withdrawn >= all_sent,
        "{all_sent} messages were sent by the diary, {withdrawn} withdrawn, and only {} arrived",
        copies.len()
    );
    assert!(copies.len() <= all_sent, "a number was made up: {} of {all_sent}", copies.len());
    assert!(
        all_copies <= all_sent + all_again,
        "{all_copies} mails arrived of {all_sent} sent and {all_again} sent again"
    );
    let replay = lowbell(&["replay", farm.with_file_name("data").to_str().unwrap()]);
    assert!(replay.status.success(), "{}{}", text(&replay.stdout), text(&replay.stderr));
}

fn header(raw: &str, name: &str) -> Option<String> {
    let lines = raw.lines().take_while(|line| !line.is_empty());
    lines
        .filter_map(|line| line.split_once(':'))
        .find(|(key, _)| key.eq_ignore_ascii_case(name))
        .map(|(_, value)| value.trim().to_owned())
}

fn roll(dice: &mut u64) -> u64 {
    *dice ^= *dice << 13;
    *dice ^= *dice >> 7;
    *dice ^= *dice << 17;
    *dice
}
