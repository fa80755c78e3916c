//! Opens the built-in broker and closes it again.
//!
//! What goes on in between stands in `door`, `guest` and `house`.

use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::{mpsc, watch};
use tokio::task::JoinSet;
use tokio::time::timeout;

use super::door::Door;
use super::house::House;
use crate::config::built_in;
use crate::line::{Arrival, Taker, trust};
use crate::watch::event::LineNews;

/// How long the last clients may take to go.
const SHUT_MAX: Duration = Duration::from_secs(5);

/// The broker in this process. Dropped, it stops listening; `shutdown` also waits for it.
pub struct BuiltIn {
    plain: Option<SocketAddr>,
    secure: Option<SocketAddr>,
    closing: watch::Sender<bool>,
    house: Arc<House>,
    /// Ends when the last connection does.
    empty: mpsc::Receiver<()>,
    keeper: tokio::task::JoinHandle<()>,
}

impl BuiltIn {
    /// Where it listens: without TLS if it does so at all.
    pub fn address(&self) -> SocketAddr {
        let nowhere = SocketAddr::from(([0, 0, 0, 0], 0));
        self.plain.or(self.secure).unwrap_or(nowhere)
    }

    /// Where it listens with TLS.
    pub fn secure_address(&self) -> Option<SocketAddr> {
        self.secure
    }

    /// Keeps a message of ours for whoever asks, now and later; an empty one takes the topic away.
    pub async fn keep(&self, topic: &str, payload: &str) {
        self.house.keep(topic, payload).await;
    }

    /// Lets every sensor that still waits go without an acknowledgement, and stops listening.
    pub async fn shutdown(mut self) {
        self.close();
        let keeper = &mut self.keeper;
        let empty = &mut self.empty;
        let shut = async {
            // What went wrong in it has been told as news.
            let _ = keeper.await;
            while empty.recv().await.is_some() {}
        };
        if timeout(SHUT_MAX, shut).await.is_err() {
            tracing::warn!("The built-in broker closes although some clients have not gone.");
        }
    }

    fn close(&self) {
        self.closing.send_replace(true);
        self.house.let_all_go();
    }
}

impl Drop for BuiltIn {
    fn drop(&mut self) {
        self.close();
    }
}

pub(super) async fn start(
    built_in: &built_in::BuiltIn,
    base: &Path,
    credentials: Option<&Path>,
    taker: Option<Taker>,
    arrivals: mpsc::Sender<Arrival>,
) -> Result<BuiltIn, String> {
    let (closing, closed) = watch::channel(false);
    let house = House::build(built_in, base, credentials, arrivals.clone(), closed.clone())?;
    let house = Arc::new(house.with(taker));
    let (open, empty) = mpsc::channel(1);
    let mut doors = Vec::new();
    if let Some(address) = built_in.plain {
        doors.push(Door::open(address, "built-in", None, open.clone()).await?);
    }
    if let Some(secure) = &built_in.secure {
        let config = trust::server(secure, base, credentials)?;
        let door = Door::open(secure.address, "built-in-tls", Some(config), open.clone());
        doors.push(door.await?);
    }
    drop(open);
    let mut addresses = doors.iter().map(|door| door.listener.local_addr().ok());
    let plain = built_in.plain.and_then(|_| addresses.next().flatten());
    let secure = built_in.secure.as_ref().and_then(|_| addresses.next().flatten());
    for address in plain.iter().chain(&secure) {
        tracing::info!("The built-in broker listens at {address}.");
    }
    let keeper = tokio::spawn(keep(doors, house.clone(), arrivals.clone(), closed));
    super::tell(&arrivals, LineNews::Up).await;
    Ok(BuiltIn { plain, secure, closing, house, empty, keeper })
}

/// Stays until all doors are shut, and says so if nobody shut them.
async fn keep(
    doors: Vec<Door>,
    house: Arc<House>,
    arrivals: mpsc::Sender<Arrival>,
    closed: watch::Receiver<bool>,
) {
    let mut standing = JoinSet::new();
    for door in doors {
        standing.spawn(door.stand_open(house.clone()));
    }
    standing.spawn(house.sweep());
    while standing.join_next().await.is_some() {
        if !*closed.borrow() {
            let why = "the built-in broker stopped by itself".to_owned();
            super::tell(&arrivals, LineNews::Down { why }).await;
            return;
        }
    }
}
