//! The two locks beside the journal: who may write it, and when its parts may be moved about.
//!
//! Both die with the process that holds them. SQLite's own locks are not enough: the writer keeps
//! its index of the log in its own memory (shared memory would be one more file that the system
//! writes to the card every half minute), so readers cannot ask it what they may read. They hold
//! the gate instead: while anybody does, the log only grows and the file under it stands still.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use super::failure::{JournalError, from_system};

const LOCK_FILE: &str = "journal.lock";
const GATE_FILE: &str = "journal.gate";

/// A fold takes milliseconds on a disk and a second on a poor card.
const PATIENCE: Duration = Duration::from_secs(20);

/// A process number has at most ten digits.
const MAX_NUMBER: u64 = 10;

/// Held for as long as this process writes.
pub(super) struct Writing {
    lock: File,
    gate: File,
}

impl Writing {
    pub(super) fn begin(folder: &Path) -> Result<Self, JournalError> {
        let mut lock = open(folder, LOCK_FILE)?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                return Err(JournalError::Held {
                    folder: folder.to_owned(),
                    by: number_in(&mut lock),
                });
            }
            Err(TryLockError::Error(error)) => {
                return Err(from_system(folder, "locking the journal", &error));
            }
        }
        leave_number(&mut lock);
        let gate = open(folder, GATE_FILE)?;
        Ok(Self { lock, gate })
    }

    /// Whether nobody reads. If so, nobody begins to until `open_gate`.
    pub(super) fn shut_gate(&self) -> bool {
        self.gate.try_lock().is_ok()
    }

    pub(super) fn open_gate(&self) {
        let_go(&self.gate);
    }
}

impl Drop for Writing {
    fn drop(&mut self) {
        let_go(&self.gate);
        let_go(&self.lock);
    }
}

/// Held for as long as somebody reads.
pub(super) struct Reading {
    gate: Option<File>,
}

impl Reading {
    /// Waits while the writer folds its log, which takes milliseconds. A journal without a gate
    /// beside it is a copy that nobody writes.
    pub(super) fn begin(folder: &Path) -> Result<Self, JournalError> {
        Self::begin_within(folder, PATIENCE)
    }

    fn begin_within(folder: &Path, patience: Duration) -> Result<Self, JournalError> {
        let doing = "waiting to read the journal";
        let Ok(gate) = File::open(folder.join(GATE_FILE)) else {
            return Ok(Self { gate: None });
        };
        match gate.try_lock_shared() {
            Ok(()) => return Ok(Self { gate: Some(gate) }),
            Err(TryLockError::WouldBlock) => {}
            Err(TryLockError::Error(error)) => return Err(from_system(folder, doing, &error)),
        }
        // A lock can be waited for without end or not at all; a thread of its own gives it one.
        let (found, waited) = mpsc::channel();
        thread::spawn(move || found.send(gate.lock_shared().map(|()| gate)));
        match waited.recv_timeout(patience) {
            Ok(Ok(gate)) => Ok(Self { gate: Some(gate) }),
            Ok(Err(error)) => Err(from_system(folder, doing, &error)),
            Err(_) => Err(JournalError::Refused {
                folder: folder.to_owned(),
                doing,
                why: format!("its writer has not let anyone in for {patience:?}"),
            }),
        }
    }
}

impl Drop for Reading {
    fn drop(&mut self) {
        if let Some(gate) = &self.gate {
            let_go(gate);
        }
    }
}

/// Closing a file is not enough: a program that is just being started from another thread holds a
/// copy of it for a moment, and the lock with it.
fn let_go(lock: &File) {
    if let Err(error) = lock.unlock() {
        tracing::warn!("a lock beside the journal could not be let go: {error}");
    }
}

fn open(folder: &Path, name: &str) -> Result<File, JournalError> {
    OpenOptions::new()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .open(folder.join(name))
        .map_err(|error| from_system(folder, "opening the journal's lock", &error))
}

fn number_in(lock: &mut File) -> Option<u32> {
    let mut text = String::new();
    lock.take(MAX_NUMBER).read_to_string(&mut text).ok()?;
    text.trim().parse().ok()
}

/// A courtesy to whoever is refused; on a full disk it is left out.
fn leave_number(lock: &mut File) {
    let left = lock
        .set_len(0)
        .and_then(|()| lock.rewind())
        .and_then(|()| write!(lock, "{}", std::process::id()));
    if let Err(error) = left {
        tracing::debug!("the process number could not be left in the lock: {error}");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reader_waits_for_the_gate_but_not_for_ever() {
        let folder = tempfile::tempdir().unwrap();
        let writing = Writing::begin(folder.path()).unwrap();
        assert!(writing.shut_gate());
        let refused = Reading::begin_within(folder.path(), Duration::from_millis(20));
        assert_eq!(
            refused.err().unwrap().to_string(),
            format!(
                "waiting to read the journal in {} failed (its writer has not let anyone in for \
                 20ms); look at the disk, its cable or card and its power supply, and at who owns \
                 the folder",
                folder.path().display()
            )
        );
        thread::scope(|scope| {
            let reader = scope.spawn(|| Reading::begin(folder.path()));
            writing.open_gate();
            assert!(reader.join().unwrap().is_ok());
        });
        // Ends when every reader has gone, also the one who gave up waiting.
        writing.gate.lock().unwrap();
    }
}
