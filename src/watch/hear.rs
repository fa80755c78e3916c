//! From a packet to evidence about a dam. What makes no sense is counted and said, never guessed.
//!
//! What a message says of its own device, and how far it is believed, is in `believe`.

use std::collections::BTreeSet;
use std::rc::Rc;

use super::Watch;
use super::believe::PutRight;
use super::effect::StageChange;
use super::event::ClockState;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::alarm::ending::Ending;
use crate::config::sensors::ReadKind;
use crate::gear::device::Known;
use crate::herd::by_hand;
use crate::herd::calf::Calf;
use crate::herd::calf_figures;
use crate::herd::dam::{Dam, Marked, Moved};
use crate::herd::dam_figures::temperature;
use crate::herd::marked::NotTaken;
use crate::herd::noted::Noted;
use crate::herd::series::Sample;
use crate::herd::sign::Mark;
use crate::plain::english;
use crate::plain::ids::{Animal, DeviceId};
use crate::plain::moment::Moment;
use crate::sensor::decoders::Heard;
use crate::sensor::fresh::{self, Belief};
use crate::sensor::packet::Packet;
use crate::sensor::reading::Reading;
use crate::talk::letter::{Reply, Sender};
use crate::talk::speech::Speech;

/// A person's words on a topic are a text, not a file.
const WORDS_MAX: usize = 4_000;

impl Watch {
    pub(super) fn hear(&mut self, packet: &Packet, touched: &mut Touched, out: &mut Out) {
        let Some(ready) = self.ready.clone() else {
            self.refuse("before settings", "a packet", "there are no settings yet", out);
            return;
        };
        let topic = packet.topic.as_str();
        if let Some(names) = ready.answers.as_ref().and_then(|filter| filter.matches(topic)) {
            let person = names.get("person").unwrap_or_default().to_owned();
            self.words_on_a_topic(&person, packet, touched, out);
            return;
        }
        let heard = ready.decoders.read(topic, &packet.payload.0, self.state.now, packet.retained);
        if heard.matched == 0 {
            self.refuse("unknown topic", &topic_for_people(topic), "no [[sensor]] reads it", out);
            return;
        }
        let Some(device) = &heard.device else {
            self.refuse(
                "nameless device",
                &topic_for_people(topic),
                "it does not say which device speaks",
                out,
            );
            return;
        };
        let name = device.as_str();
        let Some(place) = self.state.device(device) else {
            self.refuse("too many devices", "another device", "there are too many of them", out);
            return;
        };
        if !packet.retained && self.heard_before(place, &heard, packet) {
            return;
        }
        // A camera's regions, and a batch's other devices, are on dams of their own.
        let itself = heard.readings.is_empty()
            || heard.readings.iter().any(|reading| reading.device == *device);
        let of_the_air = ready.config.weather.as_ref().is_some_and(|air| air.device == *device);
        if itself && !of_the_air && self.state.ledger.wearing(place, self.state.now).is_none() {
            let what = format!("device {}", topic_for_people(name));
            let why = "it is on no dam now";
            self.refuse(&format!("unworn {name}"), &what, why, out);
        }
        for why in &heard.refusals {
            let kind = format!("undecodable {name}");
            self.refuse(&kind, &format!("a message on {}", topic_for_people(topic)), why, out);
        }
        if !packet.retained {
            self.notices(place, &heard, packet, &ready, touched, out);
        }
        let mut others = BTreeSet::new();
        for reading in &heard.readings {
            let place = if reading.device == *device {
                Some(place)
            } else {
                let first = others.insert(&reading.device);
                if first && !packet.retained {
                    self.speaks_too(&reading.device, packet, &heard, &ready, touched, out);
                }
                self.state.device(&reading.device)
            };
            if let Some(place) = place {
                self.reading(place, reading, &ready, touched, out);
                if reading.device != *device {
                    self.device_spoke(place, &ready, touched);
                }
            }
        }
        self.device_spoke(place, &ready, touched);
    }

    /// What hangs on a device's health is asked again.
    fn device_spoke(&mut self, place: u32, ready: &Ready, touched: &mut Touched) {
        touched.key(Key::Device(place));
        self.speaks_of(place, touched);
        self.cover_again(place, ready);
    }

    /// Another device of the same message, once for all that it says in it.
    fn speaks_too(
        &mut self,
        device: &DeviceId,
        packet: &Packet,
        heard: &Heard,
        ready: &Ready,
        touched: &mut Touched,
        out: &mut Out,
    ) {
        let Some(place) = self.state.device(device) else { return };
        let own = || heard.readings.iter().filter(|reading| reading.device == *device);
        let newest = own().filter(|reading| reading.timed).map(|reading| reading.at).max();
        self.learns_its_clock(place, newest, heard, ready, out);
        // That somebody calls it online or offline is not its own word.
        if own().any(|reading| reading.as_ != ReadKind::Presence) {
            self.speaks(place, &packet.topic, heard, ready, touched);
        }
        self.device_spoke(place, ready, touched);
    }

    fn words_on_a_topic(
        &mut self,
        person: &str,
        packet: &Packet,
        touched: &mut Touched,
        out: &mut Out,
    ) {
        if packet.retained {
            self.refuse("kept words", "words kept by the broker", "they may be of any age", out);
            return;
        }
        let text = String::from_utf8_lossy(&packet.payload.0);
        let reply = Reply {
            line: super::event::broker_line(),
            from: Sender::Name(person.to_owned()),
            text: text.chars().take(WORDS_MAX).collect(),
            mail: None,
            asked: None,
        };
        self.answered(&reply, touched, out);
    }

    fn reading(
        &mut self,
        place: u32,
        reading: &Reading,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) {
        if reading.as_ == ReadKind::Presence {
            self.presence(place, reading, out);
            return;
        }
        let now = self.state.now;
        let corrected;
        let reading = match self.put_right(place, reading, ready) {
            PutRight::AsItIs => reading,
            PutRight::By(out_by) => {
                corrected = Reading { at: reading.at - out_by, ..reading.clone() };
                &corrected
            }
            PutRight::Refused(why) => {
                let kind = format!("untimely {}", reading.device);
                self.refuse(&kind, &format!("{} from {}", reading.sign, reading.device), &why, out);
                return;
            }
        };
        let belief = match self.state.clock {
            ClockState::Trusted => fresh::believe(reading, now),
            // Our own clock may be years behind: an honest device would look like a liar.
            ClockState::About => fresh::believe_without_a_clock(reading, now),
        };
        if let Belief::Refused(why) = &belief {
            let kind = format!("untimely {}", reading.device);
            self.refuse(&kind, &format!("{} from {}", reading.sign, reading.device), why, out);
            return;
        }
        let kept = belief == Belief::LastKnownOnly;
        let fits = kept || self.is_believed(place, reading, ready, touched, out);
        if fits {
            let last = (reading.timed || !kept).then_some(reading.at);
            let known = Known { value: reading.value, at: last, kept };
            self.state.devices.at_mut(place).knows(&reading.sign, known);
        }
        if fits && !kept && !self.takes_air(reading, ready, touched, out) {
            self.evidence(place, reading, ready, touched, out);
        }
    }

    /// A reading that is believed, about the dam that wore its device when it was so.
    pub(super) fn evidence(
        &mut self,
        place: u32,
        reading: &Reading,
        ready: &Rc<Ready>,
        touched: &mut Touched,
        out: &mut Out,
    ) {
        let now = self.state.now;
        // A device may be a little ahead of us; nothing has happened later than now.
        let at = reading.at.min(now);
        let Some(on) = self.state.ledger.wearing(place, at) else {
            return;
        };
        let mark = Mark::of_word(&reading.sign).filter(|_| reading.as_ == ReadKind::Flag);
        if let Some(mark) = mark {
            if reading.value != 0.0 {
                if now.since(at) > fresh::BACKLOG_AFTER {
                    // Asked about her or not, the index must know until when.
                    self.state.pours(on.dam);
                    touched.key(Key::Dam(on.dam));
                }
                let animal = self.state.dams.at(on.dam).0.clone();
                self.flag(&animal, mark, reading, touched, out);
            }
            return;
        }
        let n = match reading.as_ {
            // Decoding has held it to whole numbers within u32.
            ReadKind::Count => reading.value as u32,
            ReadKind::Total => {
                let Some(n) = self.adds_up(place, reading, on.from, out) else { return };
                n
            }
            ReadKind::Level | ReadKind::Flag => u32::from(reading.value != 0.0),
            ReadKind::Presence | ReadKind::Seen => 0,
        };
        self.counts_for(on.dam, place, reading, n, ready, touched);
    }

    /// A sensor may say what it sees; what only a person can judge, it may not.
    fn flag(
        &mut self,
        animal: &Animal,
        mark: Mark,
        reading: &Reading,
        touched: &mut Touched,
        out: &mut Out,
    ) {
        if matches!(mark, Mark::FalseAlarm | Mark::DamDead | Mark::CalfDead | Mark::Seen) {
            let kind = format!("mark {} {}", mark.word(), reading.device);
            let what = format!("{} from {}", mark.word(), reading.device);
            self.refuse(&kind, &what, "only a person can say that", out);
            return;
        }
        let dead = self.state.dams.get(animal).map(Dam::calves).unwrap_or_default();
        if mark.is_of_a_calf() && !dead.is_empty() && dead.iter().all(Calf::is_dead) {
            let kind = format!("mark {} {}", mark.word(), reading.device);
            let what = format!("{} from {}", mark.word(), reading.device);
            self.refuse(&kind, &what, "a person has said that the calf is dead", out);
            return;
        }
        let ending = Ending::Sensed { mark, device: reading.device.clone() };
        let now = self.state.now;
        let noted = Noted {
            told: now,
            by: reading.device.to_string(),
            timed: reading.timed,
            sensed: true,
            ..Noted::bare(mark, reading.at.min(now))
        };
        let at = noted.at;
        if let Marked::Kept(_) = self.mark(animal, noted, &ending, touched, out)
            && let Some(ready) = self.ready.clone()
        {
            let english = Speech::english(&ready.config);
            let _ = self.before_term(animal, mark, at, &english, &ready, out);
        }
    }

    /// Marks a dam and says so in the diary if it moved her.
    pub(super) fn mark(
        &mut self,
        animal: &Animal,
        noted: Noted,
        ending: &Ending,
        touched: &mut Touched,
        out: &mut Out,
    ) -> Marked {
        let Some(place) = self.state.dams.find(animal) else {
            return Marked::Not(NotTaken::NotInHerd);
        };
        let at = noted.at;
        let measured = Some(&noted).filter(|noted| noted.mark == Mark::Temperature);
        let measured = measured.and_then(|noted| temperature(&noted.note));
        let marked = self.state.dams.at_mut(place).note(noted);
        if let (Marked::Kept(_), Some(amount)) = (marked, measured) {
            self.measured_by_hand(
                place,
                Mark::Temperature.word(),
                by_hand::DAM,
                Sample(at, amount),
            );
        }
        match marked {
            Marked::Kept(moved) => {
                if let Some(moved) = moved {
                    let english = self.ready.as_ref().map(|ready| {
                        let english = Speech::english(&ready.config);
                        english.ending(ending)
                    });
                    self.changed(place, moved, at, &english.unwrap_or_default(), out);
                }
                if moved.is_some() || self.moment.mark.is_none() {
                    self.moment.mark = Some((animal.clone(), ending.clone()));
                }
                self.measures_calf(place);
                touched.key(Key::Dam(place));
            }
            Marked::Not(_) => {}
        }
        marked
    }

    /// What a person measured of a calf stands among what devices measure, so that rules may ask for it.
    fn measures_calf(&mut self, dam: u32) {
        let noted = self.state.dams.at(dam).1.case().noted().last();
        if let Some(noted) = noted
            && let (Mark::CalfTemperature, Some(calf)) = (noted.mark, noted.calf)
            && let Some(amount) = calf_figures::temperature_noted(&noted.note)
        {
            let (of, what) = (by_hand::of_calf(calf), Sample(noted.at, amount));
            self.measured_by_hand(dam, by_hand::CALF_TEMPERATURE, of, what);
        }
    }

    /// A stage change as an effect. What her sensors say, or do not, may matter from now on, or no
    /// longer: they are asked again.
    pub(super) fn changed(
        &mut self,
        dam: u32,
        moved: Moved,
        at: Moment,
        because: &str,
        out: &mut Out,
    ) {
        out.changed(StageChange {
            animal: self.state.dams.at(dam).0.clone(),
            from: moved.from,
            to: moved.to,
            at,
            because: because.to_owned(),
        });
        let now = self.state.now;
        let Some(ready) = self.ready.clone() else { return };
        let devices: Vec<u32> = self.state.ledger.on(dam, now).collect();
        for device in devices {
            self.deadlines.set(&Key::Device(device), Some(now));
        }
        if ready.asks_for_cover() {
            self.deadlines.set(&Key::Cover(dam), Some(now));
        }
    }
}

/// A topic in a line for people: short, and nothing in it that moves a cursor.
fn topic_for_people(topic: &str) -> String {
    const SHOWN: usize = 80;
    english::printable(topic, SHOWN)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_topic_never_moves_the_cursor_of_whoever_reads_the_diary() {
        assert_eq!(topic_for_people("yard/\u{1b}[2J\r\n/x"), "yard/?[2J??/x");
        assert_eq!(topic_for_people(&"x".repeat(100)).len(), 83);
    }
}
