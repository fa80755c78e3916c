//! A journal through the watch again: the same settings and the same events must give the same
//! diary, byte for byte. Pure: whoever calls reads the journal.

use crate::plain::moment::Moment;
use crate::watch::diary::{Diary, Line};
use crate::watch::event::Event;
use crate::watch::{Step, Watch};

/// A watch being replayed.
#[derive(Default)]
pub struct Replay {
    pub watch: Watch,
    diary: Diary,
    pub entries: u64,
}

impl Replay {
    /// From a state and the digest of the diary up to it.
    pub fn after(watch: Watch, digest: &str) -> Self {
        Self { watch, diary: Diary::after(digest), entries: 0 }
    }

    /// Takes one entry; its lines and its step are what the live watch had.
    pub fn take(&mut self, at: Moment, event: &Event) -> (Step, Vec<Line>) {
        self.entries += 1;
        let step = self.watch.step(at, event);
        let lines = self.diary.write(&self.watch, &step.effects);
        (step, lines)
    }

    pub fn digest(&self) -> String {
        self.diary.digest()
    }

    pub fn diary(&self) -> Diary {
        self.diary
    }
}
