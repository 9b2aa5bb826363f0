//! The resolved hardware: panel, board, rails and battery. Numbers are handles into [`crate::inputs::Inputs`].

pub mod battery;
pub mod board;
pub mod efficiency;
pub mod fit;
pub mod panel;
pub mod profiles;
pub mod rail;
