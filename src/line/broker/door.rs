//! Where clients come in: plain or with TLS, one after the other, none in the way of the next.
//!
//! A peer that says nothing costs a seat for ten seconds and nobody else anything.

use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use mqtt5::broker::tls_acceptor::TlsStreamWrapper;
use mqtt5::broker::transport::BrokerTransport;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc};
use tokio::time::{sleep, timeout};
use tokio_rustls::TlsAcceptor;

use super::house::House;
use crate::config::built_in::is_inside;
use crate::watch::event::Misdeed;

/// From the first byte to the last of a beginning of TLS: seconds on a Pi, with a poor radio.
const HANDSHAKE_MAX: Duration = Duration::from_secs(10);

/// Beginnings worked on at one time: each costs a Pi milliseconds of all it has.
const HANDSHAKES_AT_ONCE: usize = 16;

/// When the system has no more sockets to give, asking again at once is no help.
const ACCEPT_AGAIN: Duration = Duration::from_millis(200);

/// One address that is listened at.
pub(super) struct Door {
    pub(super) listener: TcpListener,
    tls: Option<Tls>,
    /// Held by every connection, so that a shutdown can wait for the last.
    open: mpsc::Sender<()>,
}

#[derive(Clone)]
struct Tls {
    acceptor: TlsAcceptor,
    at_once: Arc<Semaphore>,
}

impl Door {
    pub(super) async fn open(
        address: SocketAddr,
        key: &str,
        tls: Option<Arc<rustls::ServerConfig>>,
        open: mpsc::Sender<()>,
    ) -> Result<Self, String> {
        let listener =
            TcpListener::bind(address).await.map_err(|e| cannot_listen(address, key, &e))?;
        let tls = tls.map(|config| Tls {
            acceptor: TlsAcceptor::from(config),
            at_once: Arc::new(Semaphore::new(HANDSHAKES_AT_ONCE)),
        });
        Ok(Self { listener, tls, open })
    }

    /// Lets clients in until the house closes.
    pub(super) async fn stand_open(self, house: Arc<House>) {
        let mut closing = house.closing.clone();
        loop {
            let accepted = tokio::select! {
                accepted = self.listener.accept() => accepted,
                _ = closing.wait_for(|closing| *closing) => return,
            };
            match accepted {
                Ok((stream, from)) => self.let_in(&house, stream, from),
                Err(e) => {
                    tracing::warn!("The built-in broker could not take a connection: {e}.");
                    sleep(ACCEPT_AGAIN).await;
                }
            }
        }
    }

    fn let_in(&self, house: &Arc<House>, stream: TcpStream, from: SocketAddr) {
        let ip = from.ip().to_canonical();
        if !is_inside(ip) && (self.tls.is_none() || !house.asks_who) {
            let what = format!("a connection from {ip}");
            let why = "that is not the farm's own network";
            house.news.tell(Misdeed::Outside, ip, &what, why);
            return;
        }
        let Some(no) = house.enter(ip) else { return };
        let (house, tls, open) = (house.clone(), self.tls.clone(), self.open.clone());
        tokio::spawn(async move {
            // In a task of its own, so that its seat is free again even if it panics.
            let (inner, at) = (house.clone(), from);
            let done = tokio::spawn(async move {
                let Some(transport) = greet(&inner, tls, stream, at).await else { return };
                inner.serve(no, at, transport).await;
            });
            if done.await.is_err() {
                tracing::warn!("The built-in broker broke off a connection from {from}.");
            }
            house.leave(ip, no);
            drop(open);
        });
    }
}

async fn greet(
    house: &Arc<House>,
    tls: Option<Tls>,
    stream: TcpStream,
    from: SocketAddr,
) -> Option<BrokerTransport> {
    // Small packets must not wait for each other; without it they only come later.
    let _ = stream.set_nodelay(true);
    let Some(tls) = tls else {
        return Some(BrokerTransport::tcp(stream));
    };
    let mut closing = house.closing.clone();
    let shaken = tokio::select! {
        shaken = timeout(HANDSHAKE_MAX, shake(&tls, stream)) => shaken,
        _ = closing.wait_for(|closing| *closing) => return None,
    };
    let why = match shaken {
        Ok(Ok(stream)) => return Some(BrokerTransport::tls(TlsStreamWrapper::new(stream))),
        Ok(Err(e)) => format!("{e}"),
        Err(_) => format!("it was not done within {} s", HANDSHAKE_MAX.as_secs()),
    };
    let ip = from.ip().to_canonical();
    house.news.tell(Misdeed::Handshake, ip, &format!("a beginning of TLS from {ip}"), &why);
    None
}

async fn shake(
    tls: &Tls,
    stream: TcpStream,
) -> io::Result<tokio_rustls::server::TlsStream<TcpStream>> {
    // Whoever says nothing takes nobody's turn.
    stream.peek(&mut [0]).await?;
    let _turn = tls.at_once.acquire().await.map_err(io::Error::other)?;
    tls.acceptor.accept(stream).await
}

fn cannot_listen(address: SocketAddr, key: &str, error: &io::Error) -> String {
    let port = address.port();
    if error.kind() == io::ErrorKind::AddrInUse {
        format!(
            "another program listens on {address}; if it is a broker, set url instead of built-in \
             under [broker], else give {key} another port"
        )
    } else if error.kind() == io::ErrorKind::AddrNotAvailable {
        format!("this machine has no address {}: correct {key} under [broker]", address.ip())
    } else if error.kind() == io::ErrorKind::PermissionDenied {
        format!("this program may not listen on port {port}: give {key} a port above 1023")
    } else {
        format!("the built-in broker cannot listen at {address}: {error}")
    }
}
