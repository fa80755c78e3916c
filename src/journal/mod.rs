//! Row 8. The journal: every event in order, on disk before anything leaves or is confirmed.
//!
//! It only ever grows. One row is one commit: the events of a group, the diary lines that came of
//! them and a checksum over it all. The state can always be rebuilt from it; the snapshots beside
//! it are a cache. It decides nothing and knows no rule; when to commit is the caller's business.

pub mod connect;
pub mod failure;
pub mod forget;
mod hold;
pub mod rebuild;
pub mod record;
pub mod recover;
pub mod snapshot;
pub mod store;
mod tables;
mod walk;

pub use failure::{Damage, JournalError};
pub use record::{Block, DiaryLine, Entry};
pub use snapshot::Snapshot;
pub use store::Store;
pub use walk::Diary;
