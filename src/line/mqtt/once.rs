//! Looks in at the broker for a moment, under a name of its own: for one message, for what the broker
//! has kept, or to have it forget one kept message.
//!
//! It keeps no session and takes nothing from the watch's own. It refuses to clear anything but one
//! exact topic.

use std::path::Path;
use std::time::Duration;

use tokio::time::{Instant, timeout_at};

use super::fault::Fault;
use super::terms::Terms;
use super::voice::{self, Care, Ear, Voice};
use super::{Aside, Heard};
use crate::config::farm::{Broker, BrokerWay};

/// The broker and the files its settings name.
#[derive(Clone, Copy)]
pub struct Reach<'a> {
    pub broker: &'a Broker,
    pub base: &'a Path,
    pub credentials: Option<&'a Path>,
}

/// What the broker has kept comes at once after the subscription. No word for so long: that was all.
const QUIET: Duration = Duration::from_secs(2);

/// A broker that has not greeted us and answered by then will not.
const GREETING: Duration = Duration::from_secs(15);

/// More kept messages than this are no list that anybody reads.
const KEPT_MAX: usize = 10_000;

/// The first message on a filter, kept ones included, within so long.
///
/// # Errors
/// Says why nothing came.
pub async fn one_message(
    reach: Reach<'_>,
    filter: &str,
    patience: Duration,
) -> Result<Aside, String> {
    let mut visit = Visit::begin(reach, &[filter.to_owned()]).await?;
    let message = visit.next(Instant::now() + patience).await?;
    message.ok_or_else(|| format!("nothing came on {filter} within {} seconds", patience.as_secs()))
}

/// Everything the broker has kept on these filters, by topic.
///
/// # Errors
/// Says why the broker could not be asked.
pub async fn kept(reach: Reach<'_>, filters: &[String]) -> Result<Vec<Aside>, String> {
    let mut visit = Visit::begin(reach, filters).await?;
    let mut kept: Vec<Aside> = Vec::new();
    let mut until = Instant::now() + QUIET;
    while let Some(message) = visit.next(until).await? {
        if message.retained && kept.len() < KEPT_MAX {
            kept.push(message);
            until = Instant::now() + QUIET;
        }
    }
    kept.sort_by(|one, other| one.topic.cmp(&other.topic));
    kept.dedup_by(|one, other| one.topic == other.topic);
    Ok(kept)
}

/// Has the broker forget what it has kept on one topic, and looks whether it has.
///
/// # Errors
/// Says why it could not be asked, that there was nothing, or that it is still there.
pub async fn clear(reach: Reach<'_>, topic: &str) -> Result<(), String> {
    if topic.is_empty() || topic.contains(['+', '#', '\0']) {
        return Err(format!(
            "\"{topic}\" is no topic to clear: name one exact topic, without + and #"
        ));
    }
    let filters = [topic.to_owned()];
    if kept(reach, &filters).await?.is_empty() {
        return Err(format!("the broker has kept nothing on {topic}"));
    }
    let mut visit = Visit::begin(reach, &[]).await?;
    visit.forget(topic).await?;
    // Some brokers say yes to what they do not do; what a new reader gets is the truth.
    if kept(reach, &filters).await?.is_empty() {
        return Ok(());
    }
    Err(format!("the broker still keeps {topic}: most often we may not write to it"))
}

/// A short connection with everything subscribed. It ends without a good-bye: there is no will to
/// hold back, and no session.
struct Visit {
    voice: Voice,
    ear: Ear,
    place: String,
    /// Heard while something else was waited for.
    early: std::collections::VecDeque<Aside>,
}

enum Word {
    Greeted,
    Subscribed(Result<bool, String>),
    Published(Result<(), String>),
    Message(Aside),
    Other,
}

/// Why a visitor need not knock: each refusal would count as a wrong password of this machine.
fn barred(broker: &Broker) -> Option<String> {
    let BrokerWay::BuiltIn(built_in) = &broker.way else {
        return None;
    };
    if built_in.users.is_empty() || built_in.anonymous.is_some() {
        return None;
    }
    let (door, tls) = built_in.door();
    let ca = if tls { " --cafile CA.pem" } else { "" };
    Some(format!(
        "the built-in broker lets in nobody but its [[broker.user]]s, and this command has no name of \
         its own there; with one of their names, whose `reads` allow it: \
         mosquitto_sub -h {} -p {}{ca} -u NAME -P PASSWORD -v -t TOPIC",
        door.ip(),
        door.port()
    ))
}

impl Visit {
    async fn begin(reach: Reach<'_>, filters: &[String]) -> Result<Self, String> {
        if let Some(why) = barred(reach.broker) {
            return Err(why);
        }
        // Two programs with one name put each other out (MQTT-3.1.4-3); at most 23 bytes are sure.
        let name = format!("lowbell-look-{:08x}", getrandom::u32().unwrap_or(0));
        let terms = Terms::of_visitor(reach.broker, reach.base, reach.credentials, name)?;
        let (voice, ear, _) = voice::open(&terms);
        let place = terms.place();
        let mut visit = Self { voice, ear, place, early: std::collections::VecDeque::new() };
        let until = Instant::now() + GREETING;
        loop {
            match visit.word(until).await? {
                Some(Word::Greeted) => break,
                Some(Word::Subscribed(_) | Word::Published(_) | Word::Message(_) | Word::Other) => {
                }
                None => return Err(visit.silent()),
            }
        }
        for filter in filters {
            visit.subscribe(filter, until).await?;
        }
        Ok(visit)
    }

    async fn subscribe(&mut self, filter: &str, until: Instant) -> Result<(), String> {
        if !rumqttc::valid_filter(filter) {
            return Err(format!("\"{filter}\" is not a topic filter"));
        }
        if !self.voice.subscribe(filter, Care::Little) {
            return Err("the broker was not asked: too much is on the way".to_owned());
        }
        loop {
            match self.word(until).await? {
                Some(Word::Subscribed(Ok(_))) => return Ok(()),
                Some(Word::Subscribed(Err(why))) => {
                    return Err(format!("the broker at {} refused {filter}: {why}", self.place));
                }
                Some(Word::Message(message)) => self.early.push_back(message),
                Some(Word::Greeted | Word::Published(_) | Word::Other) => {}
                None => return Err(self.silent()),
            }
        }
    }

    async fn forget(&mut self, topic: &str) -> Result<(), String> {
        if !self.voice.keep(topic, "", Care::Confirmed) {
            return Err("the broker was not asked: too much is on the way".to_owned());
        }
        let until = Instant::now() + GREETING;
        loop {
            match self.word(until).await? {
                Some(Word::Published(answer)) => {
                    return answer.map_err(|why| {
                        format!("the broker at {} did not clear {topic}: {why}", self.place)
                    });
                }
                Some(Word::Greeted | Word::Subscribed(_) | Word::Message(_) | Word::Other) => {}
                None => return Err(self.silent()),
            }
        }
    }

    /// The next message; `None` if none came in time.
    async fn next(&mut self, until: Instant) -> Result<Option<Aside>, String> {
        if let Some(message) = self.early.pop_front() {
            return Ok(Some(message));
        }
        loop {
            match self.word(until).await? {
                Some(Word::Message(message)) => return Ok(Some(message)),
                Some(Word::Greeted | Word::Subscribed(_) | Word::Published(_) | Word::Other) => {}
                None => return Ok(None),
            }
        }
    }

    async fn word(&mut self, until: Instant) -> Result<Option<Word>, String> {
        let Ok(heard) = timeout_at(until, self.ear.hear()).await else {
            return Ok(None);
        };
        Ok(Some(match heard.map_err(|fault| self.explain(fault))? {
            Heard::Connected { .. } => Word::Greeted,
            Heard::Subscribed(answer) => Word::Subscribed(answer),
            Heard::Published(answer) => Word::Published(answer),
            Heard::Message(message) => Word::Message(Aside {
                topic: message.topic,
                payload: message.payload,
                retained: message.retained,
            }),
            Heard::Left | Heard::Nothing => Word::Other,
        }))
    }

    fn explain(&self, fault: Fault) -> String {
        match fault {
            Fault::Broken(why) | Fault::Refused(why) | Fault::Deaf(why) | Fault::Garbled(why) => {
                why
            }
            Fault::Closed => format!("the broker at {} closed the connection", self.place),
            Fault::TooLarge { bytes } => {
                format!("the broker at {} sends a message of {}", self.place, super::size(bytes))
            }
        }
    }

    fn silent(&self) -> String {
        format!("the broker at {} does not answer", self.place)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{NamedText, SettingsText, parse};

    #[test]
    fn a_built_in_broker_with_users_is_not_knocked_at_without_a_name() {
        let why = |broker: &str| {
            let farm = format!(
                "[farm]\nname = \"Hollow Bank\"\nzone = \"Europe/Dublin\"\nherd = \"herd.csv\"\n\
                 {broker}\n[[sensor]]\nkind = \"tail\"\ntopic = \"yard/{{device}}\"\n\
                 read = {{ sign = \"contraction\", at = \"/efforts\", as = \"count\" }}\n\
                 [[person]]\nname = \"Ana\"\nmail = \"ana@hollowbank.example\"\n\
                 [[line]]\nname = \"mail\"\nkind = \"smtp\"\nurl = \"smtp://127.0.0.1:25\"\n\
                 from = \"lowbell@hollowbank.example\"\n"
            );
            let named = |name: &str, text: String| NamedText { name: name.to_owned(), text };
            let herd = named("herd.csv", "animal,calvings\n114,0\n".to_owned());
            let parsed = parse(&SettingsText { files: vec![named("farm.toml", farm), herd] });
            barred(&parsed.config.unwrap_or_else(|| panic!("{:#?}", parsed.faults)).broker)
        };
        let door = "[broker]\nbuilt-in = \"127.0.0.1:1883\"";
        let user = "[[broker.user]]\nname = \"t-07\"\npassword-file = \"t.secret\"";
        assert_eq!(why("[broker]\nurl = \"mqtt://127.0.0.1:1883\""), None);
        assert_eq!(why(door), None);
        assert_eq!(why(&format!("{door}\nanonymous = {{ reads = [\"#\"] }}\n{user}")), None);
        let why = why(&format!("{door}\n{user}")).unwrap();
        assert!(why.contains("mosquitto_sub -h 127.0.0.1 -p 1883 -u NAME"), "{why}");
    }
}
