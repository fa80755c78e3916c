//! The gate between the embedded broker and the inbox: it decides when a sensor hears "I have it".

use std::future::Future;
use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;

use mqtt5::QoS;
use mqtt5::broker::config::{AuthConfig, RateLimitConfig, StorageBackend};
use mqtt5::broker::{
    BrokerConfig, BrokerEventHandler, BrokerShutdownHandle, ClientPublishEvent, MqttBroker,
    PublishAction, StorageConfig,
};
use mqtt5::packet::publish::PublishPacket;
use tokio::net::TcpListener;
use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::JoinHandle;
use tokio::time::timeout;

use crate::line::mqtt::PAYLOAD_MAX;
use crate::line::{Arrival, Receipt, Taker};
use crate::plain::ids::LineName;
use crate::plain::moment::Span;
use crate::sensor::packet::{Packet, Payload};
use crate::watch::event::{Event, LineNews, LineState};

/// The largest packet let in: more than the largest payload, so that what is too large is named and
/// acknowledged, not sent again for ever.
const PACKET_MAX: usize = 1024 * 1024;

/// Sensors, gateways and a few telephones: more is not a farm but a fault.
const CLIENTS_MAX: usize = 200;

/// The same where cameras publish pictures, which the gate takes up to two MiB and a little for the topic.
const PICTURE_PACKET_MAX: usize = 2 * 1024 * 1024 + 64 * 1024;

/// What one client may send in a second. A QoS 1 client cannot get here, because each of its messages
/// waits for the disk: what is over the limit would be acknowledged to it and dropped.
const MESSAGES_A_SECOND: u32 = 10_000;

/// As above, for bytes.
const BYTES_A_SECOND: u64 = 16 * 1024 * 1024;

/// Topics that may hold a retained message. Far above what a farm has (a thousand sensors with ten
/// topics each): one topic more, and the broker would acknowledge it without ever asking the gate.
const RETAINED_MAX: usize = 50_000;

/// How long the session of a client of the farm is kept while it is away.
const SESSION: Duration = Duration::from_secs(7 * 24 * 3600);

/// Messages and bytes kept for a client of the farm that is away; the oldest fall out.
const QUEUE_MAX: usize = 1_000;
const QUEUE_BYTES_MAX: usize = 4 * 1024 * 1024;

/// A sensor that waits is awake and uses its battery: its packet is committed soon.
const PATIENCE: Span = Span::from_millis(200);

/// After this long without a commit (a full disk) the message counts as not taken.
const WAIT_MAX: Duration = Duration::from_secs(30);

/// How long a start may take before something is wrong with it.
const READY_MAX: Duration = Duration::from_secs(10);

/// The broker in this process. Dropped, it stops listening; `shutdown` also waits for it.
pub struct BuiltIn {
    address: SocketAddr,
    closing: watch::Sender<bool>,
    handle: BrokerShutdownHandle,
    task: JoinHandle<()>,
}

impl BuiltIn {
    /// Where it listens.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// Lets every sensor that still waits go without an acknowledgement, and stops listening.
    pub async fn shutdown(mut self) {
        self.closing.send_replace(true);
        self.handle.shutdown();
        // The task only ends; what went wrong in it has been told as news.
        let _ = (&mut self.task).await;
    }
}

impl Drop for BuiltIn {
    fn drop(&mut self) {
        self.closing.send_replace(true);
        self.handle.shutdown();
    }
}

pub(super) async fn start(
    address: SocketAddr,
    taker: Option<Taker>,
    arrivals: mpsc::Sender<Arrival>,
) -> Result<BuiltIn, String> {
    // The broker reports a taken port in words of its own: ask the system first.
    drop(TcpListener::bind(address).await.map_err(|e| cannot_listen(address, &e))?);
    let (closing, closed) = watch::channel(false);
    let gate = Gate { arrivals: arrivals.clone(), closing: closed.clone(), wait: WAIT_MAX, taker };
    let mut broker = MqttBroker::with_config(settings(address, gate))
        .await
        .map_err(|e| format!("the built-in broker cannot listen at {address}: {e}"))?;
    let address = broker.local_addr().unwrap_or(address);
    let handle = broker.shutdown_handle();
    let mut ready = broker.ready_receiver();
    let news = arrivals.clone();
    let task = tokio::spawn(async move {
        let outcome = broker.run().await;
        if !*closed.borrow() {
            let why = match outcome {
                Ok(()) => "the built-in broker stopped by itself".to_owned(),
                Err(e) => format!("the built-in broker stopped: {e}"),
            };
            tell(&news, LineNews::Down { why }).await;
        }
    });
    let built_in = BuiltIn { address, closing, handle, task };
    match timeout(READY_MAX, ready.wait_for(|ready| *ready)).await {
        Ok(Ok(_)) => {}
        Ok(Err(_)) | Err(_) => {
            return Err(format!("the built-in broker at {address} did not start"));
        }
    }
    tracing::info!("The built-in broker listens at {address}.");
    tell(&arrivals, LineNews::Up).await;
    Ok(built_in)
}

fn cannot_listen(address: SocketAddr, error: &io::Error) -> String {
    let port = address.port();
    if error.kind() == io::ErrorKind::AddrInUse {
        format!(
            "another program listens on {address}; if it is a broker, set url instead of built-in \
             under [broker], else give built-in another port"
        )
    } else if error.kind() == io::ErrorKind::AddrNotAvailable {
        format!("this machine has no address {}: correct built-in under [broker]", address.ip())
    } else if error.kind() == io::ErrorKind::PermissionDenied {
        format!("this program may not listen on port {port}: give built-in a port above 1023")
    } else {
        format!("the built-in broker cannot listen at {address}: {error}")
    }
}

fn settings(address: SocketAddr, gate: Gate) -> BrokerConfig {
    let packet_max = if gate.taker.is_some() { PICTURE_PACKET_MAX } else { PACKET_MAX };
    let mut config = BrokerConfig::default()
        .with_bind_address(address)
        .with_max_clients(CLIENTS_MAX)
        .with_max_packet_size(packet_max)
        .with_max_retained_messages(RETAINED_MAX)
        .with_max_retained_message_size(packet_max)
        .with_session_expiry(SESSION)
        .with_sys_topics_enabled(false)
        .with_auth(AuthConfig {
            allow_anonymous: true,
            rate_limit: RateLimitConfig::default(),
            ..AuthConfig::default()
        })
        .with_storage(
            StorageConfig::default()
                .with_backend(StorageBackend::Memory)
                .with_max_queued_messages_per_client(QUEUE_MAX)
                .with_max_queued_bytes_per_client(QUEUE_BYTES_MAX),
        );
    config.max_message_rate_per_client = MESSAGES_A_SECOND;
    config.max_bandwidth_per_client = BYTES_A_SECOND;
    config.event_handler = Some(Arc::new(gate));
    config
}

async fn tell(arrivals: &mpsc::Sender<Arrival>, news: LineNews) {
    // An inbox that is gone belongs to a program that is stopping.
    let _ = arrivals.send(Arrival::plain(line(news))).await;
}

fn line(news: LineNews) -> Event {
    let line = LineName::new("broker");
    Event::Line(LineState { line, news })
}

struct Gate {
    arrivals: mpsc::Sender<Arrival>,
    closing: watch::Receiver<bool>,
    wait: Duration,
    /// Pictures are taken here and never go to the disk, so nobody waits for it.
    taker: Option<Taker>,
}

impl BrokerEventHandler for Gate {
    /// The broker waits for this before it acknowledges.
    fn on_client_publish<'a>(
        &'a self,
        event: ClientPublishEvent,
    ) -> Pin<Box<dyn Future<Output = PublishAction> + Send + 'a>> {
        Box::pin(self.take(event))
    }
}

impl Gate {
    async fn take(&self, event: ClientPublishEvent) -> PublishAction {
        let waits = event.qos != QoS::AtMostOnce;
        if waits && event.packet_id == Some(0) {
            // MQTT 5 section 2.2.1 (MQTT-2.2.1-3) forbids the number 0; the broker lets it pass.
            return unacknowledged(event);
        }
        let mut closing = self.closing.clone();
        let taken = tokio::select! {
            taken = timeout(self.wait, self.hand_on(&event, waits)) => taken.unwrap_or(false),
            _ = closing.wait_for(|closing| *closing) => false,
        };
        if taken || !waits {
            PublishAction::Continue
        } else {
            tracing::warn!(
                "A message on {} was not taken, and its sender is not told otherwise.",
                event.topic
            );
            unacknowledged(event)
        }
    }

    /// True when the message is on disk, or went without a promise.
    async fn hand_on(&self, event: &ClientPublishEvent, waits: bool) -> bool {
        if self.taker.as_ref().is_some_and(|take| take(&event.topic, &event.payload, false)) {
            return true;
        }
        let (confirm, confirmed) = oneshot::channel();
        let receipt = waits.then(|| {
            Receipt::new(PATIENCE, move || {
                // An error means that the wait was given up: the sender comes again.
                let _ = confirm.send(());
            })
        });
        let arrival = Arrival { event: heard(event), receipt };
        if self.arrivals.send(arrival).await.is_err() {
            return false;
        }
        !waits || confirmed.await.is_ok()
    }
}

/// What a sensor publishes with the retain flag is news all the same: it is retained for others.
fn heard(event: &ClientPublishEvent) -> Event {
    let bytes = event.payload.len();
    if bytes > PAYLOAD_MAX {
        let what = format!("a message of {} KiB on {}", bytes / 1024, event.topic);
        return line(LineNews::TooLarge { what });
    }
    Event::Packet(Packet {
        topic: event.topic.to_string(),
        payload: Payload(event.payload.to_vec()),
        retained: false,
    })
}

/// The broker can say yes, or say yes with a message of ours; it cannot say no in a way a 3.1.1 sensor
/// understands. Handed back as QoS 0, the message goes on to the farm's other clients, and its sender
/// hears nothing: it keeps the message and sends it again.
fn unacknowledged(event: ClientPublishEvent) -> PublishAction {
    let packet = PublishPacket::new(event.topic.to_string(), event.payload, QoS::AtMostOnce);
    PublishAction::Transform(packet.with_retain(event.retain))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_message_nobody_commits_in_time_is_not_acknowledged() {
        let (gate, mut inbox, _closing) = gate(Duration::from_millis(20));
        let action = gate.take(published(QoS::AtLeastOnce)).await;
        assert_eq!(as_sent_on(action), Some(QoS::AtMostOnce));
        assert!(inbox.try_recv().is_ok());
    }

    #[tokio::test]
    async fn a_receipt_let_go_is_not_acknowledged() {
        let (gate, mut inbox, _closing) = gate(WAIT_MAX);
        let (action, ()) = tokio::join!(gate.take(published(QoS::AtLeastOnce)), async {
            drop(inbox.recv().await);
        });
        assert_eq!(as_sent_on(action), Some(QoS::AtMostOnce));
    }

    #[tokio::test]
    async fn closing_lets_a_waiting_sensor_go() {
        let (gate, mut inbox, closing) = gate(WAIT_MAX);
        let (action, _kept) = tokio::join!(gate.take(published(QoS::AtLeastOnce)), async {
            let kept = inbox.recv().await;
            closing.send_replace(true);
            kept
        });
        assert_eq!(as_sent_on(action), Some(QoS::AtMostOnce));
    }

    #[tokio::test]
    async fn a_confirmed_message_goes_on_as_it_is() {
        let (gate, mut inbox, _closing) = gate(WAIT_MAX);
        let (action, ()) = tokio::join!(gate.take(published(QoS::AtLeastOnce)), async {
            let receipt = inbox.recv().await.unwrap().receipt.unwrap();
            assert_eq!(receipt.patience, PATIENCE);
            receipt.confirm();
        });
        assert_eq!(as_sent_on(action), None);
    }

    #[tokio::test]
    async fn a_message_without_a_promise_waits_for_nobody() {
        let (gate, mut inbox, _closing) = gate(WAIT_MAX);
        assert_eq!(as_sent_on(gate.take(published(QoS::AtMostOnce)).await), None);
        assert!(inbox.try_recv().unwrap().receipt.is_none());
    }

    /// A picture is acknowledged at once and goes past the inbox; everything else goes as before.
    #[tokio::test]
    async fn a_picture_is_taken_aside_and_waits_for_no_disk() {
        let (mut gate, mut inbox, _closing) = gate(WAIT_MAX);
        let (give, taken) = std::sync::mpsc::channel();
        gate.taker = Some(Arc::new(move |topic, payload, retained| {
            let ours = topic == "yard/cam/cam-1/jpeg";
            if ours {
                give.send((payload.clone(), retained)).unwrap();
            }
            ours
        }));
        let mut event = published(QoS::AtLeastOnce);
        event.topic = "yard/cam/cam-1/jpeg".into();
        assert_eq!(as_sent_on(gate.take(event).await), None);
        assert_eq!(taken.recv().unwrap(), (bytes::Bytes::from_static(b"{}"), false));
        assert!(inbox.try_recv().is_err());
        gate.take(published(QoS::AtMostOnce)).await;
        assert!(inbox.try_recv().is_ok() && taken.try_recv().is_err());
    }

    #[tokio::test]
    async fn the_number_nought_is_not_taken() {
        let (gate, mut inbox, _closing) = gate(WAIT_MAX);
        let mut event = published(QoS::AtLeastOnce);
        event.packet_id = Some(0);
        assert_eq!(as_sent_on(gate.take(event).await), Some(QoS::AtMostOnce));
        assert!(inbox.try_recv().is_err());
    }

    #[tokio::test]
    async fn a_broker_that_ends_unasked_is_news() {
        let (arrivals, mut inbox) = mpsc::channel(8);
        let anywhere = SocketAddr::from(([127, 0, 0, 1], 0));
        let built_in = start(anywhere, None, arrivals).await.unwrap();
        built_in.handle.shutdown();
        let mut news = Vec::new();
        while news.len() < 2 {
            news.push(inbox.recv().await.unwrap().event);
        }
        let why = "the built-in broker stopped by itself".to_owned();
        assert_eq!(news, [line(LineNews::Up), line(LineNews::Down { why })]);
    }

    fn gate(wait: Duration) -> (Gate, mpsc::Receiver<Arrival>, watch::Sender<bool>) {
        let (arrivals, inbox) = mpsc::channel(8);
        let (closing, closed) = watch::channel(false);
        let gate = Gate { arrivals, closing: closed, wait, taker: None };
        (gate, inbox, closing)
    }

    fn published(qos: QoS) -> ClientPublishEvent {
        ClientPublishEvent {
            client_id: "t-07".into(),
            user_id: None,
            topic: "yard/tail/t-07/state".into(),
            payload: bytes::Bytes::from_static(b"{}"),
            qos,
            retain: false,
            packet_id: Some(1),
            response_topic: None,
            correlation_data: None,
        }
    }

    /// The QoS of a message put in the place of the sensor's own.
    fn as_sent_on(action: PublishAction) -> Option<QoS> {
        match action {
            PublishAction::Transform(packet) => Some(packet.qos),
            PublishAction::Continue | PublishAction::Handled => None,
        }
    }
}
