//! Whether an amount has risen or fallen against her own earlier days; what is compared with what stands at
//! `config::rules::Change`.
//!
//! Whole thousandths all the way: the same journal gives the same answer on every machine.

use super::answer::Answer;
use super::devices::{Asked, Voice, together};
use super::verdict::{Figures, Voices};
use crate::config::rules::{Change, Turn};
use crate::herd::dam::Dam;
use crate::herd::series::{Sample, Series};
use crate::herd::told::Told;
use crate::plain::amount::Amount;
use crate::plain::moment::{Moment, Span};

/// The newest word and what came within an hour before it are one.
const NEWEST: Span = Span::hours(1);

/// So near to the same time of day is the like hour: twice a day by hand is never to the minute (common
/// practice, no source; facts.md T-05 and X-13 say to compare like hour with like hour, not how near).
const LIKE: Span = Span::minutes(90);

/// Fewer words than this before are no level of her own (common practice, no source).
const ENOUGH: usize = 3;

/// How far back a rule about a change looks.
pub(super) fn back(change: &Change) -> Span {
    change.fresh + NEWEST + change.over + LIKE
}

pub(super) fn ask(dam: &Dam, ask: &Change, asked: Asked<'_>, now: Moment) -> Answer {
    let told = dam.series(&ask.sign).into_iter().flat_map(Told::iter);
    let voices = told.map(|told| Voice {
        device: told.device,
        kind: told.kind.clone(),
        answer: changed(&told.what, ask, now),
    });
    together(voices.collect(), asked)
}

fn changed(series: &Series, ask: &Change, now: Moment) -> Answer {
    let samples: Vec<Sample> = series.until(now).collect();
    let Some(newest) = samples.last().map(|sample| sample.0) else {
        return Answer::unknown(None);
    };
    let stale = newest + ask.fresh;
    if stale <= now {
        return Answer::unknown(None);
    }
    let within = |after: Moment, until: Moment| {
        let span = move |sample: &&Sample| sample.0 > after && sample.0 <= until;
        samples.iter().filter(span).map(|sample| sample.1).collect::<Vec<Amount>>()
    };
    let value = Amount::mean(&within(newest - NEWEST, newest));
    let Some((before, of_the_hour)) = before(newest, ask, &within) else {
        return Answer::unknown(Some(stale));
    };
    let Some(value) = value else { return Answer::unknown(Some(stale)) };
    let turned = match ask.turn {
        Turn::Rise => value.less(before),
        Turn::Fall => before.less(value),
    };
    if turned < ask.least {
        return Answer::no(None, Some(stale));
    }
    let figures = Figures::Changed {
        sign: ask.sign.clone(),
        value,
        before,
        unit: ask.unit.clone(),
        of_the_hour,
        over: ask.over,
        voices: Voices::default(),
    };
    Answer::yes(newest, figures, Some(stale))
}

/// What it was before, and whether that is of the like hour alone.
fn before(
    newest: Moment,
    ask: &Change,
    within: &dyn Fn(Moment, Moment) -> Vec<Amount>,
) -> Option<(Amount, bool)> {
    let day = Span::days(1).millis();
    let days = ask.over.millis() / day;
    let like: Vec<Amount> = (1..=days)
        .filter_map(|ago| {
            let then = newest - Span::from_millis(ago * day);
            Amount::mean(&within(then - LIKE, then + LIKE))
        })
        .collect();
    let like_enough = i64::try_from(like.len()).unwrap_or(i64::MAX) * 2 >= days;
    if like_enough && let Some(mean) = Amount::mean(&like) {
        return Some((mean, true));
    }
    let all = within(newest - NEWEST - ask.over, newest - NEWEST);
    (all.len() >= ENOUGH).then(|| Amount::mean(&all)).flatten().map(|mean| (mean, false))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::rules::Devices;
    use crate::herd::series::Keep;
    use crate::rules::answer::Says;

    fn hour(n: i64) -> Moment {
        Moment::default() + Span::hours(n)
    }

    fn rise(over: i64, tenths: i64) -> Change {
        Change {
            sign: "temp".into(),
            over: Span::hours(over),
            turn: Turn::Rise,
            least: Amount::thousandths(tenths * 100),
            fresh: Span::hours(12),
            unit: "Cel".into(),
            devices: Devices::Any,
        }
    }

    /// Tenths by the hour.
    fn series(samples: &[(i64, i64)], ask: &Change) -> Series {
        let keep = Keep { back: back(ask), spacing: Span::ZERO };
        let mut series = Series::default();
        for (at, value) in samples {
            assert!(series.add(Sample(hour(*at), Amount::thousandths(value * 100)), keep));
        }
        series
    }

    /// What it says, the two amounts in thousandths, and whether like hour was compared with like hour.
    fn asked(samples: &[(i64, i64)], ask: &Change, now: i64) -> String {
        match changed(&series(samples, ask), ask, hour(now)).says {
            Says::Yes(_, Figures::Changed { value, before, of_the_hour, .. }) => {
                format!("yes {value} {before} {of_the_hour}")
            }
            Says::Yes(..) => "yes".to_owned(),
            Says::No(_) => "no".to_owned(),
            Says::Unknown => "unknown".to_owned(),
        }
    }

    /// facts.md T-05 (vaginal and rectal temperatures of 85 and 55 cows, a peer-reviewed study): the daily
    /// rhythm goes on, so like hour is compared with like hour. Mornings at 38.4 and evenings at 38.9 are no
    /// rise of half a degree each evening.
    #[test]
    fn an_evening_is_compared_with_evenings() {
        let ask = rise(48, 5);
        let rhythm = [(0, 384), (12, 389), (24, 384), (36, 389), (48, 384), (60, 389)];
        assert_eq!(asked(&rhythm, &ask, 60), "no");
        let fever = [(0, 384), (12, 389), (24, 384), (36, 389), (48, 384), (60, 394)];
        assert_eq!(asked(&fever, &ask, 60), "yes 39.4 38.9 true");
    }

    /// facts.md T-03: a fall of 0.3 degrees within 24 h. The edge itself is enough, a thousandth less is not.
    #[test]
    fn a_fall_of_three_tenths_against_the_day_before_is_found_at_the_edge() {
        let ask = Change { turn: Turn::Fall, ..rise(24, 3) };
        assert_eq!(asked(&[(0, 387), (24, 384)], &ask, 24), "yes 38.4 38.7 true");
        assert_eq!(asked(&[(0, 387), (24, 385)], &ask, 24), "no");
        assert_eq!(asked(&[(0, 387), (24, 390)], &ask, 24), "no", "it has risen");
    }

    #[test]
    fn without_the_like_hour_three_words_before_are_enough_and_two_are_not() {
        let ask = rise(48, 8);
        assert_eq!(asked(&[(10, 386), (14, 387), (41, 396)], &ask, 41), "unknown");
        let three = [(10, 386), (14, 387), (31, 386), (41, 396)];
        assert_eq!(asked(&three, &ask, 41), "yes 39.6 38.633 false");
        assert_eq!(asked(&[(41, 396)], &ask, 41), "unknown");
        assert_eq!(asked(&three, &ask, 53), "unknown", "it is twelve hours old");
        assert_eq!(asked(&three, &ask, 52), "yes 39.6 38.633 false");
    }

    #[test]
    fn half_of_the_days_must_have_the_like_hour() {
        let ask = rise(72, 8);
        let one = [(0, 386), (80, 386), (84, 386), (88, 386), (96, 400)];
        assert_eq!(asked(&one, &ask, 96), "yes 40 38.6 false", "one of three days");
        let two = [(24, 386), (48, 388), (80, 395), (96, 400)];
        assert_eq!(asked(&two, &ask, 96), "yes 40 38.7 true");
    }
}
