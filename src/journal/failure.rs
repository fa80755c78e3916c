//! What can go wrong with the journal, in the farm's words: what, where, what to do.
//!
//! Nothing here retries or repairs; it only tells one kind of failure from another.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

/// Part of the journal that cannot be believed. What stands before and after it can.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Damage {
    /// The number of the first entry in the row.
    pub row: u64,
    pub why: String,
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the journal is damaged from entry {}: {}", self.row, self.why)
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum JournalError {
    /// Nothing of the block was kept; the same block can be given again.
    DiskFull {
        folder: PathBuf,
    },
    ReadOnly {
        folder: PathBuf,
    },
    /// Another process writes this journal; its number, if it left one.
    Held {
        folder: PathBuf,
        by: Option<u32>,
    },
    Missing {
        file: PathBuf,
    },
    /// Written by a later version of this program.
    Newer {
        file: PathBuf,
        found: usize,
        known: usize,
    },
    /// One row; reading goes on behind it.
    Damaged(Damage),
    /// The file as a whole makes no sense any more.
    Broken {
        file: PathBuf,
        why: String,
    },
    /// The disk or the system refused for another reason.
    Refused {
        folder: PathBuf,
        doing: &'static str,
        why: String,
    },
    /// The block was not made to follow the last one: our own mistake.
    Misfit {
        why: String,
    },
}

impl fmt::Display for JournalError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::DiskFull { folder } => write!(
                f,
                "the disk that holds {} is full; nothing new can be kept until space is freed there",
                folder.display()
            ),
            Self::ReadOnly { folder } => write!(
                f,
                "the disk that holds {} can only be read; a worn-out card does this to itself: \
                 check it, replace it if need be, and mount it for writing",
                folder.display()
            ),
            Self::Held { folder, by } => {
                write!(f, "another lowbell ")?;
                if let Some(process) = by {
                    write!(f, "(process {process}) ")?;
                }
                write!(
                    f,
                    "already keeps its journal in {}; stop that one first, or give this one a folder \
                     of its own",
                    folder.display()
                )
            }
            Self::Missing { file } => write!(
                f,
                "there is no journal at {}; it is made when the watch first runs",
                file.display()
            ),
            Self::Newer { file, found, known } => write!(
                f,
                "the journal {} is of form {found} and this program knows forms up to {known}; \
                 install the newer program again",
                file.display()
            ),
            Self::Damaged(damage) => damage.fmt(f),
            Self::Broken { file, why } => write!(
                f,
                "the journal {} cannot be read ({why}); move it to another name, keep it for us, \
                 and start again",
                file.display()
            ),
            Self::Refused { folder, doing, why } => write!(
                f,
                "{doing} in {} failed ({why}); look at the disk, its cable or card and its power \
                 supply, and at who owns the folder",
                folder.display()
            ),
            Self::Misfit { why } => write!(
                f,
                "the journal was given a block that does not fit ({why}); this is a mistake in \
                 lowbell, please send us the diary"
            ),
        }
    }
}

impl std::error::Error for JournalError {}

/// What SQLite says, as one of ours.
pub(super) fn from_sqlite(
    folder: &Path,
    file: &Path,
    doing: &'static str,
    error: &rusqlite::Error,
) -> JournalError {
    let folder = folder.to_owned();
    match error.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => JournalError::DiskFull { folder },
        Some(ErrorCode::ReadOnly) => JournalError::ReadOnly { folder },
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
            JournalError::Held { folder, by: None }
        }
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
            JournalError::Broken { file: file.to_owned(), why: error.to_string() }
        }
        Some(_) | None => JournalError::Refused { folder, doing, why: error.to_string() },
    }
}

/// What the system says, as one of ours.
pub(super) fn from_system(folder: &Path, doing: &'static str, error: &io::Error) -> JournalError {
    let folder = folder.to_owned();
    if error.kind() == io::ErrorKind::StorageFull {
        JournalError::DiskFull { folder }
    } else if error.kind() == io::ErrorKind::ReadOnlyFilesystem {
        JournalError::ReadOnly { folder }
    } else {
        JournalError::Refused { folder, doing, why: error.to_string() }
    }
}

pub(super) fn is_corrupt(error: &rusqlite::Error) -> bool {
    matches!(error.sqlite_error_code(), Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_failure_says_what_where_and_what_to_do() {
        let folder = PathBuf::from("/srv/lowbell");
        let file = folder.join("journal.sqlite");
        for (error, words) in [
            (
                JournalError::DiskFull { folder: folder.clone() },
                "the disk that holds /srv/lowbell is full; nothing new can be kept until space is \
                 freed there",
            ),
            (
                JournalError::Held { folder: folder.clone(), by: Some(907) },
                "another lowbell (process 907) already keeps its journal in /srv/lowbell; stop that \
                 one first, or give this one a folder of its own",
            ),
            (
                JournalError::Held { folder, by: None },
                "another lowbell already keeps its journal in /srv/lowbell; stop that one first, or \
                 give this one a folder of its own",
            ),
            (
                JournalError::Newer { file, found: 9, known: 1 },
                "the journal /srv/lowbell/journal.sqlite is of form 9 and this program knows forms \
                 up to 1; install the newer program again",
            ),
            (
                JournalError::Damaged(Damage {
                    row: 34,
                    why: "its checksum does not fit what is in it".into(),
                }),
                "the journal is damaged from entry 34: its checksum does not fit what is in it",
            ),
        ] {
            assert_eq!(error.to_string(), words);
        }
    }
}
