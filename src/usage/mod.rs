//! The world around a machine: what people do, when events happen, how values move.

pub mod draws;
