//! One night over real servers: a packet by mosquitto's own tool, a mail through a real mail server, a
//! reply in a real mailbox, and the ladder stops.

use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};

use super::daemon::{DEADLINE, Daemon, lowbell, text};
use super::mosquitto::Mosquitto;
use super::servers;

fn farm(folder: &Path, mqtt: u16, tag: &str) -> PathBuf {
    let (smtp_host, smtp) = servers::smtp();
    let (imap_host, imap) = servers::imap();
    let (_, password) = servers::mail_user();
    let text = format!(
        r#"
[farm]
name = "Hollow Bank"
zone = "Europe/Dublin"
herd = "herd.csv"
[calls]
welcome = false
[broker]
url = "mqtt://127.0.0.1:{mqtt}"
[[sensor]]
kind = "tail"
topic = "yard/tail/{{device}}/state"
read = [{{ sign = "contraction", at = "/efforts", as = "count" }}]
[[device]]
id = "t-07"
on = "114"
[[person]]
name = "Ana"
mail = "ana{tag}@hollowbank.example"
[[person]]
name = "Tom"
mail = "tom{tag}@hollowbank.example"
[[ladder]]
name = "calving"
rung = [
  {{ call = "Ana", by = ["mail"], wait = "20s" }},
  {{ call = "Tom", by = ["mail"], wait = "20s" }},
]
[[line]]
name = "mail"
kind = "smtp"
url = "smtp://{smtp_host}:{smtp}"
from = "lowbell{tag}@hollowbank.example"
[[line]]
name = "answers"
kind = "imap"
url = "imap://{imap_host}:{imap}"
user = "lowbell{tag}"
password-file = "mail.secret"
"#
    );
    std::fs::write(folder.join("farm.toml"), text).unwrap();
    std::fs::write(
        folder.join("herd.csv"),
        "animal,name,calvings,group\n114,Bramble,0,home field\n",
    )
    .unwrap();
    std::fs::write(folder.join("mail.secret"), format!("{password}\n")).unwrap();
    folder.join("farm.toml")
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_published_reading_wakes_ana_and_her_reply_stops_the_ladder() {
    let broker = Mosquitto::start("").await;
    let folder = tempfile::tempdir().unwrap();
    let tag = format!("-night{}", broker.port);
    let path = farm(folder.path(), broker.port, &tag);
    tokio::task::block_in_place(|| whole_night(&broker, &path, &tag));
}

fn whole_night(broker: &Mosquitto, path: &Path, tag: &str) {
    let mut daemon = Daemon::start(path);
    let up = [daemon.says(" is up"), daemon.says(" is up")];
    assert!(
        up.iter().any(|line| line.contains("broker"))
            && up.iter().any(|line| line.contains("answers")),
        "{up:?}"
    );
    broker.publish(&["-q", "1", "-t", "yard/tail/t-07/state", "-m", "{\"efforts\": 9}"]);
    daemon.says("dam 114 enters first stage");
    daemon.says("alert 1 to Ana by mail: 114 home field: contractions building 9 in 1 h");

    let mail = first_mail(&format!("ana{tag}"));
    let id = field(&mail, "Message-ID").expect("a mail of ours has an id");
    assert_eq!(field(&mail, "Auto-Submitted").as_deref(), Some("auto-generated"));
    assert!(mail.lines().all(|line| line.len() <= 998), "RFC 5322 section 2.1.1");

    let reply = format!(
        "From: Ana <ana{tag}@hollowbank.example>\r\nTo: lowbell{tag}@hollowbank.example\r\n\
         Subject: Re: calving\r\nMessage-ID: <1.{tag}@elsewhere.example>\r\nIn-Reply-To: {id}\r\n\
         Content-Type: text/plain\r\n\r\non my way\r\n\r\n> what was written\r\n"
    );
    servers::deliver(&format!("lowbell{tag}"), &format!("ana{tag}@hollowbank.example"), &reply);
    daemon.says("Ana answers alert 1: going");
    let status = lowbell(&["status", path.to_str().unwrap()]);
    assert!(text(&status.stdout).contains("Ana has it until"), "{}", text(&status.stdout));

    // An automatic reply is nobody, and a stranger is nobody of this farm.
    let holiday = reply
        .replace("Content-Type", "Auto-Submitted: auto-replied\r\nContent-Type")
        .replace("<1.", "<2.");
    servers::deliver(&format!("lowbell{tag}"), &format!("tom{tag}@hollowbank.example"), &holiday);
    daemon.says("refused a mail from");
    let stranger = reply.replace(&format!("ana{tag}"), "zoltan").replace("<1.", "<3.");
    servers::deliver(&format!("lowbell{tag}"), "zoltan@elsewhere.example", &stranger);
    daemon.says("nobody of this farm");

    let mark =
        lowbell(&["mark", "114", "water", "bag", "--as", "Ana", "--farm", path.to_str().unwrap()]);
    assert!(mark.status.success(), "{}{}", text(&mark.stdout), text(&mark.stderr));
    daemon.says("dam 114 enters second stage");
    daemon.says("alert 1 is over");
    broker.publish(&["-q", "1", "-t", "lowbell/answer/Ana", "-m", "114 calf"]);
    daemon.says("dam 114 enters third stage");
    assert_eq!(daemon.stop(), 0);

    let replay = lowbell(&["replay", path.with_file_name("data").to_str().unwrap()]);
    assert!(replay.status.success(), "{}", text(&replay.stdout));
    told_from_the_log_alone(path, tag);
    assert!(
        !daemon.seen.iter().any(|line| line.contains("to Tom by mail: 114")),
        "Tom was called: {:#?}",
        daemon.seen
    );
}

/// needs.md N72: who was told, what they answered, by which proof, and what came of it, from the log alone. N91: no address
/// stands in it whole.
fn told_from_the_log_alone(path: &Path, tag: &str) {
    let ana = text(&lowbell(&["diary", "--who", "Ana", path.to_str().unwrap()]).stdout);
    let mut lines = ana.lines();
    for expected in [
        "alert 1 to Ana by mail: 114 home field: contractions building 9 in 1 h",
        "Ana, by mail from a…@hollowbank.example (line answers): \"on my way\"",
        "Ana answers alert 1: going, until ",
        "Ana, said at this machine or on the farm's broker, by name alone (line this machine): \"114 water bag\"",
        "dam 114 enters second stage (water bag at ",
        "\"114 calf\"",
        "dam 114 enters third stage (calf at ",
    ] {
        assert!(lines.any(|line| line.contains(expected)), "{expected} in its place in {ana}");
    }
    let whole = text(&lowbell(&["diary", path.to_str().unwrap()]).stdout);
    for name in ["ana", "tom", "zoltan"] {
        assert!(
            !ana.contains(&format!("{name}{tag}@")) && !whole.contains(&format!("{name}{tag}@"))
        );
    }
    assert!(whole.contains("refused words from z"), "a stranger is logged: {whole}");
}

/// needs.md N84: the real chain to a real answer, marked DRILL in the first word, and a report of each hop and its seconds.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_drill_goes_to_a_real_mailbox_and_back_and_times_each_hop() {
    let broker = Mosquitto::start("").await;
    let folder = tempfile::tempdir().unwrap();
    let tag = format!("-drill{}", broker.port);
    let path = farm(folder.path(), broker.port, &tag);
    tokio::task::block_in_place(|| drilled(&broker, &path, &tag));
}

fn drilled(broker: &Mosquitto, path: &Path, tag: &str) {
    let farm = path.to_str().unwrap();
    let mut daemon = Daemon::start(path);
    daemon.says(" is up");
    daemon.says(" is up");
    broker.publish(&["-q", "1", "-t", "yard/tail/t-07/state", "-m", "{\"efforts\": 0}"]);
    let none = lowbell(&["drill", "--last", "--farm", farm]);
    assert_eq!(text(&none.stdout), "There has been no drill yet.\n");
    let begun = lowbell(&["drill", "--as", "Tom", "--leave", "--farm", farm]);
    assert!(text(&begun.stdout).starts_with("Drill 1 begins."), "{}", text(&begun.stdout));
    daemon.says("alert 1 to Ana by mail: DRILL: ");

    let mail = first_mail(&format!("ana{tag}"));
    let subject = field(&mail, "Subject").expect("a mail of ours has a subject");
    assert!(subject.starts_with("DRILL"), "{subject}");
    let id = field(&mail, "Message-ID").expect("a mail of ours has an id");
    let reply = format!(
        "From: Ana <ana{tag}@hollowbank.example>\r\nTo: lowbell{tag}@hollowbank.example\r\n\
         Subject: Re: {subject}\r\nMessage-ID: <1.{tag}@elsewhere.example>\r\nIn-Reply-To: {id}\r\n\
         Content-Type: text/plain\r\n\r\ngoing\r\n"
    );
    servers::deliver(&format!("lowbell{tag}"), &format!("ana{tag}@hollowbank.example"), &reply);
    daemon.says("drill 1 is over: Ana answered after ");
    let last = lowbell(&["drill", "--last", "--farm", farm]);
    let report = text(&last.stdout);
    assert!(report.starts_with("DRILL 1 of "), "{report}");
    assert!(report.contains("Ana by mail: called after 0 s, taken in "), "{report}");
    assert!(report.contains("Ana answered after ") && report.contains(", by mail."), "{report}");
    let dusk = lowbell(&["paper", "dusk", "--farm", farm]);
    let dusk = text(&dusk.stdout);
    assert!(dusk.contains("Drill at "), "{dusk}");
    assert_eq!(daemon.stop(), 0);
    let week = lowbell(&["week", "--farm", farm]);
    let week = text(&week.stdout);
    assert!(week.contains("Nobody was called.") && !week.contains("drill"), "{week}");
    let replay = lowbell(&["replay", path.with_file_name("data").to_str().unwrap()]);
    assert!(replay.status.success(), "{}", text(&replay.stdout));
}

/// The first mail in somebody's mailbox, read as any mail program would.
fn first_mail(user: &str) -> String {
    let (host, port) = servers::imap();
    let (_, password) = servers::mail_user();
    let begun = std::time::Instant::now();
    loop {
        let stream = TcpStream::connect((host.as_str(), port)).unwrap();
        stream.set_read_timeout(Some(DEADLINE)).unwrap();
        let mut answers = BufReader::new(stream.try_clone().unwrap());
        let mut ask = |words: &str| {
            (&stream).write_all(format!("a {words}\r\n").as_bytes()).unwrap();
            let mut whole = String::new();
            loop {
                let mut line = String::new();
                answers.read_line(&mut line).unwrap();
                if line.starts_with("a ") {
                    return whole;
                }
                whole.push_str(&line);
            }
        };
        ask(&format!("LOGIN {user} {password}"));
        let selected = ask("SELECT INBOX");
        if !selected.contains("* 0 EXISTS") && selected.contains(" EXISTS") {
            return ask("FETCH 1 BODY.PEEK[]");
        }
        assert!(begun.elapsed() < DEADLINE, "no mail came to {user}");
        std::thread::park_timeout(std::time::Duration::from_millis(100));
    }
}

fn field(mail: &str, name: &str) -> Option<String> {
    mail.lines()
        .take_while(|line| !line.trim().is_empty())
        .filter_map(|line| line.split_once(':'))
        .find(|(key, _)| key.eq_ignore_ascii_case(name))
        .map(|(_, value)| value.trim().to_owned())
}
