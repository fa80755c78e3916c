//! Reads `[[schedule]]`: what is sent by the clock, to whom, and when. Sending is the watch's.

use super::cron::Cron;
use super::faults::Placed;
use super::ladder;
use super::people::Call;
use super::person::People;
use super::tree::Table;
use crate::plain::zone::Zone;

/// `[[schedule]]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Schedule {
    pub send: Send,
    pub to: Vec<Call>,
    pub cron: Cron,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Send {
    /// The page for the evening; by text its first lines.
    DuskPage,
    /// What the next person must know.
    Handover,
    /// That the watch is up, and what it hears.
    Heartbeat,
    /// A drill, by the ladder.
    Drill,
}

impl Send {
    pub fn word(self) -> &'static str {
        match self {
            Self::DuskPage => "dusk page",
            Self::Handover => "handover",
            Self::Heartbeat => "heartbeat",
            Self::Drill => "drill",
        }
    }
}

impl Schedule {
    /// Which one it is, whatever stands around it.
    pub fn name(&self) -> String {
        let to: Vec<String> = self.to.iter().map(|call| format!("{call:?}")).collect();
        format!("{} / {} / {}", self.send.word(), self.cron.text(), to.join(", "))
    }
}

const SENDS: [(&str, Send); 4] = [
    ("dusk page", Send::DuskPage),
    ("handover", Send::Handover),
    ("heartbeat", Send::Heartbeat),
    ("drill", Send::Drill),
];

pub(super) fn read(table: Table<'_>, people: &People, zone: &Zone) -> Option<Schedule> {
    if !table.has("send") {
        table.missing("send", "what: dusk page, handover, heartbeat or drill");
    }
    let send = table.word("send", &SENDS);
    let texts = table.texts("to");
    let to: Vec<Call> =
        texts.iter().filter_map(|text| ladder::call(text, people, table.faults())).collect();
    let is_drill = send.as_ref().is_some_and(|send| send.is == Send::Drill);
    match (is_drill, table.value("to")) {
        (true, Some(value)) => {
            let help = "leave it out";
            table.faults().warn(
                &value.place(),
                "a drill goes to whom the ladder of its rule calls",
                help,
            );
        }
        (false, None) if send.is_some() => {
            table.missing("to", "whom: on duty, backup, everyone, a part or a name");
        }
        (true, None) | (false, Some(_) | None) => {}
    }
    if !table.has("cron") {
        table.missing("cron", "when, such as \"30 17 * * *\": minute, hour, day, month, weekday");
    }
    let cron = table.text("cron").and_then(|text| cron(&text, &table, zone));
    table.done();
    Some(Schedule { send: send?.is, to, cron: cron? })
}

fn cron(text: &Placed<String>, table: &Table<'_>, zone: &Zone) -> Option<Cron> {
    match Cron::read(&text.is) {
        Ok(cron) => {
            if cron.next(crate::plain::moment::Moment::from_millis(0), zone).is_none() {
                table.faults().warn(&text.at, "this never comes", "nothing would ever be sent");
            }
            Some(cron)
        }
        Err(wrong) => {
            let help = "write minute, hour, day, month, weekday: \"30 17 * * *\"";
            table.faults().refuse(&text.at, format!("this is no cron line: {wrong}"), help);
            None
        }
    }
}
