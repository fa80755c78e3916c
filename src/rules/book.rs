//! The rules of the settings, made ready to be asked: words have become marks and stages.

use std::collections::{BTreeMap, BTreeSet};

use super::change;
pub use super::of_the_watch::{AloneRule, DrillRule, GatewayRule, UncoveredRule, UnwatchedRule};
use super::priority::Priority;
use crate::config::Config;
use crate::config::rules::{
    Change, Condition, Devices, DueWhen, Edge, From, Ill, Level, Limit, Rule, Seen, Trouble, Turn,
};
use crate::herd::series::{CAP, Keep};
use crate::herd::sign::Mark;
use crate::herd::stage::Stage;
use crate::plain::english;
use crate::plain::ids::RuleName;
use crate::plain::moment::Span;

/// All rules of a farm, by what they are asked about.
#[derive(Clone, Debug, Default)]
pub struct Book {
    pub dam: Vec<DamRule>,
    pub silence: Vec<SilenceRule>,
    pub ill: Vec<IllRule>,
    pub trouble: Vec<TroubleRule>,
    pub gateway: Vec<GatewayRule>,
    pub unwatched: Vec<UnwatchedRule>,
    pub alone: Vec<AloneRule>,
    pub uncovered: Vec<UncoveredRule>,
    pub drill: Vec<DrillRule>,
    /// The longest span any rule counts over: older counts may be forgotten.
    pub keep: Span,
    /// The signs some rule counts or starts from: the rest need not be tallied.
    pub signs: BTreeSet<String>,
    /// The signs some rule measures, and how much of each it looks back on.
    pub series: BTreeMap<String, Keep>,
    /// What begins by day only.
    pub by_day: BTreeSet<RuleName>,
    /// Some rule about a dam must be asked again whenever one of her devices falls silent or speaks.
    pub lives: bool,
}

/// A rule about a dam.
#[derive(Clone, Debug)]
pub struct DamRule {
    pub name: RuleName,
    pub ask: DamAsk,
    pub while_stages: Vec<Stage>,
    pub enters: Option<Stage>,
    /// Only of dams of whom a scan has shown at least so many calves.
    pub scanned: Option<u8>,
    /// Only of dams kept for that, and of those of whom nobody wrote it down.
    pub purpose: Option<String>,
    /// What it answers may turn on which of her devices are heard.
    pub lives: bool,
}

#[derive(Clone, Debug)]
pub enum DamAsk {
    Count {
        sign: String,
        over: Span,
        at_least: u64,
        devices: Devices,
    },
    Clock {
        since: Vec<Start>,
        from: From,
        until: Vec<Start>,
        limit: Limit,
        /// It is asked of each living calf by itself.
        each_calf: bool,
    },
    Level(Level),
    Change(Change),
    Seen(Seen),
    Due {
        when: DueWhen,
        by: Span,
        until: Vec<Start>,
    },
    All(Vec<DamAsk>),
    Any(Vec<DamAsk>),
    /// With the words for what is not so.
    Not(Box<DamAsk>, String),
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
pub struct IllRule {
    pub name: RuleName,
    pub with: Vec<Ill>,
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

/// What a farm with no rules still keeps.
const KEEP_AT_LEAST: Span = Span::hours(1);

/// So long a level may stay between its edge and where it is clear and still be known to have been
/// beyond the edge (common practice, no source).
const BETWEEN: Span = Span::hours(6);

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
        if rule.by_day {
            self.by_day.insert(name.clone());
        }
        match &rule.condition {
            Condition::Count { .. }
            | Condition::Clock { .. }
            | Condition::Change(_)
            | Condition::Level(_)
            | Condition::Seen(_)
            | Condition::All(_)
            | Condition::AnyOf(_)
            | Condition::Due(_)
            | Condition::Not(_) => {
                if let Some(ask) = self.ask(&rule.condition) {
                    self.dam(rule, ask);
                }
            }
            Condition::Silent { kind, limit } => {
                let kind = (kind != "any").then(|| kind.clone());
                let while_stages = stages(rule);
                self.silence.push(SilenceRule { name, kind, limit: *limit, while_stages });
            }
            Condition::Ill { with, kind, limit } => {
                let kind = (kind != "any").then(|| kind.clone());
                let (with, limit, while_stages) = (with.clone(), *limit, stages(rule));
                self.ill.push(IllRule { name, with, kind, limit, while_stages });
            }
            Condition::Gateway { limit } => {
                self.gateway.push(GatewayRule { name, limit: *limit });
            }
            Condition::Unwatched { limit } => {
                self.unwatched.push(UnwatchedRule { name, limit: *limit });
            }
            Condition::Uncovered { ahead } => {
                self.uncovered.push(UncoveredRule { name, ahead: *ahead });
            }
            Condition::Drill { lasts } => self.drill.push(DrillRule { name, lasts: *lasts }),
            Condition::Alone { limit } => self.alone.push(AloneRule { name, limit: *limit }),
            Condition::Trouble { with, limit } => {
                self.trouble.push(TroubleRule { name, with: *with, limit: *limit });
            }
        }
    }

    /// What a dam is asked, and what must be kept of her for it; `None` for what is about no dam.
    fn ask(&mut self, condition: &Condition) -> Option<DamAsk> {
        let ask = match condition {
            Condition::Count { sign, over, at_least, devices } => {
                self.keep = self.keep.max(*over);
                self.signs.insert(sign.clone());
                let (sign, devices) = (sign.clone(), devices.clone());
                DamAsk::Count { sign, over: *over, at_least: *at_least, devices }
            }
            Condition::Clock { since, from, until, limit } => {
                let since: Vec<Start> = since.iter().map(|word| Start::of_word(word)).collect();
                let until: Vec<Start> = until.iter().map(|word| Start::of_word(word)).collect();
                for start in since.iter().chain(&until) {
                    if let Start::Sign(sign) = start {
                        self.signs.insert(sign.clone());
                    }
                }
                self.keep = self.keep.max(limit.longest());
                let each_calf = is_of_each_calf(&since, &until);
                DamAsk::Clock { since, from: *from, until, limit: *limit, each_calf }
            }
            Condition::Due(due) => {
                let until: Vec<Start> = due.until.iter().map(|word| Start::of_word(word)).collect();
                for start in &until {
                    if let Start::Sign(sign) = start {
                        self.signs.insert(sign.clone());
                    }
                }
                DamAsk::Due { when: due.when, by: due.by, until }
            }
            Condition::Level(level) => {
                self.keeps(&level.sign, spaced(back(level)));
                DamAsk::Level(level.clone())
            }
            Condition::Change(change) => {
                self.keeps(&change.sign, spaced(change::back(change)));
                DamAsk::Change(change.clone())
            }
            Condition::Seen(seen) => {
                self.keeps(&seen.sign, Keep { back: seen.over, spacing: Span::ZERO });
                DamAsk::Seen(seen.clone())
            }
            Condition::All(conditions) => DamAsk::All(self.asks(conditions)),
            Condition::AnyOf(conditions) => DamAsk::Any(self.asks(conditions)),
            Condition::Not(condition) => {
                let ask = self.ask(condition)?;
                let words = ask.words();
                DamAsk::Not(Box::new(ask), words)
            }
            Condition::Silent { .. }
            | Condition::Ill { .. }
            | Condition::Gateway { .. }
            | Condition::Unwatched { .. }
            | Condition::Alone { .. }
            | Condition::Uncovered { .. }
            | Condition::Drill { .. }
            | Condition::Trouble { .. } => return None,
        };
        Some(ask)
    }

    fn asks(&mut self, conditions: &[Condition]) -> Vec<DamAsk> {
        conditions.iter().filter_map(|condition| self.ask(condition)).collect()
    }

    fn keeps(&mut self, sign: &str, keep: Keep) {
        let kept = self.series.entry(sign.to_owned()).or_insert(keep);
        kept.back = kept.back.max(keep.back);
        // The wider one: else what is kept does not reach back as far as the longest of them looks.
        kept.spacing = kept.spacing.max(keep.spacing);
    }

    fn dam(&mut self, rule: &Rule, ask: DamAsk) {
        let lives = ask.lives();
        self.lives |= lives;
        self.dam.push(DamRule {
            name: rule.name.clone(),
            ask,
            while_stages: stages(rule),
            enters: rule.enters.as_deref().and_then(Stage::of_word),
            scanned: rule.scanned,
            purpose: rule.purpose.clone(),
            lives,
        });
    }
}

/// A clock that a birth starts and some mark of a calf stops is each calf's own.
fn is_of_each_calf(since: &[Start], until: &[Start]) -> bool {
    let is_birth =
        |start: &Start| matches!(start, Start::Mark(Mark::Calf) | Start::Mark(Mark::SecondCalf));
    let of_a_calf = |stop: &Start| matches!(stop, Start::Mark(mark) if mark.is_of_a_calf());
    since.iter().all(is_birth) && until.iter().any(of_a_calf)
}

/// So far apart that what is kept of a sign reaches back so far.
fn spaced(back: Span) -> Keep {
    let most = i64::try_from(CAP).unwrap_or(i64::MAX);
    Keep { back, spacing: Span::from_millis(back.millis() / most) }
}

/// How far back a rule about a level looks.
fn back(level: &Level) -> Span {
    let of = i64::try_from(level.of).unwrap_or(i64::MAX);
    let messages = Span::from_millis(level.fresh.millis().saturating_mul(of));
    let (Edge::Above(edge) | Edge::Below(edge)) = level.edge;
    level.hold + messages + if level.clear == edge { Span::ZERO } else { BETWEEN }
}

impl DamAsk {
    /// Whether its answer may turn on which devices are heard: where one device alone is enough, a
    /// silent one neither adds nor takes away, unless something must be known not to be so.
    fn lives(&self) -> bool {
        let of = |devices: &Devices| *devices != Devices::Any;
        match self {
            Self::Count { devices, .. } => of(devices),
            Self::Level(level) => of(&level.devices),
            Self::Seen(seen) => of(&seen.devices),
            Self::Change(change) => of(&change.devices),
            Self::Clock { .. } | Self::Due { .. } => false,
            Self::All(asks) | Self::Any(asks) => asks.iter().any(Self::lives),
            Self::Not(..) => true,
        }
    }

    /// What is asked, for people who read that it is not so.
    fn words(&self) -> String {
        match self {
            Self::Count { sign, over, at_least, .. } => {
                let over = english::span(*over);
                match at_least {
                    1 => format!("any {sign} within {over}"),
                    more => format!("{sign} {more} times in {over}"),
                }
            }
            Self::Clock { since, .. } => {
                let starts: Vec<&str> = since.iter().map(Start::word).collect();
                format!("too long since {}", english::choice(&starts))
            }
            Self::Level(level) => match level.edge {
                Edge::Above(edge) => format!("{} over {edge} {}", level.sign, level.unit),
                Edge::Below(edge) => format!("{} under {edge} {}", level.sign, level.unit),
            }
            .trim_end()
            .to_owned(),
            Self::Seen(seen) => format!("{} seen", seen.sign),
            Self::Change(change) => {
                let turned = match change.turn {
                    Turn::Rise => "risen",
                    Turn::Fall => "fallen",
                };
                format!("{} {turned} by {} {}", change.sign, change.least, change.unit)
                    .trim_end()
                    .to_owned()
            }
            Self::Due { when, by, .. } => match when {
                DueWhen::Past => format!("{} past her window", english::span(*by)),
                DueWhen::Early => format!("{} before her window", english::span(*by)),
                DueWhen::Lost => "lost before term".to_owned(),
            },
            Self::All(asks) => english::list(&asks.iter().map(Self::words).collect::<Vec<_>>()),
            Self::Any(asks) => english::choice(&asks.iter().map(Self::words).collect::<Vec<_>>()),
            Self::Not(_, words) => format!("not {words}"),
        }
    }
}

impl Start {
    fn of_word(word: &str) -> Self {
        Mark::of_word(word)
            .map(Self::Mark)
            .or_else(|| Stage::of_word(word).map(Self::Stage))
            .unwrap_or_else(|| Self::Sign(word.to_owned()))
    }

    /// Whether it begins what may end and begin again.
    pub(super) fn may_come_again(&self) -> bool {
        self.mark().is_some_and(Mark::may_come_again)
    }

    pub(super) fn mark(&self) -> Option<Mark> {
        match self {
            Self::Mark(mark) => Some(*mark),
            Self::Stage(_) | Self::Sign(_) => None,
        }
    }

    /// Whether it says that what was seen before is not so any more.
    pub(super) fn undoes_what_was_seen(&self) -> bool {
        matches!(self.mark(), Some(Mark::OneFoot | Mark::TailOnly))
    }

    pub(super) fn is_mark(&self) -> bool {
        self.mark().is_some()
    }

    pub(super) fn word(&self) -> &str {
        match self {
            Self::Mark(mark) => mark.word(),
            Self::Stage(stage) => stage.word(),
            Self::Sign(sign) => sign,
        }
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
