//! The diary: every effect as one line with its time, and a digest over all of them.

use super::Watch;
use super::effect::Effect;
use super::event::ClockState;
use crate::plain::digest::Digest;
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// Writes effects down and keeps the digest of everything written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Diary {
    digest: Digest,
}

/// One line, without its time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    pub at: Moment,
    pub text: String,
}

impl Diary {
    /// Goes on after everything that led to this digest.
    pub fn after(hex: &str) -> Self {
        Self { digest: Digest::of_hex(hex).unwrap_or_default() }
    }

    pub fn digest(&self) -> String {
        self.digest.hex()
    }

    /// The lines of one step's effects.
    pub fn write(&mut self, watch: &Watch, effects: &[Effect]) -> Vec<Line> {
        let at = watch.state().now;
        let about = watch.state().clock == ClockState::About;
        effects
            .iter()
            .map(|effect| {
                let text = if about { format!("about: {}", effect.line()) } else { effect.line() };
                self.keep(at, &text);
                Line { at, text }
            })
            .collect()
    }

    /// A line that was written before.
    pub fn keep(&mut self, at: Moment, text: &str) {
        self.digest.feed(&format!("{} {text}\n", at.millis()));
    }
}

/// A line as the diary prints it, in the farm's zone.
pub fn printed(zone: &Zone, at: Moment, text: &str) -> String {
    format!("{}  {text}", zone.stamp(at))
}
