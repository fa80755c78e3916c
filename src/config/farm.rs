//! The farm itself and how it reaches its broker.

use crate::plain::moment::Span;
use crate::plain::zone::Zone;

/// `[farm]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Farm {
    pub name: String,
    pub zone: Zone,
    /// ISO 3166 two-letter code, for telephone numbers and legal deadlines.
    pub country: String,
    pub species: String,
    /// The herd file's name as written, if there is one.
    pub herd: Option<String>,
    /// The one folder that must survive a reboot, as written: relative to `farm.toml`.
    pub data: String,
    /// How long "going" stands before the alert goes round again.
    pub promise: Span,
}

/// `[broker]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Broker {
    pub way: BrokerWay,
    pub version: MqttVersion,
    pub user: Option<String>,
    pub password_file: Option<String>,
    /// A PEM file of certificate authorities to trust besides the system's, for `mqtts`.
    pub ca: Option<String>,
    pub client_id: String,
    pub keep_alive: Span,
    /// A filter on which people's words arrive; `{person}` names who speaks.
    pub answers: Option<String>,
    /// How long packets that moved nothing may wait for their commit.
    pub group: Span,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BrokerWay {
    Url {
        host: String,
        port: u16,
        tls: bool,
    },
    /// Be the broker, listening here.
    BuiltIn {
        address: std::net::SocketAddr,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MqttVersion {
    Five,
    ThreeOneOne,
}
