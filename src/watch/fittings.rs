//! What people say of devices: put on, taken off, swapped, a new battery. It goes into the ledger, and the
//! answer says what is so now.

use std::fmt::Display;

use super::Watch;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::refile::Refiled;
use super::settle::Touched;
use crate::config::suggest;
use crate::plain::english;
use crate::plain::ids::{Animal, PersonName};
use crate::plain::moment::Moment;
use crate::talk::fitting::{Deed, Fitting};
use crate::talk::speech::Speech;

/// Names listed to whoever named none of them.
const LISTED: usize = 6;

impl Watch {
    /// Does what a person says was done to a device; the answer, and whether it was understood.
    pub(super) fn fits(
        &mut self,
        who: &PersonName,
        fitting: &Fitting,
        ready: &Ready,
        touched: &mut Touched,
        out: &mut Out,
    ) -> (String, bool) {
        let own = Speech::to(&ready.config, who);
        match self.fits_or_why_not(who, fitting, &own, ready, touched, out) {
            Ok(answer) => (answer, true),
            Err(answer) => {
                // What is not taken changes nothing: asked once more, it says so for the diary.
                let english = Speech::english(&ready.config);
                let why = self.fits_or_why_not(who, fitting, &english, ready, touched, out);
                let why = why.err().unwrap_or_default();
                out.note(format!("{who} said of a device what was not taken: {why}"));
                (answer, false)
            }
        }
    }

    fn fits_or_why_not(
        &mut self,
        who: &PersonName,
        fitting: &Fitting,
        speech: &Speech<'_>,
        ready: &Ready,
        touched: &mut Touched,
        out: &mut Out,
    ) -> Result<String, String> {
        let (now, words) = (self.state.now, speech.answers);
        let latest = |(hour, minute)| ready.config.farm.zone.latest(now, hour, minute);
        let at = fitting.at.map_or(now, latest);
        match &fitting.deed {
            Deed::On { device, animal } => {
                let (device, dam) =
                    (self.known_device(device, speech)?, self.known_dam(animal, speech, ready)?);
                let more = self.say_fitting(who, &[(device, Some(dam))], at, ready, touched, out);
                Ok(self.what_is_so(&[device], &[dam], speech) + &more)
            }
            Deed::Off { device, animal } => {
                let device = self.known_device(device, speech)?;
                let was = self.state.ledger.wearing(device, at).map(|on| on.dam);
                let Some(was) = was else {
                    let name = self.state.devices.at(device).0;
                    return Err(speech.say(words.device_on_nobody, &[("device", name)]));
                };
                if let Some(animal) = animal
                    && self.known_dam(animal, speech, ready)? != was
                {
                    let (name, on) = (self.state.devices.at(device).0, self.state.dams.at(was).0);
                    let filled: [(&str, &dyn Display); 3] =
                        [("device", name), ("on", on), ("animal", animal)];
                    return Err(speech.say(words.device_elsewhere, &filled));
                }
                let more = self.say_fitting(who, &[(device, None)], at, ready, touched, out);
                Ok(self.what_is_so(&[device], &[], speech) + &more)
            }
            Deed::Swap { one, other } => {
                let (one, other) =
                    (self.known_device(one, speech)?, self.known_device(other, speech)?);
                let dam = |device| self.state.ledger.wearing(device, at).map(|on| on.dam);
                let (on_one, on_other) = (dam(one), dam(other));
                if one == other || on_one == on_other {
                    return Err(words.no_such_swap.to_owned());
                }
                let moves = [(one, on_other), (other, on_one)];
                let more = self.say_fitting(who, &moves, at, ready, touched, out);
                Ok(self.what_is_so(&[one, other], &[], speech) + &more)
            }
            Deed::Battery { device } => {
                let device = self.known_device(device, speech)?;
                self.state.ledger.battery_changed(device, at, who);
                self.state.devices.at_mut(device).has_a_new_battery();
                touched.key(Key::Device(device));
                let name = self.state.devices.at(device).0;
                let clock = ready.config.farm.zone.clock(at);
                out.note(format!("{who} says device {name} has a new battery since {clock}"));
                Ok(speech.say(words.new_battery, &[("device", name), ("at", &clock)]))
            }
        }
    }

    /// Writes the ledger, says so in the diary, files what was told since, and has everybody concerned asked
    /// again; what else there is to say.
    fn say_fitting(
        &mut self,
        who: &PersonName,
        moves: &[(u32, Option<u32>)],
        at: Moment,
        ready: &Ready,
        touched: &mut Touched,
        out: &mut Out,
    ) -> String {
        let mut more = String::new();
        let zone = &ready.config.farm.zone;
        for (device, dam) in moves {
            let worn = self.state.ledger.wearing(*device, at);
            let old = worn.map(|on| on.dam);
            self.state.ledger.tell(*device, *dam, at, who);
            let name = self.state.devices.at(*device).0;
            let animal = |dam: u32| self.state.dams.at(dam).0;
            let clock = zone.clock(at);
            let was = old.map_or(String::new(), |old| format!(" (it was on {})", animal(old)));
            out.note(match dam {
                Some(dam) => {
                    format!("{who} says device {name} is on {} since {clock}{was}", animal(*dam))
                }
                None => format!("{who} says device {name} is off since {clock}{was}"),
            });
            if let Some(was) = worn {
                let refiled = Refiled { device: *device, was, is: *dam, from: at };
                if let Some(word) =
                    self.refile(&refiled, &Speech::to(&ready.config, who), ready, out)
                {
                    more.push_str(&format!(" {word}."));
                }
            }
            touched.key(Key::Device(*device));
            for dam in old.iter().chain(dam) {
                touched.key(Key::Dam(*dam));
                if ready.asks_for_cover() {
                    touched.key(Key::Cover(*dam));
                }
            }
        }
        for gateway in (0..).zip(&self.state.gateways).map(|(place, _)| place) {
            touched.key(Key::Gateway(gateway));
        }
        // What was raised of a device may concern another dam now.
        if ready.asks_for_cover() {
            touched.key(Key::Herd);
        }
        more
    }

    /// "t-07 is on 114 since 14:00; 12 has no sensor now."
    fn what_is_so(&self, devices: &[u32], dams: &[u32], speech: &Speech<'_>) -> String {
        let (now, words) = (self.state.now, speech.answers);
        let animal = |dam: u32| self.state.dams.at(dam).0.as_str();
        let mut concerned: Vec<u32> = Vec::new();
        let mut says: Vec<String> = Vec::new();
        for device in devices {
            let name = self.state.devices.at(*device).0;
            let mut rows = self.state.ledger.rows(*device).rev();
            let before = rows.find(|row| row.from.is_none_or(|from| from <= now));
            let before = before.and_then(|_| rows.next()).and_then(|row| row.dam);
            concerned.extend(before);
            says.push(match self.state.ledger.wearing(*device, now) {
                Some(on) => {
                    let since = on.from.map(|from| speech.zone().clock(from));
                    let since =
                        since.map_or(String::new(), |at| speech.say(words.since, &[("at", &at)]));
                    let filled: [(&str, &dyn Display); 2] =
                        [("device", name), ("animal", &animal(on.dam))];
                    speech.say(words.is_on, &filled) + &since
                }
                None => speech.say(words.is_on_nobody, &[("device", name)]),
            });
        }
        concerned.extend(dams);
        concerned.sort_unstable();
        concerned.dedup();
        for dam in concerned {
            let mut worn = self.state.ledger.on(dam, now);
            let names: Vec<&str> = worn
                .by_ref()
                .filter(|device| !devices.contains(device))
                .map(|device| self.state.devices.at(device).0.as_str())
                .collect();
            let wears_one = devices.iter().any(|device| {
                self.state.ledger.wearing(*device, now).is_some_and(|on| on.dam == dam)
            });
            match (names.is_empty(), wears_one) {
                (true, true) => {}
                (true, false) => {
                    says.push(speech.say(words.no_sensor_now, &[("animal", &animal(dam))]));
                }
                (false, _) => {
                    let devices = speech.phrases().list(&names);
                    let filled: [(&str, &dyn Display); 2] =
                        [("animal", &animal(dam)), ("devices", &devices)];
                    says.push(speech.say(words.has_too, &filled));
                }
            }
        }
        format!("{}.", says.join("; "))
    }

    /// The place of a device by its name in whatever case; else the names it may have been meant for.
    fn known_device(&self, name: &str, speech: &Speech<'_>) -> Result<u32, String> {
        if let Some(place) = self.device_named(name) {
            return Ok(place);
        }
        let names: Vec<&str> = self.state.devices.names().map(|id| id.as_str()).collect();
        let near = suggest::near(name, &names, LISTED);
        let words = speech.answers;
        let hint = if near.is_empty() {
            words.never_named.to_owned()
        } else {
            speech.say(words.there_is, &[("list", &speech.phrases().list(&near))])
        };
        Err(format!("{} {hint}", speech.say(words.no_device, &[("name", &name)])))
    }

    pub(super) fn device_named(&self, name: &str) -> Option<u32> {
        self.state.devices.find(name).or_else(|| {
            let mut names = (0..).zip(self.state.devices.names());
            names.find(|(_, id)| id.as_str().eq_ignore_ascii_case(name)).map(|(place, _)| place)
        })
    }

    fn known_dam(&self, name: &str, speech: &Speech<'_>, ready: &Ready) -> Result<u32, String> {
        let animal = ready.animal(name).and_then(|animal| self.state.dams.find(animal));
        animal.ok_or_else(|| {
            let names: Vec<&str> =
                ready.config.animals.iter().map(|row| row.animal.as_str()).collect();
            let near = suggest::near(name, &names, LISTED);
            let words = speech.answers;
            let hint = if near.is_empty() {
                words.unchanged.to_owned()
            } else {
                speech.say(words.there_is, &[("list", &speech.phrases().list(&near))])
            };
            format!("{} {hint}", speech.say(words.no_animal, &[("name", &name)]))
        })
    }

    /// Where the settings would have a device otherwise than a person said later, it is said.
    pub(super) fn say_who_overrules(&self, ready: &Ready, out: &mut Out) {
        let now = self.state.now;
        for device in ready.overruled.iter().take(LISTED) {
            let name = self.state.devices.at(*device).0;
            let on = self.state.ledger.wearing(*device, now);
            let animal = |dam: u32| -> &Animal { self.state.dams.at(dam).0 };
            let is = on.map_or("off".to_owned(), |on| format!("on {}", animal(on.dam)));
            let by = self.state.ledger.deciding(*device, now).map_or("", |row| row.by.words());
            out.note(format!(
                "device {name} is {is}, as {by} said: later than what the settings say of it"
            ));
        }
        let more = ready.overruled.len().saturating_sub(LISTED);
        if more > 0 {
            out.note(format!(
                "so it is with {}",
                english::many(more, "more device", "more devices")
            ));
        }
    }
}
