//! Asks whether hours ahead have nobody, or nobody behind whoever is on: because somebody is ill, took another's shift,
//! or is away. It finds; the rule says how far ahead it is told, and the ladders whom.

use super::Watch;
use super::asking::Asked;
use super::contacts;
use super::ready::Ready;
use super::settle::earlier;
use crate::alarm::ladder;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::rota::cover::{Hole, Wanted};
use crate::rules::verdict::{Figures, Verdict, Wrong};

impl Watch {
    pub(super) fn ask_rota(&self, ready: &Ready) -> Asked {
        let now = self.state.now;
        let holes = if ready.book.uncovered.is_empty() {
            Vec::new()
        } else {
            let counts = |who: &PersonName, _: Moment| self.counts(ready, who);
            wanted(ready, &counts).holes(now, self.settled_until(ready))
        };
        let ask = |ahead: Span| {
            let Some((hole, more)) = holes.split_first() else { return Verdict::Fine };
            let since = hole.from - ahead;
            if since > now {
                return Verdict::FineUntil(since);
            }
            let unproven = self.unproven_of(hole, ready);
            let figures = said(hole, more, unproven, &ready.config.farm.zone);
            let since = since.max(self.opened().unwrap_or(since)).min(now);
            Verdict::Wrong(Wrong { since, figures, ends: Some(hole.until) })
        };
        let asked = ready.book.uncovered.iter();
        let asked = asked.map(|rule| (rule.name.clone(), ask(rule.ahead))).collect();
        // Somebody who can come again may close it; and a question that nobody has answered ends.
        let back = self.state.away.iter().map(|away| away.until);
        let back = back.chain(contacts::next_to_lapse(self, ready));
        let ends = self.state.swaps.iter().filter(|swap| swap.agreed.is_none());
        let next = back.chain(ends.map(|swap| swap.begins())).filter(|at| *at > now);
        (asked, next.fold(None, |first, at| earlier(first, Some(at))))
    }

    /// Until when anything but the settings' own week may open a hole; that week is asked when the settings are read.
    fn settled_until(&self, ready: &Ready) -> Moment {
        let away = self.state.away.iter().map(|away| away.until);
        let instead = ready.config.rotas.iter().flat_map(|rota| &rota.instead);
        let lapsed = ready.config.people.iter().any(|one| !self.counts(ready, &one.name));
        let ahead = ready.book.uncovered.iter().map(|rule| rule.ahead).max().filter(|_| lapsed);
        let ahead = ahead.map(|ahead| self.state.now + ahead);
        let until = instead.map(|instead| instead.until);
        away.chain(until).chain(ahead).max().unwrap_or(self.state.now)
    }

    /// Who would be on duty or behind them when a hole begins, and does not count.
    fn unproven_of(&self, hole: &Hole, ready: &Ready) -> Vec<PersonName> {
        let duty = ladder::duty(&ready.config, hole.from);
        let on = duty.people.into_iter().map(|shift| shift.person);
        let mut people: Vec<PersonName> = on.chain(duty.backup).collect();
        people.retain(|who| !self.counts(ready, who));
        people.sort();
        people.dedup();
        people
    }

    /// Since when people's words have changed the rota: what they open is no older trouble.
    fn opened(&self) -> Option<Moment> {
        let away = self.state.away.iter().map(|away| away.from);
        away.chain(self.state.swaps.iter().filter_map(|swap| swap.agreed)).max()
    }
}

/// What is asked of this farm's rotas.
pub(super) fn wanted<'w>(
    ready: &'w Ready,
    counts: &'w dyn Fn(&PersonName, Moment) -> bool,
) -> Wanted<'w> {
    let config = &ready.config;
    Wanted { rotas: &config.rotas, zone: &config.farm.zone, covered: config.calls.covered, counts }
}

fn said(hole: &Hole, more: &[Hole], unproven: Vec<PersonName>, zone: &Zone) -> Figures {
    let from = zone.day_and_clock(hole.from);
    // The day of its end goes without saying up to the same time of the next day.
    let until = if hole.until.since(hole.from) <= Span::days(1) {
        zone.clock(hole.until)
    } else {
        zone.day_and_clock(hole.until)
    };
    let more = if more.is_empty() { String::new() } else { format!(", {} more", more.len()) };
    Figures::Uncovered {
        rota: hole.rota.clone().unwrap_or_default(),
        hours: format!("{from} to {until}{more}"),
        nobody: hole.nobody,
        unproven,
    }
}
