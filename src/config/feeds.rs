//! Reads `[feeds]`: calendars at an address of their own, for telephones and calendar programs.

use std::net::SocketAddr;

use super::address;
use super::faults::Placed;
use super::person::People;
use super::tree::Table;
use crate::plain::ids::PersonName;

/// `[feeds]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feeds {
    /// Where it is asked for.
    pub listen: SocketAddr,
    /// How a telephone reaches it, without a slash at its end.
    pub address: String,
    pub list: Vec<Feed>,
}

/// One calendar, and whose address it is kept behind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feed {
    pub name: String,
    /// Who is on duty when.
    pub rota: bool,
    /// Who may calve when, and what the law wants by when.
    pub due: bool,
    /// Of the rota, this person's shifts alone.
    pub only: Option<PersonName>,
}

const FEEDS_MAX: usize = 100;
const SHOWS: [&str; 2] = ["rota", "due"];

pub(super) fn read(table: Table<'_>, people: &People) -> Option<Feeds> {
    let listen = listen(&table);
    let address = match table.text("address") {
        Some(text) => reached_at(&table, &text),
        None => listen.as_ref().map(|listen| format!("http://{}", listen.is)),
    };
    if let Some(listen) = listen.as_ref().filter(|one| !one.is.ip().is_loopback()) {
        let title = "these calendars are given out without encryption".to_owned();
        let help = "whoever listens in that network learns their addresses; listen on 127.0.0.1 behind a web server that has a certificate, if that matters";
        table.faults().warn(&listen.at, title, help);
    }
    let written = table.tables("feed", FEEDS_MAX);
    if written.is_empty() && !table.has("feed") {
        table.missing("feed", "which: feed = [{ name = \"yard\", shows = [\"rota\", \"due\"] }]");
    }
    let feeds: Vec<Placed<Feed>> =
        written.into_iter().filter_map(|table| feed(table, people)).collect();
    for (n, one) in feeds.iter().enumerate() {
        if feeds.iter().take(n).any(|other| other.is.name == one.is.name) {
            let title = format!("there are two feeds called {}", one.is.name);
            table.faults().refuse(&one.at, title, "give each a name of its own");
        }
    }
    table.done();
    let list = feeds.into_iter().map(|feed| feed.is).collect();
    Some(Feeds { listen: listen?.is, address: address?, list })
}

fn listen(table: &Table<'_>) -> Option<Placed<SocketAddr>> {
    let example = "write it like listen = \"127.0.0.1:8571\"";
    let text = table.needed("listen", example)?;
    match text.is.parse::<SocketAddr>() {
        Ok(is) if is.port() != 0 => Some(Placed { is, at: text.at }),
        Ok(_) | Err(_) => {
            let title = format!("{} is no address with a port", text.is);
            table.faults().refuse(&text.at, title, example);
            None
        }
    }
}

fn reached_at(table: &Table<'_>, text: &Placed<String>) -> Option<String> {
    let found = address::parse(&text.is);
    let is_web = found.is_ok_and(|one| matches!(one.scheme.as_str(), "http" | "https"));
    if is_web {
        return Some(text.is.trim_end_matches('/').to_owned());
    }
    let title = format!("{} is not a web address", text.is);
    table.faults().refuse(&text.at, title, "write it like https://hollowbank.example");
    None
}

fn feed(table: Table<'_>, people: &People) -> Option<Placed<Feed>> {
    let (at, faults) = (table.place(), table.faults());
    let name = table.needed("name", "whose calendar it is, such as \"Rosa's telephone\"");
    if !table.has("shows") {
        table.missing("shows", "what: rota, due or both");
    }
    let shows = table.texts("shows");
    for one in shows.iter().filter(|one| !SHOWS.contains(&one.is.as_str())) {
        let title = format!("no calendar shows \"{}\"", one.is);
        faults.refuse(&one.at, title, "it shows rota, due or both");
    }
    let has = |what: &str| shows.iter().any(|one| one.is == what);
    let (rota, due) = (has("rota"), has("due"));
    if table.value("shows").is_some() && shows.is_empty() {
        faults.refuse(&at, "this calendar shows nothing", "it shows rota, due or both");
    }
    let only = table.text("only");
    let person = only.as_ref().and_then(|text| people.find(text, faults));
    if let Some(only) = only.as_ref().filter(|_| !rota) {
        faults.warn(&only.at, "this calendar shows no rota to pick shifts from", "leave only out");
    }
    table.done();
    let name = name?.is;
    Some(Placed { is: Feed { name, rota, due, only: person }, at })
}
