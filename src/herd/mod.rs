//! Row 3. Each dam: what was seen of her, the stage that follows, and the clocks of that stage.

pub mod birth;
pub mod by_hand;
pub mod calf;
pub mod calf_figures;
pub mod calf_outcome;
pub mod case;
pub mod dam;
pub mod dam_figures;
pub mod duty;
pub mod foster;
pub mod impossible;
mod lasting;
pub mod marked;
pub mod misfiled;
pub mod noted;
pub mod past;
mod proves;
pub mod recovery;
pub mod row_code;
pub mod series;
pub mod sign;
pub mod stage;
pub mod tally;
pub mod told;
pub mod window;
