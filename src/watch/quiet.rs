//! What says nothing now though something is there: put off by somebody, held back by a rule of the watch, or out of use.
//! Three numbers at a glance (standards.md AL-25 to AL-28), so that no silence is taken for a quiet yard.

use serde::{Deserialize, Serialize};

use super::Watch;
use super::alive::Worn;
use super::asking::in_its_hours;
use super::by_day::is_day;
use super::key::Key;
use super::ready::Ready;
use crate::alarm::alert::Standing;
use crate::plain::english::many;
use crate::plain::ids::RuleName;
use crate::rules::verdict::Verdict;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Quiet {
    /// Alerts that somebody has put off; each goes round again by itself.
    pub put_off: usize,
    /// Findings about dams that wait for the morning, or because somebody has just looked.
    pub held_back: usize,
    /// Sensors that are not blamed while the gateway above them is silent.
    pub behind_gateway: usize,
    /// Sensors that are on nobody.
    pub out_of_use: usize,
}

impl Quiet {
    /// "Quiet now: 1 alert put off, 2 findings held back, 3 sensors on nobody."; `None` if nothing is.
    pub fn line(self) -> Option<String> {
        let counts = [
            (self.put_off, "alert put off", "alerts put off"),
            (self.held_back, "finding held back", "findings held back"),
            (
                self.behind_gateway,
                "sensor behind a silent gateway",
                "sensors behind a silent gateway",
            ),
            (self.out_of_use, "sensor on nobody", "sensors on nobody"),
        ];
        let said: Vec<String> = counts
            .into_iter()
            .filter(|(n, ..)| *n > 0)
            .map(|(n, one, more)| many(n, one, more))
            .collect();
        (!said.is_empty()).then(|| format!("Quiet now: {}.", said.join(", ")))
    }
}

impl Watch {
    pub(super) fn quiet(&self, ready: &Ready) -> Quiet {
        let state = &self.state;
        let put_off = |standing: &Standing| matches!(standing, Standing::Later { .. });
        let devices = || 0..u32::try_from(state.devices.len()).unwrap_or(u32::MAX);
        let on_nobody = |place: &u32| state.ledger.wearing(*place, state.now).is_none();
        Quiet {
            put_off: state.watchman.open.values().filter(|one| put_off(&one.standing)).count(),
            held_back: self.held_back(ready),
            behind_gateway: devices()
                .filter(|place| !on_nobody(place) && self.is_cut_off(*place, ready))
                .count(),
            out_of_use: devices()
                .filter(|place| on_nobody(place) && state.ledger.rows(*place).next().is_some())
                .count(),
        }
    }

    /// Asks the rules once more of each dam of whom something may be held back, and counts what they find and do not say.
    fn held_back(&self, ready: &Ready) -> usize {
        let (now, look_apart) = (self.state.now, ready.config.farm.look_apart);
        let zone = &ready.config.farm.zone;
        let night = !ready.book.by_day.is_empty() && !is_day(zone, now);
        let may_be = |place: &u32| {
            night || self.state.looks.get(place).is_some_and(|look| look.at + look_apart > now)
        };
        let places = (0_u32..).zip(self.state.dams.names()).map(|(place, _)| place);
        let listed = places.filter(|place| self.state.dams.at(*place).1.listed).filter(may_be);
        listed.map(|place| self.held_back_of(place, ready)).sum()
    }

    fn held_back_of(&self, place: u32, ready: &Ready) -> usize {
        let worn = Worn { state: &self.state, ready, dam: place };
        let (dam, asking) = (self.state.dams.at(place).1, self.asking(&worn));
        let told = ready.book.dam.iter().filter(|rule| ready.tells(&rule.name));
        let asked = told.map(|rule| {
            let verdict = rule.ask(dam, &asking);
            (rule.name.clone(), in_its_hours(&rule.name, verdict, ready))
        });
        let mut found: Vec<(RuleName, Verdict)> = asked.collect();
        let before = wrong(&found);
        if before == 0 {
            return 0;
        }
        let key = Key::Dam(place);
        self.wait_for_morning(&key, &mut found, ready);
        self.wait_since_look(&key, &mut found, ready);
        before - wrong(&found)
    }
}

fn wrong(found: &[(RuleName, Verdict)]) -> usize {
    found.iter().filter(|(_, verdict)| matches!(verdict, Verdict::Wrong(_))).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_quiet_is_counted_in_one_line() {
        assert_eq!(Quiet::default().line(), None);
        let quiet = Quiet { put_off: 1, held_back: 2, behind_gateway: 0, out_of_use: 3 };
        assert_eq!(
            quiet.line().as_deref(),
            Some("Quiet now: 1 alert put off, 2 findings held back, 3 sensors on nobody.")
        );
    }
}
