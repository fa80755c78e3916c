//! Row 8. What a farm prints: pages made of the season and the settings, as text, as HTML and as PDF.
//!
//! A paper decides nothing and asks no clock: the same season gives the same page. Every page is a `Sheet`; how
//! it is shown is the affair of `text`, `html` and `pdf`. Telephone numbers stand whole on them: they are made
//! for the farm's own wall and pocket, and a number with stars in it calls nobody.

pub mod alarm_log;
pub mod behind;
mod binding;
pub mod dusk;
pub mod handover;
mod herd_words;
pub mod html;
mod letters;
pub mod load;
pub mod night;
pub mod pdf;
mod proof;
pub mod proposal;
pub mod sheet;
pub mod text;
mod tonight;
pub mod vet;
pub mod wall;
pub mod week;

// The calving book.
pub mod book;
pub mod calendar;
pub mod deadlines;
pub mod debrief;
pub mod doubts;
pub mod ease;
pub mod exchange;
pub mod feed;
pub mod figures;
pub mod hours;
mod ical;
pub mod list;
pub mod reached;
pub mod record;
pub mod spread;
pub mod tally;

use crate::config::Config;
use crate::watch::season::Season;

/// The line under a title: whose page it is and as of when.
fn made(season: &Season, config: &Config) -> String {
    let zone = &config.farm.zone;
    let now = season.board.now;
    let day = zone.wall(now).date().weekday();
    format!("{}, {day:?} {} ({})", config.farm.name, zone.date_and_clock(now), zone.name())
}
