//! A change of shift: whoever comes on is told what is open, who has what, who may calve and who is behind them, and
//! what nobody has answered goes to them at once.

use std::collections::BTreeSet;
use std::rc::Rc;

use super::Watch;
use super::asking::Asked;
use super::out::Out;
use super::ready::Ready;
use crate::alarm::ladder;
use crate::herd::stage::Stage;
use crate::plain::ids::{Animal, PersonName};
use crate::rota;
use crate::talk::head;
use crate::talk::phrases::{Phrases, say};
use crate::talk::reader::Reader;

/// Text messages that a handover may fill (needs.md N116).
const PARTS: usize = 3;
/// Open alerts and dams named in it; the rest are counted.
const NAMED: usize = 6;

impl Watch {
    /// When the next shift begins or ends.
    pub(super) fn ask_duty(&self, ready: &Ready) -> Asked {
        let (now, zone) = (self.state.now, &ready.config.farm.zone);
        (Vec::new(), rota::next_change(&ready.config.rotas, zone, now))
    }

    /// Tells those who have come on since it was last looked at.
    pub(super) fn hands_over(&mut self, ready: &Rc<Ready>, out: &mut Out) {
        let shifts = ladder::duty(&ready.config, self.state.now).people;
        let on: BTreeSet<PersonName> = shifts.into_iter().map(|shift| shift.person).collect();
        let before = std::mem::replace(&mut self.state.on_duty, on.clone());
        if before.is_empty() {
            // The watch begins, or nobody was on: everybody is called then anyway.
            return;
        }
        for who in on.difference(&before) {
            out.note(format!("{who} comes on duty"));
            let text = self.handover_text(who, ready);
            self.moment.parts = PARTS;
            self.answer(who, &text, None, ready, out);
            let moves = self.state.watchman.comes_on(&ready.config, who);
            self.follow(moves, ready, out);
        }
    }

    pub(super) fn handover_text(&self, who: &PersonName, ready: &Ready) -> String {
        let (config, now) = (&ready.config, self.state.now);
        let duty = ladder::duty(config, now);
        let zone = &config.farm.zone;
        let until = duty.people.iter().find(|shift| shift.person == *who).map(|shift| shift.until);
        let reader = Reader::of(config, who, None);
        let said = reader.phrases();
        let until =
            until.map_or(String::new(), |until| say(said.until, &[("at", &zone.stamp(until))]));
        let mut lines = vec![say(said.on_duty, &[("until", &until)])];
        let open = &self.state.watchman.open;
        let mut alerts: Vec<_> = open.values().collect();
        alerts.sort_by_key(|alert| (alert.holder().is_some(), std::cmp::Reverse(alert.priority)));
        for alert in alerts.iter().take(NAMED) {
            let head = head::head_for(config, alert, now, &reader);
            let holder = alert.holder();
            let holder = holder.map(|who| say(said.has_it_text, &[("who", who)]));
            lines.push(head + holder.as_deref().unwrap_or("."));
        }
        if alerts.len() > NAMED {
            lines.push(say(said.and_n_more, &[("n", &(alerts.len() - NAMED))]));
        }
        if alerts.is_empty() {
            lines.push(said.nothing_open.to_owned());
        }
        let begun = |stage: Stage| matches!(stage, Stage::First | Stage::Second | Stage::Third);
        let begun = self.named_dams(begun, said);
        if !begun.is_empty() {
            lines.push(say(said.begun, &[("dams", &begun)]));
        }
        let due = self.due_now(ready);
        if due > 0 {
            let dams = said.many(due, said.one_dam, said.dams);
            lines.push(say(said.in_windows, &[("dams", &dams)]));
        }
        let odd = open.values().filter(|alert| alert.figures.says_it_is_blind()).count();
        if odd > 0 {
            lines.push(say(said.sensors_odd, &[("n", &odd)]));
        }
        let backup: Vec<&str> = duty.backup.iter().map(PersonName::as_str).collect();
        lines.push(if backup.is_empty() {
            said.alone_behind.to_owned()
        } else {
            say(said.behind, &[("who", &said.list(&backup))])
        });
        lines.join("\n")
    }

    fn named_dams(&self, which: impl Fn(Stage) -> bool, said: &Phrases) -> String {
        let dams = self.state.dams.names().filter(|animal| {
            let dam = self.state.dams.get(animal.as_str());
            dam.is_some_and(|dam| dam.listed && which(dam.stage))
        });
        let mut names: Vec<String> = dams.map(Animal::to_string).collect();
        let more = names.len().saturating_sub(NAMED);
        names.truncate(NAMED);
        if more > 0 {
            names.push(say(said.more, &[("n", &more)]));
        }
        said.list(&names)
    }

    fn due_now(&self, ready: &Ready) -> usize {
        let now = self.state.now;
        let places = 0..u32::try_from(self.state.dams.len()).unwrap_or(u32::MAX);
        let due = places.filter(|place| {
            let dam = self.state.dams.at(*place).1;
            let window = ready.window(*place);
            dam.listed
                && dam.stage == Stage::Carrying
                && window.is_some_and(|(opens, closes)| opens <= now && now < closes)
        });
        due.count()
    }
}
