//! Walking through the journal row by row: what is sound comes out as a block, what is not as damage.
//!
//! It never stops at a bad row and never repairs one.

use std::collections::VecDeque;
use std::vec;

use crate::plain::moment::Moment;

use super::failure::{Damage, JournalError, is_corrupt};
use super::record::{Block, DiaryLine, LAST, Row};
use super::tables::Tables;

/// Blocks in order; a damaged row is `Err(Damaged)` in its place and the walk goes on, any other
/// error ends it.
pub(super) struct Blocks<'s> {
    tables: &'s Tables,
    /// No row that begins before this is still to come.
    from: u64,
    fetched: VecDeque<Row>,
    ready: VecDeque<Result<Block, JournalError>>,
    /// What the next row must follow: entry number and checksum. `None` where that is not known.
    link: Option<(u64, u32)>,
    ended: bool,
}

impl<'s> Blocks<'s> {
    /// Begins with the row that begins at `from` or next after it. From the very beginning, the
    /// first row must follow the seed.
    pub(super) fn begin(tables: &'s Tables, from: u64, link: Option<(u64, u32)>) -> Self {
        Self { tables, from, fetched: VecDeque::new(), ready: VecDeque::new(), link, ended: false }
    }

    fn fetch(&mut self) -> Result<(), JournalError> {
        match self.tables.rows_from(self.from) {
            Ok(rows) => {
                self.ended = rows.is_empty();
                if let Some(last) = rows.back() {
                    self.from = last.first.saturating_add(1);
                }
                self.fetched = rows;
                Ok(())
            }
            Err(error) if is_corrupt(&error) => {
                self.leap(&error);
                Ok(())
            }
            Err(error) => Err(self.tables.failed("reading the journal", &error)),
        }
    }

    /// Over pages that SQLite cannot read, to the next row it can: ever longer strides, then back
    /// to where they became readable.
    fn leap(&mut self, error: &rusqlite::Error) {
        let damage =
            Damage { row: self.from, why: format!("the file cannot be read here: {error}") };
        self.ready.push_back(Err(JournalError::Damaged(damage)));
        self.link = None;
        let reads = |at| self.tables.row_at_or_after(at).is_ok();
        let (mut bad, mut stride) = (self.from, 1);
        let mut good = loop {
            if bad >= LAST {
                self.ended = true;
                return;
            }
            let there = bad.saturating_add(stride).min(LAST);
            if reads(there) {
                break there;
            }
            bad = there;
            stride = stride.saturating_mul(2);
        };
        while good - bad > 1 {
            let middle = bad + (good - bad) / 2;
            if reads(middle) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        self.from = good;
    }

    fn judge(&mut self, row: &Row) {
        if let Some((next, sum)) = self.link {
            if row.first > next {
                self.damaged(next, format!("entries {next} to {} are missing", row.first - 1));
            } else if row.first < next {
                self.damaged(row.first, "its numbers were given before".into());
            } else if row.before != sum {
                self.damaged(
                    row.first,
                    "it does not follow the row before it, which was taken out or changed".into(),
                );
            }
        }
        if row.is_sound() {
            let tip = row.tip();
            self.link = Some((tip.next, tip.sum));
            match row.unpack() {
                Ok(block) => self.ready.push_back(Ok(block)),
                Err(why) => self.damaged(row.first, why),
            }
        } else {
            self.link = None;
            self.damaged(row.first, "its checksum does not fit what is in it".into());
        }
    }

    fn damaged(&mut self, row: u64, why: String) {
        self.ready.push_back(Err(JournalError::Damaged(Damage { row, why })));
    }
}

impl Iterator for Blocks<'_> {
    type Item = Result<Block, JournalError>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            if let Some(ready) = self.ready.pop_front() {
                return Some(ready);
            }
            if let Some(row) = self.fetched.pop_front() {
                self.judge(&row);
            } else if self.ended {
                return None;
            } else if let Err(error) = self.fetch() {
                self.ended = true;
                return Some(Err(error));
            }
        }
    }
}

/// The diary's lines in order, from a moment on. A damaged row is `Err(Damaged)` in its place and
/// the lines behind it follow; any other error ends it.
pub struct Diary<'s> {
    blocks: Blocks<'s>,
    from: Moment,
    lines: vec::IntoIter<DiaryLine>,
}

impl<'s> Diary<'s> {
    pub(super) fn begin(blocks: Blocks<'s>, from: Moment) -> Self {
        Self { blocks, from, lines: Vec::new().into_iter() }
    }
}

impl Iterator for Diary<'_> {
    type Item = Result<DiaryLine, JournalError>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            if let Some(line) = self.lines.find(|line| line.at >= self.from) {
                return Some(Ok(line));
            }
            match self.blocks.next()? {
                Ok(block) => self.lines = block.diary.into_iter(),
                Err(error) => return Some(Err(error)),
            }
        }
    }
}
