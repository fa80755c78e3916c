//! MQTT 3.1.1 for brokers that know nothing newer, by the client library's v4 half.

use std::time::Duration;

use rumqttc::mqttbytes::Error;
use rumqttc::{
    AsyncClient, ConnectReturnCode, ConnectionError, Event, EventLoop, LastWill, MqttOptions,
    Outgoing, Packet, Publish, QoS, StateError, SubscribeReasonCode, TlsConfiguration, Transport,
};

use super::fault::{self, Fault, No};
use super::voice::Care;
use super::window::Ticket;
use super::{Heard, Message, REQUESTS, SUBSCRIBE_IDS, Terms};

/// In 3.1.1 the broker alone decides how many unconfirmed messages it sends; twenty is what the usual
/// one does unless told otherwise (standards.md MQ-25).
pub(super) const WINDOW: u16 = 20;

/// The library refuses less (it panics).
const KEEP_ALIVE_LEAST: Duration = Duration::from_secs(1);

pub(super) struct Ear {
    events: EventLoop,
    terms: Terms,
}

pub(super) fn open(terms: &Terms) -> (AsyncClient, Ear) {
    let mut options = MqttOptions::new(terms.client_id.clone(), terms.host.clone(), terms.port);
    let packet_max = terms.packet_max as usize;
    options
        .set_keep_alive(terms.keep_alive.max(KEEP_ALIVE_LEAST))
        .set_clean_session(terms.fresh || terms.passing)
        .set_max_packet_size(packet_max, packet_max)
        .set_inflight(SUBSCRIBE_IDS)
        .set_manual_acks(true);
    if let Some((user, password)) = &terms.user {
        let password = password.as_ref().map_or("", |p| p.expose());
        options.set_credentials(user, password);
    }
    if let Some(config) = &terms.tls {
        options.set_transport(Transport::tls_with_config(TlsConfiguration::Rustls(config.clone())));
    }
    if let Some(own) = &terms.own {
        let will = LastWill::new(own.state.clone(), own.lost, QoS::AtLeastOnce, true);
        options.set_last_will(will);
    }
    let (client, events) = AsyncClient::new(options, REQUESTS);
    let ear = Ear { events, terms: terms.clone() };
    (client, ear)
}

impl Ear {
    pub(super) async fn hear(&mut self) -> Result<Heard, Fault> {
        match self.events.poll().await {
            Ok(Event::Incoming(packet)) => Ok(understand(packet)),
            Ok(Event::Outgoing(Outgoing::Disconnect)) => Ok(Heard::Left),
            Ok(Event::Outgoing(_)) => Ok(Heard::Nothing),
            Err(error) => Err(self.explain(error)),
        }
    }

    /// What is still unread of a connection that has ended.
    pub(super) fn leftovers(&mut self) -> Vec<Message> {
        std::mem::take(&mut self.events.state.events)
            .into_iter()
            .filter_map(|event| match event {
                Event::Incoming(Packet::Publish(publish)) => Some(message(publish)),
                Event::Incoming(_) | Event::Outgoing(_) => None,
            })
            .collect()
    }

    pub(super) fn keep_alive(&self) -> Duration {
        self.events.mqtt_options.keep_alive()
    }

    fn explain(&self, error: ConnectionError) -> Fault {
        let terms = &self.terms;
        match error {
            ConnectionError::ConnectionRefused(code) => refused(terms, code),
            ConnectionError::MqttState(error) => self.explain_talk(error),
            ConnectionError::Io(error) => fault::network(terms, &error),
            ConnectionError::Tls(rumqttc::TlsError::Io(error)) if !fault::is_tls(&error) => {
                fault::network(terms, &error)
            }
            ConnectionError::Tls(error) => fault::tls(terms, &error),
            ConnectionError::NetworkTimeout | ConnectionError::FlushTimeout => fault::silent(terms),
            ConnectionError::NotConnAck(_) => fault::garbled(terms, "no answer to our greeting"),
            ConnectionError::RequestsDone => Fault::Closed,
        }
    }

    fn explain_talk(&self, error: StateError) -> Fault {
        let terms = &self.terms;
        match error {
            StateError::Deserialization(Error::PayloadSizeLimitExceeded(bytes)) => {
                Fault::TooLarge { bytes }
            }
            StateError::Io(error) | StateError::Deserialization(Error::Io(error)) => {
                fault::network(terms, &error)
            }
            StateError::ConnectionAborted => Fault::Closed,
            StateError::AwaitPingResp => fault::silent(terms),
            StateError::Unsolicited(_) | StateError::WrongPacket | StateError::InvalidState => {
                fault::garbled(terms, error)
            }
            StateError::Deserialization(error) => fault::garbled(terms, error),
            StateError::CollisionTimeout | StateError::EmptySubscription => {
                Fault::Broken(error.to_string())
            }
        }
    }
}

pub(super) fn subscribe(client: &AsyncClient, filter: &str, care: Care) -> bool {
    client.try_subscribe(filter, qos(care)).is_ok()
}

pub(super) fn publish(
    client: &AsyncClient,
    topic: &str,
    payload: &str,
    care: Care,
    keep: bool,
) -> bool {
    client.try_publish(topic, qos(care), keep, payload).is_ok()
}

fn qos(care: Care) -> QoS {
    match care {
        Care::Little => QoS::AtMostOnce,
        Care::Confirmed => QoS::AtLeastOnce,
    }
}

pub(super) fn acknowledge(client: &AsyncClient, ticket: Ticket) -> bool {
    let qos = if ticket.exactly_once { QoS::ExactlyOnce } else { QoS::AtLeastOnce };
    let mut publish = Publish::new("", qos, Vec::new());
    publish.pkid = ticket.packet;
    client.try_ack(&publish).is_ok()
}

fn understand(packet: Packet) -> Heard {
    if let Packet::Publish(publish) = packet {
        Heard::Message(message(publish))
    } else if let Packet::ConnAck(yes) = packet {
        Heard::Connected { session_present: yes.session_present }
    } else if let Packet::SubAck(answer) = packet {
        Heard::Subscribed(match answer.return_codes.first() {
            Some(SubscribeReasonCode::Success(qos)) => Ok(*qos != QoS::AtMostOnce),
            Some(SubscribeReasonCode::Failure) | None => {
                Err("the broker gave no reason; most often we may not read it".to_owned())
            }
        })
    } else if let Packet::PubAck(_) = packet {
        // This version of the protocol has no way to say no.
        Heard::Published(Ok(()))
    } else {
        Heard::Nothing
    }
}

fn message(publish: Publish) -> Message {
    Message {
        topic: publish.topic,
        payload: publish.payload,
        ticket: (publish.qos != QoS::AtMostOnce).then_some(Ticket {
            packet: publish.pkid,
            exactly_once: publish.qos == QoS::ExactlyOnce,
        }),
        retained: publish.retain,
    }
}

fn refused(terms: &Terms, code: ConnectReturnCode) -> Fault {
    match code {
        ConnectReturnCode::BadUserNamePassword | ConnectReturnCode::NotAuthorized => {
            fault::no(terms, No::User)
        }
        ConnectReturnCode::BadClientId => fault::no(terms, No::ClientId),
        ConnectReturnCode::RefusedProtocolVersion => Fault::Refused(format!(
            "the broker at {} does not speak MQTT 3.1.1: take the version line out of [broker]",
            terms.place()
        )),
        ConnectReturnCode::Success | ConnectReturnCode::ServiceUnavailable => {
            Fault::Broken(format!("the broker at {} does not take us now: {code:?}", terms.place()))
        }
    }
}
