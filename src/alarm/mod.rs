//! Row 5. Who must know, and have they answered.
//!
//! A finding becomes an alert; an alert climbs its ladder until somebody answers; an answer is a
//! promise that runs out. It decides whom to tell and by what line, never in which words.

pub mod alert;
mod attending;
mod change;
mod climb;
pub mod code;
pub mod drill;
pub mod ending;
pub mod hand_on;
pub mod ladder;
pub mod later;
pub mod message;
pub mod moves;
pub mod quiet;
pub mod sent;
mod states;
pub mod watchman;
