//! The resolved hardware: panel, board, rails and battery. Numbers are handles into [`crate::parameters::Inputs`].

pub mod battery;
pub mod board;
pub mod clocked;
pub mod core;
pub mod display;
pub mod efficiency;
pub mod fit;
pub mod load;
pub mod need;
pub mod packing;
pub mod panel;
pub mod profiles;
pub mod rail;
pub mod tables;
pub mod tree;
