//! Starts the lines that the settings name, and starts them anew when the settings change.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;

use super::calendars;
use super::feeds;
use super::outbox::Outbox;
use super::pictures::Pictures;
use super::plan::Plan;
use super::settings::Place;
use crate::config::Config;
use crate::config::built_in::BuiltIn;
use crate::config::farm::{Broker, BrokerWay};
use crate::config::feeds::Feeds;
use crate::config::lines::{Line, Way};
use crate::config::people::{CalendarFile, Rota};
use crate::line::mqtt::Aside;
use crate::line::{Arrival, Taker, broker, imap, mqtt};
use crate::plain::ids::LineName;
use crate::sensor::topic::Filter;
use crate::watch::BROKER;
use crate::watch::event::{Event, LineNews, LineState};
use crate::watch::shown::Shown;
use crate::watch::state::State;

/// Everything that runs beside the loop.
pub struct Lines {
    base: PathBuf,
    place: Place,
    data: PathBuf,
    credentials: Option<PathBuf>,
    arrivals: mpsc::Sender<Arrival>,
    shown: watch::Receiver<Arc<Shown>>,
    /// What is running, to see whether new settings change it.
    broker: Option<(Broker, Vec<String>, usize)>,
    lines: Vec<Line>,
    calendars: Vec<(String, CalendarFile)>,
    feeds: Option<Feeds>,
    pictures: Option<Arc<Pictures>>,
    stop: watch::Sender<bool>,
    tasks: Vec<JoinHandle<()>>,
}

impl Lines {
    pub fn new(
        plan: &Plan,
        arrivals: mpsc::Sender<Arrival>,
        shown: watch::Receiver<Arc<Shown>>,
    ) -> Self {
        Self {
            base: plan.place.base(),
            place: plan.place.clone(),
            data: plan.data.clone(),
            credentials: plan.credentials.clone(),
            arrivals,
            shown,
            broker: None,
            lines: Vec::new(),
            calendars: Vec::new(),
            feeds: None,
            pictures: None,
            stop: watch::Sender::new(false),
            tasks: Vec::new(),
        }
    }

    /// Brings what runs into line with the settings; the new outbox, if anything changed.
    pub async fn follow(&mut self, config: &Config, state: &State) -> Option<Outbox> {
        let filters = filters(config);
        let broker = Some((config.broker.clone(), filters.clone(), largest(config)));
        let same = self.pictures.clone().filter(|pictures| pictures.fits(config));
        let calendars = fetched(config);
        if self.broker == broker
            && self.lines == config.lines
            && self.calendars == calendars
            && self.feeds == config.feeds
            && same.is_some()
        {
            return None;
        }
        self.stop().await;
        self.stop = watch::Sender::new(false);
        self.broker = broker;
        self.lines = config.lines.clone();
        self.calendars = calendars;
        self.feeds = config.feeds.clone();
        if let Some(feeds) = self.feeds.clone() {
            let (data, stop) = (self.data.clone(), self.stop.subscribe());
            self.tasks.push(tokio::spawn(feeds::keep(feeds, data, stop)));
        }
        for rota in config.rotas.iter().filter(|rota| is_fetched(rota)) {
            let (place, data, stop) =
                (self.place.clone(), self.data.clone(), self.stop.subscribe());
            let keep = calendars::keep(place, data, rota.clone(), self.arrivals.clone(), stop);
            self.tasks.push(tokio::spawn(keep));
        }
        let (base, credentials) = (self.base.clone(), self.credentials.clone());
        // What a camera showed last outlives settings that do not change it.
        let pictures =
            same.unwrap_or_else(|| Arc::new(Pictures::new(config, &base, credentials.as_deref())));
        self.pictures = Some(pictures.clone());
        self.start_broker(config, filters, pictures.taker(), state);
        for line in &config.lines {
            if let Way::Imap(way) = &line.way {
                let task = imap::run(
                    line.name.clone(),
                    way.clone(),
                    self.base.clone(),
                    self.credentials.clone(),
                    state.mailboxes.get(&line.name).cloned(),
                    self.arrivals.clone(),
                    self.stop.subscribe(),
                );
                self.tasks.push(tokio::spawn(task));
            }
        }
        let down =
            |line: &Line| state.lines.get(&line.name).is_some_and(|record| record.down.is_some());
        let (arrivals, credentials) = (self.arrivals.clone(), credentials.as_deref());
        Some(Outbox::new(&config.lines, &base, credentials, down, pictures, arrivals))
    }

    /// Stops everything that was started and waits until it has, though not for ever: a line may be
    /// waiting for room in the very channel that is not emptied meanwhile.
    pub async fn stop(&mut self) {
        self.stop.send_replace(true);
        for mut task in self.tasks.drain(..) {
            match tokio::time::timeout(STOP_WITHIN, &mut task).await {
                Ok(Ok(())) => {}
                Ok(Err(_)) => tracing::warn!("a line ended badly"),
                Err(_) => task.abort(),
            }
        }
    }

    fn start_broker(
        &mut self,
        config: &Config,
        filters: Vec<String>,
        taker: Option<Taker>,
        state: &State,
    ) {
        let (arrivals, stop) = (self.arrivals.clone(), self.stop.subscribe());
        let task = match &config.broker.way {
            BrokerWay::BuiltIn(built_in) => {
                let (base, credentials) = (self.base.clone(), self.credentials.clone());
                tokio::spawn(be_the_broker(
                    BuiltIn::clone(built_in),
                    base,
                    credentials,
                    taker,
                    shows(config).then(|| self.shown.clone()),
                    arrivals,
                    stop,
                ))
            }
            BrokerWay::Url { .. } => {
                let known = state.lines.get(BROKER).is_some_and(|broker| broker.met);
                let plan = mqtt::Plan {
                    broker: config.broker.clone(),
                    filters,
                    asides: self.asides(taker),
                    shown: shows(config).then(|| self.shown.clone()),
                    largest: largest(config),
                    base: self.base.clone(),
                    credentials: self.credentials.clone(),
                    known,
                };
                tokio::spawn(mqtt::run(plan, arrivals, stop))
            }
        };
        self.tasks.push(task);
    }
}

impl Lines {
    /// The way from the broker line to the pictures.
    fn asides(&mut self, taker: Option<Taker>) -> Vec<(Filter, mpsc::Sender<Aside>)> {
        let (Some(taker), Some(pictures)) = (taker, &self.pictures) else { return Vec::new() };
        let (give, mut given) = mpsc::channel::<Aside>(ASIDES);
        let filters: Vec<Filter> =
            pictures.topics().filter_map(|topic| Filter::parse(topic).ok()).collect();
        // It ends with the line, which has the only senders.
        self.tasks.push(tokio::spawn(async move {
            while let Some(aside) = given.recv().await {
                taker(&aside.topic, &aside.payload, aside.retained);
            }
        }));
        filters.into_iter().map(|filter| (filter, give.clone())).collect()
    }
}

/// The calendars that are fetched, by their rotas' names.
fn fetched(config: &Config) -> Vec<(String, CalendarFile)> {
    let rotas = config.rotas.iter().filter(|rota| is_fetched(rota));
    rotas.filter_map(|rota| Some((rota.name.clone(), rota.calendar.clone()?))).collect()
}

fn is_fetched(rota: &Rota) -> bool {
    rota.calendar.as_ref().is_some_and(|calendar| calendar.url.is_some())
}

/// Pictures on their way from the broker line; past it the newest are dropped.
const ASIDES: usize = 4;
/// A line that has not stopped by then is cut off.
const STOP_WITHIN: Duration = Duration::from_secs(5);
/// How long until a port that was taken is tried again.
const PORT_AGAIN: Duration = Duration::from_secs(10);

/// The built-in broker, begun again until it can begin: a port that is taken must not keep the rest
/// of the watch from its work.
async fn be_the_broker(
    built_in: BuiltIn,
    base: PathBuf,
    credentials: Option<PathBuf>,
    taker: Option<Taker>,
    mut shown: Option<watch::Receiver<Arc<Shown>>>,
    arrivals: mpsc::Sender<Arrival>,
    mut stop: watch::Receiver<bool>,
) {
    let mut told = false;
    loop {
        let started = broker::start(
            &built_in,
            &base,
            credentials.as_deref(),
            taker.clone(),
            arrivals.clone(),
        );
        match started.await {
            Ok(running) => {
                tokio::select! {
                    // The sender is gone only when the program ends.
                    _ = stop.wait_for(|stop| *stop) => {}
                    () = keep_shown(&running, shown.as_mut()) => {}
                }
                running.shutdown().await;
                return;
            }
            Err(why) if !told => {
                told = true;
                let news = LineNews::Down { why };
                let event = Event::Line(LineState { line: LineName::new(BROKER), news });
                let _ = arrivals.send(Arrival::plain(event)).await;
            }
            Err(_) => {}
        }
        let stopped = tokio::time::timeout(PORT_AGAIN, stop.wait_for(|stop| *stop)).await;
        if stopped.is_ok() {
            return;
        }
    }
}

/// Whether anything of ours is kept at the broker for others: the board, or a siren.
fn shows(config: &Config) -> bool {
    config.broker.voice.show || config.sirens().next().is_some()
}

/// Puts what is shown into our own broker whenever it changes; never ends.
async fn keep_shown(broker: &broker::BuiltIn, shown: Option<&mut watch::Receiver<Arc<Shown>>>) {
    let Some(shown) = shown else { return std::future::pending().await };
    let mut there = Shown::new();
    loop {
        let now = shown.borrow_and_update().clone();
        for topic in there.keys().filter(|topic| !now.contains_key(*topic)) {
            broker.keep(topic, "").await;
        }
        for (topic, payload) in now.iter().filter(|(topic, said)| there.get(*topic) != Some(*said))
        {
            broker.keep(topic, payload).await;
        }
        there = (*now).clone();
        if shown.changed().await.is_err() {
            // The program ends.
            return std::future::pending().await;
        }
    }
}

/// More than any sensor's message may have is not let in. A person's words are short.
fn largest(config: &Config) -> usize {
    let most = config.sensors.iter().map(|sensor| sensor.largest).max();
    most.unwrap_or(mqtt::PAYLOAD_MAX).clamp(WORDS_MAX, mqtt::PAYLOAD_MAX)
}

/// A person's words on a topic.
const WORDS_MAX: usize = 4_096;

/// The MQTT filters to subscribe to: every sensor's, and the one for people's words.
pub fn filters(config: &Config) -> Vec<String> {
    let written = config.sensors.iter().map(|sensor| sensor.topic.as_str());
    let mut filters: Vec<String> = written
        .chain(config.broker.answers.as_deref())
        .filter_map(|written| Filter::parse(written).ok())
        .map(|filter| filter.mqtt())
        .collect();
    filters.sort();
    filters.dedup();
    filters
}
