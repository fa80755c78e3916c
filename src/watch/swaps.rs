//! What people settle among themselves: swaps that both agree to, and who cannot come. It holds at once, survives a
//! restart, and everybody whom it concerns is told. The settings' rotas stay as they are written.

use std::rc::Rc;

use jiff::civil::Date;

use super::Watch;
use super::asking::Asked;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::{Touched, earlier};
use crate::alarm::alert::{Alert, Standing};
use crate::config;
use crate::config::people::{Away, Part};
use crate::plain::ids::{AlertNo, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::rota::swap::Swap;
use crate::rota::{self, OnShift, cover};
use crate::rules::verdict::{Figures, Verdict, Wrong};
use crate::talk::swap::{DaySaid, RotaSaid};

/// Whoever does not say until when is asked for by nobody for so long; a longer illness is written into the rota.
const ILL_MAX: Span = Span::days(60);

/// Nobody asks for more swaps than this at once.
const SWAPS_MAX: usize = 200;

impl Watch {
    pub(super) fn settles_rota(
        &mut self,
        who: &PersonName,
        said: &RotaSaid,
        touched: &mut Touched,
        out: &mut Out,
    ) -> (String, bool) {
        let Some(ready) = self.ready.clone() else { return (String::new(), false) };
        let part = ready.config.people.iter().find(|one| one.name == *who).map(|one| one.part);
        if matches!(part, Some(Part::Vet | Part::Viewer) | None) {
            return ("You take no shifts here.".to_owned(), false);
        }
        let now = self.state.now;
        self.state.swaps.retain(|swap| !swap.is_past(now));
        self.state.away.retain(|away| away.until > now);
        touched.key(Key::Rota);
        if ready.config.calls.handover {
            touched.key(Key::Duty);
        }
        match said {
            RotaSaid::Ask { day, with, back } => {
                self.asks_to_swap(who, (*day, *back), with, &ready, out)
            }
            RotaSaid::Agree => self.agrees(who, &ready, out),
            RotaSaid::Refuse => self.refuses_swap(who, &ready, out),
            RotaSaid::Ill { until } => self.falls_ill(who, *until, &ready, out),
            RotaSaid::Well => self.is_well(who, &ready, out),
        }
    }

    fn asks_to_swap(
        &mut self,
        who: &PersonName,
        (day, back): (DaySaid, Option<DaySaid>),
        with: &str,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let Some(with) = ready.by_name(with).filter(|with| *with != who).cloned() else {
            return (format!("There is no {with} here to swap with."), false);
        };
        let mine = match self.shift_on(who, day, ready) {
            Ok(shift) => shift,
            Err(day) => return (format!("You have no shift that begins on {day}."), false),
        };
        let back = match back.map(|day| self.shift_on(&with, day, ready)) {
            None => None,
            Some(Ok(shift)) => Some(shift),
            Some(Err(day)) => return (format!("{with} has no shift that begins on {day}."), false),
        };
        if self.state.swaps.len() >= SWAPS_MAX {
            return ("Too many swaps are open.".to_owned(), false);
        }
        let zone = &ready.config.farm.zone;
        let shift = said(zone, &mine);
        let takes = back.as_ref().map(|back| format!(" and takes yours, {}", said(zone, back)));
        let takes = takes.unwrap_or_default();
        out.note(format!("{who} asks {with} to take {shift}{takes}"));
        let text = format!(
            "{who} asks you to take the shift {shift}{takes}. Answer: swap yes, or swap no."
        );
        self.state.swaps.retain(|old| old.agreed.is_some() || old.shift != mine);
        self.state.swaps.push(Swap {
            asker: who.clone(),
            with: with.clone(),
            shift: mine,
            back,
            agreed: None,
        });
        self.answer(&with, &text, None, ready, out);
        (format!("{with} is asked. Until {with} answers, {shift} is yours."), true)
    }

    /// The shift of somebody that begins on a day; else the day, in words.
    fn shift_on(&self, who: &PersonName, day: DaySaid, ready: &Ready) -> Result<OnShift, String> {
        let zone = &ready.config.farm.zone;
        let date = date_of(day, zone, self.state.now);
        let shift = rota::shift_of(&ready.config.rotas, zone, who, date, self.state.now);
        shift.ok_or_else(|| {
            let words = zone.day_and_clock(zone.instant(date.at(12, 0, 0, 0)));
            words.rsplit_once(' ').map_or(words.clone(), |(day, _)| day.to_owned())
        })
    }

    fn agrees(&mut self, who: &PersonName, ready: &Rc<Ready>, out: &mut Out) -> (String, bool) {
        let now = self.state.now;
        let open =
            self.state.swaps.iter_mut().rev().find(|swap| swap.with == *who && swap.is_open(now));
        let Some(swap) = open else {
            return ("Nobody asks you for a swap now.".to_owned(), false);
        };
        swap.agreed = Some(now);
        let swap = swap.clone();
        let zone = &ready.config.farm.zone;
        let shift = said(zone, &swap.shift);
        let back = swap
            .back
            .as_ref()
            .map_or(String::new(), |back| format!(" {} takes {}.", swap.asker, said(zone, back)));
        out.note(format!("{who} agrees: {who} takes {shift}.{back}"));
        self.rota_again();
        let text = format!("{who} takes the shift {shift}.{back}");
        self.answer(&swap.asker, &text, None, ready, out);
        for backup in self.backups_of(&[&swap.shift.rota], ready) {
            if backup != *who && backup != swap.asker {
                self.answer(&backup, &format!("{text} You are backup."), None, ready, out);
            }
        }
        (format!("Noted: you take {shift}.{back}"), true)
    }

    fn refuses_swap(
        &mut self,
        who: &PersonName,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let now = self.state.now;
        let open = self
            .state
            .swaps
            .iter()
            .rposition(|swap| (swap.with == *who || swap.asker == *who) && swap.is_open(now));
        let Some(at) = open else {
            return ("No swap of yours is open.".to_owned(), false);
        };
        let swap = self.state.swaps.remove(at);
        let shift = said(&ready.config.farm.zone, &swap.shift);
        let (other, text) = if swap.with == *who {
            (&swap.asker, format!("{who} does not take {shift}: it stays yours."))
        } else {
            (&swap.with, format!("{who} keeps {shift}: you need not take it."))
        };
        out.note(format!("no swap: {shift} stays with {}", swap.asker));
        self.answer(other, &text, None, ready, out);
        (format!("Noted: {shift} stays with {}.", swap.asker), true)
    }

    fn falls_ill(
        &mut self,
        who: &PersonName,
        until: Option<DaySaid>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let (now, zone) = (self.state.now, ready.config.farm.zone.clone());
        // "Until Monday" is until Monday begins.
        let until = until.map(|day| zone.instant(date_of(day, &zone, now).at(0, 0, 0, 0)));
        let until = until.filter(|until| *until > now).unwrap_or(now + ILL_MAX).min(now + ILL_MAX);
        self.state.away.retain(|away| away.person != *who);
        self.state.away.push(Away { person: who.clone(), from: now, until });
        let open = until == now + ILL_MAX;
        let span = if open {
            "until they say \"well\"".to_owned()
        } else {
            format!("until {}", zone.day_and_clock(until))
        };
        out.note(format!("{who} cannot come {span}"));
        self.rota_again();
        self.lets_go(who, ready, out);
        let text =
            format!("{who} cannot come {span}. Where you back {who} up, the shift is yours.");
        for backup in self.backups_of_person(who, ready) {
            self.answer(&backup, &text, None, ready, out);
        }
        let back = if open { " Answer \"well\" when you can come again." } else { "" };
        (format!("Noted: you are not called {span}. Get well.{back}"), true)
    }

    fn is_well(&mut self, who: &PersonName, ready: &Rc<Ready>, out: &mut Out) -> (String, bool) {
        let before = self.state.away.len();
        self.state.away.retain(|away| away.person != *who);
        if self.state.away.len() == before {
            return ("You were not noted as ill.".to_owned(), true);
        }
        out.note(format!("{who} can come again"));
        self.rota_again();
        for backup in self.backups_of_person(who, ready) {
            self.answer(
                &backup,
                &format!("{who} can come again and takes their shifts."),
                None,
                ready,
                out,
            );
        }
        ("Noted: your shifts are yours again.".to_owned(), true)
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

    fn backups_of_person(&self, who: &PersonName, ready: &Ready) -> Vec<PersonName> {
        let rotas = ready.config.rotas.iter().filter(|rota| rota.turn.contains(who));
        let names: Vec<&String> = rotas.map(|rota| &rota.name).collect();
        let mut backups = self.backups_of(&names, ready);
        backups.retain(|backup| backup != who);
        backups
    }

    fn backups_of(&self, names: &[&String], ready: &Ready) -> Vec<PersonName> {
        let rotas = ready.config.rotas.iter().filter(|rota| names.contains(&&rota.name));
        let mut backups: Vec<PersonName> = Vec::new();
        for backup in rotas.flat_map(|rota| &rota.backup) {
            if !backups.contains(backup) {
                backups.push(backup.clone());
            }
        }
        backups
    }

    /// What was agreed is laid over the settings anew.
    fn rota_again(&mut self) {
        if let Some(config) = config::parse(&self.state.settings).config {
            self.ready = Some(Rc::new(Ready::new(config, &mut self.state)));
        }
    }

    /// Asks whether any shift ahead has nobody, or nobody behind it.
    pub(super) fn ask_rota(&self, ready: &Ready) -> Asked {
        let (now, zone) = (self.state.now, &ready.config.farm.zone);
        let hole = cover::first_hole(&ready.config.rotas, zone, now, now + cover::LOOK_MAX);
        let asked = ready.book.uncovered.iter().map(|rule| {
            let Some(hole) = &hole else { return (rule.name.clone(), Verdict::Fine) };
            let since = hole.from - rule.ahead;
            if since > now {
                return (rule.name.clone(), Verdict::FineUntil(since));
            }
            let (from, until) = (zone.day_and_clock(hole.from), zone.day_and_clock(hole.until));
            let figures = Figures::Uncovered {
                rota: hole.rota.clone(),
                hours: format!("{from} to {until}"),
                nobody: hole.nobody,
            };
            let wrong =
                Wrong { since: since.max(self.opened(now)), figures, ends: Some(hole.until) };
            (rule.name.clone(), Verdict::Wrong(wrong))
        });
        let asked = asked.collect();
        // Somebody who can come again may close it.
        let back = self.state.away.iter().map(|away| away.until).filter(|until| *until > now);
        (asked, back.fold(None, |first, until| earlier(first, Some(until))))
    }

    /// Since when somebody cannot come: what they would have covered is no older trouble.
    fn opened(&self, now: Moment) -> Moment {
        self.state.away.iter().map(|away| away.from).max().unwrap_or(now).min(now)
    }
}

/// "night, Fri 27 Nov 20:00 to Sat 28 Nov 08:00".
fn said(zone: &Zone, shift: &OnShift) -> String {
    let (from, until) = (zone.day_and_clock(shift.from), zone.day_and_clock(shift.until));
    format!("{}, {from} to {until}", shift.rota)
}

fn date_of(day: DaySaid, zone: &Zone, now: Moment) -> Date {
    let today = zone.wall(now).date();
    match day {
        DaySaid::Tonight => today,
        DaySaid::Tomorrow => today.tomorrow().unwrap_or(today),
        DaySaid::On(weekday) => {
            let mut days = std::iter::successors(Some(today), |day| day.tomorrow().ok()).take(7);
            days.find(|day| day.weekday() == weekday).unwrap_or(today)
        }
        DaySaid::Date(date) => date,
    }
}
