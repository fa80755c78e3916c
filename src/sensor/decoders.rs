//! Every kind of sensor the farm has: which of them a topic belongs to, and what they read in it.
//!
//! A message may belong to several kinds, and then all of them read it. It knows no herd: which
//! dam a device is on is decided above.

use super::body::Body;
use super::decode::{Decoded, Decoder, KindFault};
use super::reading::Reading;
use super::topic::Filter;
use crate::config::sensors::SensorKind;
use crate::plain::ids::DeviceId;
use crate::plain::moment::Moment;

/// All sensor kinds, taken apart once.
#[derive(Clone, Debug, Default)]
pub struct Decoders {
    // A farm has a handful of kinds, and a filter turns a foreign topic away by comparing its
    // first levels: a walk down the list costs less than an index would.
    kinds: Vec<Decoder>,
}

/// What was heard in one message.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Heard {
    /// How many kinds the topic belongs to; none means nobody asked for it.
    pub matched: usize,
    /// Whose message it was, by the first kind that could tell.
    pub device: Option<DeviceId>,
    /// Which kinds of sensor spoke, as places in the settings' own order.
    pub kinds: Vec<usize>,
    pub readings: Vec<Reading>,
    /// The frame counter that the message carries.
    pub counter: Option<u64>,
    /// The message's own time, if it carries one that makes sense.
    pub carried: Option<Moment>,
    /// What made no sense, each naming the kind of sensor.
    pub refusals: Vec<String>,
}

impl Decoders {
    /// All kinds, or every kind that cannot be read and why.
    pub fn new(kinds: &[SensorKind]) -> Result<Self, Vec<KindFault>> {
        let (mut decoders, mut faults) = (Vec::with_capacity(kinds.len()), Vec::new());
        for (place, kind) in kinds.iter().enumerate() {
            match Decoder::new(kind, place) {
                Ok(decoder) => decoders.push(decoder),
                Err(fault) => faults.push(fault),
            }
        }
        if faults.is_empty() { Ok(Self { kinds: decoders }) } else { Err(faults) }
    }

    /// What to subscribe to, in the settings' order.
    pub fn filters(&self) -> impl Iterator<Item = &Filter> {
        self.kinds.iter().map(Decoder::filter)
    }

    pub fn read(&self, topic: &str, payload: &[u8], at: Moment, retained: bool) -> Heard {
        let mut heard = Heard::default();
        let body = Body::new(payload);
        for (place, decoder) in self.kinds.iter().enumerate() {
            let Some(names) = decoder.filter().matches(topic) else {
                continue;
            };
            heard.matched += 1;
            let decoded = decoder.decode_body(&body, names, at, retained);
            if let Some(device) = &decoded.device {
                heard.device.get_or_insert_with(|| device.clone());
                heard.kinds.push(place);
            }
            heard.take(decoder, decoded);
        }
        heard
    }
}

impl Heard {
    fn take(&mut self, decoder: &Decoder, mut decoded: Decoded) {
        if self.readings.is_empty() {
            self.readings = decoded.readings;
        } else {
            self.readings.append(&mut decoded.readings);
        }
        self.counter = self.counter.or(decoded.counter);
        self.carried = self.carried.or(decoded.carried);
        let named = |why: String| format!("{}: {why}", decoder.kind());
        self.refusals.extend(decoded.refusals.into_iter().map(named));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::sensors::{Form, Read, ReadKind};
    use proptest::prelude::*;

    #[test]
    fn every_kind_that_a_topic_belongs_to_reads_it() {
        let heard = read("yard/tail/t-07", br#"{"efforts": 2, "batt": 40}"#);
        assert_eq!(heard.matched, 2);
        assert_eq!(heard.kinds, [0, 1]);
        assert_eq!(heard.device, Some(DeviceId::new("t-07")));
        let figures: Vec<(&str, &str, f64)> =
            heard.readings.iter().map(|r| (&*r.kind, &*r.sign, r.value)).collect();
        assert_eq!(figures, [("tail", "contraction", 2.0), ("battery", "charge", 40.0)]);
        assert_eq!(heard.refusals, [""; 0]);
    }

    #[test]
    fn a_topic_nobody_asked_for_belongs_to_no_kind() {
        assert_eq!(read("yard/gate/g-1/open", b"1"), Heard::default());
        assert_eq!(read("", b"1"), Heard::default());
    }

    #[test]
    fn a_refusal_names_the_kind_of_sensor() {
        let heard = read("yard/collar/c-3", br#"{"batt": "flat"}"#);
        assert_eq!((heard.matched, heard.readings.len()), (1, 0));
        assert_eq!(heard.refusals, ["battery: charge: \"flat\" is not a number"]);
        let heard = read("yard/tail/", br#"{"efforts": 2}"#);
        assert_eq!((heard.matched, &heard.device), (2, &None));
        assert_eq!(
            heard.refusals,
            [
                "tail: the topic names no device: that level is empty",
                "battery: the topic names no device: that level is empty"
            ]
        );
    }

    #[test]
    fn every_kind_that_cannot_be_read_is_named_at_once() {
        let kinds = [
            kind("tail", "yard/tail#", "/efforts"),
            kind("collar", "yard/{device}", "/temp"),
            kind("battery", "yard/{device}", "batt"),
        ];
        let faults = Decoders::new(&kinds).unwrap_err();
        let names: Vec<&str> = faults.iter().map(|fault| &*fault.kind).collect();
        assert_eq!(names, ["tail", "battery"]);
    }

    #[test]
    fn the_filters_to_subscribe_to_are_the_settings_own() {
        let filters: Vec<String> = farm().filters().map(Filter::mqtt).collect();
        assert_eq!(filters, ["yard/tail/+", "yard/+/+"]);
    }

    proptest! {
        #[test]
        fn no_message_makes_it_panic(
            topic in prop_oneof!["\\PC*", "yard/[a-z]{0,5}/[\\PC/]{0,9}"],
            payload in prop::collection::vec(any::<u8>(), 0..100),
            at in any::<i64>(),
            retained in any::<bool>(),
        ) {
            let heard = farm().read(&topic, &payload, Moment::from_millis(at), retained);
            prop_assert!(heard.matched <= 2);
            prop_assert!(heard.kinds.len() <= heard.matched);
            prop_assert_eq!(heard.device.is_some(), !heard.kinds.is_empty());
            prop_assert!(heard.readings.is_empty() || heard.matched > 0);
        }
    }

    fn read(topic: &str, payload: &[u8]) -> Heard {
        farm().read(topic, payload, Moment::from_seconds(1_795_572_300), false)
    }

    fn farm() -> Decoders {
        Decoders::new(&[
            kind("tail", "yard/tail/{device}", "/efforts"),
            kind("battery", "yard/+/{device}", "/batt"),
        ])
        .unwrap()
    }

    fn kind(kind: &str, topic: &str, at: &str) -> SensorKind {
        let (sign, as_) = match kind {
            "tail" => ("contraction", ReadKind::Count),
            _ => ("charge", ReadKind::Level),
        };
        SensorKind::plain(kind, topic, Form::Json, vec![Read::plain(sign, &[at], as_)])
    }
}
