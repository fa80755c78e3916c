//! One connection, from the greeting to its end.
//!
//! Nothing here waits for the client library's own queue: with that queue full, the one task that
//! empties it would be waiting for itself. Requests are tried, and tried again a turn later.

use std::time::Duration;

use tokio::sync::mpsc;
use tokio::time::{Instant, sleep_until, timeout};

use super::asking::Asking;
use super::ears::Ears;
use super::echo::{self, Beat, Echo};
use super::fault::{self, Fault};
use super::post::Post;
use super::voice::{self, Care, Ear, Voice};
use super::window::{Settled, Window};
use super::{Fresh, Gone, Heard, Message, Mouth, Standing, Terms, stopped};
use crate::line::Arrival;
use crate::watch::event::LineNews;

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
    pub(super) terms: Terms,
    pub(super) voice: Voice,
    ear: Ear,
    window: Window,
    settled: mpsc::UnboundedReceiver<Settled>,
    pub(super) standing: &'a mut Standing,
    pub(super) mouth: &'a mut Mouth,
    pub(super) ears: &'a Ears,
    pub(super) post: &'a mut Post,
    pub(super) asking: Asking,
    /// Runs once the broker has agreed to bring our own words back.
    pub(super) echo: Option<Echo>,
    pub(super) connected: bool,
    pub(super) session_present: bool,
    /// Everything has been asked for, and answered.
    pub(super) ready: bool,
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
        post: &'a mut Post,
    ) -> Self {
        let (voice, ear, size) = voice::open(&terms);
        let (window, settled) = Window::new(size, terms.patience);
        let asking = Asking::new(ears.wanted(), standing.echo.wanted());
        Self {
            terms,
            voice,
            ear,
            window,
            settled,
            standing,
            mouth,
            ears,
            post,
            asking,
            echo: None,
            connected: false,
            session_present: false,
            ready: false,
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

    /// Waits for one word from the broker, passing confirmations and our own words on meanwhile. The
    /// library's future is kept until it is done: dropped half way, it could lose an acknowledgement it
    /// has already taken.
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
                () = due(self.echo.as_ref(), self.post), if self.ready => {
                    let echo = self.echo.as_mut();
                    if let Err(fault) = speak(&self.voice, echo, self.post, &self.terms) {
                        return Turn::Heard(Err(fault));
                    }
                }
            }
        }
    }

    async fn take(&mut self, heard: Heard) -> Result<(), Ended> {
        match heard {
            Heard::Connected { session_present } => {
                self.connected = true;
                self.session_present = session_present;
                let lost = self.standing.session_expected && !session_present;
                self.standing.session_expected = true;
                if self.terms.fresh {
                    self.standing.fresh = Fresh::Done;
                }
                if lost {
                    self.mouth.news(LineNews::SessionLost).await?;
                }
            }
            Heard::Subscribed(answer) => self.answered(answer).await?,
            Heard::Message(message) => self.message(message).await?,
            // Only our echo is confirmed to us.
            Heard::Published(Err(why)) => self.no_echo(why).await?,
            Heard::Published(Ok(())) | Heard::Left | Heard::Nothing => {}
        }
        Ok(())
    }

    async fn message(&mut self, message: Message) -> Result<(), Ended> {
        let receipt = message.ticket.map(|ticket| self.window.admit(ticket));
        if let Some(own) = self.terms.own.as_ref().filter(|own| own.is(&message.topic)) {
            receipt.into_iter().for_each(crate::line::Receipt::confirm);
            if message.topic == own.echo {
                self.echoed(&message.payload).await?;
            }
            return Ok(());
        }
        match self.ears.hear(message, receipt) {
            Some(arrival) => Ok(self.hand_on(arrival).await?),
            None => Ok(()),
        }
    }

    async fn hand_on(&mut self, arrival: Arrival) -> Result<(), Gone> {
        let began = Instant::now();
        self.mouth.say(arrival).await?;
        if let Some(echo) = self.echo.as_mut().filter(|_| began.elapsed() >= echo::HELD) {
            echo.held();
        }
        Ok(())
    }

    pub(super) fn begin_echo(&mut self) {
        // Without a die, what an earlier connection left on the way could pass for ours: no harm.
        let mark = getrandom::u64().unwrap_or(0);
        self.echo = self.standing.echo.every().map(|every| Echo::new(every, mark, Instant::now()));
    }

    /// What had been read when the connection broke is handed on too, without a way to confirm it:
    /// a message that is confirmed at all will come again, and twice is better than never.
    async fn last_words(&mut self, fault: Fault) -> Ended {
        for message in self.ear.leftovers() {
            let ours = self.terms.own.as_ref().is_some_and(|own| own.is(&message.topic));
            if !ours
                && let Some(arrival) = self.ears.hear(message, None)
                && self.mouth.say(arrival).await.is_err()
            {
                return Ended::Gone;
            }
        }
        Ended::Fault(match fault {
            Fault::Closed if !self.connected => fault::unanswered(&self.terms),
            Fault::Closed
            | Fault::Broken(_)
            | Fault::Deaf(_)
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
        // Where nothing was said yet, nothing is to be taken back.
        let mut word = self.terms.own.clone().filter(|_| self.ready);
        let mut said = false;
        loop {
            self.window.release(|ticket| self.voice.acknowledge(ticket));
            if !said && !self.window.owes() {
                // The broker says our last will only when we vanish.
                if word
                    .as_ref()
                    .is_some_and(|own| self.voice.keep(&own.state, own.left, Care::Little))
                {
                    word = None;
                }
                said = word.is_none() && self.voice.leave();
            }
            match self.ear.hear().await {
                Ok(Heard::Left) | Err(_) => return,
                Ok(
                    Heard::Connected { .. }
                    | Heard::Subscribed(_)
                    | Heard::Published(_)
                    | Heard::Message(_)
                    | Heard::Nothing,
                ) => {}
            }
        }
    }
}

/// Waits until there is something of our own to say.
async fn due(echo: Option<&Echo>, post: &mut Post) {
    let soonest = match (echo.map(Echo::due), post.due()) {
        (Some(one), Some(other)) => Some(one.min(other)),
        (one, other) => one.or(other),
    };
    tokio::select! {
        () = sleep_until(soonest.unwrap_or_else(Instant::now)), if soonest.is_some() => {}
        () = post.changed() => {}
    }
}

/// Says what is due of our own: the echo, and what is shown.
fn speak(
    voice: &Voice,
    echo: Option<&mut Echo>,
    post: &mut Post,
    terms: &Terms,
) -> Result<(), Fault> {
    let now = Instant::now();
    if let (Some(echo), Some(own)) = (echo, &terms.own) {
        match echo.beat(now) {
            Beat::Nothing => {}
            Beat::Say(text) => {
                // Without room it counts as lost on the way: that queue should be empty.
                let _ = voice.publish(&own.echo, &text, Care::Confirmed);
            }
            Beat::Deaf => return Err(fault::deaf(terms)),
        }
    }
    if post.due().is_some_and(|due| due <= now) {
        post.bring(now, |topic, payload| voice.keep(topic, payload, Care::Little));
    }
    Ok(())
}
