//! When what can wait is told on the invented farm: a second reckoning of what the settings say, for those who
//! check the watch.

use super::yard::ZONE;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// The lowest priority, as the ledger counts.
pub(super) const LOW: u8 = 0;
const MEDIUM: u8 = 1;

/// The hours of the two lists, where the settings say nothing.
const HOURS: [i8; 2] = [8, 17];

/// Sensors that are silent or ill are gathered for so long.
const GATHER: Span = Span::minutes(1);

pub(super) struct Lists {
    zone: Zone,
}

impl Default for Lists {
    fn default() -> Self {
        Self { zone: Zone::named(ZONE).unwrap_or_else(Zone::utc) }
    }
}

impl Lists {
    /// The first list after a moment.
    pub(super) fn next(&self, after: Moment) -> Moment {
        let today = self.zone.wall(after).date();
        let days = [today, today.tomorrow().unwrap_or(today)];
        let at = |day: jiff::civil::Date, hour| self.zone.instant(day.at(hour, 0, 0, 0));
        let mut lists = days.into_iter().flat_map(|day| HOURS.map(|hour| at(day, hour)));
        lists.find(|list| *list > after).unwrap_or(after)
    }

    /// When somebody must have been told of what is raised now.
    pub(super) fn told_by(&self, raised: Moment, priority: u8, about: &str) -> Moment {
        match priority {
            LOW => self.next(raised - Span::from_millis(1)),
            MEDIUM if about.starts_with("device ") => raised + GATHER,
            _ => raised,
        }
    }
}
