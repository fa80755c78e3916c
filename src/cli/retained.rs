//! `lowbell retained`: what the broker has kept of old messages, and how to have it forget one.
//!
//! A kept message is as old as it is, whenever it comes. Nothing is cleared but one exact topic that
//! somebody has named.

use std::path::PathBuf;

use super::{End, FarmOption, Loaded, load, runtime};
use crate::config::farm::{Broker, BrokerWay};
use crate::line::mqtt::{self, Aside, Reach};
use crate::live::clock::Clock;
use crate::live::lines;
use crate::plain::english;
use crate::plain::moment::Moment;
use crate::sensor::decoders::Decoders;

/// So much of a payload tells what it is.
const SAMPLE: usize = 60;

#[derive(clap::Args)]
pub struct Args {
    #[command(flatten)]
    farm: FarmOption,
    /// Look at this MQTT filter instead of the farm's own
    #[arg(long, value_name = "FILTER", conflicts_with = "clear")]
    filter: Vec<String>,
    /// Have the broker forget what it has kept on this one topic, and see that it has
    #[arg(long, value_name = "TOPIC")]
    clear: Option<String>,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let credentials = std::env::var_os("CREDENTIALS_DIRECTORY").map(PathBuf::from);
    let base = loaded.place.base();
    let broker = &loaded.config.broker;
    let reach = Reach { broker, base: &base, credentials: credentials.as_deref() };
    if let Some(topic) = &args.clear {
        runtime()?.block_on(mqtt::clear(reach, topic))?;
        say!("The broker has forgotten what it had kept on {topic}.");
        return Ok(End::Done);
    }
    let filters =
        if args.filter.is_empty() { lines::filters(&loaded.config) } else { args.filter.clone() };
    let kept = runtime()?.block_on(mqtt::kept(reach, &filters))?;
    if kept.is_empty() {
        say!("The broker has kept nothing on {}.", filters.join(", "));
        return Ok(End::Done);
    }
    let (now, _) = Clock::system(None).now();
    for message in &kept {
        say!("{}", entry(message, &loaded, now));
    }
    let those = english::many(kept.len(), "message is", "messages are");
    say!("{those} kept. None of them starts or advances a stage, however new it looks.");
    Ok(End::Done)
}

fn entry(message: &Aside, loaded: &Loaded, now: Moment) -> String {
    let age = match time_of(message, loaded, now) {
        Some(at) if at <= now => format!("{} old by its own time", english::span(now.since(at))),
        Some(_) => "age unknown: its own time is in the future".to_owned(),
        None => "age unknown".to_owned(),
    };
    let topic = &message.topic;
    format!(
        "{}\n  {}\n  {age}\n  lowbell retained --clear {}\n  {}\n",
        english::printable(topic, usize::MAX),
        sample(&message.payload),
        quoted(topic),
        publisher(&loaded.config.broker, topic)
    )
}

/// The time that a kind of sensor finds in it.
fn time_of(message: &Aside, loaded: &Loaded, now: Moment) -> Option<Moment> {
    let decoders = Decoders::new(&loaded.config.sensors).ok()?;
    let heard = decoders.read(&message.topic, &message.payload, now, true);
    heard.readings.iter().filter(|reading| reading.timed).map(|reading| reading.at).max()
}

fn sample(payload: &[u8]) -> String {
    match std::str::from_utf8(payload) {
        Ok(text) => english::printable(text, SAMPLE),
        Err(_) => format!("{} that are no text", english::many(payload.len(), "byte", "bytes")),
    }
}

/// The command of the usual broker's own tools that does the same.
fn publisher(broker: &Broker, topic: &str) -> String {
    let (host, port, tls) = match &broker.way {
        BrokerWay::Url { host, port, tls } => (host.clone(), *port, *tls),
        BrokerWay::BuiltIn(built_in) => {
            let (address, tls) = built_in.door();
            (address.ip().to_string(), address.port(), tls)
        }
    };
    let mut command = format!("mosquitto_pub -h {} -p {port}", quoted(&host));
    if let Some(user) = &broker.user {
        command.push_str(&format!(" -u {} -P …", quoted(user)));
    }
    if let Some(ca) = broker.ca.as_ref().filter(|_| tls) {
        command.push_str(&format!(" --cafile {}", quoted(ca)));
    } else if tls {
        command.push_str(" --capath /etc/ssl/certs");
    }
    if let Some(identity) = &broker.identity {
        let (certificate, key) = (quoted(&identity.certificate), quoted(&identity.key_file));
        command.push_str(&format!(" --cert {certificate} --key {key}"));
    }
    command + &format!(" -r -n -t {}", quoted(topic))
}

/// As one word of a shell, whatever is in it.
fn quoted(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./:@%".contains(c);
    if !text.is_empty() && text.chars().all(plain) {
        return text.to_owned();
    }
    format!("'{}'", text.replace('\'', "'\\''"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_topic_is_one_word_of_the_shell_whatever_is_in_it() {
        for (text, expected) in [
            ("yard/tail/t-07/state", "yard/tail/t-07/state"),
            ("yard/home field", "'yard/home field'"),
            ("$SYS/x;rm", "'$SYS/x;rm'"),
            ("Ana's", "'Ana'\\''s'"),
            ("", "''"),
        ] {
            assert_eq!(quoted(text), expected);
        }
    }

    #[test]
    fn a_sample_is_short_and_commands_no_terminal() {
        assert_eq!(sample(b"{\"efforts\": 3}"), "{\"efforts\": 3}");
        assert_eq!(sample(b"a\x1b[2Jb"), "a?[2Jb");
        assert_eq!(sample(&[0xff, 0xd8]), "2 bytes that are no text");
        assert_eq!(sample("x".repeat(100).as_bytes()), "x".repeat(60) + "...");
    }
}
