//! What the rules of each species take from the facts file, figure by figure: rows O-01 to O-09.
//!
//! The figures are those of the publishers named beside them; where a rule has none of its own species, its
//! source says so, and nothing is pinned.

use lowbell::config::rules::{Condition, Hours, Limit, Rule};
use lowbell::config::shipped::{self, WATCH_RULES};
use lowbell::config::species_terms::Terms;
use lowbell::plain::moment::Span;

use super::configs::rules_of;

/// Species, rule, the limit of a dam and of one that bears for the first time in minutes, and the row it is from.
const FIGURES: [(&str, &str, i64, i64, &str); 26] = [
    // O-01, the ewe: two online reference pages and extension pages; retained: a layman's page.
    ("sheep", "first stage stalled", 360, 360, "O-01"),
    ("sheep", "second stage too long", 60, 60, "O-01"),
    ("sheep", "no further lamb", 60, 60, "O-01"),
    ("sheep", "placenta not passed", 720, 720, "O-01"),
    // O-02, the doe: an extension community's page, a breeder's page and a handbook of dairy goats.
    ("goat", "first stage stalled", 240, 720, "O-02"),
    ("goat", "second stage too long", 60, 60, "O-02"),
    ("goat", "second stage far too long", 120, 120, "O-02"),
    ("goat", "placenta not passed", 720, 720, "O-02"),
    // O-03, the mare: pages of three veterinary practices. O-04, the foal: one of them.
    ("horse", "first stage stalled", 240, 240, "O-03"),
    ("horse", "foal not out", 20, 20, "O-03"),
    ("horse", "foal still not out", 30, 30, "O-04"),
    ("horse", "foal not up", 60, 60, "O-03"),
    ("horse", "foal not sucked", 120, 120, "O-03"),
    ("horse", "placenta not passed", 180, 180, "O-03"),
    // O-05, the sow: a veterinary advisory page, two reference pages, and a review of 2022. O-06: that review.
    ("pig", "first stage stalled", 1_440, 1_440, "O-05"),
    ("pig", "no further piglet", 45, 45, "O-06"),
    ("pig", "farrowing long", 300, 300, "O-05"),
    ("pig", "placenta not passed", 240, 240, "O-05"),
    // O-07 and O-08, the alpaca: breeders' pages and a vet's paper for breeders.
    ("alpaca", "first stage stalled", 120, 120, "O-07"),
    ("alpaca", "second stage too long", 30, 30, "O-07"),
    ("alpaca", "second stage far too long", 45, 45, "O-07"),
    ("alpaca", "cria not up", 180, 180, "O-07"),
    ("alpaca", "cria not sucked", 240, 240, "O-07"),
    ("alpaca", "placenta not passed", 360, 360, "O-07"),
    // O-09, the buffalo: a review and textbook pages.
    ("buffalo", "placenta not passed", 720, 720, "O-09"),
    ("buffalo", "placenta retained", 1_440, 1_440, "O-09"),
];

/// Rules whose source names a row but whose limit is not a figure of it: what they take is checked below, or
/// they say that the figure is common practice.
const NOT_BY_LIMIT: [(&str, &str); 4] = [
    ("goat", "no further kid"),
    ("pig", "first piglet not come"),
    ("pig", "litter not sucking"),
    ("alpaca", "late start"),
];

fn named<'r>(rules: &'r [Rule], name: &str) -> &'r Rule {
    rules.iter().find(|rule| rule.name.as_str() == name).expect(name)
}

fn limit(rule: &Rule) -> Limit {
    let Condition::Clock { limit, .. } = &rule.condition else {
        panic!("{} is no clock: {:?}", rule.name, rule.condition);
    };
    *limit
}

#[test]
fn every_figure_that_a_species_rules_take_from_the_facts_is_the_one_printed_there() {
    for (species, name, dam, maiden, row) in FIGURES {
        let rules = rules_of(species);
        let rule = named(&rules, name);
        let limit = limit(rule);
        let is = (limit.cow, limit.heifer);
        assert_eq!(
            is,
            (Some(Span::minutes(dam)), Some(Span::minutes(maiden))),
            "{species}: {name}"
        );
        assert!(rule.source.contains(row), "{species}: {name}: {}", rule.source);
    }
}

#[test]
fn no_rule_of_a_species_takes_a_figure_that_is_not_in_the_table() {
    // Cattle have a whole book of figures; their rules quote many of its chapters.
    for species in shipped::species().filter(|species| *species != "cattle") {
        for rule in rules_of(species) {
            let known = FIGURES.iter().any(|row| (row.0, row.1) == (species, rule.name.as_str()))
                || NOT_BY_LIMIT.contains(&(species, rule.name.as_str()));
            let source = &rule.source;
            assert_eq!(source.contains("O-0"), known, "{species}: {}: {source}", rule.name);
            let says = source.contains("O-0")
                || source.starts_with("common practice, no source")
                || ["S1-", "S2-", "S3-", "C-0", "I-1", "MQTT"].iter().any(|id| source.contains(id));
            assert!(says, "{species}: {}: {source}", rule.name);
        }
    }
}

/// Sources: facts.md O-08 (a breeder's page: a start late in the day means watch for a hard birth; nine in ten
/// are born in daylight) and O-07 (most births from 07:00 to 16:00, about 2 h of stage one, 30 to 45 min of
/// stage two). A start is late if the birth would fall outside those hours.
#[test]
fn an_alpaca_begins_late_if_the_cria_would_come_outside_the_hours_of_most_births() {
    let rules = rules_of("alpaca");
    let before = Span::hours(2) + Span::minutes(30);
    let clock = |minutes: i64| {
        let minutes = minutes - before.whole_seconds() / 60;
        jiff::civil::time((minutes / 60) as i8, (minutes % 60) as i8, 0, 0)
    };
    let late = Hours { from: clock(16 * 60), until: clock(7 * 60) };
    assert_eq!(named(&rules, "late start").began, Some(late));
    assert!(rules.iter().filter(|rule| rule.began.is_some()).count() == 1);
}

/// Source: facts.md O-05: afterbirth comes often during farrowing, so it must not stop the clock of the next
/// piglet; only somebody who says that all are born does.
#[test]
fn afterbirth_between_piglets_does_not_stop_the_clock_of_the_next() {
    let rules = rules_of("pig");
    for name in ["no further piglet", "farrowing long"] {
        let rule = named(&rules, name);
        let Condition::Clock { until, .. } = &rule.condition else { panic!("a clock") };
        assert_eq!(*until, ["all born"], "{name}");
        assert_eq!(rule.while_stages, ["third", "recovering"], "{name}");
    }
}

/// facts.md, section 16 and O-09: what is marked as a slip or is another species' figure does not come out as
/// one of this species: buffaloes' clocks of stage two say that they are those of cattle.
#[test]
fn a_figure_of_another_species_says_so() {
    for rule in rules_of("buffalo") {
        let of_cattle = ["S1-", "S2-", "C-0", "I-1"].iter().any(|id| rule.source.contains(id));
        assert!(!of_cattle || rule.source.contains("of cattle"), "{}: {}", rule.name, rule.source);
    }
}

/// The rules of the watch itself are the same for every species.
#[test]
fn every_species_hears_a_sensor_fall_silent_and_a_line_go_down() {
    let watch = shipped::shipped(WATCH_RULES).unwrap();
    let names: Vec<&str> = watch
        .lines()
        .filter_map(|line| line.strip_prefix("name = \"")?.strip_suffix('"'))
        .collect();
    assert_eq!(names.len(), 15);
    for species in shipped::species() {
        let rules = rules_of(species);
        names.iter().for_each(|name| assert!(named(&rules, name).tell.is_some(), "{species}"));
        assert!(rules.len() > names.len() + 5, "{species}");
    }
}

/// A message of a species speaks of its own animals: no rule of mares tells of a calf.
#[test]
fn what_people_read_is_in_the_words_of_their_animals() {
    for species in shipped::species() {
        let terms = Terms::of(species);
        let others =
            ["calf", "cow", "foal", "mare", "lamb", "ewe", "kid", "doe", "piglet", "sow", "cria"];
        for rule in rules_of(species) {
            let text = format!("{} {}", rule.name, rule.action.unwrap_or_default());
            for word in text.split(|c: char| !c.is_alphabetic()) {
                let own = [&terms.young, &terms.dam].into_iter().any(|own| own == word);
                assert!(own || !others.contains(&word), "{species}: {text}");
            }
        }
    }
}
