//! Refreshes: what one update of the panel sends, and when an update is a full or a partial one.
//!
//! Not for pixels (a frame) nor for what a refresh draws from the battery (a budget).

pub mod schedule;
pub mod windows;
