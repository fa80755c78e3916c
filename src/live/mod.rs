//! Row 9. The live watch: waits, writes the journal, and only then lets anything leave.

pub mod aside;
pub mod calendars;
pub mod clock;
pub mod doors;
pub mod feeds;
pub mod lines;
pub mod night;
pub mod outbox;
mod pages;
pub mod pending;
mod picture_mail;
pub mod pictures;
pub mod plan;
mod questions;
pub mod settings;
mod show;
pub mod socket;
pub mod systemd;
