//! An iCalendar text (RFC 5545) as far as a rota needs it: the events, their times, and when they come again.
//!
//! It reads no zone of the text's own (VTIMEZONE): a TZID must be a zone that the zone data know. Alarms, to-dos and
//! everything else in the text say nothing here.

use jiff::civil::{Date, Time};

use super::recur::Recur;

/// A line longer than this is no line of a rota.
const LINE_MAX: usize = 8_192;
const EVENTS_MAX: usize = 5_000;

/// One VEVENT as it was written, with the line of the text on which it begins.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Event {
    pub(super) line: usize,
    pub(super) uid: String,
    pub(super) summary: String,
    /// Mail addresses, without "mailto:".
    pub(super) attendees: Vec<String>,
    pub(super) starts: Option<Stamp>,
    pub(super) ends: Option<Stamp>,
    pub(super) lasts: Option<Lasting>,
    pub(super) recur: Option<Recur>,
    pub(super) left_out: Vec<Stamp>,
    pub(super) added: Vec<Stamp>,
    /// It stands in the place of this one of those that come again.
    pub(super) instead_of: Option<Stamp>,
    pub(super) cancelled: bool,
}

/// A time as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stamp {
    pub(super) wall: jiff::civil::DateTime,
    pub(super) of: Of,
    /// A date alone: the whole day.
    pub(super) is_day: bool,
}

/// By which clock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Of {
    /// By the farm's own.
    Floating,
    Utc,
    Zone(String),
}

/// A length: days by the wall, seconds exactly (RFC 5545 section 3.3.6).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Lasting {
    pub(super) days: i64,
    pub(super) seconds: i64,
}

/// What is wrong with a line, by its number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Wrong {
    pub(super) line: usize,
    pub(super) why: String,
}

/// All events of a text, and what of it could not be read.
pub(super) fn events(text: &str) -> (Vec<Event>, Vec<Wrong>) {
    let (mut events, mut wrong) = (Vec::new(), Vec::new());
    let mut inside: Vec<String> = Vec::new();
    let mut event: Option<Event> = None;
    let mut is_calendar = false;
    for (line, content) in unfolded(text) {
        let Some(content) = Content::read(&content) else {
            if !content.trim().is_empty() {
                wrong.push(Wrong { line, why: "this is no line of a calendar".to_owned() });
            }
            continue;
        };
        match content.name.as_str() {
            "BEGIN" => {
                let name = content.value.to_ascii_uppercase();
                is_calendar |= name == "VCALENDAR";
                if name == "VEVENT" {
                    event = Some(Event { line, ..Event::default() });
                }
                inside.push(name);
            }
            "END" => {
                let name = content.value.to_ascii_uppercase();
                if let Some(event) = event.take_if(|_| name == "VEVENT") {
                    if event.starts.is_none() && !event.cancelled {
                        wrong.push(Wrong { line, why: "this event has no DTSTART".to_owned() });
                    }
                    events.push(event);
                }
                // What is left out unsaid is somebody's night.
                if events.len() > EVENTS_MAX {
                    let why = format!("there are more than {EVENTS_MAX} events");
                    wrong.push(Wrong { line, why });
                    return (events, wrong);
                }
                if inside.pop() != Some(name) {
                    wrong.push(Wrong { line, why: "this END has no BEGIN".to_owned() });
                }
            }
            _ => {
                let direct = inside.last().is_some_and(|name| name == "VEVENT");
                if let Some(event) = event.as_mut().filter(|_| direct)
                    && let Err(why) = event.take(&content)
                {
                    wrong.push(Wrong { line, why });
                }
            }
        }
    }
    if !is_calendar || !inside.is_empty() {
        let why = "this is no whole calendar: it must begin with BEGIN:VCALENDAR and end with END:VCALENDAR";
        wrong.push(Wrong { line: 1, why: why.to_owned() });
    }
    (events, wrong)
}

impl Event {
    fn take(&mut self, content: &Content) -> Result<(), String> {
        let value = content.value.as_str();
        match content.name.as_str() {
            "UID" => self.uid = value.to_owned(),
            "SUMMARY" => self.summary = unescaped(value),
            "ATTENDEE" => {
                let lower = value.to_ascii_lowercase();
                self.attendees.extend(lower.strip_prefix("mailto:").map(ToOwned::to_owned));
            }
            "DTSTART" => self.starts = Some(stamp(content, value)?),
            "DTEND" => self.ends = Some(stamp(content, value)?),
            "DURATION" => self.lasts = Some(lasting(value)?),
            "RRULE" if self.recur.is_some() => return Err("this is its second rule".to_owned()),
            // RFC 5545 took it back; whoever still writes it leaves nights out by it.
            "EXRULE" => return Err("EXRULE is not read".to_owned()),
            "RRULE" => {
                let recur =
                    Recur::read(value).map_err(|why| format!("this rule is none: {why}"))?;
                self.recur = Some(recur);
            }
            "EXDATE" => self.left_out.extend(stamps(content)?),
            "RDATE" => self.added.extend(stamps(content)?),
            "RECURRENCE-ID" if content.parameter("RANGE").is_some() => {
                return Err("RANGE is not read: end the old event and begin another".to_owned());
            }
            "RECURRENCE-ID" => self.instead_of = Some(stamp(content, value)?),
            "STATUS" => self.cancelled = value.eq_ignore_ascii_case("CANCELLED"),
            _ => {}
        }
        Ok(())
    }
}

/// Name, parameters and value of one line.
struct Content {
    name: String,
    parameters: Vec<(String, String)>,
    value: String,
}

impl Content {
    fn read(line: &str) -> Option<Self> {
        let mut quoted = false;
        let colon = line.char_indices().find_map(|(at, letter)| {
            quoted ^= letter == '"';
            (letter == ':' && !quoted).then_some(at)
        })?;
        let (head, value) = (&line[..colon], &line[colon + 1..]);
        let mut parts = split_outside_quotes(head, ';').into_iter();
        let name = parts.next()?.to_ascii_uppercase();
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
        if name.is_empty() || !name.chars().all(plain) {
            return None;
        }
        let parameter = |part: String| {
            let (key, value) = part.split_once('=')?;
            Some((key.to_ascii_uppercase(), value.trim_matches('"').to_owned()))
        };
        let parameters = parts.filter_map(parameter).collect();
        Some(Self { name, parameters, value: value.to_owned() })
    }

    fn parameter(&self, key: &str) -> Option<&str> {
        self.parameters.iter().find(|(name, _)| name == key).map(|(_, value)| value.as_str())
    }
}

fn split_outside_quotes(text: &str, at: char) -> Vec<String> {
    let (mut parts, mut quoted) = (vec![String::new()], false);
    for letter in text.chars() {
        quoted ^= letter == '"';
        if letter == at && !quoted {
            parts.push(String::new());
        } else if let Some(last) = parts.last_mut() {
            last.push(letter);
        }
    }
    parts
}

/// The lines with their numbers, folded ones put together (RFC 5545 section 3.1).
fn unfolded(text: &str) -> Vec<(usize, String)> {
    let text = text.trim_start_matches('\u{feff}');
    let mut lines: Vec<(usize, String)> = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let line = line.trim_end_matches('\r');
        match (line.strip_prefix([' ', '\t']), lines.last_mut()) {
            (Some(rest), Some((_, whole))) if whole.len() + rest.len() <= LINE_MAX => {
                whole.push_str(rest);
            }
            (Some(_), Some(_)) => {}
            (_, _) => lines.push((at + 1, line.chars().take(LINE_MAX).collect())),
        }
    }
    lines
}

fn unescaped(text: &str) -> String {
    let (mut plain, mut escaped) = (String::with_capacity(text.len()), false);
    for letter in text.chars() {
        match (escaped, letter) {
            (false, '\\') => escaped = true,
            (true, 'n' | 'N') => {
                plain.push(' ');
                escaped = false;
            }
            (_, letter) => {
                plain.push(letter);
                escaped = false;
            }
        }
    }
    plain
}

fn stamps(content: &Content) -> Result<Vec<Stamp>, String> {
    if content.value.contains('/') {
        return Err("a PERIOD is not read: write it as an event of its own".to_owned());
    }
    content.value.split(',').map(|one| stamp(content, one)).collect()
}

fn stamp(content: &Content, value: &str) -> Result<Stamp, String> {
    let (date, time, is_utc) = parts(value).ok_or_else(|| format!("{value} is no time"))?;
    let Some(time) = time else {
        return Ok(Stamp { wall: date.at(0, 0, 0, 0), of: Of::Floating, is_day: true });
    };
    let of = match content.parameter("TZID") {
        _ if is_utc => Of::Utc,
        Some(zone) => Of::Zone(zone.to_owned()),
        None => Of::Floating,
    };
    Ok(Stamp { wall: date.to_datetime(time), of, is_day: false })
}

/// The day, the time unless it is a day alone, and whether they are in UTC: "20261124", "20261124T220000Z".
pub(super) fn parts(value: &str) -> Option<(Date, Option<Time>, bool)> {
    let (digits, is_utc) = match value.strip_suffix(['Z', 'z']) {
        Some(digits) => (digits, true),
        None => (value, false),
    };
    let (day, time) = match digits.split_once(['T', 't']) {
        Some((day, time)) => (day, Some(time)),
        None => (digits, None),
    };
    let small = |number: i16| i8::try_from(number).ok();
    let [year, month, day] = numbers(day, [4, 2, 2])?;
    let date = Date::new(year, small(month)?, small(day)?).ok()?;
    let Some(time) = time else { return (!is_utc).then_some((date, None, false)) };
    let [hour, minute, second] = numbers(time, [2, 2, 2])?;
    // A leap second is the last of its minute (SC-07 of the project's standards notes).
    let second = if second == 60 { 59 } else { second };
    let time = Time::new(small(hour)?, small(minute)?, small(second)?, 0).ok()?;
    Some((date, Some(time), is_utc))
}

/// Digits alone, cut to these lengths, nothing left over.
fn numbers(mut text: &str, lengths: [usize; 3]) -> Option<[i16; 3]> {
    let mut numbers = [0; 3];
    for (number, length) in numbers.iter_mut().zip(lengths) {
        let (part, rest) = text.split_at_checked(length)?;
        *number = part.bytes().all(|b| b.is_ascii_digit()).then(|| part.parse().ok())??;
        text = rest;
    }
    text.is_empty().then_some(numbers)
}

/// "P1DT2H30M", "PT8H", "P2W".
fn lasting(value: &str) -> Result<Lasting, String> {
    let wrong = || format!("{value} is no length");
    let rest = value.strip_prefix('+').unwrap_or(value).strip_prefix('P').ok_or_else(wrong)?;
    let (mut length, mut digits, mut in_time) =
        (Lasting { days: 0, seconds: 0 }, String::new(), false);
    for letter in rest.chars() {
        if letter == 'T' && digits.is_empty() {
            in_time = true;
            continue;
        }
        if letter.is_ascii_digit() && digits.len() < 6 {
            digits.push(letter);
            continue;
        }
        let count: i64 = std::mem::take(&mut digits).parse().map_err(|_| wrong())?;
        match (in_time, letter) {
            (false, 'W') => length.days += 7 * count,
            (false, 'D') => length.days += count,
            (true, 'H') => length.seconds += 3_600 * count,
            (true, 'M') => length.seconds += 60 * count,
            (true, 'S') => length.seconds += count,
            (_, _) => return Err(wrong()),
        }
    }
    if digits.is_empty() { Ok(length) } else { Err(wrong()) }
}
