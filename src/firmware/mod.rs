//! What a firmware carries: the order for it, tables of screens and flow. Not
//! for writing them in any language; see [`crate::export`].

pub mod drawing;
pub mod footprint;
pub mod names;
pub mod order;
pub mod packed;
pub mod rules;
pub mod tables;
