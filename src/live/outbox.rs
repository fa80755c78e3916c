//! Carries what may leave: one task a message, tried by schedule, reported when it is decided.
//!
//! One bad address or dead server never holds up another person's message. Nothing is remembered
//! here: what was in flight at a crash stands in the journal and is sent again.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use tokio::sync::{Semaphore, mpsc, watch};
use tokio::time::Instant;

use super::picture_mail::{Errand, Fate};
use super::pictures::Pictures;
use crate::alarm::message::{Delivery, Message, MessageKind, Notice, Outcome};
use crate::alarm::sent::Flight;
use crate::config::lines::{Line, Way};
use crate::line::secret::{self, Secret};
use crate::line::{Arrival, Attempt, sms, smtp, webhook};
use crate::plain::ids::{LineName, MessageNo};
use crate::plain::moment::Moment;
use crate::watch::event::{Event, LineNews, LineState};

/// Sends of one line at once: a farm has few people, a dead server must not eat the machine.
const AT_ONCE: usize = 8;

/// And of mails with pictures, which are large: apart, so that they never stand in a call's way.
const PICTURES_AT_ONCE: usize = 2;

/// A call that has not got through in about three minutes has been overtaken by its ladder.
const CALL_TRIES: &[u64] = &[0, 5, 20, 60, 90];
/// Everything else may take longer.
const OTHER_TRIES: &[u64] = &[0, 10, 60, 300, 900, 3_600];
/// The example schedule of Standard Webhooks (standards.md WH-11), as waits between tries.
const NOTICE_TRIES: &[u64] = &[0, 5, 300, 1_800, 7_200, 18_000, 36_000, 50_400, 72_000, 86_400];
/// Tries are spread by up to this share of the wait, so that many do not come at once.
const JITTER_PERCENT: u64 = 10;

/// The lines as the outbox uses them.
pub struct Outbox {
    lines: BTreeMap<LineName, Arc<Carrier>>,
    waiting: BTreeMap<MessageNo, Waiting>,
    pictures: Arc<Pictures>,
    arrivals: mpsc::Sender<Arrival>,
}

/// A message on its way: the means to stop it, and to know what becomes of it.
struct Waiting {
    withdrawn: Arc<AtomicBool>,
    fate: watch::Receiver<Fate>,
}

pub(super) struct Carrier {
    pub(super) line: Line,
    pub(super) base: PathBuf,
    credentials: Option<PathBuf>,
    room: Semaphore,
    pub(super) picture_room: Semaphore,
    down: AtomicBool,
}

impl Outbox {
    pub fn new(
        lines: &[Line],
        base: &std::path::Path,
        credentials: Option<&std::path::Path>,
        is_down: impl Fn(&Line) -> bool,
        pictures: Arc<Pictures>,
        arrivals: mpsc::Sender<Arrival>,
    ) -> Self {
        let lines = lines
            .iter()
            .map(|line| {
                let carrier = Carrier {
                    line: line.clone(),
                    base: base.to_owned(),
                    credentials: credentials.map(std::path::Path::to_owned),
                    room: Semaphore::new(AT_ONCE),
                    picture_room: Semaphore::new(PICTURES_AT_ONCE),
                    down: AtomicBool::new(is_down(line)),
                };
                (line.name.clone(), Arc::new(carrier))
            })
            .collect();
        Self { lines, waiting: BTreeMap::new(), pictures, arrivals }
    }

    /// `now` is the moment by the watch's clock.
    pub fn carry(&mut self, flight: Flight, now: Moment) {
        let (no, line, tries) = match &flight {
            Flight::Message(message) => (message.no, message.line.clone(), tries(&message.kind)),
            Flight::Notice(notice) => (notice.no, notice.line.clone(), NOTICE_TRIES),
        };
        let Some(carrier) = self.lines.get(&line).cloned() else {
            let why = format!("the settings name no line {line} any more");
            let arrivals = self.arrivals.clone();
            tokio::spawn(async move { report(&arrivals, no, Outcome::Failed { why }).await });
            return;
        };
        let errand = self.errand(&flight, now);
        self.waiting.retain(|_, waiting| Arc::strong_count(&waiting.withdrawn) > 1);
        let withdrawn = Arc::new(AtomicBool::new(false));
        let (decide, fate) = watch::channel(Fate::Flying);
        self.waiting.insert(no, Waiting { withdrawn: withdrawn.clone(), fate });
        let (arrivals, pictures) = (self.arrivals.clone(), self.pictures.clone());
        tokio::spawn(async move {
            let outcome = match errand {
                Some(errand) => errand.carry(&carrier, &pictures, &withdrawn).await,
                None => carrier.carry(&flight, tries, &withdrawn, &arrivals).await,
            };
            let left = matches!(outcome, Some(Outcome::Taken));
            decide.send_replace(if left { Fate::Left } else { Fate::Lost });
            if let Some(outcome) = outcome {
                report(&arrivals, no, outcome).await;
            }
        });
    }

    /// What a mail with a picture needs besides; `None` for everything else.
    fn errand(&self, flight: &Flight, now: Moment) -> Option<Errand> {
        let Flight::Message(message) = flight else { return None };
        let MessageKind::Picture { follows, .. } = &message.kind else { return None };
        let behind = self.waiting.get(follows).map(|waiting| waiting.fate.clone());
        Some(Errand { message: message.clone(), now, asked: Instant::now(), behind })
    }

    /// Stops a message that has not left yet.
    pub fn withdraw(&mut self, no: MessageNo) {
        if let Some(waiting) = self.waiting.remove(&no) {
            waiting.withdrawn.store(true, Ordering::Relaxed);
        }
    }
}

impl Carrier {
    /// Tries until it is decided; `None` if it was withdrawn.
    async fn carry(
        &self,
        flight: &Flight,
        tries: &[u64],
        withdrawn: &AtomicBool,
        arrivals: &mpsc::Sender<Arrival>,
    ) -> Option<Outcome> {
        let mut asked = None;
        // A gateway may ask for a day; a call may not wait longer than its own longest wait.
        let longest = Duration::from_secs(tries.last().copied().unwrap_or(0));
        let mut last = String::new();
        for wait in tries {
            let wait = asked.take().unwrap_or_else(|| jittered(*wait));
            tokio::time::sleep(wait).await;
            let attempt = {
                let _room = self.room.acquire().await;
                if withdrawn.load(Ordering::Relaxed) {
                    return None;
                }
                self.once(flight).await
            };
            match attempt {
                Attempt::Taken => {
                    self.works(arrivals).await;
                    return Some(Outcome::Taken);
                }
                Attempt::Never { why } => return Some(Outcome::Failed { why }),
                Attempt::Gone { why } => return Some(Outcome::Gone { why }),
                Attempt::Unsure { why } => {
                    self.fails(&why, arrivals).await;
                    last = why;
                }
                Attempt::Later { why, after } => {
                    self.fails(&why, arrivals).await;
                    last = why;
                    asked = after.map(|after| {
                        let asked = u64::try_from(after.millis()).unwrap_or(0);
                        Duration::from_millis(asked).min(longest)
                    });
                }
            }
        }
        Some(Outcome::Failed { why: format!("after {} tries: {last}", tries.len()) })
    }

    async fn once(&self, flight: &Flight) -> Attempt {
        match (&self.line.way, flight) {
            (Way::Smtp(smtp), Flight::Message(message)) => {
                match self.secret(smtp.server.password_file.as_deref()) {
                    Ok(password) => smtp::send(smtp, password.as_ref(), &self.base, message).await,
                    Err(why) => Attempt::Later { why, after: None },
                }
            }
            (Way::SmsHttp(sms), Flight::Message(message)) => {
                match self.secret(sms.secret_file.as_deref()) {
                    Ok(secret) => sms::send(sms, secret.as_ref(), message).await,
                    Err(why) => Attempt::Later { why, after: None },
                }
            }
            (Way::Webhook(hook), Flight::Notice(notice)) => {
                match self.secret(hook.secret_file.as_deref()) {
                    Ok(secret) => {
                        let now = crate::live::clock::unix_seconds();
                        webhook::post(hook, secret.as_ref(), notice, now).await
                    }
                    Err(why) => Attempt::Later { why, after: None },
                }
            }
            (
                Way::Smtp(_)
                | Way::SmsHttp(_)
                | Way::Webhook(_)
                | Way::Imap(_)
                | Way::Siren(_)
                | Way::NotYet { .. },
                Flight::Message(Message { .. }) | Flight::Notice(Notice { .. }),
            ) => Attempt::Never { why: format!("the line {} cannot carry that", self.line.name) },
        }
    }

    pub(super) fn secret(&self, name: Option<&str>) -> Result<Option<Secret>, String> {
        name.map(|name| secret::read(&self.base, self.credentials.as_deref(), name)).transpose()
    }

    async fn works(&self, arrivals: &mpsc::Sender<Arrival>) {
        if self.down.swap(false, Ordering::Relaxed) {
            self.says(LineNews::Up, arrivals).await;
        }
    }

    async fn fails(&self, why: &str, arrivals: &mpsc::Sender<Arrival>) {
        if !self.down.swap(true, Ordering::Relaxed) {
            self.says(LineNews::Down { why: why.to_owned() }, arrivals).await;
        }
    }

    async fn says(&self, news: LineNews, arrivals: &mpsc::Sender<Arrival>) {
        let event = Event::Line(LineState { line: self.line.name.clone(), news });
        // The loop is gone only when the program stops.
        let _ = arrivals.send(Arrival::plain(event)).await;
    }
}

async fn report(arrivals: &mpsc::Sender<Arrival>, no: MessageNo, outcome: Outcome) {
    let _ = arrivals.send(Arrival::plain(Event::Delivered(Delivery { no, outcome }))).await;
}

fn tries(kind: &MessageKind) -> &'static [u64] {
    match kind {
        MessageKind::Alert => CALL_TRIES,
        // A picture has tries of its own.
        MessageKind::Taken
        | MessageKind::Over
        | MessageKind::Answer
        | MessageKind::Welcome
        | MessageKind::Page { .. }
        | MessageKind::Picture { .. } => OTHER_TRIES,
    }
}

pub(super) fn jittered(seconds: u64) -> Duration {
    let mut byte = [0];
    // Without randomness the tries only come closer together.
    let _ = getrandom::fill(&mut byte);
    let spread = seconds * 1_000 * JITTER_PERCENT / 100 * u64::from(byte[0]) / 255;
    Duration::from_millis(seconds * 1_000 + spread)
}
