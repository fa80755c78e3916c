//! Proof before dark: what has shown today that it works, and what is only taken for granted.
//!
//! It proves nothing by itself: each line says when something was last heard, and who reads it judges.

use crate::config::Config;
use crate::config::line::CALENDAR_OF;
use crate::config::people::Part;
use crate::plain::english;
use crate::plain::ids::PersonName;
use crate::plain::moment::{Moment, Span};
use crate::talk::drill;
use crate::talk::speech::Speech;
use crate::watch::season::Season;
use crate::watch::view::{Board, DeviceView, LineView};

use super::{reached, tonight};

/// A person who answered within a day is taken to hear tonight (common practice, no source).
const ANSWER_COUNTS: Span = Span::hours(24);
/// Lines of one kind on a page; the rest are counted.
const LISTED: usize = 12;

#[derive(Default)]
pub(super) struct Proof {
    pub(super) proven: Vec<String>,
    pub(super) assumed: Vec<String>,
}

pub(super) fn of(season: &Season, config: &Config) -> Proof {
    let board = &season.board;
    let mut proof = Proof::default();
    proof.sensors(board, config);
    proof.lines(board, config);
    proof.people(board, config);
    proof.machine(board, config);
    proof.rota(board, config);
    proof.drill(board, config);
    proof
}

impl Proof {
    fn sensors(&mut self, board: &Board, config: &Config) {
        let on_dams: Vec<&DeviceView> =
            board.devices.iter().filter(|one| one.on.is_some()).collect();
        let alive: Vec<&&DeviceView> = on_dams.iter().filter(|one| one.alive).collect();
        if on_dams.is_empty() {
            self.assumed.push("No sensor is on a dam: only people's looks watch.".to_owned());
            return;
        }
        if let Some(oldest) = alive.iter().filter_map(|one| one.heard).min() {
            self.proven.push(format!(
                "{} of {} sensors on dams are heard; the longest silence among them is {}.",
                alive.len(),
                on_dams.len(),
                english::span(board.now.since(oldest))
            ));
        }
        let silent: Vec<String> = on_dams
            .iter()
            .filter(|one| !one.alive)
            .map(|one| {
                let on = one.on.as_ref().map_or(String::new(), |animal| format!(" on {animal}"));
                match one.heard {
                    Some(heard) => {
                        let heard = config.farm.zone.clock_by(heard, board.now);
                        format!("Sensor {}{on} was last heard at {heard}.", one.device)
                    }
                    None => format!("Sensor {}{on} was never heard.", one.device),
                }
            })
            .collect();
        self.some(silent, "sensors more are not heard");
    }

    fn lines(&mut self, board: &Board, config: &Config) {
        let zone = &config.farm.zone;
        for line in &board.lines {
            match (line.up, line.since) {
                (true, Some(since)) => {
                    let since = zone.clock_by(since, board.now);
                    self.proven.push(format!("{}: up since {since}.", called(line)));
                }
                (true, None) => self.proven.push(format!("{}: up.", called(line))),
                (false, since) => {
                    let since = since.map_or("not heard from yet".to_owned(), |since| {
                        format!("down since {}", zone.clock_by(since, board.now))
                    });
                    let why = if line.why.is_empty() {
                        String::new()
                    } else {
                        format!(" ({})", english::printable(&line.why, 80))
                    };
                    self.assumed.push(format!("{}: {since}{why}.", called(line)));
                }
            }
        }
        let silent = config
            .lines
            .iter()
            .filter(|line| !board.lines.iter().any(|known| known.line == line.name))
            .map(|line| format!("Line {}: nothing has shown yet that it works.", line.name));
        self.some(silent.collect(), "lines more were not used yet");
    }

    /// Everybody who may be called tonight.
    fn people(&mut self, board: &Board, config: &Config) {
        let turns = tonight::turns(config, board.now);
        let tonight = |who: &PersonName| {
            turns.iter().any(|turn| turn.on.contains(who) || turn.backup.contains(who))
        };
        let works = |part: Part| match part {
            Part::Owner | Part::Stockman | Part::Helper => true,
            Part::Vet | Part::Viewer => false,
        };
        for person in config.people.iter().filter(|one| works(one.part)) {
            let on = if tonight(&person.name) { ", who is on tonight," } else { "" };
            let last = board.heard_from.iter().find(|(who, _)| *who == person.name);
            match last.map(|(_, at)| *at) {
                Some(at) if board.now.since(at) <= ANSWER_COUNTS => {
                    let clock = config.farm.zone.clock_by(at, board.now);
                    let ways = reached::ways(board, &config.farm.zone, &person.name);
                    let ways = if ways.is_empty() { ways } else { format!(" ({ways})") };
                    self.proven
                        .push(format!("{}{on} answered last at {clock}{ways}.", person.name));
                }
                Some(at) => {
                    let clock = config.farm.zone.date_and_clock(at);
                    let ways = reached::ways(board, &config.farm.zone, &person.name);
                    let ways = if ways.is_empty() { ways } else { format!(" ({ways})") };
                    self.assumed
                        .push(format!("{}{on} answered last on {clock}{ways}.", person.name));
                }
                None => {
                    self.assumed.push(format!("{}{on} has never answered.", person.name));
                }
            }
        }
        self.assumed.push(
            "That a telephone rings tonight is known only when its owner answers: ask each for one word now."
                .to_owned(),
        );
    }

    fn machine(&mut self, board: &Board, config: &Config) {
        if board.clock_trusted {
            self.proven.push("Our clock is right.".to_owned());
        } else {
            self.assumed
                .push("Our clock has not been compared with another since the start.".to_owned());
        }
        if let Some((from, to)) = recent(board) {
            let zone = &config.farm.zone;
            self.assumed.push(format!(
                "Nobody watched from {} to {}: what was said then may be missing.",
                zone.clock_by(from, board.now),
                zone.clock_by(to, board.now)
            ));
        }
        if board.in_flight > 0 {
            let messages = english::many(board.in_flight, "message is", "messages are");
            self.assumed.push(format!("{messages} on the way, not yet known to have come."));
        }
    }

    /// Whether the whole way was tried today, and what would try it.
    fn drill(&mut self, board: &Board, config: &Config) {
        let english = Speech::english(config);
        let last =
            board.drill.as_ref().filter(|drill| board.now.since(drill.begun) <= ANSWER_COUNTS);
        match last.and_then(|last| Some((last, drill::outcome(last, &english, board.now)?))) {
            Some((last, outcome)) if last.answered.is_some() => self.proven.push(outcome),
            Some((_, outcome)) => self.assumed.push(outcome),
            None => self.assumed.push(
                "The whole way from here to a person and back was not tried today: the word \"drill\" from an owner, or lowbell drill, tries it and times each hop."
                    .to_owned(),
            ),
        }
    }

    fn rota(&mut self, board: &Board, config: &Config) {
        if config.rotas.is_empty() {
            self.assumed.push("There is no rota: everybody is called at once.".to_owned());
            return;
        }
        let zone = &config.farm.zone;
        let end = tonight::until(board.now, zone);
        let turns = tonight::turns(config, board.now);
        let bare: Vec<String> = turns
            .iter()
            .filter(|turn| turn.on.is_empty())
            .map(|turn| format!("{} to {}", zone.clock(turn.from), zone.clock(turn.until)))
            .collect();
        if bare.is_empty() {
            let end = zone.clock(end);
            self.proven.push(format!("The rota names somebody for every hour until {end}."));
        } else {
            self.assumed.push(format!(
                "The rota names nobody from {}: everybody would be called.",
                english::list(&bare)
            ));
        }
    }

    fn some(&mut self, lines: Vec<String>, more: &str) {
        let left = lines.len().saturating_sub(LISTED);
        self.assumed.extend(lines.into_iter().take(LISTED));
        if left > 0 {
            self.assumed.push(format!("{left} {more}."));
        }
    }
}

fn called(line: &LineView) -> String {
    match line.line.as_str() {
        "journal" => "The disk".to_owned(),
        "broker" => "The broker".to_owned(),
        name if name.starts_with(CALENDAR_OF) => format!("The {name}"),
        name => format!("Line {name}"),
    }
}

/// The last gap, while it is of this day.
fn recent(board: &Board) -> Option<(Moment, Moment)> {
    board.down.filter(|(_, to)| board.now.since(*to) <= ANSWER_COUNTS)
}
