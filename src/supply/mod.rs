//! What stands between the battery and the rails.
//!
//! Not for the battery itself: see [`crate::cell`].

pub mod rail;

pub use rail::{Efficiency, Ldo, Regulator, SupplyFault, Switching, Topology};
