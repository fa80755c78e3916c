//! Ways out: what each trap of a mail server, a text gateway and a web receiver does to one try.

mod mail;
pub(crate) mod pictures;
mod texts;
mod web;

use std::time::Duration;

use lowbell::alarm::message::{Message, MessageKind, Notice};
use lowbell::plain::ids::{AlertNo, LineName, MessageNo, PersonName};
use lowbell::plain::moment::{Moment, Span};

/// Long enough for a busy machine; nothing waits this long unless it is broken.
const DEADLINE: Duration = Duration::from_secs(30);

/// For the other side that says nothing from the start: the test waits this long, once.
const SHORT: Span = Span::from_millis(300);

/// For the other side that falls silent at the end: enough to get there on a busy machine.
const FAIR: Span = Span::seconds(2);

/// For everything else, so that a slow machine is not taken for a silent server.
const AMPLE: Span = Span::seconds(20);

/// Both the TLS client and the HTTP client want a provider before anything else, as in `main`.
fn with_ring() {
    let _ = rustls::crypto::ring::default_provider().install_default();
}

fn message(to: &str, address: &str) -> Message {
    Message {
        no: MessageNo(12),
        to: PersonName::new(to),
        address: address.to_owned(),
        line: LineName::new("mail"),
        alert: Some(AlertNo(3)),
        also: Vec::new(),
        kind: MessageKind::Alert,
        subject: "114 home field: second stage too long [3]".to_owned(),
        text: "114 home field: water bag 02:05, no calf. Go and look.\n".to_owned(),
        in_reply_to: None,
        id: "lowbell.7.12".to_owned(),
        made: Moment::from_rfc3339("2026-11-25T02:05:09Z").unwrap(),
    }
}

fn notice() -> Notice {
    Notice {
        no: MessageNo(31),
        line: LineName::new("hook"),
        kind: "alert.raised".to_owned(),
        body: "{\"type\":\"alert.raised\",  \"data\":{\"animal\":\"114\",\"who\":\"Zoë\"}}"
            .to_owned(),
        id: "lowbell.7.31".to_owned(),
        alert: AlertNo(3),
        made: Moment::from_rfc3339("2026-11-25T02:05:09Z").unwrap(),
    }
}

/// A port that nobody listens on.
async fn closed_port() -> u16 {
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    listener.local_addr().unwrap().port()
}
