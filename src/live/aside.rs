//! Entries that broke the watch are put beside the journal, for whoever mends it.

use std::fs::{self, File};
use std::io::Write;
use std::path::Path;

use crate::plain::moment::Moment;
use crate::watch::WATCH;
use crate::watch::event::Event;

/// More than this say nothing new, and the disk is small.
const KEPT: usize = 100;

/// Whether it is the watch that says it has failed: failing at that too must not go round for ever.
pub(super) fn is_our_own_cry(event: &Event) -> bool {
    matches!(event, Event::Line(state) if state.line.as_str() == WATCH)
}

/// Keeps an entry in a file of its own and on disk; gives back the file's name.
///
/// # Errors
/// Says why it could not be kept.
pub fn put(data: &Path, at: Moment, event: &Event) -> Result<String, String> {
    let name = format!("set-aside-{}.json", at.millis());
    let folder = fs::read_dir(data).map_err(|why| why.to_string())?;
    let kept = folder
        .filter_map(Result::ok)
        .filter(|entry| entry.file_name().to_string_lossy().starts_with("set-aside-"))
        .count();
    if kept >= KEPT {
        return Err(format!("{KEPT} others are kept there already"));
    }
    let text = serde_json::to_string_pretty(event).map_err(|why| why.to_string())?;
    let written = File::create(data.join(&name)).and_then(|mut file| {
        file.write_all(text.as_bytes())?;
        file.sync_all()
    });
    written.map(|()| name).map_err(|why| why.to_string())
}
