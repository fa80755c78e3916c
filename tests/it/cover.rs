//! Who or what watches whom, driven through the watch: gateways by topic and by their own heartbeat, windows
//! that open, looks that run out, cameras that see and cameras that only give pictures.

use lowbell::config::SettingsText;
use lowbell::plain::moment::Span;
use lowbell::talk::watched::Watched;

use super::storyteller::{Teller, settings};

/// Nothing is on anybody, so that only what a test says of itself watches a dam.
const BARE: &str = "12:01  Tom says c-114 off and k-114 off\n\
                    12:01  Tom says c-207 off and k-207 off\n\
                    12:01  Tom says t-31 off\n";

const UNWATCHED: &str = "[[rule]]\nname = 'left alone'\nunwatched = true\nlimit = '5m'\n\
                         tell = 'calving'\ndo = 'Look at each.'\n";

fn told(extra: &str, story: &str) -> Teller {
    Teller::new(extra).tell(story)
}

/// The alerts raised, each with its minute.
fn alerts(told: &Teller) -> Vec<&str> {
    let raised = |line: &&String| {
        let what = line.get(7..).unwrap_or_default();
        let mut words = what.split(' ');
        words.next() == Some("alert") && words.nth(1).is_some_and(|code| code.ends_with(':'))
    };
    told.lines.iter().filter(raised).map(String::as_str).collect()
}

fn row<'w>(watched: &'w [Watched], animal: &str) -> Option<&'w Watched> {
    watched.iter().find(|row| row.animal.as_str() == animal)
}

fn watched(told: &Teller) -> Vec<Watched> {
    told.watch.view_at(told.now).unwrap().watched
}

#[test]
fn a_gateway_known_by_its_topic_is_one_finding_when_all_it_carries_falls_silent() {
    let chain = "[[chain]]\nname = 'barn'\non = 'broker'\ntopic = 'yard/collar/#'\n";
    let story = format!(
        "{}12:10  dam 114 contractions 1\n12:11  dam 207 contractions 1\nuntil 12:40\n",
        "12:01  packet yard/tail/t-31/state {\"efforts\": 0}\n"
    );
    let told = told(chain, &story);
    let alerts = alerts(&told);
    assert_eq!(alerts.len(), 1, "{alerts:?}");
    assert!(alerts[0].starts_with("12:26  alert 1 "), "{alerts:?}");
    for word in ["barn", "114", "207"] {
        assert!(alerts[0].contains(word), "{alerts:?}");
    }
    // The tail sensor speaks on another topic: it is none of the gateway's.
    assert!(!alerts[0].contains("031"), "{alerts:?}");
}

#[test]
fn a_gateway_with_a_heartbeat_of_its_own_needs_no_other_to_be_missed_or_believed() {
    let chain = "[[sensor]]\nkind = 'beat'\ntopic = 'yard/beat/{device}'\n\
                 read = [{ sign = 'beat', at = '/up', as = 'flag' }]\n\
                 [[chain]]\nname = 'barn'\non = 'broker'\ndevices = ['k-*']\nspeaks = 'gw-1'\n";
    let once = told(chain, "12:10  packet yard/beat/gw-1 {\"up\": true}\nuntil 12:40\n");
    let found = alerts(&once);
    assert!(found.len() == 1 && found[0].starts_with("12:25  alert 1 "), "{found:?}");
    assert!(found[0].contains("barn"), "{found:?}");
    let never = told(chain, "until 12:40\n");
    assert!(alerts(&never)[0].starts_with("12:15  alert 1 "), "{:?}", alerts(&never));
    let beats = "12:05  dam 114 contractions 1\n12:05  dam 207 contractions 1\n\
                 12:10  6 times every 5m packet yard/beat/gw-1 {\"up\": true}\nuntil 12:45\n";
    let lives = told(chain, beats);
    assert_eq!(alerts(&lives), [""; 0], "the collars have nothing to say, the gateway has");
}

/// Her window opens eleven days before her day (the spread of `herd::window` where nobody says how she was served).
#[test]
fn a_dam_without_a_device_is_unwatched_once_her_window_opens_and_a_look_counts_for_a_while() {
    let mut settings: SettingsText = settings(UNWATCHED);
    for file in settings.files.iter_mut().filter(|file| file.name == "herd.csv") {
        file.text = "animal,name,calvings,group,due\n114,Bramble,0,home field,2026-12-06\n\
                     207,Hazel,4,home field,\n031,Clover,2,river field,2027-03-01\n"
            .to_owned();
    }
    let before = Teller::of(settings.clone()).tell(&format!("{BARE}until 23:59\n"));
    assert_eq!(alerts(&before), [""; 0], "nobody is in her window");
    assert!(watched(&before).is_empty());
    let opens = before.tell("until 00:10\n");
    let found = alerts(&opens);
    assert!(found.len() == 1 && found[0].starts_with("00:05  alert 1 "), "{found:?}");
    assert!(found[0].contains("114") && !found[0].contains("031"), "{found:?}");
    let alone = watched(&opens);
    let alone = row(&alone, "114").unwrap();
    assert_eq!((alone.watched, alone.next_look), (false, Some(opens.now)));
    assert_eq!(alone.unwatched_since, Some(opens.now - Span::minutes(10)));

    let looked = opens.tell("00:20  Tom says 114 seen\nuntil 03:15\n");
    assert_eq!(alerts(&looked).len(), 1, "{:?}", alerts(&looked));
    let seen = watched(&looked);
    let seen = row(&seen, "114").unwrap();
    assert_eq!((seen.watched, seen.next_look), (true, Some(looked.now + Span::minutes(5))));
    let over = looked.tell("until 03:30\n");
    let found = alerts(&over);
    assert!(found.len() == 2 && found[1].starts_with("03:25  alert 2 "), "{found:?}");
}

#[test]
fn a_device_of_a_kind_is_missed_though_it_was_never_heard() {
    let device = "[[device]]\nid = 't-9'\non = '031'\nkind = 'tail'\n";
    let told = told(device, "until 12:50\n");
    let found: Vec<&str> =
        alerts(&told).into_iter().filter(|line| line.contains("device")).collect();
    assert_eq!(found.len(), 1, "nobody has said what t-31 is: {found:?}");
    assert!(found[0].starts_with("12:45  alert ") && found[0].contains("t-9"), "{found:?}");
}

const CAMERAS: &str = "[[sensor]]\nkind = 'look'\ntopic = 'yard/look/{device}'\neach = '/d'\n\
    read = [{ sign = 'lying', label = ['down'], as = 'seen' }]\n\
    seen = { label = '/l', score = '/s', box = '/b', box-form = 'xywh', in = 'share' }\n\
    regions = { left = [0.0, 0.0, 0.5, 1.0], right = [0.5, 0.0, 1.0, 1.0] }\n\
    [[device]]\nid = 'barn/left'\non = '114'\n[[device]]\nid = 'barn/right'\non = '207'\n\
    [[camera]]\nid = 'barn'\nstill-topic = 'yard/pictures/{device}'\n\
    [[camera]]\nid = 'gate'\nstill-topic = 'yard/pictures/{device}'\n\
    [[rule]]\nname = 'any silent'\nsilent = 'any'\nlimit = '45m'\ntell = 'calving'\ndo = 'Look.'\n";

#[test]
fn every_region_of_a_camera_watches_its_dam_while_the_camera_is_heard() {
    let extra =
        format!("{CAMERAS}[[device]]\nid = 'gate'\non = '031'\nkind = 'pictures'\n{UNWATCHED}");
    let story = format!(
        "{BARE}12:02  5 times every 10m packet yard/look/barn {{\"d\": []}}\nuntil 13:20\n"
    );
    let sees = told(&extra, &story);
    assert_eq!(alerts(&sees), [""; 0]);
    let rows = watched(&sees);
    for (animal, region) in [("114", "barn/left"), ("207", "barn/right")] {
        let row = row(&rows, animal).unwrap();
        assert!(row.watched && row.next_look.is_none(), "{row:?}");
        let devices: Vec<(&str, bool)> =
            row.devices.iter().map(|on| (on.device.as_str(), on.alive)).collect();
        assert_eq!(devices, [(region, true)]);
    }
    assert_eq!(row(&rows, "031"), None, "a camera that gives pictures opens no window");
    // Last heard at 12:42.
    let blind = sees.tell("until 13:40\n");
    let found = alerts(&blind);
    let devices: Vec<&&str> = found.iter().filter(|line| line.contains("device")).collect();
    assert_eq!(devices.len(), 2, "and never the one at the gate: {found:?}");
    assert!(devices.iter().all(|line| line.starts_with("13:27  ")), "{found:?}");
    assert!(watched(&blind).iter().all(|row| !row.watched));
    // In first stage she is in her window, and pictures watch nobody.
    let first = blind.tell("13:41  Tom says 031 restless\nuntil 14:50\n");
    let rows = watched(&first);
    let clover = row(&rows, "031").unwrap();
    assert!(!clover.watched && clover.devices[0].only_pictures, "{clover:?}");
}

#[test]
fn a_camera_that_some_kind_of_sensor_could_hear_is_missed_unless_the_settings_say_otherwise() {
    let gate = "[[device]]\nid = 'gate'\non = '031'\n";
    let story = format!("{BARE}12:02  10 times every 10m packet yard/look/barn {{\"d\": []}}\n");
    let silent = told(&format!("{CAMERAS}{gate}"), &story);
    let found = alerts(&silent);
    assert!(found.len() == 1 && found[0].starts_with("12:45  "), "{found:?}");
    assert!(found[0].contains("device gate"), "{found:?}");
    let said = told(&format!("{CAMERAS}{gate}kind = 'pictures'\n"), &story);
    assert_eq!(alerts(&said), [""; 0]);
}
