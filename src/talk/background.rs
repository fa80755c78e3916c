//! What a mail says beneath what is to be done: since when, why, how far ahead, and which rule says so.

use super::drill;
use super::head::rule_name;
use super::herself;
use super::named::named;
use super::phrases::{Phrases, say};
use super::reader::Reader;
use super::reason;
use crate::alarm::alert::Alert;
use crate::config::Config;
use crate::plain::ids::{Animal, PersonName};
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;
use crate::rules::verdict::Figures;

pub(super) fn lines(config: &Config, alert: &Alert, now: Moment, reader: &Reader) -> String {
    let said = reader.phrases();
    let mut lines = herself::lines(config, alert, reader);
    lines.push(of_figures(config, alert, now, reader));
    if let Some(ahead) = reason::ahead(&alert.figures, config) {
        lines.push(say(said.ahead, &[("when", &said.ahead(ahead))]));
    }
    lines.push(say(
        said.alert_line,
        &[
            ("no", &alert.no),
            ("code", &alert.code),
            ("priority", &said.priority(alert.priority)),
            ("rule", &rule_name(config, alert.rule.as_str(), reader)),
        ],
    ));
    let rule = config.rules.iter().find(|rule| rule.name == alert.rule);
    if let Some(rule) = rule.filter(|rule| !rule.source.is_empty()) {
        lines.push(say(said.source, &[("source", &rule.source.trim_end_matches('.'))]));
    }
    lines.join("\n")
}

fn of_figures(config: &Config, alert: &Alert, now: Moment, reader: &Reader) -> String {
    let (zone, said) = (&config.farm.zone, reader.phrases());
    match &alert.figures {
        Figures::Clock { began, limit, calf } => {
            let (at, limit) = (zone.clock(*began), said.span(*limit));
            let words = if calf.is_some() { said.clock_of_calf } else { said.clock_began };
            let number = calf.unwrap_or_default();
            say(words, &[("at", &at), ("limit", &limit), ("n", &number)])
        }
        Figures::Counted { .. }
        | Figures::Level { .. }
        | Figures::Changed { .. }
        | Figures::Seen { .. }
        | Figures::NotSo { .. }
        | Figures::Due { .. }
        | Figures::Several(_) => {
            let why = reason::why(&alert.figures, now, said);
            say(said.why_since, &[("why", &why), ("at", &zone.clock(alert.since))])
        }
        Figures::Silence { since, never } => {
            let words = if *never { said.listened } else { said.last_heard };
            say(words, &[("at", &zone.date_and_clock(*since))])
        }
        Figures::Ill { ill, since, why } => {
            let alone = if ill.blinds() { format!("\n{}", said.ill_blind) } else { String::new() };
            let at = zone.date_and_clock(*since);
            say(said.ill_since, &[("at", &at), ("ill", &said.ill(*ill)), ("why", why)]) + &alone
        }
        Figures::Trouble { since, why, .. } => {
            say(said.trouble, &[("at", &zone.clock(*since)), ("why", why)])
        }
        Figures::Gateway { since, animals } => say(
            said.gateway,
            &[("at", &zone.date_and_clock(*since)), ("animals", &named(config, animals, reader))],
        ),
        Figures::Uncovered { .. } | Figures::Drill { .. } => apart(&alert.figures, zone, said),
        Figures::Alone { with, since, until } => {
            let her = her(with.as_ref(), said);
            let (since, until) = (zone.clock(*since), zone.clock(*until));
            say(
                said.alone,
                &[("her", &her), ("since", &since), ("until", &until), ("who", &alert.subject)],
            )
        }
        Figures::Unwatched { animals } => {
            // Her own number: whoever is tired sends the example as it stands.
            let one = animals.first().map_or("114", Animal::as_str);
            let animals = named(config, animals, reader);
            say(said.unwatched_mail, &[("animals", &animals), ("one", &one)])
        }
    }
}

/// " with 114", or nothing.
pub fn her(with: Option<&Animal>, said: &Phrases) -> String {
    with.map_or(String::new(), |animal| say(said.with_animal, &[("animal", animal)]))
}

/// Of what is about no dam and no device: a drill; or whose shift is open, and what to do about it.
fn apart(figures: &Figures, zone: &Zone, said: &Phrases) -> String {
    if let Figures::Drill { until } = figures {
        return drill::background(zone, *until, said);
    }
    let Figures::Uncovered { rota, hours, nobody, unproven } = figures else {
        return String::new();
    };
    let what = match (nobody, rota.as_str()) {
        (true, "") => said.uncovered_nobody,
        (true, _) => said.uncovered_nobody_of,
        (false, "") => said.uncovered_backup,
        (false, _) => said.uncovered_backup_of,
    };
    let what = say(what, &[("rota", rota)]);
    if unproven.is_empty() {
        return say(said.uncovered_find, &[("what", &what), ("hours", hours)]);
    }
    let who: Vec<&str> = unproven.iter().map(PersonName::as_str).collect();
    let who = said.list(&who);
    say(said.uncovered_unproven, &[("what", &what), ("hours", hours), ("who", &who)])
}
