//! What is sent by the clock (`[[schedule]]`): the dusk page, a handover, a sign of life, a drill.
//!
//! When each is due next is state, so that a restart neither forgets one nor sends it twice. What came due while nobody
//! watched is sent late for an hour, and then only said to have been missed.

use std::fmt::Display;
use std::rc::Rc;

use super::Watch;
use super::asking::Asked;
use super::key::Key;
use super::out::Out;
use super::ready::Ready;
use super::settle::Touched;
use crate::alarm::ladder;
use crate::alarm::message::{MessageKind, Page};
use crate::config::lines::Way;
use crate::config::schedule::{Schedule, Send};
use crate::plain::ids::{LineName, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::talk::reader::Reader;
use crate::talk::speech::Speech;
use crate::talk::wording;

/// Later than this it is of no use any more (common practice, no source).
const LATE_MAX: Span = Span::hours(1);
/// Text messages that a page's short form may fill.
const PARTS: usize = 3;

impl Watch {
    pub(super) fn ask_clocked(&self, place: u16, ready: &Ready) -> Asked {
        let next = ready.config.schedules.get(usize::from(place));
        (Vec::new(), next.and_then(|schedule| self.clocked_next(schedule, ready)))
    }

    fn clocked_next(&self, schedule: &Schedule, ready: &Ready) -> Option<Moment> {
        let known = self.state.clocked.get(&schedule.name()).copied();
        known.or_else(|| schedule.cron.next(self.state.now, &ready.config.farm.zone))
    }

    /// Sends what is due of one schedule, and notes when it is due next.
    pub(super) fn sends_by_clock(&mut self, place: u16, ready: &Rc<Ready>, out: &mut Out) {
        let now = self.state.now;
        let Some(schedule) = ready.config.schedules.get(usize::from(place)) else { return };
        let due = self.state.clocked.get(&schedule.name()).copied().filter(|due| *due <= now);
        if let Some(next) = schedule.cron.next(now, &ready.config.farm.zone) {
            let known = self.state.clocked.entry(schedule.name()).or_insert(next);
            if *known <= now {
                *known = next;
            }
        }
        let Some(due) = due else { return };
        let what = schedule.send.word();
        if now.since(due) > LATE_MAX {
            let due = ready.config.farm.zone.clock(due);
            out.note(format!("the {what} of {due} was not sent: nobody watched then"));
            return;
        }
        match schedule.send {
            Send::Drill => {
                let mut touched = Touched::default();
                let (answer, begins) = self.begins_drill(None, ready, &mut touched, out);
                if begins {
                    self.deadlines.set(&Key::Drill, Some(now));
                } else {
                    out.note(format!("the drill of the schedule is left out: {answer}"));
                }
            }
            Send::DuskPage | Send::Handover | Send::Heartbeat => {
                for who in ladder::people(&ready.config, &schedule.to, now) {
                    self.send_page(&who, schedule.send, ready, out);
                }
            }
        }
    }

    fn send_page(&mut self, who: &PersonName, send: Send, ready: &Rc<Ready>, out: &mut Out) {
        let lines = ladder::lines_for(&ready.config, who, &[]);
        let is_mail = |line: &&LineName| {
            let known = ready.config.lines.iter().find(|one| one.name == **line);
            known.is_some_and(|line| matches!(line.way, Way::Smtp(_)))
        };
        let (page, text) = match send {
            Send::DuskPage => (Page::Dusk, self.handover_text(who, ready)),
            Send::Handover => (Page::Handover, self.handover_text(who, ready)),
            Send::Heartbeat | Send::Drill => (Page::Heartbeat, self.heartbeat(who, ready)),
        };
        // A page wants a mail; without one its short form goes by what there is.
        let line = match page {
            Page::Dusk => lines.iter().find(is_mail).or(lines.first()),
            Page::Handover | Page::Heartbeat => lines.first(),
        };
        let Some(line) = line.cloned() else { return };
        let reader = Reader::of(&ready.config, who, Some(&line));
        let mut words = wording::answer_in_parts(&text, PARTS, &reader);
        words.subject = format!("{}: {}", page.title(), ready.config.farm.name);
        let kind = MessageKind::Page { page };
        let _ = self.send(who, &line, None, kind, &words, None, ready, out);
    }

    /// That the watch is up, and what it hears.
    fn heartbeat(&self, who: &PersonName, ready: &Ready) -> String {
        let now = self.state.now;
        let views = self.device_views(now, ready);
        let on: Vec<_> = views.iter().filter(|view| view.on.is_some()).collect();
        let alive = on.iter().filter(|view| view.alive).count();
        let down: Vec<&str> = self
            .state
            .lines
            .iter()
            .filter(|(_, line)| line.down.is_some())
            .map(|(name, _)| name.as_str())
            .collect();
        let (speech, open) = (Speech::to(&ready.config, who), self.state.watchman.open.len());
        let words = speech.answers;
        let lines = if down.is_empty() {
            words.life_up.to_owned()
        } else {
            speech.say(words.life_down, &[("lines", &down.join(", "))])
        };
        let open = speech.phrases().many(open, words.life_one, words.life_open);
        let filled: [(&str, &dyn Display); 6] = [
            ("farm", &ready.config.farm.name),
            ("at", &ready.config.farm.zone.clock(now)),
            ("alive", &alive),
            ("of", &on.len()),
            ("open", &open),
            ("lines", &lines),
        ];
        speech.say(words.life, &filled)
    }
}
