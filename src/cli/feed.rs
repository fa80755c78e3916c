//! `lowbell feed`: the calendars that are given out, their addresses, and how an address is ended.

use super::{End, FarmOption, load};
use crate::config::feeds::Feed;
use crate::live::feeds;

#[derive(clap::Args)]
pub struct Args {
    /// The feed whose address to print; without it, all feeds are listed and no address is said
    name: Option<String>,
    /// Give this feed a new address; whoever has the old one has nothing any more
    #[arg(long, requires = "name")]
    renew: bool,
    #[command(flatten)]
    farm: FarmOption,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let Some(feeds) = &loaded.config.feeds else {
        return Err("these settings give no calendars out; write [feeds]".to_owned());
    };
    let data = loaded.data();
    let Some(name) = &args.name else {
        for feed in &feeds.list {
            let state = match feeds::read(feed, &data) {
                Ok(_) => "has an address".to_owned(),
                Err(_) => format!("has no address yet: lowbell feed \"{}\" --renew", feed.name),
            };
            say!("{}: {}; {state}", feed.name, shows(feed));
        }
        return Ok(End::Done);
    };
    let Some(feed) = feeds.list.iter().find(|feed| feed.name == *name) else {
        return Err(format!("there is no feed called {name}; `lowbell feed` lists them"));
    };
    let secret = if args.renew {
        std::fs::create_dir_all(&data)
            .map_err(|why| format!("cannot make the data folder {}: {why}", data.display()))?;
        feeds::renew(feed, &data)?
    } else {
        feeds::read(feed, &data)?
    };
    say!("{}", feeds::address(feeds, &secret));
    if args.renew {
        say!("Whoever has this address has the calendar. The one before it, if any, has ended.");
    }
    Ok(End::Done)
}

fn shows(feed: &Feed) -> String {
    let rota = match &feed.only {
        Some(person) => format!("the shifts of {person}"),
        None => "the rota".to_owned(),
    };
    match (feed.rota, feed.due) {
        (true, true) => format!("{rota} and who may calve"),
        (true, false) => rota,
        (false, true | false) => "who may calve".to_owned(),
    }
}
