//! Reads `[[sensor]]`: what one kind of message carries, and where in it.

use super::byte_field;
use super::faults::Placed;
use super::field::{self, Around};
use super::picture;
use super::places::{self, Pointing};
use super::sensors::{
    ByteNumber, Clock, CsvForm, Decimal, Form, Horizon, PAYLOAD_MAX, Raw, Read, ReadKind,
    SensorKind, TimeAt, TimeForm, Wrap,
};
use super::suggest;
use super::topic;
use super::tree::Table;
use crate::plain::moment::Span;

/// What the farm's sensors are called and what they say, for everything that speaks of them.
#[derive(Debug, Default)]
pub(super) struct Sensors {
    pub(super) kinds: Vec<SensorKind>,
    /// Signs of sensors that cannot be read: known words, never heard.
    pub(super) mute_signs: Vec<String>,
    /// By kind, where the settings say it.
    pub(super) horizons: Vec<(String, Horizon)>,
    /// Some `[[chain]]` is written.
    pub(super) chained: bool,
}

/// A sensor that speaks less often than once a week watches no calving.
const EVERY_MAX: Span = Span::days(7);

const FORMS: [(&str, Form); 10] = [
    ("json", Form::Json),
    ("text", Form::Text),
    ("csv", Form::Csv),
    ("senml", Form::Senml),
    ("senml-cbor", Form::SenmlCbor),
    ("cbor", Form::Cbor),
    ("msgpack", Form::Msgpack),
    ("bytes", Form::Bytes),
    ("base64", Form::Base64),
    ("hex", Form::Hex),
];

const HORIZONS: [(&str, Horizon); 3] =
    [("now", Horizon::Now), ("hours", Horizon::Hours), ("day", Horizon::Day)];

impl Sensors {
    pub(super) fn add(&mut self, table: Table<'_>) {
        let kind = table.needed("kind", "a word for people, such as \"tail\"");
        let written = form(&table);
        let form = written.map(|(form, _)| form);
        let pointing = form.map_or(Pointing::Steps, Pointing::of);
        let topic = topic(&table, pointing);
        let raw = table.table("raw").and_then(|raw| raw_at(raw, form));
        let seen = table.table("seen").and_then(|seen| {
            if pointing == Pointing::Steps {
                return picture::seen(seen);
            }
            let help = "take seen out, or write form = \"json\"";
            seen.faults().refuse(
                &seen.place(),
                "only a document tells what a camera has seen",
                help,
            );
            seen.ignore_rest();
            None
        });
        let around = Around {
            form,
            row_of: written.and_then(|(_, row_of)| row_of),
            has_raw: raw.is_some(),
            has_seen: table.has("seen"),
            decimal: field::decimal(&table).unwrap_or_default(),
        };
        let mut read = field::reads(&table, around);
        fits(&table, &mut read);
        let read: Vec<Read> = read.into_iter().map(|(_, read)| read).collect();
        let (time, ago) = times(&table, pointing);
        let every = table.value("every").and_then(|value| value.span(Span::seconds(1)..=EVERY_MAX));
        let regions = table.table("regions").map(|regions| {
            let found = picture::regions(&regions);
            regions.ignore_rest();
            found
        });
        let rest = SensorKind {
            read,
            time,
            ago,
            every: every.map(|every| every.is),
            each: each(&table, pointing),
            device: many(&table, "device", pointing),
            counter: many(&table, "counter", pointing),
            raw,
            csv: csv_form(&table, form, around.decimal),
            largest: largest(&table).unwrap_or(PAYLOAD_MAX),
            clock: clock(&table),
            battery_low: battery_low(&table),
            regions: regions.unwrap_or_default(),
            seen,
            ..SensorKind::plain("", "", Form::Json, Vec::new())
        };
        let horizon = table.word("horizon", &HORIZONS);
        if let (Some(kind), Some(horizon)) = (&kind, horizon) {
            self.horizons.push((kind.is.clone(), horizon.is));
        }
        check_camera(&table, &rest);
        table.not_yet("camera", "the sensor is read without it");
        table.done();
        match (kind, topic, form) {
            (Some(kind), Some(topic), Some(form)) => {
                self.kinds.push(SensorKind { kind: kind.is, topic: topic.is, form, ..rest });
            }
            (_, _, _) => self.mute_signs.extend(rest.read.into_iter().map(|read| read.sign)),
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

/// In the unit in which its battery is read.
fn battery_low(table: &Table<'_>) -> Option<f64> {
    let value = table.value("battery-low")?;
    let low = value.number()?;
    if !low.is_finite() || low <= 0.0 {
        value.refuse("battery-low must be above 0", "write what is left when it counts as low");
        return None;
    }
    Some(low)
}

fn topic(table: &Table<'_>, pointing: Pointing) -> Option<Placed<String>> {
    let example =
        "write it like yard/tail/{device}/state: {name} is one level, + any one, # the rest";
    let topic = table.needed("topic", example)?;
    if let Some(why) = topic::wrong(&topic.is) {
        let title = format!("{} is not a topic filter: {why}", topic.is);
        table.faults().refuse(&topic.at, title, example);
    } else if !topic::names(&topic.is).contains(&"device")
        && !table.has("device")
        && pointing != Pointing::Names
    {
        let title = format!("no level of {} says which device speaks", topic.is);
        let help = if pointing.many() {
            "put {device} where the device's own name stands, or write where the message has it: device = \"/id\""
        } else {
            "put {device} where the device's own name stands"
        };
        table.faults().refuse(&topic.at, title, help);
    }
    Some(topic)
}

/// The form, and the number of which a payload such as `base64-f32le` is a row.
fn form(table: &Table<'_>) -> Option<(Form, Option<ByteNumber>)> {
    let Some(form) = table.text("form") else {
        return Some((Form::Json, None));
    };
    let word = form.is.as_str();
    if let Some((_, form)) = FORMS.iter().find(|(name, _)| *name == word) {
        return Some((*form, None));
    }
    let row = word.split_once('-').and_then(|(wrap, number)| {
        let (_, form) = FORMS.iter().find(|(name, _)| *name == wrap)?;
        (Pointing::of(*form) == Pointing::Bytes).then_some((*form, byte_field::named(number)?))
    });
    if let Some((form, number)) = row {
        return Some((form, Some(number)));
    }
    let names: Vec<&str> = FORMS.iter().map(|(name, _)| *name).collect();
    let title = format!("form cannot be {word}");
    table.faults().refuse(&form.at, title, suggest::one_of(word, &names));
    None
}

/// `fits = { temperature = [34, 43] }`: the same as on the reads themselves.
fn fits(table: &Table<'_>, reads: &mut [(Placed<String>, Read)]) {
    let Some(fits) = table.table("fits") else { return };
    for (sign, value) in fits.all_values() {
        let read = reads.iter_mut().map(|(_, read)| read).find(|read| read.sign == sign);
        match read {
            None => {
                let title = format!("this sensor does not read {sign}");
                value.refuse(title, "write fits on the read it is for");
            }
            Some(read) if read.fits.is_some() => {
                value.refuse(format!("{sign} has two ranges"), "take one of the two out");
            }
            Some(read) => read.fits = field::range(&value, read.unit),
        }
    }
    fits.ignore_rest();
}

fn many(table: &Table<'_>, key: &'static str, pointing: Pointing) -> Vec<String> {
    if pointing.many() {
        return places::read(table, key, pointing);
    }
    if let Some(value) = table.value(key) {
        let title = format!("{key} does not go with this form");
        value.refuse(title, format!("take {key} out: there is nothing it can point at"));
    }
    Vec::new()
}

fn each(table: &Table<'_>, pointing: Pointing) -> Vec<String> {
    if pointing == Pointing::Steps {
        return places::read(table, "each", pointing);
    }
    if let Some(value) = table.value("each") {
        let help =
            "take each out: a CSV's lines and a SenML pack's records are samples by themselves";
        value.refuse("each does not go with this form", help);
    }
    Vec::new()
}

fn raw_at(table: Table<'_>, form: Option<Form>) -> Option<Raw> {
    let form = form.unwrap_or(Form::Json);
    if Pointing::of(form) != Pointing::Steps {
        let help = "take raw out: the payload itself is bytes, or has none";
        table.faults().refuse(&table.place(), "raw does not go with this form", help);
        table.ignore_rest();
        return None;
    }
    let at = places::needed(&table, "at", Pointing::Steps);
    let wraps = [("base64", Wrap::Base64), ("hex", Wrap::Hex), ("bytes", Wrap::Bytes)];
    if !table.has("as") {
        table.missing(
            "as",
            "say how the bytes are written: base64 or hex; bytes in CBOR or MessagePack",
        );
    }
    let wrap = table.word("as", &wraps);
    if let (Form::Json, Some(wrap)) = (form, &wrap)
        && wrap.is == Wrap::Bytes
    {
        table.faults().refuse(&wrap.at, "JSON has no bytes of its own", "write base64 or hex");
    }
    table.done();
    Some(Raw { at, wrap: wrap?.is })
}

fn csv_form(table: &Table<'_>, form: Option<Form>, decimal: Decimal) -> CsvForm {
    let default = CsvForm::default();
    let separators = [(",", ','), (";", ';'), ("\t", '\t'), ("tab", '\t'), ("|", '|'), (" ", ' ')];
    let separator = table.value("separator").and_then(|value| {
        let text = value.any_text()?;
        let found = separators.iter().find(|(word, _)| *word == text.is);
        if found.is_none() {
            let help = "it may be \",\", \";\", \"|\", \"tab\" or a blank";
            value.refuse(format!("separator cannot be {:?}", text.is), help);
        }
        found.map(|(_, c)| Placed { is: *c, at: value.place() })
    });
    let header = table.flag("header");
    if form.is_some_and(|form| form != Form::Csv) {
        for key in ["separator", "header"] {
            if let Some(value) = table.value(key) {
                value.refuse(format!("{key} is for form = \"csv\""), format!("take {key} out"));
            }
        }
    } else if form == Some(Form::Csv)
        && decimal == Decimal::Comma
        && separator.as_ref().is_none_or(|separator| separator.is == ',')
    {
        let help = "write separator = \";\", or take decimal out";
        table.faults().refuse(
            &table.place(),
            "a comma cannot part values and be within them",
            help,
        );
    }
    CsvForm {
        separator: separator.map_or(default.separator, |separator| separator.is),
        header: header.unwrap_or(default.header),
    }
}

/// "4 KiB", "900 B" or a number of bytes.
fn largest(table: &Table<'_>) -> Option<usize> {
    let value = table.value("largest")?;
    let most = PAYLOAD_MAX as u64;
    let bytes = if value.is_number() {
        value.whole(1..=most)?
    } else {
        let text = value.text()?.is;
        let digits = text.trim_end_matches(|c: char| !c.is_ascii_digit());
        let times = match text[digits.len()..].trim() {
            "B" => Some(1),
            "kB" => Some(1000),
            "KiB" => Some(1024),
            _ => None,
        };
        let size = digits.parse::<u64>().ok().zip(times).map(|(n, times)| n.saturating_mul(times));
        match size {
            Some(size) if (1..=most).contains(&size) => size,
            _ => {
                let help = "write \"4 KiB\", \"900 B\" or a number of bytes; at most \"256 KiB\"";
                value.refuse(format!("largest cannot be {text}"), help);
                return None;
            }
        }
    };
    usize::try_from(bytes).ok()
}

fn clock(table: &Table<'_>) -> Clock {
    let words = [("correct", Clock::Correct), ("refuse", Clock::Refuse)];
    table.word("clock", &words).map(|clock| clock.is).unwrap_or_default()
}

/// A message's own time, and how old its samples are.
fn times(table: &Table<'_>, pointing: Pointing) -> (Option<TimeAt>, Option<TimeAt>) {
    let (mut time, mut ago) = (None, None);
    for value in table.values("time") {
        let place = value.place();
        let Some(found) = value.table("[time]").and_then(|table| time_at(table, pointing)) else {
            continue;
        };
        let slot = match found.form {
            TimeForm::UnixSeconds | TimeForm::UnixMillis | TimeForm::Rfc3339 => &mut time,
            TimeForm::AgoSeconds | TimeForm::AgoMillis => &mut ago,
        };
        if slot.is_some() {
            let help = "give one time a list of places instead; an age may stand beside a time";
            table.faults().refuse(&place, "time is written twice", help);
        }
        *slot = Some(found);
    }
    (time, ago)
}

fn time_at(table: Table<'_>, pointing: Pointing) -> Option<TimeAt> {
    if !pointing.many() {
        let title = match pointing {
            Pointing::Names => "SenML carries its own time; it is read by itself",
            Pointing::Steps | Pointing::Columns | Pointing::Nothing => {
                "a text is one value; it carries no time"
            }
            Pointing::Bytes => "this version reads no time from bytes",
        };
        let help = "take time out: it counts from when it was heard";
        let help = if pointing == Pointing::Names { "take time out" } else { help };
        table.faults().refuse(&table.place(), title, help);
        table.ignore_rest();
        return None;
    }
    let at = places::needed(&table, "at", pointing);
    let forms = [
        ("unix-s", TimeForm::UnixSeconds),
        ("unix-ms", TimeForm::UnixMillis),
        ("rfc3339", TimeForm::Rfc3339),
        ("ago-s", TimeForm::AgoSeconds),
        ("ago-ms", TimeForm::AgoMillis),
    ];
    if !table.has("as") {
        table.missing("as", "say how it is written: unix-s, unix-ms, rfc3339, ago-s or ago-ms");
    }
    let form = table.word("as", &forms);
    table.done();
    Some(TimeAt { at, form: form?.is })
}

fn check_camera(table: &Table<'_>, kind: &SensorKind) {
    let sees = kind.read.iter().any(|read| read.kind == ReadKind::Seen);
    let refuse = |title: &str, help: &str| table.faults().refuse(&table.place(), title, help);
    if !kind.regions.is_empty() && kind.seen.as_ref().is_none_or(|seen| seen.boxed.is_empty()) {
        let help = "say where boxes stand: seen = { …, box = \"/box\", in = \"share\" }";
        refuse("regions need to know where a camera saw it", help);
    }
    if kind.seen.is_some() && !sees {
        let help = "write read = { sign = \"lying on side\", label = \"down\", as = \"seen\" }";
        refuse("this camera is asked for no sign", help);
    }
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
