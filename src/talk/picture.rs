//! What stands beside a camera's picture in a mail: above all, how old it is.
//!
//! A picture tempts a tired person to stay in bed, so every text says when it was taken, and none says
//! what can be seen in it.

use std::fmt::Display;

use super::head;
use super::phrases::{self, answers, say};
use super::reader::Reader;
use crate::alarm::alert::Alert;
use crate::config::Config;
use crate::config::people::Language;
use crate::plain::ids::{DeviceId, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// A picture that was older than this when the call was made may show what was before it.
pub const OLD: Span = Span::seconds(60);

/// Less than this between alert and call is no news: both are "the alert".
const SAME: Span = Span::seconds(60);

/// The moments that a picture's age is told from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Call {
    /// When the alert was raised.
    pub raised: Moment,
    /// When this person was called.
    pub made: Moment,
}

/// "114 home field: picture from cam-1 K4T7".
pub fn subject(config: &Config, alert: &Alert, camera: &DeviceId, to: &PersonName) -> String {
    let reader = Reader::of(config, to, None);
    let what = say(answers::of(reader.language).picture, &[("camera", camera)]);
    head::head_with(config, alert, &what, &reader)
}

/// The whole text of a mail: its subject, what is said of the picture, and the rest.
pub fn mail(subject: &str, caption: &str, below: &str) -> String {
    format!("{subject}\n\n{caption}\n\n{below}")
}

/// What is said of a picture that is there; `taken` is `None` where nobody knows when it was.
pub fn caption(
    camera: &DeviceId,
    taken: Option<Moment>,
    call: &Call,
    zone: &Zone,
    language: Language,
) -> String {
    let said = answers::of(language);
    let Some(taken) = taken else {
        return say(said.picture_unknown_age, &[("camera", camera)]);
    };
    let beside = |span: Span| {
        let before = span < Span::ZERO;
        let words = if before { said.before } else { said.after };
        let span = if before { Span::from_millis(-span.millis()) } else { span };
        say(words, &[("span", &phrases::of(language).span(span))])
    };
    let late = call.made.since(call.raised) >= SAME;
    let words = if late { said.picture_taken_both } else { said.picture_taken };
    let filled: [(&str, &dyn Display); 4] = [
        ("camera", camera),
        ("beside", &beside(taken.since(call.raised))),
        ("call", &beside(taken.since(call.made))),
        ("at", &zone.clock(taken)),
    ];
    let when = say(words, &filled);
    if call.made.since(taken) > OLD {
        say(said.picture_old, &[("n", &OLD.whole_seconds()), ("when", &when)])
    } else {
        when
    }
}

/// What is said where there is no picture.
pub fn missing(camera: &DeviceId, why: &str, language: Language) -> String {
    let why = why.trim_end_matches('.');
    say(answers::of(language).picture_missing, &[("camera", camera), ("why", &why)])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(raised: i64, made: i64, taken: Option<i64>) -> String {
        // 02:05:00 in Dublin.
        let zero = Moment::from_rfc3339("2026-11-25T02:05:00Z").unwrap();
        let at = |seconds: i64| zero + Span::seconds(seconds);
        let call = Call { raised: at(raised), made: at(made) };
        let zone = Zone::named("Europe/Dublin").unwrap();
        caption(&DeviceId::new("cam-1"), taken.map(at), &call, &zone, Language::English)
    }

    #[test]
    fn a_picture_says_how_long_before_or_after_the_alert_it_was_taken() {
        assert_eq!(said(0, 0, Some(4)), "Picture from cam-1, taken 4 s after the alert, at 02:05.");
        assert_eq!(
            said(0, 0, Some(-59)),
            "Picture from cam-1, taken 59 s before the alert, at 02:04."
        );
        assert_eq!(
            said(0, 600, Some(603)),
            "Picture from cam-1, taken 10 min after the alert and 3 s after this call, at 02:15."
        );
    }

    /// Source: needs.md N81, a picture older than 60 s is labelled.
    #[test]
    fn a_picture_older_than_a_minute_is_labelled() {
        assert!(!said(0, 0, Some(-60)).contains("OLDER"), "exactly a minute is not older");
        assert_eq!(
            said(0, 0, Some(-720)),
            "OLDER THAN 60 s: Picture from cam-1, taken 12 min before the alert, at 01:53. \
             She may look different now."
        );
        assert_eq!(
            said(0, 600, Some(120)),
            "OLDER THAN 60 s: Picture from cam-1, taken 2 min after the alert and 8 min before this \
             call, at 02:07. She may look different now.",
            "of the call before this one"
        );
    }

    #[test]
    fn where_nobody_knows_when_it_was_taken_the_mail_says_so() {
        assert_eq!(
            said(0, 0, None),
            "Picture from cam-1, age unknown: the broker kept it from earlier, and nothing says how \
             old it is. She may look different now."
        );
    }

    #[test]
    fn where_there_is_no_picture_the_mail_says_why_and_that_the_call_stands() {
        assert_eq!(
            missing(&DeviceId::new("cam-1"), "it gave no answer within 20 s", Language::English),
            "No picture could be had from cam-1: it gave no answer within 20 s. The call stands."
        );
    }
}
