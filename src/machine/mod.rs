//! The rules of a running device.

pub mod canvas;
pub mod state;
