//! The door for people at this machine: a socket in the data folder, one question a connection.
//!
//! Who may open it is decided by the folder's permissions.

use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use serde::{Deserialize, Serialize};
use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::net::{UnixListener, UnixStream};
use tokio::sync::{mpsc, oneshot};

use crate::watch::season::Season;
use crate::watch::view::Board;

/// The socket's name within the data folder.
pub const NAME: &str = "lowbell.sock";
/// A question is a line of words.
const QUESTION_MAX: u64 = 16 * 1024;
/// Somebody who asks and then hangs is let go.
const PATIENCE: Duration = Duration::from_secs(30);

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Question {
    Board,
    /// The board and every dam's record, for papers and books.
    Season,
    /// What a feed of this name shows; without a name, the whole rota.
    Calendar {
        feed: Option<String>,
    },
    /// Words in a person's name, as if they had come by mail.
    Say {
        name: String,
        text: String,
    },
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reply {
    Board(Option<Box<Board>>),
    Season(Option<Box<Season>>),
    Calendar { text: String },
    Said { text: String, understood: bool },
    Wrong { why: String },
}

/// A question and where its answer goes.
pub struct Asked {
    pub question: Question,
    pub answer: oneshot::Sender<Reply>,
}

pub fn path(data: &Path) -> PathBuf {
    data.join(NAME)
}

/// Listens until the task is dropped.
///
/// # Errors
/// Says why the socket could not be made.
pub fn listen(
    data: &Path,
    asked: mpsc::Sender<Asked>,
) -> Result<tokio::task::JoinHandle<()>, String> {
    let path = path(data);
    let listener =
        bind(&path).map_err(|why| format!("cannot listen on {}: {why}", path.display()))?;
    Ok(tokio::spawn(async move {
        loop {
            match listener.accept().await {
                Ok((stream, _)) => {
                    let asked = asked.clone();
                    tokio::spawn(async move {
                        let served = tokio::time::timeout(PATIENCE, serve(stream, &asked)).await;
                        if !matches!(served, Ok(Ok(()))) {
                            tracing::debug!("a question at the socket was not finished");
                        }
                    });
                }
                Err(why) => {
                    tracing::warn!("the socket did not take a caller: {why}");
                    tokio::time::sleep(Duration::from_secs(1)).await;
                }
            }
        }
    }))
}

/// Asks the running watch.
///
/// # Errors
/// Says that no watch is running, or what went wrong on the way.
pub async fn ask(data: &Path, question: &Question) -> Result<Reply, String> {
    let path = path(data);
    let shown = path.display();
    let stream = UnixStream::connect(&path).await.map_err(|why| {
        format!("no watch answers at {shown} ({why}); is `lowbell run` running on this machine?")
    })?;
    let asked = tokio::time::timeout(PATIENCE, exchange(stream, question)).await;
    asked
        .map_err(|_| format!("the watch at {shown} did not answer within 30 seconds"))?
        .map_err(|why| format!("the watch at {shown} broke off: {why}"))
}

async fn exchange(mut stream: UnixStream, question: &Question) -> io::Result<Reply> {
    let mut line = serde_json::to_vec(question)?;
    line.push(b'\n');
    stream.write_all(&line).await?;
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).await?;
    Ok(serde_json::from_slice(&answer)?)
}

async fn serve(mut stream: UnixStream, asked: &mpsc::Sender<Asked>) -> io::Result<()> {
    let (read, mut write) = stream.split();
    let mut line = String::new();
    BufReader::new(read.take(QUESTION_MAX)).read_line(&mut line).await?;
    let reply = match serde_json::from_str(&line) {
        Ok(question) => {
            let (answer, answered) = oneshot::channel();
            if asked.send(Asked { question, answer }).await.is_err() {
                return Ok(());
            }
            answered
                .await
                .unwrap_or_else(|_| Reply::Wrong { why: "the watch is stopping".to_owned() })
        }
        Err(why) => Reply::Wrong { why: format!("that is no question: {why}") },
    };
    write.write_all(&serde_json::to_vec(&reply)?).await?;
    write.shutdown().await
}

/// A socket left by a watch that was killed is in the way; the journal's lock has already made sure
/// that no other watch uses this folder.
fn bind(path: &Path) -> io::Result<UnixListener> {
    match std::fs::remove_file(path) {
        Err(why) if why.kind() != io::ErrorKind::NotFound => return Err(why),
        Ok(()) | Err(_) => {}
    }
    let listener = UnixListener::bind(path)?;
    let mode = std::os::unix::fs::PermissionsExt::from_mode(0o660);
    std::fs::set_permissions(path, mode)?;
    Ok(listener)
}
