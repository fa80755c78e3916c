//! Row 6. Words out, words in.

pub mod letter;
