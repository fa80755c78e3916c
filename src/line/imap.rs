//! Answers by mail: stays logged in to one mailbox and passes every new mail on as an `Arrival`.
//!
//! It decides nothing about a mail, deletes nothing and moves nothing; it marks a mail as seen once
//! the arrival is confirmed, which means on disk. A mail is known by (mailbox, UIDVALIDITY, UID), so
//! it is read once, however often the connection breaks. No call to the server is made without a
//! limit of time: a link that went dead is found out and made anew.

mod patience;
mod reach;
mod session;
mod trouble;

use std::collections::VecDeque;
use std::path::PathBuf;

use tokio::sync::{mpsc, watch};

pub use self::patience::Patience;
use self::patience::period;
use self::session::{Body, Mailbox, Session, Waited};
use self::trouble::Trouble;
use crate::config::lines::Imap;
use crate::line::{Arrival, Receipt, letter};
use crate::plain::ids::LineName;
use crate::plain::moment::Span;
use crate::talk::letter::{MailPlace, Reply};
use crate::watch::event::{Event, LineNews, LineState};

/// Every Message-ID of ours begins so; a mail that answers one is for us, whenever it came.
const OUR_IDS: &str = "lowbell.";

/// A mail up to this size is read whole: enough for words with a small picture.
const WHOLE_CAP: u32 = 256 * 1024;

/// Of a larger mail the beginning is read; mail programs put the words before what is attached.
const BEGINNING: u32 = 64 * 1024;

/// Of a mail that twice broke the connection, hardly more than the header is asked for.
const HEADER: u32 = 8 * 1024;

/// So many times one mail may break the connection before it is passed over, unread but named.
const TRIES_PER_MAIL: u32 = 6;

/// Seen marks that one command carries, so that no line grows past what servers take.
const MARKS_PER_COMMAND: usize = 100;

/// How long the server can be left without a Seen mark: it does not mind.
const RECEIPT_PATIENCE: Span = Span::minutes(1);

/// One mailbox to be read.
#[derive(Clone, Debug)]
pub struct Inbox {
    pub name: LineName,
    pub line: Imap,
    /// The folder of the settings, for the files they name.
    pub base: PathBuf,
    pub credentials: Option<PathBuf>,
    /// The last mail that is in the journal; `None` if there was none yet.
    pub from: Option<MailPlace>,
    pub patience: Patience,
}

/// Reads the mailbox until asked to stop or until nobody listens any more.
pub async fn run(
    name: LineName,
    line: Imap,
    base: PathBuf,
    credentials: Option<PathBuf>,
    from: Option<MailPlace>,
    arrivals: mpsc::Sender<Arrival>,
    stop: watch::Receiver<bool>,
) {
    let inbox = Inbox { name, line, base, credentials, from, patience: Patience::default() };
    inbox.run(arrivals, stop).await;
}

impl Inbox {
    /// As `run`, with this inbox's own patience.
    pub async fn run(self, arrivals: mpsc::Sender<Arrival>, stop: watch::Receiver<bool>) {
        let (confirm, confirmed) = mpsc::unbounded_channel();
        let stand = self
            .from
            .as_ref()
            .filter(|place| place.mailbox == self.line.mailbox)
            .map(|place| Stand { validity: place.validity, uid: place.uid });
        let mut reader = Reader {
            inbox: self,
            arrivals,
            stop,
            confirm,
            confirmed,
            to_mark: Vec::new(),
            stand,
            waiting: VecDeque::new(),
            stuck: (0, 0),
            down: false,
            failures: 0,
        };
        reader.keep_reading().await;
    }
}

/// How far the mailbox has been read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Stand {
    validity: u32,
    uid: u32,
}

/// Nobody listens for arrivals any more.
struct NobodyListens;

/// What ends a visit.
enum End {
    Finished,
    Broken(Trouble),
}

impl From<Trouble> for End {
    fn from(trouble: Trouble) -> Self {
        Self::Broken(trouble)
    }
}

impl From<NobodyListens> for End {
    fn from(_: NobodyListens) -> Self {
        Self::Finished
    }
}

struct Reader {
    inbox: Inbox,
    arrivals: mpsc::Sender<Arrival>,
    stop: watch::Receiver<bool>,
    /// Receipts put the mails here that may be marked as seen.
    confirm: mpsc::UnboundedSender<Stand>,
    confirmed: mpsc::UnboundedReceiver<Stand>,
    to_mark: Vec<Stand>,
    /// `None` until the mailbox was first looked at.
    stand: Option<Stand>,
    /// Older mails that are for us all the same.
    waiting: VecDeque<u32>,
    /// The mail being fetched and how often that broke the connection.
    stuck: (u32, u32),
    /// Whether the outage has been told.
    down: bool,
    failures: u32,
}

impl Reader {
    async fn keep_reading(&mut self) {
        loop {
            let mut stop = self.stop.clone();
            let parting = self.inbox.patience.parting;
            let end = {
                let mut visit = std::pin::pin!(self.visit());
                tokio::select! {
                    end = &mut visit => end,
                    () = asked_to_stop(&mut stop) => {
                        // The visit sees it too and says goodbye, unless the server keeps it waiting.
                        let _parted = tokio::time::timeout(parting, visit).await;
                        return;
                    }
                }
            };
            let trouble = match end {
                End::Finished => return,
                End::Broken(trouble) => trouble,
            };
            if self.down {
                tracing::debug!(line = %self.inbox.name, "still no way to the mailbox: {}", trouble.why);
            } else {
                tracing::warn!(line = %self.inbox.name, "no way to the mailbox: {}", trouble.why);
                let why = trouble.why.clone();
                if self.tell(LineNews::Down { why }).await.is_err() {
                    return;
                }
                self.down = true;
            }
            let pause = self.inbox.patience.pause(self.failures, trouble.refused);
            self.failures = self.failures.saturating_add(1);
            tokio::select! {
                () = tokio::time::sleep(pause) => {}
                () = asked_to_stop(&mut stop) => return,
            }
        }
    }

    /// One connection, from reaching the server until something breaks or there is an end to it.
    async fn visit(&mut self) -> End {
        match self.try_visit().await {
            Ok(()) => End::Finished,
            Err(end) => end,
        }
    }

    async fn try_visit(&mut self) -> Result<(), End> {
        let mut session = Session::open(&self.inbox).await?;
        let mut mailbox = session.select(&self.inbox.line.mailbox).await?;
        self.find_place(&mut session, &mailbox).await?;
        self.tell(LineNews::Up).await?;
        self.down = false;
        tracing::info!(line = %self.inbox.name, "reading the mailbox {}", self.inbox.line.mailbox);
        let period = period(&self.inbox.line);
        loop {
            self.sweep(&mut session, mailbox.validity).await?;
            self.mark(&mut session, mailbox.validity).await?;
            let (back, waited) = session.wait(period, &mut self.confirmed, &mut self.stop).await?;
            session = back;
            self.failures = 0;
            match waited {
                Waited::Time => {
                    // Entered again, not only looked at: a server may leave us for ever in a mailbox
                    // that was deleted under us and made anew.
                    mailbox = session.select(&self.inbox.line.mailbox).await?;
                    self.find_place(&mut session, &mailbox).await?;
                }
                Waited::News => tokio::time::sleep(self.inbox.patience.settle).await,
                Waited::Confirmed(stand) => self.to_mark.push(stand),
                Waited::Stop => {
                    self.mark(&mut session, mailbox.validity).await?;
                    session.leave().await;
                    return Ok(());
                }
            }
        }
    }

    /// Where to go on reading in this mailbox.
    async fn find_place(
        &mut self,
        session: &mut Session,
        mailbox: &Mailbox,
    ) -> Result<(), Trouble> {
        match self.stand {
            Some(stand) if stand.validity == mailbox.validity => return Ok(()),
            Some(_) => {
                // The numbers mean other mails now; whoever keeps Message-IDs tells old from new.
                tracing::warn!(line = %self.inbox.name, "the mailbox was numbered anew: reading it from its beginning");
                self.waiting.clear();
                self.stand = Some(Stand { validity: mailbox.validity, uid: 0 });
            }
            None => {
                // Whatever lay here before us is not for us, except an unread answer to a mail of
                // ours: it came while we were away, before the first mail was ever journalled.
                self.waiting = session.unread_answers_to(OUR_IDS).await?.into();
                self.stand =
                    Some(Stand { validity: mailbox.validity, uid: mailbox.next.saturating_sub(1) });
            }
        }
        Ok(())
    }

    /// Passes on every mail that has not been passed on yet, oldest first.
    async fn sweep(&mut self, session: &mut Session, validity: u32) -> Result<(), End> {
        while let Some(uid) = self.waiting.front().copied() {
            for (uid, size) in session.sizes(&uid.to_string()).await? {
                self.pass_on(session, validity, uid, size).await?;
            }
            self.waiting.pop_front();
        }
        let last = self.stand.map_or(0, |stand| stand.uid);
        let set = format!("{}:*", last.saturating_add(1));
        session.look().await?;
        let mut new = session.sizes(&set).await?;
        // "n:*" names the last mail even where it is older than n (RFC 3501, section 6.4.8).
        new.retain(|(uid, _)| *uid > last);
        new.sort_unstable();
        new.dedup_by_key(|(uid, _)| *uid);
        for (uid, size) in new {
            self.pass_on(session, validity, uid, size).await?;
            self.stand = Some(Stand { validity, uid });
        }
        Ok(())
    }

    async fn pass_on(
        &mut self,
        session: &mut Session,
        validity: u32,
        uid: u32,
        size: u32,
    ) -> Result<(), End> {
        let place = Some(MailPlace { mailbox: self.inbox.line.mailbox.clone(), validity, uid });
        let tries = if self.stuck.0 == uid { self.stuck.1 } else { 0 };
        self.stuck = (uid, tries + 1);
        let reply = match amount(size, tries) {
            None => self.passed_over(place, "it breaks the connection each time"),
            Some(amount) => match session.body(uid, amount).await? {
                Body::Gone => return Ok(()),
                Body::Bytes(raw) => {
                    letter::read(&raw, &self.inbox.name, place.clone(), amount < size)
                        .unwrap_or_else(|| self.passed_over(place, "it has no header"))
                }
            },
        };
        let confirm = self.confirm.clone();
        let receipt = Receipt::new(RECEIPT_PATIENCE, move || {
            let _whoever_marks = confirm.send(Stand { validity, uid });
        });
        let arrival = Arrival { event: Event::Answered(reply), receipt: Some(receipt) };
        self.arrivals.send(arrival).await.map_err(|_| NobodyListens.into())
    }

    fn passed_over(&self, place: Option<MailPlace>, why: &str) -> Reply {
        let uid = place.as_ref().map_or(0, |place| place.uid);
        tracing::warn!(line = %self.inbox.name, "mail {uid} cannot be read: {why}");
        letter::unreadable(&self.inbox.name, place)
    }

    /// Marks as seen what has been confirmed since.
    async fn mark(&mut self, session: &mut Session, validity: u32) -> Result<(), Trouble> {
        while let Ok(stand) = self.confirmed.try_recv() {
            self.to_mark.push(stand);
        }
        // What was read under other numbers cannot be found again, and need not be.
        self.to_mark.retain(|stand| stand.validity == validity);
        while !self.to_mark.is_empty() {
            let some = self.to_mark.len().min(MARKS_PER_COMMAND);
            let set: Vec<String> =
                self.to_mark[..some].iter().map(|stand| stand.uid.to_string()).collect();
            if let Err(words) = session.mark_seen(&set.join(",")).await? {
                tracing::warn!(line = %self.inbox.name, "mails cannot be marked as seen: {words}");
            }
            self.to_mark.drain(..some);
        }
        Ok(())
    }

    async fn tell(&self, news: LineNews) -> Result<(), NobodyListens> {
        let line = self.inbox.name.clone();
        self.arrivals
            .send(Arrival::plain(Event::Line(LineState { line, news })))
            .await
            .map_err(|_| NobodyListens)
    }
}

/// How much of a mail to ask for; `None` once it has broken the connection too often.
fn amount(size: u32, tries: u32) -> Option<u32> {
    let most = match tries {
        0 | 1 if size <= WHOLE_CAP => WHOLE_CAP,
        0..=3 => BEGINNING,
        _ => HEADER,
    };
    (tries < TRIES_PER_MAIL).then_some(most)
}

/// Returns when asked to stop, or when nobody is left who could ask.
async fn asked_to_stop(stop: &mut watch::Receiver<bool>) {
    let _asked_or_alone = stop.wait_for(|asked| *asked).await;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mail_that_breaks_the_connection_is_asked_for_in_ever_smaller_pieces() {
        let asked: Vec<_> = (0..7).map(|tries| amount(1000, tries)).collect();
        assert_eq!(
            asked,
            [
                Some(WHOLE_CAP),
                Some(WHOLE_CAP),
                Some(BEGINNING),
                Some(BEGINNING),
                Some(HEADER),
                Some(HEADER),
                None
            ]
        );
        assert_eq!(amount(WHOLE_CAP, 0), Some(WHOLE_CAP));
        assert_eq!(amount(WHOLE_CAP + 1, 0), Some(BEGINNING));
    }
}
