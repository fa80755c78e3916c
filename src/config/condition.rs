//! Reads what a rule waits for: so many of a sign, a clock, a silence, a sensor that is ill, or
//! trouble with a line.
//!
//! Says at once where a condition can never come true.

use std::cell::RefCell;

use super::faults::{Place, Placed};
use super::limit::{self, LIMIT_MAX};
use super::rules::{Condition, Devices, From, Ill, Trouble};
use super::sensor::Sensors;
use super::suggest;
use super::tree::Table;
use super::when;
use super::words::{MARKS, STAGES, stage_after};
use crate::plain::english;
use crate::plain::moment::Span;

/// What became of reading one.
pub(super) enum Outcome {
    Read(Condition, Option<Doubt>),
    /// A form that this version does not use: the key, and where it stands.
    NotYet(&'static str, Place),
    /// A fault has been said.
    Faulty,
}

/// Why a rule can never fire, and where that was written.
#[derive(Clone, Debug)]
pub(super) struct Doubt {
    pub(super) at: Place,
    pub(super) why: String,
}

/// Less is no time to find somebody, and more is no news.
const AHEAD_MIN: Span = Span::hours(12);
const AHEAD_MAX: Span = Span::days(60);

/// Forms that the vocabulary has and this version has not.
const TO_COME: [&str; 1] = ["likely"];

/// Each form by the key that begins it.
const FORMS: [&str; 11] = [
    "when",
    "since",
    "due",
    "change",
    "silent",
    "ill",
    "unwatched",
    "trouble",
    "alone",
    "uncovered",
    "drill",
];

/// Keys that go with some form: with another they are out of place, not unknown.
pub(super) const OF_FORMS: [&str; 23] = [
    "uncovered",
    "drill",
    "change",
    "when",
    "since",
    "silent",
    "ill",
    "unwatched",
    "trouble",
    "alone",
    "kind",
    "until",
    "from",
    "limit",
    "while",
    "enters",
    "scanned",
    "count",
    "over",
    "at-least",
    "devices",
    "due",
    "by",
];

/// The word for the gateways of the chain, in `silent`.
const GATEWAY: &str = "gateway";

/// A ladder's rungs want their time; after an hour nobody waits for a drill.
const DRILL_MIN: Span = Span::minutes(5);
const DRILL_MAX: Span = Span::hours(1);

/// Whoever lies in a pen is looked for sooner than this.
const ALONE_MAX: Span = Span::hours(1);

const TROUBLES: [(&str, Trouble); 6] = [
    ("line down", Trouble::LineDown),
    ("session lost", Trouble::SessionLost),
    ("subscription refused", Trouble::SubscriptionRefused),
    ("journal stuck", Trouble::JournalStuck),
    ("strangers at the broker", Trouble::Strangers),
    ("calendar old", Trouble::CalendarOld),
];

/// The key by which a rule's form is known, for the words of a fault.
pub(super) fn form(table: &Table<'_>) -> &'static str {
    FORMS.into_iter().find(|key| table.has(key)).unwrap_or("when")
}

/// `called` is how the words speak of the rule; a shipped rule may wait for sensors that a farm has not.
pub(super) fn read(
    table: &Table<'_>,
    called: &str,
    sensors: &Sensors,
    is_shipped: bool,
) -> Outcome {
    if let Some((key, place)) = to_come(table) {
        return Outcome::NotYet(key, place);
    }
    let forms: Vec<&str> = FORMS.into_iter().filter(|key| table.has(key)).collect();
    let reader = Reader { table, sensors, is_shipped, doubt: RefCell::default() };
    if let [first, second, ..] = forms.as_slice() {
        let at = table.key_place(second).unwrap_or_else(|| table.place());
        let title = format!("{second} does not go with {first}");
        let help = "a rule waits for one thing; make two rules of it";
        table.faults().refuse(&at, title, help);
        for key in OF_FORMS {
            table.value(key);
        }
        return Outcome::Faulty;
    }
    let condition = match forms.first().copied() {
        Some("since") => reader.clock(),
        Some("change") => reader.change(table, &Devices::Any),
        Some("due") => reader.due(),
        Some("silent") => reader.silent(),
        Some("ill") => reader.ill(),
        Some("unwatched") => reader.unwatched(),
        Some("trouble") => reader.trouble(),
        Some("alone") => reader.alone(),
        Some("uncovered") => reader.uncovered(),
        Some("drill") => reader.drill(),
        Some(_) => {
            let value = table.value("when");
            if let Some((key, place)) = value.and_then(|value| when::to_come(&value, &TO_COME)) {
                return Outcome::NotYet(key, place);
            }
            reader.when()
        }
        None => {
            let title = format!("{called} waits for nothing");
            let help = "write when = { count = …, over = …, at-least = … } or with level or seen, or since, until and limit, or change = { … }, or due and by, or silent and limit, or ill, or unwatched, or alone, or uncovered, or drill, or trouble";
            table.faults().refuse(&table.place(), title, help);
            None
        }
    };
    let doubt = reader.doubt.into_inner();
    condition.map_or(Outcome::Faulty, |condition| Outcome::Read(condition, doubt))
}

fn to_come(table: &Table<'_>) -> Option<(&'static str, Place)> {
    TO_COME.into_iter().find_map(|key| table.key_place(key).map(|place| (key, place)))
}

pub(super) struct Reader<'r> {
    pub(super) table: &'r Table<'r>,
    pub(super) sensors: &'r Sensors,
    is_shipped: bool,
    pub(super) doubt: RefCell<Option<Doubt>>,
}

impl Reader<'_> {
    /// The same reader, for a table within its own.
    pub(super) fn at<'t>(&'t self, table: &'t Table<'t>) -> Reader<'t> {
        let (sensors, is_shipped) = (self.sensors, self.is_shipped);
        Reader { table, sensors, is_shipped, doubt: RefCell::default() }
    }

    pub(super) fn clock(&self) -> Option<Condition> {
        let since = self.words("since", "what starts the clock: a mark, a sign or a stage");
        let froms = [("first", From::First), ("last", From::Last)];
        let from = self.table.word("from", &froms).map_or(From::First, |from| from.is);
        let until = self.words("until", "what stops the clock: a mark, a sign or a stage");
        let limit = limit::read(self.table);
        let (since, until) = (since?, until?);
        let at = self.table.key_place("until").unwrap_or_else(|| self.table.place());
        if since.iter().all(|word| until.contains(word)) {
            let words = english::list(&since);
            self.never(&at, format!("the clock starts and stops by {words}"));
        } else if let Some(word) = self.unheard(&since) {
            self.never(
                &self.table.place(),
                format!("{word} starts its clock, and no sensor that this version reads gives it"),
            );
        }
        Some(Condition::Clock { since, from, until, limit: limit? })
    }

    /// The first starting word, if none of them will ever be heard.
    fn unheard<'w>(&self, since: &'w [String]) -> Option<&'w String> {
        let heard = |word: &String| {
            MARKS.contains(&word.as_str())
                || STAGES.contains(&word.as_str())
                || self.sensors.gives(word)
        };
        if since.iter().any(heard) { None } else { since.first() }
    }

    pub(super) fn words(&self, key: &'static str, help: &str) -> Option<Vec<String>> {
        let Some(value) = self.table.value(key) else {
            self.table.missing(key, help);
            return None;
        };
        let texts = self.table.texts(key);
        let words: Vec<String> =
            texts.iter().filter(|text| self.is_known(text)).map(|text| text.is.clone()).collect();
        if texts.is_empty() && value.is_list() {
            value.refuse(format!("{key} names nothing"), help);
        }
        (!words.is_empty() && words.len() == texts.len()).then_some(words)
    }

    fn is_known(&self, word: &Placed<String>) -> bool {
        let known: Vec<&str> = MARKS
            .into_iter()
            .chain(STAGES)
            .chain(self.sensors.signs())
            .chain(self.sensors.mute_signs.iter().map(String::as_str))
            .collect();
        if known.contains(&word.is.as_str()) {
            return true;
        }
        let title = format!("{} is no mark, no stage and no sensor's sign", word.is);
        let signs: Vec<&str> = self.sensors.signs().collect();
        let help = match suggest::nearest(&word.is, &known) {
            Some(name) => format!("did you mean {name}?"),
            None => format!(
                "marks: {}\nstages: {}\nsigns: {}",
                MARKS.join(", "),
                STAGES.join(", "),
                signs.join(", ")
            ),
        };
        self.table.faults().refuse(&word.at, title, help);
        false
    }

    fn silent(&self) -> Option<Condition> {
        let kind = self.table.text("silent");
        let limit = self.table.value("limit");
        if limit.is_none() {
            self.table.missing("limit", "how long it may say nothing, such as \"45m\"");
        }
        let limit = limit?.span(Span::seconds(1)..=LIMIT_MAX);
        let kind = kind?;
        if kind.is == GATEWAY {
            self.check_gateways(&kind);
            return Some(Condition::Gateway { limit: limit?.is });
        }
        self.doubt_kind(&kind);
        Some(Condition::Silent { kind: kind.is, limit: limit?.is })
    }

    fn ill(&self) -> Option<Condition> {
        let words: Vec<&str> = Ill::ALL.into_iter().map(Ill::word).chain(["any"]).collect();
        let texts = self.table.texts("ill");
        let mut with = Vec::new();
        for text in &texts {
            match Ill::ALL.into_iter().find(|ill| ill.word() == text.is) {
                Some(ill) => with.push(ill),
                None if text.is == "any" => with.extend(Ill::ALL),
                None => {
                    let title = format!("ill cannot be {}", text.is);
                    self.table.faults().refuse(&text.at, title, suggest::one_of(&text.is, &words));
                }
            }
        }
        if let Some(value) = self.table.value("ill").filter(|_| texts.is_empty())
            && value.is_list()
        {
            value.refuse(
                "ill names nothing",
                "write \"any\" for whatever may be wrong with a sensor",
            );
        }
        let kind = self.table.text("kind");
        if let Some(kind) = &kind {
            self.doubt_kind(kind);
        }
        let kind = kind.map_or_else(|| "any".to_owned(), |kind| kind.is);
        let limit = self.table.span("limit", Span::ZERO, Span::ZERO..=LIMIT_MAX);
        with.sort_unstable();
        with.dedup();
        (!with.is_empty()).then_some(Condition::Ill { with, kind, limit })
    }

    fn doubt_kind(&self, kind: &Placed<String>) {
        if kind.is != "any" && !self.sensors.has_kind(&kind.is) && !self.is_excused() {
            let kinds = self.sensors.kinds.iter().map(|one| one.kind.as_str());
            let kinds: Vec<&str> = kinds.chain(["any"]).collect();
            let kinds = suggest::one_of(&kind.is, &kinds);
            let why = format!("no sensor is of the kind {}; {kinds}", kind.is);
            self.never(&kind.at, why);
        }
    }

    fn check_gateways(&self, word: &Placed<String>) {
        if self.sensors.has_kind(GATEWAY) {
            let title = "gateway is a kind of sensor and what a [[chain]] names";
            let help = "call the kind of sensor by another word";
            self.table.faults().refuse(&word.at, title, help);
        }
        if !self.sensors.chained && !self.is_shipped {
            self.never(
                &word.at,
                "no [[chain]] says which device hangs on which gateway".to_owned(),
            );
        }
    }

    fn unwatched(&self) -> Option<Condition> {
        let wanted = self.table.value("unwatched").and_then(|value| {
            let flag = value.flag()?;
            if !flag {
                let help = "write unwatched = true, or leave the rule out";
                value.refuse("unwatched = false waits for nothing", help);
            }
            Some(flag)
        });
        let limit = self.table.span("limit", Span::ZERO, Span::ZERO..=LIMIT_MAX);
        if self.sensors.kinds.is_empty() && !self.is_shipped {
            let at = self.table.place();
            self.never(&at, "on a farm without sensors nobody is called for this".to_owned());
        }
        wanted.filter(|flag| *flag).map(|_| Condition::Unwatched { limit })
    }

    fn alone(&self) -> Option<Condition> {
        let value = self.table.value("alone")?;
        let wanted = value.flag()?;
        if !wanted {
            let help = "write alone = true, or leave the rule out";
            value.refuse("alone = false waits for nothing", help);
        }
        let limit = self.table.span("limit", Span::ZERO, Span::ZERO..=ALONE_MAX);
        wanted.then_some(Condition::Alone { limit })
    }

    fn uncovered(&self) -> Option<Condition> {
        let ahead = self.table.value("uncovered")?.span(AHEAD_MIN..=AHEAD_MAX)?;
        Some(Condition::Uncovered { ahead: ahead.is })
    }

    fn drill(&self) -> Option<Condition> {
        let lasts = self.table.value("drill")?.span(DRILL_MIN..=DRILL_MAX)?;
        Some(Condition::Drill { lasts: lasts.is })
    }

    fn trouble(&self) -> Option<Condition> {
        let with = self.table.word("trouble", &TROUBLES);
        let limit = self.table.span("limit", Span::ZERO, Span::ZERO..=LIMIT_MAX);
        Some(Condition::Trouble { with: with?.is, limit })
    }

    /// A farm without any sensor is told so once, not by every shipped rule.
    pub(super) fn is_excused(&self) -> bool {
        self.is_shipped && self.sensors.kinds.is_empty()
    }

    pub(super) fn never(&self, at: &Place, why: String) {
        let at = at.clone();
        self.doubt.borrow_mut().get_or_insert(Doubt { at, why });
    }
}

/// The stage that a clock's start leads to at the earliest, if it lies behind all of these.
pub(super) fn leads_beyond(condition: &Condition, stages: &[String]) -> Option<&'static str> {
    let Condition::Clock { since, .. } = condition else {
        return None;
    };
    let earliest = since.iter().map(|word| stage_after(word)).min()??;
    let place = |word: &String| STAGES.iter().position(|stage| stage == word);
    let last = stages.iter().filter_map(place).max()?;
    (last < earliest).then(|| STAGES[earliest])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::rules::Limit;

    fn clock(since: &[&str]) -> Condition {
        Condition::Clock {
            since: since.iter().map(|word| (*word).to_owned()).collect(),
            from: From::First,
            until: vec!["placenta".to_owned()],
            limit: Limit::both(Span::hours(1)),
        }
    }

    #[test]
    fn a_clock_that_starts_behind_its_stages_is_found() {
        let early = ["carrying".to_owned(), "first".to_owned()];
        assert_eq!(leads_beyond(&clock(&["calf"]), &early), Some("third"));
        assert_eq!(leads_beyond(&clock(&["calf", "feet"]), &early), Some("second"));
        assert_eq!(leads_beyond(&clock(&["calf", "temp"]), &early), None);
        assert_eq!(leads_beyond(&clock(&["restless"]), &early), None);
        assert_eq!(leads_beyond(&clock(&["calf"]), &[]), None);
        assert_eq!(leads_beyond(&clock(&["calf"]), &["recovering".to_owned()]), None);
    }
}
