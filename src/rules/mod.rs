//! Row 4. What is wrong, and since when.
//!
//! A rule keeps no timer. It is a pure question about a dam, a device or a line, and answers
//! `Fine`, `FineUntil` a moment, or `Wrong`. The next deadline is the smallest `FineUntil`, so it
//! cannot disagree with the state, be forgotten at a restart, or fire twice.

pub mod answer;
pub mod ask;
pub mod ask_device;
pub mod book;
mod change;
pub mod clocks;
pub mod devices;
mod due;
mod measure;
mod of_the_watch;
pub mod priority;
pub mod verdict;
