//! The built-in broker, for farms that have none.
//!
//! A sensor's QoS 1 message is acknowledged only after its packet is on disk: no queue of any broker
//! promises more. It keeps nothing itself but retained messages and sessions in memory; the journal
//! is the memory of the farm. It asks nobody for a name, so it refuses to listen where strangers are.

use std::net::{IpAddr, SocketAddr};

use tokio::sync::mpsc;

use crate::line::{Arrival, Taker};

#[cfg(feature = "broker")]
mod gate;

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

    pub async fn shutdown(self) {
        match self {}
    }
}

/// Listens at `address` and hands every message published there to `arrivals`.
pub async fn start(
    address: SocketAddr,
    arrivals: mpsc::Sender<Arrival>,
) -> Result<BuiltIn, String> {
    start_beside(address, None, arrivals).await
}

/// The same, but for the messages that `taker` takes.
#[cfg(feature = "broker")]
pub async fn start_beside(
    address: SocketAddr,
    taker: Option<Taker>,
    arrivals: mpsc::Sender<Arrival>,
) -> Result<BuiltIn, String> {
    may_listen(address)?;
    if !address.ip().is_loopback() {
        tracing::warn!(
            "The built-in broker at {address} asks nobody for a password: anyone on that network can speak as a sensor."
        );
    }
    gate::start(address, taker, arrivals).await
}

#[cfg(not(feature = "broker"))]
pub async fn start_beside(
    address: SocketAddr,
    _taker: Option<Taker>,
    _arrivals: mpsc::Sender<Arrival>,
) -> Result<BuiltIn, String> {
    may_listen(address)?;
    Err(format!(
        "this program was built without a broker of its own, so nothing listens at {address}: \
         set url instead of built-in under [broker], or build with the feature broker"
    ))
}

fn may_listen(address: SocketAddr) -> Result<(), String> {
    let inside = match address.ip() {
        IpAddr::V4(ip) => ip.is_loopback() || ip.is_private() || ip.is_link_local(),
        IpAddr::V6(ip) => ip.is_loopback() || ip.is_unique_local() || ip.is_unicast_link_local(),
    };
    if inside {
        Ok(())
    } else {
        Err(format!(
            "the built-in broker does not listen at {address}: it asks nobody for a password, and \
             strangers may reach that address; name this machine's own address on the farm's network, \
             such as 192.168.1.20:1883"
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_listens_only_where_strangers_do_not_come() {
        for inside in [
            "127.0.0.1:1883",
            "[::1]:1883",
            "192.168.1.20:1883",
            "10.0.0.2:1883",
            "172.16.9.9:1883",
            "[fd00::20]:1883",
        ] {
            assert_eq!(may_listen(inside.parse().unwrap()), Ok(()), "{inside}");
        }
        // 192.0.2.0/24 and 2001:db8::/32 are documentation addresses (RFC 5737, RFC 3849).
        for outside in ["0.0.0.0:1883", "[::]:1883", "192.0.2.7:1883", "[2001:db8::7]:1883"] {
            assert!(may_listen(outside.parse().unwrap()).is_err(), "{outside}");
        }
    }
    #[cfg(not(feature = "broker"))]
    #[tokio::test]
    async fn without_the_feature_it_says_what_to_do() {
        let (arrivals, _inbox) = mpsc::channel(1);
        let why = start("127.0.0.1:1883".parse().unwrap(), arrivals).await.unwrap_err();
        assert_eq!(
            why,
            "this program was built without a broker of its own, so nothing listens at \
             127.0.0.1:1883: set url instead of built-in under [broker], or build with the feature broker"
        );
    }
}
