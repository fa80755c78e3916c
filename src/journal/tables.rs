//! All the SQL there is: the file's tables, how they came to be, and every question put to them.
//!
//! The file itself refuses to have a block changed or taken out. Nothing here judges what it reads.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OptionalExtension, params};

use crate::plain::moment::Moment;

use super::failure::{JournalError, from_sqlite};
use super::record::Row;
use super::snapshot::Packed;

/// How many rows are fetched at a time: enough to spare most look-ups, few enough to hold.
const FETCH: i64 = 64;

/// One script a version, run once each; the file's `user_version` counts them.
const MIGRATIONS: [&str; 1] = ["
CREATE TABLE farm (one INTEGER PRIMARY KEY CHECK (one = 1), seed INTEGER NOT NULL);
CREATE TRIGGER farm_stays BEFORE UPDATE ON farm
  BEGIN SELECT RAISE(ABORT, 'the seed is drawn once'); END;
CREATE TRIGGER farm_is_kept BEFORE DELETE ON farm
  BEGIN SELECT RAISE(ABORT, 'the seed is drawn once'); END;

CREATE TABLE block (
  first  INTEGER PRIMARY KEY,
  count  INTEGER NOT NULL,
  until  INTEGER NOT NULL,
  before INTEGER NOT NULL,
  digest BLOB NOT NULL,
  body   BLOB NOT NULL,
  sum    INTEGER NOT NULL
);
CREATE TRIGGER block_only_grows BEFORE INSERT ON block
  WHEN NEW.first <= (SELECT max(first) FROM block)
  BEGIN SELECT RAISE(ABORT, 'the journal is append only'); END;
CREATE TRIGGER block_stays BEFORE UPDATE ON block
  BEGIN SELECT RAISE(ABORT, 'the journal is append only'); END;
CREATE TRIGGER block_is_kept BEFORE DELETE ON block
  BEGIN SELECT RAISE(ABORT, 'the journal is append only'); END;

CREATE TABLE snapshot (
  slot    INTEGER PRIMARY KEY CHECK (slot IN (0, 1)),
  version INTEGER NOT NULL,
  entry   INTEGER NOT NULL,
  digest  TEXT NOT NULL,
  body    BLOB NOT NULL,
  sum     INTEGER NOT NULL
);
"];

const DRAW_SEED: &str = "INSERT INTO farm (one, seed) VALUES (1, ?1)";
const SEED: &str = "SELECT seed FROM farm";
const APPEND: &str = "INSERT INTO block (first, count, until, before, digest, body, sum)
  VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
const ROWS_FROM: &str = "SELECT first, count, until, before, digest, body, sum FROM block
  WHERE first >= ?1 ORDER BY first LIMIT ?2";
const ROW_UP_TO: &str = "SELECT first, count, until, before, digest, body, sum FROM block
  WHERE first <= ?1 ORDER BY first DESC LIMIT 1";
const UNTIL_OF: &str = "SELECT until FROM block WHERE first >= ?1 ORDER BY first LIMIT 1";
const SLOT_TO_USE: &str = "SELECT slot FROM (SELECT 0 AS slot UNION ALL SELECT 1)
  LEFT JOIN snapshot USING (slot) ORDER BY coalesce(entry, -1) LIMIT 1";
const SAVE_SNAPSHOT: &str = "INSERT INTO snapshot (slot, version, entry, digest, body, sum)
  VALUES (?1, ?2, ?3, ?4, ?5, ?6)
  ON CONFLICT (slot) DO UPDATE SET version = excluded.version, entry = excluded.entry,
    digest = excluded.digest, body = excluded.body, sum = excluded.sum";
const SNAPSHOTS: &str = "SELECT version, entry, digest, body, sum FROM snapshot
  WHERE version = ?1 AND entry <= ?2 ORDER BY entry DESC";
const FOLD: &str = "PRAGMA wal_checkpoint(PASSIVE)";
const CUT_LOG: &str = "PRAGMA wal_checkpoint(TRUNCATE)";

/// What became of folding the log into the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fold {
    /// All of it is in the file and the log begins anew.
    Done,
    /// Some of it is not in the file; the log goes on as it was.
    Unfinished,
    /// It is in the file, but the log will only begin anew with the next commit.
    NotBegunAnew,
}

/// The journal's file, opened.
pub(super) struct Tables {
    db: Connection,
    file: PathBuf,
}

impl Tables {
    pub(super) fn of(db: Connection, file: PathBuf) -> Self {
        Self { db, file }
    }

    /// Makes what is missing. The seed is drawn with the first tables, in the same breath, unless it is given.
    pub(super) fn migrate(&mut self, seed: Option<u64>) -> Result<(), JournalError> {
        let found = self.version()?;
        if found == MIGRATIONS.len() {
            return Ok(());
        }
        let seed = seed.map_or_else(getrandom::u64, Ok).map_err(|error| JournalError::Refused {
            folder: self.folder().to_owned(),
            doing: "drawing the seed for the journal",
            why: error.to_string(),
        })?;
        let made = self.db.transaction().and_then(|step| {
            for script in &MIGRATIONS[found..] {
                step.execute_batch(script)?;
            }
            if found == 0 {
                step.execute(DRAW_SEED, [seed.cast_signed()])?;
            }
            step.pragma_update(None, "user_version", MIGRATIONS.len() as u32)?;
            step.commit()
        });
        made.map_err(|error| self.failed("making the journal", &error))
    }

    /// 0 where nothing was made yet.
    pub(super) fn version(&self) -> Result<usize, JournalError> {
        let found =
            self.db
                .pragma_query_value(None, "user_version", |row| row.get::<_, u32>(0))
                .map_err(|error| self.failed("opening the journal", &error))? as usize;
        if found > MIGRATIONS.len() {
            return Err(JournalError::Newer {
                file: self.file.clone(),
                found,
                known: MIGRATIONS.len(),
            });
        }
        Ok(found)
    }

    pub(super) fn seed(&self) -> rusqlite::Result<u64> {
        self.db.query_row(SEED, [], |row| row.get::<_, i64>(0)).map(i64::cast_unsigned)
    }

    /// One statement is one transaction: whole or not at all.
    pub(super) fn append(&self, row: &Row) -> rusqlite::Result<()> {
        let values = params![
            row.first.cast_signed(),
            row.count.cast_signed(),
            row.until.millis(),
            row.before,
            row.digest,
            row.body,
            row.sum,
        ];
        self.db.execute(APPEND, values).map(drop)
    }

    /// The next rows that begin at `first` or after it. An unreadable page ends them early; it is
    /// an error when nothing can be read before it.
    pub(super) fn rows_from(&self, first: u64) -> rusqlite::Result<VecDeque<Row>> {
        let mut query = self.db.prepare(ROWS_FROM)?;
        let mut found = query.query(params![first.cast_signed(), FETCH])?;
        let mut rows = VecDeque::new();
        loop {
            match found.next() {
                Ok(Some(row)) => rows.push_back(as_row(row)?),
                Ok(None) => return Ok(rows),
                Err(_) if !rows.is_empty() => return Ok(rows),
                Err(error) => return Err(error),
            }
        }
    }

    pub(super) fn row_at_or_after(&self, first: u64) -> rusqlite::Result<Option<Row>> {
        let query = params![first.cast_signed(), 1];
        self.db.query_row(ROWS_FROM, query, as_row).optional()
    }

    pub(super) fn row_up_to(&self, first: u64) -> rusqlite::Result<Option<Row>> {
        let query = params![first.cast_signed()];
        self.db.query_row(ROW_UP_TO, query, as_row).optional()
    }

    /// Up to when the row reaches that begins at `first` or next after it.
    pub(super) fn until_of(&self, first: u64) -> rusqlite::Result<Option<Moment>> {
        let query = params![first.cast_signed()];
        self.db.query_row(UNTIL_OF, query, |row| row.get(0)).map(Moment::from_millis).optional()
    }

    /// In place of the older of two.
    pub(super) fn save_snapshot(&mut self, packed: &Packed) -> rusqlite::Result<()> {
        let step = self.db.transaction()?;
        let slot: i64 = step.query_row(SLOT_TO_USE, [], |row| row.get(0))?;
        let values = params![
            slot,
            packed.version,
            packed.entry.cast_signed(),
            packed.digest,
            packed.body,
            packed.sum
        ];
        step.execute(SAVE_SNAPSHOT, values)?;
        step.commit()
    }

    /// Newest first, sound or not.
    pub(super) fn snapshots(&self, version: u32, up_to: u64) -> rusqlite::Result<Vec<Packed>> {
        let mut query = self.db.prepare(SNAPSHOTS)?;
        let found = query.query_map(params![version, up_to.cast_signed()], |row| {
            Ok(Packed {
                version: row.get(0)?,
                entry: row.get::<_, i64>(1)?.cast_unsigned(),
                digest: row.get(2).unwrap_or_default(),
                body: row.get(3).unwrap_or_default(),
                sum: row.get(4).unwrap_or_default(),
            })
        })?;
        // One that cannot be read must not hide the other.
        Ok(found.filter_map(Result::ok).collect())
    }

    /// Writes the log's pages into the file and has the log written over from its beginning. Only
    /// while nobody reads.
    pub(super) fn fold(&self) -> Fold {
        let folded = self.db.query_row(FOLD, [], |row| {
            let (logged, done): (i64, i64) = (row.get(1)?, row.get(2)?);
            Ok(logged == done)
        });
        match folded {
            Ok(true) => {}
            Ok(false) => return Fold::Unfinished,
            Err(error) => {
                tracing::warn!("the journal's log could not be folded into its file: {error}");
                return Fold::Unfinished;
            }
        }
        // The first commit after a fold is the one that begins the log anew; it changes nothing.
        let anew = self
            .db
            .pragma_update(None, "user_version", MIGRATIONS.len() as u32)
            .or_else(|_| self.db.query_row(CUT_LOG, [], |_| Ok(())));
        match anew {
            Ok(()) => Fold::Done,
            Err(_) => Fold::NotBegunAnew,
        }
    }

    /// When the file is closed, its log stays beside it.
    pub(super) fn leave_log(&self) {
        let left = self.db.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true);
        if let Err(error) = left {
            tracing::warn!("the journal's log could not be left beside its file: {error}");
        }
    }

    pub(super) fn failed(&self, doing: &'static str, error: &rusqlite::Error) -> JournalError {
        from_sqlite(self.folder(), &self.file, doing, error)
    }

    fn folder(&self) -> &Path {
        self.file.parent().unwrap_or(Path::new("."))
    }

    /// As if the disk had room for `pages` and no more.
    #[cfg(test)]
    pub(super) fn allow_pages(&self, pages: u32) {
        self.db.pragma_update_and_check(None, "max_page_count", pages, |_| Ok(())).unwrap();
    }

    #[cfg(test)]
    pub(super) fn pages(&self) -> u32 {
        self.db.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap()
    }
}

/// A value of the wrong kind is damage; the row's checksum will say so.
fn as_row(row: &rusqlite::Row<'_>) -> rusqlite::Result<Row> {
    Ok(Row {
        first: row.get::<_, i64>(0)?.cast_unsigned(),
        count: row.get::<_, i64>(1).unwrap_or_default().cast_unsigned(),
        until: Moment::from_millis(row.get(2).unwrap_or_default()),
        before: row.get(3).unwrap_or_default(),
        digest: row.get(4).unwrap_or_default(),
        body: row.get(5).unwrap_or_default(),
        sum: row.get(6).unwrap_or_default(),
    })
}
