//! The world around a machine: what people do, when events come from outside, how values move.

mod content;
pub mod motions;
pub mod outside;
pub mod person;
pub mod script;
