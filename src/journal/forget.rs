//! Takes a person out of a journal: their name, address and number, wherever they stand in it, and keeps the farm's record.
//!
//! A journal only grows, so a new one is written beside it and takes its place whole. Every entry goes through a watch as
//! it was and through another as it will be, and the new journal is kept only if both did the same: a name must not have
//! been what an alarm hung on.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use serde_json::Value;

use super::connect::log_of;
use super::failure::{JournalError, from_system};
use super::hold::Writing;
use super::record::{Block, DiaryLine, Entry};
use super::store::{FILE, Store};
use crate::config::{self, Config};
use crate::plain::ids::PersonName;
use crate::plain::moment::Moment;
use crate::talk::telephone;
use crate::watch::Watch;
use crate::watch::diary::{Diary, Line};
use crate::watch::event::Event;

/// The new journal is written here, within the data folder.
const BESIDE: &str = "forgetting";
const DOING: &str = "writing the journal without somebody";

/// Who is taken out, and what stands in their place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Forget {
    pub person: PersonName,
    pub called: String,
}

/// What was done, or would be.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Forgotten {
    pub entries: u64,
    /// Entries in which something of them stood.
    pub changed: u64,
    /// The same of the diary's lines.
    pub lines: u64,
}

/// Why nothing was changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kept {
    Journal(JournalError),
    /// Nobody of that name was ever in the settings.
    Unknown,
    /// An animal or a place is called the same.
    AlsoCalled(String),
    /// Somebody is called what is to stand in their place.
    Taken,
    /// A row is damaged: what stands in it could not be taken out.
    Damaged(u64),
    /// From this entry on the watch would have done otherwise.
    Otherwise(u64),
}

impl From<JournalError> for Kept {
    fn from(error: JournalError) -> Self {
        Self::Journal(error)
    }
}

/// Writes the journal in `folder` anew without a person; with `try_only` nothing is changed. No watch may be running.
///
/// # Errors
/// Says why everything is as it was.
pub fn forget(folder: &Path, who: &Forget, now: Moment, try_only: bool) -> Result<Forgotten, Kept> {
    let file = folder.join(FILE);
    if !file.is_file() {
        return Err(JournalError::Missing { file }.into());
    }
    // Closing it folds its log, so that the file is all there is.
    drop(Store::open(folder)?);
    let _writing = Writing::begin(folder)?;
    if log_of(&file).exists() {
        let why = "somebody reads it".to_owned();
        return Err(JournalError::Refused { folder: folder.to_owned(), doing: DOING, why }.into());
    }
    let old = Store::open_read_only(folder)?;
    let words = Words::of(&old, who)?;
    let beside = folder.join(BESIDE);
    let failed = |error: &std::io::Error| from_system(folder, DOING, error);
    // What an earlier try left that was cut off.
    clear(&beside).map_err(|error| failed(&error))?;
    let done = write(&old, &beside, &words, who, now);
    drop(old);
    let done = done.and_then(|done| {
        if try_only {
            return Ok(done);
        }
        let swapped = swap(&beside.join(FILE), &file, folder);
        swapped.map(|()| done).map_err(|error| failed(&error).into())
    });
    clear(&beside).map_err(|error| failed(&error))?;
    done
}

/// The new file takes the old one's place whole, and is for the account whose file it was, whoever calls.
fn swap(new: &Path, old: &Path, folder: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::MetadataExt as _;
    let was = fs::metadata(old)?;
    fs::set_permissions(new, was.permissions())?;
    std::os::unix::fs::chown(new, Some(was.uid()), Some(was.gid()))?;
    File::open(new)?.sync_all()?;
    fs::rename(new, old)?;
    File::open(folder)?.sync_all()
}

fn clear(beside: &Path) -> std::io::Result<()> {
    match fs::remove_dir_all(beside) {
        Err(why) if why.kind() != std::io::ErrorKind::NotFound => Err(why),
        Ok(()) | Err(_) => Ok(()),
    }
}

fn write(
    old: &Store,
    beside: &Path,
    words: &Words,
    who: &Forget,
    now: Moment,
) -> Result<Forgotten, Kept> {
    let mut new = Store::open_or_make(beside, Some(old.seed()))?;
    let (mut was, mut will) = (Watched::default(), Watched::default());
    let (mut diary, mut done) = (Diary::default(), Forgotten::default());
    let mut kept: Result<(), Kept> = Ok(());
    let damages = old.read(0, &mut |block| {
        kept = anew(&block, words, (&mut was, &mut will), &mut diary, &mut done)
            .and_then(|block| Ok(new.append(&block)?));
        if kept.is_ok() { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    })?;
    kept?;
    if let Some(damage) = damages.first() {
        return Err(Kept::Damaged(damage.row));
    }
    let event = Event::Forgotten { called: who.called.clone() };
    let at = old.last_moment().map_or(now, |last| last.max(now));
    let no = new.next_entry();
    let entry = Entry { no, at, event };
    let lines = will.take(&entry);
    let lines =
        lines.into_iter().map(|line| kept_line(&mut diary, no, line.at, line.text)).collect();
    let block = Block { first: no, entries: vec![entry], diary: lines, digest: diary.digest() };
    new.append(&block)?;
    Ok(done)
}

/// A block without them, if both watches did the same with it.
fn anew(
    block: &Block,
    words: &Words,
    (was, will): (&mut Watched, &mut Watched),
    diary: &mut Diary,
    done: &mut Forgotten,
) -> Result<Block, Kept> {
    let mut entries = Vec::with_capacity(block.entries.len());
    let (mut before, mut after): (Vec<Line>, Vec<DiaryLine>) = (Vec::new(), Vec::new());
    for entry in &block.entries {
        let event = words.out_of(&entry.event).ok_or(Kept::Otherwise(entry.no))?;
        let new = Entry { event, ..entry.clone() };
        let (lines, others) = (was.take(entry), will.take(&new));
        if lines.len() != others.len() {
            return Err(Kept::Otherwise(entry.no));
        }
        done.entries += 1;
        done.changed += u64::from(new.event != entry.event);
        before.extend(lines);
        let no = entry.no;
        after.extend(others.into_iter().map(|Line { at, text }| DiaryLine { entry: no, at, text }));
        entries.push(new);
    }
    // What another version wrote stays as it was written, but for them.
    let same = block.diary.len() == before.len()
        && block.diary.iter().zip(&before).all(|(recorded, now)| recorded.text == now.text);
    let lines: Vec<DiaryLine> = if same {
        after
    } else {
        let line =
            |line: &DiaryLine| DiaryLine { text: words.out_of_text(&line.text), ..line.clone() };
        block.diary.iter().map(line).collect()
    };
    let changed = lines.iter().zip(&block.diary).filter(|(new, old)| new.text != old.text);
    done.lines += changed.count() as u64;
    let lines =
        lines.into_iter().map(|line| kept_line(diary, line.entry, line.at, line.text)).collect();
    Ok(Block { first: block.first, entries, diary: lines, digest: diary.digest() })
}

fn kept_line(diary: &mut Diary, entry: u64, at: Moment, text: String) -> DiaryLine {
    diary.keep(at, &text);
    DiaryLine { entry, at, text }
}

#[derive(Default)]
struct Watched {
    watch: Watch,
    diary: Diary,
}

impl Watched {
    fn take(&mut self, entry: &Entry) -> Vec<Line> {
        let step = self.watch.step(entry.at, &entry.event);
        self.diary.write(&self.watch, &step.effects)
    }
}

/// What is looked for, the longest first, and what stands in its place.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Words {
    pairs: Vec<(Vec<char>, String)>,
}

impl Words {
    /// By all settings that there ever were.
    fn of(store: &Store, who: &Forget) -> Result<Self, Kept> {
        let mut found = BTreeSet::new();
        let mut kept: Result<(), Kept> = Ok(());
        let damages = store.read(0, &mut |block| {
            for entry in &block.entries {
                if let Event::Settings(text) = &entry.event
                    && let Some(config) = config::parse(text).config
                {
                    kept = known(&config, who, &mut found);
                }
                if kept.is_err() {
                    return ControlFlow::Break(());
                }
            }
            ControlFlow::Continue(())
        })?;
        kept?;
        if let Some(damage) = damages.first() {
            return Err(Kept::Damaged(damage.row));
        }
        if found.is_empty() {
            return Err(Kept::Unknown);
        }
        let mut pairs: Vec<(Vec<char>, String)> = found
            .into_iter()
            .map(|(text, instead)| (text.to_lowercase().chars().collect(), instead))
            .collect();
        pairs.sort_by_key(|(text, _)| std::cmp::Reverse(text.len()));
        Ok(Self { pairs })
    }

    fn out_of(&self, event: &Event) -> Option<Event> {
        let mut value = serde_json::to_value(event).ok()?;
        self.out_of_value(&mut value);
        serde_json::from_value(value).ok()
    }

    fn out_of_value(&self, value: &mut Value) {
        match value {
            Value::String(text) => *text = self.out_of_text(text),
            Value::Array(all) => all.iter_mut().for_each(|one| self.out_of_value(one)),
            // The keys are ours.
            Value::Object(all) => all.values_mut().for_each(|one| self.out_of_value(one)),
            Value::Null | Value::Bool(_) | Value::Number(_) => {}
        }
    }

    /// Whole words alone, however they are written.
    fn out_of_text(&self, text: &str) -> String {
        let letters: Vec<char> = text.chars().collect();
        let mut out = String::with_capacity(text.len());
        let mut at = 0;
        while let Some(letter) = letters.get(at) {
            let begins = at == 0 || !joins(letters[at - 1], *letter);
            let mut pairs = self.pairs.iter().filter(|_| begins);
            let found =
                pairs.find_map(|(word, instead)| Some((ends(&letters, at, word)?, instead)));
            match found {
                Some((end, instead)) => {
                    out.push_str(instead);
                    at = end;
                }
                None => {
                    out.push(*letter);
                    at += 1;
                }
            }
        }
        out
    }
}

/// Whether two letters are of one word or number.
fn joins(one: char, other: char) -> bool {
    one.is_alphanumeric() && (other.is_alphanumeric() || other == '+')
}

/// Where a word that begins there ends.
fn ends(letters: &[char], at: usize, word: &[char]) -> Option<usize> {
    if word.iter().all(|letter| letter.is_ascii_digit() || *letter == '+') {
        return number_ends(letters, at, word);
    }
    let here = letters.get(at..at + word.len())?;
    let same =
        here.iter().zip(word).all(|(one, other)| one.to_lowercase().eq(other.to_lowercase()));
    let end = at + word.len();
    let is_whole = letters.get(end).is_none_or(|next| !next.is_alphanumeric());
    (same && is_whole).then_some(end)
}

/// A telephone number, with a plus sign, 00 or neither, whatever people put between its figures: the settings keep it as
/// they were typed.
fn number_ends(letters: &[char], at: usize, number: &[char]) -> Option<usize> {
    let before = match letters.get(at..) {
        Some(['+', ..]) => 1,
        Some(['0', '0', ..]) if number.first() == Some(&'+') => 2,
        Some(_) | None => 0,
    };
    let mut end = at + before;
    for figure in number.iter().filter(|letter| letter.is_ascii_digit()) {
        while end > at && letters.get(end).is_some_and(|letter| " -./()".contains(*letter)) {
            end += 1;
        }
        if letters.get(end) != Some(figure) {
            return None;
        }
        end += 1;
    }
    letters.get(end).is_none_or(|next| !next.is_ascii_digit()).then_some(end)
}

/// What these settings know of them.
fn known(
    config: &Config,
    who: &Forget,
    found: &mut BTreeSet<(String, String)>,
) -> Result<(), Kept> {
    let is = |text: &str| text.to_lowercase() == who.person.as_str().to_lowercase();
    let called = config.animals.iter().find_map(|row| {
        [row.animal.as_str(), &row.name, &row.group]
            .into_iter()
            .find(|text| is(text))
            .map(str::to_owned)
    });
    if let Some(called) = called {
        return Err(Kept::AlsoCalled(called));
    }
    if config.people.iter().any(|one| one.name.as_str().to_lowercase() == who.called.to_lowercase())
    {
        return Err(Kept::Taken);
    }
    let Some(person) = config.people.iter().find(|one| one.name == who.person) else {
        return Ok(());
    };
    found.insert((person.name.to_string(), who.called.clone()));
    let plain = |letter: char| if letter.is_alphanumeric() { letter } else { '-' };
    if let Some(mail) = &person.mail {
        let name: String = who.called.to_lowercase().chars().map(plain).collect();
        found.insert((mail.clone(), format!("{name}@forgotten.invalid")));
    }
    if let Some(mobile) = &person.mobile {
        // +999 belongs to no country (ITU-T E.164, reserved).
        let figures = crc32fast::hash(who.called.as_bytes()) % 10_000_000;
        let instead = format!("+999{figures:07}");
        if let Some(at_home) = telephone::dialled_at_home(mobile, &config.farm.country) {
            found.insert((at_home, instead.clone()));
        }
        found.insert((mobile.clone(), instead));
    }
    Ok(())
}

/// Files in the data folder beside the journal in which their name still stands.
pub fn elsewhere(folder: &Path, person: &PersonName) -> Vec<PathBuf> {
    let word: Vec<char> = person.as_str().to_lowercase().chars().collect();
    let has = |path: &Path| {
        let Ok(bytes) = fs::read(path) else { return false };
        let letters: Vec<char> = String::from_utf8_lossy(&bytes).chars().collect();
        (0..letters.len()).any(|at| {
            (at == 0 || !joins(letters[at - 1], letters[at])) && ends(&letters, at, &word).is_some()
        })
    };
    let files = fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok);
    let mut files: Vec<PathBuf> = files
        .map(|file| file.path())
        .filter(|path| {
            path.is_file() && path.file_name().is_some_and(|name| name != FILE) && has(path)
        })
        .collect();
    files.sort();
    files
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_addresses_and_numbers_go_however_they_are_written() {
        let pair = |text: &str, instead: &str| (text.chars().collect(), instead.to_owned());
        let words = Words {
            pairs: vec![
                pair("tom@hollowbank.example", "f@forgotten.invalid"),
                pair("+353860000002", "+9990000001"),
                pair(
                    &telephone::dialled_at_home("+353860000002", "IE")
                        .expect("a number of Ireland"),
                    "+9990000001",
                ),
                pair("tom", "Former1"),
            ],
        };
        for (text, expected) in [
            ("Tom takes it, TOM's out", "Former1 takes it, Former1's out"),
            ("tomorrow, bottom, atom", "tomorrow, bottom, atom"),
            ("<TOM@hollowbank.example>", "<f@forgotten.invalid>"),
            ("mobile = \"+353860000002\"", "mobile = \"+9990000001\""),
            ("mobile = \"+353 86 000 0002\"", "mobile = \"+9990000001\""),
            ("mobile = \"+353 (86) 000-0002\"", "mobile = \"+9990000001\""),
            ("086 000 0002, 0860000002", "+9990000001, +9990000001"),
            ("mobile = \"086-000 0002\"", "mobile = \"+9990000001\""),
            ("from 353860000002.", "from +9990000001."),
            ("from 00353 86 0000002", "from +9990000001"),
            ("+3538600000023, 1353860000002", "+3538600000023, 1353860000002"),
        ] {
            assert_eq!(words.out_of_text(text), expected);
        }
    }
}
