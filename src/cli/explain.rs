//! `lowbell explain`: what the rules wait for, where their limits are from and who says otherwise; and which
//! clocks run for a dam, when each runs out and what would stop it.

use super::{End, FarmOption, board, load};
use crate::config::Config;
use crate::config::disagreements::disagreements;
use crate::config::suggest;
use crate::plain::english;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;
use crate::talk::explain;
use crate::watch::view::{ClockView, DamView};

#[derive(clap::Args)]
pub struct Args {
    /// A rule's name or a dam; without either, every rule in one line
    #[arg(value_name = "RULE|ANIMAL")]
    about: Vec<String>,
    /// Every rule in full, and every limit on which the sources differ
    #[arg(long, conflicts_with = "about")]
    all: bool,
    #[command(flatten)]
    farm: FarmOption,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let config = &loaded.config;
    let about = args.about.join(" ");
    if args.all {
        say!("{}", all(config).trim_end());
        return Ok(End::Done);
    }
    if about.is_empty() {
        let lines: String = config.rules.iter().map(explain::line).collect();
        say!("{}", lines.trim_end());
        return Ok(End::Done);
    }
    if let Some(rule) = config.rules.iter().find(|rule| rule.name.as_str() == about) {
        say!("{}", explain::rule(rule, &disagreements()).trim_end());
        return Ok(End::Done);
    }
    let animal = config.animals.iter().find(|row| row.animal.as_str().eq_ignore_ascii_case(&about));
    let Some(row) = animal else {
        return Err(nothing_of_that_name(config, &about));
    };
    let board = board(&loaded)?;
    let dam = board.dams.iter().find(|dam| dam.animal == row.animal);
    let dam = dam.ok_or_else(|| format!("the watch does not know {about} yet"))?;
    say!("{}", clocks(dam, board.now, &config.farm.zone).trim_end());
    Ok(End::Done)
}

fn nothing_of_that_name(config: &Config, about: &str) -> String {
    let names: Vec<&str> = config.rules.iter().map(|rule| rule.name.as_str()).collect();
    let nearest = suggest::nearest(about, &names);
    let help = nearest.map_or_else(
        || "lowbell explain lists the rules".to_owned(),
        |name| format!("did you mean {name}?"),
    );
    format!("no rule and no dam is called \"{about}\"; {help}")
}

/// Every rule, and then what no rule of this farm is about.
fn all(config: &Config) -> String {
    let known = disagreements();
    let rules: Vec<String> = config.rules.iter().map(|rule| explain::rule(rule, &known)).collect();
    let mut text = rules.join("\n");
    let unused =
        known.iter().filter(|one| !config.rules.iter().any(|rule| one.concerns(&rule.condition)));
    let unused: String = unused.map(explain::differ).collect();
    if !unused.is_empty() {
        text.push_str(&format!("\nno rule of this farm\n{unused}"));
    }
    text
}

/// The clocks that run for a dam.
fn clocks(dam: &DamView, now: Moment, zone: &Zone) -> String {
    let name = if dam.name.is_empty() { String::new() } else { format!(" {}", dam.name) };
    let since = dam.since.map_or(String::new(), |since| {
        format!(" since {} ({})", zone.clock_by(since, now), english::span(now.since(since)))
    });
    let mut text = format!("Dam {}{name}: {}{since}.\n", dam.animal, dam.stage.phrase());
    if let Some(new) = dam.progress {
        let ago = english::span(now.since(new));
        text.push_str(&format!("Nothing new for {ago}, since {}.\n", zone.clock_by(new, now)));
    }
    if dam.clocks.is_empty() {
        text.push_str("No clock runs for her.\n");
    }
    dam.clocks.iter().for_each(|clock| text.push_str(&one(clock, now, zone)));
    text
}

fn one(clock: &ClockView, now: Moment, zone: &Zone) -> String {
    let calf = clock.calf.map_or(String::new(), |number| format!(", calf {number}"));
    let (began, due) = (zone.clock_by(clock.began, now), zone.clock_by(clock.due, now));
    let limit = english::span(clock.limit);
    let runs = if clock.due > now {
        let left = english::span(clock.due.since(now));
        format!("began at {began}, limit {limit}, runs out at {due}, in {left}")
    } else if clock.limit.is_positive() {
        format!("began at {began}, limit {limit}, ran out at {due}")
    } else {
        format!("true since {began}")
    };
    format!("  {}{calf}: {runs}. It stops with {}.\n", clock.name, clock.stops)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{self, NamedText, SettingsText};
    use crate::herd::stage::Stage;
    use crate::plain::ids::{Animal, RuleName};
    use crate::plain::moment::Span;

    fn config() -> Config {
        let farm = r#"
            [farm]
            name = "Hollow Bank"
            zone = "Europe/Dublin"
            [broker]
            url = "mqtt://127.0.0.1"
            [[person]]
            name = "Ana"
            mail = "ana@hollowbank.example"
            [[line]]
            name = "mail"
            kind = "smtp"
            url = "smtp://127.0.0.1"
            from = "lowbell@hollowbank.example"
        "#;
        let file = NamedText { name: "farm.toml".into(), text: farm.into() };
        config::parse(&SettingsText { files: vec![file] }).config.unwrap()
    }

    /// facts.md S2-34, the conflict table: each of its four first alarm times stands beside the rule.
    #[test]
    fn a_rule_is_explained_with_those_who_do_not_agree() {
        let config = config();
        let name = RuleName::new("second stage too long");
        let rule = config.rules.iter().find(|rule| rule.name == name).unwrap();
        assert_eq!(
            explain::rule(rule, &disagreements()),
            "second stage too long
  cow 30 min, heifer 1 h since second, until calf.
  Calls the ladder calving; priority high (death may come of it, at once).
  Do: Examine her now, or call the vet.
  Source: S2-02, S2-03 (extension services from the Miles City figures: help a cow after 30 min, a heifer after 60); S2-34.
  Sources differ on when to step in, counted from the water bag:
    cow 30 min, heifer 1 h: S2-03, S2-34 (Oklahoma extension service, from the Miles City figures).
    cow 1 h, heifer 2 h: S2-08, S2-34 (a vet in Iowa).
    70 min for both: S2-05, S2-34 (Ohio reference time; S2-06: give or take 40 min).
    2 h, if she is not trying: S2-13, S2-34 (Colorado extension service).
    2 to 4 h: S2-01 (older texts).
"
        );
    }

    #[test]
    fn everything_on_which_sources_differ_is_shown_though_no_rule_is_about_it() {
        let text = all(&config());
        for one in disagreements() {
            assert!(text.contains(&format!("Sources differ on {}:", one.about)), "{}", one.about);
        }
        assert!(text.contains("\nno rule of this farm\n"));
        assert!(text.contains(
            "it is known not to be so that contraction counted at least once within 20 min"
        ));
    }

    #[test]
    fn a_dams_clocks_say_when_they_run_out_and_what_stops_them() {
        let minute = |n| Moment::default() + Span::minutes(n);
        let clock = |name: &str, began: i64, limit: i64, calf| ClockView {
            name: RuleName::new(name),
            began: minute(began),
            limit: Span::minutes(limit),
            due: minute(began + limit),
            calf,
            stops: "calf".into(),
        };
        let dam = DamView {
            animal: Animal::new("114"),
            name: "Bramble".into(),
            group: "home field".into(),
            stage: Stage::Second,
            since: Some(minute(0)),
            alerts: 0,
            code: String::new(),
            day: None,
            open: Vec::new(),
            clocks: vec![
                clock("no progress in second stage", 24, 20, None),
                clock("second stage too long", 0, 60, None),
                clock("calf not sucked", 10, 120, Some(2)),
            ],
            progress: Some(minute(24)),
        };
        assert_eq!(
            clocks(&dam, minute(45), &Zone::utc()),
            "Dam 114 Bramble: second stage since 00:00 (45 min).
Nothing new for 21 min, since 00:24.
  no progress in second stage: began at 00:24, limit 20 min, ran out at 00:44. It stops with calf.
  second stage too long: began at 00:00, limit 1 h, runs out at 01:00, in 15 min. It stops with calf.
  calf not sucked, calf 2: began at 00:10, limit 2 h, runs out at 02:10, in 1 h 25 min. It stops with calf.
"
        );
        let none = DamView {
            clocks: Vec::new(),
            progress: None,
            stage: Stage::Carrying,
            since: None,
            ..dam
        };
        assert_eq!(
            clocks(&none, minute(45), &Zone::utc()),
            "Dam 114 Bramble: carrying.\nNo clock runs for her.\n"
        );
        assert_eq!(
            nothing_of_that_name(&config(), "second stage to long"),
            "no rule and no dam is called \"second stage to long\"; did you mean second stage too long?"
        );
    }
}
