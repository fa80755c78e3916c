//! Row 10. What the command line can ask for: one file a command.

#![expect(clippy::print_stderr, reason = "the command line is where the program speaks")]

/// Prints a line; whoever listened may have gone (`| head`), and that is no fault of ours.
macro_rules! say {
    ($($words:tt)*) => {{
        use std::io::Write as _;
        let _ = writeln!(std::io::stdout(), $($words)*);
    }};
}

pub mod alerts;
pub mod answer;
pub mod book;
pub mod check;
pub mod decode;
pub mod demo;
pub mod device;
pub mod diary;
pub mod drill;
pub mod due;
pub mod explain;
pub mod feed;
pub mod forget;
pub mod paper;
pub mod replay;
pub mod retained;
pub mod rota;
pub mod run;
pub mod sensors;
pub mod status;
mod told;
pub mod watched;
pub mod week;

use std::ops::ControlFlow;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::config::{Config, SettingsText};
use crate::journal::Store;
use crate::live::settings::{self, Place};
use crate::live::socket::{self, Question, Reply};
use crate::plain::moment::Moment;
use crate::replay::Replay;
use crate::watch::view::Board;
use crate::watch::{Step, Watch};

/// The night watch of a calving season.
///
/// Lowbell hears sensors and people, keeps the clock of every dam that has begun, and calls one
/// person after another until somebody answers. It does not replace your vet or your own eyes;
/// follow local rules.
#[derive(Parser)]
#[command(version, about, long_about, max_term_width = 90)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Watch the herd until stopped
    Run(run::Args),
    /// Say every fault in the settings, and what they leave uncovered
    Check(check::Args),
    /// Show what is open, who is on duty and what comes next
    Status(status::Args),
    /// Print what happened, one line each
    Diary(diary::Args),
    /// List every alert with its beginning and end, the limit in force then and what was measured
    Alerts(alerts::Args),
    /// Run a journal through the watch again and compare
    Replay(replay::Args),
    /// List the old messages that the broker has kept, and have it forget one
    Retained(retained::Args),
    /// Say who is on duty at a moment
    Rota(rota::Args),
    /// List the calendars that are given out, print an address, or end it and make a new one
    Feed(feed::Args),
    /// Answer an alert from this machine
    Answer(answer::AnswerArgs),
    /// Note what was seen of a dam
    Mark(answer::MarkArgs),
    /// Say what a sensor's message may mean, and the settings that would read it
    Decode(decode::Args),
    /// Show which device is on whom, or note that one was put on, taken off or swapped
    Device(device::Args),
    /// Show what watches each dam in her window, the unwatched first
    Watched(watched::Args),
    /// Show who is due, in the order in which to watch them
    Due(due::Args),
    /// Say what the rules wait for and where their limits are from, or which clocks run for a dam
    Explain(explain::Args),
    /// Show what is heard from each device, with ages
    Sensors(sensors::Args),
    /// Print a page of the watch: dusk, night, vet, handover, wall
    Paper(paper::Args),
    /// Print the calving book or the season's figures, export them, or try last season's book out
    Book(book::Args),
    /// Say what the watch has asked of people, how they answered, and what was false
    Week(week::Args),
    /// Try the whole way to a person and back with something that never was
    Drill(drill::Args),
    /// Take somebody who has left out of the record, and keep what happened
    Forget(forget::Args),
    /// Show an invented farm's night, sped up, with nothing to set up
    Demo(demo::Args),
}

/// Where the farm's settings are.
#[derive(clap::Args, Clone)]
pub struct Farm {
    /// The farm's settings
    #[arg(value_name = "FARM.TOML", default_value = "farm.toml")]
    pub farm: PathBuf,
}

/// The same, where the command has words of its own in front.
#[derive(clap::Args, Clone)]
pub struct FarmOption {
    /// The farm's settings
    #[arg(long, value_name = "FARM.TOML", default_value = "farm.toml")]
    pub farm: PathBuf,
}

/// How a command ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    Done,
    Failed,
    /// The settings are wrong: trying again will not help (systemd is told not to).
    BadSettings,
}

impl From<End> for ExitCode {
    fn from(end: End) -> Self {
        Self::from(match end {
            End::Done => 0,
            End::Failed => 1,
            End::BadSettings => 78,
        })
    }
}

/// Reads the command line and does what it asks.
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    // Two providers in one process would panic at the first handshake; this is the only one.
    let _ = rustls::crypto::ring::default_provider().install_default();
    let end = match cli.command {
        Command::Run(args) => run::run(&args),
        Command::Check(args) => check::run(&args),
        Command::Status(args) => status::run(&args),
        Command::Diary(args) => diary::run(&args),
        Command::Replay(args) => replay::run(&args),
        Command::Retained(args) => retained::run(&args),
        Command::Rota(args) => rota::run(&args),
        Command::Feed(args) => feed::run(&args),
        Command::Alerts(args) => alerts::run(&args),
        Command::Answer(args) => answer::answer(&args),
        Command::Mark(args) => answer::mark(&args),
        Command::Decode(args) => decode::run(&args),
        Command::Device(args) => device::run(&args),
        Command::Drill(args) => drill::run(&args),
        Command::Watched(args) => watched::run(&args),
        Command::Due(args) => due::run(&args),
        Command::Explain(args) => explain::run(&args),
        Command::Sensors(args) => sensors::run(&args),
        Command::Paper(args) => paper::run(&args),
        Command::Book(args) => book::run(&args),
        Command::Week(args) => week::run(&args),
        Command::Forget(args) => forget::run(&args),
        Command::Demo(args) => demo::run(&args),
    };
    match end {
        Ok(end) => end.into(),
        Err(why) => {
            eprintln!("lowbell: {why}");
            End::Failed.into()
        }
    }
}

/// The settings and what they say, or the end of the command with every fault printed.
struct Loaded {
    place: Place,
    text: SettingsText,
    config: Config,
}

fn load(farm: &std::path::Path) -> Result<Result<Loaded, End>, String> {
    let place = Place::new(farm);
    let text = match place.read() {
        Ok(text) => text,
        Err(why) => {
            eprintln!("lowbell: {why}");
            return Ok(Err(End::BadSettings));
        }
    };
    let parsed = crate::config::parse(&text);
    match parsed.config {
        Some(config) => Ok(Ok(Loaded { place, text, config })),
        None => {
            eprintln!("{}", settings::faults(&text, &parsed.faults));
            eprintln!("lowbell: these settings cannot be used; `lowbell check` says the same");
            Ok(Err(End::BadSettings))
        }
    }
}

impl Loaded {
    fn data(&self) -> PathBuf {
        self.place.base().join(&self.config.farm.data)
    }
}

/// Tells a farm's journal to a watch of its own: the same journal gives the same steps. Damaged rows are said; whether
/// there were none.
fn told_again(
    loaded: &Loaded,
    each: &mut dyn FnMut(Moment, &Step, &Watch),
) -> Result<bool, String> {
    let store = Store::open_read_only(&loaded.data()).map_err(|why| why.to_string())?;
    let mut replay = Replay::default();
    let damages = store
        .read(0, &mut |block| {
            for entry in &block.entries {
                let (step, _) = replay.take(entry.at, &entry.event);
                each(entry.at, &step, &replay.watch);
            }
            ControlFlow::Continue(())
        })
        .map_err(|why| why.to_string())?;
    for damage in &damages {
        eprintln!("lowbell: row {} of the journal is damaged: {}", damage.row, damage.why);
    }
    Ok(damages.is_empty())
}

/// The board of the watch that runs on this farm.
fn board(loaded: &Loaded) -> Result<Box<Board>, String> {
    runtime()?.block_on(board_of(loaded))
}

async fn board_of(loaded: &Loaded) -> Result<Box<Board>, String> {
    match socket::ask(&loaded.data(), &Question::Board).await? {
        Reply::Board(Some(board)) => Ok(board),
        Reply::Board(None) => Err("the watch has no settings yet".to_owned()),
        Reply::Wrong { why } => Err(why),
        Reply::Said { .. } | Reply::Season(_) | Reply::Calendar { .. } => {
            Err("the watch answered something else".to_owned())
        }
    }
}

/// A small runtime on this thread alone.
fn runtime() -> Result<tokio::runtime::Runtime, String> {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .max_blocking_threads(8)
        .build()
        .map_err(|why| format!("cannot begin: {why}"))
}
