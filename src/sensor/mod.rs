//! Row 2. From bytes on a topic to a reading about a device.

pub mod packet;
pub mod topic;
