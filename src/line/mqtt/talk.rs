//! One connection, from the greeting to its end.
//!
//! Nothing here waits for the client library's own queue: with that queue full, the one task that
//! empties it would be waiting for itself. Requests are tried, and tried again a turn later.

use std::collections::{BTreeSet, VecDeque};
use std::time::Duration;

use tokio::sync::mpsc;
use tokio::time::{Instant, timeout};

use super::ears::Ears;
use super::fault::{self, Fault};
use super::window::{Settled, Ticket, Window};
use super::{Fresh, Gone, Heard, Message, Mouth, Standing, Terms, five, stopped, three};
use crate::config::farm::MqttVersion;
use crate::watch::event::LineNews;

/// A broker that has not answered a subscription by then will not.
const SUBSCRIBE_PATIENCE: Duration = Duration::from_secs(30);

/// How long a good-bye may take: enough for acknowledgements already owed, short enough for a shutdown.
const LEAVE_PATIENCE: Duration = Duration::from_secs(2);

/// Longer than the library needs to give up a connect by itself (5 s).
const CONNECT_PATIENCE: Duration = Duration::from_secs(15);

/// How a connection ended.
pub(super) enum Ended {
    /// Told to stop, or nobody is left to hear.
    Gone,
    Fault(Fault),
}

impl From<Gone> for Ended {
    fn from(Gone: Gone) -> Self {
        Self::Gone
    }
}

pub(super) struct Talk<'a> {
    terms: Terms,
    voice: Voice,
    ear: Ear,
    window: Window,
    settled: mpsc::UnboundedReceiver<Settled>,
    standing: &'a mut Standing,
    mouth: &'a mut Mouth,
    ears: &'a Ears,
    /// Filters not yet asked for; the front one is being asked if `asked` says since when.
    filters: VecDeque<String>,
    asked: Option<Instant>,
    refused: BTreeSet<String>,
    connected: bool,
}

/// What can be said to the broker, without waiting.
enum Voice {
    Five(rumqttc::v5::AsyncClient),
    Three(rumqttc::AsyncClient),
}

enum Ear {
    Five(Box<five::Ear>),
    Three(Box<three::Ear>),
}

enum Turn {
    Stop,
    Heard(Result<Heard, Fault>),
}

impl<'a> Talk<'a> {
    pub(super) fn begin(
        terms: Terms,
        ears: &'a Ears,
        standing: &'a mut Standing,
        mouth: &'a mut Mouth,
    ) -> Self {
        let (voice, ear, size) = match terms.version {
            MqttVersion::Five => {
                let (client, ear) = five::open(&terms);
                (Voice::Five(client), Ear::Five(Box::new(ear)), five::WINDOW)
            }
            MqttVersion::ThreeOneOne => {
                let (client, ear) = three::open(&terms);
                let ear = Ear::Three(Box::new(ear));
                (Voice::Three(client), ear, three::WINDOW)
            }
        };
        let (window, settled) = Window::new(usize::from(size), terms.patience);
        Self {
            terms,
            voice,
            ear,
            window,
            settled,
            standing,
            mouth,
            filters: ears.wanted().into(),
            ears,
            asked: None,
            refused: BTreeSet::new(),
            connected: false,
        }
    }

    pub(super) async fn run(mut self) -> Ended {
        loop {
            let turn = self.turn().await;
            if let Err(ended) = self.follow(turn).await {
                if matches!(ended, Ended::Gone) && self.connected {
                    // Without a good-bye in time the broker notices by itself, and keeps the session.
                    let _ = timeout(LEAVE_PATIENCE, self.leave()).await;
                }
                return ended;
            }
        }
    }

    async fn follow(&mut self, turn: Turn) -> Result<(), Ended> {
        match turn {
            Turn::Stop => return Err(Ended::Gone),
            Turn::Heard(Err(fault)) => return Err(self.last_words(fault).await),
            Turn::Heard(Ok(heard)) => self.take(heard).await?,
        }
        self.ask_on().await
    }

    /// Waits for one word from the broker, passing confirmations on meanwhile. The library's future is
    /// kept until it is done: dropped half way, it could lose an acknowledgement it has already taken.
    async fn turn(&mut self) -> Turn {
        let silence = if self.connected {
            // It pings by itself, so with a live connection there is a word in every keep alive.
            self.ear.keep_alive() * 2 + CONNECT_PATIENCE
        } else {
            CONNECT_PATIENCE
        };
        let hearing = timeout(silence, self.ear.hear());
        tokio::pin!(hearing);
        loop {
            tokio::select! {
                biased;
                () = stopped(&mut self.mouth.stop) => return Turn::Stop,
                Some(settled) = self.settled.recv() => {
                    self.window.settle(&settled);
                    self.window.release(|ticket| self.voice.acknowledge(ticket));
                }
                heard = &mut hearing => {
                    // A turn has made room in the library's queue.
                    self.window.release(|ticket| self.voice.acknowledge(ticket));
                    return Turn::Heard(heard.unwrap_or_else(|_| Err(fault::silent(&self.terms))));
                }
            }
        }
    }

    async fn take(&mut self, heard: Heard) -> Result<(), Ended> {
        match heard {
            Heard::Connected { session_present } => {
                self.connected = true;
                let lost = self.standing.session_expected && !session_present;
                self.standing.session_expected = true;
                if self.terms.fresh {
                    self.standing.fresh = Fresh::Done;
                }
                if lost {
                    self.mouth.news(LineNews::SessionLost).await?;
                }
                if self.filters.is_empty() {
                    self.all_asked().await?;
                }
            }
            Heard::Subscribed(answer) => {
                self.asked = None;
                self.answered(answer).await?;
            }
            Heard::Message(message) => {
                let receipt = message.ticket.map(|ticket| self.window.admit(ticket));
                if let Some(arrival) = self.ears.hear(message, receipt) {
                    self.mouth.say(arrival).await?;
                }
            }
            Heard::Left | Heard::Nothing => {}
        }
        Ok(())
    }

    /// One subscription at a time, on every connection whatever the session says: each answer is
    /// then the answer to the filter in front, and a filter refused takes no other with it.
    async fn ask_on(&mut self) -> Result<(), Ended> {
        if let Some(since) = self.asked {
            return if since.elapsed() > SUBSCRIBE_PATIENCE {
                Err(Ended::Fault(fault::silent(&self.terms)))
            } else {
                Ok(())
            };
        }
        while let (true, Some(filter)) = (self.connected, self.filters.front()) {
            if rumqttc::valid_filter(filter) {
                if self.voice.subscribe(filter) {
                    self.asked = Some(Instant::now());
                }
                break;
            }
            // A broker would hang up on it, and take all the others with it.
            self.answered(Err("this is not a topic filter".to_owned())).await?;
        }
        Ok(())
    }

    async fn answered(&mut self, answer: Result<bool, String>) -> Result<(), Ended> {
        let Some(filter) = self.filters.pop_front() else {
            return Ok(());
        };
        let before = self.standing.refused.as_ref();
        let was_refused = before.is_some_and(|refused| refused.contains(&filter));
        let first_time = before.is_none();
        match answer {
            Ok(confirmed) => {
                if !confirmed {
                    tracing::warn!(
                        "The broker gives {filter} without confirmation: messages may be lost on the way."
                    );
                }
                if first_time || was_refused {
                    self.mouth.news(LineNews::SubscriptionTaken { filter }).await?;
                }
            }
            Err(why) => {
                self.refused.insert(filter.clone());
                if !was_refused {
                    self.mouth.news(LineNews::SubscriptionRefused { filter, why }).await?;
                }
            }
        }
        if self.filters.is_empty() {
            self.all_asked().await?;
        }
        Ok(())
    }

    async fn all_asked(&mut self) -> Result<(), Ended> {
        self.standing.refused = Some(std::mem::take(&mut self.refused));
        self.standing.outage.clear();
        tracing::info!("Connected to the broker at {}.", self.terms.place());
        Ok(self.mouth.news(LineNews::Up).await?)
    }

    /// What had been read when the connection broke is handed on too, without a way to confirm it:
    /// a message that is confirmed at all will come again, and twice is better than never.
    async fn last_words(&mut self, fault: Fault) -> Ended {
        for message in self.ear.leftovers() {
            if let Some(arrival) = self.ears.hear(message, None)
                && self.mouth.say(arrival).await.is_err()
            {
                return Ended::Gone;
            }
        }
        Ended::Fault(match fault {
            Fault::Closed if !self.connected => fault::unanswered(&self.terms),
            Fault::Closed
            | Fault::Broken(_)
            | Fault::Refused(_)
            | Fault::TooLarge { .. }
            | Fault::Garbled(_) => fault,
        })
    }

    /// Sends the acknowledgements that are owed, then the good-bye.
    async fn leave(&mut self) {
        while let Ok(settled) = self.settled.try_recv() {
            self.window.settle(&settled);
        }
        let mut said = false;
        loop {
            self.window.release(|ticket| self.voice.acknowledge(ticket));
            if !said && !self.window.owes() {
                said = self.voice.leave();
            }
            match self.ear.hear().await {
                Ok(Heard::Left) | Err(_) => return,
                Ok(
                    Heard::Connected { .. }
                    | Heard::Subscribed(_)
                    | Heard::Message(_)
                    | Heard::Nothing,
                ) => {}
            }
        }
    }
}

impl Voice {
    fn subscribe(&self, filter: &str) -> bool {
        match self {
            Self::Five(client) => five::subscribe(client, filter),
            Self::Three(client) => three::subscribe(client, filter),
        }
    }

    fn acknowledge(&self, ticket: Ticket) -> bool {
        match self {
            Self::Five(client) => five::acknowledge(client, ticket),
            Self::Three(client) => three::acknowledge(client, ticket),
        }
    }

    fn leave(&self) -> bool {
        match self {
            Self::Five(client) => client.try_disconnect().is_ok(),
            Self::Three(client) => client.try_disconnect().is_ok(),
        }
    }
}

impl Ear {
    async fn hear(&mut self) -> Result<Heard, Fault> {
        match self {
            Self::Five(ear) => ear.hear().await,
            Self::Three(ear) => ear.hear().await,
        }
    }

    fn leftovers(&mut self) -> Vec<Message> {
        match self {
            Self::Five(ear) => ear.leftovers(),
            Self::Three(ear) => ear.leftovers(),
        }
    }

    fn keep_alive(&self) -> Duration {
        match self {
            Self::Five(ear) => ear.keep_alive(),
            Self::Three(ear) => ear.keep_alive(),
        }
    }
}
