//! The calendars that people subscribe to: which secret means which, and what stands in it.
//!
//! A secret lies in the data folder and is read at each request, so that an address ends the moment there is another.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest as _, Sha256};
use tokio::net::TcpListener;
use tokio::sync::{Mutex, watch};
use tokio::time::Instant;

use super::socket::{self, Question, Reply};
use crate::config::feeds::{Feed, Feeds};
use crate::line::feed::{self, Given};
use crate::line::secret::{self, Secret};

/// However often it is asked for, it is made anew this often.
const FRESH: Duration = Duration::from_secs(60);
/// How long until a port that was taken is tried again.
const PORT_AGAIN: Duration = Duration::from_secs(10);
/// 32 bytes as letters: what nobody guesses.
const SECRET_BYTES: usize = 32;
const SECRET_LETTERS: usize = 43;
/// So much of the digest of its name names the file.
const NAME_BYTES: usize = 8;

type Made = Arc<Mutex<BTreeMap<String, (Instant, Given)>>>;

/// Gives the calendars out until it is told to stop; a port that is taken is tried again.
pub async fn keep(feeds: Feeds, data: PathBuf, mut stop: watch::Receiver<bool>) {
    let (feeds, data, made) = (Arc::new(feeds), Arc::new(data), Made::default());
    let mut told = false;
    loop {
        match TcpListener::bind(feeds.listen).await {
            Ok(listener) => {
                tracing::info!("calendars are given out at {}", feeds.listen);
                let give = {
                    let feeds = feeds.clone();
                    move |asked| give(asked, feeds.clone(), data.clone(), made.clone())
                };
                return feed::serve(listener, give, stop).await;
            }
            Err(why) if !told => {
                told = true;
                tracing::warn!("no calendar is given out at {}: {why}", feeds.listen);
            }
            Err(_) => {}
        }
        if tokio::time::timeout(PORT_AGAIN, stop.wait_for(|stop| *stop)).await.is_ok() {
            return;
        }
    }
}

async fn give(asked: String, feeds: Arc<Feeds>, data: Arc<PathBuf>, made: Made) -> Given {
    let Some(feed) = feeds.list.iter().find(|feed| is_meant(feed, &asked, &data)) else {
        return Given::Unknown;
    };
    let mut made = made.lock().await;
    if let Some((at, given)) = made.get(&feed.name)
        && at.elapsed() < FRESH
    {
        return given.clone();
    }
    let question = Question::Calendar { feed: Some(feed.name.clone()) };
    match socket::ask(&data, &question).await {
        Ok(Reply::Calendar { text }) => {
            let given = Given::Calendar { mark: mark(&text), text };
            made.insert(feed.name.clone(), (Instant::now(), given.clone()));
            given
        }
        Ok(_) | Err(_) => Given::NotNow,
    }
}

/// Digests are compared, so that how long it takes says nothing of the secret.
fn is_meant(feed: &Feed, asked: &str, data: &Path) -> bool {
    let secret = read(feed, data);
    secret.is_ok_and(|secret| Sha256::digest(secret.expose()) == Sha256::digest(asked))
}

/// The same for the same entries: when they were written is left out.
fn mark(text: &str) -> String {
    let mut digest = Sha256::new();
    for line in text.lines().filter(|line| !line.starts_with("DTSTAMP:")) {
        digest.update(line);
        digest.update("\n");
    }
    URL_SAFE_NO_PAD.encode(digest.finalize())
}

/// The file of a feed's secret: whatever a feed is called, a file can be.
fn file(feed: &Feed) -> String {
    let digest = Sha256::digest(&feed.name);
    let name: String = digest.iter().take(NAME_BYTES).map(|byte| format!("{byte:02x}")).collect();
    format!("feed-{name}.secret")
}

/// The secret of a feed's address.
///
/// # Errors
/// Says why there is none that can be used, without it.
pub fn read(feed: &Feed, data: &Path) -> Result<Secret, String> {
    let name = file(feed);
    let secret = secret::read(data, None, &name)?;
    let good = |letter: u8| letter.is_ascii_alphanumeric() || letter == b'-' || letter == b'_';
    if secret.expose().len() < SECRET_LETTERS || !secret.expose().bytes().all(good) {
        return Err(format!("{name} holds no secret; let `lowbell feed --renew` make one"));
    }
    Ok(secret)
}

/// Makes a new secret for a feed: the address before it ends.
///
/// # Errors
/// Says why it could not be written.
pub fn renew(feed: &Feed, data: &Path) -> Result<Secret, String> {
    let mut bytes = [0; SECRET_BYTES];
    getrandom::fill(&mut bytes)
        .map_err(|why| format!("this machine gives no random bytes: {why}"))?;
    let secret = URL_SAFE_NO_PAD.encode(bytes);
    let path = data.join(file(feed));
    write(&path, &secret).map_err(|why| format!("cannot write {}: {why}", path.display()))?;
    Ok(Secret::new(secret))
}

/// Whole or not at all, and from its first moment on for the account alone whose folder it is: the watch's, whoever calls.
fn write(path: &Path, secret: &str) -> std::io::Result<()> {
    use std::io::Write as _;
    use std::os::unix::fs::{MetadataExt as _, OpenOptionsExt as _};
    let mut new = path.as_os_str().to_owned();
    new.push(".new");
    match std::fs::remove_file(&new) {
        Err(why) if why.kind() != std::io::ErrorKind::NotFound => return Err(why),
        Ok(()) | Err(_) => {}
    }
    let mut file =
        std::fs::OpenOptions::new().write(true).create_new(true).mode(0o600).open(&new)?;
    writeln!(file, "{secret}")?;
    let folder = std::fs::metadata(path.parent().unwrap_or(path))?;
    std::os::unix::fs::fchown(&file, Some(folder.uid()), Some(folder.gid()))?;
    file.sync_all()?;
    std::fs::rename(&new, path)
}

/// The whole address of a feed.
pub fn address(feeds: &Feeds, secret: &Secret) -> String {
    format!("{}{}", feeds.address, feed::path(secret.expose()))
}
