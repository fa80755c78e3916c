//! A rota that stands in a calendar: its events become who is on duty from when to when.
//!
//! Who is meant, an event's title says, or whom it invites. What begins later takes the place of what still goes on. The
//! end of an event that comes again is by the wall, as calendars show it, so that the next shift begins where it ends on the
//! nights too on which the clocks change; RFC 5545 section 3.8.5.3 would keep its exact length and leave an hour to nobody.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::{Date, DateTime};

use super::faults::{Faults, Place, Placed};
use super::ical::{self, Event, Of, Stamp};
use super::people::Instead;
use super::person::People;
use super::recur::Recur;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// What comes again for ever is read up to here.
const ENDS: Date = jiff::civil::date(2046, 1, 1);
/// Of what has come again more often than this, all is dropped that was before any watch was kept.
const TIMES_MAX: usize = 1_000;
const BEGINS: Date = jiff::civil::date(2026, 1, 1);
/// Four shifts a day of those twenty years.
const ALL_MAX: usize = 30_000;
/// Days that the rules of one text may look at.
const DAYS_MAX: usize = 3_000_000;
/// Faults of one text that are said one by one.
const FAULTS_MAX: usize = 20;

/// Everybody's times, in order of their beginning.
pub(super) fn read(
    name: &Placed<String>,
    text: &str,
    people: &People,
    farm: &Zone,
    faults: &Faults,
) -> Vec<Instead> {
    let place = Place { file: name.is.as_str().into(), span: None };
    let (events, wrong) = ical::events(text);
    for one in wrong.iter().take(FAULTS_MAX) {
        let title = format!("line {} of {}: {}", one.line, name.is, one.why);
        faults.refuse(&place, title, "mend the calendar, or export it anew");
    }
    if !wrong.is_empty() {
        return Vec::new();
    }
    let reader = Reader { people, farm, faults, place, name: &name.is };
    let mut all: Vec<Instead> = Vec::new();
    let mut others: BTreeMap<(&str, DateTime), &Event> = BTreeMap::new();
    for event in &events {
        if let Some(instead_of) = &event.instead_of {
            others.insert((event.uid.as_str(), reader.in_farm(instead_of, event)), event);
        }
    }
    let mut days_left = DAYS_MAX;
    for event in &events {
        let Some(times) = reader.times(event, &others, &mut days_left) else {
            let title = format!(
                "line {} of {}: this comes again more often than can be read",
                event.line, name.is
            );
            faults.refuse(&reader.place, title, "give it an end, or begin it later");
            return Vec::new();
        };
        all.extend(times);
        if all.len() > ALL_MAX {
            let title = format!("{} has more than {ALL_MAX} shifts", name.is);
            faults.refuse(&name.at, title, "leave out what is long past, or split it");
            return Vec::new();
        }
    }
    if all.is_empty() {
        let title = format!("nothing in {} names anybody of this farm", name.is);
        faults.warn(&name.at, title, "an event's title is their name, or it invites their address");
    }
    all.sort_by(|one, other| (one.from, &one.person).cmp(&(other.from, &other.person)));
    all
}

struct Reader<'r> {
    people: &'r People,
    farm: &'r Zone,
    faults: &'r Faults,
    place: Place,
    name: &'r str,
}

impl Reader<'_> {
    /// `None` if it comes again too often to be read.
    fn times(
        &self,
        event: &Event,
        others: &BTreeMap<(&str, DateTime), &Event>,
        days_left: &mut usize,
    ) -> Option<Vec<Instead>> {
        let Some(starts) = event.starts.as_ref().filter(|_| !event.cancelled) else {
            return Some(Vec::new());
        };
        let Some(person) = self.who(event) else { return Some(Vec::new()) };
        let Some(zone) = self.zone(&starts.of, event) else { return Some(Vec::new()) };
        let left_out: Vec<DateTime> =
            event.left_out.iter().map(|stamp| self.in_farm(stamp, event)).collect();
        let mut times = Vec::new();
        let mut begins: BTreeSet<DateTime> = match &event.recur {
            Some(rule) => of_rule(rule, starts.wall, &zone, days_left)?.into_iter().collect(),
            None => BTreeSet::from([starts.wall]),
        };
        if begins.len() > TIMES_MAX {
            begins.retain(|wall| wall.date() >= BEGINS);
        }
        for stamp in &event.added {
            let wall = self.zone(&stamp.of, event).map(|of| zone.wall(of.instant(stamp.wall)));
            begins.extend(wall);
        }
        for wall in begins {
            let from = zone.instant(wall);
            let shown = self.farm.wall(from);
            let replaced =
                event.instead_of.is_none() && others.contains_key(&(event.uid.as_str(), shown));
            if replaced
                || left_out.contains(&shown)
                || left_out.iter().any(|day| is_whole(event, *day, shown))
            {
                continue;
            }
            let until = self.end(event, starts, wall, &zone);
            if from < until {
                times.push(Instead { from, until, person: person.clone() });
            }
        }
        Some(times)
    }

    /// The end of the one that begins then.
    fn end(&self, event: &Event, starts: &Stamp, wall: DateTime, zone: &Zone) -> Moment {
        let from = zone.instant(wall);
        if let Some(ends) = &event.ends {
            let same_clock = ends.of == starts.of;
            if same_clock {
                let long = ends.wall.duration_since(starts.wall);
                return wall.checked_add(long).map_or(from, |end| zone.instant(end));
            }
            let end = self.zone(&ends.of, event).map(|zone| zone.instant(ends.wall));
            let long = end.map_or(Span::ZERO, |end| end.since(zone.instant(starts.wall)));
            return from + long;
        }
        if let Some(lasts) = event.lasts {
            let days = jiff::Span::new().try_days(lasts.days);
            let day = days.ok().and_then(|days| wall.checked_add(days).ok());
            return day.map_or(from, |day| zone.instant(day)) + Span::seconds(lasts.seconds);
        }
        if starts.is_day {
            let tomorrow = wall.date().tomorrow().unwrap_or(wall.date());
            return zone.instant(tomorrow.at(0, 0, 0, 0));
        }
        from
    }

    /// The person whom the title names, or whom it invites; said aloud if it is nobody.
    fn who(&self, event: &Event) -> Option<PersonName> {
        let title = words(&event.summary);
        let people = self.people.list.iter().map(|one| &one.is);
        let named: Vec<(Vec<String>, &PersonName)> = people
            .clone()
            .map(|one| (words(one.name.as_str()), &one.name))
            .filter(|(name, _)| is_within(name, &title))
            .collect();
        // "Rosa Byrne" is no Rosa where both work.
        let is_part = |name: &[String]| {
            named.iter().any(|(other, _)| other.len() > name.len() && is_within(name, other))
        };
        let found: Vec<&PersonName> =
            named.iter().filter(|(name, _)| !is_part(name)).map(|(_, person)| *person).collect();
        if let [only] = found[..] {
            return Some(only.clone());
        }
        let invited = people.clone().filter(|person| {
            let mail = person.mail.as_ref().map(|mail| mail.to_lowercase());
            mail.is_some_and(|mail| event.attendees.contains(&mail))
        });
        let invited: Vec<&PersonName> = invited.map(|one| &one.name).collect();
        if let [only] = invited[..] {
            return Some(only.clone());
        }
        let what = if found.len() > 1 || invited.len() > 1 {
            "more than one person"
        } else {
            "nobody of this farm"
        };
        let title =
            format!("line {} of {}: \"{}\" names {what}", event.line, self.name, event.summary);
        self.faults.warn(&self.place, title, "it is left out; its title is to be a name");
        None
    }

    fn zone(&self, of: &Of, event: &Event) -> Option<Zone> {
        match of {
            Of::Floating => Some(self.farm.clone()),
            Of::Utc => Some(Zone::utc()),
            Of::Zone(name) => {
                let zone = Zone::named(name);
                if zone.is_none() {
                    let title = format!(
                        "line {} of {}: the zone {name} is not known",
                        event.line, self.name
                    );
                    self.faults.refuse(
                        &self.place,
                        title,
                        "export the calendar with a zone such as Europe/Dublin",
                    );
                }
                zone
            }
        }
    }

    /// A time by the farm's wall.
    fn in_farm(&self, stamp: &Stamp, event: &Event) -> DateTime {
        if stamp.is_day {
            return stamp.wall;
        }
        self.zone(&stamp.of, event)
            .map_or(stamp.wall, |zone| self.farm.wall(zone.instant(stamp.wall)))
    }
}

/// The words of a title or of a name, whatever stands between them.
fn words(text: &str) -> Vec<String> {
    let folded = text.to_lowercase();
    let words = folded.split(|letter: char| !letter.is_alphanumeric());
    words.filter(|word| !word.is_empty()).map(str::to_owned).collect()
}

fn is_within(name: &[String], title: &[String]) -> bool {
    !name.is_empty() && title.windows(name.len()).any(|part| part == name)
}

/// The times of a rule up to its end; of one that has none, up to where everything ends here.
fn of_rule(
    rule: &Recur,
    first: DateTime,
    zone: &Zone,
    days_left: &mut usize,
) -> Option<Vec<DateTime>> {
    let utc = Zone::utc();
    let goes_on = |wall: DateTime| match rule.until {
        Some(until) if until.is_utc => zone.instant(wall) <= utc.instant(until.last),
        Some(until) => wall <= until.last,
        None => rule.count.is_some() || wall.date() < ENDS,
    };
    rule.times(first, goes_on, days_left)
}

/// A day alone leaves out whatever begins on it.
fn is_whole(event: &Event, left_out: DateTime, shown: DateTime) -> bool {
    let by_day = event.left_out.iter().any(|stamp| stamp.is_day && stamp.wall == left_out);
    by_day && left_out.date() == shown.date()
}
