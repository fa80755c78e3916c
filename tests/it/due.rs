//! Due dates and windows against printed tables, breed figures, and the records of a hundred dairy herds.
//!
//! The records are read where they lie, by `LOWBELL_DATA` or beside the repository, and never copied.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::ToSpan as _;
use jiff::civil::{Date, date};
use lowbell::config::animals::{AnimalRow, Parity, Service};
use lowbell::config::species::Species;
use lowbell::config::{Config, NamedText, SettingsText, parse};
use lowbell::herd::past::{Own, Past};
use lowbell::herd::window::{Phase, Window, between};
use lowbell::talk::due::DueView;

use crate::storyteller::{self, Teller};

fn config(extra: &str, past: Option<&str>) -> Config {
    let least = include_str!("../configs/least.toml");
    let named = past.map_or("", |_| "history = \"last.csv\"");
    let text = format!("{}\n{extra}", least.replace("herd = \"herd.csv\"", named));
    let file = |name: &str, text: &str| NamedText { name: name.to_owned(), text: text.to_owned() };
    let mut files = vec![file("farm.toml", &text)];
    files.extend(past.map(|text| file("last.csv", text)));
    let parsed = parse(&SettingsText { files });
    let faults: Vec<String> = parsed.faults.iter().map(|fault| fault.title.clone()).collect();
    parsed.config.unwrap_or_else(|| panic!("{faults:?}"))
}

fn cattle() -> Species {
    config("", None).species
}

fn served(day: Date) -> AnimalRow {
    AnimalRow { served: Some((day, day)), service: Some(Service::Ai), ..AnimalRow::default() }
}

fn window(row: &AnimalRow, species: &Species) -> Window {
    Window::of(row, species, &Own::default()).unwrap()
}

/// Sources: facts.md D-01 and D-02 (an extension service's worked examples, the second back from the calving),
/// D-15 (calendar arithmetic over 29 February).
#[test]
fn a_dam_is_due_on_day_283_also_over_a_leap_day() {
    let cattle = cattle();
    for (day, due) in [
        (date(1995, 2, 10), date(1995, 11, 20)),
        (date(1995, 5, 27), date(1996, 3, 5)),
        (date(2023, 5, 20), date(2024, 2, 27)),
        (date(2023, 5, 22), date(2024, 2, 29)),
        (date(2023, 5, 23), date(2024, 3, 1)),
        (date(2024, 2, 28), date(2024, 12, 7)),
        (date(2024, 2, 29), date(2024, 12, 8)),
        (date(2024, 3, 1), date(2024, 12, 9)),
        (date(2024, 1, 1), date(2024, 10, 10)),
        (date(2023, 1, 1), date(2023, 10, 11)),
    ] {
        let window = window(&served(day), &cattle);
        assert_eq!(window.expected, due, "{day}");
        assert_eq!(window.day(due), Some((283, 283)), "the page says day 283");
    }
}

/// Sources: facts.md D-03 to D-05, D-16 (the same service: age, interval and day of the year; one more where
/// 29 February lies within) and D-12 (where it counts the season's first day twice).
#[test]
fn days_between_two_dates_are_counted_as_the_calendar_has_them() {
    assert_eq!(between(date(1995, 11, 15), date(1996, 7, 1)), 229);
    assert_eq!(between(date(1995, 1, 25), date(1996, 3, 5)), 405);
    let firsts = [1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335];
    for (month, day) in (1..).zip(firsts) {
        assert_eq!(between(date(1995, 1, 1), date(1995, month, 1)) + 1, day);
    }
    // The 21st and 42nd day of a season that begins on 10 May; the print has 31 May and 21 June.
    let season = date(2015, 5, 10);
    assert_eq!(season.checked_add(20.days()).unwrap(), date(2015, 5, 30));
    assert_eq!(season.checked_add(41.days()).unwrap(), date(2015, 6, 20));
}

/// Sources: facts.md D-06 to D-11, D-13 and D-14: printed rows that are wrong by their own words. Ours must
/// differ, and be right.
#[test]
fn no_printed_error_comes_out() {
    let cattle = cattle();
    let due = |day: Date| window(&served(day), &cattle).expected;
    // Headed "283 days", counted as 282 (D-06 to D-09); years without 29 February between.
    for (day, printed) in [
        (date(2023, 1, 1), date(2023, 10, 10)),
        (date(2023, 1, 5), date(2023, 10, 14)),
        (date(2023, 1, 10), date(2023, 10, 19)),
        (date(2023, 1, 15), date(2023, 10, 24)),
        (date(2023, 1, 20), date(2023, 10, 29)),
        (date(2023, 1, 25), date(2023, 11, 3)),
        (date(2023, 2, 1), date(2023, 11, 10)),
        (date(2023, 2, 5), date(2023, 11, 14)),
        (date(2023, 2, 10), date(2023, 11, 19)),
        (date(2023, 2, 15), date(2023, 11, 24)),
        (date(2023, 2, 20), date(2023, 11, 29)),
        (date(2022, 7, 1), date(2023, 4, 9)),
        (date(2022, 7, 5), date(2023, 4, 13)),
        (date(2022, 7, 10), date(2023, 4, 18)),
        (date(2022, 7, 15), date(2023, 4, 23)),
        (date(2022, 7, 20), date(2023, 4, 28)),
        (date(2022, 7, 25), date(2023, 5, 3)),
        // D-10: "a table that uses 283 days".
        (date(2014, 8, 1), date(2015, 5, 10)),
    ] {
        assert_eq!(between(day, printed), 282, "the row is as the source prints it");
        assert_eq!(between(printed, due(day)), 1, "{day}");
    }
    // D-09: over a leap day the same print happens to be right.
    assert_eq!(due(date(2023, 7, 1)), date(2024, 4, 9));
    // D-11: 12 May for bulls out on 1 August, in a year with a leap day and in one without.
    assert_eq!(due(date(2015, 8, 1)), date(2016, 5, 10));
    assert_eq!(due(date(2016, 8, 1)), date(2017, 5, 11));
    // D-13: 24 March by a rule of thumb for 18 June; D-14: "around 20 October" for 1 January.
    assert_eq!(due(date(2022, 6, 18)), date(2023, 3, 28));
    assert_eq!(
        (due(date(2023, 1, 1)), due(date(2024, 1, 1))),
        (date(2023, 10, 11), date(2024, 10, 10))
    );
}

/// Sources: facts.md G-05 to G-17 (US dairy records 2009, studies, extension services), rounded to whole days;
/// G-04 (an extension service: a breed's mean and 12 days either side).
#[test]
fn a_known_breed_is_due_on_its_own_day_and_within_twelve_days_of_it() {
    let cattle = cattle();
    let day = date(2026, 2, 14);
    for (breed, heifer, cow) in [
        ("HOL", 278, 279),
        ("Jersey", 278, 280),
        ("Milking Shorthorn", 279, 281),
        ("Ayrshire", 282, 282),
        ("Guernsey", 285, 286),
        ("Brown Swiss", 287, 288),
        ("Angus", 282, 282),
        ("Hereford", 286, 286),
        ("Shorthorn", 284, 284),
        ("Charolais", 289, 289),
        ("Limousin", 289, 289),
        ("Simmental", 282, 284),
        ("Brahman", 292, 292),
        ("Salers", 280, 280),
    ] {
        for (parity, days) in [(Parity::Heifer, heifer), (Parity::Cow, cow)] {
            let row = AnimalRow { breed: breed.to_owned(), parity, ..served(day) };
            let window = window(&row, &cattle);
            assert_eq!(between(day, window.expected), days, "{breed}");
            let (before, after) =
                (between(window.from, window.expected), between(window.expected, window.until));
            assert!((10..=12).contains(&before) && (10..=12).contains(&after), "{breed}");
        }
    }
}

/// Source: facts.md G-26 (2,824 single Holstein gestations, 1932: 262 to 296 days; 1.7 % under 270, 2.7 % from
/// 290 on): what lies outside a window of nineteen in twenty is rare there too.
#[test]
fn what_lies_outside_a_holsteins_window_is_as_rare_as_a_herd_book_has_it() {
    let row = AnimalRow { breed: "Holstein".to_owned(), ..served(date(2026, 2, 14)) };
    let window = window(&row, &cattle());
    let first = window.day(window.from).unwrap().0;
    let last = window.day(window.until).unwrap().0;
    assert!((262..=270).contains(&first) && (289..=296).contains(&last), "{first} to {last}");
}

fn data() -> Option<PathBuf> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/data");
    let data = std::env::var_os("LOWBELL_DATA").map_or(beside, PathBuf::from);
    if data.join("dairy-herd-records").exists() {
        return Some(data);
    }
    say("no open data here: set LOWBELL_DATA; skipped");
    None
}

/// A line for whoever runs the tests.
fn say(line: &str) {
    let _ = std::io::Write::write_all(&mut std::io::stderr(), format!("{line}\n").as_bytes());
}

/// The text of a gzip file of one member (RFC 1952: ten bytes, perhaps a name that ends in 0; behind the
/// text its checksum and length).
fn gunzip(path: &Path) -> String {
    let bytes = fs::read(path).unwrap();
    assert_eq!(bytes[..3], [0x1f, 0x8b, 8]);
    assert_eq!(bytes[3] & !8, 0, "no other field is there");
    let name = if bytes[3] & 8 == 0 {
        0
    } else {
        bytes[10..].iter().position(|byte| *byte == 0).unwrap() + 1
    };
    let packed = &bytes[10 + name..bytes.len() - 8];
    String::from_utf8(miniz_oxide::inflate::decompress_to_vec(packed).unwrap()).unwrap()
}

/// One calving of the records: by the last insemination 200 to 400 days before and after the calving before.
struct Calving {
    herd: String,
    row: AnimalRow,
    days: i64,
}

fn lines(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines().skip(1).map(|line| line.split(',').collect())
}

/// Source of the rule and of the aggregates below: DairyHerdData 1.0 (Madouasse, Oniris Nantes), 25,920 calvings
/// with an insemination, 24,252 of them after 260 to 300 days.
fn calvings(data: &Path) -> Vec<Calving> {
    let folder = data.join("dairy-herd-records");
    let (served, born) =
        (gunzip(&folder.join("ai.csv.gz")), gunzip(&folder.join("calvings.csv.gz")));
    let animals = fs::read_to_string(folder.join("anim.csv")).unwrap();
    let breeds: BTreeMap<&str, &str> = lines(&animals).map(|cells| (cells[0], cells[5])).collect();
    let mut inseminations: BTreeMap<&str, Vec<(Date, &str)>> = BTreeMap::new();
    for cells in lines(&served) {
        let Ok(day) = cells[2].parse() else { continue };
        inseminations.entry(cells[1]).or_default().push((day, cells[3]));
    }
    inseminations.values_mut().for_each(|all| all.sort_unstable());
    let mut dams: BTreeMap<&str, BTreeMap<Date, (&str, &str)>> = BTreeMap::new();
    for cells in lines(&born) {
        let day = cells[3].parse().unwrap();
        dams.entry(cells[1]).or_default().insert(day, (cells[0], cells[2]));
    }
    let mut found = Vec::new();
    for (dam, calved) in &dams {
        let mut before = None;
        for (day, (herd, parity)) in calved {
            let all = inseminations.get(dam).map_or(&[][..], Vec::as_slice);
            let of_this = all.iter().rev().find(|(served, _)| {
                (200..=400).contains(&between(*served, *day))
                    && before.is_none_or(|last| *served > last)
            });
            before = Some(*day);
            let Some((service, sire)) = of_this else { continue };
            let parity = if *parity == "1" { Parity::Heifer } else { Parity::Cow };
            let breed = breeds.get(dam).copied().unwrap_or_default().to_owned();
            let row =
                AnimalRow { breed, parity, sire: (*sire).to_owned(), ..self::served(*service) };
            found.push(Calving { herd: (*herd).to_owned(), row, days: between(*service, *day) });
        }
    }
    found
}

/// Shares of a thousand.
fn share(n: usize, of: usize) -> f64 {
    n as f64 * 1000.0 / of as f64
}

/// Source: DairyHerdData 1.0, as above: 65.5, 91.4 and 97.4 % within 5, 10 and 14 days of insemination + 283.
#[test]
fn a_farms_own_seasons_beat_283_days_on_herds_that_they_were_not_taken_from() {
    let Some(data) = data() else { return };
    let all = calvings(&data);
    assert_eq!(all.len(), 25_920);
    let known: Vec<&Calving> = all.iter().filter(|one| (260..=300).contains(&one.days)).collect();
    assert_eq!(known.len(), 24_252);
    for (within, permille) in [(5, 655), (10, 914), (14, 974)] {
        let near = known.iter().filter(|one| (one.days - 283).abs() <= within).count();
        assert_eq!(share(near, known.len()).round() as i64, permille);
    }
    // Every other herd teaches, the rest are scored.
    let mut herds: Vec<&str> = known.iter().map(|one| one.herd.as_str()).collect();
    herds.sort_unstable();
    herds.dedup();
    let teaches =
        |one: &Calving| herds.binary_search(&one.herd.as_str()).unwrap().is_multiple_of(2);
    let past: Vec<Past> = all
        .iter()
        .filter(|one| teaches(one))
        .map(|one| Past {
            breed: one.row.breed.clone(),
            heifer: one.row.parity == Parity::Heifer,
            days: one.days,
            sire: one.row.sire.clone(),
        })
        .collect();
    let (cattle, own) = (cattle(), Own::of(&past));
    let scored: Vec<&&Calving> = known.iter().filter(|one| !teaches(one)).collect();
    let [rule, ours] = [&Own::default(), &own].map(|own| Score::of(&scored, &cattle, own));
    say(&format!("{} calvings scored; 283 days: {rule:?}; own past: {ours:?}", scored.len()));
    for (mine, theirs) in ours.within.iter().zip(rule.within) {
        assert!(*mine > theirs + 5.0, "{ours:?} against {rule:?}");
    }
    assert!(ours.error + 0.4 < rule.error, "{ours:?} against {rule:?}");
    assert!((790.0..880.0).contains(&ours.four_in_five), "{ours:?}");
    assert!((940.0..980.0).contains(&ours.nineteen_in_twenty), "{ours:?}");
    assert!(ours.width95 <= 25.0 && ours.width80 <= 17.0, "{ours:?}");
    assert!(rule.nineteen_in_twenty < ours.nineteen_in_twenty);
}

/// How windows did: in thousandths of the calvings, and in days.
#[derive(Debug)]
struct Score {
    within: [f64; 3],
    /// How far the expected day was out, on average.
    error: f64,
    four_in_five: f64,
    width80: f64,
    nineteen_in_twenty: f64,
    width95: f64,
}

impl Score {
    fn of(scored: &[&&Calving], species: &Species, own: &Own) -> Self {
        let n = scored.len();
        let (mut within, mut error, mut likely, mut inside) = ([0_usize; 3], 0, 0, 0);
        let (mut width80, mut width95) = (0, 0);
        for one in scored {
            let window = Window::of(&one.row, species, own).unwrap();
            let day = |day| window.day(day).unwrap().0;
            let out = (one.days - day(window.expected)).abs();
            for (count, most) in within.iter_mut().zip([5, 10, 14]) {
                *count += usize::from(out <= most);
            }
            error += out;
            let (first, last) = window.likely;
            likely += usize::from((day(first)..=day(last)).contains(&one.days));
            inside += usize::from((day(window.from)..=day(window.until)).contains(&one.days));
            width80 += between(first, last) + 1;
            width95 += between(window.from, window.until) + 1;
        }
        let mean = |sum: i64| sum as f64 / n as f64;
        Self {
            within: within.map(|count| share(count, n)),
            error: mean(error),
            four_in_five: share(likely, n),
            width80: mean(width80),
            nineteen_in_twenty: share(inside, n),
            width95: mean(width95),
        }
    }
}

/// Source: a dairy farm's reproduction list (rpdtls, 2023): 134 rows whose due day is the last insemination +
/// 280. A farm that counts so writes mean = 280; with 283 every one is three days later.
#[test]
fn a_farm_that_counts_280_days_gets_its_own_list() {
    let Some(data) = data() else { return };
    let theirs = config("[gestation]\nmean = 280\n", None).species;
    let ours = cattle();
    let mut rows = 0;
    for name in ["20230212Cow01.csv", "20230212Heifer01.csv"] {
        let text = fs::read_to_string(data.join("due-date-list").join(name)).unwrap();
        let mut lines = text.trim_start_matches('\u{feff}').lines();
        let head: Vec<&str> = lines.next().unwrap().split(',').collect();
        let column = |name: &str| head.iter().position(|cell| *cell == name).unwrap();
        let (served_at, due_at) = (column("lastAI_date"), column("expDateofnextCalving"));
        for line in lines {
            let cells: Vec<&str> = line.split(',').collect();
            let Some(due) = day_of(cells[due_at]) else { continue };
            let row = served(day_of(cells[served_at]).unwrap());
            assert_eq!(window(&row, &theirs).expected, due, "{line}");
            assert_eq!(between(due, window(&row, &ours).expected), 3, "{line}");
            rows += 1;
        }
    }
    assert_eq!(rows, 134);
}

fn day_of(text: &str) -> Option<Date> {
    let mut parts = text.split('/');
    let year = parts.next()?.parse().ok()?;
    Date::new(year, parts.next()?.parse().ok()?, parts.next()?.parse().ok()?).ok()
}

#[test]
fn a_farms_past_calvings_replace_the_figure_of_its_breed() {
    let mut past = String::from("animal,calved,gestation days,breed,first calf,sire\n");
    for day in 1..=20 {
        past.push_str(&format!("{day},2025-10-{:02},284,AA,no,AX12\n", day + 11));
    }
    let config = config("", Some(&past));
    assert_eq!(config.past.len(), 20);
    let days = config.past[0].days;
    assert_eq!(days, 284);
    let own = Own::of(&config.past);
    let row = AnimalRow { breed: "AA".to_owned(), ..served(date(2026, 2, 14)) };
    let window = Window::of(&row, &config.species, &own).unwrap();
    // Twenty of the farm's and twenty of the breed's: the mean of the two.
    assert_eq!(window.carried.days.0, (days * 1000 + 281_700) / 2);
    assert!(
        window.carried.yours && window.source().ends_with("Angus cow, yours"),
        "{}",
        window.source()
    );
    let heifer = AnimalRow { parity: Parity::Heifer, ..row };
    assert!(!Window::of(&heifer, &config.species, &own).unwrap().carried.yours);
}

#[test]
fn the_list_says_day_window_and_what_stands_out_of_each() {
    let extra = "herd: animal,name,calvings,group,served,service,due,breed,scanned,temper,notes,born\n\
                 herd: 114,Bramble,0,home field,2026-02-14,ai,,AA,2,2,,2024-02-11\n\
                 herd: 207,Hazel,4,home field,2026-02-01/2026-03-15,bull,,,,5,turned on Tom,\n\
                 herd: 031,Clover,2,river field,,,2026-11-11,,,,,\n\
                 herd: 040,Sorrel,2,river field,,,2027-03-01,,,,,\n\
                 herd: 041,Vetch,2,river field,,,,,,,,\n";
    let told =
        Teller::of(storyteller::settings(extra)).tell("12:05  Tom says 207 slack\nuntil 12:30\n");
    let due: Vec<DueView> = told.watch.view().unwrap().due;
    let order: Vec<&str> = due.iter().map(|row| row.animal.as_str()).collect();
    assert_eq!(order, ["031", "114", "207", "040"], "overdue, by weight, by weight, to come");
    let (clover, bramble, hazel) = (&due[0], &due[1], &due[2]);
    assert_eq!((clover.phase, clover.left), (Phase::Overdue, -13));
    assert_eq!(bramble.day, Some((283, 283)));
    assert_eq!(bramble.risks, ["twins", "heifer", "33 months at calving"]);
    assert_eq!(bramble.source, "AI 2026-02-14 + 274.9, Angus heifer, twins");
    assert_eq!(hazel.day, Some((254, 296)));
    assert_eq!(hazel.risks, ["slack ligaments", "turned on Tom", "temper 5"]);
    assert_eq!(hazel.source, "bull 2026-02-01 to 2026-03-15 + 283, cattle");
}

/// Sources: facts.md, E-09 and Z-10 to Z-15 (health authorities and papers): gloves, pregnant women,
/// the vet, notifiable disease.
#[test]
fn whoever_tells_of_a_calf_lost_before_term_and_whoever_is_called_read_what_to_keep_away_from() {
    let extra = "herd: animal,name,calvings,served,service\nherd: 114,Bramble,0,2026-03-20,ai\n\
                 herd: 207,Hazel,4,,\nherd: 031,Clover,2,,\n";
    let story = "14:10  Rosa says 114 calf 1405\n14:20  Rosa says 207 calf 1415\nuntil 14:22\n";
    let told = Teller::of(storyteller::settings(extra)).tell(story);
    let texts: Vec<&str> = told.sent.iter().map(|sent| sent.text.as_str()).collect();
    let cautions = ["Gloves", "Pregnant women", "Call the vet", "must be reported", "see a doctor"];
    let full = |text: &&&str| cautions.iter().all(|words| text.contains(words));
    let about = |head: &str| texts.iter().filter(|text| text.starts_with(head)).collect::<Vec<_>>();
    let (answer, call) = (about("Noted: 114 calf"), about("114: lost before term day 249"));
    assert!(answer.len() == 1 && answer.iter().all(full), "{texts:#?}");
    assert!(!call.is_empty() && call.iter().all(full), "{texts:#?}");
    assert!(texts.iter().all(|text| !text.contains("207")), "nobody knows that 207 is early");
}

#[test]
fn lowbell_due_answers_without_a_watch_and_as_of_another_day() {
    let folder = tempfile::tempdir().unwrap();
    let farm = folder.path().join("farm.toml");
    fs::write(&farm, include_str!("../configs/least.toml")).unwrap();
    let herd = "animal,name,calvings,group,served,service,breed,due\n\
                114,Bramble,0,home field,2026-02-14,ai,AA,\n\
                031,Clover,2,river field,,,,2026-11-11\n\
                041,Vetch,2,river field,,,,\n";
    fs::write(folder.path().join("herd.csv"), herd).unwrap();
    let due = |words: &[&str]| {
        let command = std::process::Command::new(env!("CARGO_BIN_EXE_lowbell"))
            .arg("due")
            .arg(&farm)
            .args(words)
            .output()
            .unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (command.status.code(), text(command.stdout), text(command.stderr))
    };
    let (ended, out, err) = due(&["--on", "2026-11-24"]);
    assert_eq!(ended, Some(0), "{err}");
    assert!(err.contains("by the herd file alone"), "{err}");
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!(lines[0], "Due on 2026-11-24: 1 dam in the window, 1 overdue and 1 without a date.");
    assert!(
        lines[2].starts_with("!  031 Clover ") && lines[2].contains("overdue by 2 days"),
        "{out}"
    );
    assert!(lines[2].ends_with("due 2026-11-11, as written"), "{out}");
    assert!(lines[3].contains("day 283  2026-11-23  2026-11-12 to 2026-12-03  heifer"), "{out}");
    assert!(lines[3].ends_with("AI 2026-02-14 + 281.7, Angus heifer"), "{out}");
    let (_, out, _) = due(&["--on", "2026-12-30"]);
    assert!(out.contains("2 so long past that the date must be wrong"), "{out}");
    let (ended, out, _) = due(&["--json", "--on", "2026-11-24"]);
    let list: Vec<DueView> = serde_json::from_str(&out).unwrap();
    assert_eq!((ended, list.len(), list[1].day), (Some(0), 2, Some((283, 283))));
}
