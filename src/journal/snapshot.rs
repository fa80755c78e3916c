//! A snapshot is the whole state after one entry, so that a start need not replay a season.
//!
//! It is a cache: whatever is wrong with one, it is passed over and the journal is replayed from
//! further back. The state is text that only the watch understands.

use miniz_oxide::{deflate, inflate};

/// 64 MiB: a herd of ten thousand takes a few; anything beyond is damage that would eat the memory.
pub const MAX_STATE: usize = 64 << 20;

/// Good compression at a speed that a small machine does not notice.
const LEVEL: u8 = 6;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Snapshot {
    /// The form of `state`: a program of another version passes it over.
    pub version: u32,
    /// The last entry that is in it.
    pub entry: u64,
    /// Of the whole diary up to here.
    pub digest: String,
    pub state: String,
}

impl Snapshot {
    pub(super) fn pack(&self) -> Packed {
        let body = deflate::compress_to_vec(self.state.as_bytes(), LEVEL);
        let sum = sum(self.version, self.entry, &self.digest, &body);
        Packed { version: self.version, entry: self.entry, digest: self.digest.clone(), body, sum }
    }
}

/// A snapshot as its row holds it.
pub(super) struct Packed {
    pub(super) version: u32,
    pub(super) entry: u64,
    pub(super) digest: String,
    pub(super) body: Vec<u8>,
    pub(super) sum: u32,
}

impl Packed {
    /// `None` if anything in it is not as it was written.
    pub(super) fn unpack(self) -> Option<Snapshot> {
        if sum(self.version, self.entry, &self.digest, &self.body) != self.sum {
            return None;
        }
        let state = inflate::decompress_to_vec_with_limit(&self.body, MAX_STATE).ok()?;
        Some(Snapshot {
            version: self.version,
            entry: self.entry,
            digest: self.digest,
            state: String::from_utf8(state).ok()?,
        })
    }
}

fn sum(version: u32, entry: u64, digest: &str, body: &[u8]) -> u32 {
    let mut hash = crc32fast::Hasher::new();
    hash.update(&version.to_le_bytes());
    hash.update(&entry.to_le_bytes());
    hash.update(&(digest.len() as u64).to_le_bytes());
    hash.update(digest.as_bytes());
    hash.update(body);
    hash.finalize()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn snapshot() -> Snapshot {
        Snapshot {
            version: 3,
            entry: 907,
            digest: "ab12".into(),
            state: "{\"dams\":{\"114\":\"second\"}}".repeat(40),
        }
    }

    #[test]
    fn a_snapshot_comes_back_as_it_was() {
        assert_eq!(snapshot().pack().unpack(), Some(snapshot()));
    }

    #[test]
    fn a_snapshot_with_anything_changed_is_not_believed() {
        type Change = fn(&mut Packed);
        let changes: [Change; 5] = [
            |p| p.version += 1,
            |p| p.entry += 1,
            |p| p.digest = "ab13".into(),
            |p| p.body[4] ^= 1,
            |p| p.sum ^= 1,
        ];
        for (number, change) in changes.into_iter().enumerate() {
            let mut packed = snapshot().pack();
            change(&mut packed);
            assert_eq!(packed.unpack(), None, "change {number}");
        }
    }
}
