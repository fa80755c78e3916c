//! How long a species carries, by breed and parity, each figure with its source: from the shipped
//! `species/….toml`, a file of the farm's own of that name, and `[gestation]` in `farm.toml`.
//!
//! It decides nothing about a dam; that is the window's. A figure without a source is refused.

use super::SettingsText;
use super::animals::Parity;
use super::farm::FarmRead;
use super::faults::Faults;
use super::gestation;
use super::suggest;
use super::tree::{Table, Tree};

/// Every species that comes with the program, and its file.
const SHIPPED: [(&str, &str); 7] = [
    ("cattle", include_str!("../../config/species/cattle.toml")),
    ("sheep", include_str!("../../config/species/sheep.toml")),
    ("goat", include_str!("../../config/species/goat.toml")),
    ("horse", include_str!("../../config/species/horse.toml")),
    ("pig", include_str!("../../config/species/pig.toml")),
    ("alpaca", include_str!("../../config/species/alpaca.toml")),
    ("buffalo", include_str!("../../config/species/buffalo.toml")),
];

/// How long past her window a dam is still looked for, where the species does not say: three weeks, as of
/// cattle (common practice, no source).
const OVERDUE: Days = Days::whole(21);

/// A species and what is known of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Species {
    pub name: String,
    /// Words of the species by their keys, as `[words]` has them.
    pub words: Vec<(String, String)>,
    /// What its stages are called, as `[stages]` has them.
    pub stages: Vec<(String, String)>,
    pub gestation: Gestation,
}

/// How long it carries.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Gestation {
    /// Of all breeds together.
    pub mean: Option<Figure>,
    /// One standard deviation within a breed.
    pub sd: Option<Figure>,
    /// The first and last day of nineteen births in twenty, where a source gives that and no spread.
    pub range: Option<(Days, Days, Figure)>,
    pub twins: Option<Figure>,
    pub triplets: Option<Figure>,
    /// How much longer a male is carried: information with its source; nothing counts with it, for no window can
    /// know it.
    pub bull_calf: Option<Figure>,
    /// Nineteen in twenty are born within so many days of what a scan has said.
    pub scan: Option<Figure>,
    /// How old an embryo is when it is put in.
    pub embryo: Option<Figure>,
    /// Born before this day it is lost, and other cautions hold.
    pub term: Option<Figure>,
    pub overdue: Option<Figure>,
    /// The farm's own rows first.
    pub breeds: Vec<Breed>,
}

/// A number of days and who says so.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Figure {
    pub days: Days,
    pub source: String,
    pub grade: Option<Grade>,
}

/// Days in thousandths, so that the same settings give the same dates everywhere.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Days(pub i64);

/// What is known of one breed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Breed {
    /// However the herd file may write it; the first is what people read.
    pub names: Vec<String>,
    pub heifer: Days,
    pub cow: Days,
    pub sd: Option<Days>,
    pub source: String,
    pub grade: Option<Grade>,
}

/// How good a source is. A farm's own figure has none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grade {
    Paper,
    Reference,
    Extension,
    Trade,
    Derived,
    Memory,
}

impl Grade {
    /// For whoever asks why.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Paper => "a primary paper",
            Self::Reference => "a review or textbook",
            Self::Extension => "an extension service or official body",
            Self::Trade => "the trade press",
            Self::Derived => "arithmetic from a cited figure",
            Self::Memory => "from memory",
        }
    }
}

impl Days {
    pub const fn whole(days: i64) -> Self {
        Self(days * 1000)
    }

    /// The nearest whole day; a half goes up.
    pub const fn nearest(self) -> i64 {
        (self.0 + 500).div_euclid(1000)
    }

    /// `None` for what is no number of days.
    pub fn of(days: f64) -> Option<Self> {
        let thousandths = (days * 1000.0).round();
        // Far within range by the bound, so nothing is lost.
        (thousandths.abs() <= gestation::DAYS_MAX * 1000.0).then_some(Self(thousandths as i64))
    }
}

impl std::fmt::Display for Days {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        crate::plain::amount::Amount::thousandths(self.0).fmt(f)
    }
}

impl Breed {
    pub fn name(&self) -> &str {
        self.names.first().map_or("", String::as_str)
    }

    pub const fn mean(&self, parity: Parity) -> Days {
        match parity {
            Parity::Heifer => self.heifer,
            Parity::Cow => self.cow,
        }
    }
}

impl Gestation {
    /// The row of a breed, as the herd file writes it. A cross is not its breed.
    pub fn breed(&self, written: &str) -> Option<&Breed> {
        let same = |name: &String| name.eq_ignore_ascii_case(written.trim());
        self.breeds.iter().find(|breed| breed.names.iter().any(same))
    }

    pub fn overdue(&self) -> Days {
        self.overdue.as_ref().map_or(OVERDUE, |figure| figure.days)
    }
}

/// The file of a species, by the name under which a farm may keep its own.
pub(super) fn file(species: &str) -> String {
    format!("species/{species}.toml")
}

/// The text that stands in for such a file.
pub(super) fn shipped(file: &str) -> Option<&'static str> {
    let name = file.strip_prefix("species/")?.strip_suffix(".toml")?;
    SHIPPED.iter().find(|(species, _)| *species == name).map(|(_, text)| *text)
}

/// What the farm's species is like: its file, then `[gestation]` of `farm.toml` over it.
pub(super) fn read(
    settings: &SettingsText,
    farm: &FarmRead,
    root: &Table<'_>,
    faults: &Faults,
) -> Species {
    let name = farm.farm.species.as_str();
    let file = file(name);
    let own = settings.files.iter().skip(1).find(|text| text.name == file);
    let mut species = match (own, shipped(&file)) {
        (Some(own), _) => of_file(Tree::read(&file, &own.text, faults).root(faults)),
        (None, Some(text)) => {
            of_file(Tree::read_shipped(&file, text, farm.at.clone(), faults).root(faults))
        }
        (None, None) => {
            let known = SHIPPED.map(|(name, _)| name);
            let title = format!("there is no file {file}");
            let help = format!("write that file, or {}", suggest::one_of(name, &known));
            let at = farm.species.as_ref().map_or(&farm.at, |written| &written.at);
            faults.refuse(at, title, help);
            Species::default()
        }
    };
    name.clone_into(&mut species.name);
    if let Some(table) = root.table("gestation") {
        let over = gestation::read(&table, true);
        species.gestation.overrule(over);
        table.done();
    }
    species
}

fn of_file(root: Table<'_>) -> Species {
    let name = root.needed("name", "the species that this file is about");
    let mut species =
        Species { name: name.map_or(String::new(), |name| name.is), ..Species::default() };
    for (key, words) in [("words", &mut species.words), ("stages", &mut species.stages)] {
        if let Some(table) = root.table(key) {
            words.extend(table.all_texts().into_iter().map(|(key, text)| (key, text.is)));
        }
    }
    match root.table("gestation") {
        Some(table) => {
            species.gestation = gestation::read(&table, false);
            if species.gestation.mean.is_none() {
                table.missing(
                    "mean",
                    "how many days a dam carries: mean = { days = 283, source = \"…\" }",
                );
            }
            table.done();
        }
        None => {
            root.missing("gestation", "write [gestation] with mean and sd, or with mean and range")
        }
    }
    root.done();
    species
}

impl Gestation {
    /// What a farm writes goes before what is shipped.
    fn overrule(&mut self, over: Self) {
        if over.sd.is_some() {
            // A spread of the farm's own goes before a printed range.
            self.range = None;
        }
        for (mine, theirs) in [
            (&mut self.mean, over.mean),
            (&mut self.sd, over.sd),
            (&mut self.twins, over.twins),
            (&mut self.triplets, over.triplets),
            (&mut self.bull_calf, over.bull_calf),
            (&mut self.scan, over.scan),
            (&mut self.embryo, over.embryo),
            (&mut self.term, over.term),
            (&mut self.overdue, over.overdue),
        ] {
            if theirs.is_some() {
                *mine = theirs;
            }
        }
        if over.range.is_some() {
            self.range = over.range;
        }
        self.breeds.splice(0..0, over.breeds);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shipped_species(name: &str) -> (Species, usize) {
        let faults = Faults::default();
        let text = shipped(&file(name)).unwrap();
        let species = of_file(Tree::read("species.toml", text, &faults).root(&faults));
        (species, faults.sorted(&["species.toml"]).len())
    }

    #[test]
    fn every_shipped_figure_names_its_source_and_its_grade() {
        for (name, _) in SHIPPED {
            let (species, faults) = shipped_species(name);
            assert_eq!((species.name.as_str(), faults), (name, 0));
            let gestation = species.gestation;
            let figures = [
                &gestation.mean,
                &gestation.sd,
                &gestation.twins,
                &gestation.triplets,
                &gestation.bull_calf,
                &gestation.scan,
                &gestation.embryo,
                &gestation.term,
                &gestation.overdue,
            ];
            let figures: Vec<&Figure> = figures.into_iter().flatten().collect();
            assert!(figures.iter().all(|one| !one.source.is_empty() && one.grade.is_some()));
            assert!(gestation.sd.is_some() || gestation.range.is_some(), "{name}");
            let breeds = gestation.breeds;
            assert!(breeds.iter().all(|one| !one.source.is_empty() && one.grade.is_some()));
        }
    }

    /// Sources: facts.md G-05 to G-17 (US dairy records 2009, studies and extension services, as each row of
    /// the file says).
    #[test]
    fn cattle_have_their_printed_figures_by_breed_and_parity() {
        let (cattle, _) = shipped_species("cattle");
        for (breed, heifer, cow) in [
            ("Holstein", 277_800, 279_400),
            ("JE", 278_400, 280_000),
            ("Milking Shorthorn", 279_300, 281_100),
            ("ayrshire", 281_600, 281_700),
            ("Guernsey", 284_800, 285_700),
            ("Brown Swiss", 287_200, 287_500),
            ("AA", 281_700, 281_700),
            ("Hereford", 286_100, 286_100),
            ("Shorthorn", 284_300, 284_300),
            ("CH", 289_000, 289_000),
            ("LIM", 289_000, 289_000),
            ("SIM", 282_400, 284_300),
            ("Brahman", 292_000, 292_000),
            ("Salers", 280_000, 280_000),
        ] {
            let row = cattle.gestation.breed(breed).unwrap();
            assert_eq!((row.heifer.0, row.cow.0), (heifer, cow), "{breed}");
        }
        assert_eq!(cattle.gestation.breed("AAX"), None, "a cross is not its breed");
        assert_eq!(cattle.gestation.breed(""), None);
    }

    #[test]
    fn days_are_rounded_to_the_nearest_and_a_half_goes_up() {
        for (days, nearest) in [(281.7, 282), (282.49, 282), (282.5, 283), (-10.78, -11), (-0.5, 0)]
        {
            assert_eq!(Days::of(days).map(Days::nearest), Some(nearest), "{days}");
        }
        assert_eq!(Days::of(f64::NAN), None);
    }
}
