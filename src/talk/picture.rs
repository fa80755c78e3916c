//! What stands beside a camera's picture in a mail: above all, how old it is.
//!
//! A picture tempts a tired person to stay in bed, so every text says when it was taken, and none says
//! what can be seen in it.

use super::head;
use super::reader::Reader;
use crate::alarm::alert::Alert;
use crate::config::Config;
use crate::plain::english;
use crate::plain::ids::DeviceId;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

/// A picture that was older than this when the call was made may show what was before it.
pub const OLD: Span = Span::seconds(60);

/// Less than this between alert and call is no news: both are "the alert".
const SAME: Span = Span::seconds(60);

/// What follows whatever is said of the picture.
pub const BELOW: &str = "\
A picture shows one side of her at one moment. It is no all-clear: go and look, as the call says.
It does not replace your vet or your own eyes.

Reply to this mail as to the call before it: going, pass, or what you see.
";

/// The moments that a picture's age is told from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Call {
    /// When the alert was raised.
    pub raised: Moment,
    /// When this person was called.
    pub made: Moment,
}

/// "114 home field: picture from cam-1 K4T7".
pub fn subject(config: &Config, alert: &Alert, camera: &DeviceId) -> String {
    head::head_with(config, alert, &format!("picture from {camera}"), &Reader::of_the_house())
}

/// The whole text of a mail: its subject, what is said of the picture, and the rest.
pub fn mail(subject: &str, caption: &str, below: &str) -> String {
    format!("{subject}\n\n{caption}\n\n{below}")
}

/// What is said of a picture that is there; `taken` is `None` where nobody knows when it was.
pub fn caption(camera: &DeviceId, taken: Option<Moment>, call: &Call, zone: &Zone) -> String {
    let Some(taken) = taken else {
        return format!(
            "Picture from {camera}, age unknown: the broker kept it from earlier, and nothing says how \
             old it is. She may look different now."
        );
    };
    let mut words = format!("taken {} the alert", beside(taken.since(call.raised)));
    if call.made.since(call.raised) >= SAME {
        words.push_str(&format!(" and {} this call", beside(taken.since(call.made))));
    }
    let when = format!("Picture from {camera}, {words}, at {}.", zone.clock(taken));
    if call.made.since(taken) > OLD {
        format!("OLDER THAN {} s: {when} She may look different now.", OLD.whole_seconds())
    } else {
        when
    }
}

/// What is said where there is no picture.
pub fn missing(camera: &DeviceId, why: &str) -> String {
    format!(
        "No picture could be had from {camera}: {}. The call stands.",
        why.trim_end_matches('.')
    )
}

/// "4 s after", "12 min before".
fn beside(span: Span) -> String {
    if span < Span::ZERO {
        format!("{} before", english::span(Span::from_millis(-span.millis())))
    } else {
        format!("{} after", english::span(span))
    }
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
        caption(&DeviceId::new("cam-1"), taken.map(at), &call, &zone)
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
            missing(&DeviceId::new("cam-1"), "it gave no answer within 20 s"),
            "No picture could be had from cam-1: it gave no answer within 20 s. The call stands."
        );
    }
}
