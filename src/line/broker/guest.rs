//! One connection, from its greeting to its last will, as the library asks about it.
//!
//! Each has its own, so that whatever happens can be told with the address it came from. It decides
//! when a sensor hears "I have it"; who may come in stands in `rights`, how many in `roll`.

use std::future::Future;
use std::net::IpAddr;
use std::pin::Pin;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use mqtt5::QoS;
use mqtt5::broker::{
    AuthProvider, AuthResult, BrokerEventHandler, ClientDisconnectEvent, ClientPublishEvent,
    PublishAction,
};
use mqtt5::packet::connect::ConnectPacket;
use mqtt5::packet::publish::PublishPacket;
use mqtt5::types::ReasonCode;
use tokio::sync::oneshot;
use tokio::time::{Instant, sleep, timeout};

use super::house::House;
use super::lock;
use super::pace::{PATIENCE, Pace};
use super::rights::LetIn;
use crate::line::mqtt::PAYLOAD_MAX;
use crate::line::{Arrival, Receipt};
use crate::sensor::packet::{Packet, Payload};
use crate::watch::event::{Event, LineNews, Misdeed};

/// Being slowed down by less than this is nothing to tell of.
const NOTICED: Duration = Duration::from_millis(500);

type Asked<'a, T> = Pin<Box<dyn Future<Output = T> + Send + 'a>>;

/// What is known of one connection.
pub(super) struct Guest {
    no: u64,
    from: IpAddr,
    house: Arc<House>,
    met: Mutex<Met>,
    pace: Mutex<Pace>,
}

/// What it said when it came.
#[derive(Default)]
struct Met {
    client: String,
    let_in: Option<LetIn>,
    /// What it wants said when it is lost.
    will: Option<Packet>,
    /// The library is done with it: whatever it is asked about from now on is the will.
    leaving: bool,
}

impl Guest {
    pub(super) fn new(no: u64, from: IpAddr, house: Arc<House>) -> Self {
        let pace = Mutex::new(Pace::new(&house.limits, Instant::now()));
        Self { no, from, house, met: Mutex::default(), pace }
    }

    /// Somebody sent more at once than is let in, and has been cut off.
    pub(super) fn too_large(&self, bytes: usize) {
        let what = format!("a packet of {} KiB from {}", bytes / 1024, self.who());
        let why = format!("at most {} KiB are taken", self.house.limits.packet / 1024);
        self.house.news.tell(Misdeed::Packet, self.from, &what, &why);
    }

    /// The connection is over.
    pub(super) fn gone(&self) {
        let client = lock(&self.met).client.clone();
        let twin = lock(&self.house.roll).is_gone(&client, self.no, Instant::now());
        if let Some(other) = twin {
            let what = format!("client {} at {}", client, self.from);
            let why = format!("one of the same name came from {other} and took its place");
            self.house.news.tell(Misdeed::Twin, self.from, &what, &why);
        }
    }

    fn who(&self) -> String {
        let met = lock(&self.met);
        if met.client.is_empty() {
            self.from.to_string()
        } else {
            // The address first: a client may call itself something long.
            format!("{} as {}", self.from, met.client)
        }
    }

    async fn let_in(&self, connect: &ConnectPacket) -> AuthResult {
        let name = connect.username.as_deref();
        let what = || format!("a login as {} from {}", name.unwrap_or("nobody"), self.from);
        let refused = |why: &str, code| {
            self.house.news.tell(Misdeed::Login, self.from, &what(), why);
            AuthResult::fail(code)
        };
        let house = &self.house;
        if !house.users.is_open() && lock(&house.roll).must_wait(self.from, name, Instant::now()) {
            let why = "after so many wrong passwords that address waits a minute";
            return refused(why, ReasonCode::ServerUnavailable);
        }
        let password = connect.password.as_deref().unwrap_or_default();
        let Some(let_in) = house.users.let_in(name, password).await else {
            lock(&house.roll).fails(self.from, &house.limits, Instant::now());
            let why = match name {
                Some(_) => "no user has that name and password",
                None => "it says no name, and anonymous is not allowed",
            };
            return refused(why, ReasonCode::BadUsernameOrPassword);
        };
        let client = &connect.client_id;
        {
            let mut roll = lock(&house.roll);
            if name.is_some() && !house.users.is_open() {
                roll.proves(self.from, let_in.name.clone());
            }
            if !roll.calls_itself(client, self.no, self.from, &let_in.name) {
                drop(roll);
                let what = format!("client {client} of user {} at {}", let_in.name, self.from);
                let why = "a client of that name and another user is here";
                house.news.tell(Misdeed::Twin, self.from, &what, why);
                return AuthResult::fail(ReasonCode::ClientIdentifierNotValid);
            }
        }
        let user = let_in.name.to_string();
        *lock(&self.met) = Met {
            client: client.clone(),
            let_in: Some(let_in),
            will: connect.will.as_ref().map(|will| Packet {
                topic: will.topic.clone(),
                payload: Payload(will.payload.clone()),
                retained: false,
            }),
            leaving: false,
        };
        AuthResult::success_with_user(user)
    }

    fn may_write(&self, topic: &str) -> bool {
        let let_in = lock(&self.met).let_in.clone();
        let may = let_in.is_some_and(|let_in| let_in.rules.may_write(topic));
        if !may {
            let what = format!("a message on {topic} from {}", self.who());
            self.house.news.tell(Misdeed::Topic, self.from, &what, "it may not write there");
        }
        may
    }

    fn may_read(&self, filter: &str) -> bool {
        let let_in = lock(&self.met).let_in.clone();
        let may = let_in.is_some_and(|let_in| let_in.rules.may_read(filter));
        if !may {
            let what = format!("a subscription to {filter} from {}", self.who());
            self.house.news.tell(Misdeed::Topic, self.from, &what, "it may not read there");
        }
        may
    }

    /// The library publishes a last will by itself and asks only whether it may: that is the moment.
    async fn last_will(&self, topic: &str) -> bool {
        if *self.house.closing.borrow() {
            // It is we who go, not the sensor.
            return false;
        }
        if !self.may_write(topic) {
            return false;
        }
        let will = lock(&self.met).will.take();
        if let Some(packet) = will.filter(|packet| packet.topic == topic) {
            // Nobody can send it again, so it does not wait for its group.
            let receipt = Some(Receipt::new(PATIENCE, || {}));
            let arrival = Arrival { event: heard(packet), receipt };
            let _ = self.house.arrivals.send(arrival).await;
        }
        true
    }

    async fn take(&self, event: ClientPublishEvent) -> PublishAction {
        let waits = event.qos != QoS::AtMostOnce;
        if waits && event.packet_id == Some(0) {
            // MQTT 5 section 2.2.1 (MQTT-2.2.1-3) forbids the number 0; the broker lets it pass.
            return unacknowledged(event);
        }
        self.slow_down(event.payload.len()).await;
        let mut closing = self.house.closing.clone();
        let taken = tokio::select! {
            taken = timeout(self.house.wait, self.hand_on(&event, waits)) => taken.unwrap_or(false),
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

    async fn slow_down(&self, bytes: usize) {
        let wait = lock(&self.pace).wait(bytes, Instant::now());
        if wait.is_zero() {
            return;
        }
        if wait >= NOTICED {
            let what = format!("so many messages from {}", self.who());
            self.house.news.tell(Misdeed::Haste, self.from, &what, "it is made to wait");
        }
        let mut closing = self.house.closing.clone();
        tokio::select! {
            () = sleep(wait) => {}
            _ = closing.wait_for(|closing| *closing) => {}
        }
    }

    /// True when the message is on disk, or went without a promise.
    async fn hand_on(&self, event: &ClientPublishEvent, waits: bool) -> bool {
        let taker = self.house.taker.as_ref();
        if taker.is_some_and(|take| take(&event.topic, &event.payload, false)) {
            return true;
        }
        let (confirm, confirmed) = oneshot::channel();
        let receipt = waits.then(|| {
            let patience = lock(&self.pace).patience(Instant::now());
            Receipt::new(patience, move || {
                // An error means that the wait was given up: the sender comes again.
                let _ = confirm.send(());
            })
        });
        let packet = Packet {
            topic: event.topic.to_string(),
            payload: Payload(event.payload.to_vec()),
            // What a sensor publishes with the retain flag is news all the same: it is retained for
            // others.
            retained: false,
        };
        let arrival = Arrival { event: heard(packet), receipt };
        if self.house.arrivals.send(arrival).await.is_err() {
            return false;
        }
        let taken = !waits || confirmed.await.is_ok();
        lock(&self.pace).confirmed(Instant::now());
        taken
    }
}

fn heard(packet: Packet) -> Event {
    let bytes = packet.payload.0.len();
    if bytes > PAYLOAD_MAX {
        let what = format!("a message of {} KiB on {}", bytes / 1024, packet.topic);
        return super::line(LineNews::TooLarge { what });
    }
    Event::Packet(packet)
}

/// The broker can say yes, or say yes with a message of ours; it cannot say no in a way a 3.1.1 sensor
/// understands. Handed back as QoS 0, the message goes on to the farm's other clients, and its sender
/// hears nothing: it keeps the message and sends it again.
fn unacknowledged(event: ClientPublishEvent) -> PublishAction {
    let packet = PublishPacket::new(event.topic.to_string(), event.payload, QoS::AtMostOnce);
    PublishAction::Transform(packet.with_retain(event.retain))
}

/// The guest as the library's two traits want it, which ask for a type of our own.
#[derive(Clone)]
pub(super) struct Asking(pub(super) Arc<Guest>);

impl BrokerEventHandler for Asking {
    /// The broker waits for this before it acknowledges.
    fn on_client_publish<'a>(&'a self, event: ClientPublishEvent) -> Asked<'a, PublishAction> {
        Box::pin(self.0.take(event))
    }

    fn on_client_disconnect<'a>(&'a self, _event: ClientDisconnectEvent) -> Asked<'a, ()> {
        Box::pin(async { self.0.gone() })
    }
}

impl AuthProvider for Asking {
    fn authenticate<'a>(
        &'a self,
        connect: &'a ConnectPacket,
        _address: std::net::SocketAddr,
    ) -> Asked<'a, mqtt5::error::Result<AuthResult>> {
        Box::pin(async move { Ok(self.0.let_in(connect).await) })
    }

    fn authorize_publish<'a>(
        &'a self,
        _client: &str,
        _user: Option<&'a str>,
        topic: &'a str,
    ) -> Asked<'a, bool> {
        Box::pin(async move {
            let leaving = lock(&self.0.met).leaving;
            if leaving { self.0.last_will(topic).await } else { self.0.may_write(topic) }
        })
    }

    fn authorize_subscribe<'a>(
        &'a self,
        _client: &str,
        _user: Option<&'a str>,
        filter: &'a str,
    ) -> Asked<'a, bool> {
        Box::pin(async move { self.0.may_read(filter) })
    }

    /// Called once, after the last packet and before the will.
    fn cleanup_session<'a>(&'a self, _user: &'a str) -> Asked<'a, ()> {
        Box::pin(async { lock(&self.0.met).leaving = true })
    }
}

#[cfg(test)]
mod tests {
    use super::super::house::WAIT_MAX;
    use super::*;
    use crate::config::built_in::{BuiltIn, Limits, Rights};
    use tokio::sync::{mpsc, watch};

    #[tokio::test]
    async fn a_message_nobody_commits_in_time_is_not_acknowledged() {
        let (guest, mut inbox, _closing) = guest(Duration::from_millis(20)).await;
        let action = guest.take(published(QoS::AtLeastOnce)).await;
        assert_eq!(as_sent_on(action), Some(QoS::AtMostOnce));
        assert!(inbox.try_recv().is_ok());
    }

    #[tokio::test]
    async fn a_receipt_let_go_is_not_acknowledged() {
        let (guest, mut inbox, _closing) = guest(WAIT_MAX).await;
        let (action, ()) = tokio::join!(guest.take(published(QoS::AtLeastOnce)), async {
            drop(inbox.recv().await);
        });
        assert_eq!(as_sent_on(action), Some(QoS::AtMostOnce));
    }

    #[tokio::test]
    async fn closing_lets_a_waiting_sensor_go() {
        let (guest, mut inbox, closing) = guest(WAIT_MAX).await;
        let (action, _kept) = tokio::join!(guest.take(published(QoS::AtLeastOnce)), async {
            let kept = inbox.recv().await;
            closing.send_replace(true);
            kept
        });
        assert_eq!(as_sent_on(action), Some(QoS::AtMostOnce));
    }

    #[tokio::test]
    async fn a_confirmed_message_goes_on_as_it_is() {
        let (guest, mut inbox, _closing) = guest(WAIT_MAX).await;
        let (action, ()) = tokio::join!(guest.take(published(QoS::AtLeastOnce)), async {
            let receipt = inbox.recv().await.unwrap().receipt.unwrap();
            assert_eq!(receipt.patience, PATIENCE);
            receipt.confirm();
        });
        assert_eq!(as_sent_on(action), None);
    }

    #[tokio::test]
    async fn a_message_without_a_promise_waits_for_nobody() {
        let (guest, mut inbox, _closing) = guest(WAIT_MAX).await;
        assert_eq!(as_sent_on(guest.take(published(QoS::AtMostOnce)).await), None);
        assert!(inbox.try_recv().unwrap().receipt.is_none());
    }

    #[tokio::test]
    async fn the_number_nought_is_not_taken() {
        let (guest, mut inbox, _closing) = guest(WAIT_MAX).await;
        let mut event = published(QoS::AtLeastOnce);
        event.packet_id = Some(0);
        assert_eq!(as_sent_on(guest.take(event).await), Some(QoS::AtMostOnce));
        assert!(inbox.try_recv().is_err());
    }

    #[tokio::test]
    async fn our_own_closing_is_no_sensors_last_will() {
        let (guest, mut inbox, closing) = guest(WAIT_MAX).await;
        closing.send_replace(true);
        assert!(!guest.last_will("yard/tail/t-07/state").await);
        assert!(inbox.try_recv().is_err());
    }

    async fn guest(wait: Duration) -> (Guest, mpsc::Receiver<Arrival>, watch::Sender<bool>) {
        let (arrivals, inbox) = mpsc::channel(8);
        let (closing, closed) = watch::channel(false);
        let all = || vec!["#".to_owned()];
        let built_in = BuiltIn {
            plain: None,
            secure: None,
            users: Vec::new(),
            anonymous: Some(Rights { writes: all(), reads: all() }),
            limits: Limits::default(),
        };
        let base = std::path::Path::new(".");
        let mut house = House::build(&built_in, base, None, arrivals, closed).unwrap();
        house.wait = wait;
        let guest = Guest::new(1, IpAddr::from([127, 0, 0, 1]), Arc::new(house));
        (guest, inbox, closing)
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
