//! `lowbell book`: the calving book and the season's figures, on paper or for other programs; and last
//! season's book tried out before it is used.
//!
//! It reads the journal on disk, so no watch need run, and writes nothing but the file that it is told to.

use std::io::{IsTerminal as _, Write as _};
use std::path::{Path, PathBuf};

use super::{End, FarmOption, Loaded, load};
use crate::config::history::{self, Named};
use crate::config::records::Scale;
use crate::journal::Store;
use crate::journal::rebuild::rebuild;
use crate::live::clock::Clock;
use crate::paper::doubts::{self, Doubt};
use crate::paper::list::{self, PROFILES, Profile};
use crate::paper::record::{self, records};
use crate::paper::{book, calendar, debrief, exchange, html, pdf, text};
use crate::plain::english;
use crate::plain::moment::Moment;
use crate::watch::season::Season;

#[derive(clap::Args)]
pub struct Args {
    #[command(flatten)]
    farm: FarmOption,
    /// How it is written
    #[arg(long = "as", value_name = "FORM", value_enum, default_value = "text")]
    form: Form,
    /// For csv, what reads it: comma, semicolon, tab, month-first or plain
    #[arg(long, value_name = "PROFILE", default_value = "comma", value_parser = profile)]
    profile: Profile,
    /// Write into this file instead of printing
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// The season's figures instead of the book
    #[arg(long)]
    debrief: bool,
    /// Only what is missing or cannot be so
    #[arg(long, conflicts_with = "debrief")]
    check: bool,
    /// What the steps of each scale of ease mean
    #[arg(long)]
    scales: bool,
    /// Read last season's book from this CSV file and say every fault in it
    #[arg(long, value_name = "FILE")]
    import: Option<PathBuf>,
    /// With --import: write nothing
    #[arg(long, requires = "import")]
    dry_run: bool,
    /// With --import: what our columns are called there, such as "Cow=animal,Birth=calved"
    #[arg(long, value_name = "THEIRS=OURS", requires = "import", value_delimiter = ',', value_parser = pair)]
    columns: Vec<(String, String)>,
    /// With --import: the order of day, month and year there, such as d/m/y
    #[arg(long, value_name = "ORDER", requires = "import")]
    dates: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Form {
    Text,
    Html,
    Pdf,
    Csv,
    Json,
    Ics,
}

/// A book larger than this is none.
const BOOK_MAX: u64 = 16 * 1024 * 1024;

pub(super) fn run(args: &Args) -> Result<End, String> {
    if args.scales {
        for scale in [Scale::Five, Scale::Six, Scale::Dairy, Scale::Exchange] {
            book::scale_lines(scale).iter().for_each(|line| say!("{line}"));
        }
        return Ok(End::Done);
    }
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let now = Clock::system(None).now().0;
    if let Some(file) = &args.import {
        return import(args, file, &loaded, now);
    }
    let season = season(&loaded, now)?;
    if args.check {
        return Ok(check(&season, &loaded, now));
    }
    write(args, &written(args, &season, &loaded, now)?)?;
    Ok(End::Done)
}

/// The season as the journal on disk has it.
fn season(loaded: &Loaded, now: Moment) -> Result<Season, String> {
    let store = Store::open_read_only(&loaded.data()).map_err(|why| why.to_string())?;
    let rebuilt = rebuild(&store).map_err(|why| why.to_string())?;
    for damage in &rebuilt.damages {
        eprintln!("lowbell: row {} of the journal is damaged: {}", damage.row, damage.why);
    }
    rebuilt.watch.season(now).ok_or_else(|| "the watch has no settings yet".to_owned())
}

fn written(args: &Args, season: &Season, loaded: &Loaded, now: Moment) -> Result<Vec<u8>, String> {
    let config = &loaded.config;
    let records = || records(season, config);
    let sheet = || {
        if args.debrief {
            debrief::debrief(season, config, now)
        } else {
            book::book(season, config, now)
        }
    };
    if args.debrief && matches!(args.form, Form::Csv | Form::Json | Form::Ics) {
        return Err("the season's figures are a page: --as text, html or pdf".to_owned());
    }
    Ok(match args.form {
        Form::Text => text::render(&sheet()).into_bytes(),
        Form::Html => html::render(&sheet()).into_bytes(),
        Form::Pdf => pdf::render(&sheet()),
        Form::Csv => list::csv(&records(), config, args.profile).into_bytes(),
        Form::Json => {
            let events = exchange::events(&records(), config, now)?;
            serde_json::to_vec_pretty(&events).map_err(|why| why.to_string())?
        }
        Form::Ics => calendar::calendar(season, config, now).into_bytes(),
    })
}

fn write(args: &Args, bytes: &[u8]) -> Result<(), String> {
    match &args.out {
        Some(path) => std::fs::write(path, bytes)
            .map_err(|why| format!("cannot write {}: {why}", path.display())),
        None if args.form == Form::Pdf && std::io::stdout().is_terminal() => {
            Err("a PDF is no text for a terminal: add --out book.pdf".to_owned())
        }
        None => {
            // Whoever listened may have gone, and that is no fault of ours.
            let _ = std::io::stdout().write_all(bytes);
            Ok(())
        }
    }
}

/// Every birth that is not scored, and every row that cannot be so.
fn check(season: &Season, loaded: &Loaded, now: Moment) -> End {
    let records = records(season, &loaded.config);
    for open in record::unscored(&records) {
        say!("{} ({}): not scored yet", open.animal, open.day);
    }
    let doubts = doubts::of_book(&records, &loaded.config, now);
    say_doubts(&doubts);
    if doubts.iter().any(|doubt| doubt.wrong.refused) { End::Failed } else { End::Done }
}

fn say_doubts(doubts: &[Doubt]) {
    for doubt in doubts {
        let word = if doubt.wrong.refused { "error" } else { "question" };
        say!("{word}: {}: {}", doubt.row, doubt.wrong.what);
        say!("  = {}", doubt.wrong.way_out);
    }
}

/// Says every fault of a book first; writes it as ours only where there is none and a place is named.
fn import(args: &Args, file: &Path, loaded: &Loaded, now: Moment) -> Result<End, String> {
    let text = read(file)?;
    let name = file.display().to_string();
    let named: Named = args.columns.clone();
    let (rows, faults) = history::read(&name, &text, &named, args.dates.as_deref());
    for fault in &faults {
        say!("{}", fault.render(&text));
    }
    let doubts = doubts::of_history(&rows, &loaded.config, now);
    say_doubts(&doubts);
    if rows.is_empty() || doubts.iter().any(|doubt| doubt.wrong.refused) {
        say!("Nothing was taken.");
        return Ok(End::Failed);
    }
    say!("{} can be taken.", english::many(rows.len(), "row", "rows"));
    match (&args.out, args.dry_run) {
        (Some(out), false) => {
            std::fs::write(out, list::history(&rows))
                .map_err(|why| format!("cannot write {}: {why}", out.display()))?;
            say!("Written to {}; name it in [farm]: history = \"…\".", out.display());
        }
        (None, false) => {
            say!("Add --out last-season.csv to have it written as the settings read it.")
        }
        (Some(_) | None, true) => {}
    }
    Ok(End::Done)
}

fn read(file: &Path) -> Result<String, String> {
    let shown = file.display();
    let cannot = |why: std::io::Error| format!("cannot read {shown}: {why}");
    if std::fs::metadata(file).map_err(cannot)?.len() > BOOK_MAX {
        return Err(format!("{shown} is larger than 16 MiB; that is no calving book"));
    }
    let bytes = std::fs::read(file).map_err(cannot)?;
    String::from_utf8(bytes)
        .map_err(|_| format!("{shown} is not UTF-8 text: save it as \"CSV UTF-8\" and try again"))
}

fn profile(word: &str) -> Result<Profile, String> {
    let names = PROFILES.map(|profile| profile.word);
    Profile::of_word(word).ok_or_else(|| format!("it may be {}", english::choice(&names)))
}

fn pair(text: &str) -> Result<(String, String), String> {
    let (theirs, ours) =
        text.split_once('=').ok_or_else(|| format!("write their name=our name, not {text}"))?;
    Ok((theirs.trim().to_owned(), ours.trim().to_owned()))
}
