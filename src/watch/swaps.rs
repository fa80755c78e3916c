//! Swaps that both agree to. They hold at once, survive a restart, and everybody whom they concern is told. The
//! settings' rotas stay as they are written; who cannot come is another's business (`watch/away.rs`).

use std::rc::Rc;

use jiff::civil::Date;

use super::Watch;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::config;
use crate::plain::english;
use crate::plain::ids::PersonName;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;
use crate::rota::swap::{Swap, takes_shifts};
use crate::rota::{self, OnShift};
use crate::talk::swap::{DaySaid, RotaSaid, Which};

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
        if !takes_shifts(&ready.config, who) {
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
            RotaSaid::Agree(which) => self.agrees(who, which, &ready, out),
            RotaSaid::Refuse(which) => self.refuses_swap(who, which, &ready, out),
            RotaSaid::Ill { until } => self.falls_ill(who, *until, out),
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
        let with = ready.by_name(with).filter(|with| takes_shifts(&ready.config, with));
        let Some(with) = with.filter(|with| *with != who).cloned() else {
            return ("There is nobody of that name to swap with.".to_owned(), false);
        };
        let mine = match self.shift_on(who, day, ready) {
            Ok(shift) => shift,
            Err(why) => return (format!("You have no shift {why}."), false),
        };
        let back = match back.map(|day| self.shift_on(&with, day, ready)) {
            None => None,
            Some(Ok(shift)) => Some(shift),
            Some(Err(why)) => return (format!("{with} has no shift {why}."), false),
        };
        if rota::cannot_come(&ready.config.rotas, &with, mine.from) {
            return (format!("{with} cannot come then."), false);
        }
        if self.state.swaps.len() >= SWAPS_MAX {
            return ("Too many swaps are open.".to_owned(), false);
        }
        self.asks_no_more(who, &mine, &with, ready, out);
        let zone = &ready.config.farm.zone;
        let shift = said(zone, &mine);
        let takes = back.as_ref().map(|back| format!(" and takes yours, {}", said(zone, back)));
        let takes = takes.unwrap_or_default();
        out.note(format!("{who} asks {with} to take {shift}{takes}"));
        let swap = Swap { asker: who.clone(), with: with.clone(), shift: mine, back, agreed: None };
        self.answer(&with, &question(zone, &swap), None, ready, out);
        self.state.swaps.push(swap);
        (format!("{with} is asked. Until {with} answers, {shift} is yours."), true)
    }

    /// Whoever was asked for the same shift before need not answer any more.
    fn asks_no_more(
        &mut self,
        who: &PersonName,
        shift: &OnShift,
        with: &PersonName,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        let before = |old: &mut Swap| old.agreed.is_none() && old.shift == *shift;
        for old in self.state.swaps.extract_if(.., before).collect::<Vec<_>>() {
            if old.with != *with {
                let shift = said(&ready.config.farm.zone, shift);
                let text = format!("{who} asks somebody else now: you need not take {shift}.");
                self.answer(&old.with, &text, None, ready, out);
            }
        }
    }

    /// The shift of somebody that begins on a day and has not begun; else why there is none, in words.
    fn shift_on(&self, who: &PersonName, day: DaySaid, ready: &Ready) -> Result<OnShift, String> {
        let (zone, now) = (&ready.config.farm.zone, self.state.now);
        let date = date_of(day, zone, now);
        // Of a weekday's name it may be the next week's, if today's has begun.
        let later = match day {
            DaySaid::On(_) => date.checked_add(jiff::Span::new().days(7)).ok(),
            DaySaid::Tonight | DaySaid::Tomorrow | DaySaid::Date(_) => None,
        };
        let shift = |date| rota::shift_of(&ready.config.rotas, zone, who, date);
        let first = shift(date);
        let today_is_over =
            zone.wall(now).date() == date && first.as_ref().is_none_or(|shift| shift.from <= now);
        let found = if today_is_over { later.and_then(shift).or(first) } else { first };
        match found {
            Some(shift) if shift.from > now => Ok(shift),
            Some(_) => Err("then that is still to begin".to_owned()),
            None => {
                let words = zone.day_and_clock(zone.instant(date.at(12, 0, 0, 0)));
                let day = words.rsplit_once(' ').map_or(words.as_str(), |(day, _)| day);
                Err(format!("that begins on {day}"))
            }
        }
    }

    fn agrees(
        &mut self,
        who: &PersonName,
        which: &Which,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let now = self.state.now;
        let at = match self.open_swap(ready, which, |swap| swap.with == *who) {
            Ok(at) => at,
            Err(answer) => return (answer, false),
        };
        let (rotas, zone) = (&ready.config.rotas, &ready.config.farm.zone);
        let swap = self.state.swaps[at].clone();
        let still = |shift: &OnShift, whose| rota::is_theirs(rotas, zone, shift, whose);
        if !still(&swap.shift, &swap.asker)
            || swap.back.as_ref().is_some_and(|back| !still(back, &swap.with))
        {
            self.state.swaps.remove(at);
            out.note(format!(
                "no swap: {} belongs to somebody else by now",
                said(zone, &swap.shift)
            ));
            let text = "The rota has changed since: ask again.".to_owned();
            self.answer(&swap.asker, &text, None, ready, out);
            return (text, false);
        }
        self.state.swaps[at].agreed = Some(now);
        let shift = said(zone, &swap.shift);
        let back = swap
            .back
            .as_ref()
            .map_or(String::new(), |back| format!(" {} takes {}.", swap.asker, said(zone, back)));
        out.note(format!("{who} agrees: {who} takes {shift}.{back}"));
        self.rota_again();
        let (behind, bare) = self.behind(&swap);
        let text = format!("{who} takes the shift {shift}.{back}");
        self.answer(&swap.asker, &format!("{text}{bare}"), None, ready, out);
        for backup in behind {
            self.answer(&backup, &format!("{text} You are backup."), None, ready, out);
        }
        (format!("Noted: you take {shift}.{back}{bare}"), true)
    }

    /// Those who back up what was swapped and are neither of the two, and what is to be said if nobody does.
    fn behind(&self, swap: &Swap) -> (Vec<PersonName>, &'static str) {
        let (mut behind, mut bare) = (Vec::new(), "");
        let Some(ready) = &self.ready else { return (behind, bare) };
        let config = &ready.config;
        for shift in std::iter::once(&swap.shift).chain(&swap.back) {
            let duty = rota::on_duty(&config.rotas, &config.farm.zone, shift.from);
            if duty.backup.is_empty() {
                bare = " Nobody backs it up now.";
            }
            behind.extend(duty.backup);
        }
        behind.sort_unstable();
        behind.dedup();
        behind.retain(|backup| *backup != swap.asker && *backup != swap.with);
        (behind, bare)
    }

    fn refuses_swap(
        &mut self,
        who: &PersonName,
        which: &Which,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let theirs = |swap: &Swap| swap.with == *who || swap.asker == *who;
        let swap = match self.open_swap(ready, which, theirs) {
            Ok(at) => self.state.swaps.remove(at),
            Err(answer) => return (answer, false),
        };
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

    /// The place of the one open question that is meant; else what to answer.
    fn open_swap(
        &self,
        ready: &Ready,
        which: &Which,
        theirs: impl Fn(&Swap) -> bool,
    ) -> Result<usize, String> {
        let (zone, now) = (&ready.config.farm.zone, self.state.now);
        let person = which.person.as_deref().and_then(|name| ready.by_name(name));
        let is_meant = |swap: &&Swap| {
            let by_person = person.is_none_or(|who| swap.asker == *who || swap.with == *who);
            let mut shifts = std::iter::once(&swap.shift).chain(&swap.back);
            let on = |day| shifts.any(|shift| is_on(day, zone.wall(shift.from).date(), zone, now));
            by_person && which.day.is_none_or(on)
        };
        let open = |swap: &&Swap| swap.is_open(now) && theirs(swap);
        let places: Vec<usize> = (0..self.state.swaps.len())
            .filter(|at| Some(&self.state.swaps[*at]).filter(open).filter(is_meant).is_some())
            .collect();
        match places[..] {
            [] => Err("No swap of yours is open.".to_owned()),
            [at] => Ok(at),
            [first, ..] => {
                let asked = |at: &usize| {
                    let swap = &self.state.swaps[*at];
                    format!("{} asks {} for {}", swap.asker, swap.with, said(zone, &swap.shift))
                };
                let list: Vec<String> = places.iter().map(asked).collect();
                let swap = &self.state.swaps[first];
                let day = zone.day_and_clock(swap.shift.from);
                let day = day.get(..3).unwrap_or_default().to_lowercase();
                Err(format!("Which one? {}. Answer such as: swap yes {day}.", english::list(&list)))
            }
        }
    }

    /// A question that somebody has not answered, to be asked again where their answer was about nothing else.
    pub(super) fn asked_to_swap(&self, who: &PersonName, ready: &Ready) -> Option<String> {
        let now = self.state.now;
        let swap = self.state.swaps.iter().find(|swap| swap.with == *who && swap.is_open(now))?;
        Some(question(&ready.config.farm.zone, swap))
    }

    /// A question that nobody has answered ends when the first of its shifts begins.
    pub(super) fn ends_questions(&mut self, ready: &Rc<Ready>, out: &mut Out) {
        let now = self.state.now;
        let over = |swap: &mut Swap| swap.agreed.is_none() && !swap.is_open(now);
        for swap in self.state.swaps.extract_if(.., over).collect::<Vec<_>>() {
            let shift = said(&ready.config.farm.zone, &swap.shift);
            out.note(format!("no swap: {} has not answered, {shift} stays", swap.with));
            let text = format!("{} has not answered: {shift} is yours.", swap.with);
            self.answer(&swap.asker, &text, None, ready, out);
        }
    }

    /// What was agreed is laid over the settings anew.
    pub(super) fn rota_again(&mut self) {
        if let Some(config) = config::parse(&self.state.settings).config {
            self.ready = Some(Rc::new(Ready::new(config, &mut self.state)));
        }
    }
}

fn question(zone: &Zone, swap: &Swap) -> String {
    let shift = said(zone, &swap.shift);
    let takes = swap.back.as_ref().map(|back| format!(" and takes yours, {}", said(zone, back)));
    let takes = takes.unwrap_or_default();
    format!(
        "{} asks you to take the shift {shift}{takes}. Answer: swap yes, or swap no.",
        swap.asker
    )
}

/// "night, Fri 27 Nov 20:00 to Sat 28 Nov 08:00".
fn said(zone: &Zone, shift: &OnShift) -> String {
    let (from, until) = (zone.day_and_clock(shift.from), zone.day_and_clock(shift.until));
    format!("{}, {from} to {until}", shift.rota)
}

/// Today, if it is of that name.
fn date_of(day: DaySaid, zone: &Zone, now: Moment) -> Date {
    let today = zone.wall(now).date();
    let mut days = std::iter::successors(Some(today), |day| day.tomorrow().ok()).take(7);
    days.find(|date| is_on(day, *date, zone, now)).unwrap_or(match day {
        DaySaid::Date(date) => date,
        DaySaid::Tonight | DaySaid::Tomorrow | DaySaid::On(_) => today,
    })
}

/// The next of that name after today.
pub(super) fn date_after(day: DaySaid, zone: &Zone, now: Moment) -> Date {
    let (date, today) = (date_of(day, zone, now), zone.wall(now).date());
    match day {
        DaySaid::On(_) if date == today => {
            today.checked_add(jiff::Span::new().days(7)).unwrap_or(today)
        }
        DaySaid::On(_) | DaySaid::Tonight | DaySaid::Tomorrow | DaySaid::Date(_) => date,
    }
}

fn is_on(day: DaySaid, date: Date, zone: &Zone, now: Moment) -> bool {
    let today = zone.wall(now).date();
    match day {
        DaySaid::Tonight => date == today,
        DaySaid::Tomorrow => today.tomorrow().is_ok_and(|tomorrow| date == tomorrow),
        DaySaid::On(weekday) => date.weekday() == weekday,
        DaySaid::Date(said) => date == said,
    }
}
