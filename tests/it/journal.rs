//! The journal as the rest of the program meets it: what is appended is there again, whatever
//! became of the power, the disk, or the bytes on it.

use std::fs::{self, File};
use std::io::Write;
use std::ops::ControlFlow;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::mpsc;

use lowbell::journal::connect::set_aside;
use lowbell::journal::recover::{self, Tail};
use lowbell::journal::{Block, Damage, DiaryLine, Entry, JournalError, Snapshot, Store};
use lowbell::plain::moment::Moment;
use lowbell::sensor::packet::{Packet, Payload};
use lowbell::watch::event::Event;

#[test]
fn what_is_appended_is_there_again_after_a_restart() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    assert_eq!((store.next_entry(), store.last_moment(), store.digest()), (1, None, ""));
    let blocks = season(30);
    append(&mut store, &blocks);
    let seed = store.seed();
    drop(store);

    let store = Store::open(folder.path()).unwrap();
    assert_eq!(store.seed(), seed);
    assert_eq!(store.next_entry(), 91);
    assert_eq!(store.last_moment(), Some(Moment::from_seconds(90)));
    assert_eq!(store.digest(), blocks[29].digest);
    assert_eq!(read(&store, 0), (blocks.clone(), vec![]));
    assert_eq!(read(&store, 1), (blocks.clone(), vec![]));
    // From the middle of a block on, the block comes whole.
    assert_eq!(read(&store, 44), (blocks[14..].to_vec(), vec![]));
    assert_eq!(read(&store, 90), (blocks[29..].to_vec(), vec![]));

    let other = tempfile::tempdir().unwrap();
    assert_ne!(Store::open(other.path()).unwrap().seed(), seed);
}

#[test]
fn reading_stops_where_it_is_told_to() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    append(&mut store, &season(200));
    let mut seen = 0;
    store
        .read(0, &mut |_| {
            seen += 1;
            if seen == 70 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        })
        .unwrap();
    assert_eq!(seen, 70);
}

#[test]
fn the_file_itself_refuses_to_have_the_journal_changed() {
    let folder = tempfile::tempdir().unwrap();
    append(&mut Store::open(folder.path()).unwrap(), &season(3));
    let raw = raw(folder.path());
    for (sql, refusal) in [
        ("UPDATE block SET body = x'00' WHERE first = 4", "the journal is append only"),
        ("UPDATE block SET first = 40 WHERE first = 4", "the journal is append only"),
        ("DELETE FROM block WHERE first = 7", "the journal is append only"),
        ("DELETE FROM block", "the journal is append only"),
        (
            "INSERT OR REPLACE INTO block SELECT * FROM block WHERE first = 4",
            "the journal is append only",
        ),
        (
            "INSERT INTO block SELECT 5, count, until, before, digest, body, sum FROM block",
            "the journal is append only",
        ),
        ("UPDATE farm SET seed = 1", "the seed is drawn once"),
        ("DELETE FROM farm", "the seed is drawn once"),
    ] {
        assert_eq!(raw.execute(sql, []).unwrap_err().to_string(), refusal, "{sql}");
    }
    drop(raw);
    assert_eq!(read(&Store::open(folder.path()).unwrap(), 0), (season(3), vec![]));
}

#[test]
fn a_second_writer_is_refused_and_a_reader_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    append(&mut store, &season(3));
    let refused = Store::open(folder.path()).err().unwrap();
    assert_eq!(
        refused.to_string(),
        format!(
            "another lowbell (process {}) already keeps its journal in {}; stop that one first, or \
             give this one a folder of its own",
            std::process::id(),
            folder.path().display()
        )
    );
    let mut reader = Store::open_read_only(folder.path()).unwrap();
    assert_eq!(read(&reader, 0), (season(3), vec![]));
    assert!(matches!(reader.append(&season(4)[3]), Err(JournalError::Misfit { .. })));
    store.append(&season(4)[3]).unwrap();
    drop(store);
    assert_eq!(read(&Store::open(folder.path()).unwrap(), 0).0.len(), 4);
}

#[test]
fn a_copy_of_the_file_under_another_name_can_be_read() {
    let folder = tempfile::tempdir().unwrap();
    append(&mut Store::open(folder.path()).unwrap(), &season(3));
    let copy = folder.path().join("100% of last? season#.sqlite");
    fs::copy(folder.path().join("journal.sqlite"), &copy).unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let moved = elsewhere.path().join(copy.file_name().unwrap());
    fs::copy(&copy, &moved).unwrap();
    for place in [copy, moved] {
        let reader = Store::open_read_only(&place).unwrap();
        assert_eq!(read(&reader, 0), (season(3), vec![]));
    }
    let left: Vec<_> = fs::read_dir(elsewhere.path()).unwrap().collect();
    assert_eq!(left.len(), 1, "reading made files: {left:?}");
}

#[test]
fn what_is_no_journal_is_said_to_be_none() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("journal.sqlite");
    assert_eq!(
        Store::open_read_only(folder.path()).err(),
        Some(JournalError::Missing { file: file.clone() })
    );
    fs::write(&file, "# the farm's settings\n".repeat(100)).unwrap();
    for opened in [Store::open(folder.path()), Store::open_read_only(folder.path())] {
        assert_eq!(
            opened.err().unwrap().to_string(),
            format!(
                "the journal {} cannot be read (file is not a database); move it to another name, \
                 keep it for us, and start again",
                file.display()
            )
        );
    }
    let aside = set_aside(folder.path()).unwrap();
    assert_eq!(aside, folder.path().join("journal.broken-1.sqlite"));
    append(&mut Store::open(folder.path()).unwrap(), &season(1));
    assert!(fs::read_to_string(&aside).unwrap().starts_with("# the farm"));
    assert_eq!(set_aside(folder.path()).unwrap(), folder.path().join("journal.broken-2.sqlite"));
}

#[test]
fn a_journal_of_a_later_program_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    append(&mut Store::open(folder.path()).unwrap(), &season(1));
    raw(folder.path()).execute_batch("PRAGMA user_version = 77").unwrap();
    for opened in [Store::open(folder.path()), Store::open_read_only(folder.path())] {
        assert!(matches!(opened.err(), Some(JournalError::Newer { found: 77, .. })));
    }
}

#[test]
fn whoever_reads_while_it_is_written_sees_a_beginning_of_it_and_no_damage() {
    let folder = tempfile::tempdir().unwrap();
    let blocks = season(1_500);
    let mut store = Store::open(folder.path()).unwrap();
    // The writer can be ten commits ahead of what the reader has been told, so that most of its
    // commits, and its folds, fall between two readings and some into one.
    let (committed, news) = mpsc::sync_channel(10);
    std::thread::scope(|scope| {
        // Dropped here if a check fails, so that the writer does not wait for ever.
        let news = news;
        let (store, blocks) = (&mut store, &blocks);
        scope.spawn(move || {
            for block in blocks {
                store.append(block).unwrap();
                committed.send(()).unwrap();
            }
        });
        let (mut told, mut seen) = (0, 0);
        while seen < blocks.len() {
            told += news.iter().take(70).count();
            let reader = Store::open_read_only(folder.path()).unwrap();
            let (read, damages) = read(&reader, 0);
            assert_eq!(damages, []);
            assert!(read.len() >= seen.max(told), "{} after {told}", read.len());
            assert!(read == blocks[..read.len()]);
            seen = read.len();
        }
    });
    let file = fs::metadata(folder.path().join("journal.sqlite")).unwrap();
    assert!(file.len() > 100_000, "the log was never folded meanwhile");
}

/// What a power cut leaves of the log: any part of its end missing, or never written. The length
/// of the log after each commit says exactly how many commits each part must still hold.
#[test]
fn a_log_cut_anywhere_loses_only_what_was_not_yet_committed() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("journal.sqlite-wal");
    let mut store = Store::open(folder.path()).unwrap();
    let blocks = season(24);
    let ends: Vec<u64> = blocks
        .iter()
        .map(|block| {
            store.append(block).unwrap();
            fs::metadata(&log).unwrap().len()
        })
        .collect();
    let file = fs::read(folder.path().join("journal.sqlite")).unwrap();
    let whole = fs::read(&log).unwrap();
    assert!(whole.len() > 24 * 512);
    let cuts = (0..whole.len()).step_by(512).chain([whole.len()]);
    for cut in cuts {
        let kept = ends.iter().filter(|end| **end <= cut as u64).count();
        let mut blank = whole[..cut].to_vec();
        blank.resize(whole.len(), 0);
        for left in [&whole[..cut], &blank] {
            let crashed = tempfile::tempdir().unwrap();
            fs::write(crashed.path().join("journal.sqlite"), &file).unwrap();
            fs::write(crashed.path().join("journal.sqlite-wal"), left).unwrap();
            let mut store = Store::open(crashed.path()).unwrap();
            assert_eq!(read(&store, 0), (blocks[..kept].to_vec(), vec![]), "cut at byte {cut}");
            append(&mut store, &blocks[kept..]);
            drop(store);
            let store = Store::open(crashed.path()).unwrap();
            assert_eq!(read(&store, 0), (blocks.clone(), vec![]));
        }
    }
}

#[test]
fn a_damaged_row_is_told_of_and_the_rest_is_read() {
    let blocks = season(9);
    let without = |gone: &[usize]| -> Vec<Block> {
        let kept = blocks.iter().enumerate();
        kept.filter(|(at, _)| !gone.contains(at)).map(|(_, block)| block.clone()).collect()
    };
    let unsound = |row| damage(row, "its checksum does not fit what is in it");
    for (sql, damages, kept) in [
        (
            "UPDATE block SET body = substr(body, 1, 20) || x'aa' || substr(body, 22) WHERE first = 10",
            vec![unsound(10)],
            without(&[3]),
        ),
        ("UPDATE block SET sum = sum + 1 WHERE first = 10", vec![unsound(10)], without(&[3])),
        (
            "UPDATE block SET count = -1, until = 'never', digest = 'x' WHERE first = 10",
            vec![unsound(10)],
            without(&[3]),
        ),
        (
            "DELETE FROM block WHERE first IN (10, 13)",
            vec![damage(10, "entries 10 to 15 are missing")],
            without(&[3, 4]),
        ),
        (
            "DELETE FROM block WHERE first = 1",
            vec![damage(1, "entries 1 to 3 are missing")],
            without(&[0]),
        ),
        (
            "CREATE TEMP TABLE swapped AS SELECT 23 - first AS first, body FROM block;
             UPDATE block SET body = (SELECT s.body FROM swapped s WHERE s.first = block.first)
               WHERE first IN (10, 13);",
            vec![unsound(10), unsound(13)],
            without(&[3, 4]),
        ),
        ("UPDATE block SET body = x'00'", (1..=9).map(|no| unsound(no * 3 - 2)).collect(), vec![]),
    ] {
        let folder = tempfile::tempdir().unwrap();
        append(&mut Store::open(folder.path()).unwrap(), &blocks);
        let raw = raw(folder.path());
        raw.execute_batch("DROP TRIGGER block_stays; DROP TRIGGER block_is_kept;").unwrap();
        raw.execute_batch(sql).unwrap();
        drop(raw);

        let mut store = Store::open(folder.path()).unwrap();
        assert_eq!(read(&store, 0), (kept.clone(), damages.clone()), "{sql}");
        let lines: Vec<_> = store.diary(Moment::default()).collect();
        let told = lines.iter().filter(|line| line.is_err()).count();
        assert_eq!((told, lines.len() - told), (damages.len(), kept.len()));
        let next = season(10).pop().unwrap();
        store.append(&next).unwrap();
        assert_eq!(read(&store, 28), (vec![next], vec![]));
    }
}

#[test]
fn a_row_from_another_farms_journal_is_noticed() {
    let (ours, theirs) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    append(&mut Store::open(ours.path()).unwrap(), &season(3));
    append(&mut Store::open(theirs.path()).unwrap(), &season(3));
    let raw = raw(ours.path());
    raw.execute_batch("DROP TRIGGER block_stays; DROP TRIGGER block_is_kept;").unwrap();
    raw.execute("ATTACH ?1 AS theirs", [theirs.path().join("journal.sqlite").to_str()]).unwrap();
    raw.execute_batch(
        "DELETE FROM block WHERE first = 7;
         INSERT INTO block SELECT * FROM theirs.block WHERE first = 7;",
    )
    .unwrap();
    drop(raw);
    let why = "it does not follow the row before it, which was taken out or changed";
    assert_eq!(read(&Store::open(ours.path()).unwrap(), 0), (season(3), vec![damage(7, why)]));
}

/// Each page of the file in turn is overwritten, as a worn card does it.
#[test]
fn any_page_can_be_lost_without_a_false_word_in_what_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let blocks = season(120);
    append(&mut Store::open(folder.path()).unwrap(), &blocks);
    let whole = fs::read(folder.path().join("journal.sqlite")).unwrap();
    let (mut opened, mut refused, mut some_lost) = (0, 0, 0);
    for page in 0..whole.len() / 512 {
        let worn = tempfile::tempdir().unwrap();
        let mut bytes = whole.clone();
        bytes[page * 512..(page + 1) * 512].fill(0xa5);
        fs::write(worn.path().join("journal.sqlite"), bytes).unwrap();
        for store in [Store::open_read_only(worn.path()), Store::open(worn.path())] {
            let store = match store {
                Ok(store) => store,
                Err(JournalError::Broken { .. }) => {
                    refused += 1;
                    continue;
                }
                Err(other) => panic!("page {page}: {other}"),
            };
            opened += 1;
            let (kept, damages) = read(&store, 0);
            assert!(kept.iter().is_sorted_by_key(|block| block.first));
            assert!(kept.iter().all(|block| blocks.contains(block)), "page {page}");
            // A page of the table holds two rows; above those there is one page for all of them.
            let lost = blocks.len() - kept.len();
            assert!(lost <= 2 || kept.is_empty(), "page {page} took {lost} blocks");
            assert_eq!(lost > 0, !damages.is_empty(), "page {page}: {damages:?}");
            some_lost += usize::from(lost > 0);
        }
    }
    assert!(some_lost > 100, "{some_lost} of {opened} lost anything");
    assert!(refused < 20, "{refused} refused, {opened} opened");
}

#[test]
fn a_full_disk_is_told_and_the_same_block_goes_in_once_there_is_room() {
    let Some(disk) = SmallDisk::mounted("1m") else {
        // Only root can mount. The store's own test of a full disk needs no mount and always runs.
        return;
    };
    let data = disk.path.join("data");
    let mut store = Store::open(&data).unwrap();
    let blocks = season(200);
    append(&mut store, &blocks[..10]);
    disk.fill();
    // The log's last page may have room left for a few.
    let full = blocks[10..].iter().position(|block| store.append(block).is_err()).unwrap() + 10;
    let told = format!(
        "the disk that holds {} is full; nothing new can be kept until space is freed there",
        data.display()
    );
    for _ in 0..3 {
        let refusal = store.append(&blocks[full]).unwrap_err();
        assert_eq!(refusal.to_string(), told);
    }
    assert_eq!(read(&store, 0), (blocks[..full].to_vec(), vec![]));
    // A restart on the full disk loses nothing and is told the same.
    drop(store);
    let mut store = Store::open(&data).unwrap();
    assert_eq!(read(&store, 0), (blocks[..full].to_vec(), vec![]));
    let refusal = store.append(&blocks[full]).unwrap_err();
    assert_eq!(refusal.to_string(), told);

    disk.free();
    append(&mut store, &blocks[full..]);
    drop(store);
    let store = Store::open(&data).unwrap();
    assert_eq!(read(&store, 0), (blocks, vec![]));
}

#[test]
fn a_log_that_cannot_be_folded_on_a_full_disk_loses_nothing() {
    let Some(disk) = SmallDisk::mounted("8m") else {
        return;
    };
    let data = disk.path.join("data");
    let mut store = Store::open(&data).unwrap();
    let blocks = season(3_000);
    // A reader has the log grow long. When he has gone it is folded, and written over in place.
    let reader = Store::open_read_only(&data).unwrap();
    append(&mut store, &blocks[..1_000]);
    drop(reader);
    append(&mut store, &blocks[1_000..1_001]);
    let file = data.join("journal.sqlite");
    let folded = fs::metadata(&file).unwrap().len();
    assert!(folded > 100_000, "never folded: {folded}");
    disk.fill();
    // Over the length of the old log there is room, but none for the file that it is folded into.
    let full =
        blocks[1_001..].iter().position(|block| store.append(block).is_err()).unwrap() + 1_001;
    assert!(full > 1_900, "refused at {full}");
    let reader = Store::open_read_only(&data).unwrap();
    assert!(read(&reader, 0) == (blocks[..full].to_vec(), vec![]));
    drop(reader);
    disk.free();
    append(&mut store, &blocks[full..]);
    assert!(fs::metadata(&file).unwrap().len() > folded);
    drop(store);
    let store = Store::open(&data).unwrap();
    assert!(read(&store, 0) == (blocks, vec![]));
}

#[test]
fn a_disk_that_can_only_be_read_is_told_and_can_be_read() {
    let Some(disk) = SmallDisk::mounted("1m") else {
        return;
    };
    let data = disk.path.join("data");
    append(&mut Store::open(&data).unwrap(), &season(3));
    disk.run("mount", &["-o", "remount,ro"]);
    assert_eq!(Store::open(&data).err().unwrap(), JournalError::ReadOnly { folder: data.clone() });
    let reader = Store::open_read_only(&data).unwrap();
    assert_eq!(read(&reader, 0), (season(3), vec![]));
}

#[test]
fn two_snapshots_are_kept_and_the_newest_sound_one_is_used() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    append(&mut store, &season(9));
    for entry in [3, 6, 12, 9] {
        store.save_snapshot(&snapshot(2, entry)).unwrap();
    }
    assert_eq!(store.latest_snapshot(2), Ok(Some(snapshot(2, 12))));
    assert_eq!(store.latest_snapshot(1), Ok(None));
    drop(store);

    let raw = raw(folder.path());
    let kept = "SELECT group_concat(entry) FROM (SELECT entry FROM snapshot ORDER BY entry)";
    let kept: String = raw.query_row(kept, [], |row| row.get(0)).unwrap();
    assert_eq!(kept, "9,12");
    let spoil = "UPDATE snapshot SET body = substr(body, 1, 9) || x'00' WHERE entry = ?1";
    raw.execute(spoil, [12]).unwrap();
    drop(raw);
    let store = Store::open(folder.path()).unwrap();
    assert_eq!(store.latest_snapshot(2), Ok(Some(snapshot(2, 9))));
    drop(store);
    self::raw(folder.path()).execute(spoil, [9]).unwrap();
    let store = Store::open(folder.path()).unwrap();
    assert_eq!(store.latest_snapshot(2), Ok(None));
}

#[test]
fn a_snapshot_that_is_ahead_of_the_journal_is_passed_over() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    append(&mut store, &season(2));
    store.save_snapshot(&snapshot(2, 6)).unwrap();
    store.save_snapshot(&snapshot(2, 7)).unwrap();
    assert_eq!(store.latest_snapshot(2), Ok(Some(snapshot(2, 6))));
}

#[test]
fn the_state_is_taken_up_from_the_snapshot_and_the_entries_behind_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    append(&mut store, &season(9));
    // Entry 14 is in the middle of a block.
    store.save_snapshot(&snapshot(2, 14)).unwrap();
    for (version, usable, from, first) in
        [(2, true, 14, vec![14]), (2, false, 0, vec![]), (3, true, 0, vec![])]
    {
        let recovered = recover::replay_into(
            &store,
            version,
            |snapshot| usable.then(|| vec![snapshot.entry]),
            Vec::new,
            |state, entry| state.push(entry.no),
        )
        .unwrap();
        let all: Vec<u64> = first.into_iter().chain(from + 1..=27).collect();
        assert_eq!(recovered.state, all);
        assert_eq!(recovered.snapshot, from);
        let tail = Tail { entries: 27 - from, damages: vec![] };
        assert_eq!(recovered.tail, tail);
    }
    let nothing = recover::tail(&store, 27, &mut |entry| panic!("{entry:?}")).unwrap();
    assert_eq!(nothing, Tail::default());
}

fn append(store: &mut Store, blocks: &[Block]) {
    for block in blocks {
        store.append(block).unwrap();
    }
}

fn read(store: &Store, from: u64) -> (Vec<Block>, Vec<Damage>) {
    let mut blocks = Vec::new();
    let damages = store
        .read(from, &mut |block| {
            blocks.push(block);
            ControlFlow::Continue(())
        })
        .unwrap();
    (blocks, damages)
}

/// The file as any other program opens it.
fn raw(folder: &Path) -> rusqlite::Connection {
    rusqlite::Connection::open(folder.join("journal.sqlite")).unwrap()
}

fn damage(row: u64, why: &str) -> Damage {
    Damage { row, why: why.into() }
}

fn snapshot(version: u32, entry: u64) -> Snapshot {
    Snapshot {
        version,
        entry,
        digest: format!("{entry:04x}"),
        state: format!("{{\"dams\":{{\"114\":\"second\",\"207\":{entry}}}}}").repeat(90),
    }
}

/// Blocks of three packets and one line of diary; entry n is heard in second n.
fn season(blocks: u64) -> Vec<Block> {
    let packet = |no: u64| {
        let payload = format!("{{\"efforts\":{},\"volt\":3.{}}}", no % 7, no * 37 % 1000);
        Event::Packet(Packet {
            topic: format!("yard/tail/t-{:02}/state", no * 13 % 100),
            payload: Payload(payload.into_bytes()),
            retained: no.is_multiple_of(5),
        })
    };
    (0..blocks)
        .map(|block| {
            let first = block * 3 + 1;
            let entries = (first..first + 3).map(|no| Entry {
                no,
                at: Moment::from_seconds(no.cast_signed()),
                event: packet(no),
            });
            Block {
                first,
                entries: entries.collect(),
                diary: vec![DiaryLine {
                    entry: first + 1,
                    at: Moment::from_seconds(first.cast_signed() + 1),
                    text: format!("dam {} tail raised", 100 + block),
                }],
                digest: format!("{:064x}", first * 7_919),
            }
        })
        .collect()
}

/// A disk of a few mebibytes, gone when dropped.
struct SmallDisk {
    path: PathBuf,
    _folder: tempfile::TempDir,
}

impl SmallDisk {
    /// `None` for anyone but root. Root is expected to be able to.
    fn mounted(size: &str) -> Option<Self> {
        let user = fs::metadata("/proc/self").unwrap().uid();
        if user != 0 {
            return None;
        }
        let folder = tempfile::tempdir().unwrap();
        let disk = Self { path: folder.path().to_owned(), _folder: folder };
        let size = format!("size={size}");
        disk.run("mount", &["-t", "tmpfs", "-o", &size, "small-disk"]);
        Some(disk)
    }

    fn run(&self, program: &str, arguments: &[&str]) {
        let done = Command::new(program).args(arguments).arg(&self.path).output().unwrap();
        assert!(
            done.status.success(),
            "this test needs a small disk of its own, and {program} {arguments:?} was refused: {}",
            String::from_utf8_lossy(&done.stderr)
        );
    }

    fn fill(&self) {
        let mut filler = File::create(self.path.join("filler")).unwrap();
        while filler.write_all(&[0; 4096]).is_ok() {}
    }

    fn free(&self) {
        fs::remove_file(self.path.join("filler")).unwrap();
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        // Lazily, so that it goes even if a failing test still has a file open on it.
        let gone = Command::new("umount").arg("-l").arg(&self.path).status();
        assert!(gone.is_ok_and(|status| status.success()) || std::thread::panicking());
    }
}
