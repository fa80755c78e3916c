//! What people have agreed among themselves: swaps, and who cannot come. It is laid over the settings' rotas, so that
//! whoever asks who is on duty need know nothing of it.

use serde::{Deserialize, Serialize};

use super::OnShift;
use crate::config::Config;
use crate::config::people::{Away, Instead, Part};
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
    match part {
        Some(Part::Owner | Part::Stockman | Part::Helper) => true,
        Some(Part::Vet | Part::Viewer) | None => false,
    }
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
