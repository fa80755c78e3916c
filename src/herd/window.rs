//! When a dam may calve: from the day she was served, or the day she is due, with the spread of its source.
//!
//! A window is never narrower than its source allows, and it does not decide that a dam is late: who is
//! past it and still carries is watched on. Only cattle have a gestation here; of another species only
//! `due` counts.

use jiff::ToSpan as _;
use jiff::civil::Date;

use crate::config::animals::{AnimalRow, Service};
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// Days from service to calf, all breeds pooled (facts.md G-01, extension services).
const GESTATION: i32 = 283;
/// Inseminated on a known day: nine in ten calve within ten days of the date (needs.md N105).
const SPREAD_AI: i32 = 10;
/// Of any other service: twice the spread within a breed (facts.md G-35, from G-01 and G-03).
const SPREAD: i32 = 11;
/// By ultrasound: 95 % within fifteen days (needs.md N105).
const SPREAD_SCAN: i32 = 15;
/// An embryo is about a week old when it is put in, and the date may be of either day (common practice, no
/// source).
const EMBRYO: i32 = 7;
/// How long past the window she is still looked for: with it a served date reaches 314 days, beyond every
/// gestation of the facts file's cattle (G-26: 296 at most). Then the date was wrong.
const OVERDUE: i32 = 21;

/// The first and the last day, both in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    pub from: Date,
    pub until: Date,
}

impl Window {
    /// `None` if the herd file has no date for her that counts.
    pub fn of(row: &AnimalRow, species: &str) -> Option<Self> {
        let spread = match row.service {
            Some(Service::Ai) => SPREAD_AI,
            Some(Service::Scan) => SPREAD_SCAN,
            Some(Service::Bull | Service::Embryo) | None => SPREAD,
        };
        if let Some((from, until)) = row.due {
            return Some(Self { from: moved(from, -spread), until: moved(until, spread) });
        }
        let (from, until) = row.served.filter(|_| species == "cattle")?;
        let younger = if row.service == Some(Service::Embryo) { EMBRYO } else { 0 };
        Some(Self {
            from: moved(from, GESTATION - spread - younger),
            until: moved(until, GESTATION + spread),
        })
    }

    /// The moments at which she comes into it and at which nobody looks for her any more, by the farm's
    /// own days.
    pub fn moments(&self, zone: &Zone) -> (Moment, Moment) {
        let midnight = |day: Date| zone.instant(day.at(0, 0, 0, 0));
        (midnight(self.from), midnight(moved(self.until, 1 + OVERDUE)))
    }
}

/// A date outside the calendar stays where it is: no farm has such a date.
fn moved(day: Date, days: i32) -> Date {
    day.checked_add(days.days()).unwrap_or(day)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::ids::Animal;
    use jiff::civil::date;

    fn row(
        served: Option<(Date, Date)>,
        due: Option<(Date, Date)>,
        service: Option<Service>,
    ) -> AnimalRow {
        AnimalRow { animal: Animal::new("114"), served, due, service, ..AnimalRow::default() }
    }

    /// Sources: facts.md D-01 (extension service's worked example: 10 Feb 1995 to 20 Nov 1995) and D-15
    /// (calendar arithmetic over a leap day).
    #[test]
    fn a_dam_is_due_283_days_after_service_also_over_a_leap_day() {
        for (served, due) in [
            (date(1995, 2, 10), date(1995, 11, 20)),
            (date(2023, 5, 20), date(2024, 2, 27)),
            (date(2023, 5, 22), date(2024, 2, 29)),
            (date(2023, 5, 23), date(2024, 3, 1)),
            (date(2024, 2, 28), date(2024, 12, 7)),
            (date(2024, 2, 29), date(2024, 12, 8)),
            (date(2024, 3, 1), date(2024, 12, 9)),
            (date(2024, 1, 1), date(2024, 10, 10)),
            (date(2023, 1, 1), date(2023, 10, 11)),
        ] {
            let window =
                Window::of(&row(Some((served, served)), None, Some(Service::Ai)), "cattle");
            let window = window.unwrap();
            assert_eq!(window, Window { from: moved(due, -10), until: moved(due, 10) }, "{served}");
        }
    }

    /// Source: needs.md N105: AI within 10 days, ultrasound within 15; a bull's run is as wide as it was.
    #[test]
    fn a_window_is_as_wide_as_its_source() {
        let (first, last) = (date(2026, 2, 1), date(2026, 3, 15));
        let bull =
            Window::of(&row(Some((first, last)), None, Some(Service::Bull)), "cattle").unwrap();
        assert_eq!((bull.from, bull.until), (date(2026, 10, 31), date(2027, 1, 3)));
        let due = date(2026, 11, 25);
        let scan = Window::of(&row(None, Some((due, due)), Some(Service::Scan)), "cattle").unwrap();
        assert_eq!((scan.from, scan.until), (date(2026, 11, 10), date(2026, 12, 10)));
        let both = row(Some((first, last)), Some((due, due)), Some(Service::Ai));
        assert_eq!(Window::of(&both, "cattle").unwrap().from, date(2026, 11, 15), "due goes first");
        assert_eq!(Window::of(&row(Some((first, last)), None, None), "sheep"), None);
        assert_eq!(Window::of(&row(None, None, None), "cattle"), None);
    }
}
