//! Reads the farm's settings from their files, and notices when they change.

use std::fs;
use std::path::{Path, PathBuf};

use crate::config::{self, NamedText, SettingsText};

/// A settings file larger than this is not one.
const FILE_MAX: u64 = 8 * 1024 * 1024;

/// Where a farm's settings lie.
#[derive(Clone, Debug)]
pub struct Place {
    pub farm_toml: PathBuf,
}

impl Place {
    pub fn new(farm_toml: &Path) -> Self {
        Self { farm_toml: farm_toml.to_owned() }
    }

    /// The folder that every file named in the settings is relative to.
    pub fn base(&self) -> PathBuf {
        let parent = self.farm_toml.parent().unwrap_or(Path::new(""));
        if parent.as_os_str().is_empty() { PathBuf::from(".") } else { parent.to_owned() }
    }

    /// Reads `farm.toml` and what it names. A file that is missing is left out: the parser says so
    /// at the place that names it.
    ///
    /// # Errors
    /// Says which file could not be read and why.
    pub fn read(&self) -> Result<SettingsText, String> {
        let text = read(&self.farm_toml)?;
        let name = self
            .farm_toml
            .file_name()
            .map_or_else(|| "farm.toml".to_owned(), |name| name.to_string_lossy().into_owned());
        let mut files = vec![NamedText { name, text }];
        let copies = config::copies(&files[0].text);
        for name in config::wanted(&files[0].text) {
            let copy = copies.iter().find(|(copied, _)| *copied == name).map(|(_, path)| path);
            let path = self.base().join(copy.unwrap_or(&name));
            if path.exists() {
                files.push(NamedText { text: read(&path)?, name });
            } else if let Some(text) = config::stands_in(&name, &files) {
                // Into the journal with it: another version's rules must not change this night.
                files.push(NamedText { text: text.to_owned(), name });
            }
        }
        Ok(SettingsText { files })
    }
}

/// Every fault, as a person reads it.
pub fn faults(settings: &SettingsText, faults: &[config::fault::Fault]) -> String {
    let source = |name: &str| {
        settings.files.iter().find(|file| file.name == name).map_or("", |file| file.text.as_str())
    };
    let rendered: Vec<String> =
        faults.iter().map(|fault| fault.render(source(&fault.file))).collect();
    rendered.join("\n")
}

fn read(path: &Path) -> Result<String, String> {
    let shown = path.display();
    let size = fs::metadata(path).map_err(|why| format!("cannot read {shown}: {why}"))?.len();
    if size > FILE_MAX {
        return Err(format!("{shown} is larger than 8 MiB; that is no settings file"));
    }
    fs::read_to_string(path).map_err(|why| format!("cannot read {shown}: {why}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let settings = Place::new(&folder.join("farm.toml")).read().unwrap();
        settings.files.into_iter().map(|file| file.name).collect()
    }

    #[test]
    fn a_flock_gets_its_rules_and_those_of_the_watch_unless_it_has_its_own() {
        let folder = tempfile::tempdir().unwrap();
        let farm = |rules: &str| {
            let text = format!("[farm]\nspecies = \"sheep\"\n{rules}");
            fs::write(folder.path().join("farm.toml"), text).unwrap();
        };
        farm("");
        assert_eq!(names(folder.path()), ["farm.toml", "rules/lambing.toml", "rules/watch.toml"]);
        farm("rules = []\n");
        assert_eq!(names(folder.path()), ["farm.toml"]);
        farm("");
        fs::create_dir(folder.path().join("rules")).unwrap();
        fs::write(folder.path().join("rules/lambing.toml"), "# ours\n").unwrap();
        assert_eq!(names(folder.path()), ["farm.toml", "rules/lambing.toml"]);
        farm("rules = [\"rules/lambing.toml\", \"rules/watch.toml\"]\n");
        assert_eq!(names(folder.path()), ["farm.toml", "rules/lambing.toml", "rules/watch.toml"]);
    }
}
