//! What a farm prints: pages made of the season and the settings, as text, as HTML and as PDF.
//!
//! A paper decides nothing and asks no clock: the same season gives the same page.

mod binding;
pub mod html;
mod letters;
pub mod pdf;
pub mod sheet;
pub mod text;

// The calving book.
pub mod book;
pub mod calendar;
pub mod deadlines;
pub mod debrief;
pub mod doubts;
pub mod ease;
pub mod exchange;
pub mod figures;
pub mod hours;
pub mod list;
pub mod record;
pub mod spread;
pub mod tally;
