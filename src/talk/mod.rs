//! Row 6. Words out, words in.
//!
//! Words in go through these hands in order: `human` (did a person write it?), `quoted` (what in it
//! is new?), `reply` (what do they mean?), with `thread`, `telephone` and `address` to tell what is
//! answered and who answers. Whether that person may say so is the watch's to decide.

pub mod address;
mod answer;
pub mod background;
mod beasts;
mod beside;
pub mod birth;
mod birth_words;
mod calf_words;
mod card_asked;
pub mod cautions;
mod clause;
mod company;
mod dam_words;
pub mod drill;
pub mod due;
pub mod explain;
mod figure;
pub mod fitting;
pub mod gathered;
mod hand_on;
pub mod head;
mod hearing;
mod herself;
pub mod human;
pub mod inside;
pub mod known;
mod lesson;
pub mod letter;
mod letters;
mod litter;
mod mark_names;
pub mod mark_said;
mod mark_words;
pub mod named;
pub mod night_sheet;
pub mod noted_answer;
mod original;
mod phrase;
pub mod phrases;
pub mod picture;
mod put_off;
pub mod quoted;
pub mod reader;
pub mod reason;
pub mod refusal;
pub mod reply;
pub mod sender;
pub mod speech;
mod spelling;
pub mod spoken;
pub mod swap;
mod target;
pub mod telephone;
pub mod thread;
mod tongue;
pub mod vet_card;
pub mod watched;
mod weighing;
pub mod welcome;
pub mod wording;
mod words;
