//! "ill until mon", "well": who cannot come, by their own word. It holds at once, and everybody whom it concerns is
//! told. Whether it leaves hours open is asked elsewhere (`watch/open_hours.rs`).

use std::collections::BTreeSet;
use std::rc::Rc;

use super::Watch;
use super::out::Out;
use super::ready::Ready;
use super::swaps::date_after;
use crate::alarm::alert::{Alert, Standing};
use crate::config::calls::EVENING;
use crate::config::people::Away;
use crate::plain::ids::{AlertNo, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::rota;
use crate::talk::speech::Speech;
use crate::talk::swap::DaySaid;

/// Whoever does not say until when is asked for by nobody for so long; a longer illness is written into the rota.
const ILL_MAX: Span = Span::days(60);

impl Watch {
    pub(super) fn falls_ill(
        &mut self,
        who: &PersonName,
        until: Option<DaySaid>,
        out: &mut Out,
    ) -> (String, bool) {
        let now = self.state.now;
        // As if they could come, so that their own shifts are seen.
        self.state.away.retain(|away| away.person != *who);
        self.rota_again();
        let Some(ready) = self.ready.clone() else { return (String::new(), false) };
        let zone = &ready.config.farm.zone;
        let longest = now + ILL_MAX;
        let until = until.map(|day| {
            let at = until_when(day, zone, now);
            // A night is not divided at midnight: it is somebody else's to its end.
            rota::end_of_shift(&ready.config.rotas, zone, who, at)
        });
        let until = until.filter(|until| *until > now && *until < longest);
        let (person, from) = (who.clone(), now);
        self.state.away.push(Away { person, from, until: until.unwrap_or(longest) });
        let cannot_come = |speech: &Speech<'_>| {
            let until = until.map_or(speech.shifts.until_they_say.to_owned(), |at| {
                speech.say(speech.shifts.until, &[("at", &speech.day_and_clock(at))])
            });
            speech.say(speech.shifts.cannot_come, &[("who", who), ("until", &until)])
        };
        let noted = cannot_come(&Speech::english(&ready.config));
        out.note(noted.trim_end_matches('.').to_owned());
        self.rota_again();
        self.lets_go(who, &ready, out);
        let (behind, before) = concerned(who, &ready);
        let before = before.into_iter().filter(|other| !behind.contains(other));
        let each = behind.iter().map(|backup| (backup.clone(), true));
        let each: Vec<(PersonName, bool)> =
            each.chain(before.map(|other| (other, false))).collect();
        for (other, is_behind) in each {
            let theirs = Speech::to(&ready.config, &other);
            let words = theirs.shifts;
            let words = if is_behind { words.yours_where_behind } else { words.not_behind_you };
            let text = format!("{} {}", cannot_come(&theirs), theirs.say(words, &[("who", who)]));
            self.answer(&other, &text, None, &ready, out);
        }
        let own = Speech::to(&ready.config, who);
        let span = until.map_or(own.shifts.until_you_say.to_owned(), |at| {
            own.say(own.shifts.until, &[("at", &own.day_and_clock(at))])
        });
        let noted = own.say(own.shifts.ill_noted, &[("until", &span)]);
        let back = if until.is_some() { "" } else { own.shifts.say_well };
        (format!("{noted} {back}").trim_end().to_owned(), true)
    }

    pub(super) fn is_well(
        &mut self,
        who: &PersonName,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let own = Speech::to(&ready.config, who);
        let before = self.state.away.len();
        self.state.away.retain(|away| away.person != *who);
        if self.state.away.len() == before {
            return (own.shifts.not_ill.to_owned(), true);
        }
        out.note(format!("{who} can come again"));
        self.rota_again();
        let (behind, before) = concerned(who, ready);
        for other in behind.iter().chain(before.iter().filter(|other| !behind.contains(other))) {
            let theirs = Speech::to(&ready.config, other);
            let text = theirs.say(theirs.shifts.comes_again, &[("who", who)]);
            self.answer(other, &text, None, ready, out);
        }
        (own.shifts.yours_again.to_owned(), true)
    }

    /// What somebody has who cannot come, or was alone told of, begins anew with those who are on now.
    fn lets_go(&mut self, who: &PersonName, ready: &Rc<Ready>, out: &mut Out) {
        let watchman = &mut self.state.watchman;
        let theirs = |alert: &&mut Alert| match &alert.standing {
            Standing::Held { by, .. } | Standing::Later { by, .. } => by == who,
            Standing::Climbing { .. } => {
                !alert.told.is_empty() && alert.told.keys().all(|told| told == who)
            }
        };
        let held = watchman.open.values_mut().filter(theirs).map(|alert| {
            alert.rung.next = 0;
            alert.no
        });
        let held: Vec<AlertNo> = held.collect();
        let now = self.state.now;
        // Those who are on now are others than before.
        let ready = self.ready.clone().unwrap_or_else(|| ready.clone());
        for no in held {
            let moves = self.state.watchman.pass(&ready.config, no, who, now);
            self.follow(moves, &ready, out);
        }
    }
}

/// Those who back somebody up, and those whom they back up: of whose shifts it matters whether they can come.
fn concerned(who: &PersonName, ready: &Ready) -> (Vec<PersonName>, Vec<PersonName>) {
    let (mut behind, mut before): (Vec<PersonName>, Vec<PersonName>) = (Vec::new(), Vec::new());
    for rota in &ready.config.rotas {
        // A calendar has no turn: whoever stands in it has shifts.
        let planned = rota.instead.iter().take(rota.planned.count).map(|one| &one.person);
        let takers: BTreeSet<&PersonName> = rota.turn.iter().chain(planned).collect();
        if takers.contains(who) {
            behind.extend(rota.backup.iter().cloned());
        }
        if rota.backup.contains(who) {
            before.extend(takers.into_iter().cloned());
        }
    }
    for people in [&mut behind, &mut before] {
        people.sort_unstable();
        people.dedup();
        people.retain(|other| other != who);
    }
    (behind, before)
}

/// "Until Monday" is until Monday begins; "until tonight" until the evening.
fn until_when(day: DaySaid, zone: &Zone, now: Moment) -> Moment {
    match day {
        DaySaid::Tonight => zone.instant(zone.wall(now).date().at(EVENING, 0, 0, 0)),
        DaySaid::Tomorrow | DaySaid::On(_) | DaySaid::Date(_) => {
            zone.instant(date_after(day, zone, now).at(0, 0, 0, 0))
        }
    }
}
