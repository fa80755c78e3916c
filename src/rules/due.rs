//! Asking where a dam stands to her window: past it, before it, or so early that it is lost.
//!
//! A dam without a date is unknown, not punctual; what somebody has seen needs no date.

use super::answer::Answer;
use super::book::Start;
use super::devices::Wearing;
use super::verdict::Figures;
use crate::config::rules::DueWhen;
use crate::herd::dam::Dam;
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::moment::{Moment, Span};

const DAY: i64 = Span::days(1).millis();

/// So many days to or past her window, and what ends it once it has been said.
pub(super) struct Asked<'a> {
    pub(super) when: DueWhen,
    pub(super) by: Span,
    pub(super) until: &'a [Start],
}

impl Asked<'_> {
    pub(super) fn of(&self, dam: &Dam, wearing: &dyn Wearing, now: Moment) -> Answer {
        match self.when {
            DueWhen::Past => self.past(dam, wearing, now),
            DueWhen::Early => self.early(dam, wearing),
            DueWhen::Lost => self.lost(dam, wearing),
        }
    }

    /// Asked so many days past her window, and again after as many more: whoever has seen to it is left
    /// alone until then.
    fn past(&self, dam: &Dam, wearing: &dyn Wearing, now: Moment) -> Answer {
        let Some(window) = wearing.window() else { return Answer::unknown(None) };
        if dam.stage >= Stage::Third || now >= window.given_up {
            // Weeks past it the date was wrong, and the list of who is due says so.
            return Answer::no(None, None);
        }
        let every = self.by.millis().max(DAY);
        let behind = now.since(window.over).millis();
        let first = window.over + self.by;
        if now < first {
            return Answer::no(None, Some(first));
        }
        let times = (behind - self.by.millis()) / every;
        let since = first + Span::from_millis(times * every);
        let again = (since + Span::from_millis(every)).min(window.given_up);
        if self.is_ended(dam, since) {
            return Answer::no(Some(since), Some(again));
        }
        let (day, days) = (wearing.day(now), behind / DAY);
        let figures = Figures::Due { when: DueWhen::Past, day, days };
        Answer::yes(first, figures, Some(window.given_up))
    }

    fn early(&self, dam: &Dam, wearing: &dyn Wearing) -> Answer {
        let Some(window) = wearing.window() else { return Answer::unknown(None) };
        let Some(at) = born(dam).or_else(|| begun(dam)) else {
            return Answer::no(None, None);
        };
        let before = window.opens.since(at);
        let is_lost = window.term.is_some_and(|term| at < term);
        if is_lost || at >= window.opens || before.millis() < self.by.millis() {
            // So early that it is lost is another finding.
            return Answer::no(None, None);
        }
        if self.is_ended(dam, at) {
            return Answer::no(Some(at), None);
        }
        // The day itself counts: an hour before the window opens is a day early.
        let days = (before.millis() - 1) / DAY + 1;
        Answer::yes(at, Figures::Due { when: DueWhen::Early, day: wearing.day(at), days }, None)
    }

    fn lost(&self, dam: &Dam, wearing: &dyn Wearing) -> Answer {
        let said = dam.track(Mark::Aborted).map(|track| track.first);
        let term = wearing.window().and_then(|window| window.term);
        let too_soon = born(dam).filter(|at| term.is_some_and(|term| *at < term));
        let Some(at) = said.or(too_soon) else { return Answer::no(None, None) };
        if self.is_ended(dam, at) {
            return Answer::no(Some(at), None);
        }
        let days = term.map_or(0, |term| (term.since(at).millis().max(0) + DAY - 1) / DAY);
        Answer::yes(at, Figures::Due { when: DueWhen::Lost, day: wearing.day(at), days }, None)
    }

    /// One of what ends it has come since then.
    fn is_ended(&self, dam: &Dam, since: Moment) -> bool {
        self.until.iter().any(|stop| match stop {
            Start::Mark(mark) => dam.track(*mark).is_some_and(|track| track.last >= since),
            Start::Stage(stage) => dam.stage >= *stage,
            Start::Sign(sign) => dam.counted(sign).is_some_and(|track| track.last >= since),
        })
    }
}

fn born(dam: &Dam) -> Option<Moment> {
    dam.track(Mark::Calf).map(|track| track.first)
}

/// When she began, if she has: what is known of the latest stage that leads to the calf.
fn begun(dam: &Dam) -> Option<Moment> {
    let stages = [Stage::First, Stage::Second, Stage::Third];
    stages.into_iter().filter_map(|stage| dam.entered(stage)).max()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::herd::window::Edges;
    use crate::plain::ids::DeviceId;
    use crate::rules::answer::Says;
    use crate::rules::devices::Standing;

    /// Day 0 is the day of service at midnight; her window is days 272 to 294 and term is day 260.
    struct Served;

    fn day(n: i64) -> Moment {
        Moment::default() + Span::days(n)
    }

    impl Wearing for Served {
        fn standing(&self, _device: u32) -> Standing {
            Standing { on: false, heard: false, until: None }
        }

        fn id(&self, device: u32) -> DeviceId {
            DeviceId::new(&device.to_string())
        }

        fn window(&self) -> Option<Edges> {
            let over = day(294) + Span::hours(9);
            Some(Edges { opens: day(272), given_up: day(316), over, term: Some(day(260)) })
        }

        fn day(&self, at: Moment) -> Option<(i64, i64)> {
            let day = at.seconds() / 86_400;
            Some((day, day))
        }
    }

    fn figures(answer: &Answer) -> Option<(i64, i64)> {
        match &answer.says {
            Says::Yes(_, Figures::Due { day: Some((day, _)), days, .. }) => Some((*day, *days)),
            Says::Yes(..) | Says::No(_) | Says::Unknown => None,
        }
    }

    fn asked(when: DueWhen, by: Span, dam: &Dam, now: Moment) -> Answer {
        let until = [Start::Mark(Mark::Seen), Start::Mark(Mark::Vet)];
        Asked { when, by, until: &until }.of(dam, &Served, now)
    }

    #[test]
    fn overdue_is_asked_so_many_mornings_past_the_last_day_and_again_after_as_many_more() {
        let mut dam = Dam::default();
        let three = |dam: &Dam, now| asked(DueWhen::Past, Span::days(3), dam, now);
        let morning = |n| day(n) + Span::hours(9);
        let before = three(&dam, day(280));
        assert_eq!((figures(&before), before.until), (None, Some(morning(297))));
        let then = three(&dam, morning(297));
        assert_eq!((figures(&then), then.until), (Some((297, 3)), Some(day(316))));
        let _ = dam.mark(Mark::Seen, morning(297) + Span::hours(1));
        let seen = three(&dam, morning(299));
        assert_eq!((figures(&seen), seen.until), (None, Some(morning(300))));
        assert_eq!(figures(&three(&dam, morning(300))), Some((300, 6)));
        assert_eq!(figures(&three(&dam, day(316))), None, "the date was wrong");
        let _ = dam.mark(Mark::Calf, day(301));
        assert_eq!(figures(&three(&dam, morning(303))), None);
        let past = Asked { when: DueWhen::Past, by: Span::ZERO, until: &[] };
        let unknown = past.of(&dam, &super::super::devices::Nothing, day(999));
        assert_eq!(unknown.says, Says::Unknown, "a dam without a date is not punctual");
    }

    #[test]
    fn an_early_birth_is_before_the_window_and_a_lost_one_before_term() {
        let early = |dam: &Dam| asked(DueWhen::Early, Span::ZERO, dam, day(300));
        let lost = |dam: &Dam| asked(DueWhen::Lost, Span::ZERO, dam, day(300));
        let calved = |at: Moment| {
            let mut dam = Dam::default();
            let _ = dam.mark(Mark::Vet, day(100));
            let _ = dam.mark(Mark::Calf, at);
            dam
        };
        let minute = Span::minutes(1);
        for (at, is_early, is_lost) in [
            (day(272), None, None),
            (day(272) - minute, Some((271, 1)), None),
            (day(260), Some((260, 12)), None),
            (day(260) - minute, None, Some((259, 1))),
            (day(200), None, Some((200, 60))),
        ] {
            let mut dam = calved(at);
            assert_eq!((figures(&early(&dam)), figures(&lost(&dam))), (is_early, is_lost));
            let _ = dam.mark(Mark::Vet, at + minute);
            assert_eq!((figures(&early(&dam)), figures(&lost(&dam))), (None, None));
        }
        let four = asked(DueWhen::Early, Span::days(4), &calved(day(270)), day(300));
        assert_eq!(figures(&four), None, "two days early is not four");
        let mut told = Dam::default();
        let _ = told.mark(Mark::Aborted, day(265));
        assert_eq!(figures(&lost(&told)), Some((265, 0)), "who has seen it needs no date");
    }
}
