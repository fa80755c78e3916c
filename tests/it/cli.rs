//! The command line: whole standard output, standard error and exit code of every command and of each
//! way it fails.

use std::path::Path;

use super::daemon::{Daemon, lowbell, text};
use super::mosquitto::Mosquitto;

const FARM: &str = r#"[farm]
name = "Hollow Bank"
zone = "Europe/Dublin"
herd = "herd.csv"
[broker]
url = "mqtt://127.0.0.1:1"
[[sensor]]
kind = "tail"
topic = "yard/tail/{device}/state"
read = [{ sign = "contraction", at = "/efforts", as = "count" }]
[[device]]
id = "t-07"
on = "114"
[[person]]
name = "Ana"
mail = "ana@hollowbank.example"
[[person]]
name = "Tom"
mail = "tom@hollowbank.example"
[[rota]]
name = "night"
shift = "20:00-08:00"
turn = ["Ana", "Tom"]
since = "2026-11-23"
backup = ["Tom"]
[[rota]]
name = "day"
shift = "08:00-20:00"
turn = ["Tom"]
backup = ["Ana"]
[[line]]
name = "mail"
kind = "smtp"
url = "smtp://127.0.0.1:1"
from = "lowbell@hollowbank.example"
[[line]]
name = "answers"
kind = "imap"
url = "imap://127.0.0.1:1"
user = "lowbell"
password-file = "mail.secret"
"#;

pub(crate) fn farm(folder: &Path, change: impl Fn(&str) -> String) -> String {
    std::fs::write(folder.join("farm.toml"), change(FARM)).unwrap();
    let herd = "animal,name,calvings,group\n114,Bramble,0,home field\n207,Hazel,4,calving shed\n";
    std::fs::write(folder.join("herd.csv"), herd).unwrap();
    std::fs::write(folder.join("mail.secret"), "hay\n").unwrap();
    folder.join("farm.toml").display().to_string()
}

/// Exit code, standard output, standard error.
pub(crate) fn whole(words: &[&str]) -> (i32, String, String) {
    let output = lowbell(words);
    (output.status.code().unwrap_or(-1), text(&output.stdout), text(&output.stderr))
}

#[test]
fn check_says_that_nothing_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), str::to_owned);
    let (code, out, err) = whole(&["check", &farm]);
    // In a year or two from now the zone data are old, which is said too.
    let wrong: Vec<&str> = err.lines().filter(|line| !line.contains("time zone data")).collect();
    assert_eq!(wrong, Vec::<&str>::new());
    assert_eq!(
        out,
        format!(
            "Hollow Bank: 2 dams, 2 people, 1 kind of sensor, {} rules; nothing is wrong\n\
             Time zone data {} (Europe/Dublin).\n",
            crate::configs::shipped_rules(),
            lowbell::plain::zone::data_version()
        )
    );
    assert_eq!(code, 0);
}

/// The week's pattern names somebody for every hour; who stands in, or backs up nobody but themselves, is seen by the
/// hours of the season itself, up to the last day on which a dam may calve.
#[test]
fn check_names_the_hours_of_this_season_in_which_nobody_is_behind() {
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), |farm| {
        farm.replace("backup = [\"Tom\"]", "backup = [\"Tom\", \"Ana\"]")
    });
    let day = 24 * 3_600;
    let due = jiff::Timestamp::from_second(jiff::Timestamp::now().as_second() + 40 * day).unwrap();
    let due = due.to_string()[..10].to_owned();
    let herd = format!("animal,name,calvings,due\n114,Bramble,0,{due}\n");
    std::fs::write(folder.path().join("herd.csv"), herd).unwrap();
    let (code, _, err) = whole(&["check", &farm]);
    assert_eq!(
        (code, err.lines().filter(|line| line.contains("backs up")).count()),
        (0, 0),
        "{err}"
    );
    // With Tom alone behind the night, his own weeks have nobody.
    let text = std::fs::read_to_string(&farm).unwrap();
    std::fs::write(&farm, text.replace("[\"Tom\", \"Ana\"]", "[\"Tom\"]")).unwrap();
    let (code, out, err) = whole(&["check", &farm]);
    let lines: Vec<&str> = err.lines().filter(|line| line.contains("backs up")).collect();
    assert_eq!((code, lines.len()), (0, 6), "{err}");
    assert!(
        lines[0].starts_with("warning: nobody else backs up whoever is on duty from 20"),
        "{err}"
    );
    assert!(lines[0].ends_with(":00"), "with its offset: {err}");
    assert!(lines[5].ends_with(" times more"), "{err}");
    assert!(out.contains("warnings\n"), "{out}");
}

#[test]
fn check_says_every_fault_at_once_and_ends_with_78() {
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), |farm| {
        farm.replace("turn = [\"Ana\", \"Tom\"]", "turn = [\"Ana\", \"Tomm\"]")
            .replace("Europe/Dublin", "Europe/Dubln")
    });
    let (code, out, err) = whole(&["check", &farm]);
    assert_eq!(out, "");
    assert!(err.contains("farm.toml:3:"), "{err}");
    assert!(err.contains("did you mean Tom?"), "{err}");
    assert!(err.ends_with(&format!("{farm}: 2 errors and 0 warnings\n")), "{err}");
    assert_eq!(code, 78);
}

#[test]
fn run_with_bad_settings_ends_with_78_and_starts_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), |farm| farm.replace("zone = ", "zon = "));
    let (code, out, err) = whole(&["run", &farm]);
    assert_eq!((code, out.as_str()), (78, ""));
    assert!(err.contains("did you mean zone?"), "{err}");
    assert!(!folder.path().join("data").exists(), "a data folder was made");
}

#[test]
fn a_farm_that_is_not_there_is_said_so() {
    let (code, out, err) = whole(&["check", "/nowhere/farm.toml"]);
    assert_eq!((code, out.as_str()), (78, ""));
    let why = "No such file or directory (os error 2)";
    assert_eq!(err, format!("lowbell: cannot read /nowhere/farm.toml: {why}\n"));
}

#[test]
fn wrong_usage_ends_with_2() {
    let (code, out, err) = whole(&["chekc"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(err.contains("'check'"), "{err}");
    assert_eq!(whole(&["answer", "1", "going"]).0, 2, "nobody says who answers");
}

#[test]
fn rota_says_who_is_on_duty_and_until_when() {
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), str::to_owned);
    let (code, out, err) = whole(&["rota", "2026-12-01T23:30", "--farm", &farm]);
    assert_eq!((code, err.as_str()), (0, ""));
    let expected = "2026-12-01 23:30:00 +00:00 (Europe/Dublin)\n\
                    Tom is on duty (night), from 2026-12-01 20:00:00 +00:00 until 2026-12-02 08:00:00 +00:00\n\
                    Backup: nobody\n";
    assert_eq!(out, format!("{expected}{BY_SETTINGS}"));
    let (code, out, err) = whole(&["rota", "yesterday", "--farm", &farm]);
    assert_eq!((code, out.as_str()), (1, ""));
    assert_eq!(err, "lowbell: \"yesterday\" is no time; write it as 2026-12-24T23:00\n");
    let (code, out, _) = whole(&["rota", "tonight", "--farm", &farm]);
    assert_eq!(code, 0);
    assert!(out.starts_with("Tonight (Europe/Dublin)\n20"), "{out}");
}

const BY_SETTINGS: &str =
    "By the settings alone: no watch is running that knows of swaps and who is ill.\n";

#[test]
fn rota_shows_a_month_day_by_day() {
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), str::to_owned);
    let (code, out, err) = whole(&["rota", "--month", "2026-03", "--farm", &farm]);
    assert_eq!((code, err.as_str()), (0, ""));
    let lines: Vec<&str> = out.lines().collect();
    assert!(lines[0].starts_with("Sun 1 Mar"), "{out}");
    let night = lines.iter().find(|line| line.starts_with("Sat 28 Mar 20:00")).unwrap();
    // The night of the clock change is an hour shorter than it looks; of Tom's own, nobody is behind him.
    assert_eq!(
        *night,
        "Sat 28 Mar 20:00 +00:00 - Sun 08:00 +01:00  night    Tom          backup: nobody"
    );
    let widest = lines.iter().map(|line| line.len()).max();
    assert!(widest.unwrap() <= 80, "it fits a terminal: {widest:?}");
    assert_eq!(lines.last(), Some(&BY_SETTINGS.trim()));
    let (code, _, err) = whole(&["rota", "--month", "march", "--farm", &farm]);
    assert_eq!((code, err.as_str()), (1, "lowbell: \"march\" is no month; write it as 2026-12\n"));
}

#[test]
fn status_without_a_watch_says_that_none_is_running() {
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), str::to_owned);
    let (code, out, err) = whole(&["status", &farm]);
    assert_eq!((code, out.as_str()), (1, ""));
    assert!(err.ends_with("is `lowbell run` running on this machine?\n"), "{err}");
}

#[test]
fn diary_and_replay_of_no_journal_say_so() {
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), str::to_owned);
    for words in [["diary", farm.as_str()], ["replay", folder.path().to_str().unwrap()]] {
        let (code, out, err) = whole(&words);
        assert_eq!((code, out.as_str()), (1, ""), "{words:?}");
        assert!(err.starts_with("lowbell: ") && err.contains("journal"), "{err}");
    }
}

#[test]
fn a_second_watch_on_the_same_farm_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), str::to_owned);
    let mut first = Daemon::start(Path::new(&farm));
    first.says("the watch begins");
    let (code, _, err) = whole(&["run", &farm]);
    assert_eq!(code, 1);
    assert!(err.contains("another"), "{err}");
    assert_eq!(first.stop(), 0);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_running_watch_is_asked_answered_reloaded_and_read() {
    let broker = Mosquitto::start("").await;
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), |farm| {
        farm.replace("mqtt://127.0.0.1:1", &format!("mqtt://127.0.0.1:{}", broker.port))
    });
    tokio::task::block_in_place(|| {
        let mut daemon = Daemon::start(Path::new(&farm));
        daemon.says("broker is up");
        broker.publish(&["-q", "1", "-t", "yard/tail/t-07/state", "-m", "{\"efforts\": 9}"]);
        daemon.says(": 114 home field: contractions building 9 in 1 h");

        let code = code_of(&farm);
        let (ended, out, err) =
            whole(&["answer", &code.to_lowercase(), "going", "--as", "ana", "--farm", &farm]);
        assert_eq!((ended, err.as_str()), (0, ""));
        assert!(
            out.starts_with("You have alert 1 until ")
                && out.ends_with("Answer with what you see.\n"),
            "{out}"
        );
        let (ended, out, _) =
            whole(&["answer", &code, "perhaps", "later", "--as", "Ana", "--farm", &farm]);
        assert_eq!(ended, 1, "{out}");
        assert!(out.starts_with("We did not understand that."), "{out}");
        let (ended, out, _) = whole(&["mark", "999", "calf", "--as", "Ana", "--farm", &farm]);
        assert_eq!(ended, 1, "{out}");
        let (ended, out, _) = whole(&["mark", "114", "calf", "--as", "Zoltan", "--farm", &farm]);
        assert_eq!((ended, out.as_str()), (1, "Nobody of this farm has that name.\n"));
        let (ended, out, _) = whole(&["mark", "114", "feet", "--as", "Ana", "--farm", &farm]);
        assert_eq!(ended, 0, "{out}");
        assert!(out.starts_with("Noted: 114 feet "), "{out}");
        let (_, out, _) = whole(&["status", &farm]);
        assert!(out.contains("Dam 114 Bramble in home field: second stage since "), "{out}");

        devices_are_moved_and_shown(&farm);

        // A bad file changes nothing; a good one is taken.
        std::fs::write(folder.path().join("herd.csv"), "animal\n114\n114\n").unwrap();
        daemon.hang_up();
        daemon.says("the new settings are refused and change nothing");
        std::fs::write(folder.path().join("herd.csv"), "animal,calvings\n114,0\n207,4\n318,2\n")
            .unwrap();
        daemon.hang_up();
        daemon.says("the settings hold: 3 dams");
        assert_eq!(daemon.stop(), 0);

        let (ended, out, err) = whole(&["diary", &farm]);
        assert_eq!((ended, err.as_str()), (0, ""));
        assert!(out.lines().any(|line| line.ends_with("the watch begins")), "{out}");
        assert!(out.contains("dam 114 enters second stage"), "{out}");
        let (ended, out, err) = whole(&["replay", folder.path().join("data").to_str().unwrap()]);
        assert_eq!((ended, err.as_str()), (0, ""));
        assert!(out.contains(" entries, the same diary; digest "), "{out}");
    });
}

fn devices_are_moved_and_shown(farm: &str) {
    let (ended, out, err) = whole(&["watched", farm]);
    assert_eq!((ended, err.as_str()), (0, ""));
    assert!(
        out.starts_with("1 dam in the window at ") && out.contains("every one is watched"),
        "{out}"
    );
    assert!(out.contains("  114 Bramble  second stage  no date  t-07 (tail) heard "), "{out}");
    let (ended, out, _) = whole(&["device", "put", "T-07", "207", "--as", "ana", "--farm", farm]);
    assert_eq!(ended, 0, "{out}");
    assert!(
        out.starts_with("t-07 is on 207 since ") && out.ends_with("; 114 has no sensor now.\n"),
        "{out}"
    );
    let (ended, out, _) = whole(&["device", "off", "t-70", "--as", "ana", "--farm", farm]);
    assert_eq!((ended, out.as_str()), (1, "We know no device t-70. There is t-07.\n"));
    let (ended, out, err) = whole(&["device", "--farm", farm]);
    assert_eq!((ended, err.as_str()), (0, ""));
    let rows: Vec<Vec<&str>> = out.lines().map(|line| line.split_whitespace().collect()).collect();
    assert_eq!(rows[0], ["device", "on", "from", "until", "says"]);
    assert_eq!(rows[1], ["t-07", "114", "the", "settings"]);
    assert_eq!((rows[2][..3].to_vec(), rows[2].last()), (vec!["*", "t-07", "207"], Some(&"Ana")));
    let (_, out, _) = whole(&["watched", farm]);
    assert!(out.contains("Ana looked at "), "{out}");
    let (ended, out, err) = whole(&["sensors", farm]);
    assert_eq!((ended, err.as_str()), (0, ""));
    assert!(out.contains("contraction 9 (") && out.contains(" ago)"), "a value has its age: {out}");
}

fn code_of(farm: &str) -> String {
    let (_, out, _) = whole(&["status", "--json", farm]);
    let board: serde_json::Value = serde_json::from_str(&out).unwrap();
    board["alerts"][0]["code"].as_str().unwrap().to_owned()
}
