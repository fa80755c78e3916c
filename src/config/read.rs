//! Reads the settings whole: section by section, then across sections, never stopping at a fault.

use super::broker;
use super::calls::Calls;
use super::camera;
use super::chain;
use super::check::{self, Sure, Written};
use super::device;
use super::farm::{Broker, BrokerWay, DATA, FarmRead, MqttVersion, Voice};
use super::faults::{Faults, Place, Placed};
use super::feeds::{self, Feeds};
use super::herd::Herd;
use super::ladder;
use super::line;
use super::lines::Line;
use super::people::{Ladder, Rota};
use super::person::People;
use super::records::Records;
use super::rota;
use super::rule::Known;
use super::rulebook::Rulebook;
use super::schedule::{self, Schedule};
use super::sensor::Sensors;
use super::sensors::DeviceOn;
use super::shipped::{self, WATCH_RULES};
use super::species;
use super::species_terms::Terms;
use super::tree::{Table, Tree};
use super::weather;
use super::{Config, NamedText, Parsed, SettingsText, history, reminders};
use crate::plain::moment::Span;

// Caps on each kind of table: far above any farm, far below what would stop the machine.
const SENSORS_MAX: usize = 200;
const DEVICES_MAX: usize = 200_000;
const PEOPLE_MAX: usize = 200;
const ROTAS_MAX: usize = 50;
const LADDERS_MAX: usize = 50;
const LINES_MAX: usize = 50;
const SCHEDULES_MAX: usize = 50;

/// Reads a farm's settings; the first text is `farm.toml`.
pub fn parse(settings: &SettingsText) -> Parsed {
    let faults = Faults::default();
    let config = settings.files.first().and_then(|text| config(text, settings, &faults));
    if settings.files.is_empty() {
        let nowhere = whole("farm.toml");
        faults.refuse(&nowhere, "there are no settings", "write a farm.toml");
    }
    let config = config.filter(|_| !faults.refused());
    let files: Vec<&str> = settings.files.iter().map(|text| text.name.as_str()).collect();
    Parsed { config, faults: faults.sorted(&files) }
}

/// The rule files, the herd file and the species that a `farm.toml` names, so far as it can be read: these
/// are the texts to hand to `parse` behind it.
pub fn wanted(farm_toml: &str) -> Vec<String> {
    let faults = Faults::default();
    let tree = Tree::read("farm.toml", farm_toml, &faults);
    let Some(farm) = tree.root(&faults).table("farm") else {
        return Vec::new();
    };
    let species = farm.text("species").map_or_else(|| shipped::CATTLE.to_owned(), |text| text.is);
    let usual = (!farm.has("rules")).then(|| shipped::rules_of(&species).to_owned());
    let written = farm.texts("rules").into_iter().map(|text| text.is);
    let mut names: Vec<String> = Vec::new();
    let history = farm.text("history").map(|text| text.is);
    let written = written.chain(history).chain([species::file(&species)]);
    for name in usual.into_iter().chain(written) {
        let brings = shipped::is_of_a_species(&name).then(|| WATCH_RULES.to_owned());
        for name in std::iter::once(name).chain(brings) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    let rotas = tree.root(&faults).tables("rota", ROTAS_MAX);
    let calendars = rotas.iter().filter_map(|rota| rota.text("calendar")).map(|text| text.is);
    names.extend(calendars);
    names.extend(farm.text("herd").map(|text| text.is).filter(|herd| !names.contains(herd)));
    names
}

/// Of the names that are `wanted`, the calendars that are fetched, each with where its copy lies, relative to `farm.toml`.
pub fn copies(farm_toml: &str) -> Vec<(String, String)> {
    let faults = Faults::default();
    let tree = Tree::read("farm.toml", farm_toml, &faults);
    let root = tree.root(&faults);
    let data = root.table("farm").and_then(|farm| farm.text("data"));
    let data = data.map_or_else(|| DATA.to_owned(), |data| data.is);
    let rotas = root.tables("rota", ROTAS_MAX);
    let fetched = rotas.iter().filter(|rota| rota.has("url"));
    let names = fetched.filter_map(|rota| rota.text("calendar")).map(|text| text.is);
    names.map(|name| (name.clone(), format!("{data}/{name}"))).collect()
}

fn config(text: &NamedText, settings: &SettingsText, faults: &Faults) -> Option<Config> {
    let tree = Tree::read(&text.name, &text.text, faults);
    let root = tree.root(faults);
    let farm = farm(&root, &text.name);
    let species = species::read(settings, &farm, &root, faults);
    let broker = broker(&root, &text.name, &farm);
    let whom = Whom::read(&root, &farm, &settings.files);
    let before_sensors = faults.refusals();
    let mut sensors = sensors(&root);
    sensors.chained = root.has("chain");
    let before_herd = faults.refusals();
    let herd = herd(settings, &farm, faults);
    let written = devices(&root, &herd, &farm);
    let cameras = cameras(&root);
    if before_sensors == before_herd {
        check_kinds(&written, &sensors, &cameras, faults);
    }
    let devices: Vec<DeviceOn> = written.into_iter().map(|device| device.on).collect();
    let chains = chain::read(&root, &devices);
    let weather = root.table("weather").and_then(|table| weather::read(table, &sensors, &devices));
    let records = records(&root, &whom);
    let mut ladders = whom.ladders(&root);
    ladders.extend(reminders::ladder(&farm.farm, &records, &ladders));
    let names: Vec<&str> = ladders.iter().map(|one| one.name.as_str()).collect();
    let known = Known { ladders: &names, sensors: &sensors };
    let before_rules = faults.refusals();
    let rules = rules(settings, &farm, &records, &root, &known);
    let sure = Sure {
        people: whom.sure,
        sensors: before_sensors == before_herd,
        rules: before_rules == faults.refusals(),
    };
    let history = history(settings, &farm, faults);
    to_come(&root);
    root.done();
    let config = Config {
        broker: broker.unwrap_or_else(no_broker),
        farm: farm.farm.clone(),
        species,
        terms: Terms::of(&farm.farm.species),
        animals: herd.rows,
        past: history::past(&history),
        devices,
        cameras: cameras.iter().map(|one| one.camera.clone()).collect(),
        chains,
        weather,
        people: whom.people.list.iter().map(|one| one.is.clone()).collect(),
        calls: whom.calls,
        rotas: whom.rotas.iter().map(|one| one.is.clone()).collect(),
        ladders,
        feeds: whom.feeds,
        schedules: whom.schedules,
        lines: whom.plain_lines,
        rules: rules.rules.iter().map(|one| one.rule.clone()).collect(),
        horizons: sensors.horizons,
        sensors: sensors.kinds,
        records,
        history,
    };
    let written = Written {
        farm: &farm,
        people: &whom.people,
        rotas: &whom.rotas,
        ladders: &whom.ladders,
        lines: &whom.lines,
        rules: &rules,
        sure,
    };
    check::check(&config, &written, faults);
    camera::check(&cameras, &config, faults);
    Some(config)
}

/// The shipped rules, those made of the laws of the farm's country, and the farm's own, which go before them.
fn rules(
    settings: &SettingsText,
    farm: &FarmRead,
    records: &Records,
    root: &Table<'_>,
    known: &Known<'_>,
) -> Rulebook {
    let faults = root.faults();
    let made = reminders::rules(&farm.farm, records);
    let mut rules = Rulebook::default();
    rules.add_files(settings, farm, known, faults);
    rules.add_made(&made, &farm.at, known, faults);
    rules.add(root, known, false);
    rules
}

/// Everything about who is told, and how.
struct Whom {
    people: People,
    lines: Vec<Placed<Line>>,
    plain_lines: Vec<Line>,
    rotas: Vec<Placed<Rota>>,
    ladders: Vec<ladder::Written>,
    schedules: Vec<Schedule>,
    feeds: Option<Feeds>,
    calls: Calls,
    /// None of it had a fault.
    sure: bool,
}

impl Whom {
    fn read(root: &Table<'_>, farm: &FarmRead, files: &[NamedText]) -> Self {
        let before = root.faults().refusals();
        let people = people(root);
        let lines = lines(root);
        let plain_lines: Vec<Line> = lines.iter().map(|line| line.is.clone()).collect();
        let rotas = rotas(root, &people, farm, files);
        let ladders = ladders(root, &people, &plain_lines);
        let schedules = schedules(root, &people, farm);
        let feeds = root.table("feeds").and_then(|table| feeds::read(table, &people));
        let calls = root.table("calls").map(Calls::read).unwrap_or_default();
        Self {
            people,
            lines,
            plain_lines,
            rotas,
            ladders,
            schedules,
            feeds,
            calls,
            sure: before == root.faults().refusals(),
        }
    }

    /// The farm's own ladders, or the standard one if it writes none.
    fn ladders(&self, root: &Table<'_>) -> Vec<Ladder> {
        if self.ladders.is_empty() && !root.has("ladder") {
            return vec![ladder::standard(&self.plain_lines)];
        }
        self.ladders.iter().map(|one| one.is.clone()).collect()
    }
}

fn broker(root: &Table<'_>, file: &str, farm: &FarmRead) -> Option<Broker> {
    if let Some(table) = root.table("broker") {
        return broker::read(table, &farm.farm.name);
    }
    let help = "write [broker] with url = \"mqtt://127.0.0.1:1883\", or built-in = \"127.0.0.1:1883\" to be the broker";
    needed(root, "broker", file, help);
    None
}

fn farm(root: &Table<'_>, file: &str) -> FarmRead {
    if let Some(table) = root.table("farm") {
        return FarmRead::read(table);
    }
    needed(root, "farm", file, "write [farm] with a name and a zone");
    FarmRead::none(whole(file))
}

fn needed(root: &Table<'_>, key: &str, file: &str, help: &str) {
    if !root.has(key) {
        let title = format!("{file} has no [{key}]");
        root.faults().refuse(&whole(file), title, help);
    }
}

fn whole(file: &str) -> Place {
    Place { file: file.into(), span: None }
}

fn people(root: &Table<'_>) -> People {
    let mut people = People::default();
    for table in root.tables("person", PEOPLE_MAX) {
        people.add(table);
    }
    people
}

fn sensors(root: &Table<'_>) -> Sensors {
    let mut sensors = Sensors::default();
    for table in root.tables("sensor", SENSORS_MAX) {
        sensors.add(table);
    }
    sensors
}

fn lines(root: &Table<'_>) -> Vec<Placed<Line>> {
    let tables = root.tables("line", LINES_MAX);
    let lines: Vec<Placed<Line>> = tables.into_iter().filter_map(line::read).collect();
    line::check_names(&lines, root.faults());
    lines
}

fn rotas(
    root: &Table<'_>,
    people: &People,
    farm: &FarmRead,
    files: &[NamedText],
) -> Vec<Placed<Rota>> {
    let tables = root.tables("rota", ROTAS_MAX).into_iter();
    let rotas: Vec<Placed<Rota>> =
        tables.filter_map(|table| rota::read(table, people, &farm.farm.zone, files)).collect();
    rota::check_names(&rotas, root.faults());
    rota::check_layers(&rotas, root.faults());
    rotas
}

fn schedules(root: &Table<'_>, people: &People, farm: &FarmRead) -> Vec<Schedule> {
    let tables = root.tables("schedule", SCHEDULES_MAX).into_iter();
    tables.filter_map(|table| schedule::read(table, people, &farm.farm.zone)).collect()
}

fn ladders(root: &Table<'_>, people: &People, lines: &[Line]) -> Vec<ladder::Written> {
    let tables = root.tables("ladder", LADDERS_MAX).into_iter();
    let ladders: Vec<ladder::Written> =
        tables.filter_map(|table| ladder::read(table, people, lines)).collect();
    ladder::check_names(&ladders, root.faults());
    ladders
}

fn herd(settings: &SettingsText, farm: &FarmRead, faults: &Faults) -> Herd {
    let Some(name) = &farm.herd else {
        if !farm.farm.name.is_empty() {
            let help = "name the herd file: herd = \"herd.csv\"";
            faults.warn(&farm.at, "this farm has no animals", help);
        }
        return Herd::default();
    };
    let mut files = settings.files.iter().skip(1);
    let Some(text) = files.find(|text| text.name == name.is) else {
        let title = format!("the herd file {} is not there", name.is);
        faults.refuse(&name.at, title, "names are relative to farm.toml");
        return Herd::unread();
    };
    Herd::read(&text.name, &text.text, faults)
}

fn records(root: &Table<'_>, whom: &Whom) -> Records {
    let table = root.table("records");
    table.map_or_else(Records::default, |table| Records::read(table, &whom.people))
}

/// Last season's book, if the settings name one.
fn history(settings: &SettingsText, farm: &FarmRead, faults: &Faults) -> Vec<history::HistoryRow> {
    let Some(name) = &farm.history else { return Vec::new() };
    let mut files = settings.files.iter().skip(1);
    let Some(text) = files.find(|text| text.name == name.is) else {
        let title = format!("the book {} is not there", name.is);
        faults.refuse(&name.at, title, "names are relative to farm.toml");
        return Vec::new();
    };
    history::rows(&text.name, &text.text, &Vec::new(), None, faults)
}

fn devices(root: &Table<'_>, herd: &Herd, farm: &FarmRead) -> Vec<device::Written> {
    let tables = root.tables("device", DEVICES_MAX).into_iter();
    let devices: Vec<device::Written> =
        tables.filter_map(|table| device::read(table, herd, &farm.farm.zone)).collect();
    device::check_overlaps(&devices, root.faults());
    devices
}

fn check_kinds(
    written: &[device::Written],
    sensors: &Sensors,
    cameras: &[camera::Written],
    faults: &Faults,
) {
    let seen: Vec<_> = cameras.iter().map(|one| one.camera.clone()).collect();
    device::check_kinds(written, sensors, &seen, faults);
}

fn cameras(root: &Table<'_>) -> Vec<camera::Written> {
    let tables = root.tables("camera", camera::CAMERAS_MAX).into_iter();
    tables.filter_map(camera::read).collect()
}

/// Sections that the vocabulary has and this version has not.
fn to_come(root: &Table<'_>) {
    for key in ["region"] {
        for value in root.values(key) {
            let title = format!("this version does not use {key} yet");
            let help = "nothing follows from it; the rest of the settings stands";
            root.faults().warn(&value.place(), title, help);
        }
    }
}

/// Stands in for a broker whose fault has been said, so that the rest can be checked.
fn no_broker() -> Broker {
    Broker {
        way: BrokerWay::Url { host: String::new(), port: 0, tls: false },
        version: MqttVersion::Five,
        user: None,
        password_file: None,
        ca: None,
        identity: None,
        client_id: String::new(),
        keep_alive: Span::seconds(30),
        answers: None,
        group: Span::seconds(20),
        voice: Voice::usual(),
    }
}
