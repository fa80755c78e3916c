//! What one device's counts, amounts or scores say: so many within a span, an edge crossed and held,
//! n of the last m.
//!
//! All of it is computed from what was told, each time anew: nothing here remembers that it was
//! wrong before.

use std::collections::VecDeque;

use super::answer::Answer;
use super::devices::{Asked, Voice, together};
use super::verdict::{Figures, Voices};
use crate::config::rules::{Edge, Level, Seen};
use crate::herd::dam::Dam;
use crate::herd::series::{Sample, Series};
use crate::herd::tally::Tally;
use crate::herd::told::Told;
use crate::plain::amount::Amount;
use crate::plain::moment::{Moment, Span};

/// So many of a sign within a span.
pub(super) struct Count<'a> {
    pub(super) sign: &'a str,
    pub(super) over: Span,
    pub(super) at_least: u64,
}

pub(super) fn count(dam: &Dam, ask: &Count<'_>, asked: Asked<'_>, now: Moment) -> Answer {
    let told = dam.tallies(ask.sign).into_iter().flat_map(Told::iter);
    let voices = told.map(|told| Voice {
        device: told.device,
        kind: told.kind.clone(),
        answer: counted(&told.what, ask, now),
    });
    together(voices.collect(), asked)
}

pub(super) fn level(dam: &Dam, ask: &Level, asked: Asked<'_>, now: Moment) -> Answer {
    let told = dam.series(&ask.sign).into_iter().flat_map(Told::iter);
    let voices = told.map(|told| Voice {
        device: told.device,
        kind: told.kind.clone(),
        answer: held(&told.what, ask, now),
    });
    together(voices.collect(), asked)
}

pub(super) fn seen(dam: &Dam, ask: &Seen, asked: Asked<'_>, now: Moment) -> Answer {
    let in_region = |device: u32| {
        ask.region.as_ref().is_none_or(|region| {
            // A camera's part of a picture is a device of its own: camera/region.
            let id = asked.wearing.id(device);
            id.as_str().split_once('/').is_some_and(|(_, part)| part == region)
        })
    };
    let told = dam.series(&ask.sign).into_iter().flat_map(Told::iter);
    let voices = told.filter(|told| in_region(told.device)).map(|told| Voice {
        device: told.device,
        kind: told.kind.clone(),
        answer: scored(&told.what, ask, now),
    });
    together(voices.collect(), asked)
}

fn counted(tally: &Tally, ask: &Count<'_>, now: Moment) -> Answer {
    let n = tally.within(now, ask.over);
    if n < ask.at_least {
        return Answer::no(None, None);
    }
    let since = tally.reached(now, ask.over, ask.at_least).unwrap_or(now);
    let figures = Figures::Counted {
        sign: ask.sign.to_owned(),
        n,
        over: ask.over,
        limit: ask.at_least,
        voices: Voices::default(),
    };
    Answer::yes(since, figures, Some(tally.falls_below(now, ask.over, ask.at_least)))
}

/// Whether an edge has been crossed and held. It ends where it is clear, not where it began, so that an
/// amount that wavers about the edge is one finding (needs.md N14), and it takes as many messages to
/// end it as it took to begin it (needs.md N47).
fn held(series: &Series, ask: &Level, now: Moment) -> Answer {
    let mut run = Run::default();
    let mut last: Option<Sample> = None;
    for sample in series.until(now) {
        if last.is_some_and(|last| sample.0.since(last.0) > ask.fresh) {
            // Nobody knows what it was in between.
            run = Run::default();
        }
        run.takes(sample, ask);
        last = Some(sample);
    }
    let Some(last) = last else {
        return Answer::unknown(None);
    };
    let stale = last.0 + ask.fresh;
    if stale <= now {
        return Answer::unknown(None);
    }
    let Some(began) = run.beyond else {
        return Answer::no(run.changed, Some(stale));
    };
    let due = began + ask.hold;
    if now < due {
        return Answer::no(None, Some(due.min(stale)));
    }
    let (above, edge) = match ask.edge {
        Edge::Above(edge) => (true, edge),
        Edge::Below(edge) => (false, edge),
    };
    let figures = Figures::Level {
        sign: ask.sign.clone(),
        value: last.1,
        unit: ask.unit.clone(),
        above,
        edge,
        began,
        voices: Voices::default(),
    };
    Answer::yes(due, figures, Some(stale))
}

/// A stretch of messages without a gap.
#[derive(Default)]
struct Run {
    /// Since when it has been beyond the edge.
    beyond: Option<Moment>,
    /// When it last changed sides, or the stretch began.
    changed: Option<Moment>,
    /// Which of the last messages since then speak for the other side.
    other: VecDeque<bool>,
}

impl Run {
    fn takes(&mut self, sample: Sample, ask: &Level) {
        self.changed.get_or_insert(sample.0);
        let speaks = match self.beyond {
            None => is_beyond(sample.1, ask.edge),
            Some(_) => is_clear(sample.1, ask),
        };
        self.other.push_back(speaks);
        if self.other.len() > ask.of {
            self.other.pop_front();
        }
        if self.other.iter().filter(|speaks| **speaks).count() >= ask.times {
            self.beyond = if self.beyond.is_none() { Some(sample.0) } else { None };
            self.changed = Some(sample.0);
            self.other.clear();
        }
    }
}

fn is_beyond(amount: Amount, edge: Edge) -> bool {
    match edge {
        Edge::Above(edge) => amount > edge,
        Edge::Below(edge) => amount < edge,
    }
}

fn is_clear(amount: Amount, ask: &Level) -> bool {
    match ask.edge {
        Edge::Above(_) => amount <= ask.clear,
        Edge::Below(_) => amount >= ask.clear,
    }
}

/// Whether enough of the last pictures score: one picture alone is often wrong.
fn scored(series: &Series, ask: &Seen, now: Moment) -> Answer {
    let recent = series.until(now).rev().take_while(|sample| sample.0 > now - ask.over);
    let pictures: Vec<Sample> = recent.take(ask.of).collect();
    let Some(newest) = pictures.first() else {
        return Answer::unknown(None);
    };
    // Newest first.
    let hits: Vec<Moment> =
        pictures.iter().filter(|sample| sample.1 >= ask.score).map(|sample| sample.0).collect();
    let (Some(last_needed), Some(reached)) =
        (hits.get(ask.times - 1), hits.len().checked_sub(ask.times).and_then(|at| hits.get(at)))
    else {
        return Answer::no(None, Some(newest.0 + ask.over));
    };
    let figures = Figures::Seen {
        sign: ask.sign.clone(),
        n: hits.len(),
        of: pictures.len(),
        voices: Voices::default(),
    };
    Answer::yes(*reached, figures, Some(*last_needed + ask.over))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::rules::Devices;
    use crate::herd::series::Keep;
    use crate::rules::answer::Says;

    const KEEP: Keep = Keep { back: Span::hours(12), spacing: Span::ZERO };

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn tenths(n: i64) -> Amount {
        Amount::thousandths(n * 100)
    }

    /// Tenths by the minute.
    fn series(samples: &[(i64, i64)]) -> Series {
        let mut series = Series::default();
        for (at, value) in samples {
            assert!(series.add(Sample(minute(*at), tenths(*value)), KEEP));
        }
        series
    }

    fn fever() -> Level {
        Level {
            sign: "temperature".into(),
            edge: Edge::Above(tenths(395)),
            clear: tenths(395),
            hold: Span::ZERO,
            times: 1,
            of: 1,
            fresh: Span::hours(1),
            unit: "Cel".into(),
            devices: Devices::Any,
        }
    }

    /// How it stands, since when, and when to ask again, in minutes.
    fn asked(series: &Series, ask: &Level, now: i64) -> (char, Option<i64>, Option<i64>) {
        told(&held(series, ask, minute(now)))
    }

    fn told(answer: &Answer) -> (char, Option<i64>, Option<i64>) {
        let minutes = |at: Moment| at.seconds() / 60;
        let (says, since) = match &answer.says {
            Says::Yes(since, _) => ('y', Some(*since)),
            Says::No(since) => ('n', *since),
            Says::Unknown => ('?', None),
        };
        (says, since.map(minutes), answer.until.map(minutes))
    }

    /// needs.md N47: a single spike is silent, and three in a row are not.
    #[test]
    fn one_spike_is_silent_and_three_in_a_row_are_not() {
        let ask = Level { times: 3, of: 3, ..fever() };
        let spike = series(&[(0, 388), (10, 412), (20, 389), (30, 388)]);
        assert_eq!(asked(&spike, &ask, 35).0, 'n');
        let three = series(&[(0, 388), (10, 402), (20, 403), (30, 404)]);
        assert_eq!(asked(&three, &ask, 29).0, 'n');
        assert_eq!(asked(&three, &ask, 35), ('y', Some(30), Some(90)));
    }

    /// needs.md N14: 980, 1010, 990, 1020 about 1000 begins once and ends once.
    #[test]
    fn what_wavers_about_the_edge_begins_once_and_ends_once() {
        let edge = Edge::Above(Amount::thousandths(1_000_000));
        let ask = Level { edge, clear: Amount::thousandths(950_000), ..fever() };
        let values = [980, 1010, 990, 1020, 990, 1010, 940, 980];
        let mut wavers = Series::default();
        let mut changes = Vec::new();
        for (at, value) in (0_i64..).zip(values) {
            wavers.add(Sample(minute(at * 10), Amount::thousandths(value * 1_000)), KEEP);
            changes.push(asked(&wavers, &ask, at * 10).0);
        }
        changes.dedup();
        assert_eq!(changes, ['n', 'y', 'n']);
    }

    #[test]
    fn an_edge_must_be_held_and_one_amount_within_it_begins_anew() {
        let ask = Level { hold: Span::minutes(30), ..fever() };
        let mut hot = series(&[(0, 400), (15, 401)]);
        assert_eq!(asked(&hot, &ask, 16), ('n', None, Some(30)));
        assert_eq!(asked(&hot, &ask, 31), ('y', Some(30), Some(75)));
        assert!(hot.add(Sample(minute(10), tenths(390)), KEEP), "it comes late");
        assert_eq!(asked(&hot, &ask, 31), ('n', None, Some(45)));
    }

    #[test]
    fn an_old_amount_says_nothing_and_a_gap_begins_anew() {
        let ask = Level { hold: Span::minutes(30), ..fever() };
        let hot = series(&[(0, 400), (20, 401)]);
        assert_eq!(asked(&hot, &ask, 79).0, 'y');
        assert_eq!(asked(&hot, &ask, 80), ('?', None, None));
        let again = series(&[(0, 400), (20, 401), (90, 402)]);
        assert_eq!(
            asked(&again, &ask, 91),
            ('n', None, Some(120)),
            "nobody knows of the hour between"
        );
        assert_eq!(asked(&series(&[]), &ask, 5), ('?', None, None));
    }

    #[test]
    fn below_is_the_mirror_of_above() {
        let ask = Level { edge: Edge::Below(tenths(375)), clear: tenths(378), ..fever() };
        let cold = series(&[(0, 380), (10, 374), (20, 376)]);
        assert_eq!(asked(&cold, &ask, 25), ('y', Some(10), Some(80)));
        let warm = series(&[(0, 380), (10, 374), (20, 376), (30, 378)]);
        assert_eq!(asked(&warm, &ask, 31), ('n', Some(30), Some(90)));
    }

    #[test]
    fn a_camera_must_see_it_in_three_of_its_last_five_pictures() {
        let ask = Seen {
            sign: "lying on side".into(),
            score: Amount::thousandths(700),
            times: 3,
            of: 5,
            over: Span::minutes(10),
            region: None,
            devices: Devices::Any,
        };
        let frames = series(&[(0, 9), (1, 1), (2, 8), (3, 2), (4, 7), (5, 1)]);
        let at = |now| told(&scored(&frames, &ask, minute(now)));
        assert_eq!(at(3).0, 'n', "two of four");
        assert_eq!(at(4), ('y', Some(4), Some(10)));
        assert_eq!(at(5), ('n', None, Some(15)), "the first picture is the sixth from now");
        assert_eq!(at(15), ('?', None, None));
    }
}
