//! See `script` in the bodies.
#![no_main]

#[allow(dead_code)]
#[path = "../bodies.rs"]
mod bodies;

libfuzzer_sys::fuzz_target!(|data: &[u8]| bodies::script(data));
