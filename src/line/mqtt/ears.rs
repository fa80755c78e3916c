//! What a line to the broker listens for, and what becomes of what it hears.

use super::aside::{self, Wanted};
use super::{Message, PAYLOAD_MAX, size};
use crate::line::{Arrival, Receipt};
use crate::plain::ids::LineName;
use crate::sensor::packet::{Packet, Payload};
use crate::sensor::topic::Filter;
use crate::watch::event::{Event, LineNews, LineState};

pub(super) struct Ears {
    /// What the farm wants to hear, as a broker wants it written.
    filters: Vec<String>,
    /// The same, to match by: one that is no filter at all matches nothing.
    events: Vec<Filter>,
    asides: Vec<Wanted>,
    largest: usize,
}

impl Ears {
    pub(super) fn new(filters: Vec<String>, asides: Vec<Wanted>, largest: usize) -> Self {
        let events = filters.iter().filter_map(|filter| Filter::parse(filter).ok()).collect();
        Self { filters, events, asides, largest: largest.min(PAYLOAD_MAX) }
    }

    /// Every filter to ask the broker for, those of asides last.
    pub(super) fn wanted(&self) -> Vec<String> {
        let mut all = self.filters.clone();
        for filter in self.asides.iter().map(|(filter, _)| filter.mqtt()) {
            if !all.contains(&filter) {
                all.push(filter);
            }
        }
        all
    }

    /// What becomes of a message; `None` if it was for somebody else than the watch alone. A message
    /// that a sensor's filter means is heard by the watch whoever else wanted it.
    pub(super) fn hear(&self, message: Message, receipt: Option<Receipt>) -> Option<Arrival> {
        let aside = !self.asides.is_empty() && aside::hand_over(&self.asides, &message);
        let ours = |message: &Message| {
            message.payload.len() <= self.largest
                && self.events.iter().any(|filter| filter.matches(&message.topic).is_some())
        };
        if aside && !ours(&message) {
            // It is where it should be, or lost for want of room: it need not come again.
            receipt.into_iter().for_each(Receipt::confirm);
            return None;
        }
        Some(Arrival { event: self.event(message), receipt })
    }

    /// What is too large is said, acknowledged like the rest and dropped: unacknowledged it would come
    /// again on every connection (MQTT 5 section 4.5, MQTT-4.5.0-2: what is received is acknowledged).
    fn event(&self, message: Message) -> Event {
        let bytes = message.payload.len();
        if bytes > self.largest {
            let what = format!("a message of {} on {}", size(bytes), message.topic);
            let news = LineNews::TooLarge { what };
            return Event::Line(LineState { line: LineName::new("broker"), news });
        }
        Event::Packet(Packet {
            topic: message.topic,
            payload: Payload(message.payload.into()),
            retained: message.retained,
        })
    }
}
