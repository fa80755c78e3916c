//! What has happened and is not on disk yet, with everything that must wait until it is.

use crate::journal::{Block, DiaryLine, Entry};
use crate::line::Receipt;
use crate::plain::moment::{Moment, Span};
use crate::watch::diary::Line;
use crate::watch::effect::{Effect, Facts};
use crate::watch::event::Event;

/// While the journal cannot be written this much is kept in memory; past it nothing more is taken
/// in, so that whoever sends keeps it.
pub const ENTRIES_MAX: usize = 10_000;

/// And so much in bytes: the journal takes a group whole, and a Pi has little memory.
const BYTES_MAX: usize = 8 * 1024 * 1024;
/// A group of large packets does not wait for company.
const GROUP_BYTES: usize = 1024 * 1024;

/// A group commits at half of what may be on its way unconfirmed, however short the time.
const GROUP_MAX: usize = 250;

#[derive(Default)]
pub struct Pending {
    entries: Vec<Entry>,
    /// About what the entries weigh.
    bytes: usize,
    diary: Vec<DiaryLine>,
    /// What each line of the diary is about.
    facts: Vec<Facts>,
    receipts: Vec<Receipt>,
    effects: Vec<Effect>,
    due: Option<Moment>,
}

impl Pending {
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    pub fn is_full(&self) -> bool {
        self.entries.len() >= ENTRIES_MAX || self.bytes >= BYTES_MAX
    }

    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Adds an entry; `patience` is how long it may wait for its commit.
    pub fn add(&mut self, entry: Entry, receipt: Option<Receipt>, patience: Span) {
        let patience = receipt.as_ref().map_or(patience, |receipt| patience.min(receipt.patience));
        let due = entry.at + patience;
        self.due = Some(self.due.map_or(due, |old| old.min(due)));
        self.bytes += weight(&entry.event);
        self.entries.push(entry);
        self.receipts.extend(receipt);
    }

    pub fn follows(&mut self, entry: u64, lines: Vec<Line>, effects: Vec<Effect>) {
        let lines = lines.into_iter().map(|line| DiaryLine { entry, at: line.at, text: line.text });
        self.diary.extend(lines);
        self.facts.extend(effects.iter().map(Effect::facts));
        self.effects.extend(effects);
    }

    /// When the group must be committed.
    pub fn due(&self) -> Option<Moment> {
        self.due
    }

    pub fn is_due(&self, now: Moment) -> bool {
        !self.is_empty()
            && (self.entries.len() >= GROUP_MAX
                || self.bytes >= GROUP_BYTES
                || self.due.is_some_and(|due| due <= now))
    }

    /// The group as the journal takes it.
    pub fn block(&self, digest: String) -> Option<Block> {
        let first = self.entries.first()?.no;
        Some(Block { first, entries: self.entries.clone(), diary: self.diary.clone(), digest })
    }

    /// It is on disk: what may be confirmed, and what may leave.
    pub fn committed(&mut self) -> Released {
        self.due = None;
        self.entries.clear();
        self.bytes = 0;
        Released {
            receipts: std::mem::take(&mut self.receipts),
            effects: std::mem::take(&mut self.effects),
            diary: std::mem::take(&mut self.diary),
            facts: std::mem::take(&mut self.facts),
        }
    }

    /// The disk will not take it, and an alarm cannot wait for a disk: what may leave unconfirmed.
    pub fn leaves_without_disk(&mut self) -> Vec<Effect> {
        std::mem::take(&mut self.effects)
    }
}

pub struct Released {
    pub receipts: Vec<Receipt>,
    pub effects: Vec<Effect>,
    pub diary: Vec<DiaryLine>,
    pub facts: Vec<Facts>,
}

/// How long an event may wait for its commit: a packet for its group, everything else not at all.
pub fn patience(event: &Event, group: Span) -> Span {
    match event {
        Event::Packet(_) => group,
        Event::Started { .. }
        | Event::Settings(_)
        | Event::Clock(_)
        | Event::Answered(_)
        | Event::Delivered(_)
        | Event::Line(_)
        | Event::Woke
        | Event::Forgotten { .. } => Span::ZERO,
    }
}

/// What an event weighs, roughly; only two kinds can be large.
fn weight(event: &Event) -> usize {
    const SMALL: usize = 200;
    match event {
        Event::Packet(packet) => SMALL + packet.topic.len() + packet.payload.0.len(),
        Event::Answered(reply) => SMALL + reply.text.len(),
        Event::Started { .. }
        | Event::Settings(_)
        | Event::Clock(_)
        | Event::Delivered(_)
        | Event::Line(_)
        | Event::Woke
        | Event::Forgotten { .. } => SMALL,
    }
}
