//! What people have agreed among themselves: swaps, and who cannot come. It is laid over the settings' rotas, so that
//! whoever asks who is on duty need know nothing of it.

use serde::{Deserialize, Serialize};

use super::OnShift;
use crate::config::people::{Away, Instead, Rota};
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
    /// A question that nobody has answered ends by itself when the first of its shifts begins.
    pub fn is_open(&self, now: Moment) -> bool {
        let first =
            self.back.as_ref().map_or(self.shift.from, |back| back.from.min(self.shift.from));
        self.agreed.is_none() && first > now
    }

    /// Whether nothing of it can matter any more.
    pub fn is_past(&self, now: Moment) -> bool {
        let last =
            self.back.as_ref().map_or(self.shift.until, |back| back.until.max(self.shift.until));
        last <= now || (self.agreed.is_none() && !self.is_open(now))
    }
}

/// Lays what was agreed over the rotas of the settings.
pub fn lay_over(rotas: &mut [Rota], swaps: &[Swap], away: &[Away]) {
    for rota in &mut *rotas {
        rota.away = away.to_vec();
    }
    for swap in swaps.iter().filter(|swap| swap.agreed.is_some()) {
        let back = swap.back.iter().map(|back| (back, &swap.asker));
        for (shift, person) in std::iter::once((&swap.shift, &swap.with)).chain(back) {
            if let Some(rota) = rotas.iter_mut().find(|rota| rota.name == shift.rota) {
                let (from, until, person) = (shift.from, shift.until, person.clone());
                rota.instead.push(Instead { from, until, person });
            }
        }
    }
}
