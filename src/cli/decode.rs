//! `lowbell decode`: every plausible reading of a payload, and the settings lines that would read it.

use std::io::Read as _;
use std::path::PathBuf;
use std::time::Duration;

use super::{End, Loaded, load, runtime};
use crate::config::sensors::Wrap;
use crate::line::mqtt::{self, Reach};
use crate::plain::amount::Amount;
use crate::plain::english;
use crate::plain::moment::Moment;
use crate::plain::quantity::Unit;
use crate::sensor::decode::PAYLOAD_MAX;
use crate::sensor::decoders::Decoders;
use crate::sensor::guess::{self, Guess};
use crate::sensor::packet::{Packet, Payload};
use crate::sensor::reading::Reading;
use crate::sensor::topic::Filter;

/// Who waits at the keyboard for a sensor's next word gives up after this.
const WAIT: Duration = Duration::from_secs(60);

#[derive(clap::Args)]
pub struct Args {
    /// The payload as it was seen; left out, it is read from standard input
    #[arg(value_name = "PAYLOAD", conflicts_with_all = ["file", "from"])]
    payload: Option<String>,
    /// Read the payload from a file
    #[arg(long, value_name = "FILE", conflicts_with = "from")]
    file: Option<PathBuf>,
    /// The bytes were written down as hex or base64: take that off first
    #[arg(long, value_enum, value_name = "HOW")]
    unwrap: Option<Wrapping>,
    /// The topic it came on; a filter with --from
    #[arg(long, value_name = "TOPIC", default_value = "")]
    topic: String,
    /// Wait for one message on the farm's own broker
    #[arg(long, value_enum, requires = "topic")]
    from: Option<Source>,
    /// Say too what these settings read in it
    #[arg(long, value_name = "FARM.TOML")]
    farm: Option<PathBuf>,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Wrapping {
    Hex,
    Base64,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Source {
    Broker,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let farm = match (&args.farm, args.from) {
        (None, None) => None,
        (farm, _) => {
            let path = farm.clone().unwrap_or_else(|| PathBuf::from("farm.toml"));
            match load(&path)? {
                Ok(loaded) => Some(loaded),
                Err(end) => return Ok(end),
            }
        }
    };
    let (topic, payload) = match (args.from, &farm) {
        (Some(Source::Broker), Some(farm)) => {
            let packet = wait_for_one(farm, &args.topic)?;
            let kept =
                if packet.retained { ", kept by the broker: it may be of any age" } else { "" };
            say!("on {}: {} bytes{kept}", line_of(&packet.topic), packet.payload.0.len());
            (packet.topic, packet.payload.0)
        }
        (_, _) => (args.topic.clone(), given(args)?),
    };
    if payload.len() > PAYLOAD_MAX {
        return Err(format!(
            "it is larger than {PAYLOAD_MAX} bytes, and no message is read beyond that"
        ));
    }
    let now = crate::live::clock::Clock::system(None).now().0;
    let known = farm.as_ref().is_some_and(|farm| by_the_settings(farm, &topic, &payload, now));
    let guesses = guess::guesses(&payload, &topic, now);
    for (n, guess) in guesses.iter().enumerate() {
        show(n + 1, guess, now);
    }
    if guesses.is_empty() {
        say!("Nothing in it looks like a reading: look at how it was copied, or at --unwrap.");
    } else {
        say!("Which of them is right, only the maker's paper or a thermometer beside it can say.");
        say!("Put in your own kind and topic, and signs as your rules name them; a sign that says");
        say!("so many since the last message also needs as = \"count\".");
    }
    if let Some(wrap) = guess::wraps_a_text(&payload) {
        let how = match wrap {
            Wrap::Hex => "hex",
            Wrap::Base64 | Wrap::Bytes => "base64",
        };
        say!("As {how} it is a text of its own: --unwrap {how} shows what that says.");
    }
    if args.unwrap.is_some() {
        say!("These lines read what was unwrapped, not the text that was given.");
    }
    Ok(if guesses.is_empty() && !known { End::Failed } else { End::Done })
}

fn given(args: &Args) -> Result<Vec<u8>, String> {
    let bytes = match (&args.payload, &args.file) {
        (Some(text), _) => text.clone().into_bytes(),
        (None, Some(file)) => {
            std::fs::read(file).map_err(|why| format!("cannot read {}: {why}", file.display()))?
        }
        (None, None) => {
            let mut bytes = Vec::new();
            let most = PAYLOAD_MAX as u64 + 1;
            let read = std::io::stdin().lock().take(most).read_to_end(&mut bytes);
            read.map_err(|why| format!("cannot read standard input: {why}"))?;
            bytes
        }
    };
    let wrap = match args.unwrap {
        None => return Ok(bytes),
        Some(Wrapping::Hex) => Wrap::Hex,
        Some(Wrapping::Base64) => Wrap::Base64,
    };
    let text = String::from_utf8(bytes).map_err(|_| "what is to be unwrapped is no text")?;
    guess::unwrapped(&text, wrap)
}

/// What the farm's own settings read in it; true if that is anything.
fn by_the_settings(farm: &Loaded, topic: &str, payload: &[u8], now: Moment) -> bool {
    let Ok(decoders) = Decoders::new(&farm.config.sensors) else {
        return false;
    };
    let heard = decoders.read(topic, payload, now, false);
    if heard.matched == 0 {
        let on = if topic.is_empty() {
            "without a topic".to_owned()
        } else {
            format!("on {}", line_of(topic))
        };
        say!("By the settings: no [[sensor]] reads a message {on}.\n");
        return false;
    }
    say!("By the settings:");
    for reading in &heard.readings {
        say!("  {}: {}: {}", reading.kind, reading.device, figure(reading, now));
    }
    for why in &heard.refusals {
        say!("  refused: {}", line_of(why));
    }
    say!("");
    !heard.readings.is_empty()
}

fn show(n: usize, guess: &Guess, now: Moment) {
    say!("{n}. {}", line_of(&guess.what));
    for reading in &guess.readings {
        say!("     {}", figure(reading, now));
    }
    say!("\n{}", guess.settings);
}

fn figure(reading: &Reading, now: Moment) -> String {
    // A share is a number without a unit; SenML writes it "/" (RFC 8428, section 12.1).
    let unit = reading.unit.map(Unit::name).filter(|name| *name != "/");
    let unit = unit.map(|name| format!(" {name}")).unwrap_or_default();
    let age = if reading.at > now {
        format!("{} ahead", english::span(reading.at.since(now)))
    } else {
        format!("{} ago", english::span(now.since(reading.at)))
    };
    let at = reading.timed.then(|| format!(", at {} ({age})", reading.at.rfc3339()));
    let value = Amount::of(reading.value)
        .filter(|_| reading.unit.is_some())
        .map_or_else(|| reading.value.to_string(), |amount| amount.to_string());
    line_of(&format!("{} = {value}{unit}{}", reading.sign, at.unwrap_or_default()))
}

fn wait_for_one(farm: &Loaded, topic: &str) -> Result<Packet, String> {
    let filter = Filter::parse(topic).map_err(|why| why.to_string())?;
    let base = farm.place.base();
    let credentials = std::env::var_os("CREDENTIALS_DIRECTORY").map(PathBuf::from);
    let reach =
        Reach { broker: &farm.config.broker, base: &base, credentials: credentials.as_deref() };
    let message = runtime()?.block_on(mqtt::one_message(reach, &filter.mqtt(), WAIT))?;
    Ok(Packet {
        topic: message.topic,
        payload: Payload(message.payload.to_vec()),
        retained: message.retained,
    })
}

/// Whole, on a line of its own.
fn line_of(text: &str) -> String {
    english::printable(text, usize::MAX)
}
