//! Swaps that both agree to. They hold at once, survive a restart, and everybody whom they concern is told. The
//! settings' rotas stay as they are written; who cannot come is another's business (`watch/away.rs`).

use std::fmt::Display;
use std::rc::Rc;

use jiff::civil::Date;

use super::Watch;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::config;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::rota::swap::{Swap, takes_shifts};
use crate::rota::{self, OnShift};
use crate::talk::speech::Speech;
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
            return (Speech::to(&ready.config, who).shifts.takes_none.to_owned(), false);
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
        let own = Speech::to(&ready.config, who);
        let words = own.shifts;
        let with = ready.by_name(with).filter(|with| takes_shifts(&ready.config, with));
        let Some(with) = with.filter(|with| *with != who).cloned() else {
            return (words.nobody_named_so.to_owned(), false);
        };
        let mine = match self.shift_on(who, day, ready, &own) {
            Ok(shift) => shift,
            Err(why) => return (own.say(words.you_have_none, &[("which", &why)]), false),
        };
        let back = match back.map(|day| self.shift_on(&with, day, ready, &own)) {
            None => None,
            Some(Ok(shift)) => Some(shift),
            Some(Err(why)) => {
                let filled: [(&str, &dyn Display); 2] = [("who", &with), ("which", &why)];
                return (own.say(words.they_have_none, &filled), false);
            }
        };
        if rota::cannot_come(&ready.config.rotas, &with, mine.from) {
            return (own.say(words.cannot_then, &[("who", &with)]), false);
        }
        if self.state.swaps.len() >= SWAPS_MAX {
            return (words.too_many.to_owned(), false);
        }
        self.asks_no_more(who, &mine, &with, ready, out);
        let english = Speech::english(&ready.config);
        let shift = said(&english, &mine);
        let takes = back.as_ref().map(|back| format!(" and takes yours, {}", said(&english, back)));
        let takes = takes.unwrap_or_default();
        out.note(format!("{who} asks {with} to take {shift}{takes}"));
        let shift = said(&own, &mine);
        let swap = Swap { asker: who.clone(), with: with.clone(), shift: mine, back, agreed: None };
        self.answer(&with, &question(&Speech::to(&ready.config, &with), &swap), None, ready, out);
        self.state.swaps.push(swap);
        (own.say(words.is_asked, &[("who", &with), ("shift", &shift)]), true)
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
                let theirs = Speech::to(&ready.config, &old.with);
                let shift = said(&theirs, shift);
                let filled: [(&str, &dyn Display); 2] = [("who", who), ("shift", &shift)];
                let text = theirs.say(theirs.shifts.asks_another, &filled);
                self.answer(&old.with, &text, None, ready, out);
            }
        }
    }

    /// The shift of somebody that begins on a day and has not begun; else why there is none, in words.
    fn shift_on(
        &self,
        who: &PersonName,
        day: DaySaid,
        ready: &Ready,
        speech: &Speech<'_>,
    ) -> Result<OnShift, String> {
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
            Some(_) => Err(speech.shifts.still_to_begin.to_owned()),
            None => {
                let day = speech.day(zone.instant(date.at(12, 0, 0, 0)));
                Err(speech.say(speech.shifts.begins_on, &[("day", &day)]))
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
        let at = match self
            .open_swap(ready, which, &Speech::to(&ready.config, who), |swap| swap.with == *who)
        {
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
            let shift = said(&Speech::english(&ready.config), &swap.shift);
            out.note(format!("no swap: {shift} belongs to somebody else by now"));
            let changed = |who| Speech::to(&ready.config, who).shifts.changed_since.to_owned();
            self.answer(&swap.asker, &changed(&swap.asker), None, ready, out);
            return (changed(who), false);
        }
        self.state.swaps[at].agreed = Some(now);
        let english = Speech::english(&ready.config);
        let (shift, back) = (said(&english, &swap.shift), taken_back(&swap, &english));
        out.note(format!("{who} agrees: {who} takes {shift}.{back}"));
        self.rota_again();
        let (behind, bare) = self.behind(&swap);
        let bare = |speech: &Speech<'_>| {
            if bare { format!(" {}", speech.shifts.nobody_behind) } else { String::new() }
        };
        let text = |speech: &Speech<'_>| {
            let shift = said(speech, &swap.shift);
            let filled: [(&str, &dyn Display); 2] = [("who", who), ("shift", &shift)];
            speech.say(speech.shifts.takes, &filled) + &taken_back(&swap, speech)
        };
        let theirs = Speech::to(&ready.config, &swap.asker);
        self.answer(&swap.asker, &(text(&theirs) + &bare(&theirs)), None, ready, out);
        for backup in behind {
            let theirs = Speech::to(&ready.config, &backup);
            let text = format!("{} {}", text(&theirs), theirs.shifts.you_are_backup);
            self.answer(&backup, &text, None, ready, out);
        }
        let own = Speech::to(&ready.config, who);
        let noted = own.say(own.shifts.you_take, &[("shift", &said(&own, &swap.shift))]);
        (noted + &taken_back(&swap, &own) + &bare(&own), true)
    }

    /// Those who back up what was swapped and are neither of the two, and whether nobody does.
    fn behind(&self, swap: &Swap) -> (Vec<PersonName>, bool) {
        let (mut behind, mut bare) = (Vec::new(), false);
        let Some(ready) = &self.ready else { return (behind, bare) };
        let config = &ready.config;
        for shift in std::iter::once(&swap.shift).chain(&swap.back) {
            let duty = rota::on_duty(&config.rotas, &config.farm.zone, shift.from);
            if duty.backup.is_empty() {
                bare = true;
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
        let swap = match self.open_swap(ready, which, &Speech::to(&ready.config, who), theirs) {
            Ok(at) => self.state.swaps.remove(at),
            Err(answer) => return (answer, false),
        };
        let (config, takes_not) = (&ready.config, swap.with == *who);
        let other = if takes_not { &swap.asker } else { &swap.with };
        let (english, theirs) = (Speech::english(config), Speech::to(config, other));
        let words = if takes_not { theirs.shifts.takes_not } else { theirs.shifts.keeps };
        let shift = said(&theirs, &swap.shift);
        let filled: [(&str, &dyn Display); 2] = [("who", who), ("shift", &shift)];
        let text = theirs.say(words, &filled);
        let shift = said(&english, &swap.shift);
        out.note(format!("no swap: {shift} stays with {}", swap.asker));
        self.answer(other, &text, None, ready, out);
        let own = Speech::to(config, who);
        let shift = said(&own, &swap.shift);
        let filled: [(&str, &dyn Display); 2] = [("shift", &shift), ("who", &swap.asker)];
        (own.say(own.shifts.stays_with, &filled), true)
    }

    /// The place of the one open question that is meant; else what to answer.
    fn open_swap(
        &self,
        ready: &Ready,
        which: &Which,
        own: &Speech<'_>,
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
            [] => Err(own.shifts.none_open.to_owned()),
            [at] => Ok(at),
            [first, ..] => {
                let asked = |at: &usize| {
                    let swap = &self.state.swaps[*at];
                    let shift = said(own, &swap.shift);
                    let filled: [(&str, &dyn Display); 3] =
                        [("who", &swap.asker), ("with", &swap.with), ("shift", &shift)];
                    own.say(own.shifts.asked_for, &filled)
                };
                let list: Vec<String> = places.iter().map(asked).collect();
                let list = own.phrases().list(&list);
                let day = own.day(self.state.swaps[first].shift.from);
                let day = day.split(' ').next().unwrap_or_default().to_lowercase();
                Err(own.say(own.shifts.which_swap, &[("list", &list), ("day", &day)]))
            }
        }
    }

    /// A question that somebody has not answered, to be asked again where their answer was about nothing else.
    pub(super) fn asked_to_swap(&self, who: &PersonName, ready: &Ready) -> Option<String> {
        let now = self.state.now;
        let swap = self.state.swaps.iter().find(|swap| swap.with == *who && swap.is_open(now))?;
        Some(question(&Speech::to(&ready.config, who), swap))
    }

    /// A question that nobody has answered ends when the first of its shifts begins.
    pub(super) fn ends_questions(&mut self, ready: &Rc<Ready>, out: &mut Out) {
        let now = self.state.now;
        let over = |swap: &mut Swap| swap.agreed.is_none() && !swap.is_open(now);
        for swap in self.state.swaps.extract_if(.., over).collect::<Vec<_>>() {
            let shift = said(&Speech::english(&ready.config), &swap.shift);
            out.note(format!("no swap: {} has not answered, {shift} stays", swap.with));
            let theirs = Speech::to(&ready.config, &swap.asker);
            let shift = said(&theirs, &swap.shift);
            let filled: [(&str, &dyn Display); 2] = [("who", &swap.with), ("shift", &shift)];
            let text = theirs.say(theirs.shifts.answered_not, &filled);
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

fn question(speech: &Speech<'_>, swap: &Swap) -> String {
    let (words, shift) = (speech.shifts, said(speech, &swap.shift));
    let asks = match &swap.back {
        Some(back) => {
            let back = said(speech, back);
            let filled: [(&str, &dyn Display); 3] =
                [("who", &swap.asker), ("shift", &shift), ("back", &back)];
            speech.say(words.question_back, &filled)
        }
        None => speech.say(words.question, &[("who", &swap.asker), ("shift", &shift)]),
    };
    format!("{asks} {}", words.answer_swap)
}

/// " Ana takes night, Sat 28 Nov 20:00 to …", where both take one.
fn taken_back(swap: &Swap, speech: &Speech<'_>) -> String {
    swap.back.as_ref().map_or(String::new(), |back| {
        let back = said(speech, back);
        let filled: [(&str, &dyn Display); 2] = [("who", &swap.asker), ("shift", &back)];
        format!(" {}", speech.say(speech.shifts.takes_back, &filled))
    })
}

/// "night, Fri 27 Nov 20:00 to 08:00"; of one that is a day long or longer, with both days.
fn said(speech: &Speech<'_>, shift: &OnShift) -> String {
    let from = speech.day_and_clock(shift.from);
    let until = if shift.until.since(shift.from) < Span::hours(24) {
        speech.zone().clock(shift.until)
    } else {
        speech.day_and_clock(shift.until)
    };
    let filled: [(&str, &dyn Display); 3] =
        [("rota", &shift.rota), ("from", &from), ("until", &until)];
    speech.say(speech.shifts.shift, &filled)
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
