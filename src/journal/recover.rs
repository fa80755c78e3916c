//! Getting the state back: the newest snapshot that can be used, then every entry after it.
//!
//! It knows nothing of what the state is: how to take it up from a snapshot and what an entry does
//! to it come from the caller. A damaged row is told of and passed over; a watch that starts with
//! a gap is better than none.

use std::ops::ControlFlow;

use super::failure::{Damage, JournalError};
use super::record::Entry;
use super::snapshot::Snapshot;
use super::store::Store;

/// What was read after a point in the journal.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tail {
    pub entries: u64,
    pub damages: Vec<Damage>,
}

/// A state brought up to the journal's end.
pub struct Recovered<W> {
    pub state: W,
    /// The entry of the snapshot it was taken up from; 0 if from the beginning.
    pub snapshot: u64,
    pub tail: Tail,
}

/// Gives every entry after `after` to `each`, in order.
pub fn tail(store: &Store, after: u64, each: &mut dyn FnMut(&Entry)) -> Result<Tail, JournalError> {
    let mut entries = 0;
    let damages = store.read(after.saturating_add(1), &mut |block| {
        for entry in block.entries.iter().filter(|entry| entry.no > after) {
            each(entry);
            entries += 1;
        }
        ControlFlow::Continue(())
    })?;
    Ok(Tail { entries, damages })
}

/// The state at the journal's end. `thaw` gets the newest sound snapshot of `version` and says
/// `None` if it cannot be used after all; then everything is replayed onto `fresh`.
pub fn replay_into<W>(
    store: &Store,
    version: u32,
    thaw: impl FnOnce(&Snapshot) -> Option<W>,
    fresh: impl FnOnce() -> W,
    mut each: impl FnMut(&mut W, &Entry),
) -> Result<Recovered<W>, JournalError> {
    let thawed = store
        .latest_snapshot(version)?
        .and_then(|snapshot| Some((thaw(&snapshot)?, snapshot.entry)));
    let (mut state, snapshot) = thawed.unwrap_or_else(|| (fresh(), 0));
    let tail = tail(store, snapshot, &mut |entry| each(&mut state, entry))?;
    Ok(Recovered { state, snapshot, tail })
}
