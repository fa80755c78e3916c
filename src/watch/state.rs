//! All that must survive a restart, in one value. Everything else is computed from it.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::contacts::Contact;
use super::event::ClockState;
use super::weather::Air;
use crate::alarm::drill::Drill;
use crate::alarm::watchman::Watchman;
use crate::config::SettingsText;
use crate::config::people::Away;
use crate::gear::device::Device;
use crate::gear::gateway::GatewayRecord;
use crate::gear::line::LineRecord;
use crate::herd::dam::Dam;
use crate::plain::bounded::Ring;
use crate::plain::ids::{Animal, DeviceId, GatewayName, LineName, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::plain::roster::Roster;
use crate::rota::swap::Swap;
use crate::sensor::ledger::Ledger;
use crate::talk::letter::MailPlace;

/// Mails remembered by their Message-ID, for the day a mailbox is numbered anew.
const LETTERS: usize = 500;
/// Answers remembered per person: the brake on two machines that answer each other.
const ANSWERS: usize = 20;
/// Kinds of refusal counted one by one; the rest are counted together.
const REFUSALS: usize = 500;
/// A name in them is cut here.
const REFUSAL_NAME: usize = 120;
/// A backlog comes in one message after the other: after such a pause it has all come (common
/// practice, no source).
const POUR_PAUSE: Span = Span::seconds(5);
/// However long it takes, what it tells so far is asked about after so long.
const POUR_MAX: Span = Span::minutes(3);
/// Devices remembered; unknown ones come last and are not.
const DEVICES: usize = 2_000;

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct State {
    pub now: Moment,
    pub seed: u64,
    pub started: Option<Moment>,
    /// The last time nobody watched.
    pub down: Option<Gap>,
    pub clock: ClockState,
    pub settings: SettingsText,
    pub dams: Roster<Animal, Dam>,
    pub devices: Roster<DeviceId, Device>,
    pub lines: BTreeMap<LineName, LineRecord>,
    /// Which device is on which dam, by the settings and by people's words.
    pub ledger: Ledger,
    /// In the order of the settings.
    pub gateways: Vec<(GatewayName, GatewayRecord)>,
    /// By dam: when a person last looked at her.
    pub looks: BTreeMap<u32, Look>,
    /// Dams in their windows whom nothing and nobody watches, and since when; kept while a rule asks.
    pub unwatched: BTreeMap<u32, Moment>,
    /// Who is in with a dam, and until when without a word.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub inside: BTreeMap<PersonName, Inside>,
    pub watchman: Watchman,
    pub refusals: BTreeMap<String, u64>,
    /// How far each mailbox has been read.
    pub mailboxes: BTreeMap<LineName, MailPlace>,
    pub letters: Ring<String, LETTERS>,
    pub answers: BTreeMap<PersonName, Ring<Moment, ANSWERS>>,
    /// Web receivers that asked never to be called again, and what they said.
    pub gone: BTreeMap<LineName, String>,
    /// Findings of rules that only log and have been logged: "rule / subject".
    pub logged: BTreeSet<String>,
    /// Dams, by place, about whom a backlog is coming in.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub poured: BTreeMap<u32, Pour>,
    /// When words of each person last came in: that they were reached then is proven.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub heard_from: BTreeMap<PersonName, Moment>,
    /// What is known of the ways to each person.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub contacts: BTreeMap<PersonName, Contact>,
    /// The drill that runs, or the last one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drill: Option<Drill>,
    /// When each schedule is due next, by its own words.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub clocked: BTreeMap<String, Moment>,
    /// Swaps, asked for and agreed, that can still matter.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub swaps: Vec<Swap>,
    /// Who was on duty when that was last looked at.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub on_duty: BTreeSet<PersonName>,
    /// Who cannot come.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub away: Vec<Away>,
    /// The last word about the air outside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weather: Option<Air>,
}

/// A backlog that is coming in: since when, and until when nothing is asked about its dam.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pour {
    pub from: Moment,
    pub until: Moment,
}

/// Somebody said that they went in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Inside {
    /// With whom, if they said so.
    pub with: Option<Animal>,
    pub since: Moment,
    /// How long each word of theirs covers them.
    pub span: Span,
    /// They would be out by then, or have said something.
    pub until: Moment,
    /// They were asked whether they are out.
    pub asked: bool,
}

/// A person saw a dam.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Look {
    pub at: Moment,
    pub by: PersonName,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Gap {
    pub from: Moment,
    pub to: Moment,
}

impl State {
    /// Counts a refusal; says how many there have been if this one is worth a line.
    pub fn refused(&mut self, kind: &str) -> Option<u64> {
        let kind = kind.get(..REFUSAL_NAME).unwrap_or(kind);
        let known = self.refusals.contains_key(kind) || self.refusals.len() < REFUSALS;
        let kind = if known { kind } else { "other" };
        let times = self.refusals.entry(kind.to_owned()).or_default();
        *times += 1;
        let mut power = 1;
        while power < *times {
            power *= 10;
        }
        (power == *times).then_some(*times)
    }

    /// Something about a dam came in that was so some time ago: more may follow, and what began in it
    /// may be over by its end (needs.md N27).
    pub fn pours(&mut self, dam: u32) {
        let (now, fresh) = (self.now, Pour { from: self.now, until: self.now });
        let pour = self.poured.entry(dam).or_insert(fresh);
        if pour.until < now {
            *pour = fresh;
        }
        pour.until = pour.until.max((now + POUR_PAUSE).min(pour.from + POUR_MAX));
    }

    /// Until when nothing is asked about a dam because a backlog is coming in.
    pub fn poured_until(&mut self, dam: u32) -> Option<Moment> {
        let until = self.poured.get(&dam)?.until;
        if until > self.now {
            return Some(until);
        }
        self.poured.remove(&dam);
        None
    }

    /// The place of a device, remembered from now on; `None` past the cap.
    pub fn device(&mut self, id: &DeviceId) -> Option<u32> {
        if let Some(place) = self.devices.find(id) {
            return Some(place);
        }
        let room = self.devices.len() < DEVICES.max(self.dams.len() * 2);
        room.then(|| self.devices.place(id))
    }
}
