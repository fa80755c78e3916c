//! The checks that look at the whole farm after a step: what is wrong is an alert, what is an alert is
//! wrong, and every alert has somebody or goes on looking.

use std::collections::{BTreeMap, BTreeSet};

use super::broken::{Faults, Promise};
use super::checks::{Checks, TOLERANCE};
use super::facts::Wrong;
use super::ledger::Known;
use super::limits::{BUILDING, BUILDING_IN};
use super::lists::LOW;
use super::yard::AGAIN;
use crate::alarm::message::MessageKind;
use crate::herd::stage::Stage;
use crate::plain::ids::{AlertNo, Animal, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::watch::effect::Effect;
use crate::watch::{Step, Watch};

/// Once faults have stopped, an alert looks for somebody no longer than this.
const FOUND_WITHIN: Span = Span::minutes(60);

impl Checks {
    /// No dam past a limit without an alert, in the same step; and nobody is woken for nothing.
    pub(super) fn wrong_is_alert(&mut self, now: Moment, wrong: &BTreeMap<Wrong, Moment>) {
        let mut faults = Faults::new();
        let open: BTreeSet<(&str, &str)> = self
            .ledger
            .open
            .values()
            .map(|known| (known.rule.as_str(), known.about.as_str()))
            .collect();
        let pouring = |about: &str| {
            let dam = about.strip_prefix("dam ").and_then(|name| self.facts.dams.get(name));
            dam.is_some_and(|dam| dam.is_pouring(now))
        };
        for ((rule, about), since) in wrong {
            if !pouring(about) && !open.contains(&(*rule, about.as_str())) {
                faults.push((
                    Promise::WrongIsAnAlert,
                    format!("{about}: {rule} since {} and there is no alert", since.rfc3339()),
                ));
            }
        }
        for known in self.ledger.open.values() {
            let Known { rule, about, raised, .. } = known;
            let Some((_, due)) =
                wrong.iter().find(|((name, whom), _)| name == rule && whom == about)
            else {
                if self.stands_until_answered(known) || pouring(about) {
                    continue;
                }
                faults.push((
                    Promise::AnAlertIsWrong,
                    format!("{about}: an alert says {rule}, which is not so"),
                ));
                continue;
            };
            let animal = Animal::new(about.strip_prefix("dam ").unwrap_or_default());
            let told = self.facts.dams.get(&animal).map(|dam| dam.told);
            let earliest = told.unwrap_or_default().max(*due).max(self.up_since);
            if *raised == now && now > earliest + TOLERANCE {
                faults.push((
                    Promise::WokenInTime,
                    format!("{about}: {rule} since {} is told only now", due.rfc3339()),
                ));
            }
        }
        for (animal, dam) in &self.facts.dams {
            let is = self.stages.get(animal).copied().unwrap_or(Stage::Carrying);
            if dam.stage != is {
                faults.push((
                    Promise::StagesGoForward,
                    format!(
                        "dam {animal} is in {} and should be in {}",
                        is.phrase(),
                        dam.stage.phrase()
                    ),
                ));
            }
        }
        self.broke(now, faults);
    }

    /// Signs that built up and faded are no all-clear: such an alert stands until somebody answers.
    fn stands_until_answered(&self, known: &Known) -> bool {
        let dam = known.about.strip_prefix("dam ").and_then(|name| self.facts.dams.get(name));
        let early = dam.is_some_and(|dam| BUILDING_IN.contains(&dam.stage));
        known.rule == BUILDING && early && known.held.is_none()
    }

    /// What came true while nobody watched is raised at once and says how late it is (needs.md N02).
    pub(super) fn late_is_said(
        &mut self,
        now: Moment,
        step: &Step,
        wrong: &BTreeMap<Wrong, Moment>,
    ) {
        let Some(down_from) = self.down_from.filter(|_| self.up_since == now) else {
            return;
        };
        let mut faults = Faults::new();
        for effect in &step.effects {
            let Effect::Send(message) = effect else {
                continue;
            };
            let known = message.alert.and_then(|alert| self.ledger.open.get(&alert));
            let Some(known) = known.filter(|known| known.raised == now) else {
                continue;
            };
            let due = wrong
                .iter()
                .find(|((rule, about), _)| *rule == known.rule && *about == known.about);
            let late =
                due.is_some_and(|(_, due)| *due > down_from && now.since(*due) >= Span::minutes(1));
            if message.kind == MessageKind::Alert && late && !message.text.contains("Late") {
                faults.push((
                    Promise::LateIsSaid,
                    format!(
                        "message {} does not say that it is late: {}",
                        message.no, message.text
                    ),
                ));
            }
        }
        self.broke(now, faults);
    }

    /// No alert that nobody was told of, none that waits for nothing, and the watch's own list of open
    /// alerts is the one that the world was told of.
    pub(super) fn every_alert_moves(&mut self, now: Moment, step: &Step, watch: &Watch) {
        let mut faults = Faults::new();
        let wake = step.wake.as_ref().map(|wake| wake.at);
        if wake.is_some_and(|at| at <= now) {
            faults.push((
                Promise::NothingIsStillDue,
                "something is still due after the step".to_owned(),
            ));
        }
        for (no, known) in &self.ledger.open {
            if known.calls.is_empty() && now >= known.told_by {
                faults.push((Promise::SomebodyIsTold, format!("nobody was told of alert {no}")));
            }
            let due = match &known.held {
                Some((_, until)) => *until,
                None => known.moves_by(&self.ledger.lists, AGAIN),
            };
            if wake.is_none_or(|at| at > due) {
                faults.push((
                    Promise::AnAlertMoves,
                    format!("alert {no} should move at {} and nothing is due then", due.rfc3339()),
                ));
            }
            let looks_from = |calm: Moment| {
                let from = known.loose_since.max(calm);
                // What can wait looks for somebody with the next list.
                if known.priority == LOW { self.ledger.lists.next(from) } else { from }
            };
            if let Some(calm) = self.calm_from
                && now > looks_from(calm) + FOUND_WITHIN
            {
                faults.push((
                    Promise::Recovers,
                    format!("alert {no} has found nobody, and nothing fails any more"),
                ));
            }
        }
        let said: BTreeMap<AlertNo, Option<&PersonName>> = self
            .ledger
            .open
            .iter()
            .map(|(no, known)| (*no, known.held.as_ref().map(|(who, _)| who)))
            .collect();
        let own: BTreeMap<AlertNo, Option<&PersonName>> =
            watch.state().watchman.open.iter().map(|(no, alert)| (*no, alert.holder())).collect();
        if said != own {
            faults.push((
                Promise::OneTruth,
                format!(
                    "the world thinks that these are open and held: {said:?}; the watch: {own:?}"
                ),
            ));
        }
        self.broke(now, faults);
    }
}
