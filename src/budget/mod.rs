//! What a device costs: memory, charge and energy of each update, a day of use, the battery's life.

pub mod activity;
pub mod cautions;
pub mod course;
pub mod explain;
pub mod fault;
pub mod figure;
pub mod fleet;
pub mod json;
pub mod life;
pub mod memory;
pub mod passages;
pub mod regimes;
pub mod residue;
pub mod summary;
pub mod supply_corners;
pub mod transition;
pub mod usage;
pub mod worst_case;
