//! Lowbell: the night watch of a calving season.
//!
//! The map, lowest row first. A file imports from lower rows only; folders in one row do not see
//! each other (`tests/it/tidy.rs` holds this).
//!
//! | row | folder | what it is | touches the world? |
//! |---|---|---|---|
//! | 0 | `plain` | moments, spans, ids, English | no |
//! | 1 | `config` | the farm's own settings, parsed and checked | no |
//! | 2 | `sensor`, `rota` | payload to reading; who is on duty | no |
//! | 3 | `herd`, `gear` | each dam; each sensor, line and clock | no |
//! | 4 | `rules` | what is wrong, and since when | no |
//! | 5 | `alarm` | who must know, and have they answered | no |
//! | 6 | `talk` | words out, words in | no |
//! | 7 | `watch` | the one door: event in, effects out | no |
//! | 8 | `paper` | what a farm prints | no |
//! | 8 | `journal`, `line` | the disk; ways in and out | yes |
//! | 9 | `live`, `replay`, `sim` | three ways to drive the same core | `live` only |
//! | 10 | `cli` | what the command line can ask for | yes |

pub mod alarm;
pub mod cli;
pub mod config;
pub mod gear;
pub mod herd;
pub mod journal;
pub mod line;
pub mod live;
pub mod paper;
pub mod plain;
pub mod replay;
pub mod rota;
pub mod rules;
pub mod sensor;
pub mod sim;
pub mod talk;
pub mod watch;
