//! MQTT 5 by the client library's v5 half: options in, our own few words out.

use std::time::Duration;

use rumqttc::v5::mqttbytes::v5::{
    ConnectReturnCode, DisconnectReasonCode, Filter, LastWill, Packet, PubAckReason, Publish,
    RetainForwardRule, SubscribeReasonCode,
};
use rumqttc::v5::mqttbytes::{Error, QoS};
use rumqttc::v5::{AsyncClient, ConnectionError, Event, EventLoop, MqttOptions, StateError};
use rumqttc::{Outgoing, TlsConfiguration, Transport};

use super::fault::{self, Fault, No};
use super::voice::Care;
use super::window::Ticket;
use super::{Heard, Message, REQUESTS, SUBSCRIBE_IDS, Terms};

/// How many unconfirmed messages the broker may send: so many that a group of packets can wait for
/// its commit without the broker waiting too.
pub(super) const WINDOW: u16 = 500;

/// How long the broker is asked to keep our session: a week's holiday of a broken machine.
const SESSION: u32 = 7 * 24 * 3600;

/// The library refuses less (it panics).
const KEEP_ALIVE_LEAST: Duration = Duration::from_secs(5);

pub(super) struct Ear {
    events: EventLoop,
    terms: Terms,
}

pub(super) fn open(terms: &Terms) -> (AsyncClient, Ear) {
    let mut options = MqttOptions::new(terms.client_id.clone(), terms.host.clone(), terms.port);
    options
        .set_keep_alive(terms.keep_alive.max(KEEP_ALIVE_LEAST))
        .set_clean_start(terms.fresh || terms.passing)
        // Without an expiry the session ends with the connection, whatever clean start says.
        .set_session_expiry_interval((!terms.passing).then_some(SESSION))
        .set_receive_maximum(Some(WINDOW))
        .set_max_packet_size(Some(terms.packet_max))
        // Otherwise the library sets aside room for 65,535 messages of our own: megabytes for none.
        .set_outgoing_inflight_upper_limit(SUBSCRIBE_IDS)
        .set_manual_acks(true);
    if let Some((user, password)) = &terms.user {
        let password = password.as_ref().map_or("", |p| p.expose());
        options.set_credentials(user, password);
    }
    if let Some(config) = &terms.tls {
        options.set_transport(Transport::tls_with_config(TlsConfiguration::Rustls(config.clone())));
    }
    if let Some(own) = &terms.own {
        let will = LastWill::new(own.state.clone(), own.lost, QoS::AtLeastOnce, true, None);
        options.set_last_will(will);
    }
    let (client, events) = AsyncClient::new(options, REQUESTS);
    let ear = Ear { events, terms: terms.clone() };
    (client, ear)
}

impl Ear {
    pub(super) async fn hear(&mut self) -> Result<Heard, Fault> {
        match self.events.poll().await {
            Ok(Event::Incoming(packet)) => Ok(self.understand(packet)),
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

    /// How often it pings: the broker may have asked for another rhythm than ours.
    pub(super) fn keep_alive(&self) -> Duration {
        self.events.options.keep_alive()
    }

    fn understand(&mut self, packet: Packet) -> Heard {
        if let Packet::Publish(publish) = packet {
            Heard::Message(message(publish))
        } else if let Packet::ConnAck(yes) = packet {
            let asked = self.terms.keep_alive.max(KEEP_ALIVE_LEAST);
            if self.events.options.keep_alive().is_zero() {
                // "No keep alive" would make the library ping without a pause.
                self.events.options.set_keep_alive(asked);
            }
            Heard::Connected { session_present: yes.session_present }
        } else if let Packet::SubAck(answer) = packet {
            Heard::Subscribed(
                answer.return_codes.first().map_or_else(
                    || Err("the broker gave no reason".to_owned()),
                    |code| granted(*code),
                ),
            )
        } else if let Packet::PubAck(answer) = packet {
            Heard::Published(published(answer.reason))
        } else {
            Heard::Nothing
        }
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
            ConnectionError::Timeout(_) => fault::silent(terms),
            ConnectionError::NotConnAck(_) => fault::garbled(terms, "no answer to our greeting"),
            ConnectionError::RequestsDone => Fault::Closed,
        }
    }

    fn explain_talk(&self, error: StateError) -> Fault {
        let terms = &self.terms;
        match error {
            StateError::Deserialization(Error::PayloadSizeLimitExceeded { pkt_size, .. }) => {
                Fault::TooLarge { bytes: pkt_size }
            }
            StateError::IncomingPacketTooLarge { pkt_size, .. } => {
                Fault::TooLarge { bytes: pkt_size }
            }
            StateError::Io(error) | StateError::Deserialization(Error::Io(error)) => {
                fault::network(terms, &error)
            }
            StateError::ServerDisconnect {
                reason_code: DisconnectReasonCode::SessionTakenOver,
                ..
            } => fault::taken_over(terms),
            StateError::ServerDisconnect { reason_code, .. } => Fault::Broken(format!(
                "the broker at {} sent us away: {reason_code:?}",
                terms.place()
            )),
            StateError::ConnFail { reason } => refused(terms, reason),
            StateError::ConnectionAborted => Fault::Closed,
            StateError::AwaitPingResp => fault::silent(terms),
            StateError::Unsolicited(_)
            | StateError::WrongPacket
            | StateError::InvalidState
            | StateError::Coversion(_)
            | StateError::InvalidAlias { .. } => fault::garbled(terms, error),
            StateError::Deserialization(error) => fault::garbled(terms, error),
            StateError::CollisionTimeout
            | StateError::EmptySubscription
            | StateError::OutgoingPacketTooLarge { .. } => Fault::Broken(error.to_string()),
        }
    }
}

/// Retained messages come once, with a subscription that is new (retain handling 1): a reconnect to
/// a kept session does not replay them.
pub(super) fn subscribe(client: &AsyncClient, filter: &str, care: Care) -> bool {
    let mut wanted = Filter::new(filter, qos(care));
    wanted.retain_forward_rule = RetainForwardRule::OnNewSubscribe;
    client.try_subscribe_many([wanted]).is_ok()
}

pub(super) fn publish(
    client: &AsyncClient,
    topic: &str,
    payload: &str,
    care: Care,
    keep: bool,
) -> bool {
    client.try_publish(topic, qos(care), keep, payload.to_owned()).is_ok()
}

fn qos(care: Care) -> QoS {
    match care {
        Care::Little => QoS::AtMostOnce,
        Care::Confirmed => QoS::AtLeastOnce,
    }
}

pub(super) fn acknowledge(client: &AsyncClient, ticket: Ticket) -> bool {
    let publish = Publish {
        qos: if ticket.exactly_once { QoS::ExactlyOnce } else { QoS::AtLeastOnce },
        pkid: ticket.packet,
        ..Publish::default()
    };
    client.try_ack(&publish).is_ok()
}

fn message(publish: Publish) -> Message {
    Message {
        // A name that is not UTF-8 matches no sensor and is refused by name, not by falling over.
        topic: String::from_utf8_lossy(&publish.topic).into_owned(),
        payload: publish.payload,
        ticket: (publish.qos != QoS::AtMostOnce).then_some(Ticket {
            packet: publish.pkid,
            exactly_once: publish.qos == QoS::ExactlyOnce,
        }),
        retained: publish.retain,
    }
}

fn published(reason: PubAckReason) -> Result<(), String> {
    let why = match reason {
        PubAckReason::Success | PubAckReason::NoMatchingSubscribers => return Ok(()),
        PubAckReason::NotAuthorized => "we may not write to it",
        PubAckReason::TopicNameInvalid => "the broker does not accept this topic",
        PubAckReason::QuotaExceeded => "we have written too much for this broker",
        PubAckReason::PayloadFormatInvalid
        | PubAckReason::PacketIdentifierInUse
        | PubAckReason::ImplementationSpecificError
        | PubAckReason::UnspecifiedError => "the broker gave no reason",
    };
    Err(why.to_owned())
}

fn granted(code: SubscribeReasonCode) -> Result<bool, String> {
    let why = match code {
        SubscribeReasonCode::Success(qos) => return Ok(qos != QoS::AtMostOnce),
        SubscribeReasonCode::NotAuthorized => "we may not read it",
        SubscribeReasonCode::TopicFilterInvalid => "the broker does not accept this filter",
        SubscribeReasonCode::QuotaExceeded => "we have too many subscriptions for this broker",
        SubscribeReasonCode::WildcardSubscriptionsNotSupported => {
            "the broker does not know wildcards"
        }
        SubscribeReasonCode::SharedSubscriptionsNotSupported => {
            "the broker does not know shared subscriptions"
        }
        SubscribeReasonCode::PkidInUse
        | SubscribeReasonCode::SubscriptionIdNotSupported
        | SubscribeReasonCode::ImplementationSpecific
        | SubscribeReasonCode::Unspecified
        | SubscribeReasonCode::Failure => "the broker gave no reason",
    };
    Err(why.to_owned())
}

fn refused(terms: &Terms, code: ConnectReturnCode) -> Fault {
    match code {
        ConnectReturnCode::BadUserNamePassword
        | ConnectReturnCode::NotAuthorized
        | ConnectReturnCode::BadAuthenticationMethod => fault::no(terms, No::User),
        ConnectReturnCode::BadClientId | ConnectReturnCode::ClientIdentifierNotValid => {
            fault::no(terms, No::ClientId)
        }
        ConnectReturnCode::RefusedProtocolVersion
        | ConnectReturnCode::UnsupportedProtocolVersion => fault::no(terms, No::Version),
        ConnectReturnCode::Success
        | ConnectReturnCode::ServiceUnavailable
        | ConnectReturnCode::UnspecifiedError
        | ConnectReturnCode::MalformedPacket
        | ConnectReturnCode::ProtocolError
        | ConnectReturnCode::ImplementationSpecificError
        | ConnectReturnCode::ServerUnavailable
        | ConnectReturnCode::ServerBusy
        | ConnectReturnCode::Banned
        | ConnectReturnCode::TopicNameInvalid
        | ConnectReturnCode::PacketTooLarge
        | ConnectReturnCode::QuotaExceeded
        | ConnectReturnCode::PayloadFormatInvalid
        | ConnectReturnCode::RetainNotSupported
        | ConnectReturnCode::QoSNotSupported
        | ConnectReturnCode::UseAnotherServer
        | ConnectReturnCode::ServerMoved
        | ConnectReturnCode::ConnectionRateExceeded => {
            Fault::Broken(format!("the broker at {} does not take us now: {code:?}", terms.place()))
        }
    }
}
