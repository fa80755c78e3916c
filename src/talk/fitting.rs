//! What was done to a device: put on a dam, taken off, swapped for another, given a new battery.
//!
//! It looks for whole clauses that say one of these and nothing else, before the rest of a reply is read:
//! the names that devices give themselves would not survive being read as words. What it takes for such
//! a clause must name a device that is known, or begin with the verb and have a figure in it.

use super::beasts;
use super::figure::{self, ClockTime};
use super::known::Known;
use super::spelling;
use super::words::{self, Words};

/// Longer names are no device's that a person types.
const NAME_MAX: usize = 60;
/// Words of one device's name: a camera and the region of its picture.
const DEVICE_WORDS_MAX: usize = 4;
/// A clause of more words says something else.
const WORDS_MAX: usize = 16;

/// One thing done, and when if that was said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fitting {
    pub deed: Deed,
    pub at: Option<ClockTime>,
}

/// Names are as typed: whether there are such a device and such an animal, the watch knows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Deed {
    On {
        device: String,
        animal: String,
    },
    Off {
        device: String,
        /// Whom it came off, if that was said.
        animal: Option<String>,
    },
    Swap {
        one: String,
        other: String,
    },
    Battery {
        device: String,
    },
}

/// Takes the clauses about devices out of a text; gives back what was taken, as typed, and the rest.
pub(super) fn take(
    text: &str,
    known: &Known<'_>,
    table: &Words,
) -> (Vec<(Fitting, String)>, String) {
    take_clauses(text, |clause| {
        let alone = read(clause, known, table).map(|one| vec![(one, clause.to_owned())]);
        alone.or_else(|| joined(clause, known, table))
    })
}

/// Takes out the clauses that `read` makes something of; gives back what it made, and the text without them.
pub(super) fn take_clauses<T>(
    text: &str,
    read: impl Fn(&str) -> Option<Vec<(T, String)>>,
) -> (Vec<(T, String)>, String) {
    let mut taken = Vec::new();
    let mut rest: Vec<String> = Vec::new();
    for line in text.lines() {
        let mut left = String::new();
        for clause in clauses(line) {
            match read(clause) {
                Some(found) => taken.extend(found),
                None => left.push_str(clause),
            }
        }
        rest.push(left);
    }
    if taken.is_empty() { (taken, text.to_owned()) } else { (taken, rest.join("\n")) }
}

/// The clauses of a line with the signs that end them.
pub(super) fn clauses(line: &str) -> impl Iterator<Item = &str> {
    let mut left = line;
    std::iter::from_fn(move || {
        if left.is_empty() {
            return None;
        }
        let ends = |(at, sign): (usize, char)| {
            let behind = left[at + sign.len_utf8()..].chars().next();
            let alone = behind.is_none_or(char::is_whitespace);
            let end = match sign {
                ',' | ';' | '!' | '?' => true,
                '.' => alone,
                _ => false,
            };
            end.then_some(at + sign.len_utf8())
        };
        let end = left.char_indices().find_map(ends).unwrap_or(left.len());
        let (clause, rest) = left.split_at(end);
        left = rest;
        Some(clause)
    })
}

/// "t-07 on 114 and t-12 off": all of it, or nothing.
fn joined(clause: &str, known: &Known<'_>, table: &Words) -> Option<Vec<(Fitting, String)>> {
    let lower = clause.to_lowercase();
    let parts: Vec<&str> = lower.split(" and ").collect();
    if parts.len() < 2 {
        return None;
    }
    let one = |part: &&str| Some((read(part, known, table)?, (*part).trim().to_owned()));
    parts.iter().map(one).collect()
}

fn read(clause: &str, known: &Known<'_>, table: &Words) -> Option<Fitting> {
    let clause = clause.trim().trim_end_matches([',', ';', '.', '!']);
    if clause.ends_with('?') {
        return None;
    }
    let said: Vec<&str> = clause.split_whitespace().collect();
    if said.is_empty() || said.len() > WORDS_MAX {
        return None;
    }
    let mut plain: Vec<String> = said.iter().map(|word| plain(word)).collect();
    for at in 0..plain.len() {
        let next = plain.get(at + 1).map(String::as_str);
        if let Some(heard) = beasts::of_cattle(&plain[at], next, table) {
            heard.clone_into(&mut plain[at]);
        }
    }
    let mut clause = Clause { said: &said, plain: &plain, known, table };
    while clause.drops_first(table.please).is_some() {}
    while clause.drops_last(table.please).is_some() {}
    let first = clause.first_time();
    let at = first.or_else(|| clause.last_time());
    if let Some(deed) = clause.deed() {
        return Some(Fitting { deed, at });
    }
    // The figures at the end were no time but the animal.
    let mut whole = Clause { said: &said, plain: &plain, known, table };
    while whole.drops_first(table.please).is_some() {}
    whole.deed().map(|deed| Fitting { deed, at: None })
}

fn plain(word: &str) -> String {
    spelling::plain(word)
}

#[derive(Clone, Copy)]
struct Clause<'c> {
    said: &'c [&'c str],
    plain: &'c [String],
    known: &'c Known<'c>,
    table: &'c Words,
}

impl<'c> Clause<'c> {
    fn deed(self) -> Option<Deed> {
        self.swap().or_else(|| self.battery()).or_else(|| self.on()).or_else(|| self.off())
    }

    /// "put t-07 on 114", "t-07 on 114", "moved t-07 from 12 to 114".
    fn on(mut self) -> Option<Deed> {
        let verb = self.drops_first(self.table.put).is_some();
        let device = self.device(verb)?;
        if verb && self.drops_first(self.table.from).is_some() {
            self.animal()?;
        }
        self.drops_first(self.table.on)?;
        let animal = self.animal()?;
        self.is_over().then_some(Deed::On { device, animal })
    }

    /// "take t-07 off", "t-07 off", "took t-07 off 114", "take off t-07".
    fn off(mut self) -> Option<Deed> {
        let verb = self.drops_first(self.table.take).is_some();
        let early = verb && self.drops_first(self.table.off).is_some();
        let device = self.device(verb)?;
        let late = self.drops_first(self.table.off).is_some();
        if !(early || late || (verb && self.is_over())) {
            return None;
        }
        self.drops_first(self.table.off_whom);
        let animal = if self.is_over() { None } else { Some(self.animal()?) };
        self.is_over().then_some(Deed::Off { device, animal })
    }

    fn swap(mut self) -> Option<Deed> {
        self.drops_first(self.table.swap)?;
        let one = self.device(true)?;
        self.drops_first(self.table.swap_with);
        let other = self.device(true)?;
        self.is_over().then_some(Deed::Swap { one, other })
    }

    /// "battery t-07", "new battery in t-07", "t-07 battery changed".
    fn battery(mut self) -> Option<Deed> {
        let mut device = None;
        let mut battery = false;
        while !self.is_over() {
            if self.drops_first(self.table.battery).is_some() {
                battery = true;
            } else if self.drops_first(self.table.battery_filler).is_none() {
                if device.is_some() {
                    return None;
                }
                device = Some(self.device(battery)?);
            }
        }
        device.filter(|_| battery).map(|device| Deed::Battery { device })
    }

    /// A device: one that is known, or, where the verb leaves no doubt, something with a figure in it
    /// that is neither an animal nor one of our words.
    fn device(&mut self, sure: bool) -> Option<String> {
        let known =
            |clause: &Self| clause.said.first().is_some_and(|one| (clause.known.device)(one));
        if !known(self) {
            self.drops_first(self.table.before_device);
        }
        if let Some((name, words)) = self.longer_name() {
            self.skip(words);
            return Some(name);
        }
        let word = *self.said.first()?;
        let is_known = known(self);
        let animal = self.known.animal(word).is_some();
        let figure = word.chars().any(|c| c.is_ascii_digit());
        let good = if is_known { sure || !animal } else { sure && figure && !animal };
        if !good || word.chars().count() > NAME_MAX {
            return None;
        }
        self.skip(1);
        Some(word.to_owned())
    }

    /// A known device of several words: the region of a camera, "cam-1/left pen".
    fn longer_name(&self) -> Option<(String, usize)> {
        (2..=DEVICE_WORDS_MAX.min(self.said.len())).rev().find_map(|words| {
            let name = self.said[..words].join(" ");
            (self.known.device)(&name).then_some((name, words))
        })
    }

    /// An animal as typed: a number that the farm may not have, which the answer then says.
    fn animal(&mut self) -> Option<String> {
        let word = *self.said.first()?;
        let figure = word.chars().any(|c| c.is_ascii_digit());
        if word.chars().count() > NAME_MAX || !(figure || self.known.animal(word).is_some()) {
            return None;
        }
        self.skip(1);
        Some(word.to_owned())
    }

    /// "at 1400" before everything else.
    fn first_time(&mut self) -> Option<ClockTime> {
        let [at, time, ..] = self.plain else { return None };
        let clock =
            figure::clock_after_at(time).filter(|_| words::has(self.table.before_time, at))?;
        self.skip(2);
        Some(clock)
    }

    /// "at 1400", "1400", "14:00" behind everything else.
    fn last_time(&mut self) -> Option<ClockTime> {
        let (time, before) = self.plain.split_last()?;
        let behind_at = before.last().is_some_and(|at| words::has(self.table.before_time, at));
        let (clock, used) = if behind_at {
            (figure::clock_after_at(time)?, 2)
        } else {
            (figure::sure_clock(time).or_else(|| figure::bare_clock(time))?, 1)
        };
        let left = self.said.len() - used;
        (self.said, self.plain) = (&self.said[..left], &self.plain[..left]);
        Some(clock)
    }

    fn drops_first(&mut self, list: &str) -> Option<()> {
        let plain: Vec<&str> = self.plain.iter().map(String::as_str).collect();
        let count = words::longest_of(list, &plain)?;
        self.skip(count);
        Some(())
    }

    fn drops_last(&mut self, list: &str) -> Option<()> {
        let last = self.plain.last()?;
        if !words::has(list, last) {
            return None;
        }
        let left = self.said.len() - 1;
        (self.said, self.plain) = (&self.said[..left], &self.plain[..left]);
        Some(())
    }

    fn skip(&mut self, count: usize) {
        (self.said, self.plain) = (&self.said[count..], &self.plain[count..]);
    }

    fn is_over(&self) -> bool {
        self.said.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::super::known::newborn_of;
    use super::super::reply::{Saying, understand};
    use super::*;
    use crate::config::people::Language;

    const DEVICES: [&str; 5] = ["t-07", "t-12", "k.114", "70B3D57ED0001A2B", "cam-1/left pen"];

    fn said(text: &str) -> (Vec<Saying>, String) {
        let known = Known {
            code_open: &|_| false,
            animal: &|name| ["114", "12", "0312", "40"].contains(&name),
            person: &|name| name == "tom",
            device: &|name| DEVICES.iter().any(|device| device.eq_ignore_ascii_case(name)),
            row: &|_| None,
            newborn: newborn_of("cattle"),
        };
        let meaning = understand(text, &known, Language::English);
        (meaning.said, meaning.left)
    }

    fn on(device: &str, animal: &str, at: Option<ClockTime>) -> Saying {
        let deed = Deed::On { device: device.to_owned(), animal: animal.to_owned() };
        Saying::Fitting(Fitting { deed, at })
    }

    fn off(device: &str, animal: Option<&str>) -> Saying {
        let animal = animal.map(str::to_owned);
        Saying::Fitting(Fitting { deed: Deed::Off { device: device.to_owned(), animal }, at: None })
    }

    #[test]
    fn a_device_is_put_on_in_every_usual_form() {
        for text in [
            "put t-07 on 114",
            "t-07 on 114",
            "Put T-07 on 114.",
            "please put t-07 on cow 114",
            "moved t-07 from 12 to 114",
            "put the collar t-07 onto 114, thanks Tom",
            "I put t-07 on 114",
            "t-07 is now on 114",
        ] {
            let (said, left) = said(text);
            let is = said.first().map(|one| match one {
                Saying::Fitting(Fitting { deed: Deed::On { device, animal }, at: None }) => {
                    (device.to_lowercase(), animal.clone())
                }
                Saying::Fitting(_)
                | Saying::Going { .. }
                | Saying::Pass
                | Saying::Is(_)
                | Saying::PutOff { .. }
                | Saying::GiveTo(_)
                | Saying::TakeOver
                | Saying::Rota(_)
                | Saying::VetCard(_)
                | Saying::Ask(_)
                | Saying::Mark(_) => {
                    panic!("{text}: {one:?}")
                }
            });
            assert_eq!(is, Some(("t-07".to_owned(), "114".to_owned())), "{text}");
            assert_eq!((said.len(), left.as_str()), (1, ""), "{text}");
        }
        let two = Some((14, 0));
        assert_eq!(said("put t-07 on 114 at 1400").0, [on("t-07", "114", two)]);
        assert_eq!(said("put t-07 on 114 14:00").0, [on("t-07", "114", two)]);
        assert_eq!(said("at 2pm put t-07 on 114").0, [on("t-07", "114", two)]);
        assert_eq!(said("put t-07 on 0312").0, [on("t-07", "0312", None)], "that is no time");
        assert_eq!(said("put k.114 on 40 1400").0, [on("k.114", "40", two)]);
        assert_eq!(said("70b3d57ed0001a2b on 40").0, [on("70b3d57ed0001a2b", "40", None)]);
    }

    #[test]
    fn a_region_of_a_camera_is_a_device_though_its_name_has_a_space() {
        let region = "cam-1/left pen";
        assert_eq!(said("put cam-1/left pen on 114").0, [on(region, "114", None)]);
        assert_eq!(said("cam-1/left pen off").0, [off(region, None)]);
        let deed = Deed::Swap { one: region.to_owned(), other: "t-07".to_owned() };
        let swap = Saying::Fitting(Fitting { deed, at: None });
        assert_eq!(said("swap cam-1/left pen with t-07").0, [swap]);
        assert_eq!(said("put cam-1/left shed on 114").0, []);
    }

    #[test]
    fn a_device_is_taken_off_swapped_or_given_a_battery() {
        assert_eq!(said("take t-07 off").0, [off("t-07", None)]);
        assert_eq!(said("t-07 off").0, [off("t-07", None)]);
        assert_eq!(said("took t-07 off 114").0, [off("t-07", Some("114"))]);
        assert_eq!(said("t-07 fell off").0, [off("t-07", None)]);
        let swap = |text| match said(text).0.as_slice() {
            [Saying::Fitting(Fitting { deed: Deed::Swap { one, other }, at: None })] => {
                format!("{one} {other}")
            }
            other => format!("{other:?}"),
        };
        for text in ["swap t-07 t-12", "swap t-07 and t-12", "swapped t-07 with t-12"] {
            assert_eq!(swap(text), "t-07 t-12", "{text}");
        }
        let battery = Deed::Battery { device: "t-07".to_owned() };
        for text in
            ["battery t-07", "new battery in t-07", "t-07 battery changed", "changed battery t-07"]
        {
            assert_eq!(
                said(text).0,
                [Saying::Fitting(Fitting { deed: battery.clone(), at: None })],
                "{text}"
            );
        }
        let both = said("t-07 on 114 and t-12 off");
        assert_eq!(both.0, [on("t-07", "114", None), off("t-12", None)]);
    }

    #[test]
    fn what_is_asked_denied_or_doubted_moves_no_device() {
        for text in [
            "put t-07 on 114?",
            "dont put t-07 on 114",
            "should I put t-07 on 114",
            "put t-07 on 114. No, wait",
            "maybe put t-07 on 114",
            "I will put t-07 on 114 later",
            "put the calf on 114",
            "put her on 114",
            "114 off feed",
            "12 on 114",
        ] {
            let moves = said(text).0.iter().any(|one| matches!(one, Saying::Fitting(_)));
            assert!(!moves, "{text}");
        }
    }

    #[test]
    fn a_device_that_nobody_knows_is_named_all_the_same() {
        assert_eq!(said("put t-70 on 114").0, [on("t-70", "114", None)]);
        assert_eq!(said("t-70 on 114").0, [], "without the verb it may be anything");
        assert_eq!(said("put t-07 on 999").0, [on("t-07", "999", None)]);
    }

    #[test]
    fn what_stands_beside_it_is_heard_too() {
        let (said, left) = said("114 feet, put t-07 on 40");
        assert_eq!((said.len(), left.as_str()), (2, ""));
    }
}
