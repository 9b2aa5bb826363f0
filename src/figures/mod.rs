//! Figures of several projects, or of one project with other inputs: what comparison, sweeps and report read. Not for
//! writing them.

pub mod advice;
pub mod comparison;
pub mod sweep;
