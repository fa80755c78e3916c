//! Why an alert is over, so that everybody can be told in their own language. It holds no words.

use serde::{Deserialize, Serialize};

use crate::herd::sign::Mark;
use crate::plain::ids::{DeviceId, PersonName};
use crate::plain::moment::{Moment, Span};

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ending {
    /// Somebody has said what they saw, and of when.
    Told {
        mark: Mark,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        calf: Option<u8>,
        /// "Vet called" is told by its note alone.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        noted: bool,
        at: Moment,
        who: PersonName,
    },
    /// A device has shown it.
    Sensed {
        mark: Mark,
        device: DeviceId,
    },
    /// Fewer are counted than were.
    Faded,
    /// Nothing more is heard of it, and nothing says otherwise.
    Unheard,
    Within,
    AsBefore,
    Unseen,
    NotSo,
    /// Of a sensor that was ill.
    Well,
    /// Of a sensor that was silent.
    HeardOrOff,
    Heard,
    /// What a gateway hangs on is silent too.
    AboveSilent,
    Out {
        who: PersonName,
    },
    Answered {
        who: PersonName,
    },
    /// Somebody takes the hours of the rota.
    Taken,
    DrillAnswered {
        who: PersonName,
        after: Span,
    },
    DrillUnanswered {
        lasted: Span,
    },
    DrillOver,
    Watched,
    SeenTo,
    Works,
    TakenOut,
    Grown,
}
