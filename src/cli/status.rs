//! `lowbell status`: what is open, who is on duty, what comes next.

use super::{End, Farm, load, rota, runtime};
use crate::herd::stage::Stage;
use crate::live::socket::{self, Question, Reply};
use crate::paper::reached;
use crate::plain::english;
use crate::plain::ids::{Animal, PersonName};
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;
use crate::watch::view::{AlertView, Board, ClockView, DamView, LineView};

#[derive(clap::Args)]
pub struct Args {
    #[command(flatten)]
    farm: Farm,
    /// Print the whole board as JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    match runtime()?.block_on(socket::ask(&loaded.data(), &Question::Board))? {
        Reply::Board(Some(board)) if args.json => {
            say!("{}", serde_json::to_string_pretty(&board).map_err(|why| why.to_string())?);
            Ok(End::Done)
        }
        Reply::Board(Some(board)) => {
            say!("{}", page(&board, &loaded.config.farm.zone).trim_end());
            rota::copies(&loaded);
            Ok(End::Done)
        }
        Reply::Board(None) => Err("the watch has no settings yet".to_owned()),
        Reply::Wrong { why } => Err(why),
        Reply::Said { .. } | Reply::Season(_) | Reply::Calendar { .. } => {
            Err("the watch answered something else".to_owned())
        }
    }
}

/// The board as a page of text.
fn page(board: &Board, zone: &Zone) -> String {
    let mut page = format!("{}, {}\n", board.farm, zone.date_and_clock(board.now));
    page.push_str(&format!(
        "On duty: {}. Backup: {}.\n",
        names(&board.on_duty),
        names(&board.backup)
    ));
    if board.alerts.is_empty() {
        page.push_str("No alert is open.\n");
    }
    board.alerts.iter().for_each(|alert| page.push_str(&alert_line(alert, zone)));
    board.quiet.line().iter().for_each(|line| page.push_str(&format!("{line}\n")));
    for inside in &board.inside {
        let her = inside.with.as_ref().map_or(String::new(), |animal| format!(" with {animal}"));
        let (since, until) = (zone.clock(inside.since), zone.clock(inside.until));
        page.push_str(&format!("{} is in{her} since {since}, out by {until}.\n", inside.person));
    }
    let begun = |dam: &&DamView| !matches!(dam.stage, Stage::Carrying | Stage::Closed);
    board.dams.iter().filter(begun).for_each(|dam| page.push_str(&dam_line(dam, board.now, zone)));
    let carrying = board.dams.iter().filter(|dam| dam.stage == Stage::Carrying).count();
    page.push_str(&format!("{carrying} of {} dams are carrying.\n", board.dams.len()));
    let alone = board.watched.iter().filter(|row| !row.watched).count();
    if alone > 0 {
        let of = board.watched.len();
        page.push_str(&format!("{alone} of {of} in the window are unwatched: lowbell watched.\n"));
    }
    page.push_str(&after_birth(board, zone));
    if !board.unscored.is_empty() {
        let dams: Vec<&str> = board.unscored.iter().map(Animal::as_str).collect();
        let wanted = english::list(&dams);
        page.push_str(&format!(
            "Not scored yet, so not closed: {wanted}. Say helped and the score.\n"
        ));
    }
    board.lines.iter().for_each(|line| page.push_str(&line_line(line, zone)));
    reached::lines(board, zone).iter().for_each(|line| page.push_str(&format!("{line}\n")));
    let silent = board.devices.iter().filter(|device| device.heard.is_none()).count();
    if silent > 0 {
        page.push_str(&format!("{silent} of {} devices were never heard.\n", board.devices.len()));
    }
    if board.in_flight > 0 {
        let messages = english::many(board.in_flight, "message is", "messages are");
        page.push_str(&format!("{messages} on the way.\n"));
    }
    for (kind, times) in &board.refusals {
        let times = usize::try_from(*times).unwrap_or(usize::MAX);
        let times = english::many(times, "time", "times");
        page.push_str(&format!("Refused {times}: {kind}.\n"));
    }
    if let Some(next) = &board.next {
        page.push_str(&format!("Next: {} at {}.\n", next.why, zone.date_and_clock(next.at)));
    }
    page
}

fn alert_line(alert: &AlertView, zone: &Zone) -> String {
    let due = zone.clock(alert.due);
    let standing = match &alert.holder {
        Some(holder) => format!("{holder} has it until {due}"),
        None if alert.put_off => format!("Put off until {due}"),
        None => format!("Told {}; the next call is at {due}", names(&alert.told)),
    };
    format!("Alert {} ({}): {}. {standing}.\n", alert.no, alert.priority, alert.head)
}

fn dam_line(dam: &DamView, now: Moment, zone: &Zone) -> String {
    let since = dam.since.map_or(String::new(), |since| {
        format!(" since {} ({})", zone.clock_by(since, now), english::span(now.since(since)))
    });
    let called = if dam.name.is_empty() { String::new() } else { format!(" {}", dam.name) };
    let place = if dam.group.is_empty() { String::new() } else { format!(" in {}", dam.group) };
    let mut line = format!("Dam {}{called}{place}: {}{since}", dam.animal, dam.stage.phrase());
    if let Some(new) = dam.progress {
        line.push_str(&format!(", nothing new for {}", english::span(now.since(new))));
    }
    line.push_str(".\n");
    dam.clocks.iter().for_each(|clock| line.push_str(&clock_line(clock, now, zone)));
    line
}

fn clock_line(clock: &ClockView, now: Moment, zone: &Zone) -> String {
    let calf = clock.calf.map_or(String::new(), |number| format!(", calf {number}"));
    let due = zone.clock_by(clock.due, now);
    let runs = if clock.due > now {
        format!("runs out at {due}, in {}", english::span(clock.due.since(now)))
    } else {
        format!("ran out at {due}")
    };
    format!("  {}{calf}: {runs}.\n", clock.name)
}

/// What is open about those who have calved, and the two lists for fostering.
fn after_birth(board: &Board, zone: &Zone) -> String {
    let mut page = String::new();
    for dam in board.dams.iter().filter(|dam| !dam.open.is_empty()) {
        let open: Vec<String> = dam
            .open
            .iter()
            .map(|open| match open.until {
                Some(until) => format!("{} until {}", open.what, zone.date_and_clock(until)),
                None => open.what.clone(),
            })
            .collect();
        let day = dam.day.map_or(String::new(), |day| format!(", day {day}"));
        page.push_str(&format!("Open, {}{day}: {}.\n", dam.animal, open.join("; ")));
    }
    let place = |group: &str| if group.is_empty() { String::new() } else { format!(" in {group}") };
    for milk in &board.fosters.milk {
        let since = zone.clock_by(milk.since, board.now);
        page.push_str(&format!(
            "Has milk and no calf: {}{}, since {since}.\n",
            milk.animal,
            place(&milk.group)
        ));
    }
    for calf in &board.fosters.calves {
        let (since, which) = (zone.clock_by(calf.since, board.now), calf.calf);
        let number = if which > 1 { format!(" (calf {which})") } else { String::new() };
        let whose = format!("{}{number}{}", calf.dam, place(&calf.group));
        page.push_str(&format!(
            "Needs a mother: the calf of {whose}, since {since}: {}.\n",
            calf.why
        ));
    }
    page
}

fn line_line(line: &LineView, zone: &Zone) -> String {
    let since =
        line.since.map_or(String::new(), |since| format!(" since {}", zone.date_and_clock(since)));
    let state = match (line.up, line.why.is_empty()) {
        (true, _) => "up",
        (false, true) => "not heard from yet",
        (false, false) => "down",
    };
    let why = if line.why.is_empty() { String::new() } else { format!(": {}", line.why) };
    format!("Line {}: {state}{since}{why}.\n", line.line)
}

fn names(people: &[PersonName]) -> String {
    let names: Vec<&str> = people.iter().map(PersonName::as_str).collect();
    if names.is_empty() { "nobody".to_owned() } else { english::list(&names) }
}
