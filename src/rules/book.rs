//! The rules of the settings, made ready to be asked: words have become marks and stages.

use std::collections::BTreeSet;

use super::priority::Priority;
use crate::config::Config;
use crate::config::rules::{Condition, From, Limit, Rule, Trouble};
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::ids::RuleName;
use crate::plain::moment::Span;

/// All rules of a farm, by what they are asked about.
#[derive(Clone, Debug, Default)]
pub struct Book {
    pub dam: Vec<DamRule>,
    pub silence: Vec<SilenceRule>,
    pub trouble: Vec<TroubleRule>,
    pub gateway: Vec<GatewayRule>,
    pub unwatched: Vec<UnwatchedRule>,
    /// The longest span any rule counts over: older counts may be forgotten.
    pub keep: Span,
    /// The signs some rule counts or starts from: the rest need not be tallied.
    pub signs: BTreeSet<String>,
}

/// A rule about a dam.
#[derive(Clone, Debug)]
pub struct DamRule {
    pub name: RuleName,
    pub ask: DamAsk,
    pub while_stages: Vec<Stage>,
    pub enters: Option<Stage>,
}

#[derive(Clone, Debug)]
pub enum DamAsk {
    Count { sign: String, over: Span, at_least: u64 },
    Clock { since: Vec<Start>, from: From, until: Vec<Start>, limit: Limit },
}

/// What starts or stops a clock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Start {
    Mark(Mark),
    Stage(Stage),
    Sign(String),
}

#[derive(Clone, Debug)]
pub struct SilenceRule {
    pub name: RuleName,
    /// `None` means every kind.
    pub kind: Option<String>,
    pub limit: Span,
    pub while_stages: Vec<Stage>,
}

#[derive(Clone, Debug)]
pub struct TroubleRule {
    pub name: RuleName,
    pub with: Trouble,
    pub limit: Span,
}

/// A gateway through which nothing comes.
#[derive(Clone, Debug)]
pub struct GatewayRule {
    pub name: RuleName,
    pub limit: Span,
}

/// A dam in her window whom nothing and nobody watches.
#[derive(Clone, Debug)]
pub struct UnwatchedRule {
    pub name: RuleName,
    pub limit: Span,
}

/// What a farm with no rules still keeps.
const KEEP_AT_LEAST: Span = Span::hours(1);

impl Book {
    pub fn of(config: &Config) -> Self {
        let mut book = Self { keep: KEEP_AT_LEAST, ..Self::default() };
        for rule in &config.rules {
            book.add(rule);
        }
        book
    }

    fn add(&mut self, rule: &Rule) {
        let name = rule.name.clone();
        match &rule.condition {
            Condition::Count { sign, over, at_least } => {
                self.keep = self.keep.max(*over);
                self.signs.insert(sign.clone());
                let sign = sign.clone();
                self.dam(rule, DamAsk::Count { sign, over: *over, at_least: *at_least });
            }
            Condition::Clock { since, from, until, limit } => {
                let since: Vec<Start> = since.iter().map(|word| Start::of_word(word)).collect();
                let until: Vec<Start> = until.iter().map(|word| Start::of_word(word)).collect();
                for start in since.iter().chain(&until) {
                    if let Start::Sign(sign) = start {
                        self.signs.insert(sign.clone());
                    }
                }
                self.keep = self.keep.max(limit.cow).max(limit.heifer);
                self.dam(rule, DamAsk::Clock { since, from: *from, until, limit: *limit });
            }
            Condition::Silent { kind, limit } => {
                let kind = (kind != "any").then(|| kind.clone());
                let while_stages = stages(rule);
                self.silence.push(SilenceRule { name, kind, limit: *limit, while_stages });
            }
            Condition::Gateway { limit } => {
                self.gateway.push(GatewayRule { name, limit: *limit });
            }
            Condition::Unwatched { limit } => {
                self.unwatched.push(UnwatchedRule { name, limit: *limit });
            }
            Condition::Trouble { with, limit } => {
                self.trouble.push(TroubleRule { name, with: *with, limit: *limit });
            }
        }
    }

    fn dam(&mut self, rule: &Rule, ask: DamAsk) {
        self.dam.push(DamRule {
            name: rule.name.clone(),
            ask,
            while_stages: stages(rule),
            enters: rule.enters.as_deref().and_then(Stage::of_word),
        });
    }
}

impl Start {
    fn of_word(word: &str) -> Self {
        Mark::of_word(word)
            .map(Self::Mark)
            .or_else(|| Stage::of_word(word).map(Self::Stage))
            .unwrap_or_else(|| Self::Sign(word.to_owned()))
    }
}

/// The priority of a rule: from its harm and onset alone.
pub fn priority(rule: &Rule) -> Priority {
    Priority::of(rule.harm, rule.onset)
}

fn stages(rule: &Rule) -> Vec<Stage> {
    if rule.while_stages.is_empty() {
        return Stage::ALL.into_iter().filter(|stage| *stage != Stage::Closed).collect();
    }
    rule.while_stages.iter().filter_map(|word| Stage::of_word(word)).collect()
}
