//! A line as the watch knows it: up or down and since when, and what it was refused.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::plain::moment::{Moment, Span};

/// Filters remembered as refused; the settings have no more than that.
const FILTERS_CAP: usize = 64;

/// An outage shorter than this loses no sensor's beat.
const FLAP: Span = Span::minutes(1);

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineRecord {
    pub up: Option<Moment>,
    /// Since when it had been up before it went down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub was_up: Option<Moment>,
    /// It has been up at some time: the broker knows us.
    #[serde(default)]
    pub met: bool,
    pub down: Option<Trouble>,
    pub session_lost: Option<Moment>,
    pub refused: BTreeMap<String, Trouble>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Trouble {
    pub since: Moment,
    pub why: String,
}

impl LineRecord {
    /// `true` if this is news. A link that flaps has been up all along, as far as silence goes: it is
    /// listened to from its last long outage on.
    pub fn comes_up(&mut self, now: Moment) -> bool {
        let outage = self.down.take();
        let short = outage.as_ref().is_some_and(|down| now.since(down.since) < FLAP);
        let news = outage.is_some() || self.up.is_none();
        let before = self.up.or(self.was_up.filter(|_| short));
        self.up = before.or(Some(now));
        self.met = true;
        self.was_up = None;
        news
    }

    /// `true` if this is news.
    pub fn goes_down(&mut self, now: Moment, why: &str) -> bool {
        if let Some(up) = self.up.take() {
            self.was_up = Some(up);
        }
        if let Some(trouble) = &mut self.down {
            why.clone_into(&mut trouble.why);
            return false;
        }
        self.down = Some(Trouble { since: now, why: why.to_owned() });
        true
    }

    pub fn refuses(&mut self, filter: &str, now: Moment, why: &str) -> bool {
        if self.refused.contains_key(filter) || self.refused.len() >= FILTERS_CAP {
            return false;
        }
        self.refused.insert(filter.to_owned(), Trouble { since: now, why: why.to_owned() });
        true
    }

    pub fn takes(&mut self, filter: &str) -> bool {
        self.refused.remove(filter).is_some()
    }
}
