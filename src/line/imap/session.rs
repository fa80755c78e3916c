//! One conversation with a mail server: every question has a limit of time, and every answer is
//! checked for the server's verdict and for its goodbye.
//!
//! The library's own fetching ends as quietly after a refusal as after the last mail, so whatever
//! matters is asked by hand here. It knows nothing of what has been read before.

use std::time::Duration;

use async_imap::error::Error;
use async_imap::extensions::idle::IdleResponse;
use async_imap::imap_proto::{AttributeValue, MailboxDatum, Response, Status};
use async_imap::types::{Capability, UnsolicitedResponse};
use tokio::sync::{mpsc, watch};

use super::patience::Patience;
use super::reach::{self, Stream};
use super::trouble::{Trouble, information, not_a_goodbye, within};
use super::{Inbox, Stand, asked_to_stop};

/// What is known of a mailbox on entering it.
pub(super) struct Mailbox {
    pub(super) validity: u32,
    /// The UID that the next mail will have.
    pub(super) next: u32,
}

pub(super) enum Body {
    Bytes(Vec<u8>),
    /// Somebody deleted it meanwhile.
    Gone,
}

/// What ended the waiting.
pub(super) enum Waited {
    Time,
    News,
    Confirmed(Stand),
    Stop,
}

pub(super) struct Session {
    inner: async_imap::Session<Stream>,
    /// Host and port, for messages.
    place: String,
    patience: Patience,
    can_idle: bool,
    /// The server told of new mail while it was asked for something else. It tells each mail once,
    /// so waiting for it to be told again would be waiting in vain.
    told: bool,
}

impl Session {
    /// Reaches the server, logs in and asks what it can.
    pub(super) async fn open(inbox: &Inbox) -> Result<Self, Trouble> {
        let (inner, place) = reach::reach(inbox).await?;
        let mut session =
            Self { inner, place, patience: inbox.patience, can_idle: false, told: false };
        let limit = session.patience.answer;
        let asked = session.inner.capabilities();
        let able = within(&session.place, "asking what it can", limit, asked).await?;
        session.can_idle = able.has(&Capability::Atom("IDLE".to_owned()));
        Ok(session)
    }

    pub(super) async fn select(&mut self, name: &str) -> Result<Mailbox, Trouble> {
        let doing = format!("entering the mailbox {name}");
        let limit = self.patience.answer;
        let entered = within(&self.place, &doing, limit, self.inner.select(name)).await?;
        let Some(validity) = entered.uid_validity else {
            return Err(Trouble::new(format!(
                "{}, {doing}: the server gives mails no lasting numbers (UIDVALIDITY), so none can \
                 be read once and once only",
                self.place
            )));
        };
        let next = match entered.uid_next {
            Some(next) => next,
            None => self.last().await?.saturating_add(1),
        };
        Ok(Mailbox { validity, next })
    }

    /// The number of the newest mail, for servers that do not say it on entering.
    async fn last(&mut self) -> Result<u32, Trouble> {
        let sizes = self.sizes("*").await?;
        Ok(sizes.into_iter().map(|(uid, _)| uid).max().unwrap_or(0))
    }

    /// Unread mails that answer a Message-ID beginning with `start`, oldest first.
    pub(super) async fn unread_answers_to(&mut self, start: &str) -> Result<Vec<u32>, Trouble> {
        let mut found = Vec::new();
        let question = format!(
            "UID SEARCH UNSEEN OR HEADER In-Reply-To \"{start}\" HEADER References \"{start}\""
        );
        let verdict = self
            .ask("looking for unread answers", &question, |answer| {
                if let Response::MailboxData(MailboxDatum::Search(uids)) = answer {
                    found.extend_from_slice(uids);
                }
            })
            .await?;
        if let Err(words) = verdict {
            tracing::warn!("{} does not search for unread answers: {words}", self.place);
        }
        found.sort_unstable();
        Ok(found)
    }

    /// Lets the server say what is new. List right afterwards.
    pub(super) async fn look(&mut self) -> Result<(), Trouble> {
        let verdict = self.ask("looking", "NOOP", |_| {}).await?;
        self.told = false;
        verdict.map_err(|words| self.trouble("looking", &words))
    }

    /// The numbers of the mails in `set` and their sizes.
    pub(super) async fn sizes(&mut self, set: &str) -> Result<Vec<(u32, u32)>, Trouble> {
        let mut sizes = Vec::new();
        let question = format!("UID FETCH {set} (UID RFC822.SIZE)");
        let doing = "listing new mails";
        let verdict = self
            .ask(doing, &question, |answer| {
                let Response::Fetch(_, values) = answer else {
                    return;
                };
                let (mut uid, mut size) = (None, None);
                for value in values {
                    if let AttributeValue::Uid(number) = value {
                        uid = Some(*number);
                    } else if let AttributeValue::Rfc822Size(bytes) = value {
                        size = Some(*bytes);
                    }
                }
                // A server may also tell of changed flags here: those come without a size.
                sizes.extend(uid.zip(size));
            })
            .await?;
        verdict.map_err(|words| self.trouble(doing, &words))?;
        Ok(sizes)
    }

    /// The first `most` bytes of a mail, without marking it as seen.
    pub(super) async fn body(&mut self, uid: u32, most: u32) -> Result<Body, Trouble> {
        let mut body = Body::Gone;
        let question = format!("UID FETCH {uid} (UID BODY.PEEK[]<0.{most}>)");
        let doing = format!("fetching mail {uid}");
        let verdict = self
            .ask(&doing, &question, |answer| {
                let Response::Fetch(_, values) = answer else {
                    return;
                };
                for value in values {
                    if let AttributeValue::BodySection {
                        section: None, data: Some(bytes), ..
                    } = value
                    {
                        body = Body::Bytes(bytes.to_vec());
                    }
                }
            })
            .await?;
        verdict.map_err(|words| self.trouble(&doing, &words))?;
        Ok(body)
    }

    /// The inner result is the server's refusal, which breaks nothing.
    pub(super) async fn mark_seen(&mut self, set: &str) -> Result<Result<(), String>, Trouble> {
        let command = format!("UID STORE {set} +FLAGS.SILENT (\\Seen)");
        self.ask("marking mails as seen", &command, |_| {}).await
    }

    /// Waits until something is new, confirmed or asked for, but no longer than `period`.
    pub(super) async fn wait(
        self,
        period: Duration,
        confirmed: &mut mpsc::UnboundedReceiver<Stand>,
        stop: &mut watch::Receiver<bool>,
    ) -> Result<(Self, Waited), Trouble> {
        if self.told {
            Ok((self, Waited::News))
        } else if self.can_idle {
            self.idle(period, confirmed, stop).await
        } else {
            let waited = tokio::select! {
                () = tokio::time::sleep(period) => Waited::Time,
                Some(stand) = confirmed.recv() => Waited::Confirmed(stand),
                () = asked_to_stop(stop) => Waited::Stop,
            };
            Ok((self, waited))
        }
    }

    /// RFC 2177: the server speaks when something is new; DONE ends it before anything else is said.
    async fn idle(
        self,
        period: Duration,
        confirmed: &mut mpsc::UnboundedReceiver<Stand>,
        stop: &mut watch::Receiver<bool>,
    ) -> Result<(Self, Waited), Trouble> {
        let Self { inner, place, patience, can_idle, told: _ } = self;
        let aside = inner.unsolicited_responses.clone();
        let mut idle = inner.idle();
        within(&place, "beginning to wait", patience.answer, idle.init()).await?;
        let waited = if tells_of_mail(|| aside.try_recv().ok()) {
            Waited::News
        } else {
            let (news, _interrupt) = idle.wait_with_timeout(period);
            tokio::select! {
                news = news => heard(&place, news)?,
                // The library counts anew with every sign of life; the settings' limit does not.
                () = tokio::time::sleep(period) => Waited::Time,
                Some(stand) = confirmed.recv() => Waited::Confirmed(stand),
                () = asked_to_stop(stop) => Waited::Stop,
            }
        };
        let inner = within(&place, "ending the wait", patience.answer, idle.done()).await?;
        let session = Self { inner, place, patience, can_idle, told: false };
        Ok((session, waited))
    }

    /// Says goodbye; whether it is heard does not matter.
    pub(super) async fn leave(mut self) {
        let _heard = self.ask("leaving", "LOGOUT", |_| {}).await;
    }

    /// Asks one thing and shows every answer but the last, which is the server's verdict.
    async fn ask(
        &mut self,
        doing: &str,
        command: &str,
        mut answer: impl FnMut(&Response<'_>),
    ) -> Result<Result<(), String>, Trouble> {
        let limit = self.patience.answer;
        self.told |= tells_of_mail(|| self.inner.unsolicited_responses.try_recv().ok());
        let asked = self.inner.run_command(command);
        let id = within(&self.place, doing, limit, asked).await?;
        loop {
            let heard = within(&self.place, doing, limit, self.inner.read_response()).await?;
            let Some(heard) = heard else {
                return Err(Trouble::from_imap(&self.place, doing, &Error::ConnectionLost));
            };
            let heard = heard.parsed();
            if let Response::Done { tag, status, outcome } = heard
                && *tag == id
            {
                return Ok(match status {
                    Status::Ok => Ok(()),
                    Status::No | Status::Bad | Status::PreAuth | Status::Bye => {
                        Err(information(outcome))
                    }
                });
            }
            not_a_goodbye(&self.place, heard)?;
            if let Response::MailboxData(MailboxDatum::Exists(_)) = heard {
                self.told = true;
            }
            answer(heard);
        }
    }

    fn trouble(&self, doing: &str, words: &str) -> Trouble {
        Trouble::new(format!("{}, {doing}: {words}", self.place))
    }
}

/// What IDLE came back with. The library calls a closed connection an interruption, which nobody
/// here ever asks for, and a goodbye news.
fn heard(place: &str, news: Result<IdleResponse, Error>) -> Result<Waited, Trouble> {
    let doing = "waiting for mail";
    match news {
        Ok(IdleResponse::Timeout) => Ok(Waited::Time),
        Ok(IdleResponse::NewData(answer)) => {
            not_a_goodbye(place, answer.parsed())?;
            Ok(Waited::News)
        }
        Ok(IdleResponse::ManualInterrupt) => {
            Err(Trouble::from_imap(place, doing, &Error::ConnectionLost))
        }
        Err(error) => Err(Trouble::from_imap(place, doing, &error)),
    }
}

/// Empties what the library set aside: nobody needs the rest of it.
fn tells_of_mail(mut aside: impl FnMut() -> Option<UnsolicitedResponse>) -> bool {
    let mut told = false;
    while let Some(answer) = aside() {
        told |= matches!(answer, UnsolicitedResponse::Exists(_));
    }
    told
}
