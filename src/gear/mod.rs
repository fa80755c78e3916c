//! Row 3. Each sensor device and each line: when it was last heard, and what it says of itself.

pub mod babble;
pub mod battery;
pub mod clock;
pub mod device;
pub mod doubles;
pub mod gateway;
pub mod gauge;
pub mod illness;
pub mod lately;
pub mod line;
pub mod rhythm;
