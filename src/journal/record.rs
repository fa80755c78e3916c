//! An entry, a diary line, a block of both, and how a block becomes one row and back.
//!
//! The body of a row is deflated JSON, one entry a line as `[milliseconds since the one before,
//! event]`, an empty line, then the diary as `[entries after the first, milliseconds after the
//! first, text]`. JSON so that a person with common tools can still read it in ten years; a line
//! each and typed so that a season reads fast. The file is not touched here.

use miniz_oxide::{deflate, inflate};

use crate::plain::moment::Moment;
use crate::watch::event::Event;

/// One event at the moment it was stepped. Numbered from 1 without gaps.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    pub no: u64,
    pub at: Moment,
    pub event: Event,
}

/// One line of the diary, without its time stamp.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DiaryLine {
    /// The entry it came of.
    pub entry: u64,
    pub at: Moment,
    pub text: String,
}

/// What is committed together.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Block {
    /// The number of the first entry.
    pub first: u64,
    pub entries: Vec<Entry>,
    pub diary: Vec<DiaryLine>,
    /// Lower-case hex, of the whole diary after this block.
    pub digest: String,
}

/// 64 MiB inflated: 250 of the largest packets taken (256 KiB). More is damage, or a group that
/// should have been cut long before.
pub const MAX_BODY: usize = 64 << 20;

/// A group holds half the broker's window at most; the count of a damaged row is cut to this.
pub const MAX_ENTRIES: usize = 100_000;

/// The largest number that SQLite can give a row.
pub(super) const LAST: u64 = i64::MAX.cast_unsigned();

/// The best there is: a group comes every few seconds, and fewer bytes are fewer pages on the card.
const LEVEL: u8 = 9;

/// Where the journal ends, and what the next row must follow.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Tip {
    /// The number of the next entry.
    pub(super) next: u64,
    /// The latest moment in the journal; `None` in an empty one.
    pub(super) until: Option<Moment>,
    /// The checksum of the last row, or what stands for it before the first.
    pub(super) sum: u32,
    pub(super) digest: String,
}

impl Tip {
    /// Of an empty journal. The seed is where the chain of checksums starts, so that rows of one
    /// farm's journal do not fit into another's.
    pub(super) fn of_nothing(seed: u64) -> Self {
        Self {
            next: 1,
            until: None,
            sum: crc32fast::hash(&seed.to_le_bytes()),
            digest: String::new(),
        }
    }
}

/// A block as its row holds it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Row {
    pub(super) first: u64,
    pub(super) count: u64,
    /// The latest moment up to here: never falls from row to row, so that a time can be looked up.
    pub(super) until: Moment,
    /// The checksum of the row before.
    pub(super) before: u32,
    pub(super) digest: Vec<u8>,
    pub(super) body: Vec<u8>,
    pub(super) sum: u32,
}

impl Row {
    /// The error says in what way the block does not follow `tip`.
    pub(super) fn pack(block: &Block, tip: &Tip) -> Result<Self, String> {
        let Some((head, last)) = block.entries.first().zip(block.entries.last()) else {
            return Err("it has no entries".into());
        };
        if block.first != tip.next {
            return Err(format!("it begins with entry {} where {} is due", block.first, tip.next));
        }
        if block.entries.len() > MAX_ENTRIES {
            return Err(format!("it has more than {MAX_ENTRIES} entries"));
        }
        if let Some((_, entry)) =
            (block.first..).zip(&block.entries).find(|(no, entry)| *no != entry.no)
        {
            return Err(format!("entry {} is out of its order", entry.no));
        }
        let text = write_body(block, head.at).map_err(|error| error.to_string())?;
        if text.len() > MAX_BODY {
            return Err(format!("it is larger than {} MiB", MAX_BODY >> 20));
        }
        let mut row = Self {
            first: block.first,
            count: block.entries.len() as u64,
            until: tip.until.map_or(last.at, |until| until.max(last.at)),
            before: tip.sum,
            digest: unhex(&block.digest).ok_or("its digest is not lower-case hex")?,
            body: deflate::compress_to_vec(&text, LEVEL),
            sum: 0,
        };
        row.sum = row.computed_sum();
        Ok(row)
    }

    /// Whether everything in the row is as it was written.
    pub(super) fn is_sound(&self) -> bool {
        self.computed_sum() == self.sum
    }

    /// The error says what cannot be read; a sound row fails only if it was written by a program
    /// that knew more kinds of event.
    pub(super) fn unpack(&self) -> Result<Block, String> {
        let text = inflate::decompress_to_vec_with_limit(&self.body, MAX_BODY)
            .map_err(|error| format!("it does not inflate: {error}"))?;
        let text = std::str::from_utf8(&text).map_err(|error| error.to_string())?;
        let (entries, base, diary) = read_entries(self.first, text)?;
        if entries.len() as u64 != self.count {
            return Err(format!(
                "it holds {} entries where {} were written",
                entries.len(),
                self.count
            ));
        }
        Ok(Block {
            first: self.first,
            entries,
            diary: read_diary(self.first, base, diary)?,
            digest: hex(&self.digest),
        })
    }

    /// What the row after this one must follow.
    pub(super) fn tip(&self) -> Tip {
        Tip {
            next: self.first.saturating_add(self.count),
            until: Some(self.until),
            sum: self.sum,
            digest: hex(&self.digest),
        }
    }

    fn computed_sum(&self) -> u32 {
        let mut hash = crc32fast::Hasher::new();
        hash.update(&self.first.to_le_bytes());
        hash.update(&self.count.to_le_bytes());
        hash.update(&self.until.millis().to_le_bytes());
        hash.update(&self.before.to_le_bytes());
        hash.update(&(self.digest.len() as u64).to_le_bytes());
        hash.update(&self.digest);
        hash.update(&self.body);
        hash.finalize()
    }
}

// Differences wrap, so that any two moments survive, however far apart.
fn write_body(block: &Block, base: Moment) -> serde_json::Result<Vec<u8>> {
    let mut text = Vec::with_capacity(block.entries.len() * 128);
    let mut before = Moment::default();
    for entry in &block.entries {
        let later = entry.at.millis().wrapping_sub(before.millis());
        serde_json::to_writer(&mut text, &(later, &entry.event))?;
        text.push(b'\n');
        before = entry.at;
    }
    for line in &block.diary {
        let after = line.entry.wrapping_sub(block.first);
        let later = line.at.millis().wrapping_sub(base.millis());
        text.push(b'\n');
        serde_json::to_writer(&mut text, &(after, later, &line.text))?;
    }
    Ok(text)
}

fn read_entries(first: u64, text: &str) -> Result<(Vec<Entry>, Moment, &str), String> {
    let mut entries = Vec::new();
    let mut before = Moment::default();
    let mut rest = text;
    while let Some((line, after)) = rest.split_once('\n') {
        rest = after;
        if line.is_empty() {
            break;
        }
        let no = first.saturating_add(entries.len() as u64);
        let (later, event): (i64, Event) = serde_json::from_str(line)
            .map_err(|error| format!("entry {no} cannot be understood: {error}"))?;
        before = Moment::from_millis(before.millis().wrapping_add(later));
        entries.push(Entry { no, at: before, event });
    }
    let base = entries.first().map_or(before, |entry| entry.at);
    Ok((entries, base, rest))
}

fn read_diary(first: u64, base: Moment, text: &str) -> Result<Vec<DiaryLine>, String> {
    text.lines()
        .map(|line| {
            let (after, later, text): (u64, i64, String) = serde_json::from_str(line)
                .map_err(|error| format!("a diary line cannot be understood: {error}"))?;
            Ok(DiaryLine {
                entry: first.wrapping_add(after),
                at: Moment::from_millis(base.millis().wrapping_add(later)),
                text,
            })
        })
        .collect()
}

fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .flat_map(|byte| [byte >> 4, byte & 15])
        .filter_map(|half| char::from_digit(u32::from(half), 16))
        .collect()
}

fn unhex(text: &str) -> Option<Vec<u8>> {
    let half = |byte: u8| match byte {
        b'0'..=b'9' => Some(byte - b'0'),
        b'a'..=b'f' => Some(byte - b'a' + 10),
        _ => None,
    };
    let (pairs, rest) = text.as_bytes().as_chunks::<2>();
    if !rest.is_empty() {
        return None;
    }
    pairs.iter().map(|[high, low]| Some(half(*high)? << 4 | half(*low)?)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{NamedText, SettingsText};
    use crate::sensor::packet::{Packet, Payload};
    use crate::watch::event::ClockState;

    #[test]
    fn a_block_comes_back_from_its_row_as_it_was() {
        let tip = Tip {
            next: 41,
            until: Some(Moment::from_millis(5_000)),
            sum: 7,
            digest: String::new(),
        };
        let row = Row::pack(&night(), &tip).unwrap();
        assert!(row.is_sound());
        assert_eq!(row.unpack(), Ok(night()));
        assert_eq!(row.before, 7);
        assert_eq!(
            row.tip(),
            Tip {
                next: 45,
                until: Some(Moment::from_millis(1_795_572_300_120)),
                sum: row.sum,
                digest: "00ff3a".into(),
            }
        );
    }

    #[test]
    fn a_row_with_any_field_changed_is_not_sound() {
        type Change = fn(&mut Row);
        let changes: [Change; 7] = [
            |r| r.first += 1,
            |r| r.count += 1,
            |r| r.until = Moment::from_millis(0),
            |r| r.before ^= 1,
            |r| r.digest[0] ^= 0x10,
            |r| r.body[9] ^= 1,
            |r| r.sum ^= 1,
        ];
        for (number, change) in changes.into_iter().enumerate() {
            let mut row = Row::pack(&night(), &tip()).unwrap();
            change(&mut row);
            assert!(!row.is_sound(), "change {number}");
        }
    }

    #[test]
    fn any_byte_of_a_body_can_be_damaged_without_a_panic() {
        let whole = Row::pack(&night(), &tip()).unwrap();
        for at in 0..whole.body.len() {
            for flip in [1, 0x80, 0xff] {
                let mut row = whole.clone();
                row.body[at] ^= flip;
                assert!(!row.is_sound(), "byte {at} flipped by {flip:#x}");
                drop(row.unpack());
            }
        }
    }

    #[test]
    fn a_block_that_does_not_follow_is_refused_with_the_reason() {
        type Change = fn(&mut Block);
        let changes: [(Change, &str); 4] = [
            (|b| b.entries.clear(), "it has no entries"),
            (|b| b.first = 40, "it begins with entry 40 where 41 is due"),
            (|b| b.entries[2].no = 44, "entry 44 is out of its order"),
            (|b| b.digest = "00FF".into(), "its digest is not lower-case hex"),
        ];
        for (change, why) in changes {
            let mut block = night();
            change(&mut block);
            assert_eq!(Row::pack(&block, &tip()), Err(why.into()));
        }
    }

    #[test]
    fn a_row_with_an_event_of_a_later_program_says_which_entry() {
        let text = b"[5,\"woke\"]\n[5,{\"flood\":1}]\n";
        let mut row = Row::pack(&night(), &tip()).unwrap();
        row.body = deflate::compress_to_vec(text, LEVEL);
        let why = row.unpack().unwrap_err();
        assert!(why.starts_with("entry 42 cannot be understood: unknown variant `flood`"), "{why}");
    }

    #[test]
    fn hex_is_read_as_it_is_written() {
        let all: Vec<u8> = (0..=255).collect();
        assert_eq!(unhex(&hex(&all)), Some(all));
        for wrong in ["0", "0g", "0G", "zz", "é"] {
            assert_eq!(unhex(wrong), None, "{wrong}");
        }
    }

    fn tip() -> Tip {
        Tip { next: 41, ..Tip::of_nothing(0x5eed) }
    }

    fn night() -> Block {
        let at = Moment::from_millis(1_795_572_300_120);
        let packet = |payload: &[u8]| {
            Event::Packet(Packet {
                topic: "yard/tail/t-07/state".into(),
                payload: Payload(payload.to_vec()),
                retained: false,
            })
        };
        let events = [
            packet(b"{\"efforts\": 3,\n\n \"lift\": 0.4}"),
            Event::Settings(SettingsText {
                files: vec![NamedText {
                    name: "farm.toml".into(),
                    text: "[farm]\nname = \"Hollow Bank\"\n".into(),
                }],
            }),
            packet(b"\xff\x00\n"),
            Event::Clock(ClockState::About),
        ];
        let entries = (41..).zip(events).map(|(no, event)| Entry { no, at, event }).collect();
        let line = |entry, at, text: &str| DiaryLine { entry, at, text: text.into() };
        Block {
            first: 41,
            entries,
            diary: vec![
                line(41, at, "dam 114 enters second stage"),
                line(44, Moment::from_millis(3), "two\nlines, Zoë"),
            ],
            digest: "00ff3a".into(),
        }
    }
}
