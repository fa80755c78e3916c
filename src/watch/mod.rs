//! Row 7. The one door: an event in, effects out.

pub mod effect;
pub mod event;
