//! The loop: one event at a time, onto the disk, and only then out into the world.

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::PathBuf;
use std::time::Duration;

use tokio::sync::{mpsc, oneshot};

use super::aside;
use super::clock::Clock;
use super::doors::{Doors, Wake};
use super::lines::Lines;
use super::outbox::Outbox;
use super::pages;
use super::pending::{Pending, patience};
use super::plan::{Plan, Print};
use super::questions;
use super::settings::Place;
use super::show::Show;
use super::socket::{self, Asked, Question};
use super::systemd;
use crate::alarm::sent::Flight;
use crate::config::{self, SettingsText};
use crate::journal::rebuild::rebuild;
use crate::journal::{Entry, Snapshot, Store};
use crate::line::{Arrival, Receipt};
use crate::plain::ids::LineName;
use crate::plain::moment::{Moment, Span};
use crate::talk::letter::{Reply, Sender};
use crate::watch::diary::{self, Diary};
use crate::watch::effect::{Effect, Facts};
use crate::watch::event::{ClockState, Event, LineNews};
use crate::watch::{JOURNAL, Step, WATCH, Watch, snapshot};

/// Entries between two snapshots: a Pi replays so many in a few seconds at a restart.
const SNAPSHOT_EVERY: u64 = 30_000;
/// How long an alarm waits for a disk that will not take its cause.
const DISK_GRACE: Span = Span::seconds(5);
/// How often a commit that failed is tried again.
const DISK_AGAIN: Span = Span::seconds(2);
/// How often the settings' files are looked at.
const FILES_EVERY: Duration = Duration::from_secs(60);

/// The loop and all that it owns.
pub struct Night {
    place: Place,
    data: PathBuf,
    watch: Watch,
    diary: Diary,
    store: Store,
    pending: Pending,
    clock: Clock,
    clock_state: ClockState,
    next_entry: u64,
    since_snapshot: u64,
    settings: SettingsText,
    lines: Lines,
    show: Show,
    outbox: Option<Outbox>,
    waiting: std::collections::BTreeMap<u64, oneshot::Sender<socket::Reply>>,
    next_asked: u64,
    /// Since when the disk has refused.
    stuck: Option<Moment>,
    /// While it refuses, it is not asked for every packet.
    next_try: Option<Moment>,
    print: Print,
}

impl Night {
    /// Opens the journal, rebuilds the state, and begins.
    ///
    /// # Errors
    /// Says why the journal could not be opened or read.
    pub async fn begin(plan: Plan, arrivals: mpsc::Sender<Arrival>) -> Result<Self, String> {
        let store = Store::open(&plan.data).map_err(|why| why.to_string())?;
        let rebuilt = rebuild(&store).map_err(|why| why.to_string())?;
        let last = store.last_moment();
        let show = Show::new();
        let mut night = Self {
            lines: Lines::new(&plan, arrivals, show.subscribe()),
            show,
            place: plan.place,
            data: plan.data,
            diary: rebuilt.diary,
            clock_state: rebuilt.watch.state().clock,
            watch: rebuilt.watch,
            next_entry: store.next_entry(),
            since_snapshot: rebuilt.replayed,
            store,
            pending: Pending::default(),
            clock: (plan.clock)(last),
            settings: plan.settings,
            outbox: None,
            waiting: std::collections::BTreeMap::new(),
            next_asked: 1,
            stuck: None,
            next_try: None,
            print: plan.print,
        };
        for damage in &rebuilt.damages {
            night.say(&format!("passed over in the journal: {damage}"));
        }
        let seed = night.store.seed();
        night.take(Event::Started { seed, last }, None);
        let settings = night.settings.clone();
        if night.watch.state().settings != settings {
            night.take(Event::Settings(settings), None);
        }
        night.follow_settings().await;
        Ok(night)
    }

    /// Runs until it is asked to stop, then leaves everything on disk.
    pub async fn run(mut self, mut doors: Doors) {
        let mut files = tokio::time::interval(FILES_EVERY);
        files.reset();
        self.commit(); // Only now, when whoever reads that it begins finds the door for people open.
        systemd::ready();
        loop {
            let (at_most, full) = (self.at_most(), self.pending.is_full());
            match doors.wait(at_most, full, &mut files).await {
                Wake::Stop => break,
                Wake::Arrival(arrival) => self.take(arrival.event, arrival.receipt),
                Wake::Asked(asked) => self.asked(asked),
                Wake::Files => self.reread(false).await,
                Wake::Reload => self.reread(true).await,
                Wake::Time => self.time(),
            }
            let (now, _) = self.clock.now();
            if self.pending.is_due(now) && self.next_try.is_none_or(|at| at <= now) {
                self.commit();
            }
            systemd::alive();
        }
        systemd::stopping();
        self.commit();
        self.snapshot();
        self.lines.stop().await;
    }

    /// How long nothing need be done if nothing happens.
    fn at_most(&mut self) -> Duration {
        let deadline = self.watch.next_deadline().map(|next| next.at);
        let group = self.pending.due().map(|due| self.next_try.map_or(due, |at| due.max(at)));
        let next = match (deadline, group) {
            (Some(one), Some(other)) => Some(one.min(other)),
            (one, other) => one.or(other),
        };
        self.clock.until(next)
    }

    fn time(&mut self) {
        let (now, _) = self.clock.now();
        if self.watch.next_deadline().is_some_and(|next| next.at <= now) {
            self.take(Event::Woke, None);
        }
    }

    /// Takes one event: into the pending group, through the watch.
    fn take(&mut self, event: Event, receipt: Option<Receipt>) {
        let (now, clock) = self.clock.now();
        if clock != self.clock_state {
            self.clock_state = clock;
            self.one(now, Event::Clock(clock), None);
        }
        self.one(now, event, receipt);
    }

    fn one(&mut self, now: Moment, event: Event, receipt: Option<Receipt>) {
        let now = now.max(self.watch.state().now);
        let group = self.watch.ready().map_or(Span::ZERO, |ready| ready.config.broker.group);
        let patience = patience(&event, group);
        let entry = Entry { no: self.next_entry, at: now, event };
        let watch = &mut self.watch;
        let stepped = catch_unwind(AssertUnwindSafe(|| watch.step(now, &entry.event)));
        match stepped {
            Ok(step) => {
                self.next_entry += 1;
                self.keep(entry, receipt, patience, step);
            }
            Err(broken) if aside::is_our_own_cry(&entry.event) => resume_unwind(broken),
            Err(_) => self.set_aside(&entry, receipt),
        }
    }

    fn keep(&mut self, entry: Entry, receipt: Option<Receipt>, patience: Span, step: Step) {
        let no = entry.no;
        let patience = if step.moves_anything() { Span::ZERO } else { patience };
        self.show.touch(step.moves_anything());
        self.pending.add(entry, receipt, patience);
        let lines = self.diary.write(&self.watch, &step.effects);
        self.pending.follows(no, lines, step.effects);
    }

    /// A bug: the entry is put beside the journal, the state is rebuilt without it, a person told.
    fn set_aside(&mut self, entry: &Entry, receipt: Option<Receipt>) {
        let why = match aside::put(&self.data, entry.at, &entry.event) {
            Ok(name) => {
                // It is on disk, if not in the journal: whoever sent it need not send it for ever.
                receipt.into_iter().for_each(Receipt::confirm);
                format!(
                    "an entry could not be worked on and was put aside as {name}; please report it"
                )
            }
            Err(why) => format!("an entry could not be worked on, nor be kept: {why}"),
        };
        match rebuild(&self.store) {
            Ok(rebuilt) => {
                self.watch = rebuilt.watch;
                self.diary = rebuilt.diary;
            }
            // The state may be half moved. Ending here is safer: systemd begins again from the disk.
            Err(why) => panic!("the state could not be rebuilt: {why}"),
        }
        for entry in self.pending.entries() {
            let step = self.watch.step(entry.at, &entry.event);
            let _ = self.diary.write(&self.watch, &step.effects);
        }
        let (now, event) = (self.watch.state().now, Event::of_line(WATCH, LineNews::Down { why }));
        if catch_unwind(AssertUnwindSafe(|| self.one(now, event, None))).is_err() {
            // The state itself is at fault, not the entry: only a mended program helps.
            self.say("the watch cannot work on anything any more; please report it");
        }
    }

    /// Puts the pending group on disk and lets go of what waited for it.
    fn commit(&mut self) {
        let Some(block) = self.pending.block(self.diary.digest()) else {
            return;
        };
        let entries = block.entries.len() as u64;
        match self.store.append(&block) {
            Ok(()) => {
                let released = self.pending.committed();
                released.receipts.into_iter().for_each(Receipt::confirm);
                for (line, facts) in released.diary.iter().zip(&released.facts) {
                    self.print_line(line.at, &line.text, facts);
                }
                self.leave(released.effects);
                self.show.refresh(&self.watch);
                self.since_snapshot += entries;
                self.next_try = None;
                if self.stuck.take().is_some() {
                    self.take(Event::of_line(JOURNAL, LineNews::Up), None);
                    self.commit();
                }
                if self.since_snapshot >= SNAPSHOT_EVERY {
                    self.snapshot();
                }
            }
            Err(why) => self.disk_refuses(&why.to_string()),
        }
    }

    fn disk_refuses(&mut self, why: &str) {
        let (now, _) = self.clock.now();
        self.next_try = Some(now + DISK_AGAIN);
        let Some(since) = self.stuck else {
            self.stuck = Some(now);
            self.say(&format!("the journal cannot be written: {why}"));
            self.take(Event::of_line(JOURNAL, LineNews::Down { why: why.to_owned() }), None);
            return;
        };
        if now.since(since) >= DISK_GRACE {
            // An alarm that waits for a disk is an alarm nobody hears: it may be sent twice after a
            // crash, which is the lesser harm. Nothing is confirmed to any sensor meanwhile.
            let effects = self.pending.leaves_without_disk();
            for effect in &effects {
                self.say(&format!("not on disk yet: {}", effect.line()));
            }
            self.leave(effects);
        }
    }

    fn leave(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            match effect {
                Effect::Send(message) => self.carry(Flight::Message(message)),
                Effect::Publish(notice) => self.carry(Flight::Notice(notice)),
                Effect::Again(flight) => self.carry(flight),
                Effect::Withdraw(no) => {
                    if let Some(outbox) = &mut self.outbox {
                        outbox.withdraw(no);
                    }
                }
                Effect::Said(answer) => {
                    if let Some(waiting) = self.waiting.remove(&answer.asked) {
                        let reply = socket::Reply::Said {
                            text: answer.text,
                            understood: answer.understood,
                        };
                        // Whoever asked may have gone.
                        let _ = waiting.send(reply);
                    }
                }
                Effect::Changed(_) | Effect::Refused(_) | Effect::Noted(_) => {}
            }
        }
    }

    fn carry(&mut self, flight: Flight) {
        let (now, _) = self.clock.now();
        if let Some(outbox) = &mut self.outbox {
            outbox.carry(pages::filled(flight, &self.watch, now), now);
        }
    }

    fn asked(&mut self, asked: Asked) {
        let Question::Say { name, text } = asked.question else {
            let (now, _) = self.clock.now();
            if let Some(reply) = questions::reply(&asked.question, &self.watch, now) {
                let _ = asked.answer.send(reply);
            }
            return;
        };
        let no = self.next_asked;
        self.next_asked += 1;
        self.waiting.retain(|_, waiting| !waiting.is_closed());
        self.waiting.insert(no, asked.answer);
        let line = LineName::new("this machine");
        let from = Sender::Name(name);
        let reply = Reply { line, from, text, mail: None, asked: Some(no) };
        self.take(Event::Answered(reply), None);
    }

    /// Looks at the settings' files again. A bad file changes nothing.
    async fn reread(&mut self, asked: bool) {
        let settings = match self.place.read() {
            Ok(settings) => settings,
            Err(why) => {
                self.say(&format!("the settings were not read again: {why}"));
                return;
            }
        };
        if settings == self.settings {
            if asked {
                self.say("the settings are as they were");
            }
            return;
        }
        let parsed = config::parse(&settings);
        self.settings = settings.clone();
        if parsed.config.is_none() {
            let faults = super::settings::faults(&settings, &parsed.faults);
            self.say(&format!("the new settings are refused and change nothing:\n{faults}"));
            return;
        }
        self.take(Event::Settings(settings), None);
        // What was heard must be on disk before its line is closed, or it is heard twice.
        self.commit();
        self.follow_settings().await;
    }

    async fn follow_settings(&mut self) {
        let Some(ready) = self.watch.ready() else { return };
        if let Some(outbox) = self.lines.follow(&ready.config, self.watch.state()).await {
            self.outbox = Some(outbox);
        }
    }

    fn snapshot(&mut self) {
        if !self.pending.is_empty() || self.stuck.is_some() || self.next_entry == 0 {
            return;
        }
        let snapshot = Snapshot {
            version: snapshot::VERSION,
            entry: self.next_entry - 1,
            digest: self.diary.digest(),
            state: self.watch.snapshot(),
        };
        self.since_snapshot = 0;
        match self.store.save_snapshot(&snapshot) {
            Ok(()) => {}
            Err(why) => {
                self.say(&format!("no snapshot was kept, which only makes a restart slower: {why}"))
            }
        }
    }

    fn print_line(&mut self, at: Moment, text: &str, facts: &Facts) {
        let line = match self.watch.ready() {
            Some(ready) => diary::printed(&ready.config.farm.zone, at, text),
            None => format!("{}  {text}", at.rfc3339()),
        };
        (self.print)(&line, facts);
    }

    /// Says something that is not part of the diary, with the time it is said.
    fn say(&mut self, text: &str) {
        let (now, _) = self.clock.now();
        self.print_line(now, text, &Facts { kind: "trouble", ..Facts::default() });
    }
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;
    use std::rc::Rc;

    use super::*;
    use crate::live::doors;
    use crate::sensor::packet::{Packet, Payload};

    const FARM: &str = r#"
        [farm]
        name = "Hollow Bank"
        zone = "Europe/Dublin"
        herd = "herd.csv"
        [broker]
        url = "mqtt://127.0.0.1:1"
        [[sensor]]
        kind = "tail"
        topic = "yard/{device}"
        read = [{ sign = "contraction", at = "/efforts", as = "count" }]
        [[device]]
        id = "t-07"
        on = "114"
        [[person]]
        name = "Ana"
        mail = "ana@hollowbank.example"
        [[line]]
        name = "mail"
        kind = "smtp"
        url = "smtp://127.0.0.1:1"
        from = "lowbell@hollowbank.example"
    "#;

    fn packet(topic: &str) -> Arrival {
        let payload = Payload(b"{\"efforts\": 9}".to_vec());
        Arrival::plain(Event::Packet(Packet { topic: topic.into(), payload, retained: false }))
    }

    /// An entry that breaks the watch is put aside, what was known before it is still known, the line
    /// "watch" is down (the rule "line down" calls somebody), and the night goes on.
    #[tokio::test]
    async fn a_poisonous_entry_is_put_aside_and_the_night_goes_on() {
        let folder = tempfile::tempdir().unwrap();
        let printed = Rc::new(RefCell::new(Vec::new()));
        let (doors, knock) = doors::doors();
        let lines = printed.clone();
        let file =
            |name: &str, text: &str| config::NamedText { name: name.into(), text: text.into() };
        let herd = "animal,calvings\n114,0\n";
        let plan = Plan {
            place: Place::new(&folder.path().join("farm.toml")),
            settings: SettingsText { files: vec![file("farm.toml", FARM), file("herd.csv", herd)] },
            data: folder.path().to_owned(),
            clock: Box::new(Clock::system),
            credentials: None,
            print: Box::new(move |line, _| lines.borrow_mut().push(line.to_owned())),
        };
        let night = Night::begin(plan, knock.arrive.clone()).await.unwrap();
        let say = async {
            for topic in ["yard/t-07", crate::watch::POISON, "yard/t-99"] {
                knock.arrive.send(packet(topic)).await.unwrap();
            }
            while !printed.borrow().iter().any(|line| line.contains("refused device t-99")) {
                tokio::task::yield_now().await;
            }
            knock.stop.send(()).await.unwrap();
        };
        tokio::join!(night.run(doors), say);
        let printed = printed.borrow();
        let told = |text: &str| printed.iter().any(|line| line.contains(text));
        assert!(told("dam 114 enters first stage"), "{printed:#?}");
        assert!(told("watch is down: an entry could not be worked on"), "{printed:#?}");
        let aside = std::fs::read_dir(folder.path()).unwrap().filter(|entry| {
            entry.as_ref().unwrap().file_name().to_string_lossy().starts_with("set-aside-")
        });
        assert_eq!(aside.count(), 1);
        let rebuilt = rebuild(&Store::open(folder.path()).unwrap()).unwrap();
        assert_eq!(rebuilt.watch.state().watchman.open.len(), 1, "the alert from before is open");
    }
}
