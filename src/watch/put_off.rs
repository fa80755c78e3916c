//! Putting off what has been seen: how long it may be follows from how urgent it is, and the answer says until
//! when. What is urgent is refused with the reason.

use std::rc::Rc;

use super::Watch;
use super::answers::Speaker;
use super::out::Out;
use super::ready::Ready;
use crate::alarm::later::PutOff;
use crate::plain::ids::AlertNo;
use crate::plain::moment::Span;
use crate::talk::phrases::say;
use crate::talk::reader::Reader;

impl Watch {
    pub(super) fn puts_off(
        &mut self,
        speaker: &Speaker<'_>,
        minutes: Option<u32>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let nos = match self.meant(speaker, ready) {
            Ok(nos) => nos,
            Err(answer) => return answer,
        };
        let span = minutes.map(|minutes| Span::minutes(i64::from(minutes)));
        let said: Vec<(String, bool)> =
            nos.into_iter().map(|no| self.puts_one_off(speaker, no, span, ready, out)).collect();
        let clear = said.iter().all(|(_, clear)| *clear);
        let answers: Vec<String> = said.into_iter().map(|(answer, _)| answer).collect();
        (answers.join("\n"), clear)
    }

    fn puts_one_off(
        &mut self,
        speaker: &Speaker<'_>,
        no: AlertNo,
        span: Option<Span>,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> (String, bool) {
        let (now, who) = (self.state.now, &speaker.who);
        let said = Reader::of(&ready.config, who, None).phrases();
        let (came, moves) = self.state.watchman.later(&ready.config, no, who, now, span);
        self.follow(moves, ready, out);
        match came {
            PutOff::Until(until) => {
                let until = ready.config.farm.zone.clock_by(until, now);
                let words = say(said.waits, &[("no", &no), ("until", &until)]);
                (format!("{words} {}", said.goes_round), true)
            }
            PutOff::AtMost(most) => {
                let words = say(said.not_so_long, &[("no", &no), ("most", &said.span(most))]);
                out.note(format!("{who} may not put alert {no} off for so long"));
                (words, false)
            }
            PutOff::Taken => {
                let open = self.state.watchman.open.get(&no);
                let holder = open.and_then(|alert| alert.holder());
                let holder = holder.map_or(said.somebody.to_owned(), ToString::to_string);
                (say(said.has_already, &[("no", &no), ("who", &holder)]), true)
            }
            PutOff::Over => (say(said.not_open, &[("no", &no)]), true),
        }
    }
}
