//! What a firmware carries: the order for it, tables of screens and flow, compressed pictures and what unpacking takes. Not
//! for writing them in any language; see [`crate::export`].

pub mod decode;
pub mod drawing;
pub mod footprint;
pub mod names;
pub mod order;
pub mod rules;
pub mod squeeze;
pub mod tables;
