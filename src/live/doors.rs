//! Where things come from while the watch runs, and what wakes the loop next.

use std::time::Duration;

use tokio::sync::mpsc;

use super::socket::Asked;
use crate::line::Arrival;

/// What may wait between the lines and the loop: more than any broker sends unconfirmed.
const INBOX: usize = 1_024;
/// People at this machine ask one thing at a time.
const QUESTIONS: usize = 16;

/// The receiving ends of everything that can happen.
pub struct Doors {
    pub arrivals: mpsc::Receiver<Arrival>,
    pub asked: mpsc::Receiver<Asked>,
    pub stop: mpsc::Receiver<()>,
    pub reload: mpsc::Receiver<()>,
}

/// The sending ends.
pub struct Knockers {
    pub arrive: mpsc::Sender<Arrival>,
    pub ask: mpsc::Sender<Asked>,
    pub stop: mpsc::Sender<()>,
    pub reload: mpsc::Sender<()>,
}

/// What woke the loop.
pub(super) enum Wake {
    Stop,
    Arrival(Arrival),
    Asked(Asked),
    Files,
    Reload,
    Time,
}

pub fn doors() -> (Doors, Knockers) {
    let (arrive, arrivals) = mpsc::channel(INBOX);
    let (ask, asked) = mpsc::channel(QUESTIONS);
    let (stop_now, stop) = mpsc::channel(1);
    let (reload_now, reload) = mpsc::channel(1);
    let knockers = Knockers { arrive, ask, stop: stop_now, reload: reload_now };
    (Doors { arrivals, asked, stop, reload }, knockers)
}

impl Doors {
    /// Waits for the first thing to happen, at most so long. While the group on its way to the disk
    /// is full, nothing more is taken in: whoever sends keeps it.
    pub(super) async fn wait(
        &mut self,
        at_most: Duration,
        full: bool,
        files: &mut tokio::time::Interval,
    ) -> Wake {
        tokio::select! {
            biased;
            _ = self.stop.recv() => Wake::Stop,
            Some(asked) = self.asked.recv() => Wake::Asked(asked),
            Some(()) = self.reload.recv() => Wake::Reload,
            () = tokio::time::sleep(at_most) => Wake::Time,
            Some(arrival) = self.arrivals.recv(), if !full => Wake::Arrival(arrival),
            _ = files.tick() => Wake::Files,
        }
    }
}
