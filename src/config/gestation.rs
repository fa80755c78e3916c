//! Reads `[gestation]`, of a species file or of the farm: how many days, and who says so.
//!
//! A figure of a species file without a source is refused; a farm's own needs none.

use super::faults::Placed;
use super::species::{Breed, Days, Figure, Gestation, Grade};
use super::tree::Table;
use super::value::Value;

/// No animal of a farm carries longer.
pub(super) const DAYS_MAX: f64 = 500.0;
/// No shift, spread or wait is longer.
const SHIFT_MAX: f64 = 60.0;
/// More breeds than this are no table but a mistake.
const BREEDS_MAX: usize = 500;
const GRADES: [(&str, Grade); 6] = [
    ("P", Grade::Paper),
    ("R", Grade::Reference),
    ("X", Grade::Extension),
    ("T", Grade::Trade),
    ("D", Grade::Derived),
    ("M", Grade::Memory),
];

/// `is_farm`: the farm's own figures, which are the farm's to know.
pub(super) fn read(table: &Table<'_>, is_farm: bool) -> Gestation {
    Reader { table, is_farm }.gestation()
}

/// Reads one `[gestation]`. A farm's own figures need no source: they are the farm's.
struct Reader<'r> {
    table: &'r Table<'r>,
    is_farm: bool,
}

impl Reader<'_> {
    fn gestation(&self) -> Gestation {
        let long = 1.0..=DAYS_MAX;
        let wide = 0.5..=SHIFT_MAX;
        let shift = -SHIFT_MAX..=SHIFT_MAX;
        Gestation {
            mean: self.figure("mean", &long),
            sd: self.figure("sd", &wide),
            range: self.range(),
            twins: self.figure("twins", &shift),
            triplets: self.figure("triplets", &shift),
            bull_calf: self.figure("bull-calf", &shift),
            scan: self.figure("scan", &wide),
            embryo: self.figure("embryo", &(0.0..=SHIFT_MAX)),
            term: self.figure("term", &long),
            overdue: self.figure("overdue", &(0.0..=SHIFT_MAX)),
            breeds: self.breeds(),
        }
    }

    fn figure(&self, key: &'static str, range: &std::ops::RangeInclusive<f64>) -> Option<Figure> {
        let value = self.table.value(key)?;
        if !value.is_table() {
            return Some(Figure { days: days(&value, range)?, ..self.said(None) });
        }
        let table = value.table(key)?;
        let days = read_days(&table, "days", range);
        let figure = self.said(Some(&table));
        table.done();
        Some(Figure { days: days?, ..figure })
    }

    fn range(&self) -> Option<(Days, Days, Figure)> {
        let value = self.table.value("range")?;
        let table = value.table("range")?;
        let [from, until] = ["from", "until"].map(|key| read_days(&table, key, &(1.0..=DAYS_MAX)));
        let figure = self.said(Some(&table));
        table.done();
        let (from, until) = (from?, until?);
        if from > until {
            value.refuse("range ends before it begins", "write the smaller number as from");
            return None;
        }
        Some((from, until, figure))
    }

    /// Who says so. The days are filled in by whoever asks.
    fn said(&self, table: Option<&Table<'_>>) -> Figure {
        let source = table.and_then(|table| table.text("source"));
        if source.is_none() && !self.is_farm {
            let help = "who published it, or \"common practice, no source\"";
            table.unwrap_or(self.table).missing("source", help);
        }
        let grade = table.and_then(|table| table.word("grade", &GRADES));
        Figure {
            days: Days::default(),
            source: source.map_or_else(|| "the farm's own".to_owned(), |source| source.is),
            grade: grade.map(|grade| grade.is),
        }
    }

    fn breeds(&self) -> Vec<Breed> {
        let tables = self.table.tables("breed", BREEDS_MAX);
        let mut breeds: Vec<Breed> = Vec::new();
        for table in tables {
            let names: Vec<Placed<String>> = table.texts("names");
            if names.is_empty() {
                table.missing(
                    "names",
                    "how the herd file writes this breed: names = [\"Angus\", \"AA\"]",
                );
            }
            for name in &names {
                let same = |other: &String| other.eq_ignore_ascii_case(&name.is);
                if breeds.iter().any(|breed| breed.names.iter().any(same)) {
                    let title = format!("two breeds are called {}", name.is);
                    table.faults().refuse(&name.at, title, "a herd file could mean either");
                }
            }
            let long = 1.0..=DAYS_MAX;
            let [heifer, cow] = ["heifer", "cow"].map(|key| read_days(&table, key, &long));
            let sd = table.value("sd").and_then(|value| days(&value, &(0.5..=SHIFT_MAX)));
            let said = self.said(Some(&table));
            table.done();
            if let (Some(heifer), Some(cow), false) = (heifer, cow, names.is_empty()) {
                let names = names.into_iter().map(|name| name.is).collect();
                let Figure { source, grade, .. } = said;
                breeds.push(Breed { names, heifer, cow, sd, source, grade });
            }
        }
        breeds
    }
}

fn read_days(
    table: &Table<'_>,
    key: &'static str,
    range: &std::ops::RangeInclusive<f64>,
) -> Option<Days> {
    let Some(value) = table.value(key) else {
        table.missing(key, "so many days, such as 283 or 281.7");
        return None;
    };
    days(&value, range)
}

fn days(value: &Value<'_>, range: &std::ops::RangeInclusive<f64>) -> Option<Days> {
    let number = value.finite()?;
    if !range.contains(&number) {
        let help = format!("it may be {} to {} days", range.start(), range.end());
        value.refuse(format!("{number} days cannot be"), help);
        return None;
    }
    Days::of(number)
}
