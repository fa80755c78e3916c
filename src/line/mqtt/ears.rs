//! What a line to the broker listens for, and what becomes of what it hears.

use std::collections::BTreeSet;

use super::aside::{self, Wanted};
use super::{Message, PAYLOAD_MAX, size};
use crate::line::{Arrival, Receipt};
use crate::plain::ids::LineName;
use crate::sensor::packet::{Packet, Payload};
use crate::sensor::topic::{self, Filter};
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

    /// The filters to ask the broker for: with one that another covers asked for too, it could send
    /// a message twice.
    pub(super) fn wanted(&self) -> Vec<String> {
        widest(self.all())
    }

    /// The same, where these are not to be had.
    pub(super) fn without(&self, refused: &BTreeSet<String>) -> Vec<String> {
        widest(self.all().into_iter().filter(|filter| !refused.contains(filter)).collect())
    }

    /// Filters of ours that nothing is asked for by, as those that were taken cover them.
    pub(super) fn covered(&self, taken: &BTreeSet<String>) -> Vec<String> {
        let wide: Vec<Filter> = taken.iter().filter_map(|text| Filter::parse(text).ok()).collect();
        let mut all = self.all();
        all.retain(|text| {
            let covered = |narrow: Filter| wide.iter().any(|wide| wide.covers(&narrow));
            !taken.contains(text) && Filter::parse(text).is_ok_and(covered)
        });
        all
    }

    /// As a broker wants them written, those of asides last.
    fn all(&self) -> Vec<String> {
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

/// Those that no other covers, in their order; what is no filter stays, to be refused by name.
fn widest(mut all: Vec<String>) -> Vec<String> {
    let parsed: Vec<Filter> = all.iter().filter_map(|text| Filter::parse(text).ok()).collect();
    let widest: BTreeSet<String> = topic::widest(&parsed).into_iter().map(Filter::mqtt).collect();
    all.retain(|text| widest.contains(text) || Filter::parse(text).is_err());
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::sync::mpsc;

    #[test]
    fn a_covered_filter_is_asked_for_only_where_the_wide_one_is_refused() {
        let filters = ["yard/tail/+/state", "yard/#", "barn/+/seen", "yard/#/wrong", "gate/+"];
        let (to, _pictures) = mpsc::channel(1);
        let stills = Filter::parse("yard/{camera}/still").unwrap();
        let ears = Ears::new(filters.map(str::to_owned).to_vec(), vec![(stills, to)], 1);
        assert_eq!(ears.wanted(), ["yard/#", "barn/+/seen", "yard/#/wrong", "gate/+"]);
        let set = |text: &str| BTreeSet::from([text.to_owned()]);
        let without =
            ["yard/tail/+/state", "barn/+/seen", "yard/#/wrong", "gate/+", "yard/+/still"];
        assert_eq!(ears.without(&set("yard/#")), without);
        assert_eq!(ears.covered(&set("yard/#")), ["yard/tail/+/state", "yard/+/still"]);
        assert_eq!(ears.covered(&set("yard/+/still")), [""; 0]);
    }
}
