//! `lowbell rota WHEN`: who is on duty, at a moment, tonight, or day by day of a month.

use std::io::Write as _;

use jiff::civil::Date;

use super::{End, FarmOption, Loaded, load, runtime};
use crate::alarm::ladder;
use crate::config::Config;
use crate::live::calendars;
use crate::live::clock::unix_seconds;
use crate::live::socket::{self, Question, Reply};
use crate::paper::{feed, reached};
use crate::plain::english;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};
use crate::plain::zone::Zone;
use crate::rota::{self, swap};
use crate::watch::view::Board;

#[derive(clap::Args)]
pub struct Args {
    /// "now", "tonight", a local time such as 2026-12-24T23:00, or a time with its offset
    #[arg(default_value = "now")]
    when: String,
    /// Every shift of a month instead, such as 2026-12
    #[arg(long, value_name = "MONTH", conflicts_with = "when")]
    month: Option<String>,
    /// The shifts from last week to three months ahead as a calendar (iCalendar) instead
    #[arg(long, conflicts_with_all = ["when", "month"])]
    ics: bool,
    #[command(flatten)]
    farm: FarmOption,
}

/// A calendar that was not fetched for so long says nothing of today.
const OLD: Span = Span::hours(24);
/// Tonight is from here to there, by the clock on the wall.
const EVENING: i8 = 18;
const MORNING: i8 = 8;

pub(super) fn run(args: &Args) -> Result<End, String> {
    let mut loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let board = lay_over(&mut loaded);
    let config = &loaded.config;
    if args.ics {
        // Whoever listened may have gone, and that is no fault of ours.
        let text = feed::rota(config, Moment::from_seconds(unix_seconds()));
        let _ = std::io::stdout().write_all(text.as_bytes());
        return Ok(End::Done);
    }
    match &args.month {
        Some(month) => print_month(config, month)?,
        None if args.when == "tonight" => {
            print_tonight(config);
            let reached = board.iter().flat_map(|board| reached::lines(board, &config.farm.zone));
            reached.for_each(|line| say!("{line}"));
        }
        None => print_moment(config, moment(&args.when, &config.farm.zone)?),
    }
    copies(&loaded);
    if board.is_none() {
        say!("By the settings alone: no watch is running that knows of swaps and who is ill.");
    }
    Ok(End::Done)
}

/// How old the copies of fetched calendars are.
pub(super) fn copies(loaded: &Loaded) {
    let (config, data) = (&loaded.config, loaded.data());
    let now = Moment::from_seconds(unix_seconds());
    for rota in &config.rotas {
        let Some(calendar) = rota.calendar.as_ref().filter(|one| one.url.is_some()) else {
            continue;
        };
        match calendars::as_of(&data, &calendar.name) {
            Some(at) => {
                let old = if now.since(at) > OLD { ": look at its address" } else { "" };
                say!("{}: its calendar as of {}{old}", rota.name, config.farm.zone.stamp(at));
            }
            None => say!("{}: its calendar has not been fetched yet", rota.name),
        }
    }
}

/// What people have settled among themselves is known to the running watch alone.
fn lay_over(loaded: &mut Loaded) -> Option<Box<Board>> {
    let Ok(runtime) = runtime() else { return None };
    let asked = runtime.block_on(socket::ask(&loaded.data(), &Question::Board));
    let Ok(Reply::Board(Some(board))) = asked else { return None };
    swap::lay_over(&mut loaded.config, &board.swaps, &board.away);
    Some(board)
}

fn print_moment(config: &Config, at: Moment) {
    let zone = &config.farm.zone;
    let duty = ladder::duty(config, at);
    say!("{} ({})", zone.stamp(at), zone.name());
    if duty.people.is_empty() {
        let everyone = config.rotas.is_empty();
        say!(
            "{}",
            if everyone {
                "There is no rota: everybody is on duty."
            } else {
                "Nobody is on duty: everybody would be called."
            }
        );
    }
    for shift in &duty.people {
        say!(
            "{} is on duty ({}), from {} until {}",
            shift.person,
            shift.rota,
            zone.stamp(shift.from),
            zone.stamp(shift.until)
        );
    }
    say!("Backup: {}", names(&duty.backup));
}

/// Each handover from now, or from the evening, to the morning, with its offset: no clock change makes it ambiguous.
fn print_tonight(config: &Config) {
    let zone = &config.farm.zone;
    let now = crate::live::clock::Clock::system(None).now().0;
    let today = zone.wall(now).date();
    let before_morning = zone.wall(now).hour() < MORNING;
    let morning = if before_morning { today } else { today.tomorrow().unwrap_or(today) };
    let until = zone.instant(morning.at(MORNING, 0, 0, 0));
    let evening = zone.instant(today.at(EVENING, 0, 0, 0));
    let mut at = if before_morning { now } else { now.max(evening) };
    say!("Tonight ({})", zone.name());
    while at < until {
        let duty = ladder::duty(config, at);
        let next = rota::next_change(&config.rotas, zone, at).filter(|next| *next > at);
        let next = next.unwrap_or(until).min(until);
        let on: Vec<PersonName> = duty.people.iter().map(|shift| shift.person.clone()).collect();
        let who = if config.rotas.is_empty() || on.is_empty() {
            "everybody is called".to_owned()
        } else {
            names(&on)
        };
        say!("{} to {}  {who}; backup: {}", zone.stamp(at), zone.stamp(next), names(&duty.backup));
        at = next;
    }
}

fn print_month(config: &Config, month: &str) -> Result<(), String> {
    let first: Date = format!("{month}-01")
        .parse()
        .map_err(|_| format!("\"{month}\" is no month; write it as 2026-12"))?;
    let zone = &config.farm.zone;
    if config.rotas.is_empty() {
        say!("There is no rota: everybody is on duty.");
        return Ok(());
    }
    // Each handover with its offset: where the clocks change, a shift is shorter or longer than it looks.
    let days = std::iter::successors(Some(first), |day| day.tomorrow().ok());
    for day in days.take_while(|day| (day.year(), day.month()) == (first.year(), first.month())) {
        for entry in rota::of_day(&config.rotas, zone, day) {
            let (from, until) = (handover(zone, entry.from), handover(zone, entry.until));
            // The day of its end is the same or the next.
            let until_day = until.get(..3).unwrap_or_default();
            let until = until.get(until.len().saturating_sub(12)..).unwrap_or_default();
            let mut person = entry.person.map_or("NOBODY".to_owned(), |person| person.to_string());
            if let Some(turn) = &entry.turn {
                person = format!("{person} for {turn}");
            }
            let backup = names(&entry.backup);
            say!(
                "{from:<23} - {until_day} {until}  {:<8} {person:<12} backup: {backup}",
                entry.rota
            );
        }
    }
    Ok(())
}

/// "Sat 28 Mar 22:00 +00:00".
fn handover(zone: &Zone, at: Moment) -> String {
    let offset = zone.stamp(at).split_off(20);
    format!("{} {offset}", zone.day_and_clock(at))
}

fn names(people: &[PersonName]) -> String {
    let names: Vec<&str> = people.iter().map(PersonName::as_str).collect();
    if names.is_empty() { "nobody".to_owned() } else { english::list(&names) }
}

fn moment(when: &str, zone: &Zone) -> Result<Moment, String> {
    if when == "now" {
        return Ok(crate::live::clock::Clock::system(None).now().0);
    }
    if let Some(at) = Moment::from_rfc3339(when) {
        return Ok(at);
    }
    let wall = when.replace(' ', "T").parse::<jiff::civil::DateTime>();
    wall.map(|wall| zone.instant(wall))
        .map_err(|_| format!("\"{when}\" is no time; write it as 2026-12-24T23:00"))
}
