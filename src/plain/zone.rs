//! A named time zone and what the wall clock there says.
//!
//! The zone's rules come from the bundle inside this binary, never from the machine: the same
//! journal must print the same diary on a laptop and on a Pi whose zone files are older.

use jiff::civil::DateTime;
use jiff::tz::{TimeZone, TimeZoneDatabase};

use super::moment::{Moment, Span};

/// An IANA zone such as `Europe/Dublin`.
#[derive(Clone, Debug)]
pub struct Zone {
    name: String,
    rules: TimeZone,
}

impl PartialEq for Zone {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl Zone {
    /// `None` if the bundle knows no zone of that name.
    pub fn named(name: &str) -> Option<Self> {
        let rules = TimeZoneDatabase::bundled().get(name).ok()?;
        Some(Self {
            name: name.to_owned(),
            rules,
        })
    }

    pub fn utc() -> Self {
        Self {
            name: "UTC".to_owned(),
            rules: TimeZone::UTC,
        }
    }

    pub fn name(&self) -> &str {
        &self.name
    }

    /// What the wall clock says at `moment`.
    pub fn wall(&self, moment: Moment) -> DateTime {
        let stamp = jiff::Timestamp::from_millisecond(moment.millis()).unwrap_or_default();
        self.rules.to_datetime(stamp)
    }

    /// The instant of a wall-clock time. A skipped time is taken with the offset before the gap,
    /// a doubled one is its first pass (RFC 5545 section 3.3.5).
    pub fn instant(&self, wall: DateTime) -> Moment {
        self.rules
            .to_ambiguous_timestamp(wall)
            .compatible()
            .map_or(Moment::default(), |t| {
                Moment::from_millis(t.as_millisecond())
            })
    }

    /// "02:05".
    pub fn clock(&self, moment: Moment) -> String {
        let wall = self.wall(moment);
        format!("{:02}:{:02}", wall.hour(), wall.minute())
    }

    /// "2026-11-25 02:05".
    pub fn date_and_clock(&self, moment: Moment) -> String {
        let wall = self.wall(moment);
        format!("{} {:02}:{:02}", wall.date(), wall.hour(), wall.minute())
    }

    /// "2026-11-25 02:05:09 +00:00": the diary's form, which no clock change can make ambiguous.
    pub fn stamp(&self, moment: Moment) -> String {
        let stamp = jiff::Timestamp::from_millisecond(moment.millis()).unwrap_or_default();
        let offset = self.rules.to_offset(stamp).seconds();
        let wall = self.wall(moment);
        let sign = if offset < 0 { '-' } else { '+' };
        let minutes = offset.abs() / 60;
        format!(
            "{} {:02}:{:02}:{:02} {sign}{:02}:{:02}",
            wall.date(),
            wall.hour(),
            wall.minute(),
            wall.second(),
            minutes / 60,
            minutes % 60
        )
    }

    /// The latest instant at or before `now` (with five minutes' grace for clocks that disagree)
    /// at which the wall clock there said `hour:minute`.
    pub fn latest(&self, now: Moment, hour: i8, minute: i8) -> Moment {
        let grace = now + Span::minutes(5);
        let today = self.wall(now).date();
        [
            today.tomorrow().unwrap_or(today),
            today,
            today.yesterday().unwrap_or(today),
        ]
        .into_iter()
        .map(|date| self.instant(date.at(hour, minute, 0, 0)))
        .find(|at| *at <= grace)
        .unwrap_or(now)
        .min(now)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Moment {
        Moment::from_rfc3339(text).unwrap()
    }

    #[test]
    fn a_time_of_day_means_its_latest_passing() {
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let now = at("2026-11-25T00:15:00Z");
        assert_eq!(dublin.latest(now, 23, 50), at("2026-11-24T23:50:00Z"));
        assert_eq!(dublin.latest(now, 0, 10), at("2026-11-25T00:10:00Z"));
        assert_eq!(
            dublin.latest(now, 0, 18),
            now,
            "a clock three minutes ahead is not yesterday"
        );
        assert_eq!(dublin.latest(now, 0, 21), at("2026-11-24T00:21:00Z"));
    }

    #[test]
    fn an_unknown_zone_is_none() {
        assert!(Zone::named("Europe/Dublinn").is_none());
    }

    #[test]
    fn the_diary_stamp_tells_the_two_passes_of_a_doubled_hour_apart() {
        let dublin = Zone::named("Europe/Dublin").unwrap();
        assert_eq!(
            dublin.stamp(at("2026-10-25T00:30:00Z")),
            "2026-10-25 01:30:00 +01:00"
        );
        assert_eq!(
            dublin.stamp(at("2026-10-25T01:30:00Z")),
            "2026-10-25 01:30:00 +00:00"
        );
    }
}
