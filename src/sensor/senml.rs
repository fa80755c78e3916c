//! A SenML pack (RFC 8428), resolved: every record with its whole name, unit, time and value.
//!
//! A pack that must not be used is refused whole; a record that cannot be resolved spoils only
//! itself. It converts no units.

use serde_json::{Map, Value};

use super::value::sample;
use crate::plain::moment::{Moment, Span};

/// One measurement, with nothing left to look up elsewhere.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    pub name: String,
    pub unit: Option<String>,
    pub at: Moment,
    pub when: When,
    /// What `v`, `vs`, `vb` or `vd` holds; none beside a sum alone.
    pub value: Option<Value>,
    pub sum: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// The pack says a moment.
    Said,
    /// Now, or so long before or after now: counted from when it was heard.
    FromNow,
}

/// A pack's records in order of time, and what could not be resolved.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Resolved {
    pub records: Vec<Record>,
    pub refusals: Vec<String>,
}

/// The newest version this program understands (RFC 8428 section 4.4).
const VERSION: u64 = 10;

/// Times below this count from now: 2^28 seconds (RFC 8428 section 4.5.3).
const ABSOLUTE_FROM: f64 = 268_435_456.0;

/// Records that are looked at: a pack of a day at one a minute has 1440.
pub const RECORDS_MAX: usize = 5_000;

/// RFC 8428 table 4.
const LABELS: [(&str, &str); 14] = [
    ("-1", "bver"),
    ("-2", "bn"),
    ("-3", "bt"),
    ("-4", "bu"),
    ("-5", "bv"),
    ("-6", "bs"),
    ("0", "n"),
    ("1", "u"),
    ("2", "v"),
    ("3", "vs"),
    ("4", "vb"),
    ("5", "s"),
    ("6", "t"),
    ("7", "ut"),
];
/// The last row of table 4.
const LABEL_OF_DATA: (&str, &str) = ("8", "vd");

const KNOWN: [&str; 15] =
    ["bver", "bn", "bt", "bu", "bv", "bs", "n", "u", "v", "vs", "vb", "vd", "s", "t", "ut"];

/// Puts the names of RFC 8428 table 4 in place of their numbers.
pub fn named(pack: &mut Value) {
    for record in pack.as_array_mut().into_iter().flatten() {
        let Some(fields) = record.as_object_mut() else { continue };
        for (label, name) in LABELS.iter().chain([&LABEL_OF_DATA]) {
            if let Some(value) = fields.remove(*label) {
                fields.insert((*name).to_owned(), value);
            }
        }
    }
}

/// Resolves a pack that was heard at that moment, or says why it must not be used.
pub fn resolve(pack: &Value, heard: Moment) -> Result<Resolved, String> {
    let list = pack.as_array().ok_or("not SenML: a pack is a list of records")?;
    if list.len() > RECORDS_MAX {
        return Err(format!("it has {} records; at most {RECORDS_MAX} are read", list.len()));
    }
    let mut base = Base::default();
    let mut resolved = Resolved::default();
    for record in list {
        let fields = record.as_object().ok_or("not SenML: a record is a table")?;
        for key in fields.keys() {
            if key.ends_with('_') && !KNOWN.contains(&key.as_str()) {
                return Err(format!("it needs {} to be understood, and it is not", sample(key)));
            }
        }
        base.take(fields)?;
        match base.record(fields, heard) {
            Ok(None) => {}
            Ok(Some(record)) => resolved.records.push(record),
            Err(why) => resolved.refusals.push(why),
        }
    }
    // RFC 8428 section 4.6: in chronological order; those of one moment as they came.
    resolved.records.sort_by_key(|record| record.at);
    Ok(resolved)
}

/// What later records take over from earlier ones.
#[derive(Default)]
struct Base {
    name: String,
    time: Option<f64>,
    unit: Option<String>,
    value: Option<f64>,
    sum: Option<f64>,
}

impl Base {
    fn take(&mut self, fields: &Map<String, Value>) -> Result<(), String> {
        if let Some(version) = fields.get("bver") {
            match version.as_u64() {
                Some(1..=VERSION) => {}
                Some(_) | None => {
                    return Err(format!(
                        "it is SenML of version {version}; this program understands {VERSION}"
                    ));
                }
            }
        }
        if let Some(name) = text(fields, "bn")? {
            self.name = name.to_owned();
        }
        if let Some(unit) = text(fields, "bu")? {
            self.unit = Some(unit.to_owned());
        }
        self.time = number(fields, "bt")?.or(self.time);
        self.value = number(fields, "bv")?.or(self.value);
        self.sum = number(fields, "bs")?.or(self.sum);
        Ok(())
    }

    /// `None` for a record that only sets a base.
    fn record(&self, fields: &Map<String, Value>, heard: Moment) -> Result<Option<Record>, String> {
        let found: Vec<&str> =
            ["v", "vs", "vb", "vd"].into_iter().filter(|key| fields.contains_key(*key)).collect();
        let sum = match (number(fields, "s")?, self.sum) {
            (None, None) => None,
            (own, base) => Some(own.unwrap_or(0.0) + base.unwrap_or(0.0)),
        };
        let only_base = fields.keys().all(|key| key.starts_with('b'));
        if found.is_empty() && !fields.contains_key("s") && only_base {
            return Ok(None);
        }
        let name = format!("{}{}", self.name, text(fields, "n")?.unwrap_or_default());
        check_name(&name)?;
        let value = match found[..] {
            [] if sum.is_some() => None,
            [] => return Err(format!("{} has no value", sample(&name))),
            ["v"] => {
                let own = number(fields, "v")?.unwrap_or(0.0);
                Some(super::cursor::number(own + self.value.unwrap_or(0.0)))
            }
            [one] => fields.get(one).cloned(),
            [..] => return Err(format!("{} has {} values", sample(&name), found.len())),
        };
        let (at, when) = self.moment(number(fields, "t")?, heard);
        let unit = text(fields, "u")?.map(str::to_owned).or_else(|| self.unit.clone());
        Ok(Some(Record { name, unit, at, when, value, sum }))
    }

    fn moment(&self, own: Option<f64>, heard: Moment) -> (Moment, When) {
        let seconds = own.unwrap_or(0.0) + self.time.unwrap_or(0.0);
        // A cast from a float saturates: what is far off stays far off.
        let millis = (seconds * 1000.0).round() as i64;
        if seconds < ABSOLUTE_FROM {
            (heard + Span::from_millis(millis), When::FromNow)
        } else {
            (Moment::from_millis(millis), When::Said)
        }
    }
}

/// RFC 8428 section 4.5.1.
fn check_name(name: &str) -> Result<(), String> {
    let good = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | ':' | '.' | '/' | '_');
    if name.is_empty() {
        return Err("a record has no name".to_owned());
    }
    if !name.starts_with(|c: char| c.is_ascii_alphanumeric()) || !name.chars().all(good) {
        return Err(format!("{} is no SenML name", sample(name)));
    }
    Ok(())
}

fn text<'f>(fields: &'f Map<String, Value>, key: &str) -> Result<Option<&'f str>, String> {
    match fields.get(key) {
        None => Ok(None),
        Some(value) => value.as_str().map(Some).ok_or_else(|| format!("its {key} is not a text")),
    }
}

fn number(fields: &Map<String, Value>, key: &str) -> Result<Option<f64>, String> {
    match fields.get(key) {
        None => Ok(None),
        Some(value) => match value.as_f64() {
            Some(number) => Ok(Some(number)),
            None => Err(format!("its {key} is not a number")),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    const HEARD: Moment = Moment::from_seconds(1_795_572_400);

    fn records(pack: &Value) -> Vec<(String, String, i64, Value)> {
        let resolved = resolve(pack, HEARD).unwrap();
        assert_eq!(resolved.refusals, [""; 0]);
        let row = |record: Record| {
            let unit = record.unit.unwrap_or_default();
            (record.name, unit, record.at.millis(), record.value.unwrap_or_default())
        };
        resolved.records.into_iter().map(row).collect()
    }

    #[test]
    fn the_pack_of_rfc_8428_section_5_1_2_resolves_exactly() {
        // standards.md SN-V1.
        let pack = json!([
            {"bn": "urn:dev:ow:10e2073a0108006:", "bt": 1.276020076001e+09, "bu": "A", "bver": 5,
             "n": "voltage", "u": "V", "v": 120.1},
            {"n": "current", "t": -5, "v": 1.2}, {"n": "current", "t": -4, "v": 1.3},
            {"n": "current", "t": -3, "v": 1.4}, {"n": "current", "t": -2, "v": 1.5},
            {"n": "current", "t": -1, "v": 1.6}, {"n": "current", "v": 1.7}
        ]);
        let current = |millis: i64, value: f64| {
            ("urn:dev:ow:10e2073a0108006:current".to_owned(), "A".to_owned(), millis, json!(value))
        };
        let voltage = (
            "urn:dev:ow:10e2073a0108006:voltage".to_owned(),
            "V".to_owned(),
            1_276_020_076_001,
            json!(120.1),
        );
        let expected = [
            current(1_276_020_071_001, 1.2),
            current(1_276_020_072_001, 1.3),
            current(1_276_020_073_001, 1.4),
            current(1_276_020_074_001, 1.5),
            current(1_276_020_075_001, 1.6),
            voltage,
            current(1_276_020_076_001, 1.7),
        ];
        assert_eq!(records(&pack), expected);
        assert_eq!(Moment::from_millis(1_276_020_071_001).rfc3339(), "2010-06-08T18:01:11Z");
    }

    #[test]
    fn the_pack_of_rfc_8428_section_5_1_3_resolves_exactly() {
        // standards.md SN-V2: thirteen records; lon and lat as the RFC has them at each step. Those
        // of the later steps are written from memory; the times and the other values are not.
        let pack = json!([
            {"bn": "urn:dev:ow:10e2073a01080063", "bt": 1.320067464e+09, "bu": "%RH", "v": 20},
            {"u": "lon", "v": 24.30621}, {"u": "lat", "v": 60.07965},
            {"t": 60, "v": 20.3}, {"u": "lon", "t": 60, "v": 24.30622},
            {"u": "lat", "t": 60, "v": 60.07965},
            {"t": 120, "v": 20.7}, {"u": "lon", "t": 120, "v": 24.30623},
            {"u": "lat", "t": 120, "v": 60.07966},
            {"u": "%EL", "t": 150, "v": 98},
            {"t": 180, "v": 21.2}, {"u": "lon", "t": 180, "v": 24.30628},
            {"u": "lat", "t": 180, "v": 60.07967}
        ]);
        let all = records(&pack);
        assert_eq!(all.len(), 13);
        let of = |unit: &str| -> Vec<(i64, f64)> {
            let rows = all.iter().filter(|row| row.1 == unit);
            rows.map(|row| (row.2 / 1000, row.3.as_f64().unwrap())).collect()
        };
        let humid = [
            (1_320_067_464, 20.0),
            (1_320_067_524, 20.3),
            (1_320_067_584, 20.7),
            (1_320_067_644, 21.2),
        ];
        assert_eq!(of("%RH"), humid);
        assert_eq!(of("%EL"), [(1_320_067_614, 98.0)]);
        assert_eq!(of("lon")[0], (1_320_067_464, 24.30621));
        assert_eq!(of("lat")[0], (1_320_067_464, 60.07965));
        assert_eq!(Moment::from_seconds(1_320_067_464).rfc3339(), "2011-10-31T13:24:24Z");
    }

    #[test]
    fn a_pack_without_a_time_is_now() {
        // standards.md SN-V3, RFC 8428 section 5.1.1.
        let pack = json!([
            {"bn": "urn:dev:ow:10e2073a01080063:", "n": "voltage", "u": "V", "v": 120.1},
            {"n": "current", "u": "A", "v": 1.2}
        ]);
        let resolved = resolve(&pack, HEARD).unwrap();
        for record in &resolved.records {
            assert_eq!((record.at, record.when), (HEARD, When::FromNow), "{}", record.name);
        }
        assert_eq!(resolved.records.len(), 2);
    }

    #[test]
    fn times_below_2_to_the_28_count_from_now() {
        // standards.md SN-03: also where only the sum crosses it.
        for (base, own, millis) in [
            (0.0, -5.0, HEARD.millis() - 5000),
            (0.0, 268_435_455.0, HEARD.millis() + 268_435_455_000),
            (0.0, 268_435_456.0, 268_435_456_000),
            (268_435_460.0, -5.0, HEARD.millis() + 268_435_455_000),
            (268_435_450.0, 6.0, 268_435_456_000),
        ] {
            let pack = json!([{"bt": base, "n": "a", "t": own, "v": 1}]);
            assert_eq!(records(&pack)[0].2, millis, "{base} + {own}");
        }
        assert_eq!(Moment::from_seconds(268_435_456).rfc3339(), "1978-07-04T21:24:16Z");
    }

    #[test]
    fn a_pack_that_must_not_be_used_is_refused_whole() {
        // standards.md SN-04 and SN-05.
        for (pack, why) in [
            (
                json!([{"bver": 11, "n": "a", "v": 1}]),
                "it is SenML of version 11; this program understands 10",
            ),
            (
                json!([{"n": "a", "v": 1, "must_": 1}]),
                "it needs \"must_\" to be understood, and it is not",
            ),
            (json!({"n": "a", "v": 1}), "not SenML: a pack is a list of records"),
            (json!([1]), "not SenML: a record is a table"),
            (json!([{"bn": 1, "v": 1}]), "its bn is not a text"),
        ] {
            assert_eq!(resolve(&pack, HEARD), Err(why.to_owned()));
        }
        assert_eq!(records(&json!([{"bver": 10, "n": "a", "v": 1, "may": 1}])).len(), 1);
    }

    #[test]
    fn a_record_has_a_good_name_and_exactly_one_value_or_a_sum() {
        // standards.md SN-01, SN-02 and SN-06.
        let pack = json!([
            {"bn": "bolus-3:", "bv": 30, "bs": 100},
            {"n": "temperature", "v": 8.5},
            {"n": "both", "v": 1, "vs": "x"},
            {"n": "none"},
            {"n": "drunk", "s": 5},
            {"n": "t e m p", "v": 1},
            {"n": "word", "vs": "down"},
            {"n": "up", "vb": true},
            {"n": "bad", "v": "8"}
        ]);
        let resolved = resolve(&pack, HEARD).unwrap();
        let rows: Vec<_> =
            resolved.records.iter().map(|r| (r.name.as_str(), r.value.clone(), r.sum)).collect();
        assert_eq!(
            rows,
            [
                ("bolus-3:temperature", Some(json!(38.5)), Some(100.0)),
                ("bolus-3:none", None, Some(100.0)),
                ("bolus-3:drunk", None, Some(105.0)),
                ("bolus-3:word", Some(json!("down")), Some(100.0)),
                ("bolus-3:up", Some(json!(true)), Some(100.0)),
            ]
        );
        assert_eq!(
            resolved.refusals,
            [
                "\"bolus-3:both\" has 2 values",
                "\"bolus-3:t e m p\" is no SenML name",
                "its v is not a number"
            ]
        );
        let none = resolve(&json!([{"n": "a"}, {"v": 1}, {"n": "-a", "v": 1}]), HEARD).unwrap();
        assert_eq!(none.records, []);
        assert_eq!(
            none.refusals,
            ["\"a\" has no value", "a record has no name", "\"-a\" is no SenML name"]
        );
    }

    #[test]
    fn numbers_as_labels_mean_what_table_4_says() {
        let mut pack = json!([{"-1": 10, "-2": "b:", "-3": 1795572300, "-4": "Cel", "0": "t", "2": 38.5, "6": -5}]);
        named(&mut pack);
        assert_eq!(
            pack,
            json!([{"bver": 10, "bn": "b:", "bt": 1795572300, "bu": "Cel", "n": "t", "v": 38.5, "t": -5}])
        );
        assert_eq!(records(&pack)[0].2, 1_795_572_295_000);
    }
}
