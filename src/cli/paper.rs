//! `lowbell paper`: a page of the watch, as text, HTML or PDF.
//!
//! It asks the running watch, or reads the journal of one that is not running; it changes nothing.

use std::io::{IsTerminal as _, Write as _};
use std::path::PathBuf;

use super::{End, FarmOption, Loaded, load, runtime};
use crate::config::Config;
use crate::journal::{Store, rebuild};
use crate::live::clock::Clock;
use crate::live::socket::{self, Question, Reply};
use crate::paper::sheet::Sheet;
use crate::paper::{dusk, handover, html, night, pdf, text, vet, wall};
use crate::watch::season::Season;

#[derive(clap::Args)]
pub struct Args {
    /// Which page
    #[arg(value_enum)]
    kind: Kind,
    /// The dam, where the page is about one
    animal: Option<String>,
    /// How it is shown
    #[arg(long = "as", value_enum, default_value = "text")]
    form: Form,
    /// Write it there instead of to standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Read the journal instead of asking the running watch
    #[arg(long)]
    journal: bool,
    #[command(flatten)]
    farm: FarmOption,
}

/// The pages there are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Kind {
    /// For the evening: who is on, whom to watch, what is proven
    Dusk,
    /// A row a dam with blanks for the night's looks
    Night,
    /// Five lines for the vet on the telephone, about one dam
    Vet,
    /// What the next person must know
    Handover,
    /// The rules that call somebody, for the wall
    Wall,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Form {
    Text,
    Html,
    Pdf,
    /// As short as text messages: vet and handover only
    Sms,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    if args.form == Form::Pdf && args.out.is_none() && std::io::stdout().is_terminal() {
        return Err("a PDF is no text: name a file with --out, such as --out dusk.pdf".to_owned());
    }
    if args.animal.is_some() && args.kind != Kind::Vet {
        return Err("only the vet's page is about one animal; leave her number out".to_owned());
    }
    let page = page(args, &loaded)?;
    match &args.out {
        Some(path) => {
            std::fs::write(path, page)
                .map_err(|why| format!("cannot write {}: {why}", path.display()))?;
        }
        None => {
            // Whoever listened may have gone (`| head`).
            let _ = std::io::stdout().write_all(&page);
        }
    }
    Ok(End::Done)
}

fn page(args: &Args, loaded: &Loaded) -> Result<Vec<u8>, String> {
    let config = &loaded.config;
    if args.kind == Kind::Wall {
        return shown(&wall::sheet(config), args.form);
    }
    let season = season(args, loaded)?;
    let of = |season: &Season| sheet(args, season, config);
    if args.form == Form::Sms {
        return sms(args, &season, config).map(String::into_bytes);
    }
    shown(&of(&season)?, args.form)
}

fn sheet(args: &Args, season: &Season, config: &Config) -> Result<Sheet, String> {
    match args.kind {
        Kind::Dusk => Ok(dusk::sheet(season, config)),
        Kind::Night => Ok(night::sheet(season, config)),
        Kind::Vet => {
            let animal = animal(args)?;
            vet::sheet(season, config, animal).ok_or_else(|| unknown(animal))
        }
        Kind::Handover => Ok(handover::sheet(season, config)),
        Kind::Wall => Ok(wall::sheet(config)),
    }
}

fn sms(args: &Args, season: &Season, config: &Config) -> Result<String, String> {
    match args.kind {
        Kind::Vet => {
            let animal = animal(args)?;
            let facts = vet::facts(season, config, animal).ok_or_else(|| unknown(animal))?;
            Ok(crate::talk::vet_card::text(&facts) + "\n")
        }
        Kind::Handover => Ok(handover::text(season, config) + "\n"),
        Kind::Dusk | Kind::Night | Kind::Wall => Err(NO_SMS.to_owned()),
    }
}

const NO_SMS: &str =
    "that page is too long for a text message; only vet and handover are made for one";

fn shown(sheet: &Sheet, form: Form) -> Result<Vec<u8>, String> {
    match form {
        Form::Text => Ok(text::render(sheet).into_bytes()),
        Form::Html => Ok(html::render(sheet).into_bytes()),
        Form::Pdf => Ok(pdf::render(sheet)),
        Form::Sms => Err(NO_SMS.to_owned()),
    }
}

fn animal(args: &Args) -> Result<&str, String> {
    let missing = "which dam? Write her number: lowbell paper vet 114";
    args.animal.as_deref().ok_or_else(|| missing.to_owned())
}

fn unknown(animal: &str) -> String {
    format!("no dam is called {animal}; write her number as the herd file has it")
}

fn season(args: &Args, loaded: &Loaded) -> Result<Box<Season>, String> {
    let none = || "the watch has no settings yet".to_owned();
    if args.journal {
        let store = Store::open_read_only(&loaded.data()).map_err(|why| why.to_string())?;
        let rebuilt = rebuild::rebuild(&store).map_err(|why| why.to_string())?;
        let (now, _) = Clock::system(None).now();
        return rebuilt.watch.season(now).map(Box::new).ok_or_else(none);
    }
    let asked = runtime()?.block_on(socket::ask(&loaded.data(), &Question::Season));
    match asked.map_err(|why| why + "\n(--journal reads what it had written down)")? {
        Reply::Season(season) => season.ok_or_else(none),
        Reply::Wrong { why } => Err(why),
        Reply::Board(_) | Reply::Said { .. } | Reply::Calendar { .. } => {
            Err("the watch answered something else".to_owned())
        }
    }
}
