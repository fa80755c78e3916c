//! The siren on the farm's own broker, with nothing else working: needs.md N103 asks that it sounds with the
//! internet down.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};

use crate::daemon::{DEADLINE, Daemon, lowbell};
use crate::mosquitto::{Mosquitto, free_port};

/// A farm whose only way out is a mail server that does not answer, and a siren.
fn farm(folder: &Path, broker: &str) -> PathBuf {
    let dead = free_port();
    let text = format!(
        r#"
[farm]
name = "Hollow Bank"
zone = "Europe/Dublin"
herd = "herd.csv"
rules = []
[broker]
{broker}
[[person]]
name = "Ana"
part = "stockman"
mail = "ana@hollowbank.example"
[[ladder]]
name = "calving"
rung = [{{ call = "everyone", by = ["mail"], wait = "5m" }}]
again = "15m"
[[line]]
name = "mail"
kind = "smtp"
url = "smtp://127.0.0.1:{dead}"
from = "lowbell@hollowbank.example"
[[line]]
name = "siren"
kind = "mqtt"
topic = "yard/siren/set"
say = {{ now = "ON", near = "BLINK", quiet = "OFF" }}
[[rule]]
name = "waters gone"
since = "water bag"
until = "calf"
limit = "1s"
harm = "death"
onset = "immediate"
do = "Go and look."
tell = "calving"
"#
    );
    std::fs::write(folder.join("herd.csv"), "animal,calvings\n114,0\n").unwrap();
    let path = folder.join("farm.toml");
    std::fs::write(&path, text).unwrap();
    path
}

/// Whoever stands by the siren and writes down what it is told.
struct Siren {
    child: Child,
    told: Receiver<String>,
}

impl Siren {
    fn at(port: u16) -> Self {
        let mut child = Command::new("mosquitto_sub")
            .args(["-p", &port.to_string(), "-t", "yard/siren/set", "-q", "1"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let (send, told) = channel();
        let out = child.stdout.take().unwrap();
        std::thread::spawn(move || {
            for line in BufReader::new(out).lines().map_while(Result::ok) {
                if send.send(line).is_err() {
                    break;
                }
            }
        });
        Self { child, told }
    }

    fn is_told(&self) -> String {
        self.told.recv_timeout(DEADLINE).expect("the siren is told something")
    }
}

impl Drop for Siren {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn says(farm: &Path, words: &[&str]) {
    let all = [words, &["--as", "Ana", "--farm", farm.to_str().unwrap()]].concat();
    let answer = lowbell(&all);
    assert!(answer.status.success(), "{words:?}: {answer:?}");
}

fn sounds(port: u16, farm: &Path) {
    let siren = Siren::at(port);
    assert_eq!(siren.is_told(), "OFF");
    says(farm, &["mark", "114", "water bag"]);
    assert_eq!(siren.is_told(), "ON");
    // One that has been without power hears how things stand.
    assert_eq!(Siren::at(port).is_told(), "ON");
    says(farm, &["answer", "1", "going"]);
    assert_eq!(siren.is_told(), "BLINK");
    says(farm, &["mark", "114", "calf"]);
    assert_eq!(siren.is_told(), "OFF");
}

#[tokio::test]
async fn a_siren_on_the_farms_broker_sounds_though_no_mail_gets_out() {
    let broker = Mosquitto::start("").await;
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), &format!("url = \"mqtt://127.0.0.1:{}\"", broker.port));
    let mut watch = Daemon::start(&farm);
    watch.says("broker is up");
    sounds(broker.port, &farm);
    assert_eq!(watch.stop(), 0);
}

#[test]
fn a_siren_on_our_own_broker_sounds_too() {
    let port = free_port();
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), &format!("built-in = \"127.0.0.1:{port}\""));
    let mut watch = Daemon::start(&farm);
    watch.says("broker is up");
    sounds(port, &farm);
    assert_eq!(watch.stop(), 0);
}
