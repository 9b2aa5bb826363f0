//! See `power_tree` in the bodies.
#![no_main]

#[allow(dead_code)]
#[path = "../bodies.rs"]
mod bodies;

libfuzzer_sys::fuzz_target!(|data: &[u8]| bodies::power_tree(data));
