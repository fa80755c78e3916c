//! What a connection is made of, from the settings and the files they name.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use super::PACKET_MAX;
use super::own::Own;
use crate::config::farm::{Broker, BrokerWay, MqttVersion};
use crate::line::secret::{self, Secret};
use crate::line::trust;
use crate::plain::moment::Span;

/// MQTT counts the keep alive in seconds, in sixteen bits.
const KEEP_ALIVE_MOST: i64 = 65_535;

#[derive(Clone)]
pub(super) struct Terms {
    pub(super) version: MqttVersion,
    pub(super) host: String,
    pub(super) port: u16,
    pub(super) tls: Option<Arc<rustls::ClientConfig>>,
    pub(super) client_id: String,
    pub(super) user: Option<(String, Option<Secret>)>,
    pub(super) keep_alive: Duration,
    pub(super) packet_max: u32,
    /// Leave the kept session behind.
    pub(super) fresh: bool,
    /// Come, look and go: the broker keeps nothing for us afterwards.
    pub(super) passing: bool,
    pub(super) patience: Span,
    /// Our own topics, where we are the farm's watch and no passing visitor.
    pub(super) own: Option<Own>,
}

impl Terms {
    /// Those of the farm's watch.
    pub(super) fn of(
        broker: &Broker,
        base: &Path,
        credentials: Option<&Path>,
    ) -> Result<Self, String> {
        if matches!(broker.way, BrokerWay::BuiltIn { .. }) {
            return Err("this farm is its own broker: there is none to connect to".to_owned());
        }
        if broker.client_id.is_empty() {
            return Err(
                "client-id under [broker] is empty: without one no session is kept".to_owned()
            );
        }
        let terms = Self::of_visitor(broker, base, credentials, broker.client_id.clone())?;
        Ok(Self { passing: false, own: Some(Own::new(broker)), ..terms })
    }

    /// Those of somebody who looks in under another name, at our own broker too.
    pub(super) fn of_visitor(
        broker: &Broker,
        base: &Path,
        credentials: Option<&Path>,
        client_id: String,
    ) -> Result<Self, String> {
        let (host, port, tls) = match &broker.way {
            BrokerWay::Url { host, port, tls } => (host.clone(), *port, *tls),
            BrokerWay::BuiltIn(built_in) => {
                let (address, tls) = built_in.door();
                (address.ip().to_string(), address.port(), tls)
            }
        };
        let password = broker
            .password_file
            .as_ref()
            .map(|name| secret::read(base, credentials, name))
            .transpose()?;
        if tls && host.contains(':') {
            return Err(format!("{host} cannot be used with mqtts: give the broker by name"));
        }
        let ca = broker.ca.as_ref().map(|name| base.join(name));
        let identity = broker.identity.as_ref().map(|identity| {
            let key = secret::place(base, credentials, &identity.key_file);
            (base.join(&identity.certificate), key)
        });
        let identity = identity.as_ref().map(|(certificate, key)| (&**certificate, &**key));
        let tls = tls.then(|| trust::client_as(ca.as_deref(), identity)).transpose()?;
        let seconds = broker.keep_alive.whole_seconds().clamp(1, KEEP_ALIVE_MOST);
        Ok(Self {
            version: broker.version,
            host: bracketed(&host),
            port,
            tls,
            client_id,
            user: broker.user.clone().map(|user| (user, password)),
            keep_alive: Duration::from_secs(seconds.unsigned_abs()),
            packet_max: PACKET_MAX,
            fresh: false,
            passing: true,
            patience: broker.group,
            own: None,
        })
    }

    pub(super) fn place(&self) -> String {
        format!("{}:{}", self.host, self.port)
    }
}

/// The library joins host and port with a colon: an IPv6 address needs its brackets.
fn bracketed(host: &str) -> String {
    if host.parse::<std::net::Ipv6Addr>().is_ok() { format!("[{host}]") } else { host.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_with_colons_gets_its_brackets() {
        assert_eq!(bracketed("::1"), "[::1]");
        assert_eq!(bracketed("[::1]"), "[::1]");
        assert_eq!(bracketed("127.0.0.1"), "127.0.0.1");
        assert_eq!(bracketed("broker.hollowbank.example"), "broker.hollowbank.example");
    }
}
