//! How the journal's file is opened: by the one who writes it, and by those who only read.
//!
//! The writer keeps the file for itself and the log's index in its own memory. A reader looks past
//! that lock, and may, because the gate in `hold` keeps what it reads in place.

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};

use super::failure::{JournalError, from_system};
use super::hold::Writing;
use super::store::FILE;

/// 2 MiB of pages in memory, the negative number being KiB.
const CACHE: i64 = -2048;

/// A ninth broken journal in one folder is not an accident any more.
const MAX_SET_ASIDE: u32 = 9;

pub(super) fn to_write(file: &Path) -> rusqlite::Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = Connection::open_with_flags(file, flags)?;
    // Must come before anything is written to a new file.
    db.pragma_update(None, "page_size", 512)?;
    db.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
    db.pragma_update(None, "journal_mode", "WAL")?;
    // Each commit waits for the disk: what is confirmed to a sensor must outlive a power cut.
    db.pragma_update(None, "synchronous", "FULL")?;
    // The store folds the log itself, when nobody reads.
    db.pragma_update(None, "wal_autocheckpoint", 0)?;
    settle(&db)?;
    Ok(db)
}

pub(super) fn to_read(file: &Path) -> rusqlite::Result<Connection> {
    let read = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let logged = fs::metadata(log_of(file)).is_ok_and(|log| log.len() > 0);
    let db = if logged {
        Connection::open_with_flags_and_vfs(file, read, c"unix-none")?
    } else {
        // Without a log the file is all there is, and opening it must not make one: it may lie on
        // a disk that can only be read.
        Connection::open_with_flags(still(file), read | OpenFlags::SQLITE_OPEN_URI)?
    };
    db.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
    db.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    settle(&db)?;
    Ok(db)
}

/// Where SQLite keeps the log of a file.
pub(super) fn log_of(file: &Path) -> PathBuf {
    let mut name = OsString::from(file);
    name.push("-wal");
    PathBuf::from(name)
}

/// Moves a journal that cannot be read to a name of its own beside it, so that the watch can begin
/// a new one; returns that name. Nothing is thrown away.
pub fn set_aside(folder: &Path) -> Result<PathBuf, JournalError> {
    let _writing = Writing::begin(folder)?;
    let doing = "setting the broken journal aside";
    let names = (1..=MAX_SET_ASIDE).map(|no| folder.join(format!("journal.broken-{no}.sqlite")));
    let Some(aside) = names.into_iter().find(|name| !name.exists()) else {
        return Err(JournalError::Refused {
            folder: folder.to_owned(),
            doing,
            why: format!("there are {MAX_SET_ASIDE} of them already"),
        });
    };
    let file = folder.join(FILE);
    let log = log_of(&file);
    // The log first: if the power goes in between, the next try finds the file still in place.
    if log.exists() {
        fs::rename(&log, log_of(&aside)).map_err(|error| from_system(folder, doing, &error))?;
    }
    fs::rename(&file, &aside).map_err(|error| from_system(folder, doing, &error))?;
    Ok(aside)
}

fn settle(db: &Connection) -> rusqlite::Result<()> {
    db.pragma_update(None, "cache_size", CACHE)?;
    db.pragma_update(None, "temp_store", "MEMORY")?;
    // A damaged page is noticed when it is read, not when it has led somewhere else.
    db.pragma_update(None, "cell_size_check", true)?;
    db.pragma_update(None, "trusted_schema", false)
}

/// The address of a file that nobody changes.
fn still(file: &Path) -> String {
    let path: String = file
        .to_string_lossy()
        .chars()
        .map(|letter| match letter {
            '%' => "%25".to_owned(),
            '?' => "%3f".to_owned(),
            '#' => "%23".to_owned(),
            other => other.to_string(),
        })
        .collect();
    format!("file:{path}?immutable=1")
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::types::Value;

    #[test]
    fn a_commit_waits_for_the_disk_and_the_log_is_not_folded_behind_our_back() {
        let folder = tempfile::tempdir().unwrap();
        let db = to_write(&folder.path().join(FILE)).unwrap();
        let text = |value: &str| Value::Text(value.into());
        for (pragma, value) in [
            ("journal_mode", text("wal")),
            ("locking_mode", text("exclusive")),
            ("synchronous", Value::Integer(2)),
            ("wal_autocheckpoint", Value::Integer(0)),
            ("page_size", Value::Integer(512)),
        ] {
            let found = db.pragma_query_value(None, pragma, |row| row.get(0));
            assert_eq!(found, Ok(value), "{pragma}");
        }
    }
}
