//! The watch as it stood at the journal's end: the newest sound snapshot, then every entry after it,
//! with every effect muted, for all of them left before.

use super::failure::{Damage, JournalError};
use super::recover::replay_into;
use super::store::Store;
use crate::watch::diary::Diary;
use crate::watch::{Watch, snapshot};

pub struct Rebuilt {
    pub watch: Watch,
    pub diary: Diary,
    /// Entries replayed after the snapshot.
    pub replayed: u64,
    pub damages: Vec<Damage>,
}

/// # Errors
/// Says why the journal could not be read at all; a damaged row is passed over and told.
pub fn rebuild(store: &Store) -> Result<Rebuilt, JournalError> {
    let recovered = replay_into(
        store,
        snapshot::VERSION,
        |kept| Some((Watch::restore(&kept.state)?, Diary::after(&kept.digest))),
        || (Watch::default(), Diary::default()),
        |(watch, diary), entry| {
            let step = watch.step(entry.at, &entry.event);
            let _ = diary.write(watch, &step.effects);
        },
    )?;
    let (watch, diary) = recovered.state;
    Ok(Rebuilt { watch, diary, replayed: recovered.tail.entries, damages: recovered.tail.damages })
}
