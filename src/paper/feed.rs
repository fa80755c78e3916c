//! A calendar that people subscribe to: who is on duty when, and who may calve when.
//!
//! A shift is written by the farm's clock, with the changes of that clock beside it (RFC 5545 section 3.6.5), so that no
//! program has to know the zone. It has names in it and no telephone number or address.

use std::collections::BTreeMap;

use jiff::civil::DateTime;

use super::calendar;
use super::ical::{self, Lines, date, stamp, uid};
use crate::config::Config;
use crate::config::feeds::Feed;
use crate::plain::english;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::rota::{self, OnShift};
use crate::watch::season::Season;

/// What was is kept so long for whoever looks back, and this far ahead people plan (common practice, no source).
const BEHIND: Span = Span::hours(7 * 24);
const AHEAD: Span = Span::hours(92 * 24);
/// More changes than any rota has in that time.
const CHANGES_MAX: usize = 10_000;

/// What a feed shows at this moment. Swaps and who is ill are to be laid over the settings before.
pub fn feed(feed: &Feed, season: &Season, config: &Config, now: Moment) -> String {
    let name = match &feed.only {
        Some(person) if feed.rota => format!("{}: {person}", config.farm.name),
        Some(_) | None => format!("{}: {}", config.farm.name, feed.name),
    };
    ical::whole(&name, |lines| {
        if feed.rota {
            shifts(lines, config, feed.only.as_ref(), now);
        }
        if feed.due {
            calendar::entries(lines, season, config, now);
        }
    })
}

/// The whole rota, as a file.
pub fn rota(config: &Config, now: Moment) -> String {
    let name = format!("{}: rota", config.farm.name);
    ical::whole(&name, |lines| shifts(lines, config, None, now))
}

fn shifts(lines: &mut Lines, config: &Config, only: Option<&PersonName>, now: Moment) {
    let zone = &config.farm.zone;
    let (from, until) = (now - BEHIND, now + AHEAD);
    let shown = on_duty(config, from, until);
    let shown: Vec<&Shown> =
        shown.iter().filter(|one| only.is_none_or(|who| one.shift.person == *who)).collect();
    if shown.is_empty() {
        return;
    }
    let first = shown.iter().map(|one| one.shift.from).min().unwrap_or(from);
    let last = shown.iter().map(|one| one.shift.until).max().unwrap_or(until);
    clocks(lines, zone, first, last);
    for one in shown {
        let shift = &one.shift;
        lines.add("BEGIN", "VEVENT");
        // Whoever takes it, it is the same entry.
        lines.text("UID", &uid(&format!("rota-{}-{}", shift.rota, shift.from.seconds())));
        lines.add("DTSTAMP", &stamp(now));
        time(lines, "DTSTART", zone, shift.from);
        time(lines, "DTEND", zone, shift.until);
        lines.text("SUMMARY", &format!("{}: {}", shift.person, shift.rota));
        if !one.backup.is_empty() {
            let names: Vec<&str> = one.backup.iter().map(PersonName::as_str).collect();
            lines.text("DESCRIPTION", &format!("Backup: {}.", english::list(&names)));
        }
        lines.add("TRANSP", "OPAQUE");
        lines.add("END", "VEVENT");
    }
}

/// One person's time on duty without a change of who they are or who backs them up when it begins.
struct Shown {
    shift: OnShift,
    backup: Vec<PersonName>,
}

fn on_duty(config: &Config, from: Moment, until: Moment) -> Vec<Shown> {
    let zone = &config.farm.zone;
    let mut open: BTreeMap<String, Shown> = BTreeMap::new();
    let mut all = Vec::new();
    let mut at = from;
    for _ in 0..CHANGES_MAX {
        let duty = rota::on_duty(&config.rotas, zone, at);
        let next = rota::next_change(&config.rotas, zone, at).filter(|next| *next > at);
        let still = |name: &str, who: &PersonName| {
            duty.people.iter().any(|on| on.rota == *name && on.person == *who)
        };
        let gone: Vec<String> = open
            .iter()
            .filter(|(name, one)| !still(name, &one.shift.person) || one.shift.until <= at)
            .map(|(name, _)| name.clone())
            .collect();
        all.extend(gone.iter().filter_map(|name| open.remove(name)).map(|mut one| {
            // A layer above took over in the midst of it.
            one.shift.until = one.shift.until.min(at);
            one
        }));
        if at >= until {
            break;
        }
        for on in &duty.people {
            let begun = || {
                // The layer above may have ended in the midst of it.
                let begins = if at == from { on.from } else { on.from.max(at) };
                let shift = OnShift { from: begins, ..on.clone() };
                Shown { shift, backup: duty.backup.clone() }
            };
            open.entry(on.rota.clone()).or_insert_with(begun);
        }
        let Some(next) = next else { break };
        at = next;
    }
    all.extend(open.into_values());
    all.sort_by(|one, other| {
        (one.shift.from, &one.shift.rota).cmp(&(other.shift.from, &other.shift.rota))
    });
    all
}

/// By the farm's clock; what that clock says a second time is written in UTC, as nothing else would tell it apart.
fn time(lines: &mut Lines, name: &str, zone: &Zone, at: Moment) {
    let wall = zone.wall(at);
    if zone.instant(wall) == at {
        lines.add(&format!("{name};TZID={}", zone.name()), &clock(wall));
    } else {
        lines.add(name, &stamp(at));
    }
}

fn clock(wall: DateTime) -> String {
    format!("{}T{:02}{:02}{:02}", date(wall.date()), wall.hour(), wall.minute(), wall.second())
}

/// The farm's zone between two moments: each change on its own, as the law may change what comes after.
fn clocks(lines: &mut Lines, zone: &Zone, from: Moment, until: Moment) {
    lines.add("BEGIN", "VTIMEZONE");
    lines.text("TZID", zone.name());
    let changes = zone.clocks(from, until);
    if changes.is_empty() {
        let offset = offset(zone.offset(from));
        observance(lines, "STANDARD", "19700101T000000", &offset, &offset);
    }
    for change in changes {
        // Forward or back: what a law calls summer time is no concern of a calendar's.
        let kind = if change.after > change.before { "DAYLIGHT" } else { "STANDARD" };
        // Its beginning is by the clock that it ends (RFC 5545 section 3.8.2.4).
        let begins = Zone::utc().wall(change.at + Span::seconds(i64::from(change.before)));
        observance(lines, kind, &clock(begins), &offset(change.before), &offset(change.after));
    }
    lines.add("END", "VTIMEZONE");
}

fn observance(lines: &mut Lines, kind: &str, begins: &str, before: &str, after: &str) {
    lines.add("BEGIN", kind);
    lines.add("DTSTART", begins);
    lines.add("TZOFFSETFROM", before);
    lines.add("TZOFFSETTO", after);
    lines.add("END", kind);
}

/// "+0100"; with seconds only where there are any.
fn offset(seconds: i32) -> String {
    let (sign, long) = (if seconds < 0 { '-' } else { '+' }, seconds.abs());
    let (hours, minutes, rest) = (long / 3_600, long / 60 % 60, long % 60);
    let rest = if rest == 0 { String::new() } else { format!("{rest:02}") };
    format!("{sign}{hours:02}{minutes:02}{rest}")
}
