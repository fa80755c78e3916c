//! Row 0. Moments, spans, ids, bounded containers and a little English.
//!
//! Nothing here knows about cattle, people or settings; everything above may use it.

pub mod amount;
pub mod bounded;
pub mod digest;
pub mod eid;
pub mod english;
pub mod ids;
pub mod masked;
pub mod moment;
pub mod quantity;
pub mod roster;
pub mod septet;
pub mod zone;
