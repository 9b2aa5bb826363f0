//! The `inkjoule` command.
#![forbid(unsafe_code)]

fn main() {}
