//! What begins by day only: a finding of the night waits for the morning, by the farm's own clock.
//!
//! It keeps no timer: the morning is computed each time, across a change of the clocks too. What has begun
//! goes on through the night.

use super::Watch;
use super::key::Key;
use super::ready::Ready;
use crate::config::calls::MORNING;
pub(super) use crate::config::calls::is_day;
use crate::plain::ids::RuleName;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;
use crate::rules::verdict::{Subject, Verdict};

impl Watch {
    /// Puts off what rules that begin by day have found at night.
    pub(super) fn wait_for_morning(
        &self,
        key: &Key,
        verdicts: &mut [(RuleName, Verdict)],
        ready: &Ready,
    ) {
        if ready.book.by_day.is_empty() {
            return;
        }
        let Some(morning) = morning(&ready.config.farm.zone, self.state.now) else { return };
        let mut subject = None;
        for (rule, verdict) in verdicts {
            if !matches!(verdict, Verdict::Wrong(_)) || !ready.book.by_day.contains(rule) {
                continue;
            }
            let subject = subject.get_or_insert_with(|| key.subject(&self.state));
            if !self.has_begun(rule, subject) {
                *verdict = Verdict::FineUntil(morning);
            }
        }
    }

    /// Whether an alert of this rule about it is open, or it has been logged.
    pub(super) fn has_begun(&self, rule: &RuleName, subject: &Subject) -> bool {
        let mut open = self.state.watchman.open.values();
        open.any(|alert| alert.rule == *rule && alert.subject == *subject)
            || self.state.logged.contains(&format!("{rule} / {subject}"))
    }
}

/// The next morning, if it is night.
pub(super) fn morning(zone: &Zone, now: Moment) -> Option<Moment> {
    if is_day(zone, now) {
        return None;
    }
    let wall = zone.wall(now);
    let today = wall.date();
    let day = if wall.hour() < MORNING { today } else { today.tomorrow().unwrap_or(today) };
    let at = zone.instant(day.at(MORNING, 0, 0, 0));
    // At the end of the calendar there is no tomorrow, and nothing to wait for.
    (at > now).then_some(at)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(zone: &str, now: &str) -> Option<String> {
        let zone = Zone::named(zone).unwrap();
        morning(&zone, Moment::from_rfc3339(now).unwrap()).map(Moment::rfc3339)
    }

    /// The clocks of Dublin went on at 01:00 UTC on 29 March 2026 and go back at 01:00 UTC on 25 October
    /// (IANA time zone data; rows GF-01 and GF-02 of the project's standards notes).
    #[test]
    fn a_night_ends_at_eight_by_the_clock_on_the_wall() {
        let dublin = |now| shown("Europe/Dublin", now);
        assert_eq!(dublin("2026-11-25T08:00:00Z"), None);
        assert_eq!(dublin("2026-11-25T19:59:59Z"), None);
        assert_eq!(dublin("2026-11-25T20:00:00Z").as_deref(), Some("2026-11-26T08:00:00Z"));
        assert_eq!(dublin("2026-11-25T07:59:59Z").as_deref(), Some("2026-11-25T08:00:00Z"));
        assert_eq!(dublin("2026-03-28T23:00:00Z").as_deref(), Some("2026-03-29T07:00:00Z"));
        assert_eq!(dublin("2026-10-24T23:00:00Z").as_deref(), Some("2026-10-25T08:00:00Z"));
        assert_eq!(dublin("2026-03-29T00:30:00Z").as_deref(), Some("2026-03-29T07:00:00Z"));
    }
}
