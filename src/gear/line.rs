//! A line as the watch knows it: up or down and since when, and what it was refused.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::plain::bounded::Ring;
use crate::plain::moment::{Moment, Span};

/// Filters remembered as refused; the settings have no more than that.
const FILTERS_CAP: usize = 64;

/// So many refusals of one address within the hour are no slip of the finger any more: a device has
/// the wrong password, or somebody is guessing.
pub const STRANGER_TIMES: usize = 10;
const STRANGER_OVER: Span = Span::hours(1);
/// Addresses remembered; a farm's network has few, and the quietest gives way.
const STRANGERS_CAP: usize = 32;

/// An outage shorter than this loses no sensor's beat.
const FLAP: Span = Span::minutes(1);

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineRecord {
    pub up: Option<Moment>,
    /// Since when it had been up before it went down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub was_up: Option<Moment>,
    /// It has been up at some time: the broker knows us.
    #[serde(default)]
    pub met: bool,
    pub down: Option<Trouble>,
    pub session_lost: Option<Moment>,
    pub refused: BTreeMap<String, Trouble>,
    /// Addresses that our own broker turned away within the last hour.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub strangers: BTreeMap<String, Stranger>,
}

/// An address that was turned away.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stranger {
    /// The latest times.
    times: Ring<Moment, STRANGER_TIMES>,
    /// Since when it has been too often.
    since: Option<Moment>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Trouble {
    pub since: Moment,
    pub why: String,
}

impl LineRecord {
    /// `true` if this is news. A link that flaps has been up all along, as far as silence goes: it is
    /// listened to from its last long outage on.
    pub fn comes_up(&mut self, now: Moment) -> bool {
        let outage = self.down.take();
        let short = outage.as_ref().is_some_and(|down| now.since(down.since) < FLAP);
        let news = outage.is_some() || self.up.is_none();
        let before = self.up.or(self.was_up.filter(|_| short));
        self.up = before.or(Some(now));
        self.met = true;
        self.was_up = None;
        news
    }

    /// `true` if this is news.
    pub fn goes_down(&mut self, now: Moment, why: &str) -> bool {
        if let Some(up) = self.up.take() {
            self.was_up = Some(up);
        }
        if let Some(trouble) = &mut self.down {
            why.clone_into(&mut trouble.why);
            return false;
        }
        self.down = Some(Trouble { since: now, why: why.to_owned() });
        true
    }

    pub fn refuses(&mut self, filter: &str, now: Moment, why: &str) -> bool {
        if self.refused.contains_key(filter) || self.refused.len() >= FILTERS_CAP {
            return false;
        }
        self.refused.insert(filter.to_owned(), Trouble { since: now, why: why.to_owned() });
        true
    }

    pub fn takes(&mut self, filter: &str) -> bool {
        self.refused.remove(filter).is_some()
    }

    /// Somebody at that address was turned away so many times just now.
    pub fn turns_away(&mut self, from: &str, now: Moment, times: u32) {
        self.strangers
            .retain(|_, stranger| stranger.latest().is_some_and(|at| now < at + STRANGER_OVER));
        if !self.strangers.contains_key(from) && self.strangers.len() >= STRANGERS_CAP {
            let quietest = self.strangers.iter().min_by_key(|(_, stranger)| stranger.latest());
            if let Some(name) = quietest.map(|(name, _)| name.clone()) {
                self.strangers.remove(&name);
            }
        }
        let stranger = self.strangers.entry(from.to_owned()).or_default();
        let was_wrong = stranger.until().is_some_and(|until| now < until);
        for _ in 0..times.min(u32::try_from(STRANGER_TIMES).unwrap_or(u32::MAX)) {
            stranger.times.push(now);
        }
        if !was_wrong {
            stranger.since = stranger.until().map(|_| now);
        }
    }

    /// The address that was turned away too often, since when, and until when that holds.
    pub fn strangers(&self, now: Moment) -> Option<(&str, Moment, Moment)> {
        let wrong = self.strangers.iter().filter_map(|(from, stranger)| {
            let until = stranger.until().filter(|until| now < *until)?;
            Some((from.as_str(), stranger.since.unwrap_or(now), until))
        });
        wrong.max_by_key(|(_, _, until)| *until)
    }
}

impl Stranger {
    fn latest(&self) -> Option<Moment> {
        self.times.iter().next_back().copied()
    }

    /// When the oldest of the last ten leaves the hour; `None` if there are fewer.
    fn until(&self) -> Option<Moment> {
        let full = self.times.len() >= STRANGER_TIMES;
        self.times.oldest().filter(|_| full).map(|oldest| *oldest + STRANGER_OVER)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minute: i64) -> Moment {
        Moment::default() + Span::minutes(minute)
    }

    #[test]
    fn ten_refusals_within_an_hour_are_too_many_and_pass_with_the_hour() {
        let mut line = LineRecord::default();
        for minute in 0..9 {
            line.turns_away("192.168.1.77", at(minute * 5), 1);
            line.turns_away("192.168.1.78", at(minute * 5), 1);
        }
        assert_eq!(line.strangers(at(45)), None);
        line.turns_away("192.168.1.77", at(45), 1);
        assert_eq!(line.strangers(at(45)), Some(("192.168.1.77", at(45), at(60))));
        // Once more: it is the same trouble, and lasts longer.
        line.turns_away("192.168.1.77", at(50), 1);
        assert_eq!(line.strangers(at(50)), Some(("192.168.1.77", at(45), at(65))));
        assert_eq!(line.strangers(at(65)), None);
        line.turns_away("192.168.1.77", at(70), 30);
        assert_eq!(line.strangers(at(70)), Some(("192.168.1.77", at(70), at(130))));
    }

    #[test]
    fn slow_refusals_are_never_too_many_and_addresses_are_forgotten() {
        let mut line = LineRecord::default();
        for minute in 0..100 {
            line.turns_away("192.168.1.77", at(minute * 7), 1);
            assert_eq!(line.strangers(at(minute * 7)), None);
        }
        for n in 0..100 {
            line.turns_away(&format!("192.168.1.{n}"), at(800), 1);
        }
        assert_eq!(line.strangers.len(), STRANGERS_CAP);
        line.turns_away("192.168.1.200", at(861), 1);
        assert_eq!(line.strangers.len(), 1);
    }
}
