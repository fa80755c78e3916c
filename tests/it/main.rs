//! All integration tests: one binary, one module a subject.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]
#![allow(clippy::disallowed_methods, reason = "a test may look at the time to give up")]

mod after_calving;
mod book;
mod broker;
mod broker_users;
mod calendars;
mod calves;
mod cli;
mod config_values;
mod configs;
mod cover;
mod daemon;
mod docs;
mod doubles;
mod due;
mod feeds;
mod guesses;
mod hard;
mod inbox;
mod journal;
mod kill;
mod loads;
mod mosquitto;
mod mqtt;
mod night;
mod out;
mod paho;
mod papers;
mod payloads;
mod pictures;
mod post_office;
mod replies;
mod restart;
mod rights;
mod rotas;
mod seasons;
mod servers;
mod siren;
mod species;
mod stories;
mod storm;
mod storyteller;
mod tidy;
mod tongues;
mod vectors;
