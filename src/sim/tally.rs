//! What happened in a season, counted: a simulation in which nothing happens proves nothing.

use std::collections::BTreeMap;

use super::ledger::Means;
use crate::herd::stage::Stage;
use crate::watch::effect::Effect;

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    pub events: u64,
    pub births: u64,
    pub alerts: u64,
    pub messages: u64,
    /// Replies of people that said something.
    pub answers: u64,
    pub going: u64,
    pub passed: u64,
    pub marks: u64,
    pub false_alarms: u64,
    pub nonsense: u64,
    pub machines: u64,
    pub forgotten: u64,
    pub refusals: u64,
    pub restarts: u64,
    /// Restarts that lost a group of packets, which the broker brought again.
    pub rolled_back: u64,
    pub sent_again: u64,
    pub withdrawn: u64,
    /// Packets and mails that came twice.
    pub doubles: u64,
    pub dropped: u64,
    pub kept: u64,
    pub late: u64,
    pub failures: u64,
    pub sent_back: u64,
    /// Times the index of deadlines, or the state through its printed form, was compared.
    pub compared: u64,
    pub replayed: u64,
    pub rules: BTreeMap<String, u64>,
    pub stages: BTreeMap<Stage, u64>,
}

impl Tally {
    pub(super) fn heard(&mut self, means: &[Means]) {
        if means.is_empty() {
            self.nonsense += 1;
            return;
        }
        self.answers += 1;
        for one in means {
            match one {
                Means::Going(_) => self.going += 1,
                Means::Pass => self.passed += 1,
                Means::Mark { .. } => self.marks += 1,
            }
        }
    }

    pub(super) fn effect(&mut self, effect: &Effect) {
        match effect {
            Effect::Changed(change) => {
                *self.stages.entry(change.to).or_default() += 1;
                if change.to == Stage::Carrying {
                    self.false_alarms += 1;
                }
            }
            Effect::Send(_) => self.messages += 1,
            Effect::Publish(notice) if notice.kind == "alert.raised" => self.alerts += 1,
            Effect::Again(_) => self.sent_again += 1,
            Effect::Withdraw(_) => self.withdrawn += 1,
            Effect::Refused(_) => self.refusals += 1,
            Effect::Publish(_) | Effect::Noted(_) | Effect::Said(_) => {}
        }
    }

    pub fn add(&mut self, other: &Self) {
        let pairs = [
            (&mut self.events, other.events),
            (&mut self.births, other.births),
            (&mut self.alerts, other.alerts),
            (&mut self.messages, other.messages),
            (&mut self.answers, other.answers),
            (&mut self.going, other.going),
            (&mut self.passed, other.passed),
            (&mut self.marks, other.marks),
            (&mut self.false_alarms, other.false_alarms),
            (&mut self.nonsense, other.nonsense),
            (&mut self.machines, other.machines),
            (&mut self.forgotten, other.forgotten),
            (&mut self.refusals, other.refusals),
            (&mut self.restarts, other.restarts),
            (&mut self.rolled_back, other.rolled_back),
            (&mut self.sent_again, other.sent_again),
            (&mut self.withdrawn, other.withdrawn),
            (&mut self.doubles, other.doubles),
            (&mut self.dropped, other.dropped),
            (&mut self.kept, other.kept),
            (&mut self.late, other.late),
            (&mut self.failures, other.failures),
            (&mut self.sent_back, other.sent_back),
            (&mut self.compared, other.compared),
            (&mut self.replayed, other.replayed),
        ];
        for (sum, more) in pairs {
            *sum += more;
        }
        for (rule, times) in &other.rules {
            *self.rules.entry(rule.clone()).or_default() += times;
        }
        for (stage, times) in &other.stages {
            *self.stages.entry(*stage).or_default() += times;
        }
    }
}
