//! Row 7. The one door: an event at a moment in, everything that follows out.
//!
//! No clock, no disk, no network, no randomness, no lock. The same settings and the same events at
//! the same moments give the same state and the same diary, byte for byte, on any machine.

mod about;
pub mod afterwards;
mod alive;
mod answers;
mod asking;
mod away;
mod believe;
mod birth;
mod by_day;
mod calf_open;
mod calls;
mod clocked;
pub mod contacts;
mod coverage;
pub mod deadlines;
pub mod diary;
mod drill;
pub mod due;
pub mod effect;
pub mod event;
mod evidence;
mod fittings;
mod gateways;
mod hand_on;
mod hand_over;
mod hear;
mod inside;
pub mod key;
mod look_apart;
mod mark_answers;
mod open_hours;
mod out;
mod picture;
mod postbag;
mod put_off;
pub mod quiet;
mod raise;
pub mod ready;
mod refile;
mod rest;
mod rights;
pub mod season;
mod send;
mod settle;
pub mod shown;
pub mod siren;
pub mod snapshot;
pub mod state;
mod swaps;
mod vet_asked;
pub mod view;
mod watched;
pub mod weather;

use std::collections::BTreeSet;
use std::rc::Rc;

use deadlines::Deadlines;
use effect::Effect;
use event::{ClockState, Event, LineNews, LineState, Misdeed, calendar_line};
use key::Key;
use out::Out;
use ready::Ready;
use settle::Touched;
use state::{Gap, State};

use crate::alarm::alert::DueWhy;
use crate::alarm::ending::Ending;
use crate::alarm::moves::Telling;
use crate::config::{self, SettingsText};
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::english::many;
use crate::plain::ids::{AlertNo, Animal, LineName, PersonName};
use crate::plain::masked;
use crate::plain::moment::Moment;
use crate::rules::verdict::Subject;

/// The whole program, but for the world around it.
#[derive(Default)]
pub struct Watch {
    state: State,
    /// The settings, parsed; a cache of `state.settings`.
    ready: Option<Rc<Ready>>,
    /// When each subject must be looked at again; a cache of what the rules answer.
    deadlines: Deadlines,
    /// What this step alone is about.
    moment: ThisStep,
}

/// What is known only while a step lasts.
#[derive(Default)]
struct ThisStep {
    /// Whose words it is about: they need not be told what they said.
    by: Option<PersonName>,
    /// The mark that was made, and of whom.
    mark: Option<(Animal, Ending)>,
    /// Who has been told that something about a subject is over: once is enough.
    told_over: BTreeSet<(PersonName, Subject)>,
    /// How many text messages an answer may fill; one, unless more were asked for.
    parts: usize,
    /// Who made a mark of whom, and so is there.
    attending: Vec<(Animal, PersonName)>,
    /// Calls that follow from it, in order: they leave at its end, what is not urgent gathered.
    calls: Vec<Telling>,
}

/// Everything that follows from one event.
#[must_use = "an effect that is dropped is an alarm nobody hears"]
#[derive(Debug, Default)]
pub struct Step {
    pub effects: Vec<Effect>,
    pub wake: Option<Deadline>,
}

/// When the watch wants to be woken next, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Deadline {
    pub at: Moment,
    pub why: Why,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Why {
    LookAgain(Key),
    AlertDue(AlertNo, DueWhy),
}

impl Why {
    /// The reason as a person reads it.
    pub fn words(&self, state: &State) -> String {
        match self {
            Self::LookAgain(key) => format!("look at {} again", key.subject(state)),
            Self::AlertDue(no, DueWhy::Climb) => format!("alert {no} climbs"),
            Self::AlertDue(no, DueWhy::LaterEnds) => format!("alert {no} was put off until then"),
            Self::AlertDue(no, DueWhy::PromiseEnds) => {
                format!("the promise on alert {no} runs out")
            }
        }
    }
}

impl Step {
    /// Whether anything followed that the world must hear of or the diary must keep.
    pub fn moves_anything(&self) -> bool {
        !self.effects.is_empty()
    }
}

impl Watch {
    /// Takes one event at one moment. `now` never runs backwards: an earlier one is taken as the
    /// latest seen.
    pub fn step(&mut self, now: Moment, event: &Event) -> Step {
        let now = now.max(self.state.now);
        self.state.now = now;
        let mut out = Out::default();
        let mut touched = Touched::default();
        #[cfg(test)]
        if let Event::Packet(packet) = event {
            assert_ne!(packet.topic, POISON, "poison");
        }
        match event {
            Event::Started { seed, last } => self.started(*seed, *last, &mut touched, &mut out),
            Event::Settings(text) => self.set_up(text, &mut touched, &mut out),
            Event::Clock(clock) => self.clock(*clock, &mut out),
            Event::Packet(packet) => self.hear(packet, &mut touched, &mut out),
            Event::Answered(reply) => self.answered(reply, &mut touched, &mut out),
            Event::Delivered(delivery) => self.delivered(delivery, &mut out),
            Event::Line(line) => self.line_says(line, &mut touched, &mut out),
            Event::Woke => {}
            Event::Forgotten { called } => {
                out.note(format!(
                    "somebody was taken out of this record; they are called {called} in it"
                ));
            }
        }
        self.settle(&mut touched, &mut out);
        self.attend(&mut out);
        self.take_back_settled(&mut out);
        self.make_calls(&mut out);
        self.moment = ThisStep::default();
        Step { effects: out.effects, wake: self.next_deadline() }
    }

    pub fn state(&self) -> &State {
        &self.state
    }

    pub fn ready(&self) -> Option<&Ready> {
        self.ready.as_deref()
    }

    /// The next deadline from the cache; `deadlines_in_full` computes the same from the state.
    pub fn next_deadline(&self) -> Option<Deadline> {
        let look = self.deadlines.first();
        let look = look.map(|(at, key)| Deadline { at, why: Why::LookAgain(key.clone()) });
        let alert = self.state.watchman.due();
        let alert = alert.map(|(at, no, why)| Deadline { at, why: Why::AlertDue(no, why) });
        match (look, alert) {
            (Some(look), Some(alert)) if alert.at <= look.at => Some(alert),
            (Some(look), _) => Some(look),
            (None, alert) => alert,
        }
    }

    fn started(&mut self, seed: u64, last: Option<Moment>, touched: &mut Touched, out: &mut Out) {
        let now = self.state.now;
        self.state.seed = seed;
        self.state.started = Some(now);
        self.state.down = last.map(|from| Gap { from, to: now });
        // Whatever a line said before is not known to be so now; each speaks up as it connects.
        for line in self.state.lines.values_mut() {
            line.up = None;
            line.was_up = None;
        }
        // What broke the watch itself is behind us: this is another process.
        if let Some(line) = self.state.lines.get_mut(WATCH) {
            line.down = None;
        }
        match last {
            Some(last) => out.note(format!(
                "the watch begins again; nobody watched for {}",
                crate::plain::english::span(now.since(last))
            )),
            None => out.note("the watch begins".to_owned()),
        }
        let flights: Vec<_> = self.state.watchman.sent.in_flight().cloned().collect();
        for flight in flights {
            if !self.drops_late_picture(&flight, out) {
                out.again(flight);
            }
        }
        touched.everything();
    }

    fn set_up(&mut self, text: &SettingsText, touched: &mut Touched, out: &mut Out) {
        let parsed = config::parse(text);
        let Some(config) = parsed.config else {
            out.note(format!("the settings were refused: {} faults", parsed.faults.len()));
            return;
        };
        let ready = Ready::new(config, &mut self.state);
        out.note(format!(
            "the settings hold: {}, {}, {}",
            many(ready.config.animals.len(), "dam", "dams"),
            many(ready.config.people.len(), "person", "people"),
            many(ready.config.rules.len(), "rule", "rules")
        ));
        self.forget_what_is_gone(&ready);
        self.forget_contacts_that_are_gone(&ready);
        let schedules = &ready.config.schedules;
        let names: BTreeSet<String> = schedules.iter().map(|one| one.name()).collect();
        self.state.clocked.retain(|name, _| names.contains(name));
        let measured = |sign: &str| ready.measures(sign);
        let devices = self.state.devices.values_mut();
        devices.for_each(|device| device.is_asked_only_for(&measured));
        self.deadlines.forget_gateways_and_covers();
        self.take_gateways(&ready);
        if !ready.asks_for_cover() {
            self.state.unwatched.clear();
        }
        self.say_who_overrules(&ready, out);
        self.state.settings = text.clone();
        self.begin_anew(&ready, out);
        self.ready = Some(Rc::new(ready));
        touched.everything();
    }

    /// Whoever was let go and has a window after that in the herd file carries again.
    fn begin_anew(&mut self, ready: &Ready, out: &mut Out) {
        for place in 0..u32::try_from(self.state.dams.len()).unwrap_or(u32::MAX) {
            let (animal, dam) = self.state.dams.at(place);
            let closed = dam.entered(Stage::Closed).filter(|_| dam.stage == Stage::Closed);
            let Some((opens, _)) = ready.window(place) else { continue };
            let dead = dam.track(Mark::DamDead).is_some();
            if dam.listed && !dead && closed.is_some_and(|closed| opens > closed) {
                out.note(format!("dam {animal} carries again, by the herd file"));
                self.state.dams.at_mut(place).carries_again();
            }
        }
    }

    /// Lines, refused filters and web receivers that the settings no longer speak of.
    fn forget_what_is_gone(&mut self, ready: &Ready) {
        let kept = |name: &LineName| {
            let own = [BROKER, JOURNAL, WATCH].contains(&name.as_str());
            own || ready.config.lines.iter().any(|line| line.name == *name)
                || ready.config.rotas.iter().any(|rota| calendar_line(&rota.name) == *name)
        };
        self.state.lines.retain(|name, _| kept(name));
        let filters: BTreeSet<String> = ready
            .decoders
            .filters()
            .chain(&ready.answers)
            .map(crate::sensor::topic::Filter::mqtt)
            .collect();
        for line in self.state.lines.values_mut() {
            line.refused.retain(|filter, _| filters.contains(filter));
        }
        // Whoever writes the settings anew may have mended the address.
        self.state.gone.clear();
    }

    /// Whoever made a mark is there: what is still open about her is theirs.
    fn attend(&mut self, out: &mut Out) {
        let Some(ready) = self.ready.clone() else { return };
        for (animal, who) in std::mem::take(&mut self.moment.attending) {
            let (now, promise) = (self.state.now, ready.config.farm.promise);
            let moves = self.state.watchman.attends(&ready.config, &animal, &who, now, promise);
            self.follow(moves, &ready, out);
        }
    }

    fn clock(&mut self, clock: ClockState, out: &mut Out) {
        if self.state.clock == clock {
            return;
        }
        self.state.clock = clock;
        out.note(
            match clock {
                ClockState::Trusted => "the clock is trusted again",
                ClockState::About => {
                    "the clock is behind the journal: times are \"about\" until it is set"
                }
            }
            .to_owned(),
        );
    }

    fn line_says(&mut self, state: &LineState, touched: &mut Touched, out: &mut Out) {
        let now = self.state.now;
        let name = &state.line;
        let line = self.state.lines.entry(name.clone()).or_default();
        let news = match &state.news {
            LineNews::Up => line.comes_up(now).then(|| format!("{name} is up")),
            LineNews::Down { why } => {
                line.goes_down(now, why).then(|| format!("{name} is down: {why}"))
            }
            LineNews::SessionLost => {
                line.session_lost = Some(now);
                Some(format!(
                    "{name} lost our session: messages sent while we were away may be gone"
                ))
            }
            LineNews::SubscriptionRefused { filter, why } => {
                line.refuses(filter, now, why).then(|| format!("{name} refused {filter}: {why}"))
            }
            LineNews::SubscriptionTaken { filter } => {
                line.takes(filter).then(|| format!("{name} takes {filter} again"))
            }
            LineNews::TooLarge { what } => {
                self.refuse(&format!("{name} too large"), what, "it is too large", out);
                None
            }
            LineNews::TurnedAway { for_what, from, what, why, times } => {
                if *for_what == Misdeed::Login {
                    line.turns_away(from, now, *times);
                }
                for _ in 0..(*times).min(TURNED_AWAY_AT_ONCE) {
                    self.refuse(&format!("{name} {}", for_what.word()), what, why, out);
                }
                None
            }
        };
        if let Some(news) = news {
            out.note(news);
        }
        touched.key(Key::Line(name.clone()));
        if name.as_str() == BROKER {
            // Silence is judged from when we could hear again.
            touched.devices();
        }
    }

    /// Counts a refusal and prints the 1st, 10th, 100th … of its kind.
    fn refuse(&mut self, kind: &str, what: &str, why: &str, out: &mut Out) {
        if let Some(times) = self.state.refused(&masked::text(kind)) {
            out.refused(what, why, times);
        }
    }
}

/// Counted at one time, however many a broker says there were.
const TURNED_AWAY_AT_ONCE: u32 = 1_000;

/// The names of the lines that every farm has.
pub const BROKER: &str = "broker";
pub const JOURNAL: &str = "journal";
/// The watch itself, when it has failed at something.
pub const WATCH: &str = "watch";

/// A topic that breaks the watch on purpose, so that a test can see what becomes of it.
#[cfg(test)]
pub(crate) const POISON: &str = "poison";
