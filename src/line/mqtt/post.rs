//! What the broker is to keep for others to see, brought there piece by piece.
//!
//! It outlives connections: a broker that was away may have lost everything, and what is gone from
//! the herd must be taken away there too. It refuses to hurry; sensors and confirmations come first.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::watch;
use tokio::time::Instant;

use crate::watch::shown::Shown;

/// Whoever looks at a dashboard does not see a second.
const PAUSE: Duration = Duration::from_secs(1);

/// At most so many in one pause: a herd of a thousand is there in half a minute, and the library's
/// queue keeps its room for confirmations.
const AT_ONCE: usize = 100;

pub(super) struct Post {
    shown: Option<watch::Receiver<Arc<Shown>>>,
    /// What the broker has, by topic; `None` where that was another connection's word.
    there: BTreeMap<String, Option<String>>,
    /// When there is something to do; `None` while all is there.
    due: Option<Instant>,
    last: Option<Instant>,
}

impl Post {
    pub(super) fn new(shown: Option<watch::Receiver<Arc<Shown>>>) -> Self {
        Self { shown, there: BTreeMap::new(), due: None, last: None }
    }

    /// On a new connection everything is said anew.
    pub(super) fn begin(&mut self, now: Instant) {
        self.there.values_mut().for_each(|payload| *payload = None);
        self.due = self.shown.is_some().then_some(now);
    }

    pub(super) fn due(&self) -> Option<Instant> {
        self.due
    }

    /// Waits until there is something new; for ever if nobody can say so any more.
    pub(super) async fn changed(&mut self) {
        if let (Some(shown), None) = (&mut self.shown, self.due)
            && shown.changed().await.is_ok()
        {
            let now = Instant::now();
            self.due = Some(self.last.map_or(now, |last| now.max(last + PAUSE)));
            return;
        }
        std::future::pending().await
    }

    /// Brings what has changed, as far as `publish` takes it; an empty payload takes a topic away.
    pub(super) fn bring(&mut self, now: Instant, mut publish: impl FnMut(&str, &str) -> bool) {
        let Some(receiver) = &mut self.shown else { return };
        let shown = receiver.borrow_and_update().clone();
        let gone = self.there.keys().filter(|topic| !shown.contains_key(*topic));
        let gone = gone.map(|topic| (topic.clone(), String::new()));
        let changed = shown.iter().filter(|(topic, payload)| {
            self.there.get(*topic).and_then(Option::as_ref) != Some(*payload)
        });
        let changed = changed.map(|(topic, payload)| (topic.clone(), payload.clone()));
        let mut left: Vec<(String, String)> = gone.chain(changed).take(AT_ONCE + 1).collect();
        let more = left.len() > AT_ONCE;
        left.truncate(AT_ONCE);
        self.last = Some(now);
        self.due = more.then(|| now + PAUSE);
        for (topic, payload) in left {
            if !publish(&topic, &payload) {
                self.due = Some(now + PAUSE);
                return;
            }
            if payload.is_empty() {
                self.there.remove(&topic);
            } else {
                self.there.insert(topic, Some(payload));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(rows: &[(&str, &str)]) -> Arc<Shown> {
        Arc::new(rows.iter().map(|(t, p)| ((*t).to_owned(), (*p).to_owned())).collect())
    }

    fn brought(post: &mut Post, now: Instant) -> Vec<String> {
        let mut said = Vec::new();
        post.bring(now, |topic, payload| {
            said.push(format!("{topic}={payload}"));
            true
        });
        said
    }

    #[test]
    fn only_what_changed_is_said_and_what_is_gone_is_taken_away() {
        let (show, receiver) = watch::channel(shown(&[("a", "1"), ("b", "2")]));
        let now = Instant::now();
        let mut post = Post::new(Some(receiver));
        post.begin(now);
        assert_eq!(brought(&mut post, now), ["a=1", "b=2"]);
        assert_eq!(post.due(), None);
        show.send_replace(shown(&[("a", "1"), ("c", "3")]));
        assert_eq!(brought(&mut post, now), ["b=", "c=3"]);
        assert_eq!(brought(&mut post, now), [""; 0]);
        // The broker may have lost all, or missed that something went.
        show.send_replace(shown(&[("a", "1")]));
        post.begin(now);
        assert_eq!(brought(&mut post, now), ["c=", "a=1"]);
    }

    #[test]
    fn a_large_herd_comes_in_pieces_and_a_full_queue_loses_nothing() {
        let rows: Shown = (0..250).map(|n| (format!("{n:03}"), n.to_string())).collect();
        let (_show, receiver) = watch::channel(Arc::new(rows));
        let mut now = Instant::now();
        let mut post = Post::new(Some(receiver));
        post.begin(now);
        let mut pieces = Vec::new();
        while post.due().is_some() {
            pieces.push(brought(&mut post, now).len());
            assert!(post.due().is_none_or(|due| due == now + PAUSE));
            now += PAUSE;
        }
        assert_eq!(pieces, [100, 100, 50]);
        post.begin(now);
        let mut room = 30;
        post.bring(now, |_, _| {
            room -= 1;
            room >= 0
        });
        assert_eq!(post.due(), Some(now + PAUSE));
        let rest: usize = std::iter::from_fn(|| {
            post.due()?;
            now += PAUSE;
            Some(brought(&mut post, now).len())
        })
        .sum();
        assert_eq!(rest, 220);
    }
}
