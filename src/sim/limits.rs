//! What the shipped rules promise, written down a second time and by hand, so that the watch is not
//! measured with its own yardstick. If a shipped rule changes, this must be changed with it.

use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::moment::Span;

/// A clock about a dam: wrong from `limit` after it began, while she is in one of the stages.
pub(super) struct Clock {
    pub(super) rule: &'static str,
    pub(super) began: Began,
    pub(super) stages: &'static [Stage],
    pub(super) until: &'static [Mark],
    pub(super) cow: Span,
    pub(super) heifer: Span,
}

pub(super) enum Began {
    /// When she entered this stage.
    Entered(Stage),
    /// The earliest of these marks.
    First(&'static [Mark]),
    /// The latest of these marks.
    Last(&'static [Mark]),
}

const SECOND: &[Mark] = &[Mark::WaterBag, Mark::Feet, Mark::Nose, Mark::Progress];
const AFTER: &[Stage] = &[Stage::Third, Stage::Recovering];

pub(super) const CLOCKS: &[Clock] = &[
    // facts.md S2-02, S2-03.
    Clock {
        rule: "second stage too long",
        began: Began::Entered(Stage::Second),
        stages: &[Stage::Second],
        until: &[],
        cow: Span::minutes(30),
        heifer: Span::minutes(60),
    },
    // facts.md S2-05.
    Clock {
        rule: "second stage far too long",
        began: Began::Entered(Stage::Second),
        stages: &[Stage::Second],
        until: &[],
        cow: Span::minutes(70),
        heifer: Span::minutes(70),
    },
    // facts.md S2-13, S2-34.
    Clock {
        rule: "second stage two hours",
        began: Began::Entered(Stage::Second),
        stages: &[Stage::Second],
        until: &[],
        cow: Span::minutes(120),
        heifer: Span::minutes(120),
    },
    // Between facts.md S2-15 and S2-18.
    Clock {
        rule: "no progress in second stage",
        began: Began::Last(SECOND),
        stages: &[Stage::Second],
        until: &[],
        cow: Span::minutes(20),
        heifer: Span::minutes(20),
    },
    // facts.md S1-05.
    Clock {
        rule: "first stage stalled",
        began: Began::Entered(Stage::First),
        stages: &[Stage::First],
        until: &[],
        cow: Span::hours(6),
        heifer: Span::hours(8),
    },
    // facts.md S3-03.
    Clock {
        rule: "placenta not passed",
        began: Began::First(&[Mark::Calf]),
        stages: AFTER,
        until: &[Mark::Placenta],
        cow: Span::hours(12),
        heifer: Span::hours(12),
    },
    // facts.md C-05.
    Clock {
        rule: "calf not up",
        began: Began::First(&[Mark::Calf]),
        stages: AFTER,
        until: &[Mark::Up, Mark::Sucked, Mark::CalfDead],
        cow: Span::hours(1),
        heifer: Span::hours(1),
    },
    // facts.md C-07.
    Clock {
        rule: "calf not sucked",
        began: Began::First(&[Mark::Calf]),
        stages: AFTER,
        until: &[Mark::Sucked, Mark::Colostrum, Mark::CalfDead],
        cow: Span::hours(2),
        heifer: Span::hours(2),
    },
    // facts.md I-10.
    Clock {
        rule: "calf still not sucked",
        began: Began::First(&[Mark::Calf]),
        stages: AFTER,
        until: &[Mark::Sucked, Mark::Colostrum, Mark::CalfDead],
        cow: Span::hours(6),
        heifer: Span::hours(6),
    },
];

/// Contractions within an hour that mean she is building up (common practice, no source).
pub(super) const BUILDING: &str = "contractions building";
pub(super) const BUILDING_AT: u64 = 8;
pub(super) const BUILDING_OVER: Span = Span::hours(1);
pub(super) const BUILDING_IN: &[Stage] = &[Stage::Carrying, Stage::First];

/// Efforts that go on half an hour after the calf may be a twin (common practice, no source).
pub(super) const EFFORTS: &str = "efforts after the calf";
pub(super) const EFFORTS_AT: u64 = 10;
pub(super) const EFFORTS_OVER: Span = Span::minutes(30);
pub(super) const EFFORTS_FROM: Span = Span::minutes(30);

/// Two feet are out and no nose, and somebody calls that progress (facts.md S2-18, S2-22).
pub(super) const NO_NOSE: &str = "two feet and no nose";
pub(super) const NO_NOSE_AFTER_FEET: Span = Span::minutes(20);

/// A calf is dead before it is born, and nobody calls the vet (common practice, no source).
pub(super) const DEAD_INSIDE: &str = "dead calf inside";

pub(super) const SILENT: &str = "sensor silent";
pub(super) const SILENT_AFTER: Span = Span::minutes(45);
/// A device may miss this many of its own beats.
pub(super) const SILENT_BEATS: i64 = 3;

pub(super) const LINE_DOWN: &str = "line down";
pub(super) const LINE_DOWN_AFTER: Span = Span::minutes(5);
pub(super) const JOURNAL_STUCK: &str = "journal stuck";
pub(super) const JOURNAL_STUCK_AFTER: Span = Span::minutes(1);
pub(super) const SESSION_LOST: &str = "session lost";
pub(super) const SESSION_LOST_FOR: Span = Span::hours(1);
pub(super) const REFUSED: &str = "subscription refused";

/// What is said of a birth, and is unsaid with it.
pub(super) const OF_A_BIRTH: [Mark; 6] =
    [Mark::Calf, Mark::SecondCalf, Mark::Up, Mark::Sucked, Mark::Colostrum, Mark::CalfDead];

/// A line that was away for less was not away, as far as silence goes.
pub(super) const FLAP: Span = Span::minutes(1);

/// She is let go so long after the calf at the last (common practice, no source): nobody of the invented people says
/// how she calved, and until then she would be kept on the list for that.
pub(super) const LET_GO_AFTER_CALF: Span = Span::days(30);

/// Messages of a device by which the same message is known again.
pub(super) const KNOWN_AGAIN: usize = 32;

/// Older than this it is a backlog, and its dam is asked about when it has all come.
pub(super) const BACKLOG_AFTER: Span = Span::minutes(10);
pub(super) const POUR_PAUSE: Span = Span::seconds(5);
pub(super) const POUR_MAX: Span = Span::minutes(3);
