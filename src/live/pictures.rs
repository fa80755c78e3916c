//! The newest picture of every camera, in memory only: fetched when it is wanted, or kept as it came on
//! its topic.
//!
//! Nothing here reaches the journal or the disk. One camera is asked by one at a time, and whoever
//! asked meanwhile gets the same answer; a slow camera keeps nobody waiting but its own pictures.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};
use std::time::Duration;

use bytes::Bytes;
use tokio::sync::Notify;
use tokio::time::{Instant, timeout_at};

use crate::config::Config;
use crate::config::cameras::{Camera, Still, StillUrl};
use crate::config::people::Language;
use crate::line::picture::{self, Picture};
use crate::line::{Taker, secret};
use crate::plain::ids::{DeviceId, PersonName};
use crate::plain::moment::Span;
use crate::plain::zone::Zone;
use crate::talk::picture::OLD;

/// All pictures kept from topics together; past it the oldest go. A small computer has little memory.
const KEPT_BYTES_MAX: usize = 24 * 1024 * 1024;

/// A picture or a failure this fresh serves whoever asks: two people called at once share it.
const SHARED: Duration = Duration::from_secs(5);

/// How long to wait for a newer picture on a topic where the last one is old. The call has left anyway.
const NEWER_WAIT: Duration = Duration::from_secs(10);

/// The cameras of the settings and what they showed last.
pub struct Pictures {
    cameras: Vec<Camera>,
    eyes: BTreeMap<DeviceId, Eye>,
    /// Whose pictures come on a topic.
    topics: BTreeMap<String, DeviceId>,
    kept: Mutex<BTreeMap<DeviceId, Kept>>,
    came: Notify,
    base: PathBuf,
    credentials: Option<PathBuf>,
    pub zone: Zone,
    /// What each person reads.
    languages: BTreeMap<PersonName, Language>,
    limit: Span,
    newer_wait: Duration,
}

struct Eye {
    camera: Camera,
    /// Held while the camera is asked.
    last: tokio::sync::Mutex<Option<Last>>,
}

/// A picture, when it came to us, and how old it was then; `None` where nobody knows.
#[derive(Clone, Debug)]
pub struct Seen {
    pub picture: Arc<Picture>,
    pub came: Instant,
    pub age: Option<Span>,
}

/// What a fetch came to. The picture is kept only as long as a mail needs it.
struct Last {
    begun: Instant,
    outcome: Result<(Weak<Picture>, Instant, Option<Span>), String>,
}

/// What came last on a topic.
enum Kept {
    Seen(Seen),
    /// It was no picture, or too large a one.
    Not {
        why: String,
    },
}

impl Pictures {
    pub fn new(config: &Config, base: &Path, credentials: Option<&Path>) -> Self {
        let topic_of = |camera: &Camera| match &camera.still {
            Still::Topic(topic) => Some((topic.clone(), camera.id.clone())),
            Still::Url(_) => None,
        };
        let eye = |camera: &Camera| Eye { camera: camera.clone(), last: Default::default() };
        Self {
            cameras: config.cameras.clone(),
            eyes: config.cameras.iter().map(|one| (one.id.clone(), eye(one))).collect(),
            topics: config.cameras.iter().filter_map(topic_of).collect(),
            kept: Mutex::default(),
            came: Notify::new(),
            base: base.to_owned(),
            credentials: credentials.map(Path::to_owned),
            zone: config.farm.zone.clone(),
            languages: languages(config),
            limit: picture::LIMIT,
            newer_wait: NEWER_WAIT,
        }
    }

    /// Whether nothing about the cameras has changed.
    pub fn fits(&self, config: &Config) -> bool {
        self.cameras == config.cameras
            && self.zone == config.farm.zone
            && self.languages == languages(config)
    }

    pub fn language_of(&self, person: &PersonName) -> Language {
        self.languages.get(person).copied().unwrap_or_default()
    }

    /// The topics on which pictures come.
    pub fn topics(&self) -> impl Iterator<Item = &str> {
        self.topics.keys().map(String::as_str)
    }

    /// For whoever hears messages and must pass the pictures among them by the journal.
    pub fn taker(self: &Arc<Self>) -> Option<Taker> {
        if self.topics.is_empty() {
            return None;
        }
        let pictures = self.clone();
        Some(Arc::new(move |topic, payload, retained| pictures.hear(topic, payload, retained)))
    }

    /// Keeps a message if it is on a camera's topic; whether it was.
    pub fn hear(&self, topic: &str, payload: &Bytes, retained: bool) -> bool {
        let Some(eye) = self.topics.get(topic).and_then(|id| self.eyes.get(id)) else {
            return false;
        };
        let largest = eye.camera.largest;
        let kept = if payload.len() > largest {
            Kept::Not { why: format!("what came on {topic} has more than {largest} bytes") }
        } else {
            // A copy: what was given may be a slice of a larger buffer that would stay in memory.
            match Picture::of(Bytes::copy_from_slice(payload)) {
                Some(picture) => Kept::Seen(Seen {
                    picture: Arc::new(picture),
                    came: Instant::now(),
                    age: (!retained).then_some(Span::ZERO),
                }),
                None => Kept::Not { why: format!("what came on {topic} is no JPEG or PNG") },
            }
        };
        let mut all = self.kept();
        all.insert(eye.camera.id.clone(), kept);
        drop_oldest(&mut all, KEPT_BYTES_MAX);
        drop(all);
        self.came.notify_waiters();
        true
    }

    /// What the camera sees, for somebody who asked at that instant; or why there is no picture.
    pub async fn look(&self, camera: &DeviceId, asked: Instant) -> Result<Seen, String> {
        let Some(eye) = self.eyes.get(camera) else {
            return Err("the settings name no such camera any more".to_owned());
        };
        match &eye.camera.still {
            Still::Url(still) => self.fetch(eye, still, asked).await,
            Still::Topic(topic) => self.newest(camera, topic, asked).await,
        }
    }

    async fn fetch(&self, eye: &Eye, still: &StillUrl, asked: Instant) -> Result<Seen, String> {
        let mut last = eye.last.lock().await;
        if let Some(shared) = last.as_ref().and_then(|last| last.share(asked)) {
            return shared;
        }
        let begun = Instant::now();
        let file = still.password_file.as_deref();
        let read = |name| secret::read(&self.base, self.credentials.as_deref(), name);
        let outcome = match file.map(read).transpose() {
            Ok(password) => {
                let (id, largest) = (eye.camera.id.as_str(), eye.camera.largest);
                let password = password.as_ref();
                picture::fetch(id, still, password, &self.base, largest, self.limit).await
            }
            Err(why) => Err(why),
        };
        let seen = outcome.map(|fetched| Seen {
            picture: Arc::new(fetched.picture),
            came: Instant::now(),
            age: Some(fetched.age),
        });
        let outcome = match &seen {
            Ok(seen) => Ok((Arc::downgrade(&seen.picture), seen.came, seen.age)),
            Err(why) => Err(why.clone()),
        };
        *last = Some(Last { begun, outcome });
        seen
    }

    async fn newest(&self, camera: &DeviceId, topic: &str, asked: Instant) -> Result<Seen, String> {
        let until = Instant::now() + self.newer_wait;
        loop {
            let mut came = std::pin::pin!(self.came.notified());
            // From here on nothing that comes is missed.
            came.as_mut().enable();
            let newest = match self.kept().get(camera) {
                Some(Kept::Seen(seen)) => Ok(seen.clone()),
                Some(Kept::Not { why }) => Err(why.clone()),
                None => Err(format!("nothing has come on {topic} since we began")),
            };
            if newest.as_ref().is_ok_and(|seen| seen.is_fresh(asked)) {
                return newest;
            }
            if timeout_at(until, came).await.is_err() {
                return newest;
            }
        }
    }

    /// A map without half-made changes, so whoever broke while holding it broke nothing.
    fn kept(&self) -> MutexGuard<'_, BTreeMap<DeviceId, Kept>> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Seen {
    /// How long after an instant it was taken, negative if before; `None` where nobody knows.
    pub fn taken_after(&self, instant: Instant) -> Option<Span> {
        let millis = |length: Duration| i64::try_from(length.as_millis()).unwrap_or(i64::MAX);
        let came = if self.came >= instant {
            millis(self.came - instant)
        } else {
            -millis(instant - self.came)
        };
        self.age.map(|age| Span::from_millis(came.saturating_sub(age.millis())))
    }

    fn is_fresh(&self, asked: Instant) -> bool {
        self.taken_after(asked).is_some_and(|after| after.millis() >= -OLD.millis())
    }
}

impl Last {
    /// The same again for somebody who asked while it was under way or just after.
    fn share(&self, asked: Instant) -> Option<Result<Seen, String>> {
        if self.begun + SHARED < asked {
            return None;
        }
        match &self.outcome {
            Ok((picture, came, age)) => {
                let picture = picture.upgrade()?;
                Some(Ok(Seen { picture, came: *came, age: *age }))
            }
            Err(why) => Some(Err(why.clone())),
        }
    }
}

/// Lets the oldest pictures go until the rest have room.
fn drop_oldest(all: &mut BTreeMap<DeviceId, Kept>, room: usize) {
    loop {
        let seen = |(id, kept): (&DeviceId, &Kept)| match kept {
            Kept::Seen(seen) => Some((seen.came, id.clone(), seen.picture.bytes.len())),
            Kept::Not { .. } => None,
        };
        let pictures: Vec<_> = all.iter().filter_map(seen).collect();
        let total: usize = pictures.iter().map(|(_, _, bytes)| bytes).sum();
        match pictures.into_iter().min() {
            Some((_, oldest, _)) if total > room => {
                let why = "it was let go to make room for newer ones of other cameras".to_owned();
                all.insert(oldest, Kept::Not { why });
            }
            Some(_) | None => return,
        }
    }
}

fn languages(config: &Config) -> BTreeMap<PersonName, Language> {
    config.people.iter().map(|person| (person.name.clone(), person.speaks)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{self, NamedText, SettingsText};

    const JPEG: &[u8] = &[0xff, 0xd8, 0xff, 0xe0, 1, 2, 3];

    const TOPIC: &str = "yard/cam/cam-1/jpeg";

    fn by_topic(newer_wait: Duration) -> Arc<Pictures> {
        let cameras =
            "[[camera]]\nid = 'cam-1'\nstill-topic = 'yard/cam/{device}/jpeg'\nlargest = 1024";
        let farm = format!(
            r#"
            [farm]
            name = "Hollow Bank"
            zone = "Europe/Dublin"
            [broker]
            url = "mqtt://127.0.0.1"
            [[person]]
            name = "Ana"
            mail = "ana@hollowbank.example"
            [[line]]
            name = "mail"
            kind = "smtp"
            url = "smtp://127.0.0.1"
            from = "lowbell@hollowbank.example"
            {cameras}
            "#
        );
        let files = vec![NamedText { name: "farm.toml".into(), text: farm }];
        let parsed = config::parse(&SettingsText { files });
        let config = parsed.config.unwrap_or_else(|| panic!("{:#?}", parsed.faults));
        Arc::new(Pictures { newer_wait, ..Pictures::new(&config, Path::new("."), None) })
    }

    async fn seen_at(pictures: &Pictures, asked: Instant) -> Result<Seen, String> {
        pictures.look(&DeviceId::new("cam-1"), asked).await
    }

    #[tokio::test]
    async fn the_newest_picture_of_a_topic_is_there_at_once_and_other_topics_are_not_taken() {
        let pictures = by_topic(NEWER_WAIT);
        let hear = pictures.taker().unwrap();
        let before = Instant::now();
        assert!(!hear("yard/tail/t-07/state", &Bytes::from_static(b"{}"), false));
        assert!(hear(TOPIC, &Bytes::from_static(&[0xff, 0xd8, 0xff, 9]), false));
        assert!(hear(TOPIC, &Bytes::from_static(JPEG), false));
        let seen = seen_at(&pictures, Instant::now()).await.unwrap();
        assert_eq!(seen.picture.bytes, JPEG);
        assert!(before.elapsed() < NEWER_WAIT, "nobody waited");
        let minute = Duration::from_secs(60);
        assert_eq!(seen.taken_after(seen.came), Some(Span::ZERO));
        assert_eq!(seen.taken_after(seen.came + minute), Some(Span::minutes(-1)));
        let aged = Seen { age: Some(Span::seconds(5)), ..seen };
        assert_eq!(aged.taken_after(aged.came), Some(Span::seconds(-5)));
    }

    #[tokio::test]
    async fn an_old_picture_waits_a_little_for_a_newer_one_and_is_then_better_than_none() {
        let pictures = by_topic(Duration::from_millis(20));
        pictures.hear(TOPIC, &Bytes::from_static(JPEG), false);
        let later = Instant::now() + Duration::from_secs(720);
        let old = seen_at(&pictures, later).await.unwrap();
        assert!(old.taken_after(later).unwrap() <= Span::minutes(-11));

        // Asked so far ahead that only what comes while it waits could be new enough.
        let pictures = by_topic(Duration::from_secs(30));
        let newer = async {
            tokio::task::yield_now().await;
            pictures.hear(TOPIC, &Bytes::from_static(JPEG), false);
        };
        let (seen, ()) = tokio::join!(seen_at(&pictures, Instant::now()), newer);
        assert_eq!(seen.unwrap().picture.bytes, JPEG);
    }

    #[tokio::test]
    async fn a_retained_picture_has_no_age() {
        let pictures = by_topic(Duration::ZERO);
        pictures.hear(TOPIC, &Bytes::from_static(JPEG), true);
        let seen = seen_at(&pictures, Instant::now()).await.unwrap();
        assert_eq!(seen.taken_after(Instant::now()), None);
    }

    #[tokio::test]
    async fn where_no_picture_came_or_no_picture_is_one_it_says_why() {
        let pictures = by_topic(Duration::ZERO);
        let why = async || seen_at(&pictures, Instant::now()).await.unwrap_err();
        assert_eq!(why().await, format!("nothing has come on {TOPIC} since we began"));
        pictures.hear(TOPIC, &Bytes::from_static(b"<html>"), false);
        assert_eq!(why().await, format!("what came on {TOPIC} is no JPEG or PNG"));
        pictures.hear(TOPIC, &Bytes::from(vec![0xff; 1025]), false);
        assert_eq!(why().await, format!("what came on {TOPIC} has more than 1024 bytes"));
        let gone = pictures.look(&DeviceId::new("cam-9"), Instant::now()).await;
        assert_eq!(gone.unwrap_err(), "the settings name no such camera any more");
    }

    #[test]
    fn a_fetch_serves_those_who_asked_meanwhile_and_nobody_later() {
        let begun = Instant::now();
        let picture = Arc::new(Picture::of(Bytes::from_static(JPEG)).unwrap());
        let outcome = Ok((Arc::downgrade(&picture), begun, Some(Span::ZERO)));
        let last = Last { begun, outcome };
        let meanwhile = last.share(begun + SHARED).unwrap().unwrap();
        assert_eq!(meanwhile.picture.bytes, JPEG);
        assert!(last.share(begun + SHARED + Duration::from_secs(1)).is_none());
        drop((meanwhile, picture));
        assert!(last.share(begun).is_none(), "nobody needs it any more, so it is gone");
        let failed = Last { begun, outcome: Err("it hung".to_owned()) };
        assert_eq!(failed.share(begun).unwrap().unwrap_err(), "it hung");
    }

    #[test]
    fn the_oldest_picture_makes_room_for_newer_ones() {
        let mut all = BTreeMap::new();
        let begun = Instant::now();
        for (n, name) in (0..).zip(["b", "a", "c"]) {
            let picture = Arc::new(Picture::of(Bytes::from_static(JPEG)).unwrap());
            let came = begun + Duration::from_secs(n);
            all.insert(DeviceId::new(name), Kept::Seen(Seen { picture, came, age: None }));
        }
        drop_oldest(&mut all, JPEG.len() * 2);
        let left: Vec<&str> = all
            .iter()
            .filter(|(_, kept)| matches!(kept, Kept::Seen(_)))
            .map(|(id, _)| id.as_str())
            .collect();
        assert_eq!(left, ["a", "c"]);
    }
}
