//! Asking the broker for what is to be heard, one subscription at a time.
//!
//! Every connection asks for everything, whatever the session says: each answer is then the answer to
//! the filter in front, and a filter refused takes no other with it.

use std::collections::{BTreeSet, VecDeque};
use std::time::Duration;

use tokio::time::Instant;

use super::fault;
use super::talk::{Ended, Talk};
use super::voice::Care;
use crate::watch::event::LineNews;

/// A broker that has not answered a subscription by then will not.
const SUBSCRIBE_PATIENCE: Duration = Duration::from_secs(30);

/// What is still to be asked, and what was answered so far on this connection.
#[derive(Default)]
pub(super) struct Asking {
    /// The front one is being asked if `since` says since when.
    queue: VecDeque<(String, Care)>,
    since: Option<Instant>,
    pub(super) refused: BTreeSet<String>,
    taken: BTreeSet<String>,
}

impl Asking {
    pub(super) fn new(wanted: Vec<String>, echo: Option<String>) -> Self {
        let wanted = wanted.into_iter().map(|filter| (filter, Care::Confirmed));
        // Our own words need no confirmation, and are not to be kept for us while we are away.
        let echo = echo.map(|topic| (topic, Care::Little));
        Self { queue: wanted.chain(echo).collect(), ..Self::default() }
    }

    fn all_asked(&self) -> bool {
        self.queue.is_empty()
    }

    /// Where a wide filter was refused, the narrow ones that it had covered are asked for after all.
    fn instead(&mut self, narrow: Vec<String>) {
        for filter in narrow {
            let known = self.taken.contains(&filter)
                || self.refused.contains(&filter)
                || self.queue.iter().any(|(queued, _)| *queued == filter);
            if !known {
                self.queue.push_front((filter, Care::Confirmed));
            }
        }
    }
}

impl Talk<'_> {
    pub(super) async fn ask_on(&mut self) -> Result<(), Ended> {
        if let Some(since) = self.asking.since {
            return if since.elapsed() > SUBSCRIBE_PATIENCE {
                Err(Ended::Fault(fault::silent(&self.terms)))
            } else {
                Ok(())
            };
        }
        while let (true, Some((filter, care))) = (self.connected, self.asking.queue.front()) {
            if rumqttc::valid_filter(filter) {
                if self.voice.subscribe(filter, *care) {
                    self.asking.since = Some(Instant::now());
                }
                break;
            }
            // A broker would hang up on it, and take all the others with it.
            self.answered(Err("this is not a topic filter".to_owned())).await?;
        }
        if self.connected && self.asking.all_asked() && !self.ready {
            self.all_asked().await?;
        }
        Ok(())
    }

    pub(super) async fn answered(&mut self, answer: Result<bool, String>) -> Result<(), Ended> {
        self.asking.since = None;
        let Some((filter, care)) = self.asking.queue.pop_front() else {
            return Ok(());
        };
        let before = self.standing.refused.as_ref();
        let was_refused = before.is_some_and(|refused| refused.contains(&filter));
        let first_time = before.is_none();
        match answer {
            Ok(confirmed) => {
                if !confirmed && care == Care::Confirmed {
                    tracing::warn!(
                        "The broker gives {filter} without confirmation: messages may be lost on the way."
                    );
                }
                self.asking.taken.insert(filter.clone());
                let is_echo = care == Care::Little;
                if is_echo {
                    self.begin_echo();
                }
                if was_refused || first_time && !is_echo {
                    self.mouth.news(LineNews::SubscriptionTaken { filter }).await?;
                }
            }
            Err(why) => {
                self.asking.refused.insert(filter.clone());
                self.asking.instead(self.ears.without(&self.asking.refused));
                if !was_refused {
                    self.mouth.news(LineNews::SubscriptionRefused { filter, why }).await?;
                }
            }
        }
        Ok(())
    }

    async fn all_asked(&mut self) -> Result<(), Ended> {
        self.ready = true;
        if self.session_present {
            // An earlier connection may have asked for it, and then it would come twice.
            for filter in self.ears.covered(&self.asking.taken) {
                // Without room it stays until the next connection; the core hears doubles once.
                let _ = self.voice.unsubscribe(&filter);
            }
        }
        self.standing.refused = Some(std::mem::take(&mut self.asking.refused));
        if let Some(own) = &self.terms.own {
            let _ = self.voice.keep(&own.state, own.here, Care::Little);
        }
        self.post.begin(Instant::now());
        tracing::info!("Connected to the broker at {}.", self.terms.place());
        if self.standing.echo.in_doubt() && self.echo.is_some() {
            // It took us before, too, and then brought back nothing.
            return Ok(());
        }
        self.all_well().await
    }

    pub(super) async fn all_well(&mut self) -> Result<(), Ended> {
        self.standing.outage.clear();
        Ok(self.mouth.news(LineNews::Up).await?)
    }

    /// The broker has said no to what we published to ourselves; on this connection and the next ones
    /// we do without.
    pub(super) async fn no_echo(&mut self, why: String) -> Result<(), Ended> {
        let waited = self.standing.echo.in_doubt();
        if self.echo.take().is_some()
            && let Some(filter) = self.standing.echo.give_up()
        {
            self.mouth.news(LineNews::SubscriptionRefused { filter, why }).await?;
            if waited && self.ready {
                self.all_well().await?;
            }
        }
        Ok(())
    }

    /// One message on the topic of our own echo.
    pub(super) async fn echoed(&mut self, payload: &[u8]) -> Result<(), Ended> {
        let ours = self.echo.as_mut().is_some_and(|echo| echo.comes_back(payload));
        if ours && self.standing.echo.came_back() && self.ready {
            self.all_well().await?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_already_asked_or_answered_is_not_asked_again() {
        let mut asking = Asking::new(vec!["barn/#".to_owned()], None);
        asking.taken.insert("yard/#".to_owned());
        asking.refused.insert("gate/#".to_owned());
        let narrow = ["yard/#", "gate/#", "barn/#", "gate/+/state"];
        asking.instead(narrow.map(str::to_owned).to_vec());
        let queue: Vec<&str> = asking.queue.iter().map(|(filter, _)| filter.as_str()).collect();
        assert_eq!(queue, ["gate/+/state", "barn/#"]);
    }
}
