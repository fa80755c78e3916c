//! Row 3. Each sensor device and each line: when it was last heard, and what it says of itself.

pub mod device;
pub mod gateway;
pub mod lately;
pub mod line;
