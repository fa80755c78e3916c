//! Reads `[[sensor]]`: what one kind of message carries, and where in it.

use super::faults::Placed;
use super::sensors::{Form, Read, ReadKind, SensorKind, TimeAt, TimeForm};
use super::suggest;
use super::topic;
use super::tree::Table;
use super::value::Value;
use crate::plain::moment::Span;

/// What the farm's sensors are called and what they say, for everything that speaks of them.
#[derive(Debug, Default)]
pub(super) struct Sensors {
    pub(super) kinds: Vec<SensorKind>,
    /// Signs of sensors that this version cannot read: known words, never heard.
    pub(super) mute_signs: Vec<String>,
    /// Some `[[chain]]` is written.
    pub(super) chained: bool,
}

/// A message that carries more readings than this is not a sensor's.
const READS_MAX: usize = 100;

/// Further places to look for one value: more are a mistake.
const PLACES_MAX: usize = 20;

/// A sensor that speaks less often than once a week watches no calving.
const EVERY_MAX: Span = Span::days(7);

/// Forms of payload that the vocabulary has and this version has not.
const FORMS_TO_COME: [&str; 4] = ["csv", "senml", "cbor", "base64-f32le"];

/// Keys that the vocabulary has and this version has not.
const KEYS_TO_COME: [&str; 3] = ["fits", "region", "camera"];

impl Sensors {
    pub(super) fn add(&mut self, table: Table<'_>) {
        let kind = table.needed("kind", "a word for people, such as \"tail\"");
        let topic = topic(&table);
        let form = form(&table);
        let is_text = form == Some(Form::Text);
        let read = reads(&table, form);
        let time = table.table("time").and_then(|time| time_at(time, is_text));
        let every = table.value("every").and_then(|value| value.span(Span::seconds(1)..=EVERY_MAX));
        for key in KEYS_TO_COME {
            table.not_yet(key, "the sensor is read without it");
        }
        table.done();
        let (Some(kind), Some(topic)) = (kind, topic) else {
            self.mute_signs.extend(read.into_iter().map(|read| read.sign));
            return;
        };
        match form {
            Some(form) => self.kinds.push(SensorKind {
                kind: kind.is,
                topic: topic.is,
                form,
                read,
                time,
                every: every.map(|every| every.is),
            }),
            None => self.mute_signs.extend(read.into_iter().map(|read| read.sign)),
        }
    }

    pub(super) fn gives(&self, sign: &str) -> bool {
        self.signs().any(|given| given == sign)
    }

    pub(super) fn signs(&self) -> impl Iterator<Item = &str> {
        let reads = self.kinds.iter().flat_map(|kind| &kind.read);
        reads.map(|read| read.sign.as_str())
    }

    pub(super) fn has_kind(&self, kind: &str) -> bool {
        self.kinds.iter().any(|known| known.kind == kind)
    }
}

fn topic(table: &Table<'_>) -> Option<Placed<String>> {
    let example =
        "write it like yard/tail/{device}/state: {name} is one level, + any one, # the rest";
    let topic = table.needed("topic", example)?;
    if let Some(why) = topic::wrong(&topic.is) {
        let title = format!("{} is not a topic filter: {why}", topic.is);
        table.faults().refuse(&topic.at, title, example);
    } else if !topic::names(&topic.is).contains(&"device") {
        let title = format!("no level of {} says which device speaks", topic.is);
        let help = "put {device} where the device's own name stands";
        table.faults().refuse(&topic.at, title, help);
    }
    Some(topic)
}

/// `None` for a form that this version cannot read, which is then said.
fn form(table: &Table<'_>) -> Option<Form> {
    let Some(form) = table.text("form") else {
        return Some(Form::Json);
    };
    match form.is.as_str() {
        "json" => Some(Form::Json),
        "text" => Some(Form::Text),
        word if FORMS_TO_COME.contains(&word) => {
            let title = format!("this version does not use the form {word} yet");
            let help = "the sensor is left out; form may be json or text";
            table.faults().warn(&form.at, title, help);
            None
        }
        word => {
            let names: Vec<&str> = ["json", "text"].into_iter().chain(FORMS_TO_COME).collect();
            let title = format!("form cannot be {word}");
            let help = suggest::one_of(word, &names);
            table.faults().refuse(&form.at, title, help);
            None
        }
    }
}

fn reads(table: &Table<'_>, form: Option<Form>) -> Vec<Read> {
    let example = "write what it says and where: read = [{ sign = \"contraction\", at = \"/efforts\", as = \"count\" }]";
    if !table.has("read") {
        table.missing("read", example);
    }
    let values = table.values("read");
    if let Some(beyond) = values.get(READS_MAX) {
        beyond.refuse(
            format!("there are more than {READS_MAX} readings in one message"),
            "leave out those that no rule uses",
        );
    }
    let faults = table.faults();
    let mut signs: Vec<String> = Vec::new();
    let mut reads = Vec::new();
    for table in values.iter().take(READS_MAX).filter_map(|value| value.table("read")) {
        let Some((sign, read)) = read(table, form) else {
            continue;
        };
        if signs.contains(&sign.is) {
            let title = format!("{} is read twice from one message", sign.is);
            let help = "give one sign a list of places instead: at = [\"/a\", \"/b\"]";
            faults.refuse(&sign.at, title, help);
        }
        signs.push(sign.is);
        reads.push(read);
    }
    reads
}

fn read(table: Table<'_>, form: Option<Form>) -> Option<(Placed<String>, Read)> {
    let sign = table.needed("sign", "a word for what it tells, such as \"contraction\"");
    let kinds = [("level", ReadKind::Level), ("count", ReadKind::Count), ("flag", ReadKind::Flag)];
    let kind = table.word("as", &kinds).map_or(ReadKind::Level, |kind| kind.is);
    let at = match form {
        Some(Form::Json) => needed_pointers(&table),
        Some(Form::Text) => {
            if let Some(at) = table.value("at") {
                let help = "take at out, or write form = \"json\"";
                at.refuse("a text is one value; there is nothing to point at", help);
            }
            Vec::new()
        }
        // Another form may point in another way.
        None => table.values("at").into_iter().map(|_| String::new()).collect(),
    };
    let unit = table.text("unit").map(|unit| unit.is);
    let none = table.values("none").iter().filter_map(Value::number).collect();
    for key in KEYS_TO_COME {
        table.not_yet(key, "the sign is read without it");
    }
    table.done();
    let sign = sign?;
    let read = Read { sign: sign.is.clone(), at, kind, unit, none };
    Some((sign, read))
}

fn needed_pointers(table: &Table<'_>) -> Vec<String> {
    let example = "write where it stands in the JSON, such as \"/tail/up_s\" (RFC 6901)";
    if !table.has("at") {
        table.missing("at", example);
    }
    let values = table.values("at");
    if let Some(beyond) = values.get(PLACES_MAX) {
        let title = format!("at names more than {PLACES_MAX} places");
        beyond.refuse(title, "split the sensor by topic");
    }
    values.iter().take(PLACES_MAX).filter_map(pointer).collect()
}

fn pointer(value: &Value<'_>) -> Option<String> {
    let text = value.any_text()?.is;
    // RFC 6901 section 3: empty, or each step begins with a slash; ~ only as ~0 or ~1.
    let steps_well = text.is_empty() || text.starts_with('/');
    let mut escapes = text.split('~').skip(1);
    if steps_well && escapes.all(|rest| rest.starts_with(['0', '1'])) {
        return Some(text);
    }
    let help = if steps_well {
        "write ~0 for ~ and ~1 for a / within a name (RFC 6901)".to_owned()
    } else {
        format!("write \"/{}\": every step begins with a slash (RFC 6901)", text.replace('.', "/"))
    };
    value.refuse(format!("{text:?} does not point into JSON"), help);
    None
}

fn time_at(table: Table<'_>, is_text: bool) -> Option<TimeAt> {
    if is_text {
        let title = "a text is one value; it carries no time";
        let help = "take time out: it counts from when it was heard";
        table.faults().refuse(&table.place(), title, help);
        table.ignore_rest();
        return None;
    }
    let at = needed_pointers(&table);
    let forms = [
        ("unix-s", TimeForm::UnixSeconds),
        ("unix-ms", TimeForm::UnixMillis),
        ("rfc3339", TimeForm::Rfc3339),
    ];
    if !table.has("as") {
        table.missing("as", "say how it is written: unix-s, unix-ms or rfc3339");
    }
    let form = table.word("as", &forms);
    table.done();
    Some(TimeAt { at, form: form?.is })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::faults::Faults;
    use crate::config::tree::Tree;

    fn faults_of(text: &str) -> Vec<String> {
        let faults = Faults::default();
        let tree = Tree::read("farm.toml", text, &faults);
        let mut sensors = Sensors::default();
        for table in tree.root(&faults).tables("sensor", 9) {
            sensors.add(table);
        }
        drop(tree);
        let list = faults.sorted(&[]);
        list.into_iter().map(|fault| fault.title).collect()
    }

    /// Source: RFC 6901 section 5, the pointers of its own example, and section 3 for the bad ones.
    #[test]
    fn a_pointer_is_checked_before_the_night() {
        for good in ["", "/foo", "/foo/0", "/", "/a~1b", "/c%d", "/e^f", "/ ", "/m~0n"] {
            let text = format!(
                "[[sensor]]\nkind='a'\ntopic='a/{{device}}'\nread={{sign='s', at='{good}'}}"
            );
            assert_eq!(faults_of(&text), [""; 0], "{good}");
        }
        for bad in ["foo", "a.b", "/m~n", "/m~", "/~2"] {
            let text = format!(
                "[[sensor]]\nkind='a'\ntopic='a/{{device}}'\nread={{sign='s', at='{bad}'}}"
            );
            assert_eq!(faults_of(&text), [format!("{bad:?} does not point into JSON")]);
        }
    }

    #[test]
    fn a_text_needs_no_pointer_and_takes_none() {
        let text = "[[sensor]]\nkind='a'\ntopic='a/{device}'\nform='text'\nread={sign='s'}";
        assert_eq!(faults_of(text), [""; 0]);
        let text =
            "[[sensor]]\nkind='a'\ntopic='a/{device}'\nform='text'\nread={sign='s', at='/x'}";
        assert_eq!(faults_of(text), ["a text is one value; there is nothing to point at"]);
    }
}
