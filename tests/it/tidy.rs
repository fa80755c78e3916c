//! The tree itself: rows, sizes, first lines, words. Each check is shown a bad example first.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Row by folder. A folder without a row is an error, so the map in `lib.rs` cannot go stale.
const ROWS: &[(&str, u8)] = &[
    ("plain", 0),
    ("config", 1),
    ("sensor", 2),
    ("rota", 2),
    ("herd", 3),
    ("gear", 3),
    ("rules", 4),
    ("alarm", 5),
    ("talk", 6),
    ("watch", 7),
    ("paper", 8),
    ("journal", 8),
    ("line", 8),
    ("live", 9),
    ("replay", 9),
    ("sim", 9),
    ("cli", 10),
    ("main", 10),
    ("lib", 10),
];
/// Up to here nothing touches the world; neither may these two above it.
const PURE_ROW: u8 = 7;
const PURE_TOO: &[&str] = &["replay", "sim", "paper"];
const WORLDLY: &[&str] = &[
    "std::fs",
    "std::net::Tcp",
    "std::net::Udp",
    "std::env",
    "std::process",
    "std::thread",
    "std::time",
    "tokio::",
    "rusqlite",
    "rumqttc",
    "lettre",
    "reqwest",
    "async_imap",
    "getrandom",
    "tracing::",
];
const FILE_MAX: usize = 400;
const MAIN_MAX: usize = 30;
const FORBIDDEN_NAMES: &[&str] = &[
    "utils", "util", "common", "helpers", "helper", "types", "manager", "handler", "service",
    "engine", "misc",
];

struct File {
    folder: String,
    name: String,
    text: String,
}

#[test]
fn imports_point_down() {
    let bad = file("herd", "dam", "//! x\nuse crate::alarm::alert::Alert;\n");
    assert_eq!(imports(&bad).len(), 1, "the check sees nothing");
    let sideways = file("sensor", "x", "//! x\nuse crate::rota::shift;\n");
    assert_eq!(imports(&sideways).len(), 1);
    let nested = file("plain", "x", "//! x\nuse crate::{config::Config, plain::moment};\n");
    assert_eq!(imports(&nested).len(), 1);
    let inline = file("rules", "x", "//! x\nfn f() { crate::watch::event::g() }\n");
    assert_eq!(imports(&inline).len(), 1);
    let good = file("alarm", "x", "//! x\nuse crate::rules::book;\nuse crate::alarm::code;\n");
    assert!(imports(&good).is_empty());
    none(tree().iter().flat_map(imports));
}

#[test]
fn pure_rows_do_not_touch_the_world() {
    let bad = file("watch", "x", "//! x\nuse std::fs;\n");
    assert_eq!(world(&bad).len(), 1);
    let bad = file("sim", "x", "//! x\nuse crate::journal::store::Store;\n");
    assert_eq!(world(&bad).len(), 1);
    none(tree().iter().flat_map(world));
}

#[test]
fn every_file_begins_with_what_it_is_for() {
    assert_eq!(first_line(&file("plain", "x", "use std::fmt;\n")).len(), 1);
    none(tree().iter().flat_map(first_line));
}

#[test]
fn files_and_functions_stay_small() {
    let long = "fn f() {}\n".repeat(FILE_MAX + 1);
    assert_eq!(size(&file("plain", "x", &long)).len(), 1);
    let tests = format!("//! x\n#[cfg(test)]\nmod tests {{}}\n{long}");
    assert!(size(&file("plain", "x", &tests)).is_empty(), "tests are not counted");
    none(tree().iter().flat_map(size));
    let mut lines: Vec<usize> = tree().iter().map(|file| code(&file.text)).collect();
    lines.sort_unstable();
    let median = lines[lines.len() / 2];
    assert!(median <= 200, "the median file has {median} lines; a missing noun hides somewhere");
}

#[test]
fn names_are_nouns_of_the_yard() {
    assert_eq!(naming(&file("plain", "utils", "//! x\n")).len(), 1);
    assert_eq!(naming(&file("plain", "x", "//! x\n// TODO: later\n")).len(), 1);
    none(tree().iter().flat_map(naming));
}

#[test]
fn nobody_matches_our_enums_with_a_wildcard_or_hides_a_lint_without_a_reason() {
    let bad = file("plain", "x", "//! x\n#[allow(dead_code)]\nfn f() {}\n");
    assert_eq!(reasons(&bad).len(), 1);
    none(tree().iter().flat_map(reasons));
}

#[test]
fn the_map_names_every_folder() {
    let map = fs::read_to_string(root().join("src/lib.rs")).unwrap();
    for (folder, _) in ROWS.iter().filter(|(folder, _)| !matches!(*folder, "main" | "lib")) {
        assert!(map.contains(&format!("`{folder}`")), "lib.rs does not say what {folder} is");
    }
}

#[test]
fn nothing_in_the_repository_speaks_of_how_it_was_made() {
    // Spelled apart, so that this file does not find itself.
    let words = [
        ["tran", "script"],
        ["sub", "agent"],
        ["crates", ".io"],
        ["/wo", "rk/"],
        ["/ro", "ot/"],
        ["pypi", ".org"],
    ];
    let mut found = Vec::new();
    for path in files(&root(), &["rs", "md", "toml", "txt", "csv", "service", "sh"]) {
        let text = fs::read_to_string(&path).unwrap_or_default().to_lowercase();
        for word in words.map(|parts| parts.concat()) {
            if text.contains(&word) && !path.ends_with("Cargo.lock") {
                found.push(format!("{}: {word}", path.display()));
            }
        }
    }
    none(found);
}

fn imports(file: &File) -> Vec<String> {
    let rows: BTreeMap<&str, u8> = ROWS.iter().copied().collect();
    let Some(mine) = rows.get(file.folder.as_str()).copied() else {
        return vec![format!("{}/{}: the folder has no row", file.folder, file.name)];
    };
    let mut wrong = Vec::new();
    for target in targets(&without_tests(&file.text)) {
        match rows.get(target.as_str()) {
            None => wrong
                .push(format!("{}/{} imports {target}, which has no row", file.folder, file.name)),
            Some(row) if *row >= mine && target != file.folder => {
                wrong.push(format!(
                    "{}/{} (row {mine}) imports {target} (row {row})",
                    file.folder, file.name
                ));
            }
            Some(_) => {}
        }
    }
    wrong
}

/// Every first segment behind `crate::`, also within braces.
fn targets(text: &str) -> Vec<String> {
    let mut targets = Vec::new();
    for (at, _) in text.match_indices("crate::") {
        let rest = &text[at + "crate::".len()..];
        if let Some(list) = rest.strip_prefix('{') {
            let mut depth = 0;
            let mut word = String::new();
            for c in list.chars() {
                match c {
                    '{' => depth += 1,
                    '}' if depth == 0 => break,
                    '}' => depth -= 1,
                    ',' if depth == 0 => targets.push(std::mem::take(&mut word)),
                    _ if depth == 0 => word.push(c),
                    _ => {}
                }
            }
            targets.push(word);
        } else {
            targets.push(rest.to_owned());
        }
    }
    let first = |path: String| {
        path.trim()
            .split(|c: char| !c.is_alphanumeric() && c != '_')
            .next()
            .unwrap_or("")
            .to_owned()
    };
    let mut targets: Vec<String> =
        targets.into_iter().map(first).filter(|word| !word.is_empty()).collect();
    targets.sort();
    targets.dedup();
    targets
}

fn world(file: &File) -> Vec<String> {
    let row = ROWS.iter().find(|(folder, _)| *folder == file.folder).map_or(0, |(_, row)| *row);
    let pure_too = PURE_TOO.contains(&file.folder.as_str());
    if row > PURE_ROW && !pure_too {
        return Vec::new();
    }
    let text = without_tests(&file.text);
    let mut banned: Vec<&str> = WORLDLY.to_vec();
    if pure_too {
        banned.extend(["crate::journal", "crate::line", "crate::live"]);
    }
    let code: String = text
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .map(|line| format!("{line}\n"))
        .collect();
    banned
        .into_iter()
        .filter(|word| code.contains(word))
        .map(|word| format!("{}/{} uses {word}", file.folder, file.name))
        .collect()
}

fn first_line(file: &File) -> Vec<String> {
    if file.text.starts_with("//!") {
        Vec::new()
    } else {
        vec![format!("{}/{} does not say what it is for", file.folder, file.name)]
    }
}

fn size(file: &File) -> Vec<String> {
    let lines = code(&file.text);
    let cap = if file.folder == "main" { MAIN_MAX } else { FILE_MAX };
    if lines <= cap {
        Vec::new()
    } else {
        vec![format!("{}/{} has {lines} lines, {cap} are allowed", file.folder, file.name)]
    }
}

fn naming(file: &File) -> Vec<String> {
    let mut wrong = Vec::new();
    if FORBIDDEN_NAMES.contains(&file.name.as_str()) {
        wrong.push(format!("{}/{} is no noun of the yard", file.folder, file.name));
    }
    for word in ["TODO", "FIXME", "XXX", "HACK"] {
        if file.text.contains(word) {
            wrong.push(format!("{}/{} still says {word}", file.folder, file.name));
        }
    }
    wrong
}

fn reasons(file: &File) -> Vec<String> {
    file.text
        .match_indices("#[allow(")
        .chain(file.text.match_indices("#[expect("))
        .chain(file.text.match_indices("#![allow("))
        .chain(file.text.match_indices("#![expect("))
        .filter(|(at, _)| {
            let rest = &file.text[*at..];
            let end = rest.find(")]").unwrap_or(rest.len());
            !rest[..end].contains("reason")
        })
        .map(|_| format!("{}/{} hides a lint without a reason", file.folder, file.name))
        .collect()
}

fn tree() -> Vec<File> {
    let source = root().join("src");
    files(&source, &["rs"])
        .into_iter()
        .map(|path| {
            let inner = path.strip_prefix(&source).unwrap().to_owned();
            let first =
                inner.components().next().unwrap().as_os_str().to_string_lossy().into_owned();
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            File {
                folder: first.trim_end_matches(".rs").to_owned(),
                name,
                text: fs::read_to_string(&path).unwrap(),
            }
        })
        .collect()
}

fn files(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() {
            if !matches!(name.as_str(), "target" | ".git") {
                found.extend(files(&path, endings));
            }
        } else if path.extension().is_some_and(|ending| endings.iter().any(|one| ending == *one)) {
            found.push(path);
        }
    }
    found.sort();
    found
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn without_tests(text: &str) -> String {
    text.split("\n#[cfg(test)]").next().unwrap_or_default().to_owned()
}

fn code(text: &str) -> usize {
    without_tests(text).lines().count()
}

fn file(folder: &str, name: &str, text: &str) -> File {
    File { folder: folder.into(), name: name.into(), text: text.into() }
}

fn none(found: impl IntoIterator<Item = String>) {
    let found: Vec<String> = found.into_iter().collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}
