//! inkjoule: e-paper screens of battery-powered handheld instruments, from text to pixels, bytes, joules and life.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod cell;
pub mod supply;
pub mod units;
