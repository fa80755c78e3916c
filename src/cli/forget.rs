//! `lowbell forget NAME`: somebody who has left is taken out of the record; what happened stays.

use super::{End, FarmOption, load};
use crate::journal::forget::{self, Forget, Kept};
use crate::live::clock::Clock;
use crate::plain::ids::PersonName;

#[derive(clap::Args)]
pub struct Args {
    /// Whom, as the settings called them
    name: String,
    /// What stands in their place
    #[arg(long = "as", value_name = "WORDS", default_value = "Former1")]
    called: String,
    /// Change nothing, and say what would be changed
    #[arg(long)]
    dry_run: bool,
    #[command(flatten)]
    farm: FarmOption,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let name = &args.name;
    let called = args.called.trim();
    let plain = |letter: char| letter.is_alphanumeric() || letter == ' ' || letter == '-';
    if called.is_empty() || !called.chars().all(plain) {
        return Err("--as takes letters, figures and spaces".to_owned());
    }
    if loaded.config.people.iter().any(|person| person.name.as_str() == name) {
        return Err(format!("{name} is still in the settings; take them out there first"));
    }
    let who = Forget { person: PersonName::new(name), called: called.to_owned() };
    let (data, now) = (loaded.data(), Clock::system(None).now().0);
    let done = forget::forget(&data, &who, now, args.dry_run).map_err(|kept| why(kept, name))?;
    let (entries, changed, lines) = (done.entries, done.changed, done.lines);
    let of = format!("{changed} of {entries} entries and {lines} lines of the diary");
    if args.dry_run {
        say!("{of} have something of {name} in them; nothing was changed.");
        return Ok(End::Done);
    }
    say!("{of} had something of {name} in them; {name} is called {called} there now.");
    for file in forget::elsewhere(&data, &who.person) {
        say!("Still named in {}.", file.display());
    }
    say!(
        "Not reached from here: copies and backups of the data folder, your own files, mail boxes, telephones,"
    );
    say!(
        "text gateways and systemd's journal. A memory card keeps old bytes until it writes over them."
    );
    Ok(End::Done)
}

fn why(kept: Kept, name: &str) -> String {
    match kept {
        Kept::Journal(error) => error.to_string(),
        Kept::Unknown => {
            format!("nobody called {name} was ever in the settings; nothing was changed")
        }
        Kept::AlsoCalled(what) => {
            format!(
                "an animal or a place is called {what} too, and the two could not be told apart; nothing was changed"
            )
        }
        Kept::Taken => {
            "somebody of the farm is called that already; choose other words with --as".to_owned()
        }
        Kept::Damaged(row) => {
            format!(
                "row {row} of the journal is damaged, and what stands in it could not be taken out; nothing was changed"
            )
        }
        Kept::Otherwise(entry) => format!(
            "with that name the watch would have done otherwise at entry {entry}; try other words with --as; nothing was changed"
        ),
    }
}
