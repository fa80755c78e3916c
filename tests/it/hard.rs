//! Bad input and a bad disk, from outside: each gives a clear line and is counted, nothing accepted is
//! lost, and the watch goes on.

use std::net::TcpListener;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use super::daemon::{Daemon, lowbell, text};
use super::mosquitto::Mosquitto;
use super::post_office::PostOffice;

fn farm(folder: &Path, broker: &str, smtp: u16) -> std::path::PathBuf {
    let farm = format!(
        r#"[farm]
name = "Hollow Bank"
zone = "Europe/Dublin"
herd = "herd.csv"
[calls]
welcome = false
[broker]
{broker}
[[sensor]]
kind = "tail"
topic = "yard/tail/{{device}}/state"
read = [{{ sign = "contraction", at = "/efforts", as = "count" }}]
[[device]]
id = "t-07"
on = "114"
[[person]]
name = "Ana"
mail = "ana@hollowbank.example"
[[line]]
name = "mail"
kind = "smtp"
url = "smtp://127.0.0.1:{smtp}"
from = "lowbell@hollowbank.example"
timeout = "5s"
"#
    );
    std::fs::write(folder.join("farm.toml"), farm).unwrap();
    std::fs::write(folder.join("herd.csv"), "animal,calvings,group\n114,0,home field\n").unwrap();
    folder.join("farm.toml")
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nonsense_on_the_broker_is_counted_and_the_watch_goes_on() {
    let broker = Mosquitto::start("").await;
    let post = PostOffice::start().await;
    let folder = tempfile::tempdir().unwrap();
    let url = format!("url = \"mqtt://127.0.0.1:{}\"", broker.port);
    let path = farm(folder.path(), &url, post.port());
    // It lives until its mail has come.
    let _daemon = tokio::task::block_in_place(|| {
        let mut daemon = Daemon::start(&path);
        daemon.says("broker is up");
        let topic = "yard/tail/t-07/state";
        broker.publish(&["-q", "1", "-t", topic, "-m", "not json"]);
        daemon.says("refused a message on yard/tail/t-07/state");
        broker.publish(&["-q", "1", "-t", "yard/tail/t-99/state", "-m", "{\"efforts\": 1}"]);
        daemon.says("refused device t-99");
        let odd = "yard/tail/ \u{1f404}\"'%s{}\\n/state";
        broker.publish(&["-q", "1", "-t", odd, "-m", "{\"efforts\": 1}"]);
        daemon.says("refused device  \u{1f404}");
        broker.publish_bytes(topic, 300 * 1024, &["-q", "1"]);
        daemon.says("it is too large");
        broker.publish(&["-q", "1", "-t", topic, "-m", "{\"efforts\": 9}"]);
        daemon.says("alert 1 to Ana by mail");
        let status = lowbell(&["status", path.to_str().unwrap()]);
        let status = text(&status.stdout);
        assert!(status.contains("Refused 1 time: undecodable t-07"), "{status}");
        daemon
    });
    let mails = post.wait_for(1, Duration::from_secs(40)).await;
    assert_eq!(mails.len(), 1);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_full_disk_does_not_silence_an_alarm() {
    let broker = Mosquitto::start("").await;
    let post = PostOffice::start().await;
    let folder = tempfile::tempdir().unwrap();
    let url = format!("url = \"mqtt://127.0.0.1:{}\"\ngroup = \"1s\"", broker.port);
    let path = farm(folder.path(), &url, post.port());
    let data = folder.path().join("data");
    std::fs::create_dir(&data).unwrap();
    let disk = SmallDisk::on(&data);
    tokio::task::block_in_place(|| {
        let mut daemon = Daemon::start(&path);
        daemon.says("broker is up");
        disk.fill();
        // Quiet packets that do not pack fill whatever room the journal still has of its own; fewer
        // than may be on their way unconfirmed, or we would be deaf to what follows.
        let mut noise = 7_u64;
        let mut quiet = Vec::new();
        for _ in 0..150 {
            let mut words = String::new();
            for _ in 0..20 {
                noise = noise
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                words.push_str(&format!("{noise:016x}"));
            }
            quiet.push(format!("{{\"efforts\": 0, \"n\": \"{words}\"}}"));
        }
        broker.publish_lines(&["-q", "1", "-t", "yard/tail/t-07/state"], &quiet);
        daemon.says("the journal cannot be written");
        broker.publish(&["-q", "1", "-t", "yard/tail/t-07/state", "-m", "{\"efforts\": 9}"]);
        daemon.says("not on disk yet: alert 1 to Ana by mail");
        disk.free();
        daemon.says("journal is up");
        assert_eq!(daemon.stop(), 0);
    });
    let mails = post.wait_for(1, Duration::from_secs(40)).await;
    assert!(
        !mails.is_empty() && mails[0].raw.contains("contractions building"),
        "{}",
        mails[0].raw
    );
    let diary = lowbell(&["diary", path.to_str().unwrap()]);
    assert!(text(&diary.stdout).contains("alert 1 to Ana by mail"), "{}", text(&diary.stdout));
    let replay = lowbell(&["replay", data.to_str().unwrap()]);
    assert!(replay.status.success(), "{}", text(&replay.stdout));
}

#[test]
fn a_port_that_is_taken_is_said_and_tried_again() {
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port();
    let folder = tempfile::tempdir().unwrap();
    let path = farm(folder.path(), &format!("built-in = \"127.0.0.1:{port}\""), 1);
    let mut daemon = Daemon::start(&path);
    let line = daemon.says("broker is down");
    assert!(
        line.contains(&format!("127.0.0.1:{port}")) && line.contains("another program"),
        "{line}"
    );
    let status = lowbell(&["status", path.to_str().unwrap()]);
    assert!(text(&status.stdout).contains("Line broker: down"), "{}", text(&status.stdout));
    drop(taken);
    daemon.says("broker is up");
    assert_eq!(daemon.stop(), 0);
}

/// Whoever publishes to the built-in broker has its word on disk before it is thanked: the watch is
/// killed right after the thanks, and the next one knows.
#[test]
fn what_the_built_in_broker_thanked_for_survives_a_kill() {
    let folder = tempfile::tempdir().unwrap();
    let port = super::mosquitto::free_port();
    let path = farm(folder.path(), &format!("built-in = \"127.0.0.1:{port}\""), 1);
    let mut daemon = Daemon::start(&path);
    daemon.says("broker is up");
    super::mosquitto::publish(
        port,
        &["-q", "1", "-t", "yard/tail/t-07/state", "-m", "{\"efforts\": 9}"],
        "",
    );
    daemon.kill();
    let mut daemon = Daemon::start(&path);
    daemon.says("again: alert 1 to Ana by mail");
    assert_eq!(daemon.stop(), 0);
}

/// A file system of a megabyte or two on the data folder.
struct SmallDisk {
    folder: std::path::PathBuf,
}

impl SmallDisk {
    fn on(folder: &Path) -> Self {
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=2m", "tmpfs"])
            .arg(folder)
            .status()
            .unwrap();
        assert!(mounted.success(), "this test mounts a small disk and so needs root");
        Self { folder: folder.to_owned() }
    }

    fn fill(&self) {
        let path = self.folder.join("ballast");
        let mut size = 2 * 1024 * 1024;
        while size >= 4096 {
            let mut all = std::fs::read(&path).unwrap_or_default();
            all.resize(all.len() + size, b'x');
            if std::fs::write(&path, &all).is_err() {
                let kept = std::fs::metadata(&path).map_or(0, |meta| meta.len());
                all.truncate(usize::try_from(kept).unwrap());
                size /= 2;
            }
        }
    }

    fn free(&self) {
        std::fs::remove_file(self.folder.join("ballast")).unwrap();
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        // A lazy unmount: the watch may still hold a file for a moment.
        let _ = Command::new("umount").arg("-l").arg(&self.folder).status();
    }
}
