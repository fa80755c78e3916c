//! What one person did and was told, with the proof of each word of theirs: `lowbell diary --who NAME`.
//!
//! Words and their proof stand in the journal's events, what came of them in its diary: the log alone tells it.

use std::ops::ControlFlow;

use super::Loaded;
use crate::config::{self, Config};
use crate::journal::{Block, Store};
use crate::plain::ids::PersonName;
use crate::plain::moment::Moment;
use crate::plain::{english, masked};
use crate::sensor::packet::Packet;
use crate::sensor::topic::Filter;
use crate::talk::human::{self, Hand};
use crate::talk::letter::{Reply, Sender};
use crate::talk::{quoted, sender};
use crate::watch::diary;
use crate::watch::event::Event;
use crate::watch::event::broker_line;

/// More of a text than this is its writer's business.
const WORDS_MAX: usize = 120;

/// Every line of it, in order, from a moment on.
pub(super) fn lines(
    store: &Store,
    loaded: &Loaded,
    who: &str,
    from: Moment,
) -> Result<Vec<String>, String> {
    let (zone, mut lines) = (&loaded.config.farm.zone, Vec::new());
    let mut config: Option<Config> = None;
    let read = store.read(0, &mut |block: Block| {
        for entry in &block.entries {
            if let Event::Settings(text) = &entry.event {
                config = config::parse(text).config;
            }
            let theirs = match &entry.event {
                Event::Answered(reply) => spoken(reply, config.as_ref(), who),
                Event::Packet(packet) => {
                    let reply = at_the_broker(packet, config.as_ref());
                    reply.and_then(|reply| spoken(&reply, config.as_ref(), who))
                }
                Event::Started { .. }
                | Event::Settings(_)
                | Event::Clock(_)
                | Event::Delivered(_)
                | Event::Line(_)
                | Event::Woke
                | Event::Forgotten { .. } => None,
            };
            if entry.at >= from {
                lines.extend(theirs.iter().map(|text| diary::printed(zone, entry.at, text)));
                let of_entry = block.diary.iter().filter(|line| line.entry == entry.no);
                let told = of_entry.filter(|line| theirs.is_some() || names(&line.text, who));
                let text = |text: &str| masked::text(text);
                lines.extend(told.map(|line| diary::printed(zone, line.at, &text(&line.text))));
            }
        }
        ControlFlow::Continue(())
    });
    for damage in read.map_err(|why| why.to_string())? {
        lines.push(format!("row {} of the journal is damaged: {}", damage.row, damage.why));
    }
    Ok(lines)
}

/// Words that somebody published, who gave this name and nothing else.
fn at_the_broker(packet: &Packet, config: Option<&Config>) -> Option<Reply> {
    let filter = Filter::parse(config?.broker.answers.as_deref()?).ok()?;
    let names = filter.matches(&packet.topic).filter(|_| !packet.retained)?;
    let text = String::from_utf8_lossy(&packet.payload.0).into_owned();
    let from = Sender::Name(names.get("person").unwrap_or_default().to_owned());
    Some(Reply { line: broker_line(), from, text, mail: None, asked: None })
}

/// Their words and how they came in; nothing for a machine's and for anybody else's.
fn spoken(reply: &Reply, config: Option<&Config>, who: &str) -> Option<String> {
    let is_person =
        reply.mail.as_deref().is_none_or(|mail| matches!(human::judge(mail), Hand::Person));
    let speaker: &PersonName = sender::of(config?, &reply.from)?;
    if !is_person || !speaker.as_str().eq_ignore_ascii_case(who.trim()) {
        return None;
    }
    let new = quoted::new_text(&reply.text);
    let words = masked::text(&english::printable(new.trim(), WORDS_MAX));
    let line = &reply.line;
    Some(format!("{speaker}, {} (line {line}): \"{words}\"", sender::proof(&reply.from)))
}

/// Whether a line of the diary speaks of this person.
fn names(text: &str, who: &str) -> bool {
    let mut words = text.split(|letter: char| !letter.is_alphanumeric());
    let first =
        who.trim().split(|letter: char| !letter.is_alphanumeric()).next().unwrap_or_default();
    words.any(|word| word.eq_ignore_ascii_case(first))
}
