//! The state as text and back: a cache of what the journal says, thrown away when in doubt.

use std::rc::Rc;

use super::Watch;
use super::ready::Ready;
use super::state::State;
use crate::config;

/// Raised whenever the state's shape or the meaning of anything in it changes: a snapshot of
/// another version is ignored and the journal is replayed instead.
pub const VERSION: u32 = 3;

impl Watch {
    /// The whole state as JSON, the same text for the same state.
    pub fn snapshot(&self) -> String {
        serde_json::to_string(&self.state).unwrap_or_default()
    }

    /// A watch that goes on where a snapshot was taken; `None` if the text is not a state.
    pub fn restore(snapshot: &str) -> Option<Self> {
        let state: State = serde_json::from_str(snapshot).ok()?;
        let mut watch = Self { state, ..Self::default() };
        let config = config::parse(&watch.state.settings).config;
        watch.ready = config.map(|config| Rc::new(Ready::new(config, &mut watch.state)));
        watch.recompute_deadlines();
        Some(watch)
    }
}
