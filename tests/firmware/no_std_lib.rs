//! A firmware crate without the standard library that holds the exported screens.
#![no_std]
#![forbid(unsafe_code)]

pub mod screens;
