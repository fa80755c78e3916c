//! What the night came to: who was woken, how often, and how long an answer took.

use std::collections::BTreeMap;

use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

#[derive(Default)]
pub(super) struct Tally {
    mails: BTreeMap<String, u32>,
    calls: BTreeMap<String, Vec<String>>,
    births: u32,
    alerts: u32,
    over: u32,
    lines: u32,
}

impl Tally {
    /// A line of the diary as it was printed.
    pub(super) fn line(&mut self, line: &str) {
        self.lines += 1;
        self.births += u32::from(line.contains("enters third stage"));
        self.over += u32::from(line.contains(" is over: "));
        let raised = line.split("  ").nth(1).is_some_and(|text| {
            text.starts_with("alert ")
                && text.contains(": ")
                && !text.contains(" to ")
                && !text.contains("over")
        });
        self.alerts += u32::from(raised);
    }

    /// A mail that really arrived.
    pub(super) fn mail(&mut self, who: &str, subject: &str, zone: &Zone, at: Moment) {
        *self.mails.entry(who.to_owned()).or_default() += 1;
        self.calls.entry(who.to_owned()).or_default().push(format!("{} {subject}", zone.clock(at)));
    }

    pub(super) fn page(&self) -> String {
        let mut page = format!(
            "The night in short: {} births, {} alerts raised, {} of them over, {} lines in the diary.\n",
            self.births, self.alerts, self.over, self.lines
        );
        for (who, mails) in &self.mails {
            page.push_str(&format!("{who} got {mails} mails:\n"));
            for call in &self.calls[who] {
                page.push_str(&format!("  {call}\n"));
            }
        }
        page.push_str("Lowbell does not replace your vet or your own eyes; follow local rules.");
        page
    }
}
