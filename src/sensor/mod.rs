//! Row 2. From bytes on a topic to a reading about a device.

mod body;
mod cbor;
mod cursor;
pub mod decode;
pub mod decoders;
mod document;
mod field;
pub mod fresh;
pub mod guess;
pub mod ledger;
mod msgpack;
pub mod octets;
pub mod packet;
mod picture;
pub mod plausible;
pub mod pointer;
pub mod reading;
pub mod senml;
mod stamp;
pub mod topic;
pub mod value;
