//! Keeps the last good copy of each calendar that stands at an address, in the data folder: the settings read it like any
//! other file.
//!
//! What does not read as a calendar of this farm never takes the place of what did, nor does one in which nobody is on any
//! more: a server that answers with an empty page must not leave a night to nobody.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use tokio::sync::{mpsc, watch};

use super::clock::unix_seconds;
use super::settings::Place;
use crate::config::people::{CalendarFile, Rota};
use crate::config::{self, Config, NamedText};
use crate::line::{Arrival, calendar};
use crate::plain::moment::Moment;
use crate::watch::event::{Event, LineNews, LineState, calendar_line};

/// As often as people change their minds about a night (common practice, no source).
const EVERY: Duration = Duration::from_secs(15 * 60);
const AGAIN: Duration = Duration::from_secs(5 * 60);
const NAME_OF_NEW: &str = ".new";

/// Fetches a rota's calendar again and again until it is told to stop. The watch hears when that begins to fail, and when
/// it works again: whoever is called by a copy that grows old should know.
pub async fn keep(
    place: Place,
    data: PathBuf,
    rota: Rota,
    arrivals: mpsc::Sender<Arrival>,
    mut stop: watch::Receiver<bool>,
) {
    let line = calendar_line(&rota.name);
    let mut worked = None;
    loop {
        let looked = look(&place, &data, &rota, Moment::from_seconds(unix_seconds())).await;
        let works = looked.is_ok();
        if worked != Some(works) {
            let news = match looked {
                Ok(_) => LineNews::Up,
                Err(why) => LineNews::Down { why },
            };
            let event = Event::Line(LineState { line: line.clone(), news });
            // The loop is gone only when the program stops.
            let _ = arrivals.send(Arrival::plain(event)).await;
        }
        worked = Some(works);
        tokio::select! {
            _ = stop.changed() => return,
            () = tokio::time::sleep(if works { EVERY } else { AGAIN }) => {}
        }
    }
}

/// Fetches it once; whether the copy is another now.
///
/// # Errors
/// Says why the copy stays as it was, without the address.
pub async fn look(place: &Place, data: &Path, rota: &Rota, now: Moment) -> Result<bool, String> {
    let Some(CalendarFile { name, url: Some(url), allow_private }) = &rota.calendar else {
        return Ok(false);
    };
    let text = calendar::fetch(url, *allow_private, &format!("rota {}", rota.name)).await?;
    let mut settings = place.read()?;
    let before = settings.files.iter().find(|file| file.name == *name).cloned();
    let copy = data.join(name);
    if before.as_ref().is_some_and(|before| before.text == text) {
        touch(&copy, now).map_err(|why| format!("{}: {why}", copy.display()))?;
        return Ok(false);
    }
    let held = config::parse(&settings).config;
    settings.files.retain(|file| file.name != *name);
    settings.files.push(NamedText { name: name.clone(), text: text.clone() });
    let parsed = config::parse(&settings);
    let Some(config) = parsed.config else {
        let refused = parsed.faults.iter().find(|fault| fault.file == *name);
        let refused = refused.or(parsed.faults.first());
        return Err(refused.map_or_else(String::new, |fault| fault.title.clone()));
    };
    // Some servers write the hour of each answer into it: that alone is nothing new, and not for the journal.
    let shifts = |config: &Config| {
        let same = config.rotas.iter().find(|other| other.name == rota.name);
        same.map(|rota| rota.instead.clone())
    };
    if before.is_some() && held.as_ref().is_some_and(|held| shifts(held) == shifts(&config)) {
        touch(&copy, now).map_err(|why| format!("{}: {why}", copy.display()))?;
        return Ok(false);
    }
    if held.is_some_and(|held| is_on(&held, rota, now)) && !is_on(&config, rota, now) {
        return Err("nobody is on in what came, and somebody is in the copy".to_owned());
    }
    put(&copy, &text)
        .and_then(|()| touch(&copy, now))
        .map_err(|why| format!("{}: {why}", copy.display()))?;
    Ok(true)
}

/// When a calendar was last found to be what the copy says; `None` if there is no copy.
pub fn as_of(data: &Path, name: &str) -> Option<Moment> {
    let modified = fs::metadata(data.join(name)).and_then(|data| data.modified()).ok()?;
    let since = modified.duration_since(SystemTime::UNIX_EPOCH).ok()?;
    i64::try_from(since.as_secs()).ok().map(Moment::from_seconds)
}

/// Whether somebody is still to come on by it.
fn is_on(config: &Config, rota: &Rota, now: Moment) -> bool {
    let same = config.rotas.iter().find(|other| other.name == rota.name);
    same.is_some_and(|rota| rota.instead.iter().any(|one| one.until > now))
}

/// Whole or not at all, also where the power goes.
fn put(path: &Path, text: &str) -> std::io::Result<()> {
    let mut name = path.as_os_str().to_owned();
    name.push(NAME_OF_NEW);
    let new = PathBuf::from(name);
    let mut file = fs::File::create(&new)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()?;
    fs::rename(&new, path)?;
    path.parent().map_or(Ok(()), |folder| fs::File::open(folder)?.sync_all())
}

/// It was found to be so now.
fn touch(path: &Path, now: Moment) -> std::io::Result<()> {
    let since = Duration::from_secs(u64::try_from(now.seconds()).unwrap_or_default());
    fs::File::options().append(true).open(path)?.set_modified(SystemTime::UNIX_EPOCH + since)
}
