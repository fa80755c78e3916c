//! The farm itself and how it reaches its broker.

use super::faults::{Place, Placed};
use super::shipped;
use super::suggest;
use super::tree::Table;
use crate::plain::moment::Span;
use crate::plain::zone::Zone;

/// `[farm]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Farm {
    pub name: String,
    pub zone: Zone,
    /// ISO 3166 two-letter code, for telephone numbers and legal deadlines.
    pub country: String,
    /// A word of `shipped::species`.
    pub species: String,
    /// The herd file's name as written, if there is one.
    pub herd: Option<String>,
    /// The one folder that must survive a reboot, as written: relative to `farm.toml`.
    pub data: String,
    /// How long "going" stands before the alert goes round again.
    pub promise: Span,
    pub look: Look,
    /// How long somebody who says "in" is expected to stay with her.
    pub inside: Span,
    /// From this temper on every message about her begins with a warning.
    pub mind_from: u8,
    /// After somebody has looked at a dam before her birth, nothing but what cannot wait calls anybody to
    /// her again for so long.
    pub look_apart: Span,
    pub moving: Moving,
    pub yard: Yard,
    pub stillborn: Stillborn,
}

/// `yard`: what a vet needs to find the farm at night. Empty where it is not said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Yard {
    pub place: String,
    pub gate: String,
    pub light: String,
    /// A telephone that rings where the dams are.
    pub number: String,
}

/// `move`: whether the farm moves a dam that has begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moving {
    /// To a pen, early in second stage.
    InSecondStage,
    Never,
    /// Nothing is said of it in second stage.
    AsYouLike,
}

/// Long enough to see to a calf, short enough for whoever lies under a cow (common practice, no source).
const INSIDE: Span = Span::minutes(20);

/// The longest that somebody may be in with her without a word.
pub const INSIDE_MAX: Span = Span::hours(2);

/// On the scale of calving books from 1 docile to 6 aggressive, 4 is one that does not bear people near
/// (from memory of the scale's words).
const MIND_FROM: u8 = 4;

/// `look`: how often somebody must look at a dam in each stage whom nothing else watches. A person's look
/// covers her for so long.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    pub carrying: Span,
    pub first: Span,
    pub second: Span,
    pub third: Span,
}

impl Default for Look {
    fn default() -> Self {
        Self {
            // facts.md S1-11: with signs that she is near, a check every three hours.
            carrying: Span::hours(3),
            // facts.md S2-12: watch every one to two hours once she has begun; the shorter.
            first: Span::hours(1),
            // Half of what facts.md S2-12 says (every 30 minutes), so that one look may be missed: common
            // practice, no source.
            second: Span::minutes(15),
            // The calf is to have sucked within two hours (facts.md C-07).
            third: Span::hours(2),
        }
    }
}

/// `stillborn`: which dead calves count as stillborn; publishers do not agree (facts.md X-25).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stillborn {
    /// Dead at birth or within so long of it.
    pub within: Span,
    /// Born on this day of gestation or later: before it, she has aborted.
    pub from_day: i32,
}

impl Default for Stillborn {
    fn default() -> Self {
        // facts.md E-07 (dairy records: within 48 h) and E-08 (research: from day 260 on; its 24 h is the
        // other border in use).
        Self { within: Span::hours(48), from_day: 260 }
    }
}

/// `[broker]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Broker {
    pub way: BrokerWay,
    pub version: MqttVersion,
    pub user: Option<String>,
    pub password_file: Option<String>,
    /// A PEM file of certificate authorities to trust besides the system's, for `mqtts`.
    pub ca: Option<String>,
    /// By what `mqtts` knows us, where the broker asks for more than a password.
    pub identity: Option<Identity>,
    pub client_id: String,
    pub keep_alive: Span,
    /// A filter on which people's words arrive; `{person}` names who speaks.
    pub answers: Option<String>,
    /// How long packets that moved nothing may wait for their commit.
    pub group: Span,
    pub voice: Voice,
}

/// A certificate of ours and its key: names of PEM files, as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Identity {
    pub certificate: String,
    pub key_file: String,
}

/// What we say at the broker ourselves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Voice {
    /// How often a message of our own must come back; `None` where the settings say "off".
    pub echo: Option<Span>,
    /// The first levels of every topic we publish to.
    pub publish: String,
    /// Whether the dams' stages and the open alerts are published.
    pub show: bool,
    pub discovery: Option<Discovery>,
}

/// How what is shown is announced to programs that look for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Discovery {
    Homie,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BrokerWay {
    Url {
        host: String,
        port: u16,
        tls: bool,
    },
    /// Be the broker.
    BuiltIn(Box<super::built_in::BuiltIn>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MqttVersion {
    Five,
    ThreeOneOne,
}

/// `[farm]` as written: with the places where it names other files.
pub(super) struct FarmRead {
    pub(super) farm: Farm,
    pub(super) at: Place,
    pub(super) herd: Option<Placed<String>>,
    pub(super) species: Option<Placed<String>>,
    /// Last season's book.
    pub(super) history: Option<Placed<String>>,
    /// `None` where the key is left out: then the shipped rules stand.
    pub(super) rules: Option<Vec<Placed<String>>>,
}

/// A promise that stands longer than a night is no promise.
const PROMISE_MAX: Span = Span::hours(12);

/// A farm's name goes into every subject line.
const NAME_MAX: usize = 60;

/// The folder that must survive a reboot, unless another is named.
pub(super) const DATA: &str = "data";

impl FarmRead {
    /// What stands where `[farm]` is missing: a fault has been said already.
    pub(super) fn none(at: Place) -> Self {
        let farm = Farm {
            name: String::new(),
            zone: Zone::utc(),
            country: String::new(),
            species: shipped::CATTLE.to_owned(),
            herd: None,
            data: DATA.to_owned(),
            promise: Span::minutes(30),
            look: Look::default(),
            inside: INSIDE,
            mind_from: MIND_FROM,
            look_apart: LOOK_APART,
            moving: Moving::AsYouLike,
            yard: Yard::default(),
            stillborn: Stillborn::default(),
        };
        Self { farm, at, herd: None, species: None, history: None, rules: None }
    }

    pub(super) fn read(table: Table<'_>) -> Self {
        let mut read = Self::none(table.place());
        if let Some(name) = table.needed("name", "what people call the farm") {
            if name.is.chars().count() > NAME_MAX {
                let title = format!("the farm's name is longer than {NAME_MAX} letters");
                let help = "it stands in every subject line; shorten it";
                table.faults().refuse(&name.at, title, help);
            }
            read.farm.name = name.is;
        }
        if let Some(zone) = zone(&table) {
            read.farm.zone = zone;
        }
        if let Some(country) = country(&table) {
            read.farm.country = country;
        }
        read.species = table.text("species");
        if let Some(species) = species(&table) {
            read.farm.species = species;
        }
        read.herd = table.text("herd");
        read.farm.herd = read.herd.as_ref().map(|herd| herd.is.clone());
        read.history = table.text("history");
        read.rules = table.value("rules").map(|_| table.texts("rules"));
        if let Some(data) = table.text("data") {
            read.farm.data = data.is;
        }
        read.farm.promise =
            table.span("promise", read.farm.promise, Span::minutes(1)..=PROMISE_MAX);
        if let Some(look) = table.table("look") {
            read.farm.look = Look::read(look);
        }
        read.farm.inside = table.span("inside", INSIDE, Span::minutes(1)..=INSIDE_MAX);
        if let Some(from) = table.value("mind-from").and_then(|value| value.whole(1..=6)) {
            read.farm.mind_from = u8::try_from(from).unwrap_or(MIND_FROM);
        }
        read.farm.look_apart = table.span("look-apart", LOOK_APART, Span::ZERO..=LOOK_APART_MAX);
        let moves = [
            ("second", Moving::InSecondStage),
            ("never", Moving::Never),
            ("as you like", Moving::AsYouLike),
        ];
        if let Some(moving) = table.word("move", &moves) {
            read.farm.moving = moving.is;
        }
        if let Some(yard) = table.table("yard") {
            read.farm.yard = Yard::read(yard);
        }
        if let Some(stillborn) = table.table("stillborn") {
            read.farm.stillborn = Stillborn::read(stillborn);
        }
        table.done();
        read
    }
}

/// "Wait, look again in 20 min" (needs.md N100: a dam that is disturbed stops calving, says an extension
/// service; how long is common practice, no source).
const LOOK_APART: Span = Span::minutes(20);

/// Longer than this it would hide an hour of first stage.
const LOOK_APART_MAX: Span = Span::hours(1);
/// Each of these stands in one text message with the rest.
const YARD_MAX: usize = 40;

impl Yard {
    fn read(table: Table<'_>) -> Self {
        let text = |key: &'static str| {
            let Some(said) = table.text(key) else { return String::new() };
            if said.is.chars().count() > YARD_MAX {
                let title = format!("{key} is longer than {YARD_MAX} letters");
                let help = "the vet gets it by text and hears it read aloud; shorten it";
                table.faults().refuse(&said.at, title, help);
            }
            said.is
        };
        let yard = Self {
            place: text("place"),
            gate: text("gate"),
            light: text("light"),
            number: text("number"),
        };
        table.done();
        yard
    }
}

/// Nobody looks more often than this all night, nor is anybody watched who is seen less often.
const LOOKS: std::ops::RangeInclusive<Span> = Span::minutes(1)..=Span::hours(24);

impl Look {
    fn read(table: Table<'_>) -> Self {
        let usual = Self::default();
        let look = Self {
            carrying: table.span("carrying", usual.carrying, LOOKS),
            first: table.span("first", usual.first, LOOKS),
            second: table.span("second", usual.second, LOOKS),
            third: table.span("third", usual.third, LOOKS),
        };
        table.done();
        look
    }
}

/// One that the program has rules and words of.
fn species(table: &Table<'_>) -> Option<String> {
    let text = table.text("species")?;
    let known: Vec<&str> = shipped::species().collect();
    if known.contains(&text.is.as_str()) {
        return Some(text.is);
    }
    let title = format!("there are no rules for the species {}", text.is);
    table.faults().refuse(&text.at, title, suggest::one_of(&text.is, &known));
    None
}

/// No book counts a calf that died after a week as stillborn.
const STILLBORN_WITHIN: std::ops::RangeInclusive<Span> = Span::ZERO..=Span::days(7);
/// Day 1 is the day after service; no animal of a farm carries longer than a year and a bit.
const STILLBORN_FROM: std::ops::RangeInclusive<u64> = 1..=400;

impl Stillborn {
    fn read(table: Table<'_>) -> Self {
        let usual = Self::default();
        let within = table.span("within", usual.within, STILLBORN_WITHIN);
        let day = table.value("from-day").and_then(|value| value.whole(STILLBORN_FROM));
        let from_day = day.and_then(|day| i32::try_from(day).ok()).unwrap_or(usual.from_day);
        table.done();
        Self { within, from_day }
    }
}

fn zone(table: &Table<'_>) -> Option<Zone> {
    let help = "shift times are local to it; write an IANA name such as \"Europe/Dublin\"";
    let name = table.needed("zone", help)?;
    let zone = Zone::named(&name.is);
    if zone.is_none() {
        let title = format!("there is no time zone {}", name.is);
        let help = "write an IANA name such as \"Europe/Dublin\" or \"America/Denver\"";
        table.faults().refuse(&name.at, title, help);
    }
    zone
}

fn country(table: &Table<'_>) -> Option<String> {
    let code = table.text("country")?;
    if code.is.len() == 2 && code.is.bytes().all(|b| b.is_ascii_uppercase()) {
        return Some(code.is);
    }
    let title = format!("{} is not a country code", code.is);
    let help = "write the two capitals of ISO 3166, such as \"IE\"";
    table.faults().refuse(&code.at, title, help);
    None
}
