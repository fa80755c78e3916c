//! How long one try may take, from its first step to its last.
//!
//! Libraries put limits on single steps and forget others (a mail server that never greets); this
//! limit holds over everything done under it.

use std::future::Future;
use std::time::Duration;

use tokio::time::{Instant, timeout_at};

use crate::plain::english;
use crate::plain::moment::Span;

/// Nothing on a farm's line is worth a try that lasts longer than this.
const LONGEST: Span = Span::minutes(30);

/// Runs out at a fixed instant, however many steps share it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Patience {
    length: Span,
    end: Instant,
}

/// Patience ran out before the step was done.
#[derive(Debug)]
pub(super) struct RanOut;

impl Patience {
    pub(super) fn of(length: Span) -> Self {
        let length = length.clamp(Span::ZERO, LONGEST);
        let wait = Duration::from_millis(u64::try_from(length.millis()).unwrap_or(0));
        Self { length, end: Instant::now() + wait }
    }

    /// Waits for `step` as long as there is patience left.
    pub(super) async fn keep<T>(&self, step: impl Future<Output = T>) -> Result<T, RanOut> {
        timeout_at(self.end, step).await.map_err(|_| RanOut)
    }

    /// Half of what is left: for a step that has a second chance, such as another address.
    pub(super) fn half(&self) -> Duration {
        self.end.saturating_duration_since(Instant::now()) / 2
    }

    /// The whole length, as people say it.
    pub(super) fn words(&self) -> String {
        if self.length.millis() % 1000 == 0 {
            english::span(self.length)
        } else {
            format!("{} ms", self.length.millis())
        }
    }
}
