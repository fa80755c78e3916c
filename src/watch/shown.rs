//! What the broker keeps for others to see, as topics and payloads: each dam's stage, since when, her
//! open alerts, and how many alerts are open on the farm.
//!
//! For dashboards and home automation; nobody is called by it. It publishes nothing itself, and no
//! payload is ever empty: that would take the topic away.
//!
//! The announcing follows the Homie convention, version 4.0.0 (homieiot.github.io, "spec-core-v4_0_0":
//! ids of a-z, 0-9 and hyphen, `$state` and its last will "lost"; the list of attributes is written
//! from memory). Its `$extensions` would be an empty text, which MQTT cannot keep; it is left out.

use std::collections::{BTreeMap, BTreeSet};

use super::view::{Board, DamView};
use crate::config::farm::{Discovery, Voice};
use crate::herd::stage::Stage;
use crate::sensor::topic::one_level;

/// Payloads by topic.
pub type Shown = BTreeMap<String, String>;

/// Where what the convention wants begins, by the convention.
const HOMIE: &str = "homie";

/// How every topic begins under which something is shown.
pub fn roots(voice: &Voice) -> Vec<String> {
    let mut roots = vec![format!("{}/dam/", voice.publish), format!("{}/alerts/", voice.publish)];
    if voice.discovery == Some(Discovery::Homie) {
        roots.push(format!("{}/", homie_device(voice)));
    }
    roots
}

/// Where the convention wants to read whether we are there.
pub fn homie_state(voice: &Voice) -> String {
    format!("{}/$state", homie_device(voice))
}

/// All of it. Nothing, where the settings do not ask for it.
pub fn shown(board: &Board, voice: &Voice) -> Shown {
    let mut shown = Shown::new();
    if !voice.show {
        return shown;
    }
    let mut say = |topic: String, payload: String| {
        if !payload.is_empty() {
            shown.insert(topic, payload);
        }
    };
    let open = board.alerts.len().to_string();
    say(format!("{}/alerts/open", voice.publish), open.clone());
    for dam in &board.dams {
        let root = format!("{}/dam/{}", voice.publish, one_level(dam.animal.as_str()));
        for (name, value) in values(dam) {
            say(format!("{root}/{name}"), value);
        }
    }
    // Of dams in their windows alone: nobody watches the others.
    for dam in &board.watched {
        let animal = one_level(dam.animal.as_str());
        say(format!("{}/dam/{animal}/watched", voice.publish), dam.watched.to_string());
    }
    match voice.discovery {
        Some(Discovery::Homie) => homie(board, voice, open, say),
        None => {}
    }
    shown
}

fn values(dam: &DamView) -> [(&'static str, String); 3] {
    [
        ("stage", dam.stage.word().to_owned()),
        ("since", dam.since.map_or(String::new(), |since| since.rfc3339())),
        ("alerts", dam.alerts.to_string()),
    ]
}

fn homie(board: &Board, voice: &Voice, open: String, mut say: impl FnMut(String, String)) {
    let device = homie_device(voice);
    let mut nodes = BTreeSet::from(["farm".to_owned()]);
    say(format!("{device}/farm/$name"), board.farm.clone());
    say(format!("{device}/farm/$type"), "farm".to_owned());
    say(format!("{device}/farm/$properties"), "alerts".to_owned());
    property(&format!("{device}/farm/alerts"), "Open alerts", "integer", open, &mut say);
    let stages: Vec<&str> = Stage::ALL.into_iter().map(Stage::word).collect();
    for dam in &board.dams {
        let id = free_id(&format!("dam-{}", homie_id(dam.animal.as_str())), &nodes);
        let node = format!("{device}/{id}");
        nodes.insert(id);
        let called = if dam.name.is_empty() { String::new() } else { format!(" {}", dam.name) };
        say(format!("{node}/$name"), format!("{}{called}", dam.animal));
        say(format!("{node}/$type"), "dam".to_owned());
        let [(_, stage), (_, since), (_, alerts)] = values(dam);
        let has_since = !since.is_empty();
        property(&format!("{node}/stage"), "Stage", "enum", stage, &mut say);
        say(format!("{node}/stage/$format"), stages.join(","));
        if has_since {
            property(&format!("{node}/since"), "Since", "string", since, &mut say);
        }
        property(&format!("{node}/alerts"), "Open alerts", "integer", alerts, &mut say);
        let properties = if has_since { "stage,since,alerts" } else { "stage,alerts" };
        say(format!("{node}/$properties"), properties.to_owned());
    }
    say(format!("{device}/$homie"), "4.0.0".to_owned());
    say(format!("{device}/$name"), board.farm.clone());
    say(format!("{device}/$nodes"), nodes.into_iter().collect::<Vec<_>>().join(","));
}

fn property(
    topic: &str,
    name: &str,
    datatype: &str,
    value: String,
    say: &mut impl FnMut(String, String),
) {
    say(format!("{topic}/$name"), name.to_owned());
    say(format!("{topic}/$datatype"), datatype.to_owned());
    say(topic.to_owned(), value);
}

fn homie_device(voice: &Voice) -> String {
    format!("{HOMIE}/{}", homie_id(&voice.publish))
}

/// An id of the convention: lowercase letters, digits and hyphens, none of those at the ends.
fn homie_id(name: &str) -> String {
    let id: String = name
        .to_lowercase()
        .chars()
        .map(|c| if c.is_ascii_lowercase() || c.is_ascii_digit() { c } else { '-' })
        .collect();
    let id = id.trim_matches('-');
    if id.is_empty() { "x".to_owned() } else { id.to_owned() }
}

/// Two animals whose names differ only in what an id cannot hold are numbered.
fn free_id(id: &str, taken: &BTreeSet<String>) -> String {
    let mut free = id.to_owned();
    let mut number = 1_u32;
    while taken.contains(&free) {
        number += 1;
        free = format!("{id}-{number}");
    }
    free
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::ids::Animal;
    use crate::plain::moment::Moment;
    use crate::talk::watched::Watched;

    fn dam(animal: &str, stage: Stage, since: Option<&str>) -> DamView {
        DamView {
            animal: Animal::new(animal),
            name: String::new(),
            group: String::new(),
            stage,
            since: since.map(|text| Moment::from_rfc3339(text).unwrap()),
            alerts: 0,
            day: None,
            open: Vec::new(),
            clocks: Vec::new(),
            progress: None,
            code: String::new(),
        }
    }

    fn board() -> Board {
        let mut second = dam("114", Stage::Second, Some("2026-03-02T01:15:00Z"));
        second.alerts = 1;
        second.name = "Bläss".to_owned();
        Board {
            farm: "Hollow Bank".to_owned(),
            zone: "Europe/Dublin".to_owned(),
            now: Moment::from_rfc3339("2026-03-02T02:00:00Z").unwrap(),
            alerts: Vec::new(),
            dams: vec![second, dam("7/A", Stage::Carrying, None), dam("7+a", Stage::First, None)],
            on_duty: Vec::new(),
            backup: Vec::new(),
            lines: Vec::new(),
            devices: Vec::new(),
            fosters: crate::watch::afterwards::Fosters::default(),
            next: None,
            in_flight: 0,
            refusals: Vec::new(),
            due: Vec::new(),
            heard_from: Vec::new(),
            contacts: Vec::new(),
            drill: None,
            swaps: Vec::new(),
            away: Vec::new(),
            clock_trusted: true,
            down: None,
            unscored: Vec::new(),
            quiet: crate::watch::quiet::Quiet::default(),
            inside: Vec::new(),
            watched: vec![Watched {
                animal: Animal::new("114"),
                name: String::new(),
                group: String::new(),
                stage: Stage::Second,
                window: None,
                overdue: false,
                devices: Vec::new(),
                look: None,
                watched: false,
                unwatched_since: None,
                next_look: None,
            }],
        }
    }

    fn lines(shown: &Shown) -> Vec<String> {
        shown.iter().map(|(topic, payload)| format!("{topic} {payload}")).collect()
    }

    #[test]
    fn nothing_is_shown_unless_asked_for() {
        assert_eq!(shown(&board(), &Voice::usual()), Shown::new());
    }

    #[test]
    fn every_dam_has_her_stage_and_since_when() {
        let voice = Voice { show: true, ..Voice::usual() };
        let shown = shown(&board(), &voice);
        let expected = [
            "lowbell/alerts/open 0",
            "lowbell/dam/114/alerts 1",
            "lowbell/dam/114/since 2026-03-02T01:15:00Z",
            "lowbell/dam/114/stage second",
            "lowbell/dam/7%2BA/alerts 0",
            "lowbell/dam/7%2Ba/alerts 0",
        ];
        let lines = lines(&shown);
        assert_eq!(lines[..4], expected[..4]);
        assert!(lines.contains(&"lowbell/dam/7%2FA/stage carrying".to_owned()), "{lines:#?}");
        assert!(lines.contains(&expected[5].to_owned()), "{lines:#?}");
        assert!(!lines.iter().any(|line| line.starts_with("lowbell/dam/7%2FA/since")));
        let roots = roots(&voice);
        assert!(shown.keys().all(|topic| roots.iter().any(|root| topic.starts_with(root))));
    }

    /// Source: Homie convention 4.0.0 (homieiot.github.io, "spec-core-v4_0_0"), topic ids: lowercase
    /// letters, digits and the hyphen; the attributes from memory.
    #[test]
    fn what_is_announced_keeps_to_the_convention() {
        let voice = Voice { show: true, discovery: Some(Discovery::Homie), ..Voice::usual() };
        let shown = shown(&board(), &voice);
        let is_id = |level: &str| {
            let level = level.strip_prefix('$').unwrap_or(level);
            !level.is_empty()
                && level.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
        };
        let homie: Vec<&String> =
            shown.keys().filter(|topic| topic.starts_with("homie/")).collect();
        assert!(homie.iter().all(|topic| topic.split('/').all(is_id)), "{homie:#?}");
        assert_eq!(shown["homie/lowbell/$nodes"], "dam-114,dam-7-a,dam-7-a-2,farm");
        assert_eq!(shown["homie/lowbell/dam-114/stage"], "second");
        assert_eq!(shown["homie/lowbell/dam-114/$name"], "114 Bläss");
        assert_eq!(shown["homie/lowbell/dam-114/$properties"], "stage,since,alerts");
        assert_eq!(shown["homie/lowbell/dam-7-a/$properties"], "stage,alerts");
        assert_eq!(shown["homie/lowbell/dam-114/alerts"], "1");
        // Every property that a node names has its value and its type, and of an enum its format.
        for (topic, names) in shown.iter().filter(|(topic, _)| topic.ends_with("/$properties")) {
            let node = topic.trim_end_matches("/$properties");
            for name in names.split(',') {
                assert!(shown.contains_key(&format!("{node}/{name}")), "{node}/{name}");
                let datatype = &shown[&format!("{node}/{name}/$datatype")];
                let format = shown.get(&format!("{node}/{name}/$format"));
                assert_eq!(datatype == "enum", format.is_some(), "{node}/{name}");
            }
        }
        assert!(shown.values().all(|payload| !payload.is_empty()));
        assert_eq!(homie_state(&voice), "homie/lowbell/$state");
        assert_eq!(homie_id("Hollow/Bank!"), "hollow-bank");
        assert_eq!(homie_id("牛"), "x");
    }
}
