//! Reads what `[broker]` says about our own words there: the message that must come back, where we
//! publish, what is shown, and by which certificate we are known.
//!
//! It refuses to publish anything by itself: showing is off unless asked for.

use super::farm::{BrokerWay, Discovery, Identity, Voice};
use super::tree::Table;
use crate::plain::moment::Span;

/// A half-open connection is to be found within about a hundred seconds (needs.md N23): three misses.
const ECHO: Span = Span::seconds(30);
const ECHO_MIN: Span = Span::seconds(5);
/// Three misses of this are a quarter of an hour without a sensor, and nobody knows.
const ECHO_MAX: Span = Span::minutes(5);

/// Where everything we publish begins.
const PUBLISH: &str = "lowbell";

/// Topics have animals and properties behind it and must stay readable.
const PUBLISH_MAX: usize = 100;

impl Voice {
    /// What stands where the settings say nothing.
    pub fn usual() -> Self {
        Self { echo: Some(ECHO), publish: PUBLISH.to_owned(), show: false, discovery: None }
    }
}

pub(super) fn read(table: &Table<'_>, way: Option<&BrokerWay>) -> Voice {
    let usual = Voice::usual();
    let voice = Voice {
        echo: echo(table),
        publish: publish(table).unwrap_or(usual.publish),
        show: table.flag("show").unwrap_or(usual.show),
        discovery: table
            .word("discovery", &[("off", None), ("homie", Some(Discovery::Homie))])
            .and_then(|word| word.is),
    };
    if let (true, Some(BrokerWay::BuiltIn { .. }), Some(at)) =
        (voice.show, way, table.key_place("show"))
    {
        let help = "use a broker of its own with url, or take show out";
        table.faults().warn(&at, "this version shows nothing at its built-in broker", help);
    }
    if let (false, Some(_), Some(at)) = (voice.show, voice.discovery, table.key_place("discovery"))
    {
        let help = "add show = true, or take discovery out";
        table.faults().warn(&at, "discovery announces what is shown, and nothing is shown", help);
    }
    voice
}

fn echo(table: &Table<'_>) -> Option<Span> {
    let Some(value) = table.value("echo") else {
        return Some(ECHO);
    };
    if !value.says("off") {
        return value.span(ECHO_MIN..=ECHO_MAX).map(|span| span.is);
    }
    let title = "without an echo a connection that died silently may be noticed late";
    let help = "write echo = \"30s\", or take it out, unless this broker must not be written to";
    table.faults().warn(&value.place(), title, help);
    None
}

fn publish(table: &Table<'_>) -> Option<String> {
    let topic = table.text("publish")?;
    let wrong = if topic.is.contains(['+', '#']) {
        "a topic to publish to has no + and no #"
    } else if topic.is.starts_with('$') {
        "topics that begin with $ belong to the broker"
    } else if topic.is.split('/').any(str::is_empty) {
        "one of its levels is empty"
    } else if topic.is.len() > PUBLISH_MAX {
        "it is too long"
    } else {
        return Some(topic.is);
    };
    let title = format!("{} cannot stand before our topics: {wrong}", topic.is);
    table.faults().refuse(&topic.at, title, format!("write it like \"{PUBLISH}\""));
    None
}

/// `certificate` and `key-file`, for a broker that wants to know its clients by them. A farm that is
/// its own broker means its own by these words, and reads them elsewhere.
pub(super) fn identity(table: &Table<'_>, way: Option<&BrokerWay>) -> Option<Identity> {
    let ours = ["built-in", "built-in-tls"].into_iter().any(|key| table.has(key));
    if ours && !table.has("url") {
        return None;
    }
    let (certificate, key) = match (table.text("certificate"), table.text("key-file")) {
        (Some(certificate), Some(key)) => (certificate, key),
        (Some(certificate), None) => {
            let help = "add key-file = \"…\" with its key (PEM, PKCS#8), or take certificate out";
            table.faults().refuse(&certificate.at, "a certificate needs its key", help);
            return None;
        }
        (None, Some(key)) => {
            let help = "add certificate = \"…\" (PEM), or take key-file out";
            table.faults().refuse(&key.at, "a key needs its certificate", help);
            return None;
        }
        (None, None) => return None,
    };
    if matches!(way, Some(BrokerWay::Url { tls: false, .. })) {
        let help = "write mqtts:// in url, or take certificate and key-file out";
        let title = "a certificate is shown over TLS only, and this connection is not encrypted";
        table.faults().refuse(&certificate.at, title, help);
        return None;
    }
    Some(Identity { certificate: certificate.is, key_file: key.is })
}
