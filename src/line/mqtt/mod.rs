//! The farm's own broker, as its client: subscribe, hear, and confirm what is on disk.
//!
//! One connection is one client object, thrown away with the connection. The library would rather
//! keep one for ever and reconnect by itself; but then buffered packets, queued acknowledgements and
//! half-done exchanges of the old connection leak into the new one. Nothing can leak from what is
//! gone, and nothing old enough to be wedged is ever asked to go on. The broker keeps the session.
//!
//! It publishes what is ours to say (`own`, `echo`, `post`), and refuses to confirm anything that nobody confirmed to it.

mod aside;
mod asking;
mod backoff;
mod ears;
mod echo;
mod fault;
mod five;
mod once;
mod own;
mod post;
mod talk;
mod terms;
mod three;
mod voice;
mod window;

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use bytes::Bytes;
use tokio::sync::{mpsc, watch};
use tokio::time::Instant;

pub use self::aside::{Aside, Wanted};
use self::backoff::Backoff;
use self::ears::Ears;
use self::echo::Faith;
use self::fault::Fault;
pub use self::once::{Reach, clear, kept, one_message};
use self::own::Own;
use self::post::Post;
use self::talk::{Ended, Talk};
use self::terms::Terms;
use self::window::Ticket;
use super::Arrival;
use crate::config::farm::Broker;
use crate::plain::ids::LineName;
use crate::watch::event::{Event, LineNews, LineState};
use crate::watch::shown::Shown;

/// The largest payload that is taken. A sensor's word has a few hundred bytes; this leaves room for a
/// batch of curves and keeps the journal of a season on an SD card.
pub const PAYLOAD_MAX: usize = 256 * 1024;

/// The largest packet let in at all. More than `PAYLOAD_MAX`, so that what is too large can be named,
/// acknowledged and dropped, and the packets behind it come. MQTT 5 brokers are told this number and
/// keep back what is larger (MQTT-3.1.2-25); the library's own limit is 10 KiB, and a packet over the
/// limit in a kept session comes again on every connection, for ever.
const PACKET_MAX: u32 = 1024 * 1024;

/// What is let in after a broker insisted on a packet over `PACKET_MAX`: only to be dropped, so that
/// nothing behind it is lost. Above this, the session is given up: a Pi has not the memory.
const PACKET_AT_MOST: u32 = 16 * 1024 * 1024;

/// A connection that stood this long was a good one: the next trouble is new trouble. One that fell
/// at once (a packet we choke on, two clients with one id) must not reset the back-off.
const STEADY: Duration = Duration::from_secs(10);

/// Unreadable packets at the head of so many connections in a row: it is the session that is ill.
const GARBLED_MAX: u32 = 3;

/// Closed so many times in a row soon after we were taken: somebody else is taken in our place. The
/// usual broker says so in a packet that the library cannot read (a reason without properties).
const CLOSED_MAX: u32 = 3;

/// Room for requests to the library: several windows of acknowledgements. A full channel loses
/// nothing, the rest waits in the window.
const REQUESTS: usize = 4 * five::WINDOW as usize;

/// The only packets of ours that need an id are subscriptions, one at a time, and a few echoes.
const SUBSCRIBE_IDS: u16 = 16;

/// What a line to the broker is begun with.
pub struct Plan {
    pub broker: Broker,
    /// MQTT filters whose messages become events, people's answers included.
    pub filters: Vec<String>,
    /// Whoever wants other messages for themselves.
    pub asides: Vec<Wanted>,
    /// What the broker is to keep for others to see.
    pub shown: Option<watch::Receiver<Arc<Shown>>>,
    /// The largest payload that becomes an event, in bytes; at most `PAYLOAD_MAX`.
    pub largest: usize,
    /// The folder of the settings: files are named from there.
    pub base: PathBuf,
    pub credentials: Option<PathBuf>,
    /// This client id had a session before, so that a broker without one has lost it.
    pub known: bool,
}

/// Connects, stays connected, and hands on what it hears until `stop` says true or nobody listens.
pub async fn run(plan: Plan, arrivals: mpsc::Sender<Arrival>, stop: watch::Receiver<bool>) {
    let echo = plan
        .broker
        .voice
        .echo
        .map(|every| Duration::from_millis(u64::try_from(every.millis()).unwrap_or(0)));
    let packet_max = if plan.asides.is_empty() { PACKET_MAX } else { aside::PACKET_MAX };
    let mut line = Line {
        packet_max,
        garbled: 0,
        closed: 0,
        standing: Standing {
            session_expected: plan.known,
            fresh: Fresh::No,
            refused: None,
            outage: BTreeSet::new(),
            echo: Faith::new(echo, Own::new(&plan.broker).echo),
        },
        mouth: Mouth { arrivals, stop },
        post: Post::new(plan.shown),
        ears: Ears::new(plan.filters, plan.asides, plan.largest),
        broker: plan.broker,
        base: plan.base,
        credentials: plan.credentials,
    };
    let mut backoff = Backoff::default();
    loop {
        let began = Instant::now();
        let ended = line.connect().await;
        if began.elapsed() >= STEADY {
            backoff.reset();
            line.garbled = 0;
            line.closed = 0;
            line.standing.fresh = Fresh::No;
        }
        let Ended::Fault(fault) = ended else { return };
        if line.learn(fault).await.is_err() {
            return;
        }
        // Without a die the wait is the longest of its step: still right, only less spread.
        let wait = backoff.next(getrandom::u32().unwrap_or(u32::MAX));
        if line.mouth.stopped_within(wait).await {
            return;
        }
    }
}

/// What outlives a connection.
struct Line {
    broker: Broker,
    ears: Ears,
    post: Post,
    base: PathBuf,
    credentials: Option<PathBuf>,
    packet_max: u32,
    garbled: u32,
    closed: u32,
    standing: Standing,
    mouth: Mouth,
}

/// Whether the session is to be given up, because the broker holds something in it that we cannot take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fresh {
    No,
    /// On the next connection that comes about.
    Next,
    /// It did not help the last time, so it is not tried again before things have been well for a while:
    /// each time costs what else is in the session.
    Done,
}

/// How things stand with the broker, from one connection to the next.
struct Standing {
    /// A session of ours should be there.
    session_expected: bool,
    fresh: Fresh,
    /// The filters the broker does not give us; `None` before any was asked.
    refused: Option<BTreeSet<String>>,
    /// The kinds of trouble named since the last time all was well.
    outage: BTreeSet<Trouble>,
    echo: Faith,
}

/// Trouble that mends itself and trouble that does not are each told once in an outage: a broker
/// that was rebooted and came back with another password must not stay "not reachable" in the diary.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Trouble {
    Broken,
    Refused,
    Deaf,
}

impl Line {
    async fn connect(&mut self) -> Ended {
        let terms = match self.terms() {
            Ok(terms) => terms,
            Err(why) => return Ended::Fault(Fault::Refused(why)),
        };
        let (standing, mouth) = (&mut self.standing, &mut self.mouth);
        Talk::begin(terms, &self.ears, standing, mouth, &mut self.post).run().await
    }

    /// Everything is read anew for every connection: a password mended on disk is a password mended.
    fn terms(&self) -> Result<Terms, String> {
        let credentials = self.credentials.as_deref();
        let terms = Terms::of(&self.broker, &self.base, credentials)?;
        let fresh = self.standing.fresh == Fresh::Next;
        Ok(Terms { packet_max: self.packet_max, fresh, ..terms })
    }

    /// What a failure changes for the next connection, and what is said about it.
    async fn learn(&mut self, fault: Fault) -> Result<(), Gone> {
        match fault {
            Fault::Broken(why) => self.down(Trouble::Broken, why).await,
            Fault::Refused(why) => self.down(Trouble::Refused, why).await,
            Fault::Deaf(why) => self.deaf(why).await,
            Fault::Closed => self.closed().await,
            Fault::TooLarge { bytes } if bytes <= PACKET_AT_MOST as usize => {
                tracing::warn!(
                    "The broker insists on a packet of {bytes} bytes; it is let in, to be dropped."
                );
                self.packet_max = PACKET_AT_MOST;
                Ok(())
            }
            Fault::TooLarge { bytes } => {
                let what = format!("a message of {}", size(bytes));
                let why = format!("the broker sends {what} again and again");
                self.mouth.news(LineNews::TooLarge { what }).await?;
                self.give_up_session(why).await
            }
            Fault::Garbled(why) => {
                self.garbled += 1;
                if self.garbled < GARBLED_MAX {
                    return self.down(Trouble::Broken, why).await;
                }
                self.garbled = 0;
                self.give_up_session(why).await
            }
        }
    }

    async fn deaf(&mut self, why: String) -> Result<(), Gone> {
        if self.standing.echo.deaf()
            && let Some(filter) = self.standing.echo.give_up()
        {
            let why = "what we publish there never comes back: most often we may not write to it";
            return self
                .mouth
                .news(LineNews::SubscriptionRefused { filter, why: why.to_owned() })
                .await;
        }
        self.down(Trouble::Deaf, why).await
    }

    async fn closed(&mut self) -> Result<(), Gone> {
        self.closed = self.closed.saturating_add(1);
        if self.closed < CLOSED_MAX {
            let why = "the broker closed the connection".to_owned();
            return self.down(Trouble::Broken, why).await;
        }
        let why = format!(
            "the broker closes the connection again and again: if another program uses the client id \
             \"{}\", stop it, or give each its own client-id",
            self.broker.client_id
        );
        self.down(Trouble::Refused, why).await
    }

    async fn give_up_session(&mut self, why: String) -> Result<(), Gone> {
        match self.standing.fresh {
            Fresh::No => {
                tracing::warn!(
                    "The broker's queue for us cannot be read; it is given up, and a new one begun."
                );
                self.standing.fresh = Fresh::Next;
                Ok(())
            }
            Fresh::Next | Fresh::Done => self.down(Trouble::Refused, why).await,
        }
    }

    async fn down(&mut self, trouble: Trouble, why: String) -> Result<(), Gone> {
        tracing::warn!("No broker: {why}.");
        if self.standing.outage.insert(trouble) {
            self.mouth.news(LineNews::Down { why }).await
        } else {
            Ok(())
        }
    }
}

/// What a broker says, in both versions of the protocol.
enum Heard {
    Connected {
        session_present: bool,
    },
    /// The answer to the one subscription that was asked: whether messages are confirmed, or why not.
    Subscribed(Result<bool, String>),
    /// The answer to a message of ours that asked for one.
    Published(Result<(), String>),
    Message(Message),
    /// Our good-bye is out.
    Left,
    Nothing,
}

struct Message {
    topic: String,
    payload: Bytes,
    /// Present if the broker waits to have it confirmed.
    ticket: Option<Ticket>,
    retained: bool,
}

/// Nobody wants to hear more: told to stop, or the inbox is gone.
struct Gone;

/// The way to the inbox, which a stop cuts short.
struct Mouth {
    arrivals: mpsc::Sender<Arrival>,
    stop: watch::Receiver<bool>,
}

impl Mouth {
    /// Hands one arrival on and waits while the inbox is full. Nothing is polled meanwhile, so a ping
    /// may be late: the inbox takes in milliseconds, and if it ever stood still for longer than the
    /// keep alive, the broker would hang up, keep the session and send everything unconfirmed again.
    /// Reading on instead would only move the same crowd into memory.
    async fn say(&mut self, arrival: Arrival) -> Result<(), Gone> {
        tokio::select! {
            biased;
            sent = self.arrivals.send(arrival) => sent.map_err(|_| Gone),
            () = stopped(&mut self.stop) => Err(Gone),
        }
    }

    async fn news(&mut self, news: LineNews) -> Result<(), Gone> {
        let line = LineName::new("broker");
        self.say(Arrival::plain(Event::Line(LineState { line, news }))).await
    }

    async fn stopped_within(&mut self, wait: Duration) -> bool {
        tokio::time::timeout(wait, stopped(&mut self.stop)).await.is_ok()
    }
}

async fn stopped(stop: &mut watch::Receiver<bool>) {
    // Whoever could say "stop" is gone: as good as said.
    let _ = stop.wait_for(|stop| *stop).await;
}

fn size(bytes: usize) -> String {
    if bytes >= 1024 * 1024 {
        format!("{} MiB", bytes / (1024 * 1024))
    } else if bytes >= 10 * 1024 {
        format!("{} KiB", bytes / 1024)
    } else {
        format!("{bytes} bytes")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_said_in_words() {
        assert_eq!(size(1_001), "1001 bytes");
        assert_eq!(size(300 * 1024), "300 KiB");
        assert_eq!(size(17 * 1024 * 1024 + 5), "17 MiB");
    }
}
