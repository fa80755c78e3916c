//! What readers may see: plain facts about this moment, computed when somebody asks.

use serde::{Deserialize, Serialize};

use super::Watch;
use super::afterwards::{self, Fosters, OpenView};
use super::alive::Worn;
use super::contacts::ContactView;
use super::event::ClockState;
use super::quiet::Quiet;
use super::ready::Ready;
use super::state::State;
use crate::alarm::alert::{Alert, Standing};
use crate::alarm::drill::Drill;
use crate::alarm::ladder;
use crate::config::Config;
use crate::config::people::Away;
use crate::herd::duty;
use crate::herd::recovery;
use crate::herd::row_code;
use crate::herd::stage::Stage;
use crate::plain::ids::{AlertNo, Animal, DeviceId, LineName, PersonName, RuleName};
use crate::plain::masked;
use crate::plain::moment::{Moment, Span};
use crate::rota::swap::Swap;
use crate::rules::clocks::ClockOn;
use crate::rules::verdict::Subject;
use crate::talk::due::DueView;
use crate::talk::head;
use crate::talk::watched::Watched;

/// Everything on one board.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Board {
    pub farm: String,
    pub zone: String,
    pub now: Moment,
    pub alerts: Vec<AlertView>,
    pub dams: Vec<DamView>,
    pub on_duty: Vec<PersonName>,
    pub backup: Vec<PersonName>,
    pub lines: Vec<LineView>,
    pub devices: Vec<DeviceView>,
    /// Every dam in her window and what watches her, the unwatched first.
    pub watched: Vec<Watched>,
    /// Every dam with a date who has not calved: those who have begun first, then by window and risk.
    #[serde(default)]
    pub due: Vec<DueView>,
    /// Who has milk, and which calf needs a mother.
    #[serde(default)]
    pub fosters: Fosters,
    /// Who is in with a dam: since when, with whom, and until when without a word.
    #[serde(default)]
    pub inside: Vec<InsideView>,
    pub next: Option<NextView>,
    pub in_flight: usize,
    pub refusals: Vec<(String, u64)>,
    /// When words of each person last came in.
    #[serde(default)]
    pub heard_from: Vec<(PersonName, Moment)>,
    /// Whom calls are known to reach, by which line.
    #[serde(default)]
    pub contacts: Vec<ContactView>,
    /// The drill that runs, or the last one.
    #[serde(default)]
    pub drill: Option<Drill>,
    /// What people have settled among themselves about the rota.
    #[serde(default)]
    pub swaps: Vec<Swap>,
    #[serde(default)]
    pub away: Vec<Away>,
    /// The clock is known to be right.
    #[serde(default)]
    pub clock_trusted: bool,
    /// The last time nobody watched: from and to.
    #[serde(default)]
    pub down: Option<(Moment, Moment)>,
    /// Dams whose birth nobody has scored yet: it is not closed without (needs.md N107).
    #[serde(default)]
    pub unscored: Vec<Animal>,
    /// What says nothing now though something is there.
    #[serde(default)]
    pub quiet: Quiet,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct AlertView {
    pub no: AlertNo,
    pub code: String,
    pub head: String,
    pub priority: String,
    pub raised: Moment,
    pub holder: Option<PersonName>,
    /// When the next rung is climbed, or the promise runs out.
    pub due: Moment,
    pub told: Vec<PersonName>,
    /// Somebody has put it off until then.
    #[serde(default)]
    pub put_off: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DamView {
    pub animal: Animal,
    pub name: String,
    pub group: String,
    pub stage: Stage,
    pub since: Option<Moment>,
    /// How many open alerts are about her.
    #[serde(default)]
    pub alerts: usize,
    /// Her row's code on printed sheets.
    #[serde(default)]
    pub code: String,
    /// Whole days since she calved; 0 is the first.
    #[serde(default)]
    pub day: Option<i64>,
    /// What is open about her since then.
    #[serde(default)]
    pub open: Vec<OpenView>,
    /// The clocks of hers that run, the first to run out first.
    #[serde(default)]
    pub clocks: Vec<ClockView>,
    /// When something new was last seen of her second stage, while she is in it.
    #[serde(default)]
    pub progress: Option<Moment>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClockView {
    /// The rule's name.
    pub name: RuleName,
    pub began: Moment,
    pub limit: Span,
    /// When it runs out, or ran out.
    pub due: Moment,
    /// Which calf's it is, where she has more than one.
    pub calf: Option<u8>,
    /// What would stop it, in words.
    pub stops: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineView {
    pub line: LineName,
    pub up: bool,
    pub since: Option<Moment>,
    pub why: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeviceView {
    pub device: DeviceId,
    pub kind: Option<String>,
    pub on: Option<Animal>,
    pub heard: Option<Moment>,
    /// Heard within its limit, not found silent or ill, and not cut off.
    pub alive: bool,
    /// Messages within the last hour.
    pub an_hour: u32,
    pub values: Vec<ValueView>,
    /// When it was last given a new battery, as far as anybody said.
    pub battery: Option<Moment>,
    /// What is found of it now, and what was refused from it and how often.
    pub ills: Vec<String>,
    pub refused: Vec<(String, u64)>,
    /// Its rows in the ledger.
    pub rows: Vec<RowView>,
}

/// A value never without its age: the moment it is of, if that is known at all.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ValueView {
    pub sign: String,
    pub value: String,
    pub at: Option<Moment>,
    /// Only the broker remembered it.
    pub kept: bool,
}

/// A device was on a dam, or on nobody, and who says so.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RowView {
    pub on: Option<Animal>,
    pub from: Option<Moment>,
    pub until: Option<Moment>,
    pub by: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct InsideView {
    pub person: PersonName,
    pub with: Option<Animal>,
    pub since: Moment,
    pub until: Moment,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct NextView {
    pub at: Moment,
    pub why: String,
}

fn inside(state: &State) -> Vec<InsideView> {
    let views = state.inside.iter().map(|(person, inside)| InsideView {
        person: person.clone(),
        with: inside.with.clone(),
        since: inside.since,
        until: inside.until,
    });
    views.collect()
}

fn alerts_of(state: &State, animal: &Animal) -> usize {
    let about = |alert: &&Alert| matches!(&alert.subject, Subject::Dam(dam) if dam == animal);
    state.watchman.open.values().filter(about).count()
}

fn unscored(config: &Config, state: &State) -> Vec<Animal> {
    let animals = config.animals.iter().map(|row| &row.animal);
    let open = animals
        .filter(|one| state.dams.get(*one).is_some_and(|dam| duty::wants_a_score(dam.case())));
    open.cloned().collect()
}

impl Watch {
    /// The board at the moment of the last step; `None` before there are settings.
    pub fn view(&self) -> Option<Board> {
        self.view_at(self.state().now)
    }

    /// The board as it is by now, though nothing may have happened since the last step.
    pub fn view_at(&self, now: Moment) -> Option<Board> {
        let ready = self.ready()?;
        let state = self.state();
        let now = now.max(state.now);
        let config = &ready.config;
        let duty = ladder::duty(config, state.now);
        let mut on_duty: Vec<PersonName> =
            duty.people.into_iter().map(|shift| shift.person).collect();
        if config.rotas.is_empty() {
            // Without a rota everybody is on duty.
            on_duty = ladder::everybody(config, &[]).into_iter().map(|one| one.person).collect();
        }
        on_duty.dedup();
        Some(Board {
            farm: config.farm.name.clone(),
            zone: config.farm.zone.name().to_owned(),
            now,
            alerts: self.alert_views(),
            dams: config
                .animals
                .iter()
                .filter_map(|row| {
                    let place = state.dams.find(&row.animal)?;
                    let dam = state.dams.at(place).1;
                    Some(DamView {
                        animal: row.animal.clone(),
                        name: row.name.clone(),
                        group: row.group.clone(),
                        stage: dam.stage,
                        since: dam.entered(dam.stage),
                        alerts: alerts_of(state, &row.animal),
                        clocks: self.clock_views(&row.animal, ready),
                        progress: dam.second_stage().map(|(_, new)| new),
                        day: recovery::day(dam, now),
                        open: afterwards::open(dam, now),
                        code: row_code::code_of(place),
                    })
                })
                .collect(),
            on_duty,
            backup: duty.backup,
            lines: state
                .lines
                .iter()
                .map(|(name, line)| LineView {
                    line: name.clone(),
                    up: line.down.is_none() && line.up.is_some(),
                    since: line.down.as_ref().map(|down| down.since).or(line.up),
                    why: line.down.as_ref().map_or(String::new(), |down| masked::text(&down.why)),
                })
                .collect(),
            devices: self.device_views(now, ready),
            watched: self.watched(now, ready),
            due: self.due(now, ready),
            fosters: afterwards::fosters(state, ready, now),
            next: self
                .next_deadline()
                .map(|next| NextView { at: next.at, why: next.why.words(state) }),
            inside: inside(state),
            in_flight: state.watchman.sent.in_flight().count(),
            refusals: state.refusals.iter().map(|(kind, times)| (kind.clone(), *times)).collect(),
            heard_from: state.heard_from.iter().map(|(who, at)| (who.clone(), *at)).collect(),
            contacts: self.contact_views(ready),
            drill: state.drill.clone(),
            swaps: state.swaps.clone(),
            away: state.away.clone(),
            clock_trusted: state.clock == ClockState::Trusted,
            down: state.down.map(|gap| (gap.from, gap.to)),
            unscored: unscored(config, state),
            quiet: self.quiet(ready),
        })
    }

    /// The clocks that run for a dam.
    fn clock_views(&self, animal: &Animal, ready: &Ready) -> Vec<ClockView> {
        let state = self.state();
        let Some(place) = state.dams.find(animal.as_str()) else { return Vec::new() };
        let worn = Worn { state, ready, dam: place };
        let (asking, dam) = (self.asking(&worn), state.dams.at(place).1);
        let on = ready.book.dam.iter().flat_map(|rule| rule.clocks(dam, &asking));
        let mut clocks: Vec<ClockView> = on
            .map(|ClockOn { rule, began, limit, due, calf, stops }| ClockView {
                name: rule,
                began,
                limit,
                due,
                calf,
                stops,
            })
            .collect();
        clocks.sort_by_key(|clock| clock.due);
        clocks
    }

    fn alert_views(&self) -> Vec<AlertView> {
        let Some(ready) = self.ready() else {
            return Vec::new();
        };
        let state = self.state();
        let views = state.watchman.open.values().map(|alert| AlertView {
            no: alert.no,
            code: alert.code.clone(),
            head: head::head(&ready.config, alert, state.now),
            priority: alert.priority.word().to_owned(),
            raised: alert.raised,
            holder: alert.holder().cloned(),
            due: match &alert.standing {
                Standing::Climbing { next } => *next,
                Standing::Held { until, .. } | Standing::Later { until, .. } => *until,
            },
            told: alert.told.keys().cloned().collect(),
            put_off: matches!(alert.standing, Standing::Later { .. }),
        });
        views.collect()
    }
}
