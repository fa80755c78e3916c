//! Keeps what is shown at the broker up to date with the watch.
//!
//! It looks only at what is on disk: what others see has its cause in the journal. How often the
//! broker hears of it is its line's business.

use std::collections::BTreeMap;
use std::sync::Arc;

use tokio::sync::watch;

use crate::config::lines::Stands;
use crate::watch::Watch;
use crate::watch::shown::{self, Shown};
use crate::watch::siren;

pub(super) struct Show {
    show: watch::Sender<Arc<Shown>>,
    /// Something has followed from an event since the last look.
    changed: bool,
    /// What each siren is told when all is well: one that the settings drop is told so once more.
    sirens: BTreeMap<String, String>,
}

impl Show {
    pub(super) fn new() -> Self {
        Self { show: watch::Sender::new(Arc::default()), changed: true, sirens: BTreeMap::new() }
    }

    /// Where the broker's line hears of it.
    pub(super) fn subscribe(&self) -> watch::Receiver<Arc<Shown>> {
        self.show.subscribe()
    }

    pub(super) fn touch(&mut self, moves: bool) {
        self.changed |= moves;
    }

    /// Call when everything that the watch knows is on disk.
    pub(super) fn refresh(&mut self, watch: &Watch) {
        let Some(ready) = watch.ready().filter(|_| self.changed) else { return };
        self.changed = false;
        let voice = &ready.config.broker.voice;
        // Without this a herd would be written out each time for nobody.
        let board = if voice.show { watch.view() } else { None };
        let mut now = board.map_or(Shown::new(), |board| shown::shown(&board, voice));
        let stands = siren::stands(watch.state());
        now.extend(self.sirens.clone());
        for siren in ready.config.sirens() {
            now.insert(siren.topic.clone(), siren::says(siren, stands).to_owned());
            let quiet = siren::says(siren, Stands::Quiet).to_owned();
            self.sirens.insert(siren.topic.clone(), quiet);
        }
        self.show.send_if_modified(|shown| {
            let changed = **shown != now;
            if changed {
                *shown = Arc::new(now);
            }
            changed
        });
    }
}
