//! What a device's deeds take from its supply: phases of an update, unit costs, loads that are always on, the battery in
//! use. Not for lives and days: those are the budget's.

pub mod always_on;
pub mod battery_state;
pub mod consumer;
pub mod currents;
pub mod curve;
pub mod dip;
pub mod energy;
pub mod how;
pub mod moment;
pub mod pauses;
pub mod phases;
pub mod reserve;
pub mod supplies;
pub mod supply;
pub mod unit_costs;
