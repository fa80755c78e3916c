//! Row 2. From bytes on a topic to a reading about a device.

pub mod decode;
pub mod decoders;
pub mod fresh;
pub mod ledger;
pub mod packet;
pub mod pointer;
pub mod reading;
mod stamp;
pub mod topic;
pub mod value;
