//! Reads `[[rule]]`: what it waits for, whom it tells, and what they should do.

use super::condition::{self, Doubt, Outcome};
use super::dates;
use super::faults::{Faults, Place, Placed};
use super::rules::{ByPart, Condition, Harm, Hours, Onset, Rule};
use super::sensor::Sensors;
use super::suggest;
use super::tree::Table;
use super::words::STAGES;
use crate::plain::ids::RuleName;
use crate::plain::moment::Span;

/// What rules may speak of.
pub(super) struct Known<'k> {
    pub(super) ladders: &'k [&'k str],
    pub(super) sensors: &'k Sensors,
}

/// A rule, where it is named, and why it can never fire, if that is so.
#[derive(Clone, Debug)]
pub(super) struct Written {
    pub(super) rule: Rule,
    pub(super) at: Place,
    doubt: Option<Doubt>,
}

/// What a text message can carry beside animal, place, what and code is far less; a mail can carry this.
const ACTION_MAX: usize = 200;

/// Longer than this an alert would stand over a day's work that is done.
const REST_MAX: Span = Span::hours(12);

/// A rule's name is the "what" of every message.
const NAME_MAX: usize = 60;

const HARMS: [(&str, Harm); 3] =
    [("death", Harm::Death), ("lasting", Harm::Lasting), ("minor", Harm::Minor)];

const ONSETS: [(&str, Onset); 3] =
    [("immediate", Onset::Immediate), ("prompt", Onset::Prompt), ("delayed", Onset::Delayed)];

impl Written {
    pub(super) fn warn_if_never(&self, faults: &Faults) {
        if let Some(doubt) = &self.doubt {
            let title = format!("the rule {} can never fire", self.rule.name);
            faults.warn(&doubt.at, title, doubt.why.clone());
        }
    }
}

/// `None` if it cannot be used, which has then been said.
pub(super) fn read(
    table: Table<'_>,
    known: &Known<'_>,
    is_shipped: bool,
    earlier: &[Written],
) -> Option<Written> {
    let faults = table.faults();
    let name = table.needed("name", "what it says has happened, such as \"placenta not passed\"");
    let called = name
        .as_ref()
        .map_or_else(|| "this rule".to_owned(), |name| format!("the rule {}", name.is));
    let read = match condition::read(&table, &called, known.sensors, is_shipped) {
        Outcome::Read(condition, doubt) => Some((condition, doubt)),
        Outcome::NotYet(key, place) => {
            table.ignore_rest();
            let stays = earlier.iter().any(|one| {
                let name = name.as_ref();
                name.is_some_and(|name| one.rule.name.as_str() == name.is)
            });
            let rest = if stays { "; the one of that name in a file before stays" } else { "" };
            let title = format!("this version does not use {key} in rules yet");
            faults.warn(&place, title, format!("{called} is left out{rest}"));
            return None;
        }
        Outcome::Faulty => None,
    };
    let condition = read.as_ref().map(|(condition, _)| condition);
    let stages = stages(&table, condition);
    let enters = enters(&table, condition);
    let began = began(&table, condition);
    let scanned = scanned(&table, condition);
    let purpose = purpose(&table, condition);
    let rest = table.span("rest", Span::ZERO, Span::ZERO..=REST_MAX);
    let by_part = by_part(&table);
    let told = told(&table, known, condition, is_shipped);
    refuse_waiting(&table, &told, condition);
    let source = table.text("source").map(|text| text.is).unwrap_or_default();
    refuse_priority(&table);
    if let Some(name) = &name {
        check_name(name, faults);
    }
    let form = condition::form(&table);
    table.done_but(&condition::OF_FORMS, form);
    let (name, (condition, doubt), while_stages) = (name?, read?, stages?);
    let doubt = doubt.or_else(|| {
        let stage = condition::leads_beyond(&condition, &while_stages)?;
        let why =
            format!("what starts its clock leads to the stage {stage}, which while leaves out");
        Some(Doubt { at: name.at.clone(), why })
    });
    Some(Written {
        rule: Rule {
            name: RuleName::new(&name.is),
            condition,
            while_stages,
            harm: told.harm,
            onset: told.onset,
            action: told.action,
            by_part,
            tell: told.tell,
            loud: told.loud,
            by_day: told.by_day,
            rest,
            began,
            scanned,
            purpose,
            enters,
            source,
        },
        at: name.at,
        doubt,
    })
}

fn check_name(name: &Placed<String>, faults: &Faults) {
    if name.is.chars().count() > NAME_MAX {
        let title = format!("a rule's name has at most {NAME_MAX} letters");
        faults.refuse(&name.at, title, "it stands in every message; shorten it");
    }
}

/// The stages in which a rule may speak; `None` if that is none at all.
fn stages(table: &Table<'_>, condition: Option<&Condition>) -> Option<Vec<String>> {
    if let Some(
        Condition::Trouble { .. }
        | Condition::Gateway { .. }
        | Condition::Unwatched { .. }
        | Condition::Alone { .. }
        | Condition::Uncovered { .. }
        | Condition::Drill { .. },
    ) = condition
    {
        return Some(Vec::new());
    }
    let Some(value) = table.value("while") else {
        return Some(Vec::new());
    };
    let texts = table.texts("while");
    if texts.is_empty() && value.is_list() {
        let help = "while names no stage, so the rule is left out; take while out for every stage";
        table.faults().warn(&value.place(), "this rule can never fire", help);
        return None;
    }
    let known = texts.iter().filter(|text| is_stage(text, table.faults()));
    Some(known.map(|text| text.is.clone()).collect())
}

fn enters(table: &Table<'_>, condition: Option<&Condition>) -> Option<String> {
    let about_a_dam = condition.is_none_or(Condition::is_about_a_dam);
    let stage = about_a_dam.then(|| table.text("enters")).flatten()?;
    is_stage(&stage, table.faults()).then_some(stage.is)
}

/// Only a clock has begun at some hour.
fn began(table: &Table<'_>, condition: Option<&Condition>) -> Option<Hours> {
    let Some(Condition::Clock { .. }) = condition else { return None };
    let text = table.text("began")?;
    let hours = dates::shift(&text.is).map(|(from, until)| Hours { from, until });
    if hours.is_none() {
        let title = format!("{} are no hours of the day", text.is);
        let help = "write them like 14:00-06:00, in the farm's own time";
        table.faults().refuse(&text.at, title, help);
    }
    hours
}

/// One calf is no reason to ask for another, and no scan shows more.
const SCANNED: std::ops::RangeInclusive<u64> = 2..=9;

fn scanned(table: &Table<'_>, condition: Option<&Condition>) -> Option<u8> {
    let about_a_dam = condition.is_none_or(Condition::is_about_a_dam);
    let value = about_a_dam.then(|| table.value("scanned")).flatten()?;
    u8::try_from(value.whole(SCANNED)?).ok()
}

/// What the herd file's column of that name may say.
const PURPOSES: [(&str, &str); 2] = [("dairy", "dairy"), ("beef", "beef")];

fn purpose(table: &Table<'_>, condition: Option<&Condition>) -> Option<String> {
    let about_a_dam = condition.is_none_or(Condition::is_about_a_dam);
    let word = about_a_dam.then(|| table.word("purpose", &PURPOSES)).flatten()?;
    Some(word.is.to_owned())
}

fn is_stage(word: &Placed<String>, faults: &Faults) -> bool {
    let known = STAGES.contains(&word.is.as_str());
    if !known {
        let title = format!("{} is not a stage", word.is);
        faults.refuse(&word.at, title, suggest::way_out("stages", &word.is, &STAGES));
    }
    known
}

/// Whom it tells, how loudly, and what they should do.
struct Told {
    harm: Harm,
    onset: Onset,
    action: Option<String>,
    tell: Option<String>,
    loud: bool,
    by_day: bool,
}

fn told(
    table: &Table<'_>,
    known: &Known<'_>,
    condition: Option<&Condition>,
    is_shipped: bool,
) -> Told {
    let faults = table.faults();
    let harm = table.word("harm", &HARMS);
    let onset = table.word("onset", &ONSETS);
    let action = table.text("do");
    let tells = table.has("tell");
    let tell = table.value("tell").and_then(|_| tell(table, known, is_shipped));
    let loud = table.flag("loud").unwrap_or(false);
    let by_day = by_day(table, loud);
    if let Some(action) = &action {
        refuse_long("do", action, faults);
    }
    if tells && !table.has("do") {
        // Without an action it is no alarm (needs.md N18, standards.md AL-01).
        let help = "say what the person woken should do, or take tell out: then it only goes into the diary";
        table.missing("do", help);
    }
    let about_a_dam = condition.is_some_and(Condition::is_about_a_dam);
    if tells && about_a_dam {
        for (key, help) in [
            ("harm", "what could come of doing nothing: death, lasting or minor"),
            ("onset", "how soon: immediate, prompt or delayed"),
        ] {
            if !table.has(key) {
                table.missing(key, help);
            }
        }
    }
    if loud && !tells {
        let help = "it begins at a ladder's last rung; say which: tell = \"calving\"";
        let at = table.key_place("loud").unwrap_or_else(|| table.place());
        faults.warn(&at, "loud means nothing to a rule that tells nobody", help);
    }
    // A sensor's illness wakes nobody like a calving unless the farm says so.
    let mild = about_a_dam || matches!(condition, Some(Condition::Ill { .. }));
    let (least_harm, latest) =
        if mild { (Harm::Minor, Onset::Delayed) } else { (Harm::Lasting, Onset::Prompt) };
    Told {
        harm: harm.map_or(least_harm, |harm| harm.is),
        onset: onset.map_or(latest, |onset| onset.is),
        action: action.map(|action| action.is),
        tell,
        loud,
        by_day,
    }
}

fn refuse_long(key: &str, text: &Placed<String>, faults: &Faults) {
    if text.is.chars().count() > ACTION_MAX {
        let title = format!("{key} is longer than {ACTION_MAX} letters");
        faults.refuse(&text.at, title, "at three in the morning nobody reads more");
    }
}

/// What it says to one part or another beside its action.
fn by_part(table: &Table<'_>) -> ByPart {
    let text = |key: &'static str| {
        let text = table.text(key)?;
        refuse_long(key, &text, table.faults());
        Some(text.is)
    };
    ByPart {
        look: text("look"),
        owner: text("do-owner"),
        stockman: text("do-stockman"),
        helper: text("do-helper"),
        vet: text("do-vet"),
    }
}

/// Whether it begins by day only; what is loud cannot wait.
fn by_day(table: &Table<'_>, loud: bool) -> bool {
    let by_day = table.flag("by-day").unwrap_or(false);
    if by_day && loud {
        let at = table.key_place("by-day").unwrap_or_else(|| table.place());
        let help =
            "take one of the two out: by-day waits for the morning, loud calls everybody at once";
        table.faults().refuse(&at, "by-day does not go with loud", help);
    }
    by_day
}

/// What cannot wait does not wait for the morning.
fn refuse_waiting(table: &Table<'_>, told: &Told, condition: Option<&Condition>) {
    let alone = matches!(condition, Some(Condition::Alone { .. }));
    let now = told.harm == Harm::Death && told.onset == Onset::Immediate;
    if told.by_day && (alone || now) {
        let at = table.key_place("by-day").unwrap_or_else(|| table.place());
        let title = "by-day does not go with what cannot wait";
        table.faults().refuse(&at, title, "take by-day out, or say a milder harm or a later onset");
    }
}

/// The first of the ladders named that the farm has.
fn tell(table: &Table<'_>, known: &Known<'_>, is_shipped: bool) -> Option<String> {
    let names = table.texts("tell");
    let has = |name: &&Placed<String>| known.ladders.contains(&name.is.as_str());
    if let Some(name) = names.iter().find(has) {
        return Some(name.is.clone());
    }
    if is_shipped {
        return known.ladders.first().map(|name| (*name).to_owned());
    }
    let Some(name) = names.first() else {
        let value = table.value("tell").filter(super::value::Value::is_list)?;
        value
            .refuse("tell names no ladder", "take tell out, and the rule only goes into the diary");
        return None;
    };
    let title = format!("there is no ladder {}", name.is);
    let help = suggest::way_out("ladders of this farm", &name.is, known.ladders);
    table.faults().refuse(&name.at, title, help);
    None
}

fn refuse_priority(table: &Table<'_>) {
    if let Some(at) = table.key_place("priority") {
        table.value("priority");
        let help = "take it out; harm = death, lasting or minor and onset = immediate, prompt or delayed say how urgent it is";
        let title = "priority is not typed in: it comes from harm and onset";
        table.faults().refuse(&at, title, help);
    }
}
