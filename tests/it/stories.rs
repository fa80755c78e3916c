//! Every story in `tests/stories`: what happens, and the whole diary that must come of it.

use std::fs;
use std::path::PathBuf;

use super::storyteller::{Teller, extra, halves};

pub(crate) fn all() -> Vec<(PathBuf, String)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/stories");
    let mut stories: Vec<(PathBuf, String)> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "txt"))
        .map(|path| (path.clone(), fs::read_to_string(path).unwrap()))
        .collect();
    stories.sort();
    stories
}

/// With `LOWBELL_WRITE_STORIES=1` the diaries are written anew, to be read before they are kept.
#[test]
fn every_story_ends_in_its_diary() {
    #[allow(clippy::disallowed_methods, reason = "a switch for whoever writes stories")]
    let write = std::env::var("LOWBELL_WRITE_STORIES").is_ok();
    let mut wrong = Vec::new();
    let stories = all();
    assert!(stories.len() >= 20, "the stories are gone: {}", stories.len());
    for (path, text) in stories {
        let (story, diary) = halves(&text);
        let told = Teller::new(&extra(story)).tell(story);
        let is = told.lines.join("\n");
        if write {
            fs::write(&path, format!("{story}\n---\n{is}\n")).unwrap();
        } else if is != diary.trim_end() {
            wrong.push(format!("{}\nshould be:\n{diary}\nis:\n{is}\n", path.display()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
