//! A stretch of the season kept for telling it again: from a snapshot and the events since, the same
//! state must come.

use crate::plain::moment::Moment;
use crate::watch::Watch;
use crate::watch::event::Event;

#[derive(Default)]
pub(super) struct Tape {
    snapshot: String,
    events: Vec<(Moment, Event)>,
}

impl Tape {
    pub(super) fn begins(watch: &Watch) -> Self {
        Self { snapshot: watch.snapshot(), events: Vec::new() }
    }

    pub(super) fn keeps(&mut self, now: Moment, event: &Event) {
        self.events.push((now, event.clone()));
    }

    pub(super) fn len(&self) -> usize {
        self.events.len()
    }

    /// The watch as it was when the tape began, without anything since.
    pub(super) fn beginning(&self) -> Option<Watch> {
        Watch::restore(&self.snapshot)
    }

    /// The state after the whole tape, told again from its beginning.
    pub(super) fn told_again(&self) -> Option<String> {
        let mut watch = self.beginning()?;
        for (at, event) in &self.events {
            let _ = watch.step(*at, event);
        }
        Some(watch.snapshot())
    }
}

/// Whether the state survives its printed form.
pub(super) fn survives(watch: &Watch) -> bool {
    let printed = watch.snapshot();
    Watch::restore(&printed).is_some_and(|again| again.snapshot() == printed)
}
