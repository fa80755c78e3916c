//! What all connections share, and the library's own parts put together.
//!
//! The library's server is not used: its doors wait for one guest's TLS before they look at the next,
//! and know no addresses. Its sessions, its router and its packets are.

use std::net::IpAddr;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use mqtt5::QoS;
use mqtt5::broker::client_handler::ClientHandler;
use mqtt5::broker::resource_monitor::{ResourceLimits, ResourceMonitor};
use mqtt5::broker::router::MessageRouter;
use mqtt5::broker::storage::QueueLimits;
use mqtt5::broker::sys_topics::BrokerStats;
use mqtt5::broker::transport::BrokerTransport;
use mqtt5::broker::{BrokerConfig, DynamicStorage, MemoryBackend, StorageBackend};
use mqtt5::error::MqttError;
use mqtt5::packet::publish::PublishPacket;
use tokio::sync::{broadcast, mpsc, watch};

use super::guest::{Asking, Guest};
use super::lock;
use super::news::News;
use super::rights::Users;
use super::roll::{Full, Roll};
use crate::config::built_in::{BuiltIn, Limits};
use crate::line::{Arrival, Taker};
use crate::watch::event::Misdeed;

/// Topics that may hold a retained message. Far above what a farm has (a thousand sensors with ten
/// topics each): one topic more, and the broker would acknowledge it without ever asking the gate.
const RETAINED_MAX: usize = 50_000;

/// How long the session of a client of the farm is kept while it is away.
const SESSION: Duration = Duration::from_secs(7 * 24 * 3600);

/// Messages and bytes kept for a client of the farm that is away; the oldest fall out.
const QUEUE_MAX: usize = 1_000;
const QUEUE_BYTES_MAX: usize = 4 * 1024 * 1024;

/// Subscriptions of one client: more are a list nobody reads.
const SUBSCRIPTIONS_MAX: usize = 1_000;

/// How often sessions and queues that have run out are thrown away.
const SWEEP_EVERY: Duration = Duration::from_secs(60);

/// A still picture of a barn camera has some hundred kilobytes; up to two MiB, and a little for the topic.
const PICTURE_PACKET: u64 = 2 * 1024 * 1024 + 64 * 1024;

/// After this long without a commit (a full disk) the message counts as not taken.
pub(super) const WAIT_MAX: Duration = Duration::from_secs(30);

/// What all connections share.
pub(super) struct House {
    pub(super) arrivals: mpsc::Sender<Arrival>,
    pub(super) closing: watch::Receiver<bool>,
    pub(super) wait: Duration,
    pub(super) limits: Limits,
    pub(super) users: Users,
    pub(super) roll: Mutex<Roll>,
    pub(super) news: News,
    /// Whether everybody must show who they are.
    pub(super) asks_who: bool,
    /// Pictures are taken by it and never go to the disk, so nobody waits for that.
    pub(super) taker: Option<Taker>,
    parts: Parts,
}

/// The library's parts.
struct Parts {
    config: BrokerConfig,
    router: Arc<MessageRouter>,
    storage: Arc<DynamicStorage>,
    stats: Arc<BrokerStats>,
    monitor: Arc<ResourceMonitor>,
    shutdown: broadcast::Sender<()>,
}

impl House {
    pub(super) fn build(
        built_in: &BuiltIn,
        base: &Path,
        credentials: Option<&Path>,
        arrivals: mpsc::Sender<Arrival>,
        closing: watch::Receiver<bool>,
    ) -> Result<Self, String> {
        Ok(Self {
            users: Users::read(built_in, base, credentials)?,
            limits: built_in.limits,
            news: News::new(arrivals.clone()),
            roll: Mutex::default(),
            wait: WAIT_MAX,
            asks_who: built_in.asks_who(),
            taker: None,
            parts: Parts::build(&built_in.limits),
            arrivals,
            closing,
        })
    }

    /// Where cameras publish pictures, larger packets are let in.
    pub(super) fn with(mut self, taker: Option<Taker>) -> Self {
        if taker.is_some() {
            self.limits.packet = self.limits.packet.max(PICTURE_PACKET);
            self.parts = Parts::build(&self.limits);
        }
        Self { taker, ..self }
    }

    /// Takes a seat for whoever comes from there, if there is one.
    pub(super) fn enter(&self, from: IpAddr) -> Option<u64> {
        let full = match lock(&self.roll).enter(from, &self.limits) {
            Ok(no) => return Some(no),
            Err(full) => full,
        };
        let why = match full {
            Full::House => format!("there is room for {}", self.limits.connections),
            Full::Address => {
                format!("there is room for {} of one address", self.limits.per_address)
            }
        };
        self.news.tell(Misdeed::Crowd, from, &format!("a connection from {from}"), &why);
        None
    }

    pub(super) fn leave(&self, from: IpAddr, no: u64) {
        lock(&self.roll).leave(from, no);
    }

    /// Speaks with one client until it goes.
    pub(super) async fn serve(
        self: Arc<Self>,
        no: u64,
        from: std::net::SocketAddr,
        transport: BrokerTransport,
    ) {
        let ip = from.ip().to_canonical();
        let guest = Arc::new(Guest::new(no, ip, self.clone()));
        let asking = Arc::new(Asking(guest.clone()));
        let config = self.parts.config.clone().with_event_handler(asking.clone());
        let handler = ClientHandler::new(
            transport,
            from,
            Arc::new(config),
            self.parts.router.clone(),
            asking,
            Some(self.parts.storage.clone()),
            self.parts.stats.clone(),
            self.parts.monitor.clone(),
            self.parts.shutdown.subscribe(),
        );
        let ended = handler.run().await;
        guest.gone();
        if let Err(MqttError::PacketTooLarge { size, .. }) = ended {
            guest.too_large(size);
        }
    }

    /// A message of ours, kept for whoever asks.
    pub(super) async fn keep(&self, topic: &str, payload: &str) {
        let mut publish = PublishPacket::new(topic, payload.as_bytes().to_vec(), QoS::AtLeastOnce);
        publish.retain = true;
        self.parts.router.route_message(&publish, None).await;
    }

    /// Throws away what has run out, until the house closes.
    pub(super) async fn sweep(self: Arc<Self>) {
        let mut closing = self.closing.clone();
        loop {
            tokio::select! {
                () = tokio::time::sleep(SWEEP_EVERY) => {}
                _ = closing.wait_for(|closing| *closing) => return,
            }
            if let Err(e) = self.parts.storage.cleanup_expired().await {
                tracing::warn!("The built-in broker could not tidy its sessions: {e}.");
            }
            self.parts.router.sweep_sessions().await;
        }
    }

    /// Every client is let go.
    pub(super) fn let_all_go(&self) {
        // An error means that nobody is here.
        let _ = self.parts.shutdown.send(());
    }
}

impl Parts {
    fn build(limits: &Limits) -> Self {
        let packet = usize::try_from(limits.packet).unwrap_or(usize::MAX);
        let config = BrokerConfig::default()
            .with_max_clients(usize::try_from(limits.connections).unwrap_or(usize::MAX))
            .with_max_packet_size(packet)
            .with_max_retained_messages(RETAINED_MAX)
            .with_max_retained_message_size(packet)
            .with_max_subscriptions_per_client(SUBSCRIPTIONS_MAX)
            .with_session_expiry(SESSION)
            .with_sys_topics_enabled(false);
        let queue = QueueLimits { max_messages: QUEUE_MAX, max_bytes: QUEUE_BYTES_MAX };
        let storage = Arc::new(DynamicStorage::Memory(MemoryBackend::with_queue_limits(queue)));
        let router =
            MessageRouter::with_storage(storage.clone()).with_retained_limits(RETAINED_MAX, packet);
        // It counts connections of its own accord and would answer "yes" to a message it drops: the
        // roll counts them, and the pace makes clients wait instead.
        let monitor = ResourceMonitor::new(ResourceLimits {
            max_connections: usize::MAX,
            max_connections_per_ip: usize::MAX,
            max_message_rate_per_client: 0,
            max_bandwidth_per_client: 0,
            max_connection_rate: u32::MAX,
            ..ResourceLimits::default()
        });
        Self {
            config,
            router: Arc::new(router),
            storage,
            stats: Arc::new(BrokerStats::new()),
            monitor: Arc::new(monitor),
            shutdown: broadcast::Sender::new(1),
        }
    }
}
