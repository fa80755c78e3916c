//! `lowbell demo`: an invented farm's night through the real daemon, sped up, with nothing to set up.
//!
//! The broker, the journal, the rules, the ladder and the mail line are the real ones on loopback;
//! only the sensors, the people and their mail server are invented.

mod people;
mod post;
mod script;
mod sensors;
mod tally;

use std::cell::RefCell;
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use tokio::sync::mpsc;

use super::{End, runtime};
use crate::config::{NamedText, SettingsText};
use crate::line::Arrival;
use crate::live::clock::Clock;
use crate::live::doors;
use crate::live::night::Night;
use crate::live::plan::Plan;
use crate::live::settings::Place;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;
use script::Script;
use tally::Tally;

#[derive(clap::Args)]
pub struct Args {
    /// How many times as fast as a real night; 900 takes about 50 seconds
    #[arg(long, default_value_t = 960, value_parser = clap::value_parser!(u32).range(60..=1200))]
    speed: u32,
}

/// The evening on which the invented night begins, in the farm's time.
const BEGINS: &str = "2026-11-24T20:40:00";

pub(super) fn run(args: &Args) -> Result<End, String> {
    let zone = Zone::named("Europe/Dublin").ok_or("the demo's time zone is missing")?;
    let begins = BEGINS.parse::<jiff::civil::DateTime>().map_err(|why| why.to_string())?;
    let begins = zone.instant(begins);
    let script = Script::parse(include_str!("../../demo/night.txt"), &zone, begins)?;
    let folder = Folder::new()?;
    say!("An invented night on Hollow Bank, {} times as fast as a real one.", args.speed);
    say!("Three dams, two people by night; the watch, its broker and its journal are real.\n");
    runtime()?.block_on(play(args.speed, script, begins, zone, &folder.0))
}

/// What the parts of the demo share.
#[derive(Clone)]
struct Stage {
    clock: Rc<RefCell<Clock>>,
    arrivals: mpsc::Sender<Arrival>,
    zone: Zone,
}

impl Stage {
    fn now(&self) -> Moment {
        self.clock.borrow_mut().now().0
    }

    async fn until(&self, moment: Moment) {
        while self.now() < moment {
            let wait = self.clock.borrow_mut().until(Some(moment));
            tokio::time::sleep(wait).await;
        }
    }
}

async fn play(
    speed: u32,
    script: Script,
    begins: Moment,
    zone: Zone,
    data: &Path,
) -> Result<End, String> {
    let (broker, mail) = (free_port()?, free_port()?);
    let settings = settings(broker, mail);
    let tally = Rc::new(RefCell::new(Tally::default()));
    let (doors, knock) = doors::doors();
    let counted = tally.clone();
    let plan = Plan {
        place: Place::new(&data.join("farm.toml")),
        settings,
        data: data.to_owned(),
        clock: Box::new(move |_| Clock::invented(begins, speed)),
        credentials: None,
        print: Box::new(move |line, _| {
            counted.borrow_mut().line(line);
            say!("{line}");
        }),
    };
    let post = post::listen(mail).await?;
    let night = Night::begin(plan, knock.arrive.clone()).await?;
    let clock = Rc::new(RefCell::new(Clock::invented(begins, speed)));
    let stage = Stage { clock, arrivals: knock.arrive, zone };
    let local = tokio::task::LocalSet::new();
    local.spawn_local(people::live(stage.clone(), script.clone(), post, tally.clone()));
    local.spawn_local(sensors::speak(stage.clone(), script.clone(), broker));
    let until = script.until;
    local.spawn_local(async move {
        stage.until(until).await;
        let _ = knock.stop.send(()).await;
    });
    local.run_until(night.run(doors)).await;
    say!("\n{}", tally.borrow().page());
    Ok(End::Done)
}

fn settings(broker: u16, mail: u16) -> SettingsText {
    let farm = include_str!("../../demo/farm.toml")
        .replace("127.0.0.1:1883", &format!("127.0.0.1:{broker}"))
        .replace("127.0.0.1:2525", &format!("127.0.0.1:{mail}"));
    // The demo's people hand their replies over themselves: nobody is to be asked for them.
    let farm = match farm.split_once("[[line]]\nname = \"answers\"") {
        Some((kept, _)) => kept.to_owned(),
        None => farm,
    };
    let herd = include_str!("../../demo/herd.csv").to_owned();
    let file = |name: &str, text: String| NamedText { name: name.to_owned(), text };
    SettingsText { files: vec![file("farm.toml", farm), file("herd.csv", herd)] }
}

fn free_port() -> Result<u16, String> {
    TcpListener::bind("127.0.0.1:0")
        .and_then(|listener| listener.local_addr())
        .map(|address| address.port())
        .map_err(|why| format!("no free port on this machine: {why}"))
}

/// A data folder that goes away with the demo.
struct Folder(PathBuf);

impl Folder {
    fn new() -> Result<Self, String> {
        let path = std::env::temp_dir().join(format!("lowbell-demo-{}", std::process::id()));
        std::fs::create_dir_all(&path)
            .map_err(|why| format!("cannot make {}: {why}", path.display()))?;
        Ok(Self(path))
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // It lies in the folder for passing things; the machine clears it in the end.
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
