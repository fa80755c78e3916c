//! The topics that are ours at the broker, and what we say there about ourselves.
//!
//! What comes back on them is never a sensor's word, whatever filter let it in.

use crate::config::farm::{Broker, Discovery};
use crate::sensor::topic;
use crate::watch::shown;

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Own {
    /// Where it stands, kept by the broker, whether we are here.
    pub(super) state: String,
    pub(super) here: &'static str,
    /// After a good-bye.
    pub(super) left: &'static str,
    /// The broker's word when we vanish: the last will.
    pub(super) lost: &'static str,
    /// What we publish here must come back to us.
    pub(super) echo: String,
    /// How topics begin under which the herd is shown.
    shown: Vec<String>,
}

impl Own {
    pub(super) fn new(broker: &Broker) -> Self {
        let private = format!("{}/{}", broker.voice.publish, topic::one_level(&broker.client_id));
        let echo = format!("{private}/echo");
        let shown = if broker.voice.show { shown::roots(&broker.voice) } else { Vec::new() };
        // A client has one last will, and the convention wants its own.
        match broker.voice.discovery.filter(|_| broker.voice.show) {
            Some(Discovery::Homie) => Self {
                state: shown::homie_state(&broker.voice),
                here: "ready",
                left: "disconnected",
                lost: "lost",
                echo,
                shown,
            },
            None => Self {
                state: format!("{private}/state"),
                here: "online",
                left: "offline",
                lost: "offline",
                echo,
                shown,
            },
        }
    }

    /// Whether a topic is one of ours.
    pub(super) fn is(&self, topic: &str) -> bool {
        topic == self.state
            || topic == self.echo
            || self.shown.iter().any(|root| topic.starts_with(root.as_str()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::farm::{BrokerWay, MqttVersion, Voice};
    use crate::plain::moment::Span;

    fn broker(client_id: &str, voice: Voice) -> Broker {
        Broker {
            way: BrokerWay::Url { host: "127.0.0.1".to_owned(), port: 1883, tls: false },
            version: MqttVersion::Five,
            user: None,
            password_file: None,
            ca: None,
            identity: None,
            client_id: client_id.to_owned(),
            keep_alive: Span::seconds(30),
            answers: None,
            group: Span::seconds(20),
            voice,
        }
    }

    #[test]
    fn our_topics_are_ours_and_the_sensors_are_not() {
        let own = Own::new(&broker("hollow/bank", Voice::usual()));
        assert_eq!(own.state, "lowbell/hollow%2Fbank/state");
        assert_eq!(own.echo, "lowbell/hollow%2Fbank/echo");
        assert!(own.is("lowbell/hollow%2Fbank/echo"));
        for other in ["lowbell/answer/Ana", "lowbell/dam/114/stage", "yard/tail/t-07/state"] {
            assert!(!own.is(other), "{other}");
        }
        let voice = Voice { show: true, publish: "barn/watch".to_owned(), ..Voice::usual() };
        let own = Own::new(&broker("hollow", voice));
        assert!(own.is("barn/watch/dam/114/stage") && own.is("barn/watch/hollow/state"));
        assert!(!own.is("lowbell/dam/114/stage"));
    }

    #[test]
    fn with_the_convention_the_will_is_the_conventions() {
        let voice = Voice { show: true, discovery: Some(Discovery::Homie), ..Voice::usual() };
        let own = Own::new(&broker("hollow", voice));
        assert_eq!((own.state.as_str(), own.lost), ("homie/lowbell/$state", "lost"));
    }
}
