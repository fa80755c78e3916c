//! The invented night as it is written down.

use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;

#[derive(Clone, Debug)]
pub(super) struct Script {
    pub(super) deeds: Vec<Deed>,
    pub(super) hearings: Vec<Hearing>,
    pub(super) until: Moment,
}

#[derive(Clone, Debug)]
pub(super) struct Deed {
    pub(super) at: Moment,
    pub(super) who: String,
    pub(super) what: What,
}

#[derive(Clone, Debug)]
pub(super) enum What {
    Efforts(u32),
    FallsSilent,
    SpeaksAgain,
    Says(String),
    Mails(String),
}

/// A person who answers a mail about a rule some time after it came.
#[derive(Clone, Debug)]
pub(super) struct Hearing {
    pub(super) who: String,
    pub(super) rule: String,
    pub(super) after: Span,
    pub(super) words: String,
}

impl Script {
    pub(super) fn parse(text: &str, zone: &Zone, begins: Moment) -> Result<Self, String> {
        let mut script = Self { deeds: Vec::new(), hearings: Vec::new(), until: begins };
        let mut last = begins;
        for line in
            text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'))
        {
            if let Some(hearing) = hearing(line) {
                script.hearings.push(hearing);
                continue;
            }
            let (time, rest) = match line.strip_prefix("until ") {
                Some(time) => (time, ""),
                None => line.split_once(' ').ok_or_else(|| wrong(line))?,
            };
            last = next(zone, last, time).ok_or_else(|| wrong(line))?;
            script.until = last;
            if !rest.is_empty() {
                script.deeds.push(deed(last, rest).ok_or_else(|| wrong(line))?);
            }
        }
        Ok(script)
    }

    /// Whether a device says nothing at a moment.
    pub(super) fn silences(&self, device: &str, at: Moment) -> bool {
        let mut silent = false;
        for deed in self.deeds.iter().filter(|deed| deed.who == device && deed.at <= at) {
            match deed.what {
                What::FallsSilent => silent = true,
                What::SpeaksAgain => silent = false,
                What::Efforts(_) | What::Says(_) | What::Mails(_) => {}
            }
        }
        silent
    }
}

fn hearing(line: &str) -> Option<Hearing> {
    let (who, rest) = line.split_once(" hears ")?;
    let (rule, rest) = rest.split_once(", after ")?;
    let (minutes, words) = rest.split_once(" min mails ")?;
    Some(Hearing {
        who: who.to_owned(),
        rule: rule.to_owned(),
        after: Span::minutes(minutes.parse().ok()?),
        words: words.to_owned(),
    })
}

fn deed(at: Moment, rest: &str) -> Option<Deed> {
    let (who, what) = rest.split_once(' ')?;
    let what = match what {
        "falls silent" => What::FallsSilent,
        "speaks again" => What::SpeaksAgain,
        what => match what.split_once(' ')? {
            ("efforts", n) => What::Efforts(n.parse().ok()?),
            ("says", words) => What::Says(words.to_owned()),
            ("mails", words) => What::Mails(words.to_owned()),
            _ => return None,
        },
    };
    Some(Deed { at, who: who.to_owned(), what })
}

/// The next time after `last` at which the farm's clock says `time`.
fn next(zone: &Zone, last: Moment, time: &str) -> Option<Moment> {
    let (hour, minute) = time.split_once(':')?;
    let (hour, minute) = (hour.parse().ok()?, minute.parse().ok()?);
    let today = zone.wall(last).date();
    let at = zone.instant(today.at(hour, minute, 0, 0));
    if at >= last {
        return Some(at);
    }
    Some(zone.instant(today.tomorrow().ok()?.at(hour, minute, 0, 0)))
}

fn wrong(line: &str) -> String {
    format!("the demo's night does not read: {line}")
}
