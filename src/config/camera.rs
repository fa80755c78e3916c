//! Reads `[[camera]]`: where the still picture of a camera is had.

use super::Config;
use super::address;
use super::cameras::{Camera, REGION, Still, StillUrl};
use super::faults::{Faults, Place, Placed};
use super::lines::Way;
use super::topic;
use super::tree::Table;
use crate::plain::ids::DeviceId;

/// Each may keep a picture in memory; more cameras than this are not a farm's.
pub(super) const CAMERAS_MAX: usize = 32;

/// A still of a barn camera has some hundred kilobytes; a mail of more is slow on a farm's line.
const LARGEST: u64 = 2 * 1024 * 1024;
/// No picture is smaller than this allows, and many mail servers refuse a mail twice as large.
const LARGEST_RANGE: std::ops::RangeInclusive<u64> = 1_024..=8 * 1024 * 1024;

const URL: &str = "write it like http://192.168.1.60/snapshot.jpg";
const TOPIC: &str = "write it like yard/cam/{device}/jpeg: {device} is the camera's id";

/// What only a camera that is fetched from can have.
const WITH_URL: [&str; 4] = ["user", "password-file", "ca", "allow-private"];

/// Words in an address that mean that a password follows.
const PASSWORDS: [&str; 5] = ["password=", "passwd=", "pwd=", "pass=", "psw="];

/// One `[[camera]]` and where it stands.
pub(super) struct Written {
    pub(super) camera: Camera,
    at: Place,
    topic: Option<Place>,
}

/// `None` if it lacks what makes it one.
pub(super) fn read(table: Table<'_>) -> Option<Written> {
    let id = table.needed("id", "the name that [[device]] calls this camera by");
    let id = id.filter(|id| is_one_name(id, table.faults()));
    let range = LARGEST_RANGE;
    let largest = table.value("largest").and_then(|value| value.whole(range)).unwrap_or(LARGEST);
    let at = table.place();
    let (by_url, by_topic) = (table.has("still"), table.has("still-topic"));
    if !by_url && !by_topic {
        let help = "write where its picture is fetched, still = \"http://…\", or where it is published, still-topic = \"…\"";
        table.missing("still", help);
        table.ignore_rest();
        return None;
    }
    let (still, topic) = if by_url {
        (still_url(&table).map(Still::Url), None)
    } else {
        let topic = still_topic(&table, id.as_ref());
        check_size(&table, largest);
        (topic.clone().map(|topic| Still::Topic(topic.is)), topic.map(|topic| topic.at))
    };
    if by_url {
        table.done_but(&["still-topic"], "still");
    } else {
        table.done_but(&WITH_URL, "still-topic");
    }
    let largest = usize::try_from(largest).unwrap_or(usize::MAX);
    Some(Written {
        camera: Camera { id: DeviceId::new(&id?.is), still: still?, largest },
        at,
        topic,
    })
}

fn is_one_name(id: &Placed<String>, faults: &Faults) -> bool {
    if id.is.contains(REGION) {
        let title = format!("{} names a region, not a camera", id.is);
        let help = "a / parts a camera from its region; name the camera alone, [[device]] may name its regions";
        faults.refuse(&id.at, title, help);
        return false;
    }
    true
}

fn still_url(table: &Table<'_>) -> Option<StillUrl> {
    let faults = table.faults();
    let url = table.text("still");
    let user = table.text("user");
    let password_file = table.text("password-file");
    let ca = table.text("ca");
    let said = table.flag("allow-private");
    // What is said in the wrong type is a fault of its own, and enough.
    let allow_private = said.unwrap_or(table.has("allow-private"));
    match (&user, &password_file) {
        (Some(user), None) if !table.has("password-file") => {
            let help =
                "write the password into a file of its own: password-file = \"camera.secret\"";
            faults.refuse(&user.at, "a user needs a password-file", help);
        }
        (None, Some(password)) if !table.has("user") => {
            let help = "add user = \"…\", or take password-file out";
            faults.refuse(&password.at, "a password needs a user", help);
        }
        (Some(_) | None, Some(_) | None) => {}
    }
    let url = url?;
    let secure = check_url(&url, allow_private, faults)?;
    if let Some(ca) = ca.as_ref().filter(|_| !secure) {
        let help = "take ca out, or write https:// if the camera speaks it";
        faults.refuse(&ca.at, "http:// shows no certificate to check", help);
    }
    Some(StillUrl {
        url: url.is,
        user: user.map(|text| text.is),
        password_file: password_file.map(|text| text.is),
        ca: ca.map(|text| text.is),
        allow_private,
    })
}

/// Whether it is https; `None` if it is no web address at all.
fn check_url(url: &Placed<String>, allow_private: bool, faults: &Faults) -> Option<bool> {
    let parts = address::parse(&url.is).and_then(|parts| match parts.scheme.as_str() {
        "http" | "https" => Ok(parts),
        other => {
            Err(format!("{other}:// is not spoken here, only pictures one by one are fetched"))
        }
    });
    let parts = match parts {
        Ok(parts) => parts,
        Err(why) => {
            faults.refuse(&url.at, format!("{} is not a web address: {why}", url.is), URL);
            return None;
        }
    };
    if address::is_inside(&parts.host) && !allow_private {
        let title = format!("{} is this machine or the farm's own network", parts.host);
        faults.refuse(&url.at, title, "if that is meant, say so: allow-private = true");
    }
    let path = parts.path.to_lowercase();
    if PASSWORDS.iter().any(|word| path.contains(word)) {
        let help = "the settings are kept and shown; write user and password-file if the camera takes them";
        faults.warn(&url.at, "there is a password in this address", help);
    }
    Some(parts.scheme == "https")
}

/// The one topic on which this camera's pictures come.
fn still_topic(table: &Table<'_>, id: Option<&Placed<String>>) -> Option<Placed<String>> {
    let written = table.text("still-topic")?;
    let refuse = |why: &str| {
        let title = format!("{} does not name one topic: {why}", written.is);
        table.faults().refuse(&written.at, title, TOPIC);
    };
    if let Some(why) = topic::wrong(&written.is) {
        refuse(&why);
        return None;
    }
    if topic::names(&written.is).iter().any(|name| *name != "device") {
        refuse("only {device} is known here");
        return None;
    }
    let id = id?;
    if topic::names(&written.is).contains(&"device") && id.is.contains(['+', '#']) {
        refuse("no topic can have the camera's id in it");
        return None;
    }
    let one = written.is.replace("{device}", &id.is);
    if one.split('/').any(|level| level == "+" || level == "#") {
        refuse("+ and # stand for many");
        return None;
    }
    Some(Placed { is: one, at: written.at })
}

/// The line to the broker lets nothing larger in.
fn check_size(table: &Table<'_>, largest: u64) {
    if let Some(value) = table.value("largest").filter(|_| largest > LARGEST) {
        let title = "a broker's message is not let in if it is larger than 2 MiB";
        value.refuse(title, format!("write largest = {LARGEST} or less, or take it out"));
    }
}

/// What can be said only when all is read.
pub(super) fn check(cameras: &[Written], config: &Config, faults: &Faults) {
    for (n, one) in cameras.iter().enumerate() {
        let others = &cameras[..n];
        if others.iter().any(|other| other.camera.id == one.camera.id) {
            let title = format!("there are two cameras called {}", one.camera.id);
            faults.refuse(&one.at, title, "give each its own id");
        } else if let (Some(at), Some(other)) =
            (&one.topic, others.iter().find(|other| other.camera.still == one.camera.still))
        {
            let title = format!("{} and {} have one topic", other.camera.id, one.camera.id);
            faults.refuse(at, title, "nobody could tell their pictures apart; give each its own");
        }
        if let (Still::Topic(topic), Some(at)) = (&one.camera.still, &one.topic) {
            is_nobody_elses(topic, at, config, faults);
        }
    }
    // Of settings that are refused anyhow, nothing more can be said that would not be a guess.
    if faults.refused() {
        return;
    }
    let sends_mail = config.lines.iter().any(|line| matches!(line.way, Way::Smtp(_)));
    for one in cameras {
        let worn = config.devices.iter().any(|on| one.camera.is_meant_by(on.id.as_str()));
        if !worn {
            let title = format!("no [[device]] says whom {} watches", one.camera.id);
            let help = format!("add [[device]] with id = \"{}\" and on = \"…\"", one.camera.id);
            faults.warn(&one.at, title, help);
        } else if !sends_mail {
            let title = format!("nobody will get a picture from {}", one.camera.id);
            faults.warn(&one.at, title, "pictures go by mail; add a [[line]] of the kind smtp");
        }
    }
}

/// A picture that a sensor's filter or the answers' meant too would go into the journal.
fn is_nobody_elses(topic: &str, at: &Place, config: &Config, faults: &Faults) {
    let sensors = config.sensors.iter().map(|sensor| sensor.topic.as_str());
    for filter in sensors.chain(config.broker.answers.as_deref()) {
        if topic::means(filter, topic) {
            let title = format!("pictures on {topic} would be read by {filter} too");
            let help = "publish them on a topic that no sensor and no answer has";
            faults.refuse(at, title, help);
        }
    }
}
