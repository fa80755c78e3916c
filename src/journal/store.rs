//! The journal of one farm: append only, on disk when `append` returns.
//!
//! One row a commit, in pages of 512 bytes, because what a card suffers from is the number of its
//! own 4 KiB pages that a commit touches (`cargo bench --bench journal` counts them). It never
//! repairs or thins; a person is taken out by writing another journal in its place (`forget.rs`).

use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use crate::plain::moment::Moment;

use super::connect::{log_of, to_read, to_write};
use super::failure::{Damage, JournalError, from_sqlite, from_system, is_corrupt};
use super::hold::{Reading, Writing};
use super::record::{Block, LAST, MAX_ENTRIES, Row, Tip};
use super::snapshot::{Packed, Snapshot};
use super::tables::{Fold, Tables};
use super::walk::{Blocks, Diary};

pub const FILE: &str = "journal.sqlite";

/// The log is folded into the file at about this size: some 500 commits, three hours of a busy
/// yard. It is then written over from its beginning; it never shrinks in between, because growing
/// it anew costs the file system writes of its own with every commit.
const FOLD_AT: u64 = 1 << 20;

/// What a commit writes beside the row's own bytes: the pages around it and their headers.
const COMMIT_OVERHEAD: u64 = 1_500;

/// How many damaged rows are told one by one.
const MAX_DAMAGES: usize = 100;

/// How far back a sound row is looked for when the last ones are damaged.
const MAX_STEPS_BACK: usize = 100;

/// A journal, open for writing or for reading.
pub struct Store {
    // Closed before the locks are let go: fields drop in this order.
    tables: Tables,
    access: Access,
    seed: u64,
    tip: Tip,
    /// About how much is in the log that is not yet in the file.
    unfolded: u64,
    /// Shut by a fold that could not be ended; the next commit ends it.
    gate_is_shut: bool,
}

enum Access {
    Writing(Writing),
    Reading { _gate: Reading },
}

impl Store {
    /// Opens the journal in `folder` for writing and makes it if it is not there. Only one process
    /// can do so at a time.
    pub fn open(folder: &Path) -> Result<Self, JournalError> {
        Self::open_or_make(folder, None)
    }

    /// The same; a journal that is not there is made as if it had drawn this seed.
    pub(super) fn open_or_make(folder: &Path, seed: Option<u64>) -> Result<Self, JournalError> {
        fs::create_dir_all(folder)
            .map_err(|error| from_system(folder, "making the folder for the journal", &error))?;
        let writing = Writing::begin(folder)?;
        let file = folder.join(FILE);
        let db = to_write(&file)
            .map_err(|error| from_sqlite(folder, &file, "opening the journal", &error))?;
        let logged = fs::metadata(log_of(&file)).map_or(0, |log| log.len());
        let mut tables = Tables::of(db, file);
        tables.migrate(seed)?;
        let mut store = Self::on(tables, Access::Writing(writing))?;
        store.unfolded = logged;
        Ok(store)
    }

    /// Opens the journal in a folder, or a copy of its file under any name, as it stands now;
    /// what is appended later is not seen. The writer is not disturbed, but cannot fold its log
    /// until this is dropped.
    pub fn open_read_only(place: &Path) -> Result<Self, JournalError> {
        let file = if place.is_dir() { place.join(FILE) } else { place.to_owned() };
        if !file.is_file() {
            return Err(JournalError::Missing { file });
        }
        let folder = file.parent().map_or_else(PathBuf::new, Path::to_owned);
        let reading = Reading::begin(&folder)?;
        let db = to_read(&file)
            .map_err(|error| from_sqlite(&folder, &file, "opening the journal", &error))?;
        let tables = Tables::of(db, file.clone());
        if tables.version()? == 0 {
            let why = "there is no journal in it".into();
            return Err(JournalError::Broken { file, why });
        }
        Self::on(tables, Access::Reading { _gate: reading })
    }

    /// Drawn once, when the journal was made.
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// The number that the next entry must have; 1 in an empty journal.
    pub fn next_entry(&self) -> u64 {
        self.tip.next
    }

    /// The latest moment in the journal; `None` in an empty one.
    pub fn last_moment(&self) -> Option<Moment> {
        self.tip.until
    }

    /// The digest of the last block; empty in an empty journal.
    pub fn digest(&self) -> &str {
        &self.tip.digest
    }

    /// On disk when it returns, whole or not at all. After a failure the same block can be given
    /// again.
    pub fn append(&mut self, block: &Block) -> Result<(), JournalError> {
        self.must_write()?;
        let row = Row::pack(block, &self.tip).map_err(|why| JournalError::Misfit { why })?;
        self.tables
            .append(&row)
            .map_err(|error| self.tables.failed("writing to the journal", &error))?;
        self.tip = row.tip();
        self.grown_by(row.body.len());
        Ok(())
    }

    /// Gives the blocks to `each`, beginning with the one that holds `from_entry`, until it breaks
    /// off or the journal ends. Returns the rows that had to be passed over.
    pub fn read(
        &self,
        from_entry: u64,
        each: &mut dyn FnMut(Block) -> ControlFlow<()>,
    ) -> Result<Vec<Damage>, JournalError> {
        let mut damages = Vec::new();
        let mut untold = 0_u64;
        for block in self.blocks(from_entry) {
            match block {
                Ok(block) => {
                    if each(block).is_break() {
                        break;
                    }
                }
                Err(JournalError::Damaged(damage)) if damages.len() < MAX_DAMAGES => {
                    damages.push(damage);
                }
                Err(JournalError::Damaged(_)) => untold += 1,
                Err(error) => return Err(error),
            }
        }
        if let Some(last) = damages.last_mut().filter(|_| untold > 0) {
            last.why = format!("{}; and {untold} more after it", last.why);
        }
        Ok(damages)
    }

    /// The diary's lines from a moment on.
    pub fn diary(&self, from: Moment) -> Diary<'_> {
        Diary::begin(self.blocks(self.first_row_until(from)), from)
    }

    /// Keeps `snapshot` in place of the older of the two that are kept.
    pub fn save_snapshot(&mut self, snapshot: &Snapshot) -> Result<(), JournalError> {
        self.must_write()?;
        let packed = snapshot.pack();
        self.tables
            .save_snapshot(&packed)
            .map_err(|error| self.tables.failed("keeping a snapshot", &error))?;
        self.grown_by(packed.body.len());
        Ok(())
    }

    /// The newest sound snapshot of that version that is not ahead of the journal.
    pub fn latest_snapshot(&self, version: u32) -> Result<Option<Snapshot>, JournalError> {
        match self.tables.snapshots(version, self.tip.next - 1) {
            Ok(kept) => Ok(kept.into_iter().find_map(Packed::unpack)),
            // A cache that cannot be read is a cache that is not there.
            Err(error) if is_corrupt(&error) => Ok(None),
            Err(error) => Err(self.tables.failed("reading a snapshot", &error)),
        }
    }

    fn on(tables: Tables, access: Access) -> Result<Self, JournalError> {
        let doing = "reading the journal's end";
        let seed = tables.seed().map_err(|error| tables.failed(doing, &error))?;
        let tip = match find_tip(&tables, seed) {
            Ok(tip) => tip,
            // Whoever only reads should get what can still be read.
            Err(error) if is_corrupt(&error) && matches!(access, Access::Reading { .. }) => {
                Tip::of_nothing(seed)
            }
            Err(error) => return Err(tables.failed(doing, &error)),
        };
        Ok(Self { tables, access, seed, tip, unfolded: 0, gate_is_shut: false })
    }

    fn blocks(&self, from_entry: u64) -> Blocks<'_> {
        // Where this cannot be read, the walk meets the same place again and tells of it.
        let holder = self.tables.row_up_to(from_entry.min(LAST)).ok().flatten();
        match holder {
            Some(row) if row.first > 1 => Blocks::begin(&self.tables, row.first, None),
            None if from_entry > 1 => Blocks::begin(&self.tables, from_entry, None),
            Some(_) | None => {
                let start = Tip::of_nothing(self.seed);
                Blocks::begin(&self.tables, start.next, Some((start.next, start.sum)))
            }
        }
    }

    /// The first row that reaches `moment`, found by halving: the rows' times never fall.
    fn first_row_until(&self, moment: Moment) -> u64 {
        let (mut low, mut high) = (1, self.tip.next);
        while low < high {
            let middle = low + (high - low) / 2;
            // Where it cannot be read, rather begin too early than too late.
            let until = self.tables.until_of(middle).ok().flatten();
            if until.is_some_and(|until| until < moment) {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low
    }

    fn must_write(&self) -> Result<(), JournalError> {
        match self.access {
            Access::Writing(_) => Ok(()),
            Access::Reading { .. } => {
                Err(JournalError::Misfit { why: "it is open for reading only".into() })
            }
        }
    }

    /// After a commit: folds the log when it has grown long and nobody reads.
    fn grown_by(&mut self, bytes: usize) {
        let Access::Writing(writing) = &self.access else {
            return;
        };
        if self.gate_is_shut {
            writing.open_gate();
            self.gate_is_shut = false;
        }
        self.unfolded += bytes as u64 + COMMIT_OVERHEAD;
        if self.unfolded < FOLD_AT || !writing.shut_gate() {
            return;
        }
        match self.tables.fold() {
            Fold::Done => self.unfolded = 0,
            // On a full or failing disk: not with every commit again.
            Fold::Unfinished => self.unfolded = FOLD_AT / 2,
            Fold::NotBegunAnew => {
                self.unfolded = 0;
                self.gate_is_shut = true;
                return;
            }
        }
        writing.open_gate();
    }
}

/// Closing folds the log and leaves one file, unless somebody reads.
impl Drop for Store {
    fn drop(&mut self) {
        if let Access::Writing(writing) = &self.access
            && !self.gate_is_shut
            && !writing.shut_gate()
        {
            self.tables.leave_log();
        }
    }
}

/// The end as the last row tells it. What a damaged row says of numbers is still the best there is,
/// but the time comes from the last sound one: a wrong one would set the watch's clock.
fn find_tip(tables: &Tables, seed: u64) -> rusqlite::Result<Tip> {
    let Some(last) = tables.row_up_to(LAST)? else {
        return Ok(Tip::of_nothing(seed));
    };
    let mut sound = Some(last.clone());
    for _ in 0..MAX_STEPS_BACK {
        match sound {
            Some(row) if !row.is_sound() => {
                sound = tables.row_up_to(row.first.saturating_sub(1))?;
            }
            Some(_) | None => break,
        }
    }
    let known = sound.filter(Row::is_sound).map(|row| row.tip());
    Ok(Tip {
        next: last.first + last.count.clamp(1, MAX_ENTRIES as u64),
        sum: last.sum,
        ..known.unwrap_or_else(|| Tip::of_nothing(seed))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::journal::record::{DiaryLine, Entry};
    use crate::sensor::packet::{Packet, Payload};
    use crate::watch::event::Event;

    #[test]
    fn a_block_refused_for_want_of_room_is_taken_once_there_is_some() {
        let folder = tempfile::tempdir().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        store.append(&block(1, 50)).unwrap();
        store.tables.allow_pages(store.tables.pages() + 2);
        let refused = block(2, 6_000);
        for _ in 0..3 {
            assert_eq!(
                store.append(&refused),
                Err(JournalError::DiskFull { folder: folder.path().to_owned() })
            );
        }
        assert_eq!(read(&store), [block(1, 50)]);
        store.tables.allow_pages(1 << 20);
        store.append(&refused).unwrap();
        assert_eq!(read(&store), [block(1, 50), refused.clone()]);
        drop(store);
        let store = Store::open(folder.path()).unwrap();
        assert_eq!(read(&store), [block(1, 50), refused]);
    }

    #[test]
    fn the_log_is_folded_and_written_over_while_nobody_reads() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join(FILE);
        let mut store = Store::open(folder.path()).unwrap();
        let mut longest = 0;
        for no in 1..=60 {
            store.append(&block(no, 60_000)).unwrap();
            longest = longest.max(size(&log_of(&file)));
        }
        assert!(longest < 2 * FOLD_AT, "the log grew to {longest} bytes");
        assert!(size(&file) > 2 * FOLD_AT, "the file never grew");
        assert!(!store.gate_is_shut);
        assert_eq!(read(&store).len(), 60);
    }

    #[test]
    fn a_reader_keeps_the_log_from_being_folded_and_sees_the_journal_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join(FILE);
        let mut store = Store::open(folder.path()).unwrap();
        store.append(&block(1, 60_000)).unwrap();
        let before = size(&file);
        let reader = Store::open_read_only(folder.path()).unwrap();
        for no in 2..=60 {
            store.append(&block(no, 60_000)).unwrap();
        }
        assert_eq!(size(&file), before, "pages moved under the reader");
        assert_eq!(read(&reader), [block(1, 60_000)]);
        drop(reader);
        store.append(&block(61, 60_000)).unwrap();
        assert!(size(&file) > 2 * FOLD_AT, "the log was not folded");
        let reader = Store::open_read_only(folder.path()).unwrap();
        assert_eq!(read(&reader).len(), 61);
        // Closing the writer leaves the log to the reader, and nothing is lost by it.
        store.append(&block(62, 10)).unwrap();
        drop(store);
        assert!(size(&log_of(&file)) > 0);
        assert_eq!(read(&reader).len(), 61);
        drop(reader);
        assert_eq!(read(&Store::open(folder.path()).unwrap()).len(), 62);
    }

    /// The log is written over from its beginning by the first commit after a fold, which must not
    /// be one that a reader could have come before.
    #[test]
    fn a_reader_who_comes_right_after_a_fold_is_not_disturbed_by_the_next_commits() {
        let folder = tempfile::tempdir().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        let mut no = 0;
        let mut append = |store: &mut Store| {
            no += 1;
            store.append(&block(no, 30_000)).unwrap();
            no
        };
        let mut before = 0;
        while store.unfolded >= before {
            before = store.unfolded;
            append(&mut store);
        }
        assert_eq!(store.unfolded, 0, "this was no fold");
        let reader = Store::open_read_only(folder.path()).unwrap();
        let last = (0..5).map(|_| append(&mut store)).last();
        let seen = read(&reader);
        assert_eq!(Some(seen.len() as u64 + 5), last);
        assert!((1..).zip(seen).all(|(no, seen)| seen == block(no, 30_000)));
    }

    #[test]
    fn a_fold_that_cannot_begin_the_log_anew_shuts_the_gate_until_the_next_commit() {
        let folder = tempfile::tempdir().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        store.append(&block(1, 50)).unwrap();
        let Access::Writing(writing) = &store.access else { unreachable!("opened for writing") };
        assert!(writing.shut_gate());
        store.gate_is_shut = true;
        let gate = fs::File::open(folder.path().join("journal.gate")).unwrap();
        assert!(gate.try_lock_shared().is_err());
        store.append(&block(2, 50)).unwrap();
        assert!(gate.try_lock_shared().is_ok());
    }

    #[test]
    fn a_diary_is_read_from_any_moment() {
        let folder = tempfile::tempdir().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        assert_eq!(store.diary(Moment::default()).count(), 0);
        for no in 1..=40 {
            store.append(&block(no, 20)).unwrap();
        }
        for from in 0..=42 {
            let told: Vec<u64> =
                store.diary(Moment::from_seconds(from)).map(|line| line.unwrap().entry).collect();
            let due: Vec<u64> = (from.max(1).cast_unsigned()..=40).collect();
            assert_eq!(told, due, "from second {from}");
        }
    }

    #[test]
    fn the_time_of_the_last_sound_row_is_believed_not_that_of_a_damaged_one() {
        let folder = tempfile::tempdir().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        store.append(&block(1, 20)).unwrap();
        let mut row = Row::pack(&block(2, 20), &store.tip).unwrap();
        row.until = Moment::from_seconds(99_999_999_999);
        store.tables.append(&row).unwrap();
        drop(store);
        let mut store = Store::open(folder.path()).unwrap();
        assert_eq!(store.last_moment(), Some(Moment::from_seconds(1)));
        assert_eq!(store.next_entry(), 3);
        store.append(&block(3, 20)).unwrap();
        assert_eq!(read(&store), [block(1, 20), block(3, 20)]);
    }

    fn size(file: &Path) -> u64 {
        fs::metadata(file).map_or(0, |file| file.len())
    }

    fn read(store: &Store) -> Vec<Block> {
        let mut blocks = Vec::new();
        store
            .read(0, &mut |block| {
                blocks.push(block);
                ControlFlow::Continue(())
            })
            .unwrap();
        blocks
    }

    /// One packet of `bytes` that do not deflate, one line of diary, at second `no`.
    fn block(no: u64, bytes: usize) -> Block {
        let at = Moment::from_seconds(no.cast_signed());
        let mut noise = no;
        let payload = std::iter::repeat_with(|| {
            noise = noise.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            b' ' + (noise >> 33) as u8 % 94
        });
        Block {
            first: no,
            entries: vec![Entry {
                no,
                at,
                event: Event::Packet(Packet {
                    topic: "yard/tail/t-07/state".into(),
                    payload: Payload(payload.take(bytes).collect()),
                    retained: false,
                }),
            }],
            diary: vec![DiaryLine { entry: no, at, text: "dam 114 tail raised".into() }],
            digest: format!("{no:016x}"),
        }
    }
}
