//! Why a connection ended or never began, in words for whoever has to mend it.

use std::io;

use super::Terms;
use crate::config::farm::MqttVersion;

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    /// Nobody answers, or the talk broke off: it may mend itself.
    Broken(String),
    /// The broker closed the connection without a word that we could read.
    Closed,
    /// The broker answers and will not have us, or we cannot even ask: a person must act.
    Refused(String),
    /// It wants to send a packet of so many bytes, more than we let in.
    TooLarge { bytes: usize },
    /// The connection stands, and our own messages do not come back on it.
    Deaf(String),
    /// It sends what cannot be read, and would send it again.
    Garbled(String),
}

/// The broker's answers to CONNECT that a person can do something about. The two protocol versions
/// number them differently.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum No {
    User,
    ClientId,
    Version,
}

pub(super) fn no(terms: &Terms, no: No) -> Fault {
    let place = terms.place();
    Fault::Refused(match (no, &terms.user) {
        (No::User, Some((user, _))) => format!(
            "the broker at {place} refused user \"{user}\": check user and password-file under [broker]"
        ),
        (No::User, None) => format!(
            "the broker at {place} refused us without a user: set user and password-file under [broker]"
        ),
        (No::ClientId, _) => format!(
            "the broker at {place} refused our client id \"{}\": set another client-id under [broker]",
            terms.client_id
        ),
        (No::Version, _) => old(terms),
    })
}

fn old(terms: &Terms) -> String {
    format!(
        "the broker at {} does not speak MQTT 5: set version = \"3.1.1\" under [broker]",
        terms.place()
    )
}

/// Two programs with one client id put each other out for ever (MQTT 5 section 3.1.4, MQTT-3.1.4-3).
pub(super) fn taken_over(terms: &Terms) -> Fault {
    Fault::Refused(format!(
        "another program connected to the broker at {} with our client id \"{}\": \
         stop it, or give each its own client-id",
        terms.place(),
        terms.client_id
    ))
}

pub(super) fn network(terms: &Terms, error: &io::Error) -> Fault {
    let place = terms.place();
    if error.kind() == io::ErrorKind::ConnectionRefused {
        Fault::Broken(format!("nothing listens at {place}: is the broker running?"))
    } else if let Some(why) = wants_identity(terms, error) {
        Fault::Refused(why)
    } else if CLOSED.contains(&error.kind()) {
        Fault::Closed
    } else {
        Fault::Broken(format!("no connection to the broker at {place}: {error}"))
    }
}

/// The broker wants to know us by a certificate, and has none, or one that it does not believe.
fn wants_identity(terms: &Terms, error: &io::Error) -> Option<String> {
    use rustls::AlertDescription as Alert;
    const UNBELIEVED: [Alert; 4] = [
        Alert::BadCertificate,
        Alert::CertificateExpired,
        Alert::CertificateUnknown,
        Alert::UnknownCA,
    ];
    let rustls::Error::AlertReceived(alert) = error.get_ref()?.downcast_ref()? else {
        return None;
    };
    let place = terms.place();
    if *alert == Alert::CertificateRequired {
        Some(format!(
            "the broker at {place} asks for a certificate of ours: \
             set certificate and key-file under [broker]"
        ))
    } else if UNBELIEVED.contains(alert) {
        Some(format!(
            "the broker at {place} does not believe our certificate ({alert:?}): \
             check certificate and key-file under [broker]"
        ))
    } else {
        None
    }
}

const CLOSED: [io::ErrorKind; 4] = [
    io::ErrorKind::ConnectionReset,
    io::ErrorKind::ConnectionAborted,
    io::ErrorKind::BrokenPipe,
    io::ErrorKind::UnexpectedEof,
];

pub(super) fn deaf(terms: &Terms) -> Fault {
    Fault::Deaf(format!(
        "the broker at {} does not bring back our own messages: the connection stands, but nothing \
         comes through it",
        terms.place()
    ))
}

pub(super) fn silent(terms: &Terms) -> Fault {
    Fault::Broken(format!("the broker at {} does not answer", terms.place()))
}

/// The broker hung up before it ever said yes. To MQTT 5, its age is a likely reason: the answer of an
/// old one is too short for the library to read.
pub(super) fn unanswered(terms: &Terms) -> Fault {
    let place = terms.place();
    Fault::Broken(match terms.version {
        MqttVersion::Five => format!(
            "the broker at {place} closed the connection without an answer: \
             if it is an old one, set version = \"3.1.1\" under [broker]"
        ),
        MqttVersion::ThreeOneOne => {
            format!("the broker at {place} closed the connection without an answer")
        }
    })
}

pub(super) fn tls(terms: &Terms, error: &rumqttc::TlsError) -> Fault {
    Fault::Refused(format!(
        "no trusted connection to the broker at {}: {error}; \
         a certificate of the farm's own is named with ca under [broker]",
        terms.place()
    ))
}

pub(super) fn garbled(terms: &Terms, what: impl std::fmt::Display) -> Fault {
    Fault::Garbled(format!(
        "the broker at {} sends something that cannot be read: {what}",
        terms.place()
    ))
}

/// Certificate trouble arrives wrapped in an I/O error.
pub(super) fn is_tls(error: &io::Error) -> bool {
    error.get_ref().is_some_and(|inner| inner.is::<rustls::Error>())
}
