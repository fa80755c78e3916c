//! The built-in broker, for farms that have none.
//!
//! A sensor's QoS 1 message is acknowledged only after its packet is on disk: no queue of any broker
//! promises more. It keeps nothing itself but retained messages and sessions in memory; the journal
//! is the memory of the farm. Whom it does not know it refuses, once it has been told of anybody.

use std::net::SocketAddr;
use std::path::Path;

use tokio::sync::mpsc;

use crate::config::built_in;
use crate::line::{Arrival, Taker};

#[cfg(feature = "broker")]
mod door;
#[cfg(feature = "broker")]
mod gate;
#[cfg(feature = "broker")]
mod guest;
#[cfg(feature = "broker")]
mod house;
#[cfg(feature = "broker")]
mod news;
#[cfg(feature = "broker")]
mod pace;
#[cfg(feature = "broker")]
mod rights;
#[cfg(feature = "broker")]
mod roll;

#[cfg(feature = "broker")]
pub use gate::BuiltIn;

/// Without the feature there is nothing to hold.
#[cfg(not(feature = "broker"))]
#[derive(Debug)]
pub enum BuiltIn {}

#[cfg(not(feature = "broker"))]
impl BuiltIn {
    pub fn address(&self) -> SocketAddr {
        match *self {}
    }

    pub fn secure_address(&self) -> Option<SocketAddr> {
        match *self {}
    }

    pub async fn shutdown(self) {
        match self {}
    }

    #[expect(clippy::unused_async, reason = "the broker that there is waits")]
    pub async fn keep(&self, _topic: &str, _payload: &str) {
        match *self {}
    }
}

/// Listens as the settings say and hands every message published there to `arrivals`, but for those
/// that `taker` takes. Files are named relative to `base`, or found by name among systemd's
/// `credentials`.
#[cfg(feature = "broker")]
pub async fn start(
    built_in: &built_in::BuiltIn,
    base: &Path,
    credentials: Option<&Path>,
    taker: Option<Taker>,
    arrivals: mpsc::Sender<Arrival>,
) -> Result<BuiltIn, String> {
    if let Some(address) = listens_openly(built_in) {
        tracing::warn!(
            "The built-in broker at {address} asks nobody for a password: anyone on that network can speak as a sensor."
        );
    }
    gate::start(built_in, base, credentials, taker, arrivals).await
}

#[cfg(not(feature = "broker"))]
pub async fn start(
    built_in: &built_in::BuiltIn,
    _base: &Path,
    _credentials: Option<&Path>,
    _taker: Option<Taker>,
    _arrivals: mpsc::Sender<Arrival>,
) -> Result<BuiltIn, String> {
    let secure = built_in.secure.as_ref().map(|secure| secure.address);
    let addresses: Vec<String> =
        built_in.plain.into_iter().chain(secure).map(|address| address.to_string()).collect();
    Err(format!(
        "this program was built without a broker of its own, so nothing listens at {}: \
         set url instead of built-in under [broker], or build with the feature broker",
        addresses.join(" and ")
    ))
}

/// An address that others reach and where nobody is asked who they are.
#[cfg(feature = "broker")]
fn listens_openly(built_in: &built_in::BuiltIn) -> Option<SocketAddr> {
    let secure = built_in.secure.as_ref().map(|secure| secure.address);
    let mut addresses = built_in.plain.into_iter().chain(secure);
    addresses.find(|address| !address.ip().is_loopback() && !built_in.asks_who())
}

/// Nothing is left half done while one of these locks is held, so a panic elsewhere spoils nothing.
#[cfg(feature = "broker")]
fn lock<T>(mutex: &std::sync::Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

#[cfg(feature = "broker")]
async fn tell(arrivals: &mpsc::Sender<Arrival>, news: crate::watch::event::LineNews) {
    // An inbox that is gone belongs to a program that is stopping.
    let _ = arrivals.send(Arrival::plain(line(news))).await;
}

#[cfg(feature = "broker")]
fn line(news: crate::watch::event::LineNews) -> crate::watch::event::Event {
    let line = crate::plain::ids::LineName::new("broker");
    crate::watch::event::Event::Line(crate::watch::event::LineState { line, news })
}

#[cfg(all(test, not(feature = "broker")))]
mod tests {
    use super::*;

    #[tokio::test]
    async fn without_the_feature_it_says_what_to_do() {
        let (arrivals, _inbox) = mpsc::channel(1);
        let built_in = built_in::BuiltIn {
            plain: Some("127.0.0.1:1883".parse().unwrap()),
            secure: None,
            users: Vec::new(),
            anonymous: None,
            limits: built_in::Limits::default(),
        };
        let why = start(&built_in, Path::new("."), None, arrivals).await.unwrap_err();
        assert_eq!(
            why,
            "this program was built without a broker of its own, so nothing listens at \
             127.0.0.1:1883: set url instead of built-in under [broker], or build with the feature broker"
        );
    }
}
