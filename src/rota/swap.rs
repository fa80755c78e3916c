//! What people have agreed among themselves: swaps, and who cannot come. It is laid over the settings' rotas, so that
//! whoever asks who is on duty need know nothing of it.

use serde::{Deserialize, Serialize};

use super::OnShift;
use crate::config::Config;
use crate::config::people::{Away, Instead};
use crate::config::rights::Deed;
use crate::plain::ids::PersonName;
use crate::plain::moment::Moment;

/// One asks another to take a shift, and may offer to take one of theirs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Swap {
    pub asker: PersonName,
    pub with: PersonName,
    pub shift: OnShift,
    pub back: Option<OnShift>,
    /// When the other agreed: before, it changes nothing.
    pub agreed: Option<Moment>,
}

impl Swap {
    /// When the first of its shifts begins.
    pub fn begins(&self) -> Moment {
        self.back.as_ref().map_or(self.shift.from, |back| back.from.min(self.shift.from))
    }

    /// A question that nobody has answered ends by itself when the first of its shifts begins.
    pub fn is_open(&self, now: Moment) -> bool {
        self.agreed.is_none() && self.begins() > now
    }

    /// Whether nothing of it can matter any more.
    pub fn is_past(&self, now: Moment) -> bool {
        let last =
            self.back.as_ref().map_or(self.shift.until, |back| back.until.max(self.shift.until));
        last <= now || (self.agreed.is_none() && !self.is_open(now))
    }
}

/// Whether somebody is of those who take shifts here.
pub fn takes_shifts(config: &Config, who: &PersonName) -> bool {
    let part = config.people.iter().find(|one| one.name == *who).map(|one| one.part);
    part.is_some_and(|part| part.may(Deed::Rota))
}

/// Lays what was agreed over the rotas of the settings, in the order in which it was agreed. What somebody took who is
/// not on the farm any more is again whose it was.
pub fn lay_over(config: &mut Config, swaps: &[Swap], away: &[Away]) {
    let mut agreed: Vec<&Swap> = swaps.iter().filter(|swap| swap.agreed.is_some()).collect();
    agreed.sort_by_key(|swap| swap.agreed);
    agreed.retain(|swap| takes_shifts(config, &swap.asker) && takes_shifts(config, &swap.with));
    for rota in &mut config.rotas {
        rota.away = away.to_vec();
    }
    for swap in agreed {
        let back = swap.back.iter().map(|back| (back, &swap.asker));
        for (shift, person) in std::iter::once((&swap.shift, &swap.with)).chain(back) {
            if let Some(rota) = config.rotas.iter_mut().find(|rota| rota.name == shift.rota) {
                let (from, until, person) = (shift.from, shift.until, person.clone());
                rota.instead.push(Instead { from, until, person });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{self, NamedText, SettingsText};
    use crate::rota::on_duty;

    fn farm() -> Config {
        let mut text = "
            [farm]\nname = \"Hollow Bank\"\nzone = \"UTC\"
            [broker]\nurl = \"mqtt://127.0.0.1:1883\"
            [[line]]\nname = \"mail\"\nkind = \"smtp\"\nurl = \"smtp://127.0.0.1:25\"
            from = \"lowbell@hollowbank.example\"
            [[rota]]\nname = \"night\"\nshift = \"22:00-06:00\"\nturn = \"Ana\"
            [[rota]]\nname = \"day\"\nshift = \"06:00-22:00\"\nturn = \"Tom\"
            [[person]]\nname = \"Vera\"\npart = \"vet\"\nmail = \"vera@hollowbank.example\"\n"
            .to_owned();
        for name in ["Ana", "Tom", "Rosa"] {
            text.push_str(&format!(
                "[[person]]\nname = \"{name}\"\nmail = \"{name}@hollowbank.example\"\n"
            ));
        }
        let file = NamedText { name: "farm.toml".into(), text };
        let parsed = config::parse(&SettingsText { files: vec![file] });
        parsed.config.unwrap_or_else(|| panic!("{:?}", parsed.faults))
    }

    fn at(text: &str) -> Moment {
        Moment::from_rfc3339(text).unwrap()
    }

    fn shift(person: &str, rota: &str, from: &str, until: &str) -> OnShift {
        OnShift { person: person.into(), rota: rota.to_owned(), from: at(from), until: at(until) }
    }

    /// Ana's night of the 27th to somebody, for their own day of the 28th.
    fn swap(with: &str, agreed: Option<&str>) -> Swap {
        Swap {
            asker: "Ana".into(),
            with: with.into(),
            shift: shift("Ana", "night", "2026-11-27T22:00:00Z", "2026-11-28T06:00:00Z"),
            back: Some(shift(with, "day", "2026-11-28T06:00:00Z", "2026-11-28T22:00:00Z")),
            agreed: agreed.map(at),
        }
    }

    fn who(config: &Config, when: &str) -> String {
        let duty = on_duty(&config.rotas, &config.farm.zone, at(when));
        duty.people.iter().map(|on| on.person.to_string()).collect()
    }

    #[test]
    fn only_what_both_agreed_to_is_laid_over_and_both_ways() {
        let laid = |swaps: &[Swap]| {
            let mut config = farm();
            lay_over(&mut config, swaps, &[]);
            let times = [
                "2026-11-27T21:59:59Z",
                "2026-11-27T22:00:00Z",
                "2026-11-28T06:00:00Z",
                "2026-11-28T22:00:00Z",
            ];
            times.map(|when| who(&config, when)).join(" ")
        };
        assert_eq!(laid(&[]), "Tom Ana Tom Ana");
        assert_eq!(laid(&[swap("Tom", None)]), "Tom Ana Tom Ana");
        let agreed = swap("Tom", Some("2026-11-26T09:00:00Z"));
        assert_eq!(laid(std::slice::from_ref(&agreed)), "Tom Tom Ana Ana");
        // Of two about the same shift the one agreed last holds, whichever was asked first.
        let later = swap("Rosa", Some("2026-11-26T10:00:00Z"));
        assert_eq!(laid(&[later.clone(), agreed.clone()]), "Tom Rosa Ana Ana");
        assert_eq!(laid(&[agreed, later]), "Tom Rosa Ana Ana");
        // Somebody who is not on the farm any more, or takes no shifts, has none.
        for gone in ["Niall", "Vera"] {
            assert_eq!(laid(&[swap(gone, Some("2026-11-26T09:00:00Z"))]), "Tom Ana Tom Ana");
        }
    }

    #[test]
    fn a_question_ends_when_the_first_of_its_shifts_begins() {
        let mut swap = swap("Tom", None);
        swap.back = Some(shift("Tom", "day", "2026-11-26T06:00:00Z", "2026-11-26T22:00:00Z"));
        assert!(swap.is_open(at("2026-11-26T05:59:59Z")));
        assert!(!swap.is_open(at("2026-11-26T06:00:00Z")));
        assert!(swap.is_past(at("2026-11-26T06:00:00Z")));
        swap.agreed = Some(at("2026-11-25T06:00:00Z"));
        assert!(!swap.is_past(at("2026-11-28T05:59:59Z")));
        assert!(swap.is_past(at("2026-11-28T06:00:00Z")));
    }
}
