//! Row 5. Who must know, and have they answered.

pub mod message;
